"""Limits that the web server knows as well as the API."""

LARGEST_BODY = 4 * 1024 * 1024  # bytes of one document
LONGEST_LET_PASS = 32 * 1024 * 1024  # bytes that are taken in after an answer is certain
