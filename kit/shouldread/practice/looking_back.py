"""Looking back on an exercise: what each reading told, what would have told more, and how the stage works."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shouldread.circuit import Circuit
from shouldread.diagnosis import Diagnosis, Probe, diagnose_dealt
from shouldread.errors import KitError
from shouldread.explain import explain
from shouldread.practice.act import Act
from shouldread.practice.compare import Road
from shouldread.practice.hiding import BEFOREHAND, Hidden
from shouldread.practice.truth_table import outputs_of


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading or observation: the number of its act, as it is typed, and whether the fault was there to be read."""

    number: int
    said: str
    counts: bool = True


def look_back(
    circuit: Circuit,
    acts: Sequence[Act],
    taken: Sequence[Taken],
    hidden: Hidden,
    meter: str,
    roads: Mapping[str, Road],
) -> str:
    """The road in words, one line an act; then the other roads, the tells, the classic mistake, how it works."""
    told = diagnose_dealt(circuit, "", BEFOREHAND, meter=meter)
    rows = [f"It was {hidden}.", f"At the start: {_left(told)}; a good first probe: {_probe(told.next_probe)}"]
    readings = {one.number: one for one in taken}
    for number, act in enumerate(acts):
        one = readings.get(number)
        if one is None or act.stopped:
            rows.append(f"- {act}")
        elif not one.counts:
            rows.append(f"- {act.said}: {act.answer}; the fault hid, so this tells nothing of it")
        else:
            before, told = told, told.also(one.said)
            rows.append(f"- {act.said}: {act.answer}; {_left(told)}{_better(before, told, one.said)}")
    rows.append(f"Then left: {_left(told)}; next best: {_probe(told.next_probe)}")
    rows += [f"{whose}: {road}" for whose, road in roads.items()]
    return "\n".join([*rows, *_lesson(circuit)])


def _lesson(circuit: Circuit) -> list[str]:
    """The tells, the classic mistake, and why the outputs read what they read."""
    tells = circuit.facts.get("tells")
    rows = [f"The tell: {t}" for t in tells] if isinstance(tells, list) else []
    mistake = circuit.facts.get("mistake")
    rows += [f"The classic mistake: {mistake}"] if mistake else []
    rows += [f"What it teaches: {circuit.facts['teaches']}"] if circuit.facts.get("teaches") else []
    for node in outputs_of(circuit):
        try:
            told = explain(circuit, node)
        except KitError:
            continue  # nothing holds that output in the first state: there is nothing to explain
        rows += [f"How it works: {str(told).partition(chr(10))[0]}", *(f"  {word}" for word in told.words)]
    return rows


def _left(told: Diagnosis) -> str:
    live = [g for g in told.groups if g.share > 0.02]
    return f"{len(live)} group{'s' if len(live) != 1 else ''} left" if live else "nothing wrong is left"


def _probe(probe: Probe | None) -> str:
    return f"{probe.at} {probe.setting} @{probe.state}" if probe is not None else "none, it is settled"


def _better(before: Diagnosis, after: Diagnosis, said: str) -> str:
    """How much the reading told, and the probe that was expected to tell more, with its reason."""
    bits = max(before.doubt - after.doubt, 0.0)
    told = f", told {_how_much(bits)}"
    best = before.next_probe
    if best is None:
        return f"{told}; it was settled before"
    last = after.readings[-1] if len(after.readings) > len(before.readings) else None
    first = before.circuit.states[0]
    same = last is not None and (last.at, last.setting, _spelled(last.state or first)) == (
        best.at,
        best.setting,
        _spelled(best.state),
    )
    if same:
        return f"{told}; the best probe there was"
    if bits >= best.gain:
        return f"{told}; well chosen (the kit would have gone for {_probe(best)})"
    return f"{told}; better: {_probe(best)}: {best.why}"


def _how_much(bits: float) -> str:
    """In words: one bit halves the doubt."""
    return "nothing" if bits < 0.05 else "a little" if bits < 1.0 else "much"


def _spelled(state: str) -> str:
    return state.replace("_", " ").casefold()
