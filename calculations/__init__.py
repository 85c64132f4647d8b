"""Pure engineering: what nameplates, curves, ranges and hydraulics say the numbers must be."""
