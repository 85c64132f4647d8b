"""What the service costs, beside the least that PostgreSQL and a generic build need for the same.

    python -m tests.benchmarks               # all of them
    python -m tests.benchmarks.event_post    # one
    python -m tests.benchmarks.judging       # judge() beside bare floats

Nothing here is asserted: a figure depends on the machine, a ratio between things that were
measured in turn on the same machine depends on it far less.
"""
