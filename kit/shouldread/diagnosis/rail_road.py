"""The road at one rail: VIN, EN, OUT, FB, PG of what makes it, the first of them that is wrong, and why."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from shouldread.diagnosis.cautions import caution_rule
from shouldread.diagnosis.rail_judge import AS_IT_SHOULD, TOO_HIGH, TOO_LOW, Interval
from shouldread.diagnosis.rules_of_thumb import rule, source
from shouldread.quantities import say

ROLES = ("VIN", "EN", "OUT", "FB", "PG")
OFF_FIRST = caution_rule("dead board").say
HIGH_FIRST = "too high: switch off first, what it feeds may be damaged; read on only at a low current limit"


@dataclass(frozen=True, slots=True)
class RailStep:
    """One next place: where, at which setting and state, why, and the caution that goes with it."""

    at: str
    why: str
    setting: str = "volts"
    state: str = ""
    caution: str = ""

    @property
    def place(self) -> str:
        """As it is typed in front of a value: ``EN``, ``EN ohms``, ``12V to U3.VIN``."""
        return self.at if self.setting == "volts" else f"{self.at} {self.setting}"

    def __str__(self) -> str:
        words = f"{self.place}{' cold' if self.state == 'cold' else ''}: {self.why}"
        return f"{words} ({self.caution})" if self.caution else words


@dataclass(frozen=True, slots=True)
class Road:
    """What stands at a rail: causes that cannot be told apart yet, next places, what was assumed."""

    causes: tuple[str, ...] = ()
    steps: tuple[RailStep, ...] = ()
    assumed: tuple[str, ...] = ()
    blamed: str = ""  # the role that is wrong, "" while none is


@dataclass(frozen=True, slots=True)
class Stage:
    """A rail and what is known of its converter: where it takes its feed, what commands it, what was read.

    ``read`` holds every reading in volts by place; ``verdict`` is the rail's own ("" when it is not read).
    """

    rail: str
    nominal: float | None
    feed: str
    maker: str
    enables: tuple[str, ...]
    verdict: str
    feed_verdict: str
    read: Mapping[str, Interval] = field(default_factory=dict)

    def pin(self, role: str) -> str:
        """How a pin of the converter is called: ``U3.VIN``, or bare ``VIN`` while its maker is unknown."""
        return f"{self.maker}.{role}" if self.maker else role

    def at(self, role: str) -> Interval | None:
        """What was read at a pin, under either name."""
        return self.read.get(self.pin(role), self.read.get(role))

    @property
    def commands(self) -> tuple[str, ...]:
        """The enable points: those the sheet names, else the pin."""
        return self.enables or (self.pin("EN"),)

    def command_read(self, name: str) -> Interval | None:
        """What was read at an enable point; one alone may be called EN."""
        return self.read.get(name) or (self.at("EN") if len(self.commands) == 1 else None)


def walk_stage(stage: Stage) -> Road:
    """Go VIN, EN, OUT, FB, PG and stop at the first that is wrong; what is unread comes next, in that order."""
    for step in (_vin, _en, _out) if stage.verdict != TOO_HIGH else ():
        road = step(stage)
        if road is not None:
            return road
    return _inside(stage)


def _remaining(stage: Stage, start: str) -> tuple[RailStep, ...]:
    """The unread places from one role on, in the order of the walk."""
    words = {
        "VIN": f"does {stage.maker or 'the converter'} get its feed?",
        "EN": "is it commanded?",
        "OUT": "does it give anything on its own side of the coil or shunt?",
        "FB": "does its feedback see the output?",
        "PG": "what does it say itself?",
    }
    steps: list[RailStep] = []
    for role in ROLES[ROLES.index(start) :]:
        if role == "VIN" and stage.feed and not stage.feed_verdict and stage.at("VIN") is None:
            steps.append(RailStep(stage.feed, f"it feeds {stage.rail}: is it there?"))
        if role == "EN":
            steps += [RailStep(n, words[role]) for n in stage.commands if stage.command_read(n) is None]
        elif role == "OUT" and not stage.verdict:
            steps.append(RailStep(stage.rail, "the rail itself"))
        elif stage.at(role) is None:
            steps.append(RailStep(stage.pin(role), words[role]))
    return tuple(steps)


def _vin(stage: Stage) -> Road | None:
    read = stage.at("VIN")
    if read is None:
        feed_wrong = stage.feed_verdict in (TOO_LOW, TOO_HIGH)
        if feed_wrong or stage.at("EN") or any(stage.command_read(n) for n in stage.commands):
            return None
        return Road(_unsure(stage), _remaining(stage, "VIN"))
    if not _missing(stage, read):
        return None
    pin, feed = stage.pin("VIN"), stage.feed or "its feed"
    if stage.feed_verdict == AS_IT_SHOULD:
        cause = f"a series part between {feed} and {pin} open (fuse, bead, shunt, coil) or its joint"
        across = RailStep(f"{feed} to {pin}", "what is lost between them: then both sides of each series part")
        return Road((cause,), (across,), (), "VIN")
    causes = (f"{feed} is not there", f"a series part between {feed} and {pin} open or its joint")
    steps = () if stage.feed_verdict or not stage.feed else (RailStep(feed, "go upstream: is it there?"),)
    cold = RailStep(pin, f"is {pin} held down?", "ohms", "cold", OFF_FIRST)
    return Road((*causes, f"{pin} shorted to ground"), (*steps, cold), (), "VIN")


def _missing(stage: Stage, read: Interval) -> bool:
    """No feed at VIN: below a dead line's volts, or below 90 % of the rail that should stand there."""
    feed = stage.read.get(stage.feed) if stage.feed else None
    if feed is not None and stage.feed_verdict == AS_IT_SHOULD:
        return read.high < 0.9 * feed.low
    return read.high < rule("volts", "dead")


def _en(stage: Stage) -> Road | None:
    low, high = rule("enable", "low"), rule("enable", "high")
    assumed = (
        f"enable threshold {say(rule('enable', 'threshold'), 'V', 2)} assumed "
        f"({say(low, 'V', 2)} to {say(high, 'V', 2)}, {source('enable')}): look it up for this converter",
    )
    unread = False
    for name in stage.commands:
        read = stage.command_read(name)
        if read is None:
            unread = True
        elif read.high < low:
            return _not_commanded(stage, name, assumed)
        elif read.low < high:
            steps = (RailStep(name, f"{name} lies at the assumed threshold: read it with more digits"),)
            return Road(_unsure(stage), (*steps, *_remaining(stage, "OUT")), assumed, "")
    if unread:
        return Road(_unsure(stage), _remaining(stage, "EN"), assumed)
    return None


def _not_commanded(stage: Stage, name: str, assumed: tuple[str, ...]) -> Road:
    maker = stage.maker or "the converter"
    causes = (
        f"{name} pulled low upstream (a transistor or another chip holds it)",
        f"no feed to {name} (its pull-up, divider or the rail behind it)",
        f"EN pin of {maker} shorted inside",
    )
    feed = "FEED" if "FEED" not in stage.read else f"{name}.FEED"
    steps = (
        RailStep(feed, f"go upstream: the point that feeds {name}, on the far side of its series part"),
        RailStep(name, f"is {name} held down inside {maker}?", "ohms", "cold", OFF_FIRST),
    )
    return Road(causes, steps, assumed, "EN")


def _out(stage: Stage) -> Road | None:
    out = stage.at("OUT")
    if stage.verdict != TOO_LOW or out is None or stage.nominal is None:
        return None
    if out.low < 0.9 * stage.nominal:
        return None
    pin = stage.pin("OUT")
    causes = (f"a series part between {pin} and {stage.rail} open (coil, shunt, bead) or its joint",)
    across = RailStep(f"{pin} to {stage.rail}", "what is lost between them: both sides of each series part")
    return Road(causes, (across,), (), "OUT")


def _inside(stage: Stage) -> Road:
    """VIN and EN stand, the rail is wrong: the converter, its feedback, or what hangs on the rail."""
    maker, rail = stage.maker or "the converter", stage.rail
    remaining = _remaining(stage, "OUT")
    seen = stage.at("FB")
    regulates = seen is not None and seen.low >= rule("feedback", "low")
    assumed: tuple[str, ...] = ()
    if seen is not None:
        low, high = (say(rule("feedback", k), "V", 2) for k in ("low", "high"))
        assumed = (f"feedback taken to stand at {low} to {high} when it regulates ({source('feedback')})",)
    if stage.verdict == TOO_HIGH:
        causes: tuple[str, ...] = (f"feedback divider of {rail} altered or open", f"{maker} input to output short")
        return Road(causes, _cautious(remaining), assumed, "OUT")
    if stage.verdict != TOO_LOW:
        return Road((), remaining, assumed)
    if regulates:
        return Road((f"feedback divider of {rail} altered: its FB sees enough",), remaining, assumed, "FB")
    cold = RailStep(rail, f"is {rail} held down by what hangs on it?", "ohms", "cold", OFF_FIRST)
    causes = (
        f"{maker} gives nothing (the part, its joints, its coil)",
        f"{rail} held down by a short behind it",
    )
    return Road(causes, (*remaining, cold), assumed, "OUT")


def _cautious(steps: Sequence[RailStep]) -> tuple[RailStep, ...]:
    return tuple(RailStep(s.at, s.why, s.setting, s.state, HIGH_FIRST) for s in steps)


def _unsure(stage: Stage) -> tuple[str, ...]:
    """The group before anything at the converter was read."""
    if stage.verdict not in (TOO_LOW, TOO_HIGH):
        return ()
    maker = stage.maker or "its converter"
    if stage.verdict == TOO_HIGH:
        return (f"feedback divider of {stage.rail} altered or open", f"{maker} input to output short")
    return (
        f"no feed to {maker}",
        f"{maker} not commanded",
        f"{maker} gives nothing",
        f"{stage.rail} held down by a short behind it",
    )
