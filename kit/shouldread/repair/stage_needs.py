"""What a replacement must be because of where it stands: winding, threshold, zener volts, leakage, a coil's amps."""

import math
from collections.abc import Iterator

from shouldread.circuit import Circuit
from shouldread.parts import Part, number_of
from shouldread.quantities import say
from shouldread.repair.candidate import Line
from shouldread.repair.derating import rules
from shouldread.repair.stress import Load, Stress
from shouldread.solve import Network, solve

SENSED = ("zener", "led")  # diodes that conduct where they stand: no leakage is asked of them


def stage_lines(circuit: Circuit, part: Part, loads: list[Load], unmarked: bool) -> Iterator[Line]:
    """What the place in the circuit asks for: a coil's winding, a channel's threshold, a zener's volts, a leakage."""
    if part.kind == "L":
        yield from _winding(circuit, part, max(load.amps_worst for load in loads), unmarked)
    if part.kind == "M":
        drive = max(_drive(circuit, part), default=0.0)
        rule = rules()["drive"]
        if drive > 0:
            words = f"fully on at a drive of {say(drive, 'V', 3)}"
            yield Line("threshold", 0.0, drive / rule["factor"], "V", words, rule["source"])
    if part.kind in "CD":
        yield from _leakage(circuit, part)
    breakdown = number_of(part, "BV") if part.kind == "D" and part.facts.get("detail") == "zener" else None
    if breakdown is not None and math.isfinite(breakdown.nominal):
        low, high = 0.95 * breakdown.nominal, 1.05 * breakdown.nominal
        yield Line(
            "zener volts", low, high, "V", "its own volts at its test current", "E24 codes, IEC 60063 (from memory)"
        )


def _winding(circuit: Circuit, part: Part, amps: float, unmarked: bool) -> Iterator[Line]:
    dcr = number_of(part, "dcr")
    if dcr is not None and dcr.nominal > 0 and not unmarked:
        rule = rules()["winding"]
        most, words = rule["factor"] * dcr.nominal, "winding no more than the original's by a fifth"
    elif amps > 0:
        rule = rules()["feed"]
        rail = max(abs(solve(circuit, state=s).volts[part.nodes[0]]) for s in circuit.states)
        most = rule["drop"] * rail / amps
        words = f"loses at most {rule['drop']:.0%} of {say(rail, 'V', 3)} at {say(amps, 'A', 2)}"
    else:
        return
    yield Line("resistance", 0.0, most, "Ω", words, rule["source"])


def _drive(circuit: Circuit, part: Part) -> Iterator[float]:
    """Gate volts over the source in the states that switch the channel on."""
    sign = -1.0 if part.model is not None and part.model.type == "PMOS" else 1.0
    for state in circuit.states:
        volts = solve(circuit, state=state).volts
        yield sign * (volts[part.nodes[1]] - volts[part.nodes[2]])


def coil_amps(circuit: Circuit, part: Part, table: Stress) -> float:
    """The amps of a coil that a diode lies across: it carries them at the moment the coil is switched off."""
    if part.kind != "D":
        return 0.0
    coils = [p for p in circuit.netlist.values() if p.kind == "L" or p.facts.get("detail") == "coil"]
    beside = [p for p in coils if set(p.nodes) == set(part.nodes)]
    return max((table[p.name].amps_worst for p in beside), default=0.0)


def _leakage(circuit: Circuit, part: Part) -> Iterator[Line]:
    """The leakage that moves its own node by a hundredth, where that node is held by much resistance only."""
    rule, least = rules()["leakage"], math.inf
    if part.facts.get("detail") in SENSED:
        return
    for state in circuit.states:
        volts = solve(circuit, state=state).volts
        ohms = float(Network(circuit, state=state).solve().resistance([(part.nodes[0], part.nodes[1])])[0, 0])
        across = abs(volts[part.nodes[0]] - volts[part.nodes[1]])
        if rule["ohms"] <= ohms < rule["most_ohms"] and across > rule["volts"]:
            least = min(least, rule["share"] * across / ohms)
    if math.isfinite(least):
        words = f"moves its node by less than {rule['share']:.0%}"
        yield Line("leakage", 0.0, least, "A", words, rule["source"], spare=True)
