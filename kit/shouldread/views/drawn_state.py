"""The drawing as plain data for the page: a tree of elements, the marks of verdicts, and what could be better."""

from shouldread.drawing import MARKS, Drawing
from shouldread.views.words import State


def drawing_state(drawing: Drawing | None, trouble: str = "") -> State:
    """Everything the page needs to build the drawing element by element; empty without a drawing."""
    if drawing is None:
        return {"tree": None, "width": 0, "marks": {}, "remarks": [trouble] if trouble else []}
    return {
        "tree": drawing.to_tree(),
        "width": drawing.width,
        "marks": dict(MARKS),
        "remarks": list(drawing.remarks),
    }
