"""Where the parts of a finished drawing stand, as plain data that can be kept beside a circuit."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field

from shouldread.drawing.sheet import Piece, Sheet
from shouldread.errors import RequestError

LAYOUT_VERSION = 2  # raised whenever kept places no longer fit the symbols

Place = tuple[int, int, str]  # x, y in grid units of the sheet, and the pose


@dataclass(frozen=True, slots=True)
class Positions:
    """Part or tag to its place. ``key`` tells which netlist, hints and layout version they were made for.

    With the same key ``lay_out`` goes straight to the wires; with another one the old places are where
    it starts from, so that a picture does not jump when a part is added.
    """

    key: str = ""
    places: Mapping[str, Place] = field(default_factory=dict)

    def as_data(self) -> dict[str, object]:
        """Plain data: text, whole numbers, lists."""
        return {"key": self.key, "places": {name: list(place) for name, place in self.places.items()}}

    @classmethod
    def from_data(cls, data: object) -> "Positions":
        """Kept data read back. Raises RequestError for anything of another form."""
        places = data.get("places") if isinstance(data, Mapping) else None
        key = data.get("key") if isinstance(data, Mapping) else None
        if not isinstance(places, Mapping) or not isinstance(key, str):
            raise RequestError("kept positions are a key and a table of places; lay the circuit out anew.", value=data)
        return cls(key, {str(name): _place(str(name), row) for name, row in places.items()})


def _place(name: str, row: object) -> Place:
    if isinstance(row, (list, tuple)) and len(row) == 3:
        x, y, pose = row
        whole = all(isinstance(n, int) and not isinstance(n, bool) and abs(n) < 10**5 for n in (x, y))
        if whole and isinstance(pose, str):
            return x, y, pose
    raise RequestError(
        f"the kept place of {name} is x, y and a pose, not {row!r}; lay the circuit out anew.", value=row
    )


def sheet_key(sheet: Sheet) -> str:
    """A digest of everything that decides where parts stand."""
    pieces = [[p.name, p.symbol.name, [_pin(p, k) for k in range(len(p.pins))], p.lines] for p in sheet.pieces]
    facts = [LAYOUT_VERSION, pieces, dict(sheet.rails), sheet.inputs, sheet.outputs, asdict(sheet.hints)]
    text = json.dumps(facts, sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:32]


def _pin(piece: Piece, number: int) -> list[str]:
    """What of a pin decides where things stand: a tag does not show the name of its source's pin."""
    pin = piece.pins[number]
    return ["1" if piece.symbol.form == "tag" else pin.name, pin.node, pin.side, *(["?"] if pin.unsure else [])]
