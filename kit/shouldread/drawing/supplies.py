"""Which supplies are flags, which are wires, and which nodes get a tag of their own."""

from dataclasses import replace

from shouldread.drawing.sense import Sense, read_sense
from shouldread.drawing.sheet import GROUND, INPUT_TAG, OUTPUT_TAG, Piece, Pin, Sheet, Source

MANY_PARTS = 12  # above this a busy supply made on the sheet becomes flags
_BUSY = 5  # pins of a busy node
_WIRED = 4  # a rail with at most so many pins, one of a lying part, is drawn as a wire


def _makes(piece: Piece, node: str) -> bool:
    """Whether a piece feeds a supply node: converter coil, bead, fuse, IC output, P-channel switch."""
    if piece.symbol.name in ("inductor", "bead", "fuse", "pmos"):
        return True
    return any(pin.node == node and pin.flow == "out" for pin in piece.pins)


def _made_supplies(sheet: Sheet) -> list[str]:
    if sheet.hints.flags:
        return [node for node in sheet.hints.flags if not sheet.flagged(node)]
    if len(sheet.pieces) <= MANY_PARTS:
        return []
    found = []
    for node, count in sheet.pin_counts().items():
        if sheet.flagged(node) or node in sheet.inputs or count < _BUSY:
            continue
        pieces = sheet.at(node)
        stores = any("capacitor" in piece.symbol.name and GROUND in piece.nodes for piece in pieces)
        if stores and any(_makes(piece, node) for piece in pieces):
            found.append(node)
    return found


def _wired_rails(sheet: Sheet, sense: Sense) -> list[str]:
    if sheet.hints.wired:
        return [node for node in sheet.hints.wired if node in sheet.rails]
    counts = sheet.pin_counts()
    flags = sheet.hints.flags
    return [
        node
        for node, volts in sheet.rails.items()
        if counts.get(node, 0) <= _WIRED
        and volts > 0
        and node not in flags
        and any(piece.name in sense.lying for piece in sheet.at(node))
    ]


def settle_supplies(sheet: Sheet) -> Sheet:
    """The sheet with its supplies decided: busy ones become flags, short ones become wires."""
    found = _made_supplies(sheet)
    made = [*found, *(node for node in sheet.rails if node not in sheet.sources)]
    sheet = replace(sheet, rails={**sheet.rails, **dict.fromkeys(found, 1e-3)}, made=tuple(made))
    wired = [node for node in _wired_rails(sheet, read_sense(sheet)) if node not in made]
    return replace(
        sheet,
        rails={node: volts for node, volts in sheet.rails.items() if node not in wired},
        wired={node: sheet.rails[node] for node in wired},
        inputs=tuple(dict.fromkeys([*sheet.inputs, *wired])),
    )


def tag(node: str, output: bool, source: Source | None = None, name: str = "") -> Piece:
    """A named tag on a node, standing for the source that feeds it. ``name`` tells tags of one node apart."""
    sort = OUTPUT_TAG if output else INPUT_TAG
    pin = Pin(source.pin if source else "1", node)
    return Piece(name or f"{sort.name} {node}", sort, (pin,), (), source.part if source else "")


def with_tags(sheet: Sheet) -> Sheet:
    """The sheet with its input and output tags; a node with one pin gets a tag, so that it can be named."""
    counts = sheet.pin_counts()
    tags = [tag(node, False, sheet.sources.get(node)) for node in sheet.inputs]
    for node, count in counts.items():
        alone = count == 1 and not sheet.flagged(node) and node not in sheet.inputs
        if (node in sheet.outputs and not sheet.flagged(node)) or alone:
            tags.append(tag(node, True))
    return replace(sheet, pieces=(*sheet.pieces, *tags))
