"""Runs every benchmark: python -m tests.benchmarks."""

from tests.benchmarks import event_post, judging

BENCHMARKS = (event_post, judging)

if __name__ == "__main__":
    for benchmark in BENCHMARKS:
        benchmark.main()
