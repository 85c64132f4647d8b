"""Mistakes in protections and in the record itself."""

from .mistakes import mistake, times
from .stand import Entered


@mistake("protection that did not act", "protection.failed")
def failed(e: Entered) -> None:
    test = e.document["event"]["protection_tests"][1]
    test |= {"passed": False, "observed": "ran on"}


@mistake("protection acted at another value", "protection.trip-value")
def trip_value(e: Entered) -> bool | None:
    for test in e.document["event"]["protection_tests"]:
        if "limit_at_trip" in test:
            test["limit_at_trip"] = times(test["limit_at_trip"], 1.12)
            return None
    return False


@mistake("float of a lift station not tested", "protection.missing")
def no_float(e: Entered) -> bool | None:
    tests = e.document["event"]["protection_tests"]
    left = [test for test in tests if test["function"] != "float_backup"]
    if e.earlier or len(left) == len(tests):
        return False
    e.document["event"]["protection_tests"] = left
    return None


@mistake("dry run of a well not tested", "protection.missing")
def no_dry_run(e: Entered) -> bool | None:
    tests = e.document["event"]["protection_tests"]
    left = [test for test in tests if test["function"] != "dry_run"]
    if e.earlier or len(left) == len(tests):
        return False
    e.document["event"]["protection_tests"] = left
    return None


@mistake("high pressure of a booster not tested", "protection.missing")
def no_high_pressure(e: Entered) -> bool | None:
    tests = e.document["event"]["protection_tests"]
    left = [test for test in tests if test["function"] != "high_pressure"]
    if e.earlier or len(left) == len(tests):
        return False
    e.document["event"]["protection_tests"] = left
    return None


@mistake("supply not measured", "record.missing")
def no_supply(e: Entered) -> bool | None:
    if e.earlier:
        return False  # only a start-up asks for it
    del e.document["event"]["supply"]
    return None


@mistake("no photograph of the motor's plate", "record.missing")
def no_photo(e: Entered) -> bool | None:
    if e.earlier:
        return False
    e.document["event"]["attachments"] = e.document["event"]["attachments"][1:]
    return None


@mistake("visit ends before it begins", "record.dates")
def ends_first(e: Entered) -> None:
    e.document["event"]["performed_until"] = "2026-05-14T08:00:00+00:00"
    for step in e.document["event"].get("step_tests", ()):
        del step["time"]


@mistake("serial number of the exchanged motor not entered", "record.serial")
def serial(e: Entered) -> None:
    e.document["event"]["kind"] = "start_up"
    e.document["event"]["replaced"] = [
        {"resource": "motor", "tag": "M-1", "old_serial": "W-2002", "new_serial": "W-9009"}
    ]


@mistake("the record of another pump set corrected", "record.correction")
def another_corrected(e: Entered) -> None:
    e.corrected = e.copy().document
    e.corrected["pump_set"]["tag"] = "PS-2"


@mistake("a record of another kind of visit corrected", "record.correction")
def another_kind_corrected(e: Entered) -> None:
    e.corrected = e.copy().document
    e.corrected["event"]["kind"] = "after_repair"
