"""Rule of the drive's own overload protection against the plate."""

from collections.abc import Iterator

from calculations import full_load_current, overload
from calculations.aspects import load
from calculations.case import Case, Waits, once
from calculations.errors import InvalidInput
from calculations.findings import Finding, Severity, Shown
from calculations.overload import DriveOverload, ElectricalPractice
from calculations.rule import Limit, Rule, percent, show
from calculations.rules.closeness import Apart, apart_from, rounding
from calculations.rules.drive_flux import require_rating
from calculations.rules.drive_motor_data import severity_of_current
from calculations.rules.scope import has_drive, is_dry, is_immersed
from calculations.units import Quantity

SEPARATE_DEVICE_SHARES = (1.25, 1.15)
ALIKE = 0.01
CODES = {"us_nec": "NFPA 70 430.32", "canadian": "Canadian Electrical Code, 28-306"}
USUAL_SERVICE_FACTOR = 1.15
"""Of motors whose plate has one; NEMA MG 1-2011 12.51, from memory."""


@once
def recommended(case: Case) -> DriveOverload:
    """Setting from the plate, and where it is questioned or refused under the site's practice.

    Where the practice is not known, the most generous one decides what is refused.
    """
    practice = case.find("/site/electrical_practice") or ElectricalPractice.US_NEC
    highest = case.find("/motor/service_factor_current")
    factor = case.find("/motor/service_factor")
    return overload.drive_overload(
        nameplate_current=case.si("/rating/current"),
        practice=ElectricalPractice(practice),
        immersed=is_immersed(case),
        service_factor_current=highest.si if highest is not None else None,
        service_factor=factor.si if factor is not None else None,
        review_share=1 + case.limit("drive.overload-setting.review"),
        stop_share_elsewhere=1 + case.limit("drive.overload-setting.stop"),
    )


def _as_current(case: Case, entered: Quantity) -> float:
    """A setting in % counts from the plate, so that a wrong motor current is told only once."""
    if entered.kind != "ratio":
        return entered.si
    return entered.si * case.si("/rating/current")


def _against(case: Case, entered: Quantity, reference: float) -> Apart:
    found = apart_from(entered, reference, rounding(case.quantity("/rating/current")))
    factor = _as_current(case, entered) / entered.si
    return Apart(found.ratio * factor, found.margin * factor)


def _overload(case: Case, place: str) -> Iterator[Finding]:
    require_rating(case)
    entered = case.quantity("/settings/overload_current")
    found = _against(case, entered, recommended(case).setting)
    severity = _severity_over(case, entered)
    _tell_a_cause_once(case, entered, severity)
    if severity:
        _require_service_factor_current(case, found)
        yield _over(case, place, found, severity)
    else:
        yield from _under(case, place, entered)


def _require_service_factor_current(case: Case, found: Apart) -> None:
    """`Missing` where the motor may be immersed, and its service factor would explain the setting.

    Its plate then has a current for it, and that is what the overload is set to.
    """
    known = case.find("/motor/service_factor_current") is not None
    if is_dry(case) or (is_immersed(case) and known):
        return
    factor = case.find("/motor/service_factor")
    if not found.over(
        (factor.si if factor is not None else USUAL_SERVICE_FACTOR) * (1 + ALIKE) - 1
    ):
        case.require("/motor/immersed", "/motor/service_factor_current")


def _severity_over(case: Case, entered: Quantity) -> Severity | None:
    limits = recommended(case)
    if _against(case, entered, limits.stop_above).over(0):
        return "stop"
    return "review" if _against(case, entered, limits.review_above).over(0) else None


def _tell_a_cause_once(case: Case, entered: Quantity, severity: Severity | None) -> None:
    """Many drives have one figure for both: then `drive.motor-current` tells it."""
    current = case.find("/settings/motor_current")
    if current is None or entered.kind == "ratio":
        return
    same = apart_from(entered, current.si, rounding(current)).near(1, 0)
    told = severity_of_current(case) if same else None
    if told and (told == "stop" or severity != "stop"):
        raise Waits("drive.motor-current")


def _over(case: Case, place: str, found: Apart, severity: Severity) -> Finding:
    limits = recommended(case)
    code = CODES.get(case.find("/site/electrical_practice") or "us_nec")
    reference = load.highest_plate_current(case)
    return OVERLOAD.finding(
        _explanation(case, found), severity, place,
        compared={
            "set": case.quantity("/settings/overload_current"),
            "plate": reference,
            "stop_above": show(limits.stop_above, "A"),
        },
        limit=f"{percent(limits.review_above / limits.setting)} review, "
        f"{percent(limits.stop_above / limits.setting)} stop",
        share=percent(found.ratio),
        named="the service-factor current of" if reference.si > case.si("/rating/current")
        else "the plate's",
        practice=f"the highest trip of a separate overload device ({code})" if code
        else "the practice limit",
    )  # fmt: skip


def _explanation(case: Case, found: Apart) -> str:
    factor = case.find("/motor/service_factor")
    if factor is not None and factor.si > 1 and found.near(factor.si, ALIKE):
        return "service_factor"
    listed = _table_current(case)
    entered = case.quantity("/settings/overload_current")
    in_amperes = entered.kind != "ratio"
    shares = (1.0, *SEPARATE_DEVICE_SHARES) if listed and in_amperes else ()
    if any(apart_from(entered, (listed or 0.0) * share).near(1, ALIKE) for share in shares):
        return "table"
    if any(found.near(share, ALIKE) for share in SEPARATE_DEVICE_SHARES):
        return "separate"
    return "over"


def _table_current(case: Case) -> float | None:
    power, voltage = case.find("/rating/power"), case.find("/rating/voltage")
    if not (power and voltage) or not case.is_("/site/electrical_practice", "us_nec"):
        return None
    try:
        return full_load_current.table_full_load_current(power=power.si, voltage=voltage.si)
    except InvalidInput:
        return None


def _under(case: Case, place: str, entered: Quantity) -> Iterator[Finding]:
    """Below what the motor will draw: it trips in service, though it protects."""
    reading = load.highest_reading(case)
    drawn = reading[1] if reading and reading[1].si <= load.highest_plate_current(case).si else None
    if drawn and _against(case, entered, drawn.si).under(0):
        yield _too_low(case, place, "trips", show(drawn.si, drawn.unit))
        return
    expected = case.known("load.highest-expected-current")
    limit = case.limit("drive.overload-setting.low")
    if expected is None:
        return
    needed = min(expected, load.highest_plate_current(case).si)
    if _against(case, entered, needed).under(limit):
        yield _too_low(case, place, "low", show(needed, case.quantity("/rating/current").unit))


def _too_low(case: Case, place: str, variant: str, needed: Shown) -> Finding:
    return OVERLOAD.finding(
        variant, "review", place,
        compared={
            "set": case.quantity("/settings/overload_current"),
            "needed": needed,
            "plate": load.highest_plate_current(case),
        },
        limit="not below the highest current in service",
    )  # fmt: skip


_OVER = "Overload is set to {set}, {share} of {named} {plate}"

OVERLOAD = Rule(
    id="drive.overload-setting",
    title="Drive's overload setting against the plate",
    severities=("stop", "review"),
    condition="The drive's own overload is set to the plate's current (an immersed motor's "
    "service-factor current): above 105 % is questioned; above 125 or 115 % of its full-load "
    "current (United States, Canada) or 110 % of the setting (elsewhere) must not stay; below the "
    "highest current in service it trips.",
    source="NFPA 70 430.32, 430.124 for the United States; Canadian Electrical Code, rule 28-306, "
    "from memory; else common practice, from memory",
    subject="/settings/overload_current",
    needs=("/settings/overload_current", "/rating/current"),
    waits_for=("motor.power-balance", "drive.motor-frequency"),
    applies=has_drive,
    check=_overload,
    limits={
        "review": Limit(5, "%", "above the plate's current", "lower", "common practice"),
        "stop": Limit(
            10, "%", "the same outside the United States and Canada", "lower", "common practice"
        ),
        "low": Limit(5, "%", "below the highest expected current", "lower", "common practice"),
    },
    sentences={
        "service_factor": _OVER + ": that is the service factor, which does not hold on a drive.",
        "table": _OVER + ": that is the code's table current or a share of it, meant for sizing "
        "conductors, not for a drive's overload.",
        "separate": _OVER + ": that share belongs to a separate overload device, not to a drive.",
        "over": _OVER + "; {practice} is {stop_above}.",
        "trips": "Overload is set to {set}, but the motor drew {needed} during the readings: it "
        "will trip in service.",
        "low": "Overload is set to {set}, below the {needed} that the pump may draw at maximum "
        "frequency where its curve takes most: it may trip in service.",
    },
    remedies=dict.fromkeys(
        ("service_factor", "table", "separate", "over", "trips", "low"),
        "Set the overload to {plate}; check whether the drive asks for amperes or percent.",
    ),
)
