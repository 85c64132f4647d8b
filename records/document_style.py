"""How a client wants its documents printed."""

from dataclasses import dataclass
from typing import Literal

Units = Literal["entered", "si", "us"]
Paper = Literal["usual", "a4", "letter"]


@dataclass(frozen=True, slots=True)
class Style:
    """System of units, and paper; `usual` is that of the station's practice."""

    units: Units = "entered"
    paper: Paper = "usual"
