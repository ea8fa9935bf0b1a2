"""Tracing a stage part by part: the lines as typed, what is wrong beside each, and the netlist they make."""

from dataclasses import dataclass

from shouldread.views.drawn_state import drawing_state
from shouldread.views.words import State


@dataclass(frozen=True, slots=True)
class TraceEntry:
    """The lines of a stage that is being traced. Frozen: every change gives a new one."""

    lines: tuple[str, ...] = ()
    name: str = ""

    @classmethod
    def of(cls, text: str, name: str) -> "TraceEntry":
        """From the text that the case keeps."""
        return cls(tuple(line for line in text.splitlines() if line.strip()), name)

    @property
    def text(self) -> str:
        """The lines as the case keeps them."""
        return "\n".join(self.lines)

    def state(self, revision: int) -> State:
        """The screen."""
        return {
            "revision": revision,
            "name": self.name,
            "parts": [{"key": str(n), "text": line, "wrong": ""} for n, line in enumerate(self.lines)],
            "ready": bool(self.lines),
            "likes": [],
            "drawing": drawing_state(None),
        }
