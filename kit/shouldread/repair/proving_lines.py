"""What a repaired board is held to: the lines of its proof, derived from its circuit or its rail sheet."""

import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from shouldread.circuit import Circuit, Rail, Rails, is_supply
from shouldread.diagnosis import Band, Expectation, expect
from shouldread.meter import Meter
from shouldread.quantities import Spread, say, si_number
from shouldread.repair.feed_path import Path, behind, feed_path, link_ohms
from shouldread.repair.stress import stress

COLD, POWER, RAILS, ORDER = "cold table again", "limited power-up", "rails", "enable order"
INPUT, PATHS, FUNCTION, STRESS, STARTS = "input current", "feed under load", "function", "stress", "repeat starts"
FURTHER = "further readings"
RIGHT, WRONG, NOT_PROVEN, OPEN = "right", "wrong", "not proven", "not done"
INF = math.inf


@cache
def figures() -> Mapping[str, Mapping[str, Any]]:
    """The figures of proving.toml by section, each section with its source."""
    return tomllib.loads((files("shouldread.repair") / "proving.toml").read_text(encoding="utf-8"))


@dataclass(frozen=True, slots=True)
class Check:
    """One line of a proof: what to do, what it must give (SI; nan where nothing says), and what it gave.

    ``key`` is what a result begins with when it is typed; ``amps`` what a feed path must have carried.
    """

    stage: str
    key: str
    action: str
    low: float = -INF
    high: float = INF
    unit: str = ""
    source: str = ""
    before: str = ""
    shown: str = ""
    verdict: str = OPEN
    why: str = ""
    path: Path | None = None
    amps: float = math.nan

    @property
    def should(self) -> str:
        """What it must give, in words."""
        if not self.unit or math.isnan(self.low) or (self.low == -INF and self.high == INF):
            return ""
        low, high = say(self.low, self.unit, 3), say(self.high, self.unit, 3)
        if self.high == INF:
            return f"at least {low}"
        return f"at most {high}" if self.low <= 0 else f"{low} to {high}"

    def __str__(self) -> str:
        rows = f"[{self.verdict}] {self.key}: {self.action}" + (f"; should give {self.should}" if self.should else "")
        rows += f"; before {self.before}" if self.before else ""
        return rows + (f"; now {self.shown}" if self.shown else "") + (f" ({self.why})" if self.why else "")


def sheet_of(circuit: Circuit) -> Rails:
    """The rail sheet that a circuit's file states; an empty one where it states none."""
    told = circuit.facts.get("rails")
    return Rails.read(told) if isinstance(told, str) else Rails()


def with_rails(circuit: Circuit, rails: Rails) -> Circuit:
    """A stage with the rail sheet of the board it is on: its own rails, save those that the sheet names anew."""
    told = {rail.name.casefold() for rail in rails.lines}
    own = tuple(rail for rail in sheet_of(circuit).lines if rail.name.casefold() not in told)
    return replace(circuit, facts={**circuit.facts, "rails": str(Rails((*rails.lines, *own)))})


def elsewhere(circuit: Circuit) -> frozenset[str]:
    """Rails of the sheet that are no node of this stage, casefolded: the rest of the board."""
    nodes = {node.casefold() for node in circuit.nodes}
    return frozenset(rail.name.casefold() for rail in sheet_of(circuit).lines) - nodes


def lines_of(board: Circuit | Rails, repaired: str, meter: Meter) -> tuple[Check, ...]:
    """Every line, in the order in which they are done."""
    rows = [*_derived(board, repaired, meter)] if isinstance(board, Circuit) else [*_from_sheet(board)]
    minutes, starts = figures()["stress"], figures()["starts"]
    pictures = ", ".join(map(str, minutes["pictures"]))
    rows.append(
        Check(
            STRESS,
            "stress",
            f"full load for {minutes['minutes']} min, temperatures at {pictures} min",
            minutes["minutes"],
            unit="min",
            source=minutes["source"],
        )
    )
    rows += [*_hot(board)] if isinstance(board, Circuit) else []
    for kind in ("cold", "warm"):
        rows.append(
            Check(
                STARTS, f"starts {kind}", f"{starts[kind]} {kind} starts, every one of them", source=starts["source"]
            )
        )
    return tuple(rows)


def _derived(circuit: Circuit, repaired: str, meter: Meter) -> Iterator[Check]:
    sheet = sheet_of(circuit)
    places = _places(circuit, sheet)
    beyond = elsewhere(circuit)
    ohms, volts = expect(circuit, setting="ohms", meter=meter), expect(circuit, meter=meter)
    if repaired:
        band = ohms[repaired].healthy if len(circuit.part(repaired).nodes) == 2 else None
        if band is not None:
            yield _of_band(COLD, f"{repaired} ohms", f"off: ohms across {repaired}, pad to pad", band, "Ω")
    for place in places:
        yield _cold(place) if place.casefold() in beyond else _cold(place, ohms[place].healthy)
    amps = _supplies(circuit, meter)
    yield _power_up(circuit, amps)
    for place in places:
        yield _nominal(sheet[place]) if place.casefold() in beyond else _rail(place, sheet, volts)
    yield from _order(sheet)
    yield from _input(amps)
    yield from _paths(circuit, sheet, repaired)
    what = circuit.about or circuit.title
    states = ", ".join(circuit.states)
    yield Check(FUNCTION, "function", f"in each of its states ({states}) the board does what it is for: {what}")


def _from_sheet(sheet: Rails) -> Iterator[Check]:
    for rail in sheet:
        yield _cold(rail.name)
    yield Check(POWER, "power-up", "feed the inputs with the current limit low, and see that it does not limit")
    for rail in sheet:
        yield _nominal(rail)
    yield from _order(sheet)
    yield Check(INPUT, "input", "amps from the supply, full load", math.nan, math.nan, "A")
    yield Check(FUNCTION, "function", "the board does what it is for, with everything connected")


def _places(circuit: Circuit, sheet: Rails) -> tuple[str, ...]:
    """The rails of the sheet; without any in the circuit, or beside some elsewhere, what its file names too.

    That is its rails, inputs and outputs, and all of its nodes where it names none.
    """
    nodes = {n.casefold(): n for n in circuit.nodes if n != "0"}
    on = [nodes.get(rail.name.casefold(), rail.name) for rail in sheet]
    whole = bool(on) and not elsewhere(circuit)
    named = list[str]()
    for key in () if whole else ("rails", "inputs", "outputs", "wired"):
        told = circuit.hints.get(key, ())
        named += [nodes[str(n).casefold()] for n in told if str(n).casefold() in nodes]  # type: ignore[attr-defined]
    return tuple(dict.fromkeys([*on, *named] or nodes.values()))


def _cold(place: str, band: Band | None = None) -> Check:
    """Ohms of a rail; where no circuit says what they should be the rail sheet's rules of thumb judge them."""
    key, action = f"{place} ohms", f"off and discharged: ohms {place} to ground"
    return (
        Check(COLD, key, action, math.nan, math.nan, "Ω") if band is None else _of_band(COLD, key, action, band, "Ω")
    )


def _nominal(rail: Rail) -> Check:
    low, high = (math.nan, math.nan) if rail.nominal is None else _span(rail.nominal)
    source = "the rail sheet" if rail.limit is None else f"the rail sheet, {rail.limit}"
    return Check(RAILS, rail.name, f"volts of {rail.name}", low, high, "V", source)


def _of_band(stage: str, key: str, action: str, band: Band, unit: str) -> Check:
    return Check(stage, key, action, band.low, band.high, unit, "the circuit, its tolerances and the meter")


def _span(nominal: Spread) -> tuple[float, float]:
    """A nominal's limits; the trade's where the sheet states none."""
    stated = nominal if nominal.law != "exact" else Spread.uniform(nominal.nominal, figures()["rail"]["tolerance"])
    return stated.low, stated.high


def _rail(place: str, sheet: Rails, volts: Expectation) -> Check:
    rail = next((r for r in sheet if r.name.casefold() == place.casefold()), None)
    if rail is None or rail.nominal is None:
        return _of_band(RAILS, place, f"volts of {place}", volts[place].healthy, "V")
    return _nominal(replace(rail, name=place))


def _supplies(circuit: Circuit, meter: Meter) -> dict[str, Band]:
    """The supplies that deliver in the first state, with the amps a good board takes."""
    told = expect(circuit, setting="amps", meter=meter)
    bands = {name: told[name].healthy for name in told if is_supply(circuit.part(name))}
    return {name: band for name, band in bands.items() if band.typical > 1e-6}


def _power_up(circuit: Circuit, amps: Mapping[str, Band]) -> Check:
    rule = figures()["power_up"]
    total = math.fsum(band.high for band in amps.values())
    limit = max(rule["least_limit"], rule["limit_factor"] * total)
    feeds = ", ".join(f"{name} at {circuit.part(name).nodes[0]}" for name in amps) or "the inputs"
    action = f"feed {feeds} with the limit at {say(limit, 'A', 2)}; it must not limit"
    return Check(POWER, "power-up", action, source=rule["source"])


def _order(sheet: Rails) -> Iterator[Check]:
    names = list(dict.fromkeys(name for rail in sheet for name in (*rail.enables, rail.name)))
    if any(rail.enables or rail.sources for rail in sheet):
        yield Check(
            ORDER, "order", f"what comes up after what, from power-on: {', '.join(names)}", source="the rail sheet"
        )


def _input(amps: Mapping[str, Band]) -> Iterator[Check]:
    share = figures()["input"]["share"]
    for name, band in amps.items():
        low, high = band.low * (1 - share), band.high * (1 + share)
        source = f"the circuit, and {share:.0%} ({figures()['input']['source']})"
        yield Check(INPUT, f"{name} amps", f"amps out of {name}, first state", low, high, "A", source)


def rated_amps(circuit: Circuit, names: tuple[str, ...]) -> float:
    """The least rated amps stated for any of these parts; nan where none is."""
    told = [circuit.part(name).facts.get("amps") for name in names]
    return min((si_number(str(amps))[0] for amps in told if amps is not None), default=math.nan)


def _paths(circuit: Circuit, sheet: Rails, repaired: str) -> Iterator[Check]:
    """The small series parts from each feed to the next rails or to where they end, and the repaired part by itself."""
    rails = {n for n in circuit.nodes if any(r.name.casefold() == n.casefold() for r in sheet)}
    seen: set[frozenset[str]] = set()
    for feed in dict.fromkeys([*_feeds(circuit), *(n for n in circuit.nodes if n in rails)]):
        found = behind(circuit, feed)
        for end, path in found.items():
            passes = rails & set(path.nodes[1:-1])
            inner = any(path.parts == o.parts[: len(path.parts)] for n, o in found.items() if n != end)
            if frozenset(path.parts) in seen or passes or (inner and end not in rails):
                continue
            seen.add(frozenset(path.parts))
            yield path_check(circuit, f"{feed} to {end}", path)
    if repaired and link_ohms(circuit.part(repaired)) is not None:
        part = circuit.part(repaired)
        own = feed_path(circuit, part.nodes[0], part.nodes[1])
        if own is not None and frozenset(own.parts) not in seen:
            yield path_check(circuit, part.name, own)


def _feeds(circuit: Circuit) -> Iterator[str]:
    """Nodes that a supply or a converter's output holds."""
    for part in circuit.netlist.values():
        if is_supply(part):
            yield part.nodes[0]
        elif part.block is not None:
            for pin, node in zip(part.pins, part.nodes, strict=True):
                if pin in part.block.pin_facts and part.block.pin_facts[pin].role == "out":
                    yield node


def path_check(circuit: Circuit, key: str, path: Path) -> Check:
    """The line that proves one feed path, at half of what its weakest part is rated for, or more."""
    rule = figures()["joint"]
    amps = rule["full"] * rated_amps(circuit, path.parts)
    if math.isnan(amps):
        table = stress(circuit, faults=(), tolerances=False)
        amps = max(abs(table[name].amps_worst) for name in path.parts)
    high = amps * (path.high + rule["ohms"])
    action = f"volts lost over {', '.join(path.parts)} at {say(amps, 'A', 2)} or more (type: {key} 0.05 at 2 A)"
    return Check(PATHS, key, action, 0.0, high, "V", f"Ohm's law; joints {rule['source']}", path=path, amps=amps)


def _hot(circuit: Circuit) -> Iterator[Check]:
    """Parts that turn the most to heat on a good board."""
    rule = figures()["stress"]
    own = [p.name for p in circuit.netlist.values() if not is_supply(p) and p.facts.get("detail") != "load"]
    loads = [load for load in stress(circuit, faults=(), tolerances=False).loads if load.part in own]
    loads = sorted((load for load in loads if load.watts >= rule["hot_watts"]), key=lambda load: -load.watts)
    for load in loads[: rule["most"]]:
        action = f"temperature of {load.part}, which turns {say(load.watts, 'W', 2)} to heat"
        yield Check(STRESS, f"{load.part} °C", action, -INF, rule["hottest"], "°C", rule["source"])
