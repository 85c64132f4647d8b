"""Runs every benchmark: python -m tests.benchmarks."""

from tests.benchmarks import bundle, event_post, judging, verifying

BENCHMARKS = (event_post, judging, bundle, verifying)

if __name__ == "__main__":
    for benchmark in BENCHMARKS:
        benchmark.main()
