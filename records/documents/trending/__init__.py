"""What moved since the first record, in words, as data, and as figures with their tables."""
