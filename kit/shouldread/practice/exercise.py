"""An exercise: a hidden fault to find by reading, with predictions first and nothing gained by guessing."""

import random
from typing import final

from shouldread.circuit import Circuit, load_circuit
from shouldread.diagnosis import Diagnosis, diagnose, expect
from shouldread.errors import KitError, RequestError
from shouldread.faults import Fault, read_conditions
from shouldread.meter import Display, measure, noise, shown
from shouldread.meter import meter as profile_of
from shouldread.practice.act import Act, Toll, toll
from shouldread.practice.hiding import pick_circuit, pick_fault, true_board
from shouldread.practice.looking_back import look_back
from shouldread.practice.result import Result, judge
from shouldread.practice.sealing import unseal
from shouldread.solve import solve

STEPS = (1, 2, 3, 4, 5)
COLD = ("ohms", "diode")
HOT = 0.5  # W that a finger finds on a small part (common practice, no source)
FED = "stopped: the board is fed. Off and discharged first, then ohms or diode (read them @cold)"


@final
class Exercise:
    """A board with a hidden fault. Neither ``repr`` nor ``str`` nor any attribute's text tells which.

    ``circuit`` is the healthy one, ``brief`` what its owner says. Predict, measure, do, observe; then ``name`` it.
    """

    def __init__(self, circuit: Circuit, fault: Fault, seed: int, step: int, meter: str) -> None:
        self.circuit = circuit
        self.step = step
        self.meter = profile_of(meter)
        self._dice = random.Random(seed)
        self._true = true_board(circuit, self._dice)
        self._fault = fault
        self._gains: dict[str, float] = {}
        self._conditions: list[str] = []
        self._typed: list[str] = []
        self._acts: list[Act] = []
        self._predicted: dict[str, str] = {}
        self._cold = False
        self._done = False

    @property
    def brief(self) -> str:
        """The symptom as an owner would tell it, from what the board does."""
        return _brief(self.circuit, self._true.at(None), self._fault)

    @property
    def log(self) -> tuple[Act, ...]:
        """Everything done so far."""
        return tuple(self._acts)

    @property
    def toll(self) -> Toll:
        """Minutes and risk so far."""
        total = Toll()
        for act in self._acts:
            total += act.toll
        return total

    def predict(self, place: str, text: str) -> str:
        """Say what a healthy board should read at a place before probing it; told whether that is so."""
        told = expect(self.circuit, meter=self.meter)
        verdict = told.verdict(f"{place} {text}")
        right = str(verdict) == "as it should be"
        answer = "right for a healthy board" if right else f"a healthy board reads {told[place].healthy.words}"
        self._predicted[place] = text
        self._acts.append(Act("predict", f"predict {place} {text}", answer, Toll()))
        return answer

    def measure(self, place: str, setting: str = "volts", state: str | None = None) -> str:
        """What the meter's display shows, in the form in which a reading is typed. Every reading has its toll.

        Ohms or diode in a fed state are stopped, logged, and give no value.
        """
        if setting in COLD and state not in (None, "cold"):
            self._acts.append(Act(setting, f"{place} {setting} @{state}", FED, toll("stopped"), stopped=True))
            return FED
        condition = " and ".join(self._conditions) or None
        board = self._true.at("cold" if setting in COLD else state)
        display = measure(
            board, place, setting=setting, state=state, condition=condition, fault=self._fault, meter=self.meter
        )
        text = self._noisy(display).text
        cold = setting in COLD
        switching = toll("power") if cold != self._cold else Toll()
        self._cold = cold
        tail = f" with {condition}" if condition else ""
        said = f"{place} {setting} {text}" + (f" @{state}" if state else "") + tail
        self._typed.append(said)
        self._acts.append(
            Act(
                setting, f"{place} {setting}" + (f" @{state}" if state else "") + tail, text, toll(setting) + switching
            )
        )
        return text

    def do(self, text: str) -> str:
        """Do something to the board: ``"L1 bridged"``, ``"R2 lifted"``."""
        done = read_conditions(text, self.circuit.netlist.values(), self.circuit.nodes)
        for condition in done:
            self._conditions.append(str(condition))
            self._acts.append(Act("do", str(condition), "done", toll(condition.verb or "bridged")))
        return "done: " + ", ".join(map(str, done))

    def observe(self) -> str:
        """What eye and finger find: what carries far more than it should gets warm."""
        seen = _seen(self._true.at(None), self._fault)
        self._acts.append(Act("observe", "look and feel", seen, toll("observe")))
        self._typed.append(seen)
        return seen

    def name(self, fault: str) -> Result:
        """Name the fault. True for the hidden one's group; it scores by what the readings support."""
        self.circuit.fault(fault)
        result = judge(self.circuit, fault, self._fault, "; ".join(self._typed), self.meter.name)
        self._acts.append(Act("name", f"name {fault}", result.why, toll("name") if not result.right else Toll()))
        self._done = self._done or result.right
        return result

    def give_up(self) -> str:
        """The answer, at its toll."""
        self._acts.append(Act("give up", "give up", str(self._fault), toll("give up")))
        self._done = True
        return f"It was {self._fault}."

    @property
    def diagnosis(self) -> Diagnosis:
        """What the kit makes of the readings taken so far."""
        return diagnose(self.circuit, "; ".join(self._typed), meter=self.meter)

    @property
    def looking_back(self) -> str:
        """The road act by act: what each reading left, and what the kit would have probed. After the end only."""
        if not self._done:
            raise RequestError("looking back comes when the fault is named, or given up")
        return look_back(self.circuit, self._acts, self._typed, self._fault, self.meter.name)

    def _noisy(self, display: Display) -> Display:
        """The display with this meter's own gain error (one for the whole exercise) and fresh counts."""
        if display.value != display.value or display.over or display.rising:
            return display
        gain, count = noise(self.meter, display.setting, display.value)
        shared = self._gains.setdefault(display.setting, self._dice.gauss(0, 1))
        value = display.value * (1 + gain * shared) + count * self._dice.gauss(0, 1)
        return shown(self.meter, display.setting, value)

    def __repr__(self) -> str:
        return f"Exercise({self.circuit.name!r}, step {self.step}, {len(self._acts)} acts)"

    def __str__(self) -> str:
        return "\n".join([self.brief, *map(str, self._acts), f"So far {self.toll}"])


def exercise(
    topic: str | None = None,
    *,
    step: int = 1,
    seed: int | None = None,
    circuit: Circuit | str | None = None,
    hidden: str | None = None,
    meter: str = "handheld",
) -> Exercise:
    """A hidden fault to find. ``step`` 1 obvious, 2 any, 3 gradual, from 4 on a pair; one seed, one exercise.

    ``circuit``: which one; else one on the ``topic``. ``hidden``: a fault, or a token of ``practice.seal``.
    Raises UnknownNameError for a topic, circuit or fault that is not there.

    >>> import shouldread as sr
    >>> task = sr.exercise(circuit="npn_inverter_enable", hidden="R2 open")
    >>> task.measure("EN", "ohms", "run")
    'stopped: the board is fed. Off and discharged first, then ohms or diode (read them @cold)'
    """
    if step not in STEPS:
        raise RequestError(f"steps go from 1 to {STEPS[-1]}, not {step!r}", value=step)
    number = random.randrange(2**32) if seed is None else seed
    dice = random.Random(number)
    board = load_circuit(circuit) if circuit is not None else pick_circuit(topic, dice)
    fault = board.fault(unseal(hidden))[0] if hidden is not None else pick_fault(board, step, dice)
    return Exercise(board, fault, number, step, meter)


def _brief(circuit: Circuit, true: Circuit, fault: Fault) -> str:
    """What an owner would see: which outputs are missing or wrong; else that something is not quite right."""
    outputs = circuit.hints.get("outputs")
    names = [str(n) for n in outputs] if isinstance(outputs, list) else list(circuit.nodes[-1:])
    told = expect(circuit)
    wrong = []
    for name in names:
        try:
            value = measure(true, name, fault=fault).value
        except KitError:
            continue
        band = told[name].healthy
        if not band.low <= value <= band.high:
            about = getattr(circuit.node_facts.get(circuit.node(name)), "about", "") or name
            wrong.append(f"{about} ({name}) is " + ("not there" if abs(value) < 0.5 else "not as it was"))
    what = "; ".join(wrong) or "it works now and then, and nobody knows why"
    return f"{circuit.title}. The owner says: {what}."


def _seen(true: Circuit, fault: Fault) -> str:
    """A part that carries more than half a watt under the fault is felt to be hot."""
    hot = [name for name, watts in watts_of(true, fault).items() if watts > HOT]
    return f"{hot[0]} hot" if hot else "nothing warm"


def watts_of(circuit: Circuit, fault: Fault) -> dict[str, float]:
    """Watts in every resistor, transistor and diode under a fault, hottest first."""
    solution = solve(circuit, fault=fault)
    out = {}
    for part in circuit.netlist.values():
        if part.kind in "RDQM" and part.name not in (fault.parts if "open" in fault.mode else ()):
            volts = [solution.volts.get(n, 0.0) for n in part.nodes]
            amps = [solution.pin_amps[f"{part.name}.{pin}"] for pin in part.pins]
            watts = sum(v * i for v, i in zip(volts, amps, strict=True) if i == i and v == v)
            out[part.name] = watts
    return dict(sorted(out.items(), key=lambda item: -item[1]))
