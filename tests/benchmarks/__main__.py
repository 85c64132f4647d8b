"""Runs every benchmark: python -m tests.benchmarks."""

from tests.benchmarks import bundle, event_post, judging

BENCHMARKS = (event_post, judging, bundle)

if __name__ == "__main__":
    for benchmark in BENCHMARKS:
        benchmark.main()
