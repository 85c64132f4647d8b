"""The program that checks records offline."""
