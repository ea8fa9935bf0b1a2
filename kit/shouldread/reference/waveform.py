"""What happens in time: power-up, or the change from one state to another, by ngspice's transient analysis."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shouldread.circuit import OPTIONS, Asked, Circuit, Flat, asked, deck
from shouldread.errors import RequestError
from shouldread.faults import Fault
from shouldread.reference.course import changed, eased, powered_up
from shouldread.reference.ngspice import NGSPICE, Reply, how_to_install
from shouldread.solve import DEFAULT_METER, Loading, Network, Outcome, solve

OFF, REST = "off", "rest"
LONGEST = 1e4  # seconds of a circuit that may be asked for
STEPS = 400  # at least, over the whole time
SEVERAL_TIMES = 6.0  # the sum of all time constants
LONGER = 5.0  # times as long when something still moves at the end
HIGHEST = 10e6  # ohm: what charges more slowly than through this is not waited for

Series = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Waveform:
    """``seconds`` (from the change on; before it negative) and the volts of every node at those times.

    Steps are as close as the circuit needs, not even. ``outcome`` as in solve; ``not available`` without ngspice.
    """

    seconds: Series
    volts: Mapping[str, Series]
    outcome: Outcome

    def at(self, node: str, seconds: float) -> float:
        """Volts of a node at a time, between steps on a straight line."""
        return float(np.interp(seconds, self.seconds, self.volts[node]))

    def reaches(self, node: str, volts: float) -> float:
        """Seconds after the change when a node first gets to a voltage, from below or above; nan when never."""
        over = self.volts[node] - volts
        after = self.seconds >= 0
        hits = np.flatnonzero((over[:-1] * over[1:] <= 0) & after[1:] & (over[:-1] != over[1:]))
        if not len(hits):
            return float("nan")
        k = int(hits[0])
        share = over[k] / (over[k] - over[k + 1])
        return float(self.seconds[k] + share * (self.seconds[k + 1] - self.seconds[k]))

    def frame(self) -> Any:
        """A pandas frame: one column a node, the seconds as index."""
        import pandas

        return pandas.DataFrame(dict(self.volts), index=pandas.Index(self.seconds, name="seconds"))

    def __str__(self) -> str:
        if not len(self.seconds):
            return self.outcome.sentence
        rows = [
            f"  {n:<14} {v[0]:.4g} V -> {v[-1]:.4g} V (least {v.min():.4g}, most {v.max():.4g})"
            for n, v in self.volts.items()
            if n != "0"
        ]
        return "\n".join([self.outcome.sentence, *rows])


def waveform(
    circuit: Circuit,
    *,
    state: str | None = None,
    after: str = OFF,
    fault: str | Fault | None = None,
    condition: str | None = None,
    meter_at: str | tuple[str, str] | None = None,
    meter: Loading | None = None,
    seconds: float | None = None,
) -> Waveform:
    """The course of every node's volts on the way into a state, by ngspice.

    ``after``: what was before: ``off`` (nothing fed, everything discharged), the name of another state, or ``rest``
    (this state all along: for sources that pulse or swing). ``seconds``: how long; by default some time constants
    or periods. Without ngspice the outcome is ``not available``. Raises UnknownNameError, RequestError.
    """
    ohms = DEFAULT_METER if meter is None else meter.input_ohms
    question = asked(circuit, state=state, fault=fault, condition=condition, meter_at=meter_at, meter_ohms=ohms)
    if seconds is not None and not 0 < seconds <= LONGEST:
        raise RequestError(f"{seconds:g} s cannot be shown; say up to {LONGEST:g} s", value=seconds)
    known = question.board.state(after).name if after not in (OFF, REST) else state
    bits = {} if after == OFF else solve(circuit, state=known, fault=fault, condition=condition).bits
    long = _seconds(question) if seconds is None else seconds
    while True:
        told = _run(question, after, bits, long)
        if seconds is not None or long * LONGER > LONGEST or _at_rest(told):
            return told
        long *= LONGER


def _at_rest(told: Waveform) -> bool:
    """Whether nothing moves any more in the last fifth (or moves as it did before: something that swings)."""
    if not len(told.seconds):
        return True
    last = told.seconds > told.seconds[-1] * 0.8
    for v in told.volts.values():
        span = float(np.ptp(v))
        if np.ptp(v[last]) > 0.02 * span + 0.01 and np.ptp(v[last]) < 0.5 * span:
            return False
    return True


def _course(question: Asked, after: str, long: float) -> tuple[Flat, float]:
    """The circuit over time, and when its change begins."""
    if after == REST:
        return eased(question.flat), 0.0
    if after == OFF:
        return powered_up(eased(question.flat), long / 1000), 0.0
    before = replace(question, state=question.board.state(after))
    return changed(eased(before.flat), eased(question.flat), long / 10, long / 1000), long / 10


def _run(question: Asked, after: str, bits: Mapping[str, int], long: float) -> Waveform:
    flat, start = _course(question, after, long)
    written = deck(flat, question.board.title or question.board.name, bits)
    names = {n: written.nodes[n].lower() for n in question.board.nodes if n != "0"}
    reply: Reply | None = None
    step = (start + long) / STEPS
    for loose in _LOOSE:
        text = written.text(f".tran {step!r} {start + long!r} 0 {step!r}").replace(_TIGHT, loose)
        reply = NGSPICE.ask(text, ["time", *names.values()], patience=20.0 if loose != _LOOSE[-1] else 60.0)
        if reply is None or not reply.trouble:
            break
    none: Series = np.zeros(0)
    if reply is None:
        return Waveform(none, {}, Outcome("not available", f"ngspice is not here: {how_to_install()}"))
    if reply.trouble:
        return Waveform(none, {}, Outcome("failed", f"ngspice has no answer: {reply.trouble}"))
    time = reply.vectors["time"]
    volts = {"0": np.zeros(len(time))} | {n: reply.vectors[name] for n, name in names.items()}
    return Waveform(time - start, volts, Outcome("solved", f"{len(time)} steps over {long:.3g} s"))


_TIGHT = OPTIONS.removesuffix(" itl1=500")  # right for a resting point, needlessly slow over time
_LOOSE = (  # where ngspice does not get through with one, the next
    ".options reltol=1e-4 vntol=1e-6 abstol=1e-11",
    ".options reltol=1e-4 vntol=1e-6 abstol=1e-11 method=gear",
    ".options reltol=1e-3 vntol=1e-5 abstol=1e-10 method=gear",
)


def _seconds(question: Asked) -> float:
    """Some time constants of all capacitors together, some periods of all waves: whichever is longer."""
    network = Network(question.board, question.edits, state=question.state.name)
    own = [p for p in network.flat.parts if p.kind == "C" and p.value is not None]
    total = 0.0
    if own:
        ohms = network.solve().resistance([(p.nodes[0], p.nodes[1]) for p in own])[0]
        total = sum(p.value.nominal * min(abs(float(r)), HIGHEST) for p, r in zip(own, ohms, strict=True) if p.value)
    periods = [_period(part.facts["wave"]) for part in network.flat.parts if "wave" in part.facts]
    return min(max([SEVERAL_TIMES * total, 5 * max(periods, default=0.0), 1e-6]), LONGEST)


def _period(wave: object) -> float:
    assert isinstance(wave, tuple)
    word, numbers = wave
    at = 6 if word == "PULSE" else 2
    if len(numbers) <= at or not numbers[at] > 0:
        return 1e-3
    return float(numbers[at] if word == "PULSE" else 1.0 / numbers[at])
