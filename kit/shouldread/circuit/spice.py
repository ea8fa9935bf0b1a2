"""A circuit written back as a flat netlist that ngspice runs unmodified, with state, fault, condition and meter."""

import re
from collections.abc import Iterable, Mapping

from shouldread.circuit.circuit import Circuit
from shouldread.circuit.expand import flatten, state_edits
from shouldread.circuit.flat import Flat
from shouldread.circuit.islands import HOLD, islands
from shouldread.faults import Fault, fault_edits
from shouldread.parts import KINDS, Bridge, Edit, Part

OPTIONS = ".options reltol=1e-9 vntol=1e-10 abstol=1e-14 itl1=500"


def to_spice(
    circuit: Circuit,
    *,
    state: str | None = None,
    fault: str | Fault | None = None,
    condition: str | None = None,
    meter_at: str | tuple[str, str] | None = None,
    meter_ohms: float = 10e6,
    bits: Mapping[str, int] | None = None,
    edits: Iterable[Edit] = (),
) -> str:
    """The netlist text of the circuit as asked; every number finite, no subcircuit, no parameter, no control lines.

    ``bits``: switch elements written ON or OFF as reached (``U1.S1`` -> 1). Raises UnknownNameError.
    """
    board = circuit if condition is None else circuit.with_condition(condition)
    every = tuple(edits)
    if fault is not None:
        every += fault_edits(board.fault(fault)[0], board.netlist.values())
    if meter_at is not None:
        red, black = (meter_at, "0") if isinstance(meter_at, str) else meter_at
        every += (Bridge(board.node(red), board.node(black), meter_ohms, "meter"),)
    target = board.state(state)
    cold = target.name == "cold"
    flat = flatten(board, every if cold else (*state_edits(board, target), *every), cold=cold)
    return written(flat, board.title or board.name, bits or {})


def written(flat: Flat, title: str, bits: Mapping[str, int]) -> str:
    """The text of a flat circuit."""
    plain = _plain_names(flat.nodes)
    rows = ["* " + re.sub(r"\s+", " ", "".join(ch for ch in title if ch.isprintable()))[:200]]
    used = set()
    for part in flat.parts:
        rows += _rows(part, plain, bits)
        used |= {part.name}
    for number, bridge in enumerate(flat.bridges, 1):
        rows.append(f"Rbridge{number} {plain[bridge.a]} {plain[bridge.b]} {bridge.ohms!r}")
    for number, j in enumerate(flat.junctions, 1):
        rows.append(f"Djunction{number} {plain[j.a]} {plain[j.b]} DJUNCTION{number}")
        rows.append(f".model DJUNCTION{number} D(IS={j.is_!r} N={j.n!r})")
    for number, d in enumerate(flat.drives, 1):
        rows += [
            f"Vdrive{number} drive{number} {plain[d.b]} {d.volts!r}",
            f"Rdrive{number} drive{number} {plain[d.a]} {d.ohms!r}",
        ]
    rows += [f"Rhold{number} {plain[node]} 0 {HOLD!r}" for number, node in enumerate(islands(flat), 1)]
    return "\n".join([*rows, OPTIONS, ".op", ".end", ""])


def _plain_names(nodes: Iterable[str]) -> dict[str, str]:
    """Names that every SPICE takes: letters, digits, _ and no clash."""
    out, taken = {"0": "0"}, {"0", "gnd"}
    for node in nodes:
        if node in out:
            continue
        base = re.sub(
            r"\W",
            "_",
            node.replace("+", "p").replace("-", "n").replace(".", "_").replace("*", "_open"),
            flags=re.ASCII,
        )
        name, count = base, 1
        while name.lower() in taken:
            count += 1
            name = f"{base}_{count}"
        taken.add(name.lower())
        out[node] = name
    return out


def spice_name(part: Part) -> str:
    """The part's name with its kind letter first and nothing that SPICE trips over."""
    name = re.sub(r"\W", "_", part.name, flags=re.ASCII)
    return name if name[0].upper() == part.kind and "." not in part.name else f"{part.kind}_{name}"


def _rows(part: Part, plain: Mapping[str, str], bits: Mapping[str, int]) -> list[str]:
    name, nodes = spice_name(part), " ".join(plain[n] for n in part.nodes)
    value = part.value.nominal if part.value is not None else 0.0
    if part.kind == "L":
        ohms = getattr(part.facts.get("dcr"), "nominal", 0.0)
        if ohms > 0:
            middle = f"{name}_dcr"
            return [
                f"{name} {plain[part.nodes[0]]} {middle} {value!r}",
                f"R{middle} {middle} {plain[part.nodes[1]]} {ohms!r}",
            ]
    if part.kind in "RCLVIEG":
        return [f"{name} {nodes} {value!r}"]
    if part.kind == "B":
        a, b, *rest = (plain[n] for n in part.nodes)
        sense = spice_name(Part(str(part.facts["sense"]), "V", ()))
        eta, least = part.settings["eta"], part.settings["least"]
        out, feed = f"V({rest[0]},{rest[1]})", f"V({rest[2]},{rest[3]})"
        law = f"max({out},0)*I({sense})/({eta!r}*max(max({feed},{out}/{eta!r}),{least!r}))-I({sense})"
        return [f"{name} {a} {b} I={law}"]
    return _modelled(part, name, nodes, bits)


def _modelled(part: Part, name: str, nodes: str, bits: Mapping[str, int]) -> list[str]:
    model = f"MOD_{name}"
    assert part.model is not None
    numbers = {k: v for k, v in part.model.params.items() if v == v and abs(v) != float("inf")}
    tail = ""
    if part.kind == "S":
        on = bits.get(part.name, int(part.settings.get("held", part.settings.get("on", 0.0))))
        tail = " ON" if on else " OFF"
        if "held" in part.settings:
            numbers |= {"VT": -1e9 if on else 1e9, "VH": 0.0}
    elif part.kind == "M":
        tail = "".join(f" {k}={part.settings[k]!r}" for k in ("W", "L", "M") if k in part.settings)
        numbers = {"LEVEL": 1, **numbers}
    elif part.settings.get("AREA", 1.0) != 1.0 or part.settings.get("M", 1.0) != 1.0:
        tail = f" {part.settings.get('AREA', 1.0) * part.settings.get('M', 1.0)!r}"
    assert part.kind in KINDS
    text = " ".join(f"{k}={v!r}" for k, v in numbers.items())
    return [f"{name} {nodes} {model}{tail}", f".model {model} {part.model.type}({text})"]
