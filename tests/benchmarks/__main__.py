"""Runs every benchmark: python -m tests.benchmarks."""

from tests.benchmarks import bundle, event_post, judging, readings_export, verifying

BENCHMARKS = (event_post, judging, bundle, verifying, readings_export)

if __name__ == "__main__":
    for benchmark in BENCHMARKS:
        benchmark.main()
