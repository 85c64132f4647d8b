"""Runs every benchmark: python -m tests.benchmarks."""

from tests.benchmarks import event_post

BENCHMARKS = (event_post,)

if __name__ == "__main__":
    for benchmark in BENCHMARKS:
        benchmark.main()
