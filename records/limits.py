"""Limits that the web server or the storage of files knows as well as the API."""

LARGEST_BODY = 4 * 1024 * 1024  # bytes of one document
LONGEST_LET_PASS = 32 * 1024 * 1024  # bytes that are taken in after an answer is certain
IN_MEMORY = 4 * 1024 * 1024  # bytes of a file that is being read, before it goes to disk
