"""Finished places of the circuits on the shelf, so that they open at once as they were polished.

``kept.json`` maps the digest of a sheet to the places of its parts. A circuit that was changed has
another digest and is laid out anew; ``python -m shouldread.drawing`` writes the file afresh.
"""

import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from shouldread.drawing.positions import Positions

KEPT = Path(__file__).with_name("kept.json")


@cache
def _all() -> Mapping[str, Positions]:
    if not KEPT.is_file():
        return {}
    rows = json.loads(KEPT.read_text(encoding="utf-8"))
    return {key: Positions.from_data({"key": key, "places": places}) for key, places in rows.items()}


def kept_positions(key: str) -> Positions | None:
    """The finished places of the sheet with that digest, if they are kept."""
    return _all().get(key)


def keep(drawn: Mapping[str, Positions], only: bool = False) -> None:
    """Adds the places of some drawings to those kept, or keeps these ``only``; one line each."""
    rows = {} if only else dict(_all())
    rows |= {positions.key: positions for positions in drawn.values()}
    lines = []
    for key in sorted(rows):
        places = {name: list(place) for name, place in rows[key].places.items()}
        lines.append(f"{json.dumps(key)}: {json.dumps(places, separators=(',', ':'))}")
    KEPT.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")
    _all.cache_clear()
