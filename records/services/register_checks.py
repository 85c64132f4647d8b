"""What a resource of the register needs as a whole, beside what each of its fields allows."""

import re
from collections.abc import Iterator, Mapping
from datetime import timedelta
from functools import cache
from typing import Any
from zoneinfo import available_timezones

from django.utils import timezone

from calculations.inputs.motor import FIRST_YEAR
from calculations.inputs.reading import Problem, pointer
from calculations.units import Quantity
from records.models.site import CODE, LONGEST_CODE

Document = Any  # one of the models of calculations.inputs

# Pairs of which the first is never above the second.
ORDERED: Mapping[str, tuple[tuple[str, str], ...]] = {
    "sites": (
        ("liquid_temperature_min", "liquid_temperature_max"),
        ("suction_level_low", "suction_level_high"),
        ("suction_pressure_low", "suction_pressure_high"),
        ("static_lift_low", "static_lift_high"),
        ("wet_well_floor", "overflow_level"),
        ("inflow_minimum", "inflow_average"),
        ("inflow_average", "inflow_peak"),
        ("inflow_minimum", "inflow_peak"),
    ),
    "pumps": (("impeller_diameter", "impeller_diameter_max"),),
    "drives": (
        ("input_voltage_min", "input_voltage_max"),
        ("ambient_rated", "ambient_max"),
        ("filter_carrier_min", "filter_carrier_max"),
    ),
    "sensors": (("range_limit_low", "range_limit_high"),),
    "vessels": (("pre_charge_pressure_design", "maximum_pressure"),),
    "instruments": (("range_low", "range_high"), ("calibrated_on", "due_on")),
}
SERVICE = ("in_service_from", "out_of_service_on")
DONE = ("calibrated_on", "rewound_on")  # days on which something was done
# What people tell things apart by: a blank at its end would make two of one.
NAMES = ("code", "name", "tag", "serial", "group", "discharge_header")


def problems(kind: str, document: Document) -> list[Problem]:
    """Everything that stands against a resource that has been read."""
    return [
        *_names(document),
        *_of_a_site(document),
        *_orders(kind, document),
        *_ratings(document),
        *_of_days_that_came(document),
        *_winding(document),
    ]


def _names(document: Document) -> Iterator[Problem]:
    for name in NAMES:
        text = getattr(document, name, None)
        if text is None:
            continue
        if not text.strip():
            yield Problem(f"/{name}", "blank", "expected text, got nothing but blanks")
        elif text != text.strip() or not text.isprintable():
            words = "expected one line of text without blanks at its ends"
            yield Problem(f"/{name}", "blank", words)


def _of_a_site(document: Document) -> Iterator[Problem]:
    code = getattr(document, "code", None)
    if code and code.strip() and not (re.fullmatch(CODE, code) and len(code) <= LONGEST_CODE):
        words = f"expected letters, digits, dots, dashes and underscores, {LONGEST_CODE} at most"
        yield Problem("/code", "code", f"{words}, with single blanks between at most")
    zone = getattr(document, "time_zone", None)
    if zone is not None and zone not in time_zones():
        words = "expected a time zone's name in the IANA database, such as America/Denver or UTC"
        yield Problem("/time_zone", "time_zone", words)


@cache
def time_zones() -> frozenset[str]:
    """Names of the IANA database, as this installation has it, but those of no place."""
    return frozenset(available_timezones()) - {"Factory", "localtime"}


def _orders(kind: str, document: Document) -> Iterator[Problem]:
    for low, high in (*ORDERED.get(kind, ()), SERVICE):
        first, last = getattr(document, low, None), getattr(document, high, None)
        if first is not None and last is not None and _above(first, last):
            yield Problem(f"/{high}", "order", f"expected no less than {low}, {_shown(first)}")


def _above(first: Quantity | str, last: Quantity | str) -> bool:
    """Days compare as text; quantities of two kinds do not compare."""
    if isinstance(first, Quantity) and isinstance(last, Quantity):
        return first.kind == last.kind and first.si > last.si
    return str(first) > str(last)


def _shown(value: Quantity | str) -> str:
    return f"{value.value} {value.unit}" if isinstance(value, Quantity) else value


def _ratings(document: Document) -> Iterator[Problem]:
    ratings = getattr(document, "ratings", None)
    if ratings is None:
        return
    for index, rating in enumerate(ratings):
        if rating.voltage is None:
            words = "expected the voltage that this line of the plate is for"
            yield Problem(pointer("ratings", index, "voltage"), "required", words)
        elif rating.voltage_upper and rating.voltage_upper.si < rating.voltage.si:
            words = f"expected no less than voltage, {_shown(rating.voltage)}"
            yield Problem(pointer("ratings", index, "voltage_upper"), "order", words)
    if document.rating_in_use is not None and document.rating_in_use >= len(ratings):
        words = f"expected an index into ratings, of which there are {len(ratings)}: 0 is the first"
        yield Problem("/rating_in_use", "out_of_range", words)


def _of_days_that_came(document: Document) -> Iterator[Problem]:
    # Somewhere it is tomorrow already.
    tomorrow = (timezone.now() + timedelta(days=1)).date().isoformat()
    for name in DONE:
        day = getattr(document, name, None)
        if day is not None and day > tomorrow:
            yield Problem(f"/{name}", "out_of_range", "expected a day that has come")


def _winding(document: Document) -> Iterator[Problem]:
    """A motor is not rewound before it is built."""
    day, built = getattr(document, "rewound_on", None), getattr(document, "year_built", None)
    if day is None:
        return
    if built is not None and day < str(built):
        yield Problem("/rewound_on", "order", f"expected no less than year_built, {built}")
    elif day < str(FIRST_YEAR):
        yield Problem("/rewound_on", "out_of_range", f"expected a day from {FIRST_YEAR} on")
