"""A large book drawn by number: stations, pieces that were replaced, records and what they did.

    python -m tests.generated_book --stations 50 --keep FOLDER

Everything in it is invented. Rows satisfy every constraint and go in with every trigger in place;
only what stood when is written beside the register, as where a client's book is taken in. Records
are linked and signed by a key of the book's own, so that `verify.py` takes them. What is left out:
the rules were not asked (a record holds no findings but its own results), nobody signed, no PDF is
made until a relay and a worker run, and there are no drafts, files or audit.
"""
