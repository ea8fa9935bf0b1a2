"""A short on a rail with many parts: how to inject, what the copper drops, and what the walk says."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shouldread.diagnosis import caution_rule
from shouldread.errors import ReadingError, RequestError
from shouldread.quantities import say, si_number

SQUARE = 0.49e-3  # ohm per square of 35 um copper at 20 degC: IACS 1.7241e-8 ohm m (IEC 60028) / 35e-6 m
STEP = 5  # squares between two neighbouring points of a walk, as a rule of thumb
COUNT = 0.1e-3  # V, one count of a 6000-count meter on its 600 mV range
SEEN = 0.15  # W a camera or a finger finds on a small part (common practice, no source)
JUNCTION = (0.45, 0.95)  # V: a flat rail in this span at the limit is a path through silicon
HOT = re.compile(r"(?!nothing\b)(\S+)\s+(?:hot|warm|burnt|cracked|smoking)")
SPLITTERS = ("FB", "L", "F", "R", "SW", "J")
STOP_RULES = (
    "stop when the rail stands flat at 0.5 to 0.9 V at the limit and nothing warms: a path through a chip",
    "stop when any part passes 60 °C, or when smoke or smell appears",
    "stop when the current falls by itself: the short is opening, read the last warm spot",
    "never set the supply above the rail's own nominal volts, and set the limit before connecting",
)
CAUTION = caution_rule("injection").say


@dataclass(frozen=True, slots=True)
class Injection:
    """One setting of the bench supply and what comes of it (V, A, W in the fault)."""

    volts: float
    limit: float
    amps: float
    watts: float
    rail_volts: float
    leads: str
    why: str

    def __str__(self) -> str:
        return (
            f"{say(self.volts, 'V', 2)}, limit {say(self.limit, 'A', 2)}: about {say(self.amps, 'A', 2)}, "
            f"{say(self.watts, 'W', 2)} in the fault, rail at {say(self.rail_volts, 'V', 2)}; {self.leads}. {self.why}"
        )


@dataclass(frozen=True, slots=True)
class ShortHunt:
    """Plan, expectation and finding of a short hunt. ``nearest`` is None as long as nothing points anywhere."""

    rail: str
    plan: tuple[Injection, ...]
    split: str
    expected: tuple[tuple[str, float], ...]  # what one square and one step of the walk drop, in volts
    nearest: str | None
    between: tuple[str, ...]
    finding: str
    junction: bool
    suspects: tuple[str, ...]
    stop_rules: tuple[str, ...] = STOP_RULES
    caution: str = CAUTION

    def __str__(self) -> str:
        rows = [f"Short on {self.rail}", f"  {self.finding}", f"  First: {self.split}", "  Injection:"]
        rows += [f"    {n}. {step}" for n, step in enumerate(self.plan, 1)]
        rows += [f"  Expect {say(volts, 'V', 2)} per {what}" for what, volts in self.expected]
        rows += [
            "  Stop rules:",
            *(f"    - {rule}" for rule in self.stop_rules),
            f"  Caution: {self.caution}",
        ]
        return "\n".join(rows)


def hunt_short(
    *,
    rail: str,
    nominal: float | str,
    ohms: float | str,
    parts: Iterable[str] = (),
    walk: Sequence[tuple[str, float | str]] = (),
    observations: str | Iterable[str] = (),
    good_ohms: float | str | None = None,
    volts: float | str | None = None,
    limit: float | str = 1.0,
) -> ShortHunt:
    """How to find which part shorts a rail, and what the walk and the warm spots say so far.

    ``nominal`` V and ``ohms`` of the rail (``good_ohms``: what a good board reads); ``parts`` on it in order
    along the copper; ``walk`` [(place, reading), ...] with the black lead on the rail at the injection point, in
    order along the rail; ``volts`` that the rail shows while injecting. Raises ReadingError for a reading that
    cannot be one, RequestError for a nominal or ohms that are not positive.

    >>> walk = [("FB1", "0"), ("C3", "4.1m"), ("C17", "7.0m"), ("C18", "7.0m")]
    >>> hunt_short(rail="3V3", nominal=3.3, ohms=1.2, good_ohms=340, walk=walk).nearest
    'C17'
    """
    nominal, ohms, limit = _number(nominal, "V"), _number(ohms, "Ω"), _number(limit, "A")
    if nominal <= 0 or ohms < 0 or limit <= 0:
        raise RequestError(
            "nominal volts and limit must be above zero, ohms not below it", value=(nominal, ohms, limit)
        )
    names = tuple(parts)
    seen = tuple(re.split(r"[;\n]", observations) if isinstance(observations, str) else observations)
    plan = _plan(nominal, ohms, limit)
    read = tuple((place, _walked(place, value, plan[-1].volts)) for place, value in walk)
    shown = _number(volts, "V") if volts is not None else _told_volts(seen)
    junction = _is_junction(read, shown, seen)
    hot = tuple(hit.group(1) for text in seen if (hit := HOT.fullmatch(text.strip())))
    nearest, between, finding = _finding(read, hot, junction, plan[0])
    good = f", > {say(0.9 * _number(good_ohms, 'Ω'), 'Ω', 2)} on the other" if good_ohms is not None else ""
    return ShortHunt(
        rail,
        () if junction else plan,
        _split(names, ohms, good),
        (
            ("square of copper", SQUARE * plan[0].amps),
            (f"step of about {STEP} squares", STEP * SQUARE * plan[0].amps),
        ),
        nearest,
        between,
        finding,
        junction,
        tuple(dict.fromkeys([*hot, *([nearest] if nearest else []), *names])),
    )


def _plan(nominal: float, ohms: float, limit: float) -> tuple[Injection, ...]:
    """First below 1 V and at the limit; then, when nothing would show, as far as the rail's nominal allows."""
    ceiling = 0.9 * nominal
    steps = [_injection(min(1.0, ceiling), limit, ohms, "Start here.")]
    step = STEP * SQUARE * steps[0].amps
    if step < 5 * COUNT or steps[0].watts < SEEN:
        why = "Only if the first shows nothing: " + (
            f"{say(steps[0].watts, 'W', 2)} warms nothing that a camera sees."
            if steps[0].watts < SEEN
            else "the drop along the copper is too small to read."
        )
        steps.append(_injection(ceiling, max(limit, 3.0), ohms, why))
    return tuple(steps)


def _injection(volts: float, limit: float, ohms: float, why: str) -> Injection:
    amps = min(limit, volts / ohms) if ohms > 0 else limit
    rail = min(volts, amps * ohms)
    to_ground = rail < 0.3  # V: below it a handheld stays on its 0.1 mV range and the drop is a fair part of it
    leads = (
        "walk red along the rail, black on ground: the lowest reading is nearest"
        if to_ground
        else "black lead on the rail at the injection point, walk red along the rail"
    )
    return Injection(volts, limit, amps, amps * rail, rail, leads, why)


def _split(names: tuple[str, ...], ohms: float, good: str) -> str:
    splitters = [n for n in names if re.match(rf"(?:{'|'.join(SPLITTERS)})\d", n)]
    if not splitters:
        return "split the rail where a bead, coil, fuse or link feeds a part of it, and read ohms on both sides"
    return f"lift {splitters[0]} and read ohms on both sides: {say(ohms, 'Ω', 2)} stays on the shorted one{good}"


def _finding(
    read: tuple[tuple[str, float], ...], hot: tuple[str, ...], junction: bool, first: Injection
) -> tuple[str | None, tuple[str, ...], str]:
    """(nearest place, the places that cannot be told from it, the sentence)."""
    if junction:
        words = "the rail stands flat at a junction's volts and nothing warms: a path through a chip, stop injecting"
        return None, (), words
    if hot:
        return hot[0], hot, f"{hot[0]} is the warm or damaged one: take it off and read the rail's ohms again"
    if len(read) < 2:
        return None, (), "no single part can be named from ohms alone: split, inject, walk the millivolts"
    values = [value for _, value in read]
    rise, noise = max(values) - min(values), 2 * COUNT + 0.005 * max(map(abs, values))
    falls = next((i for i in range(1, len(values)) if values[i] < values[i - 1] - noise), None)
    if falls is not None:
        words = (
            f"the walk falls at {read[falls][0]}, which one short along one line cannot do: read {read[falls - 1][0]} "
            "and it again, list the places in their order along the copper, black lead at the injection point; "
            "a branch is a walk of its own"
        )
        return None, tuple(place for place, _ in read), words
    if rise < 5 * COUNT:
        words = f"the walk rises by only {say(rise, 'V', 2)}: raise the current (the plan says how far) and walk again"
        return None, tuple(place for place, _ in read), words
    at = next(i for i, value in enumerate(values) if value >= max(values) - noise)
    beyond = at == len(read) - 1
    squares = (values[at] - values[at - 1]) / (SQUARE * first.amps) if at else 0.0
    unsure = (read[at - 1][0], read[at][0]) if beyond or squares > STEP else (read[at][0],)
    words = f"the current leaves the rail at {read[at][0]}" + (
        " or beyond it: walk on" if beyond else f": beyond it the walk stays at {say(max(values), 'V', 2)}"
    )
    return read[at][0], unsure, words


def _is_junction(read: tuple[tuple[str, float], ...], shown: float | None, seen: tuple[str, ...]) -> bool:
    """A flat 0.5 to 0.9 V at the limit with nothing warm."""
    warm = any(re.search(r"\b(hot|warm|burnt|smok)", t) and not t.strip().startswith("nothing") for t in seen)
    values = [value for _, value in read]
    flat = len(values) >= 2 and max(values) - min(values) < 0.05 * max(values)
    level = shown if shown is not None else (sum(values) / len(values) if flat else None)
    return level is not None and JUNCTION[0] <= level <= JUNCTION[1] and not warm


def _told_volts(seen: tuple[str, ...]) -> float | None:
    """Volts named in an observation such as ``flat at 0.7 V at the limit``."""
    for text in seen:
        if "limit" in text and (hit := re.search(r"(\d+(?:[.,]\d+)?)\s*(m?V)\b", text)):
            return _number(hit.group(0), "V")
    return None


def _walked(place: str, value: float | str, most: float) -> float:
    volts = _number(value, "V")
    if not -0.05 <= volts <= 1.1 * most:
        raise ReadingError(
            f"{place} {value}: {say(volts, 'V', 3)} along a rail fed with {say(most, 'V', 2)} cannot be; "
            "write millivolts as 4.1 mV",
            value=value,
        )
    return volts


def _number(value: float | str, unit: str) -> float:
    if isinstance(value, str):
        number, said = si_number(value)
        if said and said != unit:
            raise ReadingError(f"{value!r} is not in {unit}", value=value)
        return number
    return float(value)
