"""A candidate as its seller writes it, and whether it meets a requirement line by line."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from shouldread.errors import KitError
from shouldread.quantities import read_marking, say, si_number

NAMES: Mapping[str, str] = {
    "Ω": "resistance", "F": "capacitance", "H": "inductance", "V": "volts", "A": "amps", "W": "watts",
}  # fmt: skip
THRESHOLD = re.compile(r"v\s*gs\s*\(?\s*th\s*\)?|vth|threshold", re.I)


@dataclass(frozen=True, slots=True)
class Line:
    """One requirement: what, at least (or at most) how much in SI units, its rule and where that comes from.

    ``any`` and ``never`` are words that must, or must not, stand in a candidate's description.
    """

    what: str
    low: float
    high: float
    unit: str
    rule: str
    source: str
    any: tuple[str, ...] = ()
    never: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.what}: {self.span} ({self.rule}; {self.source})" if self.unit else f"{self.what}: {self.rule}"

    @property
    def span(self) -> str:
        """From where to where, in words."""
        low, high = say(self.low, self.unit, 3), say(self.high, self.unit, 3)
        if self.high == float("inf"):
            return f"at least {low}"
        return f"{low} to {high}" if self.low > 0 else f"at most {high}"

    def verdict(self, text: str, told: Mapping[str, float]) -> tuple[str, str]:
        """(``yes``, ``no`` or ``?``, the sentence) of a candidate."""
        if not self.unit:
            return self._worded(text)
        value = told.get(self.what)
        if value is None:
            return "?", f"? {self.what}: not stated; needs {self}"
        if self.low * (1 - 1e-9) <= value <= self.high * (1 + 1e-9):
            return "yes", f"yes {self.what}: {say(value, self.unit, 3)}"
        return "no", f"no {self.what}: {say(value, self.unit, 3)}; needs {self}"

    def _worded(self, text: str) -> tuple[str, str]:
        plain = text.casefold()
        wrong = [word for word in self.never if word.casefold() in plain]
        if wrong:
            return "no", f"no {self.what}: {wrong[0]}; needs {self.rule}"
        right = [word for word in self.any if word.casefold() in plain]
        return (
            ("yes", f"yes {self.what}: {right[0]}")
            if right
            else ("?", f"? {self.what}: not stated; needs {self.rule}")
        )


def told_of(text: str) -> dict[str, float]:
    """Figures of a candidate by what they are, from their units and the words beside them."""
    found: dict[str, float] = {}
    for piece in re.split(r"[,;]\s+|,(?=\s*\D)", text):
        plain = THRESHOLD.sub(" ", piece).strip()
        words = [w for w in plain.replace("=", " ").split() if w]
        for start in range(len(words)):
            hit = _figure(words[start:])
            if hit is not None:
                value, unit = hit
                found.setdefault("threshold" if THRESHOLD.search(piece) else NAMES[unit], value)
                break
    return found


def _figure(words: list[str]) -> tuple[float, str] | None:
    for count in (2, 1):
        try:
            value, unit = si_number(" ".join(words[:count]))
        except KitError:
            continue
        if unit in NAMES:
            return value, unit
    return None


def marked(text: str, unit: str) -> float | None:
    """The value that a marking tells: with its unit, or by letter and digit code, digits, EIA-96; None if it tells none."""
    told = told_of(text).get(NAMES[unit])
    if told is not None:
        return told
    try:
        return read_marking(text.strip(), unit)[0].spread.nominal
    except KitError:
        return None
