"""Which vectors of ngspice tell the amps into each terminal of each primitive."""

from collections.abc import Mapping, Sequence

from shouldread.circuit import Deck, Flat
from shouldread.parts import KINDS, model_value

# per kind: what to ask of the device, terminal by terminal; the sign makes it amps into the terminal
_THROUGH = (("i", 1.0), ("i", -1.0))
ASKED: Mapping[str, tuple[tuple[str, float], ...]] = {
    **dict.fromkeys("RCLVEGB", _THROUGH),
    "I": (("current", 1.0), ("current", -1.0)),
    "D": (("id", 1.0), ("id", -1.0)),
    "Q": (("ic", 1.0), ("ib", 1.0), ("ie", 1.0)),
    "M": (("id", 1.0), ("ig", 1.0), ("is", 1.0), ("ib", 1.0)),
    "S": (),
}


def vectors_of(flat: Flat, deck: Deck) -> dict[tuple[str, int], tuple[str, float]]:
    """(primitive, terminal) -> (name of ngspice's vector, sign); bridges as ``bridge:NAME``.

    Not for switch elements: ngspice 39 tells the amps of their first guess (``switch_amps`` is for them).
    """
    found = {}
    for part in flat.parts:
        turned = -1.0 if part.model is not None and part.model.type == "PMOS" else 1.0  # told as of an N channel
        for terminal, (what, sign) in enumerate(ASKED[part.kind]):
            found[part.name, terminal] = (f"@{deck.parts[part.name].lower()}[{what}]", sign * turned)
    for number, bridge in enumerate(flat.bridges, 1):
        for terminal, sign in enumerate((1.0, -1.0)):
            found[f"bridge:{bridge.name}", terminal] = (f"@rbridge{number}[i]", sign)
    return found


def switch_amps(flat: Flat, volts: Mapping[str, float], bits: Mapping[str, int]) -> dict[tuple[str, int], float]:
    """Amps into both contacts of every switch element, by Ohm's law at ngspice's node volts."""
    kind = KINDS["S"]
    found = {}
    for part in flat.parts:
        if part.kind != "S":
            continue
        a, b, plus, minus = (volts[n] for n in part.nodes)
        threshold, half = model_value(kind, part.model, "VT"), model_value(kind, part.model, "VH")
        over = plus - minus - threshold
        on = over > half or (over >= -half and bool(bits.get(part.name)))
        if "held" in part.settings:
            on = bool(part.settings["held"])
        amps = (a - b) / model_value(kind, part.model, "RON" if on else "ROFF")
        found[part.name, 0], found[part.name, 1] = amps, -amps
    return found


def save_line(vectors: Sequence[str]) -> str:
    """The line that has ngspice keep them beside all node volts."""
    return " ".join([".save all", *dict.fromkeys(v for v in vectors if v.startswith("@"))])
