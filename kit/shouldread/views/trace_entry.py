"""Tracing a stage as plain data: the lines as typed, what each is taken for, what is missing, and the netlist."""

from shouldread.circuit import Circuit, Trace, looks_like
from shouldread.drawing import Drawing
from shouldread.views.drawn_state import drawing_state
from shouldread.views.words import State, counted

FACT = "*:"  # lines that state what no word tells: kept, and shown in the netlist only
EMPTY = Trace()


def trace_state(trace: Trace, last: str, revision: int, drawing: Drawing | None = None) -> State:
    """The whole screen. ``last`` names what undo would take back."""
    circuit = trace.circuit
    rows = [(n, row) for n, row in enumerate(trace.rows) if not row.text.startswith(FACT)]
    wrong = sum(bool(row.wrong) for _, row in rows)
    return {
        "revision": revision,
        "name": trace.title,
        "last": last,
        "parts": [
            {"key": str(n), "text": row.text, "said": row.said, "wrong": row.wrong, "also": list(row.also)}
            for n, row in rows
        ],
        "counted": _counted(circuit, len(rows), wrong),
        "questions": list(trace.questions),
        "ready": circuit is not None,
        "likes": [
            {"name": like.name, "title": like.title, "differences": list(like.differences)}
            for like in (looks_like(circuit) if circuit is not None else ())
        ],
        "netlist": trace.netlist,
        "drawing": drawing_state(drawing),
    }


def _counted(circuit: Circuit | None, lines: int, wrong: int) -> str:
    """``8 parts, 9 points; 1 line to mend``."""
    if not lines:
        return ""
    mend = f"{counted(wrong, 'line')} to mend" if wrong else ""
    if circuit is None:
        return mend or "nothing to draw yet"
    points = len(circuit.nodes) - 1
    said = f"{counted(len(circuit.parts), 'part')}, {counted(points, 'point')}"
    return f"{said}; {mend}" if mend else said
