"""Which symbol a part is drawn with, how far it reaches, and how it likes to lie.

A new symbol is one entry in SYMBOLS and one in ``strokes.STROKES`` (or GLYPHS for a box).
"""

from dataclasses import dataclass, replace
from typing import Literal

from shouldread.drawing.strokes import GLYPHS, STROKES, Strokes
from shouldread.parts import KINDS, Part

Form = Literal["two", "three", "box", "tag"]


@dataclass(frozen=True, slots=True)
class Symbol:
    """A symbol: ``left``/``right``/``long`` reach off its middle (grid units, upright).

    ``lies``: stands in the way of the current and is drawn along it (fuse, bead, coil of a converter).
    ``stacks``: may stand in a divider. ``one_way``: current only from first pin to second.
    ``conducts``: passes direct current. ``contact``: makes or breaks; its ohms are not written, and between two
    wired nodes it lies. ``order``: of three pins, where each netlist pin goes.
    """

    name: str
    form: Form
    left: float = 0.42
    right: float = 0.42
    long: float = 1.2
    lies: bool = False
    stacks: bool = False
    one_way: bool = False
    conducts: bool = True
    contact: bool = False
    order: tuple[str, ...] = ()
    sides: tuple[str, ...] = ()  # of a box: the side of each pin, where the symbol itself fixes it
    pitch: int = 0  # of a box: distance of its pins, where the symbol itself fixes it

    @property
    def strokes(self) -> Strokes:
        """Its strokes; for a box those inside."""
        return STROKES.get(self.name, ()) or GLYPHS.get(self.name, ())

    def place(self, pin: int) -> str:
        """Of three pins: top, control, bottom or side."""
        return self.order[pin]


def _two(name: str, half: float, **more: object) -> Symbol:
    return Symbol(name, "two", **({"left": half, "right": half} | more))  # type: ignore[arg-type]


_DOWN = ("top", "control", "bottom", "side")  # NPN c b e, NMOS d g s b
_UP = ("bottom", "control", "top", "side")  # PNP, PMOS: emitter and source on top

SYMBOLS: dict[str, Symbol] = {
    symbol.name: symbol
    for symbol in (
        _two("resistor", 0.42, stacks=True),
        _two("thermistor", 0.42, left=1.15, right=0.8, stacks=True),
        _two("fuse", 0.42, lies=True),
        _two("bead", 0.42, lies=True),
        _two("coil", 0.85, long=0.55),
        _two("wire", 0.2, lies=True),
        _two("capacitor", 0.85, long=0.3, conducts=False),
        _two("polarised capacitor", 0.85, left=1.0, long=1.2, conducts=False),
        _two("inductor", 0.1, right=0.32, lies=True),
        _two("plug and socket", 0.5, long=0.85, contact=True),
        _two("make contact", 0.0, left=0.7, long=0.8, contact=True),
        _two("push button", 0.0, left=1.4, long=0.8, contact=True),
        _two("hand switch", 0.0, left=1.4, long=0.8, contact=True),
        _two("diode", 0.65, long=0.6, one_way=True),
        _two("schottky", 0.65, long=0.85, one_way=True),
        _two("zener", 0.65, long=0.6, one_way=True, stacks=True),
        _two("tvs", 0.85, long=0.9, one_way=True),
        _two("led", 0.65, right=1.42, long=0.9, one_way=True),
        _two("source", 0.9, long=0.9),
        _two("current source", 0.9, long=0.9),
        Symbol("npn", "three", 1.0, 0.0, 1.1, order=_DOWN),
        Symbol("pnp", "three", 1.0, 0.0, 1.1, order=_UP),
        Symbol("prebiased npn", "three", 1.9, 0.0, 1.1, order=_DOWN),
        Symbol("prebiased pnp", "three", 1.9, 0.0, 1.1, order=_UP),
        Symbol("nmos", "three", 1.3, 1.4, 1.4, order=_DOWN),
        Symbol("pmos", "three", 1.3, 1.4, 1.4, order=_UP),
        Symbol("nmos with bulk pin", "three", 1.3, 0.0, 1.1, order=_DOWN),
        Symbol("pmos with bulk pin", "three", 1.3, 0.0, 1.1, order=_UP),
        Symbol("thyristor", "three", 1.1, 0.65, 0.6, order=("top", "control", "bottom"), one_way=True),
        Symbol("block", "box"),
        Symbol("gain", "box", sides=("right", "right", "left", "left")),
        Symbol("controlled switch", "box", sides=("right", "right", "left", "left"), pitch=4),
        Symbol("optocoupler", "box", sides=("left", "left", "right", "right"), pitch=4),
    )
}
_BLOCKS = {"OPTOCOUPLER": "optocoupler", "SCR": "thyristor", "SUPPLY": "source"}


def _block_symbol(part: Part) -> str:
    name = _BLOCKS.get(part.block.name.upper(), "block") if part.block else "block"
    wanted = {"optocoupler": 4, "thyristor": 3, "source": 2}.get(name)
    return name if wanted in (None, len(part.nodes)) else "block"


def symbol_name(part: Part) -> str:
    """The name of the symbol: what the part's kind and variety say, told apart by polarity."""
    if part.kind == "X":
        return _block_symbol(part)
    name = KINDS[part.kind].detail_of(part).symbol
    polarity = part.model.type.lower() if part.model else ""
    if name == "bipolar":
        kind = "pnp" if polarity == "pnp" else "npn"
        return f"prebiased {kind}" if part.facts.get("detail") == "prebiased" else kind
    if name == "mosfet":
        kind = "pmos" if polarity == "pmos" else "nmos"
        return kind if len(part.nodes) < 4 or part.nodes[3] == part.nodes[2] else f"{kind} with bulk pin"
    steered = part.kind == "S" and len(part.nodes) == 4 and part.nodes[2] != part.nodes[3]
    return "controlled switch" if steered else name


_THYRISTOR_PINS = {"A": "top", "G": "control", "K": "bottom"}


def symbol_of(part: Part) -> Symbol:
    """The symbol of a part; one that the table lacks is drawn as a box with its pin names."""
    symbol = SYMBOLS.get(symbol_name(part), SYMBOLS["block"])
    if symbol.name == "thyristor" and set(map(str.upper, part.pins)) == set(_THYRISTOR_PINS):
        return replace(symbol, order=tuple(_THYRISTOR_PINS[pin.upper()] for pin in part.pins))
    return symbol
