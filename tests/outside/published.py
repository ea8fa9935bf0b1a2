"""Reading the published worked examples: their netlists, faults and expectations (see published_examples.yaml)."""

import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml

ACTIONS = {
    "open": "{} open",
    "short": "{} short",
    "ce_short": "{} collector-emitter short",
    "ds_short": "{} drain-source short",
    "c_open": "{} collector open",
    "ce_open": "{} collector open",
    "ds_open": "{} drain open",
    "e_open": "{} emitter open",
    "b_open": "{} base open",
}
TOKEN = re.compile(r"@(?P<part>\w+)\[(?P<what>\w+)\]|\b(?P<kind>[vi])\((?P<name>[\w.]+)\)")


@cache
def examples() -> tuple[dict[str, Any], ...]:
    """All entries of the collection."""
    text = (Path(__file__).parent / "published_examples.yaml").read_text(encoding="utf-8")
    return tuple(yaml.load(text, Loader=yaml.CSafeLoader))


@dataclass(frozen=True, slots=True)
class Board:
    """A published circuit as a source put it: healthy, or with one of its faults, in one of its states."""

    entry: Mapping[str, Any]
    fault: Mapping[str, Any] | None

    @property
    def name(self) -> str:
        return str(self.entry["id"]) + (f": {self.fault['fault']}" if self.fault else "")

    @property
    def source(self) -> str:
        told = self.entry["source"]
        return f"{told['author']}, {told['title']}, {told['where']}"

    @property
    def netlist(self) -> str:
        """As published; an operational amplifier written as an expression is the kit's AMPLIFIER."""
        return str(self.entry.get("rewritten") or self.entry["netlist"])

    @property
    def all(self) -> Iterable[tuple[str, Mapping[str, Any]]]:
        """Every expectation, those that contradict the laws of circuits too."""
        return dict((self.fault or self.entry).get("expect") or {}).items()

    @property
    def expectations(self) -> Mapping[str, Mapping[str, Any]]:
        """Those that hold: marked conflicts are named in test_published_over_time.py."""
        return {k: v for k, v in self.all if not v.get("conflict")}

    def edits(self) -> tuple[list[str], dict[str, str]]:
        """(faults in the kit's spelling, values changed)."""
        faults, values = [], {}
        rows = dict((self.fault or {}).get("state") or {}) | dict((self.fault or {}).get("edit") or {})
        own = self.entry.get("rewritten_faults") or {}
        for part, action in rows.items():
            if action in own:
                faults.append(own[action])
            elif action in ACTIONS:
                faults.append(ACTIONS[action].format(part))
            else:
                values[part] = str(action).removeprefix("V=")
        return faults, values


def boards(analysis: str) -> Iterator[Board]:
    """Every circuit, healthy and with each published fault, of one kind of analysis."""
    for entry in examples():
        if entry["analysis"]["type"] == analysis:
            yield Board(entry, None)
            yield from (Board(entry, fault) for fault in entry.get("faults") or ())


def evaluated(expression: str, volts: Callable[[str], float], amps: Callable[[str, str], float]) -> float:
    """An expression of the collection (``v(a)-v(b)``, ``-i(v1)``, ``@q1[ic]``) put into numbers."""

    def number(hit: re.Match[str]) -> str:
        if hit["part"]:
            return repr(amps(hit["part"], hit["what"]))
        return repr(volts(hit["name"]) if hit["kind"] == "v" else amps(hit["name"], "i"))

    return float(eval(TOKEN.sub(number, expression), {"__builtins__": {}}, {"abs": abs, "nan": math.nan}))


def holds(found: float, expected: Mapping[str, Any], healthy: float) -> bool:
    """Whether a number meets a published expectation (the collection's own rules for directions)."""
    if "value" in expected:
        slack = expected["tol"] if expected.get("tol_abs") else expected["tol"] * abs(expected["value"])
        return abs(found - expected["value"]) <= slack
    rules: dict[str, bool] = {
        "zero": abs(found) <= expected.get("below", 0.02 * abs(healthy)),
        "same": abs(found - healthy) <= expected.get("rel", 0.05) * abs(healthy),
        "up": abs(found) > abs(healthy),
        "down": abs(found) < abs(healthy),
        "up_large": abs(found) > 1.2 * abs(healthy),
        "down_large": abs(found) < 0.8 * abs(healthy),
        "nonzero": abs(found) > expected.get("above", 0),
        "positive": found > expected.get("above", 0),
        "negative": -found > expected.get("above", 0),
    }
    return rules[expected["direction"]]
