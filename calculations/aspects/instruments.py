"""What an instrument's accuracy statement says of a reading."""

from typing import Any, NamedTuple

from calculations import verification
from calculations.case import Case, Missing, once
from calculations.errors import InvalidInput
from calculations.inputs.sensor import Instrument
from calculations.units import Quantity, factor


def instrument_uncertainty(case: Case, place: str, reading: float, kind: str) -> float:
    """Expanded uncertainty of an instrument at a reading of a kind, in SI; `Missing` if not stated.

    A share of the reading holds for whatever the instrument reads; what belongs to its range, only
    for what that is a range of.
    """
    instrument, kinds, statement = _stated(case, place)
    for at, stated in kinds.items():
        if stated != kind:
            raise Missing(at, because=f"its accuracy is not that of a {kind}")
    if instrument.uncertainty is not None:
        factor_ = instrument.coverage_factor.si if instrument.coverage_factor else 2.0
        return verification.certificate_uncertainty(
            uncertainty=difference(instrument.uncertainty), coverage_factor=factor_
        )
    if statement["share_of_range"]:
        case.require(f"{place}/range_low", f"{place}/range_high")
    try:
        return verification.instrument_uncertainty(reading=reading, **statement)
    except InvalidInput as error:
        wrong = "range_high" if error.argument == "range_high" else "percent_of_range"
        raise Missing(f"{place}/{wrong}", because=error.message) from error


def instrument_share(case: Case, place: str, reading: Quantity) -> float:
    """The same as a share of a reading other than 0 [1]."""
    return _instrument_share(case, place, reading.si, reading.kind)


@once
def _instrument_share(case: Case, place: str, reading: float, kind: str) -> float:
    return instrument_uncertainty(case, place, reading, kind) / abs(reading)


class _Stated(NamedTuple):
    """An instrument, the kinds that the parts of its accuracy statement are in units of by their
    places, and that statement as `verification.instrument_uncertainty` has it."""

    instrument: Instrument
    kinds: dict[str, str]
    statement: dict[str, Any]


@once
def _stated(case: Case, place: str) -> _Stated:
    (instrument,) = case.require(place)
    return _Stated(instrument, _kinds(instrument, place), _statement(instrument))


def _kinds(instrument: Instrument, place: str) -> dict[str, str]:
    range_counts = any((instrument.percent_of_range, instrument.digits))
    names = (*(("range_high",) if range_counts else ()), "uncertainty", "resolution")
    stated: dict[str, Quantity | None] = {
        f"{place}/{each}": getattr(instrument, each) for each in names
    }
    return {at: value.kind for at, value in stated.items() if value is not None}


def _statement(instrument: Instrument) -> dict[str, Any]:
    return {
        "range_low": _si(instrument.range_low),
        "range_high": _si(instrument.range_high),
        "share_of_range": _si(instrument.percent_of_range) or 0.0,
        "share_of_reading": _si(instrument.percent_of_reading) or 0.0,
        "digits": _si(instrument.digits),
        "resolution": difference(instrument.resolution) if instrument.resolution else 0.0,
    }


def difference(quantity: Quantity) -> float:
    """A quantity read as a difference, in SI: 1 degC is 1 K."""
    return abs(float(quantity.value)) * factor(quantity.unit)


def _si(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.si
