"""The rail sheet as text, one line a rail: put a line in, change it, keep the others as they were typed."""

from shouldread.circuit import Rails
from shouldread.errors import RequestError


def rail_facts(sheet: str) -> dict[str, str]:
    """What is typed after each rail's name."""
    rows = (line.split(maxsplit=1) for line in sheet.splitlines() if line.strip())
    return {row[0]: row[1] if len(row) > 1 else "" for row in rows}


def with_rail(sheet: str, rail: str, facts: str) -> str:
    """The sheet with a rail's line put in or replaced. Raises KitError when that line cannot be read."""
    if not rail or rail.split() != [rail]:
        raise RequestError("a rail's name holds no blank", value=rail)
    line = f"{rail} {facts}".strip()
    Rails.read(line)
    lines = [row for row in sheet.splitlines() if row.strip()]
    names = [row.split()[0] for row in lines]
    if rail in names:
        lines[names.index(rail)] = line
    else:
        lines.append(line)
    return "\n".join(lines) + "\n"
