"""Cautions: what to mind before doing something to this board, derived from its circuit by one table of rules."""

import math
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from shouldread.circuit import Circuit
from shouldread.errors import UnknownNameError
from shouldread.parts import Part
from shouldread.quantities import say
from shouldread.solve import Solution, solve

DANGEROUS = "dangerous volts, direct"
STATED_WITH = ("", "hand over")  # what a file warns of is said with its dangers, not again at every probe
UNITS: Mapping[str, str] = {"joules": "J", "volts dc": "V", "volts ac": "V", "watts": "W"}


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of cautions.toml."""

    name: str
    say: str
    source: str
    acts: tuple[str, ...] = ()
    measure: str = ""
    least: float = 0.0
    words: tuple[str, ...] = ()
    refer: bool = False


@dataclass(frozen=True, slots=True)
class Caution:
    """Something to mind: in words, by which rule and source, where (a part or node, "" for the whole board).

    ``refer``: nothing live is to be touched here, licensed practice takes over.
    """

    say: str
    rule: str
    source: str
    at: str = ""
    refer: bool = False

    def __str__(self) -> str:
        return self.say


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of the circuit that a rule may look at (SI); ``volts`` is what it was reckoned at."""

    measure: str
    at: str
    value: float
    volts: float = math.nan


@cache
def caution_rules() -> tuple[Rule, ...]:
    """Every rule of the table, in its order."""
    rows = tomllib.loads((files("shouldread.diagnosis") / "cautions.toml").read_text(encoding="utf-8"))["rule"]
    return tuple(map(_rule, rows))


def _rule(row: Mapping[str, Any]) -> Rule:
    told: dict[str, Any] = {key: tuple(v) if isinstance(v, list) else v for key, v in row.items()}
    return Rule(**told)


def caution_rule(name: str) -> Rule:
    """One rule by name. Raises UnknownNameError."""
    for rule in caution_rules():
        if rule.name == name:
            return rule
    raise UnknownNameError("rule", name, [rule.name for rule in caution_rules()], "cautions.toml")


def borne(part: Part, solution: Solution) -> tuple[float, float, float]:
    """(volts across the first two pins, amps into the first, watts in the part); nan where nothing is held.

    Power is the sum over the pins of volts times amps into the pin. A transistor's volts are collector to emitter,
    drain to source.
    """
    volts = {pin: solution.volts.get(node, math.nan) for pin, node in zip(part.pins, part.nodes, strict=True)}
    amps = {pin: solution.pin_amps[f"{part.name}.{pin}"] for pin in part.pins}
    watts = sum(volts[pin] * amps[pin] for pin in part.pins if amps[pin] != 0.0)
    first, second = part.pins[0], part.pins[2 if part.kind in "QM" else 1]
    return volts[first] - volts[second], amps[first], watts


def figures_of(circuit: Circuit, solved: Iterable[Solution] | None = None) -> tuple[Figure, ...]:
    """Stored energy, volts and watts of a good board, at the worst of its states. ½ C V², Joule's law.

    ``solved``: the good board in every state, where it is at hand.
    """
    found: dict[tuple[str, str], Figure] = {}
    for solution in solved or (solve(circuit, state=state) for state in circuit.states):
        for figure in _figures(circuit, solution):
            known = found.get((figure.measure, figure.at))
            if figure.value == figure.value and (known is None or known.value < figure.value):
                found[figure.measure, figure.at] = figure
    return tuple(found.values())


def _figures(circuit: Circuit, solution: Solution) -> Iterator[Figure]:
    for node, volts in solution.volts.items():
        if node != "0":
            yield Figure("volts dc", node, abs(volts), abs(volts))
    for part in circuit.netlist.values():
        volts, _, watts = borne(part, solution)
        if part.kind == "C" and part.value is not None:
            yield Figure("joules", part.name, part.value.nominal * volts**2 / 2, abs(volts))
        elif part.kind not in "VI" and not _supplies(part):
            yield Figure("watts", part.name, watts, abs(volts))
        wave = part.facts.get("wave")
        if part.kind == "V" and isinstance(wave, tuple) and wave[0] == "SIN":
            amplitude = abs(float(wave[1][1])) / math.sqrt(2)
            yield Figure("volts ac", part.nodes[0], amplitude, amplitude)


def _supplies(part: Part) -> bool:
    return part.block is not None and part.block.name.upper() == "SUPPLY"


def cautions(circuit: Circuit | None, act: str = "", *, at: Iterable[str] | None = None) -> tuple[Caution, ...]:
    """What to mind before ``act``, each thing once: dangers that the circuit's own figures show, then the usual.

    ``act``: volts, ohms, diode, amps, bridge, lift, solder, power, inject, load, hand over, fit R (and so on); ""
    for dangers alone. Without a circuit: the usual of an act.
    ``at``: parts and nodes that are touched (all of them by default). Dangers that forbid live work are always told.
    Raises UnknownNameError for an act that no rule knows.

    >>> from shouldread.circuit import load_circuit
    >>> print(cautions(load_circuit("precharge_bleeder"), "ohms")[0])
    C1 stores 1.15 J at 48 V: discharge it through a resistor and check with volts before touching
    """
    acts = {a for rule in caution_rules() for a in rule.acts}
    if act and act not in acts:
        raise UnknownNameError("act", act, sorted(acts), "cautions.toml")
    shown = figures_of(circuit) if circuit is not None else ()
    return told_of(circuit, shown, act, at=at)


def told_of(
    circuit: Circuit | None, shown: tuple[Figure, ...], act: str, *, at: Iterable[str] | None = None
) -> tuple[Caution, ...]:
    """``cautions`` with the circuit's figures at hand (``figures_of``), for those who ask often."""
    touched = None if at is None else set(at)
    found = [*_stated(circuit)] if act in STATED_WITH and circuit is not None else []
    for rule in caution_rules():
        if rule.acts and act not in rule.acts:
            continue
        if rule.measure:
            found += [_measured(rule, f) for f in _worst(rule, shown, touched)]
        elif rule.words:
            found += [Caution(rule.say, rule.name, rule.source, refer=rule.refer)] if _named(rule, circuit) else []
        elif rule.acts:
            found.append(Caution(rule.say, rule.name, rule.source))
    return tuple(dict.fromkeys(found))


def _stated(circuit: Circuit) -> Iterator[Caution]:
    """What the circuit's file itself warns of, of the board and of its nodes."""
    told = circuit.facts.get("cautions", ())
    rows = (told,) if isinstance(told, str) else tuple(map(str, told))  # type: ignore[call-overload]
    yield from (Caution(row, "stated", "the circuit's file") for row in rows)
    for node, facts in circuit.node_facts.items():
        yield from (Caution(row, "stated", "the circuit's file", node) for row in facts.cautions)


def _worst(rule: Rule, shown: tuple[Figure, ...], touched: set[str] | None) -> list[Figure]:
    """The figures that reach a rule's level: the highest alone where it forbids, else each that is touched."""
    over = [f for f in shown if f.measure == rule.measure and f.value >= rule.least * (1 + 1e-9)]
    if rule.refer:
        return sorted(over, key=lambda f: -f.value)[:1]
    return [f for f in over if touched is None or f.at in touched]


def _measured(rule: Rule, figure: Figure) -> Caution:
    value = say(figure.value, UNITS[rule.measure], 3)
    words = rule.say.format(part=figure.at, node=figure.at, value=value, volts=f"{figure.volts:.3g} V")
    return Caution(words, rule.name, rule.source, figure.at, rule.refer)


def _named(rule: Rule, circuit: Circuit | None) -> bool:
    """Whether the circuit's own words speak of it."""
    if circuit is None:
        return False
    told = [circuit.title, circuit.about, str(circuit.facts.get("cautions", ""))]
    told += [str(p.facts.get("about", "")) for p in circuit.netlist.values()]
    told += [facts.about for facts in circuit.node_facts.values()]
    text = " ".join(told).casefold()
    return any(word in text for word in rule.words)


def live_work_is_referred(circuit: Circuit) -> Caution | None:
    """The caution that forbids any advice on live probing of this board, or None."""
    return next((c for c in cautions(circuit) if c.refer), None)
