"""A candidate as its seller writes it, and whether it meets a requirement line by line."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from shouldread.errors import KitError
from shouldread.quantities import read_marking, say, si_number

NAMES: Mapping[str, str] = {
    "Ω": "resistance", "F": "capacitance", "H": "inductance", "V": "volts", "A": "amps", "W": "watts",
}  # fmt: skip
# What stands beside a figure and makes it another one than its unit says; the first that fits is taken.
LABELS: tuple[tuple[str, str, re.Pattern[str]], ...] = (
    ("threshold", "V", re.compile(r"v\s*gs\s*\(?\s*th\s*\)?|\bvth\b|threshold", re.I)),
    ("gate volts", "V", re.compile(r"\bv\s*gss?\b|\bgate\b", re.I)),
    ("base volts", "V", re.compile(r"\bvebo?\b", re.I)),
    ("clamp volts", "V", re.compile(r"\bclamp\w*|\bvcl?\b", re.I)),
    ("saturation amps", "A", re.compile(r"\bi?\s*sat\w*", re.I)),
    ("warming amps", "A", re.compile(r"\bi?\s*rms\b|\btemp\w*", re.I)),
    ("leakage", "A", re.compile(r"\bleak\w*|\bi\s*r\b|\bidss\b", re.I)),
)
FRACTION = re.compile(r"(\d+)\s*/\s*(\d+)(?=\s*W)")
PERCENT = re.compile(r"(?:±|\+/-|\+-)?\s*(\d+(?:[.,]\d+)?)\s*%")
SIZES = frozenset("0201 0402 0603 0805 1206 1210 1812 2010 2512".split())  # EIA chip sizes, no values (from memory)
MOST = 2000  # characters of a description


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
    spare: bool = False  # judged where a candidate states it, asked for else

    def __str__(self) -> str:
        span = f"{self.span} " if self.unit else ""
        rule = f"({self.rule}; {self.source})" if self.unit else f"{self.rule} ({self.source})"
        return f"{self.what}: {span}{rule}"

    @property
    def span(self) -> str:
        """From where to where, in words."""
        low, high = say(self.low, self.unit, 3), say(self.high, self.unit, 3)
        if self.unit == "%":
            return f"no wider than ±{self.high:.3g} %"
        if self.high == float("inf"):
            return f"at least {low}"
        return f"{low} to {high}" if self.low > 0 else f"at most {high}"

    def verdict(self, text: str, told: Mapping[str, float]) -> tuple[str, str]:
        """(``yes``, ``no`` or ``?``, the sentence) of a candidate."""
        if not self.unit:
            return self._worded(text)
        value = told.get(self.what, told.get(self.what.rpartition(" ")[2]))  # zener volts are a zener's volts
        if value is None and self.spare:
            return "yes", f"- {self.what}: not stated; ask whether it is {self.span}"
        if value is None:
            return "?", f"? {self.what}: not stated; needs {self}"
        if self.low * (1 - 1e-9) <= value <= self.high * (1 + 1e-9):
            return "yes", f"yes {self.what}: {_said(value, self.unit)}"
        return "no", f"no {self.what}: {_said(value, self.unit)}; needs {self}"

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


def _said(value: float, unit: str) -> str:
    return f"±{value:.3g} %" if unit == "%" else say(value, unit, 3)


def told_of(text: str) -> dict[str, float]:
    """Figures of a candidate by what they are, from their units and the words beside them, SI; signs are left out.

    A coil's amps are those at which it saturates, where those are told apart from the amps that warm it. ``tolerance``
    is in percent.
    """
    found: dict[str, float] = {}
    plain = FRACTION.sub(lambda hit: f"{int(hit[1]) / max(int(hit[2]), 1):g}", text[:MOST])
    for piece in re.split(r"[;\n]|,\s+|,(?=\s*\D)", re.sub(r"[()]", " ", _joined(plain))):
        if (hit := PERCENT.search(piece)) is not None:
            found.setdefault("tolerance", float(hit[1].replace(",", ".")))
            piece = PERCENT.sub(" ", piece)
        for what, value in _figures(piece):
            found.setdefault(what, abs(value))
    if "saturation amps" in found:
        found["amps"] = found["saturation amps"]
    return found


def _figures(piece: str) -> Iterator[tuple[str, float]]:
    """(what, value) of each figure of a piece, with the label that stands nearest to it on its own side of a comma."""
    words = [word for word in re.split(r"[\s=:]+", piece) if word]
    start, label = 0, ""
    while start < len(words):
        hit = _figure(words[start : start + 2])
        if hit is None:
            label, start = _label(words[start]) or label, start + 1
            continue
        value, unit, used = hit
        start += used
        after = _label(words[start]) if start < len(words) else ""
        named = next((k for k in (label, after) if k and _unit_of(k) == unit), "")
        if named and named == after and label != after:
            start += 1
        label = ""
        yield named or NAMES[unit], value


def _joined(text: str) -> str:
    """A description whose labels are one word each, so that what they are about is seen."""
    for what, _, pattern in LABELS:
        text = pattern.sub(f" @{what.replace(' ', '_')} ", text)
    return text


def _label(word: str) -> str:
    return word[1:].replace("_", " ") if word.startswith("@") else ""


def _unit_of(label: str) -> str:
    return next(unit for what, unit, _ in LABELS if what == label)


def _figure(words: list[str]) -> tuple[float, str, int] | None:
    """(value, unit, words used) of the figure that these begin with."""
    for count in range(len(words), 0, -1):
        try:
            value, unit = si_number(" ".join(words[:count]))
        except KitError:
            continue
        if unit in NAMES:
            return value, unit, count
    return None


def code_of(text: str, unit: str) -> float | None:
    """The value of the marking code that a description begins with (``103, 50 V``); None where it begins with none."""
    word = re.split(r"[\s,;]", text.strip(), maxsplit=1)[0]
    if not word or word in SIZES:
        return None
    try:
        return read_marking(word, unit)[0].spread.nominal
    except KitError:
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
