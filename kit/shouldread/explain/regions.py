"""What each transistor and diode does at a solution: conducting, saturated, cut off; and the road in words."""

from dataclasses import dataclass

from shouldread.circuit import Circuit
from shouldread.parts import Part
from shouldread.quantities import say
from shouldread.solve import Solution

CARRIES = 1e-6  # A: below it a junction is off as far as a meter can tell
SATURATED = 0.3  # V from collector to emitter, or drain to source


@dataclass(frozen=True, slots=True)
class Region:
    """A device and what it does: ``word`` is conducting, saturated or cut off; ``why`` gives the volts."""

    part: str
    word: str
    why: str

    def __str__(self) -> str:
        return f"{self.part} is {self.word}: {self.why}"


def regions(circuit: Circuit, solution: Solution) -> tuple[Region, ...]:
    """Every diode and transistor of the circuit, in its order."""
    makers = {"D": _diode, "Q": _bipolar, "M": _field}
    return tuple(makers[p.kind](p, solution) for p in circuit.netlist.values() if p.kind in makers)


def _diode(part: Part, solution: Solution) -> Region:
    a, k = (solution.volts[n] for n in part.nodes)
    amps = solution.pin_amps[f"{part.name}.a"]
    if amps < -CARRIES:
        return Region(
            part.name, "conducting", f"it clamps at {say(k - a, 'V', 3)} backwards and carries {say(-amps, 'A', 3)}"
        )
    if amps > CARRIES:
        return Region(part.name, "conducting", f"{say(a - k, 'V', 3)} across it, {say(amps, 'A', 3)} through it")
    return Region(part.name, "cut off", f"only {say(a - k, 'V', 3)} from anode to cathode")


def _bipolar(part: Part, solution: Solution) -> Region:
    c, b, e = (solution.volts[n] for n in part.nodes)
    sign = 1 if part.model is None or part.model.type == "NPN" else -1
    base = f"its base has {say(sign * (b - e), 'V', 3)} over its emitter"
    asked = abs(solution.pin_amps[f"{part.name}.b"]) > CARRIES  # driven, even where no current reaches its collector
    if sign * solution.pin_amps[f"{part.name}.c"] < CARRIES and not asked:
        return Region(part.name, "cut off", base)
    word = "saturated" if sign * (c - e) < SATURATED else "conducting"
    return Region(part.name, word, f"{base}, so {part.nodes[0]} is brought to {say(c, 'V', 3)}")


def _field(part: Part, solution: Solution) -> Region:
    d, g, s = (solution.volts[n] for n in part.nodes[:3])
    sign = 1 if part.model is None or part.model.type == "NMOS" else -1
    gate = f"its gate is {say(abs(g - s), 'V', 3)} {'above' if g > s else 'below'} its source"
    if abs(solution.pin_amps[f"{part.name}.d"]) < CARRIES:
        return Region(
            part.name, "cut off" if sign * (g - s) < 0.5 else "conducting", f"{gate}; no current asks for it"
        )
    word = "saturated" if abs(d - s) < SATURATED else "conducting"
    return Region(part.name, word, f"{gate}, so {part.nodes[0]} is brought to {say(d, 'V', 3)}")
