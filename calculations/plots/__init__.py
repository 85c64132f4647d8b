"""What plots show, in SI: points along curves, and readings as rules and values see them."""
