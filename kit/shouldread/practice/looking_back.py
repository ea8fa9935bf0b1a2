"""Looking back on an exercise: what each reading left, and what would have told more."""

from collections.abc import Sequence

from shouldread.circuit import Circuit
from shouldread.diagnosis import Diagnosis, diagnose
from shouldread.faults import Fault
from shouldread.practice.act import Act


def look_back(circuit: Circuit, acts: Sequence[Act], typed: Sequence[str], hidden: Fault, meter: str) -> str:
    """The road in words, one line an act."""
    told = diagnose(circuit, "", meter=meter)
    rows = [f"It was {hidden}.", f"At the start: {_left(told)}; a good first probe: {_probe(told)}"]
    readings = iter(typed)
    for act in acts:
        if act.kind in ("volts", "ohms", "diode", "amps", "observe") and not act.stopped:
            told = told.also(next(readings))
            rows.append(f"- {act.said}: {act.answer}; {_left(told)}; next best: {_probe(told)}")
        else:
            rows.append(f"- {act}")
    tells = circuit.facts.get("tells")
    rows += [f"The tell: {t}" for t in tells] if isinstance(tells, list) else []
    mistake = circuit.facts.get("mistake")
    return "\n".join([*rows, *([f"The classic mistake: {mistake}"] if mistake else [])])


def _left(told: Diagnosis) -> str:
    live = [g for g in told.groups if g.share > 0.02]
    return f"{len(live)} group{'s' if len(live) != 1 else ''} left" if live else "nothing wrong is left"


def _probe(told: Diagnosis) -> str:
    probe = told.next_probe
    return f"{probe.at} {probe.setting} @{probe.state}" if probe is not None else "none, it is settled"
