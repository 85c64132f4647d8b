"""The same event as a generic build keeps it: a table for every part, nested ModelSerializers.

Written for comparison only, and in its favour: the children of each table go in by one statement,
units are fixed by the columns, nothing is converted, computed or found.
"""
