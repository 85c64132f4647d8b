"""The rules, one module a subject; `calculations.catalogue` lists every one of them."""
