"""Every variety of part has a symbol, and every symbol reaches its pins and stays in its bounds."""

import pytest
from shouldread.drawing import SYMBOLS, Symbol, symbol_of
from shouldread.drawing.extents import extent, union
from shouldread.drawing.strokes import GLYPHS, STROKES
from shouldread.drawing.symbols import symbol_name
from shouldread.drawing.things import Arc, Area, Line
from shouldread.parts import KINDS, Block, Model, Part

PINS = {"C": 2, "D": 2, "E": 4, "G": 4, "I": 2, "L": 2, "M": 4, "Q": 3, "R": 2, "S": 4, "V": 2, "B": 2}
TYPES = {"Q": ("NPN", "PNP"), "M": ("NMOS", "PMOS"), "D": ("D",), "S": ("SW",)}
DRAWN = [symbol for symbol in SYMBOLS.values() if symbol.form in ("two", "three")]


def parts() -> list[Part]:
    """One part of every variety and polarity that a circuit may hold at its top level."""
    found = []
    for letter, kind in KINDS.items():
        if letter in "XB":
            continue
        nodes = tuple(f"N{k}" for k in range(PINS[letter]))
        for detail in kind.details:
            for sort in TYPES.get(letter, ("",)):
                model = Model("m", sort) if sort else None
                found.append(Part(f"{letter}1", letter, nodes, model=model, facts={"detail": detail}))
    return found


@pytest.mark.parametrize("part", parts(), ids=lambda p: f"{p.kind} {p.facts['detail']} {p.model and p.model.type}")
def test_every_variety_of_part_has_its_symbol(part: Part) -> None:
    assert symbol_name(part) in SYMBOLS


def test_every_symbol_has_strokes_and_every_stroke_a_symbol() -> None:
    assert {s.name for s in SYMBOLS.values() if s.form != "box"} == set(STROKES)
    assert {s.name for s in SYMBOLS.values() if s.form == "box"} == set(GLYPHS)


@pytest.mark.parametrize("symbol", DRAWN, ids=lambda s: s.name)
def test_a_symbol_reaches_its_pins(symbol: Symbol) -> None:
    ends = {point for thing in symbol.strokes if isinstance(thing, Line) for point in thing.points}
    pins = {(0, -2), (0, 2)} | ({(-2, 0)} if symbol.form == "three" else set())
    assert pins <= ends


@pytest.mark.parametrize("symbol", DRAWN, ids=lambda s: s.name)
def test_a_symbol_stays_within_the_room_it_claims(symbol: Symbol) -> None:
    x0, y0, x1, y1 = union(extent(stroke) for stroke in symbol.strokes)
    lead = 2.0 if symbol.form == "three" else symbol.left
    fourth = 2.0 if "bulk" in symbol.name else 0.0
    assert x0 >= -max(lead, symbol.left) - 0.01 and x1 <= max(symbol.right, fourth) + 0.02
    assert (y0, y1) == (-2, 2)


@pytest.mark.parametrize(
    ("block", "pins", "symbol"),
    [
        ("OPTOCOUPLER", ("A", "K", "C", "E"), "optocoupler"),
        ("SCR", ("A", "G", "K"), "thyristor"),
        ("SUPPLY", ("P", "N"), "source"),
        ("OPTOCOUPLER", ("A", "K", "C", "E", "B"), "block"),  # not ours: more pins than the symbol has
        ("GATE_DRIVER", ("IN", "OUT"), "block"),
    ],
)
def test_blocks(block: str, pins: tuple[str, ...], symbol: str) -> None:
    part = Part("X1", "X", tuple(f"N{k}" for k in range(len(pins))), block=Block(block, pins))
    assert symbol_of(part).name == symbol


def test_a_bulk_of_its_own_gets_a_pin() -> None:
    tied = Part("M1", "M", ("D", "G", "S", "S"), model=Model("m", "PMOS"))
    apart = Part("M1", "M", ("D", "G", "S", "B"), model=Model("m", "PMOS"))
    assert (symbol_name(tied), symbol_name(apart)) == ("pmos", "pmos with bulk pin")


CONTACTS = {  # IEC 60617, from memory: contact of a plug and socket; make contact; with push-button; worked by hand
    ("R", "contact"): "plug and socket",
    ("R", "relay"): "make contact",
    ("R", "button"): "push button",
    ("S", "contact"): "make contact",
    ("S", "button"): "push button",
    ("S", ""): "hand switch",
}


@pytest.mark.parametrize(("kind", "detail"), CONTACTS)
def test_a_connector_a_button_and_a_relay_contact_are_told_apart(kind: str, detail: str) -> None:
    nodes = ("A", "B", "0", "0")[: PINS[kind]]
    part = Part(f"{kind}1", kind, nodes, model=Model("m", "SW") if kind == "S" else None, facts={"detail": detail})
    assert symbol_name(part) == CONTACTS[kind, detail]


def test_a_connector_is_not_drawn_open() -> None:
    """Its pin lies inside its socket; the blade of a contact leaves a gap."""
    plug = SYMBOLS["plug and socket"].strokes
    (pin,) = (thing for thing in plug if isinstance(thing, Area))
    (socket,) = (thing for thing in plug if isinstance(thing, Arc))
    assert extent(socket)[1] < max(y for _, y in pin.points) < extent(socket)[3]


@pytest.mark.parametrize("detail", ["", "button", "contact"])
def test_a_switch_that_a_node_steers_shows_its_four_pins(detail: str) -> None:
    part = Part("S1", "S", ("A", "B", "C", "0"), model=Model("m", "SW"), facts={"detail": detail})
    assert symbol_name(part) == "controlled switch"


@pytest.mark.parametrize("pins", [("A", "G", "K"), ("A", "K", "G"), ("k", "a", "g")])
def test_a_thyristor_has_its_gate_at_the_side_in_whatever_order_its_pins_are_listed(pins: tuple[str, ...]) -> None:
    part = Part("X1", "X", ("N0", "N1", "N2"), block=Block("SCR", pins))
    placed = dict(zip((pin.upper() for pin in pins), symbol_of(part).order, strict=True))
    assert placed == {"A": "top", "G": "control", "K": "bottom"}
