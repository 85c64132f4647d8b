"""Rules of what watches over a motor in the liquid: its leak sensor, explosive air around it."""

from collections.abc import Iterator, Mapping

from calculations.aspects import levels
from calculations.case import Case, Missing
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Rule, entered, show, spaced
from calculations.rules.closeness import below
from calculations.rules.scope import has_drive, has_motor, is_dry

AREA, ENCLOSURE = "/site/hazardous_area", "/motor/enclosure"
MARKING = "/motor/explosion_protection"
TESTS = "/event/protection_tests"
COVER, CUT_OFF = "/motor/minimum_liquid_level", "/settings/low_level_cutoff"

LEVELS, DIVISIONS = ("epl_ga", "epl_gb", "epl_gc"), ("class1_div1", "class1_div2")
FITS: Mapping[str, tuple[str, ...]] = {
    "zone_0": LEVELS[:1],
    "zone_1": LEVELS[:2],
    "zone_2": LEVELS,
    "class1_div1": ("class1_div1", "epl_ga"),
    "class1_div2": (*DIVISIONS, *LEVELS),
}
"""Markings of a motor that may be used in an area without more.

Zones: IEC 60079-14, levels that an area asks for. Divisions: NFPA 70 500.8, 501.5, from memory.
"""
DUST = ("zone_20", "zone_21", "zone_22", "class2_div1", "class2_div2")
"""Areas of explosive dust, for which no marking is recorded: the certificate is read for them."""
NORTH_AMERICA = ("us_nec", "canadian")
LISTED: Mapping[str, tuple[str, ...]] = {"zone_1": DIVISIONS[:1], "zone_2": DIVISIONS}
"""Besides, in North America: what is listed for a division; NFPA 70 505.20, from memory."""


# -- leak sensor --------------------------------------------------------------------------------


def _leak(case: Case, place: str) -> Iterator[Finding]:
    if case.word("/settings/leak_sensor_response") == "none":
        yield LEAK_SENSOR.finding("unused", "review", place, compared={})


LEAK_SENSOR = Rule(
    id="motor.leak-sensor",
    title="Leak sensor of the motor in use",
    severities=("review",),
    condition="Where the motor has a leak sensor, it trips or alarms.",
    source="common practice, no source",
    subject="/settings/leak_sensor_response",
    needs=("/settings/leak_sensor_response",),
    applies=lambda case: has_motor(case) and case.find("/motor/leak_sensor") is True
    and case.settings is not None,
    check=_leak,
    sentences={
        "unused": "The motor has a leak sensor, but nothing responds to it: water in the motor or "
        "its oil is noticed when the winding fails."
    },
    remedies={"unused": "Wire the sensor, set it to trip or to alarm, and prove it."},
)  # fmt: skip


# -- explosive air ------------------------------------------------------------------------------


def in_hazardous_area(case: Case) -> bool:
    """Whether the motor may stand in explosive air: in the well of a site that has some."""
    in_well = case.is_("/site/suction_kind", "wet_well") or case.is_("/site/kind", "lift_station")
    return case.is_(AREA, *FITS) and in_well and has_motor(case) and not is_dry(case)


def _may_be_explosive(case: Case) -> bool:
    """Besides: in dust, wherever it stands, and in a well of sewage of which nothing is said."""
    if not has_motor(case):
        return False
    unsaid = case.find(AREA) is None and case.is_("/site/kind", "lift_station")
    return in_hazardous_area(case) or case.is_(AREA, *DUST) or (unsaid and not is_dry(case))


def is_protected(case: Case) -> bool:
    """Whether the motor is known to be protected against explosion, by its marking or enclosure."""
    marking = case.find(MARKING)
    return marking != "none" and (marking is not None or _says_protected(case))


def asks_for_protection(case: Case) -> bool:
    """Whether an ordinary motor will not do: it does in division 2 where nothing in it sparks.

    So too in zone 2 in the United States; NFPA 70 501.125(B), 505.20(C), from memory.
    """
    in_states = case.is_("/site/electrical_practice", "us_nec")
    will_do = case.is_(AREA, "class1_div2") or (case.is_(AREA, "zone_2") and in_states)
    return not will_do or case.word("/motor/kind") == "wound_rotor"


def _says_protected(case: Case) -> bool:
    return case.is_(ENCLOSURE, "explosion_protected")


def _area(case: Case, place: str) -> Iterator[Finding]:
    case.require("/motor/immersed", AREA)
    marking, area = case.find(MARKING), case.word(AREA)
    if area in DUST:
        raise Missing(MARKING, because="only the certificate tells what may be used in dust")
    if marking == "none" and _says_protected(case):
        yield _told(case, "contradicts", MARKING)
        return
    if not asks_for_protection(case):
        return
    if not is_protected(case):
        yield from _unprotected(case, area, place)
        return
    if marking is not None:
        yield from _marked(case, area, marking)
    elif area == "zone_0":
        raise Missing(MARKING)  # an enclosure that withstands an explosion is level Gb
    if has_drive(case) and case.is_("/motor/thermal_sensor", "none"):
        yield _told(case, "no_sensor", case.place("/motor/thermal_sensor"))


def _marked(case: Case, area: str, marking: str) -> Iterator[Finding]:
    """Of a marking that does not fit; `Missing` where nothing tells whether it does."""
    practice = case.find("/site/electrical_practice")
    if marking in FITS[area]:
        return
    if marking in LISTED.get(area, ()):
        if practice not in NORTH_AMERICA:
            raise Missing(MARKING, because="a listing by divisions names no level of protection")
        return
    if marking == "other":
        raise Missing(MARKING, because="only the certificate tells where that may be used")
    if area == "class1_div1" and practice == "canadian" and marking in LEVELS:
        raise Missing(MARKING, because="only the local code tells whether a level will do there")
    yield _told(case, "marking", MARKING, marking=MARKED[marking], wanted=_wanted(case, area))


MARKED = {
    "epl_ga": "protection level Ga", "epl_gb": "protection level Gb",
    "epl_gc": "protection level Gc", "class1_div1": "class I, division 1",
    "class1_div2": "class I, division 2",
}  # fmt: skip


def _wanted(case: Case, area: str) -> str:
    listed = case.is_("/site/electrical_practice", *NORTH_AMERICA)
    fits = (*FITS[area], *(LISTED.get(area, ()) if listed else ()))
    return " or ".join(MARKED[each] for each in fits)


def _unprotected(case: Case, area: str, place: str) -> Iterator[Finding]:
    """Of a motor of which no protection is recorded, by what the area asks for."""
    if case.find(MARKING) is None and case.find(ENCLOSURE) is None:
        raise Missing(ENCLOSURE)
    if area == "class1_div1":
        yield from _kept_under(case)
    elif case.find(MARKING) == "none":
        if area == "zone_2" and case.is_("/site/electrical_practice", "canadian"):
            because = "only the local code tells whether a motor without sparks will do there"
            raise Missing(MARKING, because=because)
        variant, at = ("sliding", "/motor/kind") if area == "class1_div2" else ("unmarked", MARKING)
        yield _told(case, variant, at, _of_no_marking(case), wanted=_wanted(case, area))
    elif area in ("zone_0", "zone_1"):
        enclosure = Shown(spaced(case.word(ENCLOSURE)), "")
        yield _told(case, "enclosure", place, enclosure=enclosure)
    else:
        raise Missing(MARKING)  # what suits zone 2 does not show in an enclosure


def _of_no_marking(case: Case) -> Severity:
    """Stop where it is known to run uncovered; else something may keep it under liquid."""
    cover = case.find(COVER)
    try:
        uncovered = cover is not None and below(
            levels.elevation(case, "low_level_cutoff"), cover.si
        )
    except Missing:
        uncovered = False
    return "stop" if uncovered and case.is_(AREA, "zone_0", "zone_1", "zone_2") else "review"


def _kept_under(case: Case) -> Iterator[Finding]:
    """Without protection it may run in division 1 only where it never does so uncovered."""
    missing = [each for each in (COVER, CUT_OFF) if case.find(each) is None]
    if missing:
        raise Missing(*dict.fromkeys((MARKING, *map(case.place, missing))))
    cover, at = case.quantity(COVER), levels.elevation(case, "low_level_cutoff")
    if below(at, cover.si):
        stopped = show(at, cover.unit)
        yield _told(case, "uncovered", case.place(CUT_OFF), stopped=stopped, cover=entered(cover))
    elif not _is_proven(case):
        raise Missing(TESTS, because="no test shows that the low cut-off stops the pump")


def _is_proven(case: Case) -> bool:
    tests = case.find(TESTS) or ()
    return any(each.function == "low_level" and each.passed for each in tests)


def _told(
    case: Case,
    variant: str,
    place: str,
    severity: Severity = "review",
    *,
    wanted: str = "",
    **compared: Shown | str,
) -> Finding:
    shown = {name: Shown(each, "") if isinstance(each, str) else each
             for name, each in compared.items()}  # fmt: skip
    return HAZARDOUS_AREA.finding(
        variant, severity, place,
        compared={"area": Shown(AREAS[case.word(AREA)], "")} | shown,
        limit=wanted, wanted=wanted,
    )  # fmt: skip


AREAS = {
    "zone_0": "zone 0", "zone_1": "zone 1", "zone_2": "zone 2",
    "class1_div1": "class I, division 1", "class1_div2": "class I, division 2",
}  # fmt: skip

HAZARDOUS_AREA = Rule(
    id="motor.hazardous-area",
    title="Motor in explosive air",
    severities=("stop", "review"),
    condition="A motor immersed in a well whose air may explode is marked for it: level Ga in "
    "zone 0, Ga or Gb in zone 1, Ga, Gb or Gc in zone 2; listed for division 1 in division 1, or "
    "stopped before liquid no longer covers it, as a test of the low cut-off shows; in division "
    "2, and in zone 2 in the United States, any without slip rings, and with them one that is "
    "marked. Where the marking is not recorded an explosion-protected enclosure will do, but not "
    "in zone 0. What suits dust is left to the certificate. On a drive a protected motor has a "
    "thermal sensor, or was tested together with the drive and its protection. Stop where a motor "
    "that is recorded as not protected runs in a zone below the level that covers it.",
    source="IEC 60079-14, levels of protection that zones ask for, motors fed by converters; NFPA "
    "70 500.8, 501.5, 501.125, 505.20; NFPA 820, motors kept under liquid: all from memory",
    subject=ENCLOSURE,
    applies=_may_be_explosive,
    check=_area,
    sentences={
        "enclosure": "The motor hangs in a well whose air may explode ({area}), but its enclosure "
        "is recorded as {enclosure}: no protection against explosion is recorded.",
        "unmarked": "The motor hangs in a well whose air may explode ({area}), and it is recorded "
        "as not protected against explosion; {wanted} is wanted there.",
        "marking": "The motor hangs in a well whose air may explode ({area}), but it is marked for "
        "{marking}; {wanted} is wanted there.",
        "contradicts": "The motor's enclosure is recorded as explosion protected, and its marking "
        "as none ({area}): one of them is wrong.",
        "uncovered": "No protection against explosion is recorded of the motor ({area}), so that "
        "it may run only under liquid; the low cut-off stops it at {stopped}, below the {cover} to "
        "which it has to be covered.",
        "sliding": "The motor has a wound rotor, whose slip rings spark in service, and no "
        "protection against explosion; it hangs in a well whose air may explode ({area}).",
        "no_sensor": "The explosion-protected motor ({area}) runs on a drive, and its thermal "
        "sensor is recorded as none: its certificate holds on a drive only with the protection "
        "that it names.",
    },
    remedies={
        "enclosure": "Read the plate's marking of protection, and enter it; without one it may "
        "run there only where the code accepts it kept under liquid, and something proves that.",
        "unmarked": "Read the plate again; without a marking it may run there only where the code "
        "accepts it kept under liquid, and something proves that.",
        "marking": "Read the plate and the plan of the areas again; else exchange the motor.",
        "contradicts": "Read the plate's marking again.",
        "uncovered": "Raise the low cut-off to {cover} or more, or fit a motor listed for the "
        "area.",
        "sliding": "Read the plate's marking; else exchange the motor.",
        "no_sensor": "Read the certificate: a thermal sensor that trips, or a test together with "
        "this drive and its settings.",
    },
)
