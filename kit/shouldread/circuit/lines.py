"""A netlist's text as logical lines and as one TOML document of facts, line numbers kept."""

import re
from dataclasses import dataclass

FACT = "*:"


@dataclass(frozen=True, slots=True)
class Line:
    """A logical line (continuations joined, comments gone): its first physical line number and its words."""

    number: int
    text: str
    words: tuple[str, ...]


_WORD = re.compile(r"\{[^{}]*\}|'[^']*'|\"[^\"]*\"|\([^()]*\)|[^\s=(){},]+|[=(){}]")
_COMMENT = re.compile(r"(?:;|(?<=\s)\$(?=\s|$)|//).*$")


def title_of(text: str) -> str:
    """What the first line says (it is always the title in SPICE)."""
    first = text.split("\n", 1)[0].strip()
    return "" if first.startswith(FACT) else first.lstrip("*").strip()


def facts_text(text: str) -> str:
    """All ``*:`` lines without their prefix, every other line blank, so that TOML errors name the right line."""
    rows = [line.strip() for line in text.split("\n")]
    return "\n".join(row[len(FACT) :].removeprefix(" ") if row.startswith(FACT) else "" for row in rows)


def logical_lines(text: str, *, titled: bool = True) -> tuple[Line, ...]:
    """Logical lines after the title, in order; stops at ``.end``."""
    joined: list[tuple[int, str]] = []
    for number, raw in enumerate(text.split("\n"), 1):
        if number == 1 and titled:
            continue
        row = raw.strip()
        if not row or row.startswith("*"):
            continue
        row = _COMMENT.sub("", row).strip()
        if row.startswith("+"):
            if joined:
                first, so_far = joined[-1]
                joined[-1] = (first, f"{so_far} {row[1:].strip()}")
                continue
            row = row[1:].strip()
        if row:
            joined.append((number, row))
    lines = []
    for number, row in joined:
        if row.split(None, 1)[0].lower() == ".end":
            break
        lines.append(Line(number, row, tuple(_WORD.findall(row))))
    return tuple(lines)
