"""What goes wrong by hand: a slip of the probe, a feed where it does not belong. Stopped in time, and logged."""

import math
import random
import re
from collections.abc import Mapping
from dataclasses import dataclass

from shouldread.circuit import Circuit, standing
from shouldread.diagnosis import caution_rule, expect
from shouldread.errors import RequestError
from shouldread.faults import Fault, fault_edits
from shouldread.parts import Drive
from shouldread.quantities import say, si_number
from shouldread.solve import Network, Solution

# chance of a slip in one reading on a fed board, by how well a probe reaches the place (own judgement)
SLIPS: Mapping[str, float] = {"easy": 0.0, "": 0.005, "fair": 0.01, "hard": 0.04}
HARMFUL = 1.0  # V between two neighbours from which a slip does harm (own judgement)
ABOVE = 1.05  # of the highest healthy reading: more is not to be fed in
WIRE = 0.05  # ohm of the leads of a bench supply (common practice, no source)
AMPS = 0.5  # A of the limit where none is said
_INJECT = re.compile(
    r"inject\s+(?P<volts>\S+(?:\s*m?V)?)\s+(?:at|into)\s+(?P<place>\S+)(?:\s+limit\s+(?P<amps>\S+))?", re.I
)


@dataclass(frozen=True, slots=True)
class Injection:
    """Volts of a bench supply to be fed in at a node, with its limit in amps."""

    node: str
    volts: float
    amps: float

    def __str__(self) -> str:
        return f"inject {say(self.volts, 'V', 3)} at {self.node}, limit {say(self.amps, 'A', 2)}"


def slip(circuit: Circuit, node: str, solution: Solution, dice: random.Random) -> str:
    """The neighbour that a probe slips onto with harm, or nothing. Always takes the same number of throws."""
    throw, pick = dice.random(), dice.random()
    facts = circuit.node_facts.get(node)
    if throw >= SLIPS.get(facts.reach.casefold() if facts is not None else "", 0.01):
        return ""
    near = [n for n in _neighbours(circuit, node) if abs(solution.volts.get(n, 0.0) - solution.volts[node]) > HARMFUL]
    return near[int(pick * len(near))] if near else ""


def _neighbours(circuit: Circuit, node: str) -> list[str]:
    """Places beside a node: what the file calls neighbours, and what a part joins to it."""
    named = [a if b == node else b for a, b in circuit.neighbours if node in (a, b)]
    joined = [n for p in circuit.netlist.values() if node in p.nodes for n in p.nodes]
    return [n for n in dict.fromkeys([*named, *joined]) if n in circuit.nodes and n != node]


def read_injection(circuit: Circuit, text: str) -> Injection | None:
    """``inject 3.3 V at EN limit 0.2``; None for any other act. Raises RequestError, UnknownNameError."""
    if not text.strip().casefold().startswith("inject"):
        return None
    found = _INJECT.fullmatch(text.strip())
    if found is None:
        raise RequestError("say it as: inject 3.3 V at EN limit 0.2", value=text)
    volts, unit = si_number(found["volts"])
    amps = si_number(found["amps"])[0] if found["amps"] else AMPS
    if unit not in ("", "V") or not volts > 0 or not amps > 0:
        raise RequestError("volts above zero and a limit in amps: inject 3.3 V at EN limit 0.2", value=text)
    return Injection(circuit.node(found["place"]), volts, amps)


def too_much(circuit: Circuit, injection: Injection) -> str:
    """Why an injection would do harm, or nothing: more than a healthy board ever has there."""
    highs = [expect(circuit, state=state)[injection.node].healthy.high for state in circuit.states]
    most = max((high for high in highs if math.isfinite(high)), default=0.0)
    if injection.volts <= ABOVE * most:
        return ""
    return (
        f"stopped: {say(injection.volts, 'V', 3)} into {injection.node}, which never has more than "
        f"{say(most, 'V', 3)}: everything behind it would be over its rating. {caution_rule('volts fed in').say}"
    )


def drawn(circuit: Circuit, fault: Fault | None, injection: Injection) -> str:
    """What the bench supply then shows: volts and amps, and whether it limits."""
    edits = () if fault is None else standing(circuit, fault_edits(fault, circuit.netlist.values()), cold=True)
    network = Network(circuit, (*edits, Drive(injection.node, "0", injection.volts, WIRE, "injection")), state="cold")
    volts = float(network.solve().volts([(injection.node, "0")])[0, 0])
    amps = (injection.volts - volts) / WIRE
    if amps <= injection.amps:
        return f"{say(injection.volts, 'V', 3)}, {say(round(amps, 5) + 0.0, 'A', 2)}"
    return f"it limits at {say(injection.amps, 'A', 2)}: something draws the node down"
