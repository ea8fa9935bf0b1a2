"""What can be asked about a stage: every question out of its truth table, its healthy bands and its faults."""

import random
from collections.abc import Callable, Mapping
from functools import cached_property

from shouldread.circuit import Circuit
from shouldread.diagnosis import Expectation, expect
from shouldread.meter import Meter, shown
from shouldread.practice.question import Question, as_shown, one_of, reads
from shouldread.practice.truth_table import TruthRow, TruthTable, truth_table

TRANSISTORS = "QM"
WORDS = ("cut off", "conducting", "saturated", "fully on")
CHOICES = 4
CLEAR = (0.2, 0.1)  # V and share by which a reading that cannot be healthy lies outside the healthy band
LEVELS = ("low", "high")


class Asking:
    """All questions about one stage: their keys at once, each question when it is asked for."""

    def __init__(self, circuit: Circuit, meter: Meter) -> None:
        self.circuit = circuit
        self._meter = meter
        self._told: dict[str, Expectation] = {}
        self._kinds: Mapping[str, Callable[[str, str, str], Question | None]] = {
            "reads": self._reads,
            "level": self._level,
            "region": self._region,
            "conducts": self._conducts,
            "odd": self._odd,
        }

    @cached_property
    def table(self) -> TruthTable:
        """The stage's truth table."""
        return truth_table(self.circuit)

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """Every question by name: circuit, kind, state, what it is about."""
        found = []
        devices = [p.name for p in self.circuit.netlist.values() if p.kind in TRANSISTORS]
        for row in self.table.rows:
            if row.solution.outcome.word not in ("solved", "floating"):
                continue
            held = {n for p in self.circuit.netlist.values() if p.kind == "V" and "0" in p.nodes for n in p.nodes}
            asked = [("reads", node) for node in self.circuit.nodes if node not in held]
            asked += [("level", level.node) for level in row.outputs if level.word in LEVELS]
            asked += [("region", name) for name in devices]
            asked += [("conducts", "")] if len(devices) > 1 else []
            asked += [("odd", str(number)) for number in range(3)]
            found += ["|".join((self.circuit.name, kind, row.state, about)) for kind, about in asked]
        return tuple(found)

    def question(self, key: str) -> Question | None:
        """The question of a key; None where the stage gives no clear one."""
        _, kind, state, about = key.split("|")
        return self._kinds[kind](key, state, about)

    def _expectation(self, state: str) -> Expectation:
        if state not in self._told:
            self._told[state] = expect(self.circuit, state=state, meter=self._meter)
        return self._told[state]

    def _given(self, row: TruthRow) -> str:
        """The state in words: what it changes against the first one, or all that is fed."""
        first = self.table.rows[0]
        changed = {n: s for n, s in row.fed.items() if row is first or s != first.fed[n]}
        said = " and ".join(
            f"{name} {'' if s in ('missing', 'on', 'off', 'there') else 'at '}{s}" for name, s in changed.items()
        )
        state = row.state.replace("_", " ")
        return f"with {said} (state {state})" if said else f"in the state {state}"

    def _clear(self, state: str, place: str) -> bool:
        """Whether a healthy board reads something at a place that can be judged."""
        told = self._expectation(state)
        band = told[place].healthy
        return band.typical == band.typical and told.verdict(f"{place} {band.typical:.6g}") == "as it should be"

    def _reads(self, key: str, state: str, place: str) -> Question | None:
        row = self.table.row(state)
        if not self._clear(state, place):
            return None
        return reads(key, place, self._given(row), self._expectation(state)[place].healthy, row.why)

    def _level(self, key: str, state: str, place: str) -> Question | None:
        row = self.table.row(state)
        level = next(one for one in row.outputs if one.node == place)
        return one_of(key, "level", f"Is {place} high or low {self._given(row)}?", level.word, LEVELS, row.why)

    def _region(self, key: str, state: str, name: str) -> Question | None:
        row = self.table.row(state)
        region = next(r for r in row.regions if r.part == name)
        field = self.circuit.part(name).kind == "M"
        choices = [w for w in WORDS if w != ("saturated" if field else "fully on")]
        return one_of(key, "region", f"What does {name} do {self._given(row)}?", region.word, choices, str(region))

    def _conducts(self, key: str, state: str, _about: str) -> Question | None:
        row = self.table.row(state)
        devices = [r for r in row.regions if self.circuit.part(r.part).kind in TRANSISTORS]
        on = [r.part for r in devices if r.word != "cut off"]
        text = f"Which of {', '.join(r.part for r in devices)} conduct {self._given(row)}?"
        return Question(key, "conducts", text, ", ".join(on) or "none", "; ".join(map(str, devices)))

    def _odd(self, key: str, state: str, _number: str) -> Question | None:
        """Readings in their healthy bands, and one that a fault puts clearly outside."""
        dice = random.Random(key)
        told = self._expectation(state)
        places = [place for place in told if self._clear(state, place)]
        faults = [f.name for f in self.circuit.single_faults if f.prior > 0]
        dice.shuffle(faults)
        for fault in faults:
            moved = [place for place in places if self._outside(told, place, fault)]
            if not moved:
                continue
            wrong = dice.choice(moved)
            others = [place for place in places if place != wrong]
            picked = dice.sample(others, min(CHOICES - 1, len(others)))
            if not picked:
                return None
            answer = as_shown(wrong, shown(self._meter, "volts", told[wrong].under(fault).typical).text)
            choices = [answer, *(as_shown(place, self._healthy(told, place, dice)) for place in picked)]
            dice.shuffle(choices)
            text = f"Which of these readings cannot be healthy {self._given(self.table.row(state))}?"
            why = f"{wrong} should read {told[wrong].healthy.words}; {fault} would make it read so"
            return one_of(key, "odd", text, answer, choices, why)
        return None

    def _outside(self, told: Expectation, place: str, fault: str) -> bool:
        healthy, volts = told[place].healthy, told[place].under(fault).typical
        if volts != volts:
            return False
        away = max(healthy.low - volts, volts - healthy.high)
        clear = away > CLEAR[0] + CLEAR[1] * abs(healthy.typical)
        return clear and told.verdict(f"{place} {volts:.6g}") in ("too low", "too high")

    def _healthy(self, told: Expectation, place: str, dice: random.Random) -> str:
        """What the meter shows of a healthy board: inside its band, also in the digits of the display."""
        band = told[place].healthy
        display = shown(self._meter, "volts", dice.uniform(band.low, band.high))
        return display.text if band.holds(display.value) else shown(self._meter, "volts", band.typical).text
