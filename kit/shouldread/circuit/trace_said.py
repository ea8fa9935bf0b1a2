"""What a traced line is taken for, in a few words beside it."""

from shouldread.circuit.trace_wires import Wires
from shouldread.circuit.traced_part import TracedPart, value_of
from shouldread.parts import KINDS
from shouldread.quantities import say, say_spread

UNITS = {"D": "V", "Q": "Ω"}


def said_of(part: TracedPart, wires: Wires) -> str:
    """``47 kΩ, 12V_AUX to B1``; what is unsure, what leads nowhere yet and what its name is in the netlist."""
    said = [f"{called(part)}, {_where(part, wires)}".rstrip(", ")]
    nowhere = [leg for leg in part.leg_names if not wires.is_wired(part.name, leg)]
    if nowhere:
        said.append(f"{_listed([_pin(part, leg) for leg in nowhere])} not traced yet")
    shaky = [end.place for end in part.ends.values() if end.unsure]
    if shaky:
        said.append(f"unsure at {' and '.join(shaky)}: look again")
    if part.also:
        said.append(f"or {' or '.join(part.also)}")
    if part.netlist_name != part.name:
        said.append(f"{part.netlist_name} in the netlist")
    return "; ".join(said)


def called(part: TracedPart) -> str:
    """Value and sort: ``47 kΩ``, ``bead 100 mΩ``, ``npn pair``."""
    if part.inside:
        return f"{part.called} with {' and '.join(_value(part, text, 'Ω') for text in part.inside)}"
    if not part.value:
        return part.called
    unit = KINDS[part.sort.letter].unit or UNITS.get(part.sort.letter, "")
    value = _value(part, part.value, unit)
    return value if part.sort.name in ("resistor", "capacitor", "inductor") else f"{part.called} {value}"


def _value(part: TracedPart, text: str, unit: str) -> str:
    spread = value_of(part, text)
    if spread.wide:
        what = "value not read" if text == "?" else "value"
        return f"{what} ({say(spread.low, unit)} to {say(spread.high, unit)})"
    return say_spread(spread, unit)


def _where(part: TracedPart, wires: Wires) -> str:
    """Two ends as ``A to B``, more legs as ``b on B1``."""
    legs = [(leg, _node(wires.node(part, leg))) for leg in part.leg_names if wires.is_wired(part.name, leg)]
    if part.leg_names == ("1", "2"):
        return " to ".join(node for _, node in legs)
    if part.sort.letter == "D":
        return ", ".join(f"{'anode' if leg == 'a' else 'cathode (bar)'} on {node}" for leg, node in legs)
    return ", ".join(f"{_pin(part, leg)} on {node}" for leg, node in legs)


def _pin(part: TracedPart, leg: str) -> str:
    """A leg as the package numbers it: ``b1 (2)``."""
    half, dot, letter = leg.partition(".")
    name = f"{letter}{1 + 'AB'.index(half)}" if dot else leg
    number = next((n for n in "123456" if part.leg(n) == leg), "") if part.pair or part.legs else ""
    return f"{name} ({number})" if number else name


def _node(node: str) -> str:
    return "ground" if node == "0" else node


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
