"""What feeds what: the rails of a sheet and those invented while reading, in the order they come up."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from shouldread.circuit import Rail, Rails
from shouldread.diagnosis.rail_judge import AS_IT_SHOULD, Interval, judge
from shouldread.diagnosis.rail_road import ROLES
from shouldread.diagnosis.rules_of_thumb import rule, volts_in_name


def volts_of(rail: Rail) -> float | None:
    """Nominal volts: as said, else as the rail's name tells."""
    return rail.nominal.nominal if rail.nominal is not None else volts_in_name(rail.name)


@dataclass(frozen=True, slots=True)
class Chain:
    """Rails in the order they come up, and which of them have a fed input behind them."""

    lines: tuple[Rail, ...]
    fed: frozenset[str]
    declared: bool  # whether any line says what feeds or enables it

    def named(self, name: str) -> Rail | None:
        """The rail of that name."""
        return next((line for line in self.lines if line.name == name), None)

    def waits_for(self, name: str) -> frozenset[str]:
        """Every rail that cannot come up without this one (all its sources, or one of its enables, need it)."""
        dead = {name}
        for _ in self.lines:
            for line in self.lines:
                starved = bool(line.sources) and all(s in dead for s in line.sources)
                if starved or any(e in dead for e in line.enables):
                    dead.add(line.name)
        return frozenset(dead - {name})


def chain_of(rails: Rails, read: Mapping[str, Interval], fed: Iterable[str] | None, setting: str) -> Chain:
    """The chain of a sheet with what was read: unknown places become rails, pins of converters do not."""
    lines = list(rails)
    known = {line.name for line in lines}
    makers = {line.maker for line in lines if line.maker}
    pins = {f"{maker}.{role}" for maker in makers for role in ROLES} | set(ROLES)
    commands = {name for line in lines for name in line.enables}
    feeds = {name for line in lines for name in line.sources}
    for place in read:
        is_point = place in pins or place in commands or "." in place or place == "FEED"
        if place in known:
            continue
        if place in feeds:
            lines.insert(0, Rail(place))
        elif not is_point:
            lines.append(Rail(place))
    live = {name for name, value in read.items() if value.low > rule("volts", "dead")} if setting == "volts" else set()
    roots = _roots(lines, known, feeds, live, fed)
    if fed is None and setting == "volts":
        roots |= _fed_by_their_reading(lines, read)
    declared = any(line.sources or line.enables for line in lines)
    return Chain(tuple(lines), _fed(tuple(lines), roots), declared)


def _roots(lines: list[Rail], known: set[str], feeds: set[str], live: set[str], fed: Iterable[str] | None) -> set[str]:
    """Inputs that are fed: those named, else every rail without a source (one only named as a source if live)."""
    if fed is not None:
        return set(fed)
    return {
        line.name
        for line in lines
        if not line.sources and (line.name in known or line.name not in feeds or line.name in live)
    }


def _fed_by_their_reading(lines: list[Rail], read: Mapping[str, Interval]) -> set[str]:
    """Rails whose source is not on the sheet, but which read as they should: something feeds them."""
    told = {line.name for line in lines}
    return {
        line.name
        for line in lines
        if line.sources
        and not told.intersection(line.sources)
        and line.name in read
        and judge(line.name, line.nominal, read[line.name], None, "volts").verdict == AS_IT_SHOULD
    }


def _fed(lines: tuple[Rail, ...], roots: set[str]) -> frozenset[str]:
    fed = set(roots)
    for _ in lines:
        fed |= {line.name for line in lines if any(s in fed for s in line.sources)}
    return frozenset(fed)
