"""Cautions: those that hold everywhere, and those that this station asks for."""

from collections.abc import Iterator, Sequence

from calculations.aspects.pumping import NEVER_SHUT_OFF
from records.documents.blocks import Block, heading, paragraph
from records.documents.contents.source import Document, Source

ARITHMETIC = (
    "A computed agreement is a check of arithmetic. It is not a safety approval and not a "
    "certification."
)
DEFERENCE = (
    f"{ARITHMETIC} Nameplate, maker's manual, local code and authority, and the judgement of a "
    "licensed practitioner come before anything printed here."
)
SHORT = (
    "Hazardous voltage and stored energy; rotating and pressurised equipment; automatic restart. "
    "Before any of these values is set again, read all of the cautions. " + ARITHMETIC
)

_ALWAYS = (
    ("Hazardous voltage, stored energy", "Only qualified people work on the drive and the motor, "
     "with the supply switched off. After switching off, wait for the time marked on the drive, "
     "then measure: a dark display does not prove that the d.c. link is discharged."),
    ("Lock-out", "Isolate every source, lock and tag it, and prove it dead before touching. Lock "
     "out the whole pump set, not only the drive. Where energy can build up again, keep checking."),
    ("Rotating equipment", "Guards stay on. Test the direction of rotation only where neither "
     "coupling nor flow can do harm, on the drive and on the bypass."),
    ("Pressurised equipment", "Isolate, vent and drain before opening; a check valve can hold "
     "pressure. Never run a pump unattended between closed valves: it can boil and burst. If one "
     "is found so, stop it from afar, keep people away and let it cool before touching a valve."),
    ("Confined space", "Wet wells, chambers and tanks are entered only under a permit, with the "
     "air tested, somebody on watch and a means of rescue."),
    ("Automatic restart", "A pump that sleeps, waits for a retry or stands by starts without "
     "warning, and so do the others of its group."),
)  # fmt: skip

_WITHOUT_DRIVE = {
    "Hazardous voltage, stored energy": "Only qualified people work on the starter and the motor, "
    "with the supply switched off and after measuring: the output of a soft starter is live while "
    "the motor stands, and capacitors for the power factor hold their charge. Where a drive stands "
    "there after all, wait the time that its plate says before opening it.",
    "Lock-out": "Isolate every source, lock and tag it, and prove it dead before touching. Where "
    "energy can build up again, keep checking.",
    "Rotating equipment": "Guards stay on. Test the direction of rotation only where neither "
    "coupling nor flow can do harm.",
    "Automatic restart": "A pump that waits for a level, a pressure, a clock or the supply, or "
    "stands by, starts without warning, and so do the others of its group.",
}
"""Where nothing but pumps at fixed speed is spoken of, in place of the same titles."""


def cautions(*sources: Source) -> list[Block]:
    """All cautions that concern the reader of a record, or of several pieces, each once."""
    listed = concerning(*(source.snapshot.value for source in sources))
    return [heading("Cautions"), {"kind": "titled", "items": listed}, paragraph(DEFERENCE)]


def concerning(*snapshots: Document) -> list[dict[str, str]]:
    """The same as data, `title` and `text`: of these nameplates, each once."""
    found = (each for one in snapshots for each in _of_the_station(one))
    listed = dict.fromkeys((*_always(snapshots), *found))
    return [{"title": title, "text": words} for title, words in listed]


def _always(snapshots: Sequence[Document]) -> Iterator[tuple[str, str]]:
    without_drive = bool(snapshots) and all(map(_at_fixed_speed, snapshots))
    for title, words in _ALWAYS:
        yield title, _WITHOUT_DRIVE.get(title, words) if without_drive else words


def _at_fixed_speed(snapshot: Document) -> bool:
    """Whether its pump set says that it has no drive, and shares none."""
    pump_set = snapshot.get("pump_set") or {"drive": ""}
    told = "drive" in pump_set and pump_set["drive"] is None
    return told and not pump_set.get("drive_shared_with") and not snapshot.get("drive")


def _of_the_station(snapshot: Document) -> Iterator[tuple[str, str]]:
    site = snapshot.get("site") or {}
    yield from _site(site)
    if site.get("supply_earthing") not in (None, "solid_star"):
        yield "Earthing of the supply", _earthing(snapshot)
    yield from _equipment(snapshot)


def _site(site: Document) -> Iterator[tuple[str, str]]:
    if site.get("hazardous_area") not in (None, "none"):
        yield ("Explosive atmosphere", "This station has a classified area, or it is not known "
               "whether it has one. Phones, tablets and cameras stay outside unless they are "
               "approved for it.")  # fmt: skip
    if site.get("confined_space"):
        yield ("Confined space here", "This station has one: no entry without permit and watch.")
    if site.get("supply_source") in ("generator", "utility_and_generator"):
        yield ("Several sources", "A generator or transfer switch can make the supply live again; "
               "control voltage may come from elsewhere.")  # fmt: skip
    if site.get("liquid_kind") == "potable":
        yield ("Drinking water", "Disinfect what was opened, and release it only after the sample "
               "that the local rules ask for.")  # fmt: skip


def _earthing(snapshot: Document) -> str:
    told = "It is not, or not known to be, a solidly earthed star: "
    if _at_fixed_speed(snapshot):
        return f"{told}a first fault to earth may trip nothing and put the others on full voltage."
    return f"{told}check the drive's filter links against the maker's manual."


def _equipment(snapshot: Document) -> Iterator[tuple[str, str]]:
    motor, drive = snapshot.get("motor") or {}, snapshot.get("drive") or {}
    if motor.get("kind") in ("permanent_magnet", "pm_assisted_reluctance"):
        yield ("Permanent magnets", "Such a motor's terminals are live while its shaft turns, also "
               "by backflow. Isolate, and stop the shaft.")  # fmt: skip
    if snapshot.get("vessels"):
        yield (
            "Vessels",
            "They store energy. Drain the water side before measuring the pre-charge.",
        )
    if drive.get("output_capacitors"):
        yield (
            "Capacitors",
            "Those on the motor's side are discharged and removed before the drive is connected.",
        )
    if (snapshot.get("pump_set") or {}).get("bypass") in ("manual", "automatic"):
        yield ("Bypass", "The motor can be live and turning with the drive switched off.")
    if not may_shut_off(snapshot):
        yield ("Closed valve", "Never start, run or test an axial, mixed-flow or progressive "
               "cavity pump at a closed valve: power or pressure is highest there.")  # fmt: skip


def may_shut_off(snapshot: Document) -> bool:
    """Whether the pump may be tested at a closed valve, as far as its kind says."""
    return (snapshot.get("pump") or {}).get("type") not in NEVER_SHUT_OFF
