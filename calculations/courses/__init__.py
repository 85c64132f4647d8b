"""How pieces moved from visit to visit since the first one, and what of it is noise."""
