"""A relay whose day stands in a file; told to be careless, it counts periods before it asks.

`python -m tests.faults.ticking_relay FILE [careless]`
"""

import copy
import os
import sys
import time
from datetime import UTC, date, datetime
from datetime import time as time_of_day
from pathlib import Path
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
NOON = time_of_day(12)
LOOK_EVERY, ASK_AGAIN_AFTER = 0.3, 5.0  # s; so that a year passes in minutes
FORGETS = 2.0  # s, between what a careless one writes down and what it does


def main(clock: Path, careless: bool) -> None:
    """Run until killed."""
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import transaction

    from records import permissions
    from records.management.commands import relay
    from records.services import reports

    ask, ask_for_period = reports.ask_for_what_is_over, reports._ask_for_period

    def asked(_: datetime) -> int:
        return ask(_moment(clock))

    def asked_carelessly(_: datetime) -> int:
        later: list[Any] = []
        reports._ask_for_period = lambda row, *rest: later.append((copy.copy(row), *rest)) or 0
        ask(_moment(clock))
        if later:
            clock.with_suffix(".forgetting").touch()
            time.sleep(FORGETS)
        with transaction.atomic():
            permissions.enter_as_worker()
            return sum(ask_for_period(*each) for each in later)

    reports.ask_for_what_is_over = asked_carelessly if careless else asked
    relay.LOOK_EVERY, relay.ASK_AGAIN_AFTER = LOOK_EVERY, ASK_AGAIN_AFTER
    call_command("relay")


def _moment(clock: Path) -> datetime:
    return datetime.combine(date.fromisoformat(clock.read_text()), NOON, UTC)


if __name__ == "__main__":
    main(Path(sys.argv[1]), "careless" in sys.argv[2:])
