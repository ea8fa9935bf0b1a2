"""The documented form of a case (``case.schema.json``): what events there are, and what each may hold.

A new kind of event, or a new detail of one, is a few lines in that file; everything else follows.
"""

import json
from collections.abc import Iterable, Mapping
from importlib.resources import files

from jsonschema import Draft202012Validator, ValidationError
from jsonschema.exceptions import best_match

from shouldread.errors import RequestError

SCHEMA: Mapping[str, dict[str, object]] = json.loads(
    files("shouldread.casebook").joinpath("case.schema.json").read_text(encoding="utf-8")
)
FORM = SCHEMA["properties"]["form"]["const"]  # type: ignore[index]
PRIVATE = ("customer", "serial")  # left out of everything that colleagues see, unless asked for
_WORD = 60  # characters of a wrong value that a complaint quotes


def _kinds() -> Mapping[str, tuple[str, ...]]:
    event = SCHEMA["$defs"]["event"]
    return {kind: tuple(SCHEMA["$defs"][kind]["properties"]) for kind in event["properties"]["kind"]["enum"]}  # type: ignore[index]


KINDS: Mapping[str, tuple[str, ...]] = _kinds()  # kind -> the keys its body may hold; the first is required
_CASE = Draft202012Validator(SCHEMA)
_SHELL = Draft202012Validator(  # without what each kind of event may hold: that is looked up, not tried kind by kind
    {**SCHEMA, "$defs": {**SCHEMA["$defs"], "event": {**SCHEMA["$defs"]["event"], "allOf": []}}}  # type: ignore[dict-item]
)
_BODY = {kind: _CASE.evolve(schema={"$ref": f"#/$defs/{kind}"}) for kind in KINDS}


def check_body(kind: str, body: Mapping[str, object]) -> None:
    """Raises RequestError when a detail has the wrong type or size."""
    _complain(_BODY[kind].iter_errors(dict(body)), kind)


def check_case(document: object) -> None:
    """Raises RequestError naming the place in the document (``events[3].body.amps``) and what is wrong there."""
    _complain(_SHELL.iter_errors(document), "")
    for number, event in enumerate(document["events"]):  # type: ignore[index]
        _complain(_BODY[event["kind"]].iter_errors(event["body"]), f"events[{number}].body")


def _complain(errors: Iterable[ValidationError], where: str) -> None:
    worst = best_match(errors)
    if worst is None:
        return
    place = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in worst.absolute_path)
    said = worst.message.replace(repr(worst.instance), _short(worst.instance), 1)
    raise RequestError(f"{(where + place).lstrip('.') or 'the case'}: {said[:300]}", value=_short(worst.instance))


def _short(value: object) -> str:
    said = ascii(value)
    return said if len(said) <= _WORD else said[:_WORD] + "..."
