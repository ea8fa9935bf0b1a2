"""``.param`` and ``.model`` lines."""

import re
from collections.abc import Mapping

from shouldread.circuit.arithmetic import evaluate
from shouldread.circuit.lines import Line
from shouldread.circuit.scope import Scope
from shouldread.errors import QuantityError, nearest_name
from shouldread.parts import KINDS, Model

GIVEN = re.compile(r"(\w+)\s*=\s*(\{[^{}]*\}|'[^']*'|[^\s={}']+)")


def read_params(line: Line, scope: Scope, overrides: Mapping[str, float]) -> None:
    """``.param a=1k b={a*2}``; names given by with_values stand before the file's."""
    text = line.text.partition(" ")[2]
    if rest := GIVEN.sub("", text).strip():
        scope.complain(line.number, f".param: {rest!r} is not read; write .param name=value or name={{arithmetic}}")
    for key, value in GIVEN.findall(text):
        try:
            plain = value[1:-1] if value[0] in "{'" else value
            scope.params[key.lower()] = overrides.get(key.lower(), evaluate(plain, scope.params))
        except QuantityError as error:
            scope.complain(line.number, f".param {key}: {error.message}")


def read_model(line: Line, scope: Scope) -> None:
    """``.model NAME TYPE(KEY=value ...)``."""
    hit = re.fullmatch(r"\.model\s+(\S+)\s+([A-Za-z]\w*)\s*\(?(.*?)\)?\s*", line.text, re.IGNORECASE | re.DOTALL)
    types = {t: kind for kind in KINDS.values() for t in kind.model_types}
    if hit is None:
        scope.complain(line.number, "write .model NAME TYPE(KEY=value ...), TYPE one of " + " ".join(types))
        return
    name, type_, rest = hit[1], hit[2].upper(), hit[3]
    if type_ not in types:
        near = nearest_name(type_, types)
        scope.complain(
            line.number,
            f".model {name}: type {hit[2]} is not read"
            + (f"; nearest: {near}" if near else "")
            + f"; known: {' '.join(types)}",
        )
        return
    kind, params = types[type_], {}
    for key, value in re.findall(r"(\w+)\s*=\s*(\{[^{}]*\}|'[^']*'|[^\s=,()]+)", rest):
        upper = key.upper()
        number = scope.number(value, line.number)
        if upper in kind.model_params and number is not None:
            params[upper] = number
        elif upper == "LEVEL" and number not in (1.0, None):
            scope.complain(line.number, f".model {name}: only level 1 is read")
        elif upper in kind.ignored_params:
            scope.notes.append(f"line {line.number}: {upper} of {name} does nothing in direct current")
        elif upper not in kind.model_params and upper != "LEVEL":
            near = nearest_name(upper, kind.model_params)
            scope.complain(
                line.number, f".model {name}: there is no parameter {key}" + (f"; nearest: {near}" if near else "")
            )
    left = re.sub(r"(\w+)\s*=\s*(\{[^{}]*\}|'[^']*'|[^\s=,()]+)", "", rest).strip(" ,()\t")
    if left:
        scope.complain(line.number, f".model {name}: {left.split()[0]!r} is not KEY=value")
    scope.models[name.lower()] = Model(name, type_, params, line.number)
