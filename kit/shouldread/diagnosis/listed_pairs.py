"""Pairs of faults that come together, because one brings the other about: listed, never every two of all."""

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from shouldread.faults import Fault
from shouldread.parts import Part


@cache
def _rows() -> tuple[Mapping[str, Any], ...]:
    path = Path(__file__).with_name("listed_pairs.toml")
    return tuple(tomllib.loads(path.read_text(encoding="utf-8"))["pair"])


def listed_pairs(parts: Sequence[Part], singles: Sequence[Fault]) -> tuple[Fault, ...]:
    """Every listed pair among the parts, in the order of the parts; each pair once, named as its row names it.

    The weight of a pair is the smaller of its members' (the one brings the other about).
    """
    by_mode: dict[tuple[str, str], Fault] = {(f.parts[0], f.mode): f for f in singles if len(f.parts) == 1}
    found: dict[frozenset[str], Fault] = {}
    for row in _rows():
        for one in _fitting(row["first"], parts, by_mode):
            for two in _fitting(row["second"], parts, by_mode):
                if one.name != two.name and _meet(one, two, str(row.get("across", "")), parts):
                    members = by_mode[one.name, row["first"]["mode"]], by_mode[two.name, row["second"]["mode"]]
                    found.setdefault(frozenset(m.name for m in members), _pair(members, str(row["source"])))
    return tuple(sorted(found.values(), key=lambda f: [_order(parts, name) for name in f.parts]))


def _order(parts: Sequence[Part], name: str) -> int:
    return next(k for k, part in enumerate(parts) if part.name == name)


def _pair(members: tuple[Fault, ...], source: str) -> Fault:
    names = tuple(dict.fromkeys(n for m in members for n in m.parts))
    name = " + ".join(m.name for m in members)
    return Fault(names, "pair", name=name, prior=min(m.prior for m in members), members=members, source=source)


def _fitting(
    sort: Mapping[str, str], parts: Sequence[Part], by_mode: Mapping[tuple[str, str], Fault]
) -> Iterator[Part]:
    for part in parts:
        detail = str(part.facts.get("detail", ""))
        fits = part.kind == sort["kind"] and sort["detail"] in ("*", detail)
        if fits and (part.name, sort["mode"]) in by_mode:
            yield part


def _meet(one: Part, two: Part, across: str, parts: Sequence[Part]) -> bool:
    """Whether they stand on one node that is not ground; ``across``: and the first lies across such a part."""
    if not (set(one.nodes) & set(two.nodes)) - {"0"}:
        return False
    return not across or any(p.kind == across and set(p.nodes[:2]) == set(one.nodes[:2]) for p in parts)
