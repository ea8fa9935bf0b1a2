"""Watts of every part as ``stress`` has them, against ngspice's own."""

import math

import pytest
import shouldread as sr
from shouldread.circuit import asked, deck
from shouldread.diagnosis import borne
from shouldread.reference import second_opinion
from shouldread.reference.ngspice import NGSPICE

SHELF = [e.name for e in sr.shelf() if e.sort in ("fragment", "board")]
SAMPLE = ["two_feed_enable", "zener_clamp", "enable_divider", "pmos_high_side_switch", "buck_feedback", "relay_driver"]
RELATIVE, WATTS = 1e-3, 1e-9
DEVICES = "RDQM"  # kinds that tell a power of their own; of sources, coils and chips it is ngspice's volts times amps


def ngspice_watts(name: str, state: str) -> dict[str, float]:
    """Watts of every part of a circuit out of ngspice's answer; nothing where it has none."""
    circuit = sr.load_circuit(name)
    kit, theirs = sr.solve(circuit, state=state), second_opinion(circuit, state=state)
    question = asked(circuit, state=state)
    written = deck(question.flat, circuit.title, kit.bits)
    told = {p.name: f"@{written.parts[p.name].lower()}[p]" for p in question.flat.parts if p.name in circuit.netlist}
    told = {name: vector for name, vector in told.items() if circuit.netlist[name].kind in DEVICES}
    hints = [f".nodeset v({written.nodes[n]})={v!r}" for n, v in kit.volts.items() if n != "0" and v == v]
    save = " ".join([".save all", *told.values()])
    asked_twice = (NGSPICE.ask(written.text(save, *more, ".op"), list(told.values())) for more in (hints, []))
    reply = next((r for r in asked_twice if r is not None and not r.trouble), None)
    if reply is None and not theirs.agrees:
        return {}
    watts = {name: float(reply.vectors[vector][0]) for name, vector in told.items()} if reply is not None else {}
    for part in circuit.netlist.values():
        if part.name not in watts:
            pins = zip(part.pins, part.nodes, strict=True)
            watts[part.name] = sum(theirs.volts[node] * theirs.pin_amps[f"{part.name}.{pin}"] for pin, node in pins)
    return watts


def compare(name: str) -> int:
    circuit, compared = sr.load_circuit(name), 0
    table = sr.stress(circuit, faults=())
    for state in circuit.states:
        solution, theirs = sr.solve(circuit, state=state), ngspice_watts(name, state)
        if not theirs:  # ngspice has no operating point; the kit then says that something is held by nothing
            assert solution.outcome.floating, f"{name} @{state}"
            continue
        for part in circuit.netlist.values():
            ours = borne(part, solution)[2]
            if math.isnan(ours):
                continue
            assert abs(ours) == pytest.approx(abs(theirs[part.name]), rel=RELATIVE, abs=WATTS), f"{part.name} @{state}"
            assert abs(ours) <= abs(table[part.name].watts_worst) * (1 + 1e-9) + 1e-18
            compared += 1
    return compared


@pytest.mark.parametrize("name", SAMPLE)
def test_watts_are_ngspices_own(name: str) -> None:
    assert compare(name) >= 3


@pytest.mark.long
@pytest.mark.parametrize("name", SHELF)
def test_watts_are_ngspices_own_on_the_whole_shelf(name: str) -> None:
    assert compare(name) >= 1
