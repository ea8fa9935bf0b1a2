"""Worlds that real boards come from: one as the kit assumes it, and one that differs in all it can."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from shouldread.diagnosis.board import Board, Context
from shouldread.diagnosis.scale import Scale
from shouldread.diagnosis.variables import TYPE_DOUBTS, relative_sigma
from shouldread.diagnosis.ways import PICKED_UP, STRAY_AMPS
from shouldread.meter import meter

from tests.benchmarks.diagnosis.stages import Stage, known

Array = NDArray[np.float64]


class World(Protocol):
    """What real boards and the meter on them are like. All solved by ngspice."""

    @property
    def name(self) -> str:
        """In a few words."""
        ...

    def weights(self, priors: Array, draw: np.random.Generator) -> Array:
        """How often faults come about, out of the kit's own weights."""
        ...

    def degree(self, draw: np.random.Generator) -> float:
        """How bad a fault is, 0 to 1 along the logarithm of the kit's range."""
        ...

    def tolerance(self, draw: np.random.Generator) -> float:
        """A resistor's value, in nominal ones."""
        ...

    def supply(self, draw: np.random.Generator) -> float:
        """A supply's volts, in nominal ones."""
        ...

    def netlist(self, stage: Stage, draw: np.random.Generator) -> str:
        """The real board without its faults."""
        ...

    def shown(self, stage: Stage, volts: Array, draw: np.random.Generator) -> Array:
        """What the meter makes of ``volts``, before the display rounds it."""
        ...


@dataclass(frozen=True, slots=True)
class Other:
    """Device models, spreads, fault weights and severities that differ from the kit's, all of them."""

    name: str = "another world"

    def weights(self, priors: Array, draw: np.random.Generator) -> Array:
        """Each times 0.4 to 2.5."""
        return np.asarray(priors * 10 ** draw.uniform(-0.4, 0.4, len(priors)))

    def degree(self, draw: np.random.Generator) -> float:
        """The middle half more often than the ends."""
        return float(draw.beta(1.5, 1.5))

    def tolerance(self, draw: np.random.Generator) -> float:
        """2 % and long tails."""
        return float(1 + np.clip(0.02 * draw.standard_t(6), -0.1, 0.1))

    def supply(self, draw: np.random.Generator) -> float:
        """2 % off or so."""
        return float(1 + np.clip(0.02 * draw.normal(), -0.05, 0.05))

    def netlist(self, stage: Stage, draw: np.random.Generator) -> str:
        """Other models than the known ones, drawn anew for each board, with effects that the kit's lack."""
        lines = [line for line in stage.known.split("\n") if not line.startswith(".model")]
        drawn = {
            "IS": 10 ** draw.uniform(-0.35, 0.35),
            "BF": 10 ** draw.uniform(-0.2, 0.25),
            "BR": 10 ** draw.uniform(-0.15, 1.0),
            "VAF": draw.uniform(0.6, 2.0),
            "RB": draw.uniform(5, 20),
        }
        return "\n".join([*lines[:-1], *(model.format(**drawn) for model in stage.models), ""])

    def shown(self, stage: Stage, volts: Array, draw: np.random.Generator) -> Array:
        """A handheld's gain error, one for the board, and 2 mV."""
        gain = 1 + 0.005 / math.sqrt(3) * draw.uniform(-1, 1)
        return volts * gain + 0.001 * draw.uniform(-2, 2, len(volts))


@dataclass(frozen=True, slots=True)
class Assumed:
    """As the kit assumes it: its weights, severities, tolerances, device spreads, meter and stray millivolts."""

    name: str = "the kit's own world"
    scale: Scale = field(default_factory=lambda: Scale(meter(), "volts"))

    def weights(self, priors: Array, draw: np.random.Generator) -> Array:
        """The kit's own."""
        return priors

    def degree(self, draw: np.random.Generator) -> float:
        """Even along the logarithm."""
        return float(draw.uniform())

    def tolerance(self, draw: np.random.Generator) -> float:
        """5 % is two deviations."""
        return float(np.exp(math.log(1.05 / 0.95) / 4 * draw.normal()))

    def supply(self, draw: np.random.Generator) -> float:
        """Even between its 5 % limits."""
        return float(draw.uniform(0.95, 1.05))

    def netlist(self, stage: Stage, draw: np.random.Generator) -> str:
        """The known board, each device with a model of its own; its reverse gain is that of its type."""
        told = [line for line in stage.known.split("\n") if line.startswith(".model")]
        models = {line.split()[1]: _of_type(line, draw) for line in told}
        lines, made = [], []
        for line in stage.known.split("\n"):
            words = line.split()
            if words and words[-1] in models and not line.startswith(".model"):
                part, model = words[0], words[-1]
                lines.append(" ".join([*words[:-1], f"{model}_{part}"]))
                made.append(_drawn(models[model].replace(model, f"{model}_{part}", 1), part, doubt(stage), draw))
            elif not line.startswith(".model"):
                lines.append(line)
        return "\n".join([*lines[:-1], *made, ""])

    def shown(self, stage: Stage, volts: Array, draw: np.random.Generator) -> Array:
        """Gain, counts, what no model knows, and what high ohms pick up."""
        strays = np.minimum(_ohms(stage) * STRAY_AMPS, PICKED_UP)
        own = np.sqrt(self.scale.counts(volts) ** 2 + self.scale.floor(volts) ** 2 + strays**2)
        return np.asarray(volts + draw.normal() * self.scale.gain(volts) + draw.normal(size=len(volts)) * own)


def _of_type(model: str, draw: np.random.Generator) -> str:
    """A model line with what all transistors of this type have in common."""
    reverse = math.exp(TYPE_DOUBTS["BR"].about(1.0) * draw.normal())
    return re.sub(r"(NPN|PNP)\(", rf"\1(BR={reverse:.4g} ", model)


def _drawn(model: str, part: str, spreads: Mapping[tuple[str, str], float], draw: np.random.Generator) -> str:
    """A model line with its numbers drawn by the kit's spreads."""
    head, body = model.rstrip(")").split("(")
    pairs = [pair.split("=") for pair in body.split()]
    own = {what: spreads.get((part, what), 0.0) for what, _ in pairs if what != "BR"}
    drawn = {what: float(number) * math.exp(own.get(what, 0.0) * draw.normal()) for what, number in pairs}
    return f"{head}({' '.join(f'{what}={number!r}' for what, number in drawn.items())})"


@cache
def doubt(stage: Stage) -> Mapping[tuple[str, str], float]:
    """How far the kit thinks each number of a part off: deviation of its logarithm, by part and name."""
    board = Board(known(stage), meter(), shorts_vary=True)
    params = board.lanes(0, Context("run")).network.params
    unsure = board.variables
    return {(p.part, p.what): relative_sigma(p.spread) * unsure.doubt[unsure.columns[p.key]] for p in params}


@cache
def _ohms(stage: Stage) -> Array:
    """What the healthy stage shows each place."""
    network = Board(known(stage), meter(), shorts_vary=True).lanes(0, Context("run")).network
    ohms = network.solve().resistance(tuple((p, "0") for p in stage.places))[0]
    return np.asarray(np.maximum(ohms, 0.0))


OTHER, ASSUMED = Other(), Assumed()
