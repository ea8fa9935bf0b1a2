"""Diagnosis: suspects in groups with shares and reasons, what is doubtful, and the best next probe."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING, final

import numpy as np
from numpy.typing import NDArray

from shouldread.circuit import Circuit
from shouldread.diagnosis.doubles import two_faults
from shouldread.diagnosis.estimate import Estimate, estimates
from shouldread.diagnosis.finding import Group, Probe, Suspect
from shouldread.diagnosis.gain import entropy
from shouldread.diagnosis.mind import Item, Mind, Standing, items_of
from shouldread.diagnosis.next_probe import LITTLE, SURE, ahead, left
from shouldread.diagnosis.offers import REACH
from shouldread.diagnosis.wording import POSSIBLE, rank, reasons, split_by, why_probe
from shouldread.meter import Observation, Reading

if TYPE_CHECKING:
    import pandas

DOUBTFUL = 0.5  # share of "this one is wrong" from which a reading is named
ACCUSED = 1.05  # times its worth: of two readings that tell as much, the one of the part accused first
ENOUGH = 2  # times that one and the same reading is asked for
FITTING = 0.1  # of the best explanation: what explains the readings as well is not told apart yet


@final
class Diagnosis:
    """What the readings leave of all faults. Nothing is worked out before it is asked for; ``also`` adds readings."""

    def __init__(self, mind: Mind, items: tuple[Item, ...]) -> None:
        self._mind = mind
        self.items = items
        self._standing: Standing = mind.read(items)

    @property
    def circuit(self) -> Circuit:
        """The circuit that was read."""
        return self._mind.board.circuit

    @property
    def readings(self) -> tuple[Reading, ...]:
        """All readings so far, as they were given."""
        return tuple(i for i in self.items if isinstance(i, Reading))

    @property
    def observations(self) -> tuple[Observation, ...]:
        """All observations so far."""
        return self._standing.observations

    @property
    def healthy(self) -> float:
        """Share of "nothing wrong here"."""
        return float(self._standing.shares[0])

    @property
    def none_of_these(self) -> float:
        """Share of "none of these faults"."""
        return self._standing.weighed.none_of_these

    @cached_property
    def _numbers(self) -> NDArray[np.intp]:
        """Group of each hypothesis."""
        return self._mind.groups(self._standing.shares)

    def think_ahead(self) -> Iterator[None]:
        """Work out what a further reading may ask for, a little at each step, so that it is not waited for then.

        Nothing that is shown changes by it. What was worked out stays where it is stopped or let go.
        """
        return self._mind.think_ahead(self._standing.shares)

    @cached_property
    def groups(self) -> tuple[Group, ...]:
        """Suspects in groups that the offered readings cannot tell apart, largest share first."""
        shares, numbers = self._standing.shares, self._numbers
        hypotheses = self._mind.board.hypotheses.all
        made = []
        for number in range(1, int(numbers.max(initial=0)) + 1):
            members = sorted(np.flatnonzero(numbers == number), key=lambda k: (-shares[k], hypotheses[k].name))
            names = tuple(hypotheses[k].name for k in members)
            made.append(Group(names, float(shares[members].sum()), split_by(self._mind, names)))
        return tuple(sorted(made, key=lambda g: (-g.share, g.faults)))

    @cached_property
    def suspects(self) -> tuple[Suspect, ...]:
        """Every fault considered, largest share first."""
        home = {name: group for group in self.groups for name in group.faults}
        why = reasons(self._mind, self._standing, self.values)
        shares = self._standing.shares
        rows = [
            Suspect(h.name, float(shares[k]), why[k], home[h.name])
            for k, h in enumerate(self._mind.board.hypotheses.all)
            if h.fault is not None
        ]
        return tuple(sorted(rows, key=lambda s: (-s.share, s.fault)))

    @cached_property
    def doubtful(self) -> tuple[Reading, ...]:
        """Readings that spoil the picture: more likely a slip than true. Read them again."""
        weighed = self._standing.weighed
        wrong = weighed.wrong_share
        return tuple(
            reading for k, one in enumerate(weighed.rows.taken) if wrong[k] > DOUBTFUL for reading in one.readings
        )

    @cached_property
    def values(self) -> Mapping[str, Estimate]:
        """By part: values nobody can read, and values of parts that may have drifted, with 90 % intervals (SI)."""
        return MappingProxyType(dict(estimates(self._mind.board, self._standing.weighed)))

    @cached_property
    def verdicts(self) -> Mapping[str, str]:
        """By place (with setting, state and conditions where they are not the usual): verdict on what was read."""
        judge = self._mind.judge
        return MappingProxyType({_label(self, r): judge.verdict(r) for r in self.readings})

    @cached_property
    def alike(self) -> tuple[str, ...]:
        """Faults that explain the readings so far about as well as the best one, likely ones first."""
        shares, weights = self._standing.shares, self._standing.weights
        fit = np.where(weights > 0, shares / np.maximum(weights, 1e-300), 0.0)
        fit[0] = 0.0
        counts = [k for k in np.argsort(-shares, kind="stable") if k and shares[k] >= POSSIBLE]
        best = max((fit[k] for k in counts), default=0.0)
        return tuple(self._mind.board.hypotheses.all[k].name for k in counts if fit[k] >= FITTING * best)

    @cached_property
    def two_faults(self) -> tuple[str, ...]:
        """Pairs of faults that together explain what none of these does; empty while a listed fault fits."""
        return two_faults(self._mind, self._standing)

    @cached_property
    def next_probes(self) -> tuple[Probe, ...]:
        """Readings worth taking, best gain for its cost first; a doubtful reading is to be read again before all.

        What was read twice is not offered a third time.
        """
        often = Counter(_spot(r.at, r.setting, r.state or self.circuit.states[0]) for r in self.readings)
        probes = [*self._again(), *self._ahead]
        return tuple(p for p in probes if often[_spot(p.at, p.setting, p.state)] < ENOUGH)

    @cached_property
    def _ahead(self) -> tuple[Probe, ...]:
        if self._settled():
            return ()
        mind, standing = self._mind, self._standing
        found = ahead(mind.panels, standing.weighed, standing.weights, self._numbers, mind.offers)
        names = self._names()
        states = {s.replace(" ", "_").casefold(): s for s in self.circuit.states}
        rows = [
            Probe(
                one.offer.at,
                one.offer.setting,
                states.get(one.offer.context.state.replace(" ", "_").casefold(), one.offer.context.state),
                one.gain,
                one.offer.cost,
                why_probe(mind, one, names),
                one.offer.caution,
            )
            for one in found
            if one.gain >= LITTLE
        ]
        accused = mind.board.hypotheses.all[1 + int(np.argmax(standing.shares[1:]))] if self.groups else None
        first = accused.parts[0] if accused is not None and accused.parts else ""
        worth = {p: p.gain / p.cost * (ACCUSED if p.at == first else 1.0) for p in rows}
        return tuple(sorted(rows, key=lambda p: (-worth[p], p.at, p.setting, p.state)))

    def _names(self) -> dict[int, str]:
        """What each group is called in a reason: its likeliest fault."""
        shares, numbers = self._standing.shares, self._numbers
        names: dict[int, str] = {0: "nothing is wrong here"}
        for k in np.argsort(-shares, kind="stable"):
            names.setdefault(int(numbers[k]), self._mind.board.hypotheses.all[k].name)
        return names

    def _again(self) -> list[Probe]:
        weighed = self._standing.weighed
        out = []
        for k, one in enumerate(weighed.rows.taken):
            share = float(weighed.wrong_share[k])
            if share > DOUBTFUL and len(one.readings) == 1:
                reading = one.readings[0]
                bits = entropy(np.array([share, 1 - share]))
                why = f"{reading.at} {reading.text} does not fit the other readings: read it again"
                state = reading.state or self.circuit.states[0]
                out.append(Probe(reading.at, reading.setting, state, max(bits, LITTLE), REACH["easy"], why, ""))
        return out

    @property
    def next_probe(self) -> Probe | None:
        """The best next reading; None where none is worth it (``stop_reason`` says why)."""
        return self.next_probes[0] if self.next_probes else None

    @cached_property
    def stop_reason(self) -> str | None:
        """Why no further probe is offered; None while one is."""
        if self.next_probes:
            return None
        return self._settled() or "no offered reading would tell more; what is left needs another kind of test"

    def _settled(self) -> str:
        """Why the search ends, or nothing."""
        if self.healthy >= SURE:
            return "nothing wrong here as far as readings can tell"
        if self.none_of_these >= SURE:
            return "none of the listed faults fits: look for two faults, a wrong drawing, or a wrong reading"
        top = self.groups[0] if self.groups else None
        if top is not None and top.share >= SURE:
            return f"one group is left: {', '.join(top.faults[:4])}; confirm it before replacing anything"
        return ""

    @property
    def doubt(self) -> float:
        """Bits of doubt left over groups, healthy and none of these."""
        return left(self._standing.shares, self._numbers, self.none_of_these)

    def also(self, readings: "str | Iterable[Item]") -> "Diagnosis":
        """The diagnosis with more readings; the same as if all had been given at once.

        Raises ReadingError listing every line that cannot be taken.
        """
        return Diagnosis(self._mind, self.items + items_of(self._mind, readings))

    def frame(self) -> "pandas.DataFrame":
        """A table of suspects: fault, share, rank, group, why."""
        import pandas

        rows = [(s.fault, s.share, rank(s.share), ", ".join(s.group.faults), s.why) for s in self.suspects]
        return pandas.DataFrame(rows, columns=["fault", "share", "rank", "group", "why"])

    def __str__(self) -> str:
        return "\n".join(_lines(self))

    def __repr__(self) -> str:
        return f"Diagnosis({self.circuit.name!r}, {len(self.readings)} readings)"


def _spot(at: str, setting: str, state: str) -> tuple[str, str, str]:
    """Where and how a reading is taken, whatever the spelling of the state."""
    return at.casefold(), setting, state.replace("_", " ").casefold()


def _label(diagnosis: Diagnosis, reading: Reading) -> str:
    """``EN``; with setting, state and conditions where these are not volts in the first state."""
    first = diagnosis.circuit.states[0].casefold() if diagnosis.circuit.states else ""
    out = reading.at if reading.setting == "volts" else f"{reading.at} {reading.setting}"
    if reading.state.casefold() not in ("", "cold", first):
        out += f" @{reading.state}"
    return out + (f" with {' and '.join(reading.conditions)}" if reading.conditions else "")


def _lines(d: Diagnosis) -> Iterable[str]:
    yield f"{d.circuit.title or d.circuit.name}: {len(d.readings)} reading{'s' if len(d.readings) != 1 else ''}"
    for reading in d.readings:
        label = _label(d, reading)
        yield f"  {label} {reading.text}: {d.verdicts[label]}"
    yield from (f"  {o.words}" for o in d.observations)
    if not any(g.share > 0.5 for g in d.groups) and max(d.healthy, d.none_of_these) <= 0.5:
        yield "Cannot tell yet."
    ranked = [g for g in d.groups if rank(g.share) != "unlikely"]
    for word in ("likely", "possible"):
        rows = [g for g in ranked if rank(g.share) == word]
        if rows:
            yield f"{word.capitalize()}: " + "; ".join(" or ".join(g.faults[:6]) for g in rows)
    unlikely = sum(len(g.faults) for g in d.groups) - sum(len(g.faults) for g in ranked)
    for name, share in (("Nothing wrong here", d.healthy), ("None of these", d.none_of_these)):
        if rank(share) != "unlikely":
            yield f"{name}: {rank(share)}"
    if unlikely:
        yield f"Unlikely: {unlikely} more faults"
    if len(d.alike) > 1 and d.readings:
        yield "Not told apart by these readings: " + ", ".join(d.alike[:8])
    if d.two_faults:
        yield "Two faults together would fit: " + "; ".join(d.two_faults)
    yield from (f"Does not fit: {r.at} {r.text}; read it again" for r in d.doubtful)
    accused = {p for g in ranked for f in g.faults if "drifted" in f for p in f.split(" ")[:1]}
    unread = {name.partition(".")[0] for name in d._mind.board.variables.axes}
    yield from (f"Value of {v}" for name, v in d.values.items() if name in accused | unread)
    if d.next_probe is not None:
        yield f"Next: {d.next_probe}"
    else:
        yield f"Stop: {d.stop_reason}"
