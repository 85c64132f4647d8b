"""A year of ticks: what relay and worker do each day, with the day as an argument; killed at will.

It goes on where the book stands: `python -m tests.faults.report_year FIRST DAYS`.
"""

import os
import sys
from datetime import datetime, timedelta

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")


def main(first: str, days: int) -> None:
    """Look once a day; do all that is missing."""
    import django

    django.setup()
    from records.services import report_mails, reports

    for day in range(days):
        reports.ask_for_what_is_over(datetime.fromisoformat(first) + timedelta(days=day))
        for row, _ in reports.missing():
            reports.make(row)
        for row, _ in report_mails.missing():
            report_mails.send(row)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
