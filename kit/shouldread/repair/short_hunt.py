"""A short on a rail with many parts: how to inject, what the copper drops, and what the walk says."""

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass

from shouldread.diagnosis import caution_rule
from shouldread.errors import KitError, ReadingError, RequestError
from shouldread.quantities import say, si_number
from shouldread.repair.short_walk import COUNT, SQUARE, STEP, Walk, Walked, found_by, read_walk

SEEN = 0.15  # W a camera or a finger finds on a small part (common practice, no source)
HEAT = 3.0  # W in the fault that a board still stands for a minute (common practice, no source)
MOST_AMPS = 10.0  # of an injection: traces are fuses above it (common practice, no source)
FIRST = 1.0  # V of the first injection, below every junction's path but the lowest rails'
UNKNOWN = 0.5  # V at most into a rail whose nominal nobody knows
JUNCTION = (0.45, 0.95)  # V: a flat rail in this span at the limit is a path through silicon
HEALTHY = 0.7  # of what a good board reads: above it this rail is not short
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

    @property
    def to_ground(self) -> bool:
        """Below 0.3 V a handheld stays on its 0.1 mV range, and the drop is a fair part of what it shows."""
        return self.rail_volts < 0.3

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
        rows = [f"Short on {self.rail}", f"  {self.finding}", f"  First: {self.split}"]
        if self.plan:
            amps = say(self.plan[0].amps, "A", 2)
            rows += ["  Injection:", *(f"    {n}. {step}" for n, step in enumerate(self.plan, 1))]
            rows += [f"  Expect {volts * 1e3:.2g} mV per {what} at {amps}" for what, volts in self.expected]
            rows += ["  Stop rules:", *(f"    - {rule}" for rule in self.stop_rules)]
        return "\n".join([*rows, f"  Caution: {self.caution}"])


def hunt_short(
    *,
    rail: str,
    nominal: float | str | None = None,
    ohms: float | str,
    parts: Iterable[str] | None = (),
    walk: Walk = (),
    observations: str | Iterable[str] = (),
    good_ohms: float | str | None = None,
    volts: float | str | None = None,
    limit: float | str = 1.0,
) -> ShortHunt:
    """How to find which part shorts a rail, and what the walk and the warm spots say so far.

    ``nominal`` V (None or ``?``: nobody knows) and ``ohms`` of the rail (``good_ohms``: what a good board reads);
    ``parts`` on it in order along the copper; ``walk`` [(place, reading), ...] with the black lead on the rail at the
    injection point, in order along the rail, or against ground where the plan says so, or in mΩ of a milliohm meter;
    ``volts`` that the rail shows while injecting. Raises ReadingError for a reading that cannot be one, RequestError
    for a nominal, ohms or limit that make no sense.

    >>> walk = [("FB1", "0"), ("C3", "4.1m"), ("C17", "7.0m"), ("C18", "7.0m")]
    >>> hunt_short(rail="3V3", nominal=3.3, ohms=1.2, good_ohms=340, walk=walk).nearest
    'C17'
    """
    known = None if nominal is None or str(nominal).strip() in ("", "?") else _positive(nominal, "V", "nominal volts")
    flows, most = _ohms(rail, ohms), _positive(limit, "A", "the limit")
    if not rail.strip() or most > MOST_AMPS:
        raise RequestError(
            f"limit {say(most, 'A')}: above {say(MOST_AMPS, 'A')} traces are fuses; write limit 1 A, 3 A at most"
            if rail.strip()
            else "which rail? write its name, such as 3V3",
            value=limit,
        )
    good = None if good_ohms is None else _positive(good_ohms, "Ω", "ohms of a good board")
    names = tuple(parts.replace(",", " ").split()) if isinstance(parts, str) else tuple(parts or ())
    seen = tuple(re.split(r"[;\n]", observations) if isinstance(observations, str) else observations)
    plan = _plan(known, flows, most, walked=True)
    walked = read_walk(walk, max(step.volts for step in plan), to_ground=plan[0].to_ground)
    shown = _number(volts, "V") if volts is not None else _told_volts(seen)
    junction = _is_junction(walked, shown, seen, plan[0])
    hot = tuple(hit.group(1) for text in seen if (hit := HOT.fullmatch(text.strip())))
    dead = _useless(flows, good, plan)
    nearest, between, finding = _finding(walked, hot, junction, plan[0], dead)
    unread = bool(walked.values) and nearest is None
    return ShortHunt(
        rail,
        () if junction or dead else _plan(known, flows, most, walked=unread),
        _split(names, flows, good),
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


def _plan(nominal: float | None, ohms: float, limit: float, *, walked: bool) -> tuple[Injection, ...]:
    """First below 1 V and at the limit; then, when nothing shows, as far as the nominal and 3 W in the fault allow."""
    ceiling = 0.9 * nominal if nominal is not None else UNKNOWN
    unknown = f" Its nominal is not known: not above {say(UNKNOWN, 'V')}." if nominal is None else ""
    first = _injection(min(FIRST, ceiling), limit, ohms, f"Start here.{unknown}")
    steps = [first]
    small = STEP * SQUARE * first.amps < 5 * COUNT
    allowed = min(ceiling, math.sqrt(HEAT * ohms)) if ohms > 0.3 else ceiling
    more = _injection(max(allowed, first.volts), max(limit, 3.0), ohms, "")
    if (small or walked or first.watts < SEEN) and more.amps > 1.05 * first.amps:
        cold = f"{say(first.watts, 'W', 2)} warms nothing that a camera sees."
        why = cold if first.watts < SEEN else "the drop along the copper is too small to read."
        steps.append(_injection(more.volts, more.limit, ohms, f"Only if the first shows nothing: {why}"))
    return tuple(steps)


def _injection(volts: float, limit: float, ohms: float, why: str) -> Injection:
    amps = min(limit, volts / ohms) if ohms > 0 else limit
    rail = min(volts, amps * ohms)
    made = Injection(volts, limit, amps, amps * rail, rail, "", why)
    leads = (
        "walk red along the rail, black on ground: the lowest reading is nearest"
        if made.to_ground
        else "black lead on the rail at the injection point, walk red along the rail"
    )
    return Injection(volts, limit, amps, amps * rail, rail, leads, why)


def _useless(ohms: float, good: float | None, plan: tuple[Injection, ...]) -> str:
    """Why there is nothing to inject for; nothing where there is."""
    said = say(ohms, "Ω", 2)
    if good is not None and ohms >= HEALTHY * good:
        return f"{said} is what a good board reads ({say(good, 'Ω', 2)}): no short here, look at what feeds it"
    last = plan[-1]
    if last.watts < SEEN and STEP * SQUARE * last.amps < 5 * COUNT:
        return (
            f"{said} is a leak that injecting does not find: {say(last.volts, 'V', 2)} give {say(last.watts, 'W', 2)}, "
            "nothing warms, and the copper drops less than a meter shows. Split the rail, read ohms, lift one by one"
        )
    return ""


def _split(names: tuple[str, ...], ohms: float, good: float | None) -> str:
    splitters = [n for n in names if re.match(rf"(?:{'|'.join(SPLITTERS)})\d", n)]
    if not splitters:
        return "split the rail where a bead, coil, fuse or link feeds a part of it, and read ohms on both sides"
    other = f", > {say(0.9 * good, 'Ω', 2)} on the other" if good is not None else ""
    return f"lift {splitters[0]} and read ohms on both sides: {say(ohms, 'Ω', 2)} stays on the shorted one{other}"


def _finding(
    walk: Walked, hot: tuple[str, ...], junction: bool, first: Injection, dead: str
) -> tuple[str | None, tuple[str, ...], str]:
    """(nearest place, the places that cannot be told from it, the sentence)."""
    if junction:
        words = "the rail stands flat at a junction's volts and nothing warms: a path through a chip, stop injecting"
        return None, (), words
    if hot:
        return hot[0], hot, f"{hot[0]} is the warm or damaged one: take it off and read the rail's ohms again"
    if dead:
        return None, walk.places, dead
    if len(walk.values) < 2:
        return None, (), "no single part can be named from ohms alone: split, inject, walk the millivolts"
    nearest, between, words = found_by(walk, first.amps)
    return nearest, between, words + (f" ({walk.note})" if walk.note else "")


def _is_junction(walk: Walked, shown: float | None, seen: tuple[str, ...], first: Injection) -> bool:
    """A flat 0.5 to 0.9 V at the limit with nothing warm, unless that is just what the rail's ohms give."""
    warm = any(re.search(r"\b(hot|warm|burnt|smok)", t) and not t.strip().startswith("nothing") for t in seen)
    values = walk.values if walk.unit == "V" else ()
    flat = len(values) >= 2 and max(values) - min(values) < 0.05 * max(values)
    level = shown if shown is not None else (sum(values) / len(values) if flat else None)
    if level is None or warm or not JUNCTION[0] <= level <= JUNCTION[1]:
        return False
    return first.amps < first.limit or abs(level - first.rail_volts) > 0.1 * first.rail_volts


def _told_volts(seen: tuple[str, ...]) -> float | None:
    """Volts named in an observation such as ``flat at 0.7 V at the limit``."""
    for text in seen:
        if "limit" in text and (hit := re.search(r"(\d+(?:[.,]\d+)?)\s*(m?V)\b", text)):
            return _number(hit.group(0), "V")
    return None


def _ohms(rail: str, ohms: float | str) -> float:
    """Ohms of a shorted rail. Raises RequestError for open ones and for none at all."""
    if isinstance(ohms, str) and ohms.strip().casefold() in ("ol", "open", "inf"):
        ohms = math.inf
    told = _number(ohms, "Ω")
    if not 0 <= told < math.inf:
        raise RequestError(
            f"{rail} reads {'open' if told == math.inf else told}: that is no short. Write its ohms to ground, such as 1.2",
            value=ohms,
        )
    return told


def _positive(value: float | str, unit: str, name: str) -> float:
    number = _number(value, unit)
    if not 0 < number < math.inf:
        raise RequestError(f"{name}: {value} must be a figure above zero", value=value)
    return number


def _number(value: float | str, unit: str) -> float:
    try:
        number, said = si_number(value) if isinstance(value, str) else (float(value), "")
    except KitError:
        raise
    except (TypeError, ValueError) as error:
        raise ReadingError(f"{value!r} is no figure; write a number in {unit}", value=value) from error
    if said and said != unit:
        raise ReadingError(f"{value!r} is not in {unit}", value=value)
    return number
