"""Makes a generated book in a folder of its own, and serves it while it is looked at.

    python -m tests.generated_book --stations 5000 --keep FOLDER [--serve]

A folder that holds one already is opened as it is. `--serve` prints an address of loopback; sign in
as orla, teo or cleo at people.example with the password `correct horse`.
"""

import argparse
import json
import time
from collections.abc import Sequence
from pathlib import Path

from tests.generated_book.keeping import Kept, Size


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.generated_book")
    parser.add_argument("--stations", type=int, default=5000)
    parser.add_argument("--years", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, required=True, help="folder of the book")
    parser.add_argument("--serve", action="store_true")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Make it where it is not there yet, say what is in it, serve it."""
    options = arguments(words)
    begun = time.perf_counter()
    with Kept(options.keep) as book:
        counts = book.fill(Size(options.stations, options.years, options.seed))
        print(json.dumps(counts | {"seconds": round(time.perf_counter() - begun, 1)}))
        if options.serve:
            with book.serving() as address:
                print(f"http://{address}/ until Enter is pressed")
                input()


if __name__ == "__main__":
    main()
