"""What the owner tells of the hidden board, and what eye and finger find on it."""

from collections.abc import Callable

from shouldread.circuit import Circuit
from shouldread.diagnosis import Band, Expectation, expect
from shouldread.errors import KitError
from shouldread.faults import Fault
from shouldread.meter import Meter, measure
from shouldread.practice.truth_table import outputs_of
from shouldread.solve import solve

Spot = tuple[str, str, str | None]  # place, setting, state (None: cold)
BoardAt = Callable[[str | None], Circuit]  # the true board in a state
HOT = 0.5  # W that a finger finds on a small part (common practice, no source)
# what brings an intermittent fault out, and how its owner puts it (common practice, no source)
TRIGGERS = {
    "warmed": "it starts well and fails once it is warm",
    "cooled": "it fails on cold mornings and comes right by noon",
    "flexed": "it fails when somebody leans on the cabinet",
}


def told_by_owner(circuit: Circuit, at: BoardAt, fault: Fault, trigger: str) -> str:
    """What an owner would see: which outputs are missing or wrong; else that something is not quite right."""
    wrong = complaints(circuit, at, fault)
    what = "; ".join(wrong) or "it works now and then, and nobody knows why"
    if trigger:
        what = f"{TRIGGERS[trigger]}; then {what}" if wrong else TRIGGERS[trigger]
    return f"{circuit.title}. The owner says: {what}."


def complaints(circuit: Circuit, at: BoardAt, fault: Fault) -> list[str]:
    """Outputs that do not read what they should, in the first state in which each shows it."""
    found: dict[str, str] = {}
    for number, state in enumerate(circuit.states):
        told = expect(circuit, state=state)
        for name in outputs_of(circuit):
            if name in found:
                continue
            try:
                value = measure(at(state), name, state=state, fault=fault).value
            except KitError:
                continue
            band = told[name].healthy
            if not band.low <= value <= band.high:
                about = getattr(circuit.node_facts.get(name), "about", "") or name
                when = f" in the state {state}" if number else ""
                found[name] = f"{about} ({name}) is {_amiss(value, band)}{when}"
    return list(found.values())


def _amiss(value: float, band: Band) -> str:
    if abs(value) < 0.5 <= abs(band.typical):
        return "not there"
    return "there when it should not be" if abs(band.typical) < 0.5 <= abs(value) else "not as it was"


def spots(circuit: Circuit) -> list[Spot]:
    """Every reading that may be taken: volts of nodes in all states; ohms of nodes and parts, diode across junctions."""
    nodes = [n for n in circuit.nodes if n != "0"]
    found: list[Spot] = [(n, "volts", state) for state in circuit.states for n in nodes]
    found += [(n, "ohms", None) for n in nodes]
    for part in circuit.netlist.values():
        if part.kind in "RL":
            found.append((part.name, "ohms", None))
        elif part.kind == "D":
            found.append((part.name, "diode", None))
    return found


def tells(circuit: Circuit, at: BoardAt, fault: Fault, meter: Meter) -> bool:
    """Whether some reading on the true board lies outside its healthy band by the kit's own verdict."""
    told: dict[tuple[str, str | None], Expectation] = {}
    for place, setting, state in spots(circuit):
        if (setting, state) not in told:
            told[setting, state] = expect(circuit, setting=setting, state=state, meter=meter)
        board = at("cold" if state is None else state)
        try:
            text = measure(board, place, setting=setting, state=state, fault=fault, meter=meter).text
            verdict = told[setting, state].verdict(f"{place} {setting} {text}" + (f" @{state}" if state else ""))
        except KitError:
            continue  # a display that shows nothing steady
        if verdict in ("too low", "too high"):
            return True
    return False


def seen_and_felt(true: Circuit, fault: Fault | None) -> str:
    """A part that carries more than half a watt is felt to be hot."""
    hot = [name for name, watts in watts_of(true, fault).items() if watts > HOT]
    return f"{hot[0]} hot" if hot else "nothing warm"


def watts_of(circuit: Circuit, fault: Fault | None) -> dict[str, float]:
    """Watts in every resistor, transistor and diode under a fault, hottest first."""
    solution = solve(circuit, fault=fault)
    opened = fault.parts if fault is not None and "open" in fault.mode else ()
    out = {}
    for part in circuit.netlist.values():
        if part.kind in "RDQM" and part.name not in opened:
            volts = [solution.volts.get(n, 0.0) for n in part.nodes]
            amps = [solution.pin_amps[f"{part.name}.{pin}"] for pin in part.pins]
            out[part.name] = sum(v * i for v, i in zip(volts, amps, strict=True) if i == i and v == v)
    return dict(sorted(out.items(), key=lambda item: -item[1]))
