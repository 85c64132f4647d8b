"""Bugs planted one by one, to see that the test of each promise notices its own."""
