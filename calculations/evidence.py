"""How well a published figure is known to us; shown wherever the figure is shown."""

from typing import Literal

Evidence = Literal["retrieved", "reproduced", "derived", "from memory", "common practice"]
"""The words of REFERENCES.md."""
