"""A spreadsheet of stations and equipment: read, checked row by row, then written at once."""
