"""Values that people want before and after a visit, each with formula and source."""
