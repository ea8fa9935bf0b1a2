"""Rail sheet of a circuit: what makes each rail, what enables it and what it waits for, found from the netlist."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from shouldread.circuit import Circuit, Rail, Rails
from shouldread.diagnosis.rail_links import Link, feeds_of, links_of, lives, waits_behind
from shouldread.quantities import Spread
from shouldread.solve import solve

DIGITS = 3  # of a nominal that is taken from the solution


@dataclass(frozen=True, slots=True)
class _Way:
    """From one rail to the next: the parts that make it, and the nodes that enable them."""

    start: str
    end: str
    makers: tuple[str, ...]
    enables: tuple[str, ...]


def rails_of(circuit: Circuit, state: str | None = None) -> Rails:
    """The rail sheet of a circuit: every rail with its nominal, feed, maker, enables and start-up order.

    A rail is a node that a feed or a converter holds, through coils, fuses, shunts, contacts and the like, and that
    something hangs on. Its enables are the node at the maker's enable pin and the rails which that node hangs on.
    Nominal volts: as the file's own ``rails`` say; an input, its source; else solved in ``state`` (the first one),
    to three digits. Inputs have no feed. Raises UnknownNameError for a state that is not there.

    >>> from shouldread.circuit import load_circuit
    >>> print(rails_of(load_circuit("sequenced_rails"))["1V8"])
    1V8 nominal 1.8 V ± 3 % from 5V made by X3 enabled by PG3 and 3V3 order 2
    """
    volts = solve(circuit, state=state).volts
    links = tuple(links_of(circuit))
    level, ways = _found(circuit, links)
    inputs = {name for name, depth in level.items() if depth == 0}
    made = {name: [w for w in ways if w.end == name] for name in level if name not in inputs}
    waits = {name: _waits(circuit, name, level, ways) for name in made}
    orders = {name: _order(name, made, waits) for name in made}
    told = _declared(circuit)
    lines = []
    for name in sorted(level, key=lambda n: (orders.get(n, 0), level[n])):
        stated = told.get(name.casefold())
        nominal = (
            stated.nominal if stated is not None else _nominal(circuit, name, volts, links if name in inputs else ())
        )
        line = Rail(name, nominal) if name in inputs else _made(name, nominal, made[name], waits[name], orders[name])
        lines.append(replace(line, limit=stated.limit) if stated is not None else line)
    return Rails(tuple(lines))


def _made(
    name: str, nominal: Spread | None, ways: list[_Way], waits: Mapping[str, tuple[str, ...]], order: int
) -> Rail:
    sources = tuple(dict.fromkeys(w.start for w in ways))
    alone = ways[0] if len(ways) == 1 else None
    maker = alone.makers[-1] if alone is not None and alone.makers else ""
    enables: tuple[str, ...] = ()
    if alone is not None:
        both = [*alone.enables, *(r for e in alone.enables for r in waits[e])]
        enables = tuple(n for n in dict.fromkeys(both) if n not in sources)
    return Rail(name, nominal, sources, maker, enables, order)


def _found(circuit: Circuit, links: tuple[Link, ...]) -> tuple[dict[str, int], list[_Way]]:
    """Depth of every rail below its feed (0: an input), and the ways that lead from one to the next."""
    living = {node for node in circuit.nodes if node != "0" and lives(circuit, node, links)}
    level: dict[str, int] = {}
    for feed in feeds_of(circuit):
        for way in _ways(feed, living, links, from_feed=True):
            if not _directed(way, links):
                level.setdefault(way.end, 0)
    todo, ways = list(level), list[_Way]()
    while todo:
        here = todo.pop(0)
        for way in _ways(here, living, links):
            back = way.end in _above(here, ways) or level.get(way.end) == 0
            if back or way.end == here or (not _directed(way, links) and level.get(way.end, 1 << 30) <= level[here]):
                continue
            ways.append(way)
            if way.end not in level:
                level[way.end] = level[here] + 1
                todo.append(way.end)
    return level, ways


def _directed(way: _Way, links: tuple[Link, ...]) -> bool:
    return any(link.part in way.makers and link.one_way for link in links)


def _above(name: str, ways: list[_Way]) -> set[str]:
    """A rail and all that feed it."""
    found, todo = {name}, [name]
    while todo:
        here = todo.pop()
        new = {w.start for w in ways if w.end == here} - found
        found |= new
        todo += new
    return found


def _ways(start: str, living: set[str], links: tuple[Link, ...], from_feed: bool = False) -> Iterator[_Way]:
    """Every rail next to a node, across nodes that nothing hangs on."""
    if from_feed and start in living:
        yield _Way(start, start, (), ())
        return
    seen, todo = {start}, [_Way(start, start, (), ())]
    while todo:
        way = todo.pop(0)
        for link in links:
            end = link.other(way.end)
            if end is None or end in seen or (link.by_hand and not from_feed):
                continue
            makers = (*way.makers, link.part) if link.makes else way.makers
            enables = (*way.enables, link.enable) if link.enable else way.enables
            on = _Way(start, end, makers, enables)
            seen.add(end)
            if end in living:
                yield on
            else:
                todo.append(on)


def _waits(circuit: Circuit, name: str, level: Mapping[str, int], ways: list[_Way]) -> dict[str, tuple[str, ...]]:
    """By enable node of a rail: the rails that it hangs on, less those that come after the rail itself."""
    after = {other for other in level if name in _above(other, ways)}
    found = {}
    for node in dict.fromkeys(e for w in ways if w.end == name for e in w.enables):
        found[node] = tuple(r for r in level if r in waits_behind(circuit, node, frozenset(level)) and r not in after)
    return found


def _order(
    name: str,
    made: Mapping[str, list[_Way]],
    waits: Mapping[str, Mapping[str, tuple[str, ...]]],
    on_the_way: tuple[str, ...] = (),
) -> int:
    """Place in the start-up order: one after all that it waits for, and after the first of its feeds."""
    if name not in made or name in on_the_way:
        return 0
    way = (*on_the_way, name)
    first = min(_order(w.start, made, waits, way) for w in made[name])
    return 1 + max([first, *(_order(r, made, waits, way) for rails in waits[name].values() for r in rails)])


def _declared(circuit: Circuit) -> dict[str, Rail]:
    text = str(circuit.facts.get("rails", ""))
    return {rail.name.casefold(): rail for rail in Rails.read(text).lines if rail.nominal is not None}


def _nominal(circuit: Circuit, name: str, volts: Mapping[str, float], links: tuple[Link, ...]) -> Spread | None:
    """Volts of a rail: an input takes those of its source with their spread, else the solution's."""
    for feed, source in feeds_of(circuit).items() if links else ():
        near = {way.end for way in _ways(feed, {name}, links, from_feed=True)}
        if name in near and source is not None:
            return source
    value = volts[name]
    if math.isnan(value) or abs(value) < 0.1:  # not fed in this state
        return None
    return Spread.exact(float(f"{value:.{DIGITS}g}"))
