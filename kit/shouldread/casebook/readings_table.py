"""All readings as a table for spreadsheets: one row a reading, SI units, nothing in it that a spreadsheet would run."""

import csv
import io
from collections.abc import Iterable
from pathlib import Path

from shouldread.casebook.archive import replacing
from shouldread.casebook.record import Record
from shouldread.casebook.said import placed
from shouldread.meter import Reading

COLUMNS = (
    *("case", "board", "when_utc", "place", "to", "setting", "state", "conditions"),
    *("typed", "value", "low", "high", "good_board"),
)
_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")  # OWASP, "CSV Injection" (from memory)


def write_readings(cases: Iterable[Record], path: Path) -> int:
    """Write the readings that stand to a CSV file (RFC 4180, UTF-8 with a mark, so that every spreadsheet reads it).

    Texts that a spreadsheet would take for a formula get an apostrophe in front. Returns the number of rows.
    """
    rows = 0
    with replacing(path) as file:
        text = io.TextIOWrapper(file, encoding="utf-8-sig", newline="")
        table = csv.writer(text)
        table.writerow(COLUMNS)
        for case in cases:
            for row in _rows(case):
                table.writerow([_safe(cell) for cell in row])
                rows += 1
        text.flush()
        text.detach()
    return rows


def _rows(case: Record) -> Iterable[tuple[object, ...]]:
    for event, items, _ in placed(case.standing()):
        for r in items:
            if isinstance(r, Reading):
                yield (
                    *(
                        case.name,
                        case.board,
                        event.at.strftime("%Y-%m-%d %H:%M:%S"),
                        r.place,
                        r.to,
                        r.setting,
                        r.state,
                    ),
                    *(
                        "; ".join(r.conditions),
                        r.text,
                        r.value,
                        r.low,
                        r.high,
                        "yes" if event.body.get("good") else "",
                    ),
                )


def _safe(cell: object) -> object:
    """Numbers as they are; a text that starts like a formula, also behind blanks, with an apostrophe in front."""
    return f"'{cell}" if isinstance(cell, str) and cell.lstrip(" ").startswith(_STARTS) else cell
