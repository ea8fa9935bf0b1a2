"""An exercise: a hidden fault to find by reading, with predictions first and nothing gained by guessing."""

import random
from dataclasses import replace
from typing import final

from shouldread.casebook import Casebook
from shouldread.circuit import Circuit
from shouldread.diagnosis import Diagnosis, caution_rule, diagnose_dealt, expect
from shouldread.errors import ReadingError, RequestError
from shouldread.faults import Fault, read_conditions
from shouldread.meter import SETTINGS, Reading, leads, measure, read_readings
from shouldread.meter import meter as profile_of
from shouldread.practice.act import Act, Toll, toll
from shouldread.practice.compare import Road, follow, wander
from shouldread.practice.harm import drawn, read_injection, slip, too_much
from shouldread.practice.hiding import BEFOREHAND, Hidden, noisy, true_board
from shouldread.practice.looking_back import Taken, look_back
from shouldread.practice.result import Result, judge
from shouldread.practice.telling import seen_and_felt, told_by_owner
from shouldread.solve import solve

FED = f"stopped: {caution_rule('fed board').say}"


@final
class Exercise:
    """A board with a hidden fault. Neither ``repr`` nor ``str`` nor any attribute's text tells which.

    ``circuit`` is the healthy one, ``brief`` what its owner says. Predict, measure, do, observe; then ``name`` it.
    """

    def __init__(
        self,
        circuit: Circuit,
        hidden: Hidden,
        *,
        seed: int,
        step: int,
        meter: str,
        kept: tuple[Casebook, str] | None = None,
    ) -> None:
        self.circuit = circuit
        self.step = step
        self.meter = profile_of(meter)
        self._seed = seed
        self._dice, self._hands = random.Random(seed), random.Random(seed + 1)
        self._true = true_board(circuit, self._dice)
        self._hidden = hidden
        self._kept = kept
        self._gains: dict[str, float] = {}
        self._conditions: list[str] = []
        self._typed: list[Taken] = []
        self._acts: list[Act] = []
        self._predicted: dict[tuple[str, str, str], bool] = {}
        self._cold = False
        self._done = False

    @property
    def brief(self) -> str:
        """The symptom as an owner would tell it, from what the board does; of a real one as the trainer wrote it."""
        hidden = self._hidden
        return hidden.brief or told_by_owner(self.circuit, self._true.at, hidden.fault, hidden.trigger)

    @property
    def log(self) -> tuple[Act, ...]:
        """Everything done so far."""
        return tuple(self._acts)

    @property
    def toll(self) -> Toll:
        """Minutes and risk so far."""
        return sum((act.toll for act in self._acts), Toll())

    @property
    def conditions(self) -> tuple[str, ...]:
        """What stands done to the board."""
        return tuple(self._conditions)

    @property
    def real(self) -> bool:
        """Whether it is a real board, read by hand."""
        return self._hidden.real

    @property
    def done(self) -> bool:
        """Whether the fault was named, or given up."""
        return self._done

    @property
    def predictions(self) -> tuple[int, int]:
        """How many predictions were right, and how many were made."""
        return sum(self._predicted.values()), len(self._predicted)

    def predict(self, place: str, text: str) -> str:
        """Say what a healthy board should read at a place before probing it; told whether that is so.

        ``text`` as a reading is typed: ``"0.65 @in high"``, ``"ohms 47k"``. Raises ReadingError for no reading.
        """
        found = read_readings(f"{place} {text}", circuit=self.circuit, meter=self.meter)
        if len(found) != 1 or not isinstance(found[0], Reading):
            raise ReadingError(
                f"one reading is predicted at a time, such as 2.3 or ohms 47k; not {text!r}", value=text
            )
        reading = found[0]
        told = expect(self.circuit, state=reading.state or None, setting=reading.setting, meter=self.meter)
        verdict = told.judge.verdict(reading)
        words = told.judge.band(reading).words
        right = verdict == "as it should be"
        said = {
            "as it should be": "right for a healthy board",
            "cannot tell": f"nobody can tell: healthy boards read {words}",
        }
        answer = said.get(verdict, f"a healthy board reads {words}")
        self._predicted.setdefault((reading.at, reading.setting, reading.state), right)
        self._acts.append(Act("predict", f"predict {place} {text}", answer, Toll()))
        return answer

    def measure(self, place: str, setting: str = "volts", state: str | None = None) -> str:
        """What the meter's display shows, in the form in which a reading is typed. Every reading has its toll.

        Ohms or diode in a fed state are stopped, logged, and give no value. On a fed board the probe may slip from
        a place that is hard to reach: that is stopped and logged too, and the reading taken again.
        """
        if self._hidden.real:
            raise RequestError("this board is real: probe it, and type what the meter shows with read('EN 0.02')")
        where = f"{place} {setting}" + (f" @{state}" if state else "")
        needs_cold = setting in SETTINGS and SETTINGS[setting].cold
        if needs_cold and state not in (None, "cold"):
            self._acts.append(Act(setting, where, FED, toll("stopped"), stopped=True))
            return FED
        board = self._true.at("cold" if needs_cold else state)
        with_ = " and ".join(self._conditions) or None
        display = measure(
            board, place, setting=setting, state=state, condition=with_, fault=self._present, meter=self.meter
        )
        if setting == "volts":
            self._may_slip(board, place, state)
        text = noisy(display, self.meter, self._gains, self._dice).text
        self._taken(setting, where, text, f"{place} {setting} {text}" + (f" @{state}" if state else ""), needs_cold)
        return text

    def read(self, text: str) -> tuple[Reading, ...]:
        """On a real board: one's own readings and observations, as they are typed (``"EN 0.02; C17 hot"``).

        Raises ReadingError naming every line that cannot be taken, RequestError on a simulated board.
        """
        if not self._hidden.real:
            raise RequestError("this board is simulated: measure(place) says what the meter shows")
        items = read_readings(text, circuit=self.circuit, meter=self.meter)
        for item in items:
            if isinstance(item, Reading):
                state = f" @{item.state}" if item.state else ""
                tail = f" with {' and '.join(item.conditions)}" if item.conditions else ""
                said = f"{item.at} {item.setting} {item.text}{state}{tail}"
                self._taken(item.setting, f"{item.at} {item.setting}{state}", item.text, said, item.state == "cold")
            else:
                self._taken("observe", "look and feel", str(item), str(item), self._cold)
        return tuple(item for item in items if isinstance(item, Reading))

    def _taken(self, kind: str, where: str, text: str, said: str, cold: bool) -> None:
        """Log a reading with its toll, and keep it as evidence.

        Of an intermittent fault only what was read while it showed counts, without the words that brought it out.
        """
        tail = f" with {' and '.join(self._conditions)}" if self._conditions else ""
        switching = toll("power") if cold != self._cold else Toll()
        self._cold = cold
        self._acts.append(Act(kind, where + tail, text, toll(kind) + switching))
        others = [c for c in self._conditions if not self._brings_out(c)]
        plain = said + (f" with {' and '.join(others)}" if others and kind != "observe" else "")
        shows = self._present is not None
        self._typed.append(Taken(len(self._acts) - 1, plain, counts=shows))

    def do(self, text: str) -> str:
        """Do something to the board: ``"L1 bridged"``, ``"R2 lifted"``, ``"warmed"``, ``"inject 3.3 V at EN limit 0.2"``.

        More than a healthy board ever has at a place is not fed in: stopped and logged.
        """
        injection = read_injection(self.circuit, text)
        if injection is not None:
            wrong = too_much(self.circuit, injection)
            told = wrong or drawn(self._true.at("cold"), self._present, injection)
            self._acts.append(Act("inject", str(injection), told, toll("stopped" if wrong else "inject"), bool(wrong)))
            return told
        done = read_conditions(text, self.circuit.netlist.values(), self.circuit.nodes)
        for condition in done:
            self._conditions.append(str(condition))
            self._acts.append(Act("do", str(condition), "done", toll(condition.verb or "stressed")))
        return "done: " + ", ".join(map(str, done))

    def undo(self, text: str = "") -> str:
        """Take away what was done to the board: all of it, or the one named."""
        gone = [c for c in self._conditions if not text or c.casefold() == text.strip().casefold()]
        self._conditions = [c for c in self._conditions if c not in gone]
        for condition in gone:
            self._acts.append(Act("do", f"{condition} taken back", "done", toll("taken back")))
        return f"taken back: {', '.join(gone) or 'nothing'}"

    def observe(self) -> str:
        """What eye and finger find: what carries far more than it should gets warm."""
        if self._hidden.real:
            raise RequestError("this board is real: look and feel, and type what you find with read('C17 hot')")
        seen = seen_and_felt(self._true.at(None), self._present)
        self._taken("observe", "look and feel", seen, seen, self._cold)
        return seen

    def name(self, fault: str) -> Result:
        """Name the fault. True for the hidden one's group; it scores by what the readings support."""
        self.circuit.fault(fault)
        result = judge(self.circuit, fault, self._hidden.fault, self.evidence, self.meter.name)
        self._acts.append(Act("name", f"name {fault}", result.why, Toll() if result.right else toll("name")))
        return self._told(result, "named" if result.right else "")

    def give_up(self) -> str:
        """The answer, at its toll."""
        self._acts.append(Act("give up", "give up", str(self._hidden), toll("give up")))
        self._told(Result(False, 0.0, "given up"), "given up")
        return f"It was {self._hidden}."

    def _told(self, result: Result, how: str) -> Result:
        """The result with minutes, predictions and needless parts; the end is kept for the learner."""
        right, made = self.predictions
        full = result.with_road(
            self.toll, right, made, needless=sum(a.kind == "name" for a in self._acts) - result.right
        )
        if how and not self._done and self._kept is not None:
            book, learner = self._kept
            body = {"circuit": self.circuit.name, "step": self.step, "seed": self._seed, "end": how}
            book.learn(learner, "exercise", {**body, **full.as_body(), "log": [str(act) for act in self._acts]})
        self._done = self._done or bool(how)
        return full

    @property
    def evidence(self) -> str:
        """The readings and observations that bear on the fault, as they are typed into a diagnosis.

        With an intermittent fault those taken while it shows; before it ever did, all of them.
        """
        counting = [t for t in self._typed if t.counts] or self._typed
        return "; ".join(t.said for t in counting)

    @property
    def diagnosis(self) -> Diagnosis:
        """What the kit makes of the readings taken so far, knowing that something is hidden, and how it was drawn."""
        return diagnose_dealt(self.circuit, self.evidence, BEFOREHAND, meter=self.meter)

    def other_roads(self) -> dict[str, Road]:
        """What the kit's own next probes and a random walk come to on the same board; after the end only."""
        if not self._done:
            raise RequestError("other roads are shown when the fault is named, or given up")
        plain = replace(self._hidden, trigger="", real=False, brief="")  # with an intermittent fault: while it shows
        twins = [
            Exercise(self.circuit, plain, seed=self._seed, step=self.step, meter=self.meter.name) for _ in range(2)
        ]
        walk = wander(twins[1], random.Random(self._seed + 2))
        return {"The kit's own probes": follow(twins[0]), "A random walk": walk}

    @property
    def looking_back(self) -> str:
        """The road act by act: what each reading left, and what the kit would have probed. After the end only."""
        if not self._done:
            raise RequestError("looking back comes when the fault is named, or given up")
        return look_back(self.circuit, self.log, self._typed, self._hidden, self.meter.name, self.other_roads())

    def _brings_out(self, condition: str) -> bool:
        """Whether something done is what brings an intermittent fault out."""
        trigger = self._hidden.trigger
        return bool(trigger) and condition.casefold().split()[-1] == trigger

    @property
    def _present(self) -> Fault | None:
        """The fault as it is there now: an intermittent one only under what brings it out."""
        hides = bool(self._hidden.trigger) and not self._hidden.real
        return None if hides and not any(map(self._brings_out, self._conditions)) else self._hidden.fault

    def _may_slip(self, board: Circuit, place: str, state: str | None) -> None:
        """A slip of the probe on a fed board, now and then."""
        node = leads(board, place)[0]
        if node not in board.nodes:
            return
        other = slip(self.circuit, node, solve(board, state=state, fault=self._present), self._hands)
        if other:
            onto = "ground" if other == "0" else other
            words = (
                f"stopped: the probe slipped from {node} towards {onto}; caught in time, the reading is taken again"
            )
            self._acts.append(Act("slip", f"{place} volts", words, toll("stopped"), stopped=True))

    def __reduce__(self) -> str:
        raise TypeError("an exercise is not written to a file: what it hides is sealed. Its seed begins it anew")

    def __repr__(self) -> str:
        return f"Exercise({self.circuit.name!r}, step {self.step}, {len(self._acts)} acts)"

    def __str__(self) -> str:
        return "\n".join([self.brief, *map(str, self._acts), f"So far {self.toll}"])
