"""What a script needs to read values out of a drawing: where its panels stand, and their axes."""

import json
from collections.abc import Iterable

from records.documents.charts.naming import Field
from records.documents.charts.scales import Span
from records.documents.charts.spec import Axis, Chart


def fields(chart: Chart, placed: Iterable[Field]) -> str:
    """Each panel with its edges and both axes, as JSON."""
    told = [
        {
            "left": round(field.left, 2),
            "right": round(field.right, 2),
            "top": round(field.top, 2),
            "bottom": round(field.bottom, 2),
            "x": _axis(chart.x, field.x),
            "y": _axis(panel.y, field.y),
        }
        for panel, field in zip(chart.panels, placed, strict=True)
    ]
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"))


def _axis(axis: Axis, span: Span) -> dict[str, object]:
    scale = "log" if span.is_log else axis.scale
    told = {"low": span.low, "high": span.high, "scale": scale}
    return told | {"title": axis.title, "unit": axis.unit}
