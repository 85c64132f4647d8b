"""The insulation test as it was made: what was measured, on which winding, against which minima."""

from calculations import insulation
from calculations.case import Case
from calculations.insulation import InsulationSystem, ServiceLimits, Winding
from calculations.rules.closeness import below
from calculations.rules.scope import is_immersed

TEST = "/event/motor_tests/insulation"
FIRST_MODERN_YEAR = 1970
"""Year from which windings count as thermosetting; IEEE 43-2013, from memory."""

NEW_FOR_YEARS = 2
"""Years after its winding in which a motor that is started up counts as new; common practice."""

LIMIT_NAMES = (
    "random-wound", "form-wound", "new", "immersed-stop", "immersed", "immersed-new",
)  # fmt: skip


def winding(case: Case) -> Winding:
    """Kind of winding, by age and rated voltage: plates do not print it."""
    year, voltage = _wound_in(case), case.find("/rating/voltage")
    if year is not None and year < FIRST_MODERN_YEAR:
        return Winding.BEFORE_1970
    if voltage is not None and voltage.si >= insulation.LOW_VOLTAGE:
        return Winding.FORM_WOUND
    return Winding.RANDOM_WOUND


def _wound_in(case: Case) -> int | None:
    """Year of the winding: of the motor's making, or of its rewinding."""
    rewound = case.find("/motor/rewound_on")
    year: int | None = case.find("/motor/year_built")
    return int(rewound[:4]) if rewound else year


def system(case: Case) -> InsulationSystem:
    """Kind of insulation, by age."""
    if winding(case) is Winding.BEFORE_1970:
        return InsulationSystem.THERMOPLASTIC
    return InsulationSystem.THERMOSETTING


def is_through_cable(case: Case) -> bool:
    """Whether an immersed motor was read through its cable, as at a well head."""
    return is_immersed(case) and case.find(f"{TEST}/includes_cable") is True


def limits(case: Case) -> ServiceLimits:
    """Least resistances at 40 degC [ohm], as the client has set them."""
    named = {name: case.limit(f"insulation.minimum.{name}") for name in LIMIT_NAMES}
    if is_through_cable(case):
        return ServiceLimits(named["immersed-stop"], named["immersed"], named["immersed"])
    least = insulation.minimum_resistance(
        winding=winding(case),
        line_voltage=case.si("/rating/voltage"),
        form_wound=named["form-wound"],
        random_wound=named["random-wound"],
    )
    when_new = named["immersed-new" if is_immersed(case) else "new"]
    return ServiceLimits(least, least, max(when_new, least))


def is_new(case: Case) -> bool:
    """Whether the motor is started up within two years of its winding."""
    event, year = case.event, _wound_in(case)
    if event is None or event.performed_at is None or year is None:
        return False
    rewound = event.kind == "after_repair" and case.find("/motor/rewound_on") is not None
    new_kind = event.kind in ("start_up", "replacement") or rewound
    return new_kind and 0 <= event.performed_at.at.year - year <= NEW_FOR_YEARS


def may_be_old_enough(case: Case) -> bool:
    """Whether a winding of unknown year has what one from before 1970 needs at 40 degC."""
    if _wound_in(case) is not None or is_through_cable(case):
        return False
    reading = case.quantity(f"{TEST}/resistance_1_min")
    corrected = insulation.resistance_at_40_degrees(
        resistance=reading.at_most,
        temperature=case.si(f"{TEST}/winding_temperature"),
        system=InsulationSystem.THERMOPLASTIC,
    )
    least = insulation.minimum_resistance(
        winding=Winding.BEFORE_1970, line_voltage=case.si("/rating/voltage")
    )
    return not below(corrected, least)


def resistance_at_40_degrees(case: Case) -> float:
    """One-minute resistance brought to 40 degC [ohm]."""
    resistance, temperature = case.require(
        f"{TEST}/resistance_1_min", f"{TEST}/winding_temperature"
    )
    return insulation.resistance_at_40_degrees(
        resistance=resistance.si, temperature=temperature.si, system=system(case)
    )


def minimum_today(case: Case) -> float:
    """What the meter must show at least at today's winding temperature [ohm]."""
    return insulation.minimum_at_temperature(
        minimum_at_40=limits(case).review,
        temperature=case.si(f"{TEST}/winding_temperature"),
        system=system(case),
    )
