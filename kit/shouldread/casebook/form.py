"""The documented form of a case (``case.schema.json``): what events there are, and what each may hold.

A new kind of event, or a new detail of one, is a few lines in that file; everything else follows.
"""

import json
from collections.abc import Callable, Mapping
from functools import cache
from importlib.resources import files

from fastjsonschema import JsonSchemaValueException
from fastjsonschema import compile as compile_schema

from shouldread.errors import RequestError

SCHEMA: Mapping[str, dict[str, object]] = json.loads(
    files("shouldread.casebook").joinpath("case.schema.json").read_text(encoding="utf-8")
)
FORM = SCHEMA["properties"]["form"]["const"]  # type: ignore[index]
PRIVATE = ("customer", "serial")  # left out of everything that colleagues see, unless asked for
_WORD = 60  # characters of a wrong value that a complaint quotes


def _kinds() -> Mapping[str, tuple[str, ...]]:
    event = SCHEMA["definitions"]["event"]
    return {kind: tuple(SCHEMA["definitions"][kind]["properties"]) for kind in event["properties"]["kind"]["enum"]}  # type: ignore[index]


KINDS: Mapping[str, tuple[str, ...]] = _kinds()  # kind -> the keys its body may hold; the first is required


def _told() -> Mapping[str, str]:
    definitions: Mapping[str, Mapping[str, object]] = SCHEMA["definitions"]  # type: ignore[assignment]
    return {kind: str(definitions[kind]["title"]) for kind in KINDS if "title" in definitions[kind]}


TOLD: Mapping[str, str] = _told()  # kind -> its word on the road of a case; what has no word is not told there


def check_body(kind: str, body: Mapping[str, object], where: str = "") -> None:
    """Raises RequestError when a detail has the wrong type or size."""
    _check(_validator(kind), dict(body), where or kind)


def check_case(document: object) -> None:
    """Raises RequestError naming the place in the document (``events[3].body.amps``) and what is wrong there."""
    _check(_validator(""), document, "")
    for number, event in enumerate(document["events"]):  # type: ignore[index]
        check_body(event["kind"], event["body"], f"events[{number}].body")


@cache
def _validator(kind: str) -> Callable[[object], object]:
    """For the body of an event, or for a case (without the bodies: each is looked up, not tried kind by kind)."""
    definitions: dict[str, dict[str, object]] = dict(SCHEMA["definitions"])  # type: ignore[arg-type]
    definitions["event"] = {key: value for key, value in definitions["event"].items() if key != "allOf"}
    schema = {**(definitions[kind] if kind else SCHEMA), "definitions": definitions}
    compiled: Callable[[object], object] = compile_schema(schema)
    return compiled


def _check(validate: Callable[[object], object], data: object, where: str) -> None:
    try:
        validate(data)
    except JsonSchemaValueException as error:
        place = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in error.path[1:])
        rule = str(error.message).removeprefix(str(error.name)).strip()
        said = f"{where}{place}".lstrip(".") or "the case"
        raise RequestError(
            f"{said[:100]} {rule[:200]}, not {_short(error.value)}", value=_short(error.value)
        ) from None


def _short(value: object) -> str:
    said = ascii(value)
    return said if len(said) <= _WORD else said[:_WORD] + "..."
