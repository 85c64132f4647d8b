"""`python -m tests.fault_bench [--sets N] [--seed S] [--mistakes N]`: run and print the table."""

import argparse

from .bench import run, table


def main() -> None:
    """Run the bench as asked and print what came of it."""
    parser = argparse.ArgumentParser(description="Single mistakes on consistent pump sets.")
    parser.add_argument("--sets", type=int, default=50, help="clean sets to judge")
    parser.add_argument("--seed", type=int, default=1, help="seed of the first set")
    parser.add_argument("--mistakes", type=int, default=20, help="tries of every kind of mistake")
    given = parser.parse_args()
    print(table(run(range(given.seed, given.seed + given.sets), given.mistakes)))


if __name__ == "__main__":
    main()
