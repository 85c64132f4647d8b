"""What judges on the device: the interpreter that lies with us, and one archive of pure Python.

The archive is made from what is installed here, so that the device runs the very rules of the
service. The same installation gives the same bytes.
"""

import hashlib
import io
import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import calculations
from calculations import units

VENDOR = Path(__file__).resolve().parents[2] / "static" / "field" / "vendor"
PACKAGES = ("pydantic", "annotated_types", "typing_extensions", "typing_inspection", "rfc8785")
LEFT_OUT = frozenset({"pydantic/v1", "pydantic/mypy.py", "pydantic/_internal/_git.py"})
THEN = (1980, 1, 1, 0, 0, 0)  # of every member: the bytes follow from the contents alone
FACTORS = '''"""Stands for the registry of units: what it gave the service for each expression."""


class Quantity:
    def __init__(self, magnitude):
        self.magnitude = magnitude

    def to_base_units(self):
        return self


class UnitRegistry:
    def Quantity(self, expression):
        return Quantity(FACTORS[expression])


FACTORS = {factors}
'''


@dataclass(frozen=True, slots=True)
class Archive:
    """The archive and its SHA-256 in hex, by which it can be cached for ever."""

    content: bytes
    digest: str


@cache
def archive() -> Archive:
    """`calculations` and what it imports, as a ZIP."""
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w") as made:
        for name, content in sorted(_members()):
            member = zipfile.ZipInfo(name, THEN)
            made.writestr(member, content, zipfile.ZIP_DEFLATED, 9)
    content = kept.getvalue()
    return Archive(content, hashlib.sha256(content).hexdigest())


@cache
def vendored() -> tuple[dict[str, Any], ...]:
    """What others wrote and lies with us: name, version, licence, files with their digests."""
    return tuple(json.loads((VENDOR / "manifest.json").read_text()))


def vendored_files() -> dict[str, str]:
    """SHA-256 in hex of each file that a device needs, by its path below the vendor's folder."""
    return {name: digest for each in vendored() for name, digest in each["files"].items()}


def _members() -> Iterator[tuple[str, bytes]]:
    yield "pint.py", FACTORS.format(factors=json.dumps(_factors(), indent=1)).encode()
    yield from _sources("calculations", Path(str(calculations.__file__)).parent)
    for name in PACKAGES:
        spec = find_spec(name)
        if spec is None or spec.origin is None:
            raise RuntimeError(f"{name} is not installed")
        place = Path(spec.origin)
        if place.name == "__init__.py":
            yield from _sources(name, place.parent)
        else:
            yield place.name, place.read_bytes()
    # Read by what is imported, of its own name.
    yield from _metadata("pydantic")


def _sources(name: str, folder: Path) -> Iterator[tuple[str, bytes]]:
    for path in folder.rglob("*.py"):
        member = f"{name}/{path.relative_to(folder).as_posix()}"
        if not any(member == out or member.startswith(f"{out}/") for out in LEFT_OUT):
            yield member, path.read_bytes()


def _metadata(name: str) -> Iterator[tuple[str, bytes]]:
    text = f"Metadata-Version: 2.1\nName: {name}\nVersion: {version(name)}\n"
    yield f"{name}-{version(name)}.dist-info/METADATA", text.encode()


def _factors() -> dict[str, float]:
    """What the registry says of each expression that units are declared with, to the last bit."""
    return units.factors_of_expressions()
