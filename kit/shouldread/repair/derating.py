"""The rules of derating.toml: what a part must be rated for, and which part a rule is about."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from shouldread.parts import Part


@cache
def rules() -> Mapping[str, Any]:
    """derating.toml as data."""
    return tomllib.loads((files("shouldread.repair") / "derating.toml").read_text(encoding="utf-8"))


def fits(row: Mapping[str, Any], part: Part) -> bool:
    """Whether a rule is about a part: by its kind, its variety and its polarity."""
    model = part.model.type if part.model is not None else "NPN" if part.kind == "Q" else "NMOS"
    details, types = row.get("details"), row.get("types")
    detail = str(part.facts.get("detail", ""))
    if detail in row.get("but", ()):
        return False
    return part.kind in row["kinds"] and (details is None or detail in details) and (types is None or model in types)


def rated_for(part: Part) -> tuple[str, ...]:
    """Which ratings a part of its sort has (watts, volts, amps); none for what only stands for something else."""
    if str(part.facts.get("detail", "")) in rules()["unrated"]["details"]:
        return ()
    return tuple(dict.fromkeys(row["what"] for row in rules()["rule"] if fits(row, part)))
