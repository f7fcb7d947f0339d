"""A drawing as JSON: its boxes, lines and labels, as ``draw.schema.json`` has them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from blockcheck.formats.json_v1 import dumps

if TYPE_CHECKING:
    from blockcheck.answers.draw import Drawing


def drawing_json(drawing: Drawing) -> str:
    """Everything that is drawn, in millimetres from the upper left corner."""
    return dumps(
        {
            "layout": drawing.layout,
            "title": drawing.title,
            "description": drawing.description,
            "scenario": drawing.scenario,
            "opened": list(drawing.opened),
            "unit": "mm",
            "width": drawing.width_mm,
            "height": drawing.height_mm,
            "sheets": drawing.sheets,
            "boxes": [
                {
                    "kind": box.kind,
                    "name": box.name,
                    "x": box.x_mm,
                    "y": box.y_mm,
                    "width": box.width_mm,
                    "height": box.height_mm,
                    "outlined": box.shown,
                }
                for box in drawing.boxes
            ],
            "lines": [
                {
                    "kind": line.kind,
                    "state": line.state,
                    "closed": line.closed,
                    "points": [list(point) for point in line.points],
                }
                for line in drawing.lines
            ],
            "labels": [
                {
                    "kind": label.kind,
                    "text": label.text,
                    "state": label.state,
                    "x": label.x_mm,
                    "y": label.y_mm,
                    "size": label.size_mm,
                    "width": round(label.width_mm, 2),
                    "anchor": label.anchor,
                    "bold": label.bold,
                }
                for label in drawing.labels
            ],
        }
    )
