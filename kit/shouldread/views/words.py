"""Words that several screens say alike."""

from collections.abc import Iterable

from shouldread.diagnosis import cautions
from shouldread.meter import SETTINGS

State = dict[str, object]  # a screen as plain data, ready for the page

CAUTIONS = {
    setting: "; ".join(caution.say for caution in cautions(None, f"{setting} in view")) for setting in SETTINGS
}


def listed(names: Iterable[str], last: str = "and", most: int = 6) -> str:
    """``A``, ``A and B``, ``A, B and C``; a long list ends in how many more there are."""
    rows = list(names)
    if len(rows) > most:
        return ", ".join(rows[:most]) + f" {last} {len(rows) - most} more"
    return rows[0] if len(rows) == 1 else ", ".join(rows[:-1]) + f" {last} {rows[-1]}" if rows else ""


def counted(number: int, word: str) -> str:
    """``1 group``, ``3 groups``."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
