"""Choosing a replacement: what it must be, by which rule, and whether a candidate fits."""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from shouldread.circuit import Circuit, KnownReading, figures_of, told_figures
from shouldread.diagnosis import cautions
from shouldread.errors import RequestError
from shouldread.parts import KINDS, Part
from shouldread.quantities import Spread, nearest, next_above, say, si_number
from shouldread.repair.candidate import NAMES, Line, code_of, marked, told_of
from shouldread.repair.derating import fits, rules
from shouldread.repair.stage_needs import coil_amps, stage_lines
from shouldread.repair.stress import Load, stress
from shouldread.solve import solve

UNMARKED = ("", "?", "unmarked", "unknown", "none")
SERIES: Mapping[str, str] = {"R": "E96", "C": "E12", "L": "E12"}
SCAN = "E24"  # an unmarked resistor is sought among these
LEAST, DECADES = 1.0, 7  # from 1 Ω to 10 MΩ


@dataclass(frozen=True, slots=True)
class Fit:
    """Whether a candidate fits, line by line; what it does not state is asked for."""

    fits: bool
    lines: tuple[str, ...]

    def __bool__(self) -> bool:
        return self.fits

    def __str__(self) -> str:
        return "\n".join(["fits" if self.fits else "does not fit, or not all is known", *self.lines])


@dataclass(frozen=True, slots=True)
class Requirement:
    """What a replacement must be.

    ``notes``: where its value comes from, what the series have near it, what data sheets state of such parts.
    """

    part: str
    lines: tuple[Line, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...] = ()

    def check(self, text: str) -> Fit:
        """A candidate as its seller writes it: ``"2.2 µH, 3 A sat, 30 mΩ"``. Raises RequestError when nothing is read."""
        told = told_of(text)
        first = self.lines[0] if self.lines else None
        if first is not None and first.what in NAMES.values() and first.what not in told:
            code = code_of(text, first.unit)
            told |= {first.what: code} if code is not None else {}
        if not told and any(line.unit for line in self.lines):
            raise RequestError(
                f"no figure with a unit is in {text[:60]!r}; write for instance 10 µH, 4 A sat, 30 mΩ", value=text
            )
        if not self.lines:
            return Fit(False, ("? nothing here tells what it must be: fit the same type with the same suffix",))
        verdicts = [line.verdict(text, told) for line in self.lines]
        return Fit(all(word == "yes" for word, _ in verdicts), tuple(sentence for _, sentence in verdicts))

    def __str__(self) -> str:
        return "\n".join(
            [
                f"Replacement for {self.part}",
                *(f"  {line}" for line in self.lines),
                *(f"  {note}" for note in self.notes),
                *(f"  Caution: {c}" for c in self.cautions),
            ]
        )


def choose_part(
    circuit: Circuit,
    part: str,
    *,
    original: str | None = None,
    twin: str | None = None,
    amps: float | str | None = None,
) -> Requirement:
    """What a replacement of a part must be: value, volts, watts, amps, with the rule of each and its source.

    ``original``: what is printed on it (``"4R7"``, ``"103"``, ``"10 µH"``), or ``"unmarked"``: then the value is taken
    from ``twin``, the same part of a twin stage, else for a resistor from the stage (what the file's known readings
    allow), for a coil from the feed (its amps and what it may lose). Loads are those of ``stress`` without any fault,
    at nominal values: the factor of each rule covers tolerances;
    ``amps``: the current that was really read there, with all that hangs on the board. Raises UnknownNameError for a
    part not there, RequestError for a twin of another kind or a marking that says nothing.

    >>> import shouldread as sr
    >>> sr.choose_part(sr.load_circuit("two_feed_enable"), "L1").check("10 µH, 4 A sat, 30 mΩ").fits
    True
    """
    chosen = circuit.part(part)
    like = circuit.part(twin) if twin is not None else None
    if like is not None and like.kind != chosen.kind:
        raise RequestError(f"{like.name} is no twin of {chosen.name}: another kind of part", value=twin)
    table = stress(circuit, faults=(), tolerances=False)
    carried = 0.0 if amps is None else _number(amps)
    loads = [
        _with_amps(table[p.name], max(carried, coil_amps(circuit, p, table))) for p in (chosen, like) if p is not None
    ]
    unmarked = original is not None and original.strip().casefold() in UNMARKED
    value, note = _value(circuit, chosen, like, original, unmarked)
    lines = [
        *_value_line(chosen, value),
        *_loads(chosen, loads, unmarked),
        *stage_lines(circuit, like or chosen, loads, unmarked),
    ]
    lines += [*_words(chosen), *_tolerance_line(chosen)]
    near = _near(chosen, value)
    mind = tuple(caution.say for caution in cautions(None, f"fit {chosen.kind}"))
    sheets = [f"data sheets of such parts: {line}" for line in told_figures(figures_of(chosen))]
    return Requirement(chosen.name, tuple(lines), mind, (*filter(None, [note, near]), *sheets))


def _value(
    circuit: Circuit, part: Part, twin: Part | None, original: str | None, unmarked: bool
) -> tuple[Spread | None, str]:
    """The value sought and where it comes from."""
    unit = KINDS[part.kind].unit
    if original is not None and not unmarked:
        told = marked(original, unit) if part.kind in "RCL" else None
        if told is None and part.kind in "RCL":
            raise RequestError(
                f"{original!r} tells no {KINDS[part.kind].value_name}; write 4R7, 103, 10 µH or unmarked"
            )
        return (None if told is None else Spread.exact(told)), f"value as printed on it: {original}"
    if twin is not None:
        return twin.value, f"value of its twin {twin.name}"
    if not unmarked:
        return part.value, ""
    if part.kind != "R":
        return None, "its value is not known: measure a twin's, or ask for one by its place in the circuit"
    found = from_the_stage(circuit, part)
    if not found:
        return None, f"no {SCAN} value gives the readings that the file knows: is something else wrong?"
    middle = found[len(found) // 2]
    return Spread.between(found[0], found[-1]) if len(found) > 1 else Spread.exact(middle), (
        f"value from the stage: {say(found[0], unit)} to {say(found[-1], unit)} of {SCAN} give its known readings"
    )


def from_the_stage(circuit: Circuit, part: Part) -> tuple[float, ...]:
    """The E24 values of a resistor with which every known healthy volts reading of the circuit's file comes out."""
    known = [r for r in circuit.readings if r.setting == "volts" and not r.fault and not r.condition and not r.to]
    if not known:
        return ()
    found, value = [], LEAST
    while value <= LEAST * 10**DECADES * (1 + 1e-9):
        board = circuit.with_values({part.name: value})
        if _all_hold(board, known):
            found.append(value)
        value = next_above(value * 1.001, SCAN)
    return tuple(found)


def _all_hold(circuit: Circuit, known: Iterable[KnownReading]) -> bool:
    """Whether every known reading comes out; the first that does not ends it."""
    volts: dict[str, Mapping[str, float]] = {}
    for reading in known:
        state = circuit.state(reading.state or None).name
        if state not in volts:
            volts[state] = solve(circuit, state=state).volts
        if not _holds(reading.value, volts[state][circuit.node(reading.at)]):
            return False
    return True


def _holds(spread: Spread, volts: float) -> bool:
    return spread.low - 1e-3 <= volts <= spread.high + 1e-3


def _value_line(part: Part, value: Spread | None) -> Iterator[Line]:
    if value is None or part.kind not in "RCL":
        return
    kind, table = KINDS[part.kind], rules()["value"]
    half = max((value.high - value.low) / 2, table[part.kind] * value.nominal)
    middle = (value.high + value.low) / 2
    rule = "the same value, tolerance no wider" + (", measured at its bias" if part.kind == "C" else "")
    yield Line(kind.value_name, middle - half, middle + half, kind.unit, rule, table["source"])


def _tolerance_line(part: Part) -> Iterator[Line]:
    """How close its value must be: as the original's where that is stated, else no wider than usual."""
    if part.kind not in "RCL":
        return
    table = rules()["value"]
    if "tolerance" in part.facts and part.value is not None and part.value.nominal > 0:
        width = (part.value.high - part.value.low) / 2 / part.value.nominal * 100
        yield Line("tolerance", 0.0, width, "%", "as close as the original", "the circuit")
    else:
        usual = table.get(str(part.facts.get("detail", "")), table[part.kind])
        yield Line("tolerance", 0.0, usual * 100, "%", "no wider than usual", table["source"], spare=True)


def _number(amps: float | str) -> float:
    value, unit = si_number(amps) if isinstance(amps, str) else (float(amps), "A")
    if unit not in ("", "A") or not value > 0:
        raise RequestError(f"{amps!r} is no current; write for instance 1.7 A", value=amps)
    return value


def _with_amps(load: Load, amps: float) -> Load:
    """The load with at least the amps that were read."""
    return replace(load, amps_worst=max(amps, load.amps_worst)) if amps else load


def _loads(part: Part, loads: list[Load], unmarked: bool) -> Iterator[Line]:
    """What the part bears on a good board (and its twin on its own) times the rule's factor, or what it is rated for."""
    units, seen = {"volts": "V", "amps": "A", "watts": "W"}, set[str]()
    for row in rules()["rule"]:
        if not fits(row, part) or row["what"] in seen:
            continue
        seen.add(row["what"])
        worst = max(getattr(load, f"{row['what']}_worst") for load in loads)
        if not math.isnan(worst):
            need, rated = row["factor"] * worst, 0.0 if unmarked else _rated(part, row["what"])
            say_, source = (
                (row["say"], row["source"]) if need >= rated else ("as the original is rated", "the circuit")
            )
            yield Line(row["what"], max(need, rated), math.inf, units[row["what"]], say_, source)


def _rated(part: Part, what: str) -> float:
    """What the file says the original is rated for; 0 where it does not say."""
    told = part.facts.get(what)
    return 0.0 if told is None else si_number(str(told))[0]


def _words(part: Part) -> Iterator[Line]:
    for row in rules()["words"]:
        if fits(row, part):
            any_, never = tuple(row["any"]), tuple(row["never"])
            yield Line(row["what"], 0.0, 0.0, "", row["say"], row["source"], any_, never)


def _near(part: Part, value: Spread | None) -> str:
    """The nearest preferred value, where the value is none itself."""
    if value is None or part.kind not in SERIES or value.nominal <= 0:
        return ""
    series = SERIES[part.kind]
    near = nearest(value.nominal, series)
    off = near / value.nominal - 1
    unit = KINDS[part.kind].unit
    return f"nearest of {series}: {say(near, unit)}" + (f" ({off:+.1%})" if abs(off) > 1e-6 else "")
