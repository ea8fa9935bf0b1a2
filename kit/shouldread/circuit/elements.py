"""One element line becomes one Part; everything wrong with it becomes a complaint with its line number."""

import re
from collections.abc import Mapping

from shouldread.circuit.lines import Line
from shouldread.circuit.scope import LONGEST_NAME, Scope, named
from shouldread.errors import nearest_name
from shouldread.parts import KINDS, Model, Part
from shouldread.quantities import Spread

REFUSED: Mapping[str, str] = {
    "F": "a current-controlled source is not read; write a G (volts-controlled) with a sense resistor",
    "H": "a current-controlled source is not read; write an E (volts-controlled) with a sense resistor",
    "K": "coupled coils do nothing in direct current; leave the line out",
    "B": "a behavioural source is not read; compose the part of R D Q M E G S, or use a block of models/",
    "J": "a junction FET is not read; write an M (level 1) with its threshold",
    "T": "a transmission line is a wire in direct current; join its nodes",
    "U": "a distributed line is not read; write a resistor",
    "W": "a current-controlled switch is not read; write an S with a sense resistor",
    "A": "a code model is not read; compose the part of R D Q M E G S",
    "O": "a lossy line is not read; write a resistor",
    "Z": "a MESFET is not read",
}
NODES = {"R": 2, "C": 2, "L": 2, "V": 2, "I": 2, "D": 2, "S": 4, "E": 4, "G": 4}

NOT_LINEAR = re.compile(r"(?:value|poly|table|laplace)\b(?!\.)", re.IGNORECASE)


def read_element(line: Line, scope: Scope) -> Part | None:
    """The part that a line describes, or None after a complaint."""
    name, words = line.words[0], list(line.words[1:])
    letter = name[0].upper()
    if letter == "B" and scope.rows_allowed:
        return _converter_row(line, scope)
    if letter not in KINDS or letter == "B":
        why = REFUSED.get(letter, "no such sort of part; the first letter says it: R C L V I D Q M E G S X")
        scope.complain(line.number, f"{name}: {why}")
        return None
    if not named(name):
        scope.complain(line.number, f"{name!r} is not a part name: letters, digits and _ only, at most {LONGEST_NAME}")
        return None
    readers = {
        "Q": _transistor,
        "M": _transistor,
        "D": _transistor,
        "S": _switch,
        "X": _block,
        "V": _source,
        "I": _source,
    }
    before = len(scope.complaints)
    part = readers.get(letter, _plain)(name, letter, words, line, scope)
    return part if len(scope.complaints) == before else None


def _nodes(name: str, count: int, words: list[str], line: Line, scope: Scope, then: str) -> tuple[str, ...] | None:
    if len(words) < count + (1 if then else 0) or any(w in "=(){}" for w in words[:count]):
        scope.complain(
            line.number,
            f"{name} needs {count} nodes"
            + (f" and {then}" if then else "")
            + f": {name} "
            + " ".join(f"node{i + 1}" for i in range(count))
            + (f" {then.split()[-1]}" if then else ""),
        )
        return None
    return tuple(scope.node(w, line.number) for w in words[:count])


def _plain(name: str, letter: str, words: list[str], line: Line, scope: Scope) -> Part | None:
    """R C L E G: nodes and a value."""
    if letter in "EG" and any(NOT_LINEAR.match(word) for word in words[2:5]):
        scope.complain(line.number, f"{name}: only a linear gain is read: {name} out+ out- in+ in- gain")
        return None
    nodes = _nodes(name, NODES[letter], words, line, scope, "a value")
    if nodes is None:
        return None
    rest = words[NODES[letter] :]
    value = scope.number(rest[0], line.number)
    if value is None:
        return None
    if letter == "R" and re.fullmatch(r"[\d.]+M\d*(?:ohm|Ω)?", rest[0]):
        scope.notes.append(f"line {line.number}: {name} {rest[0]} is milliohm in SPICE; write Meg for megohm")
    if (letter in "RCL" and value < 0) or (letter == "R" and value == 0):
        scope.complain(
            line.number,
            f"{name}: {rest[0]} is not possible for a part; "
            + ("write 1m for a link" if value == 0 else "write it without the minus"),
        )
        return None
    _extra(name, rest[1:], line, scope, allowed=("ic",))
    return Part(name, letter, nodes, value=Spread.exact(value), line=line.number)


def _extra(name: str, rest: list[str], line: Line, scope: Scope, allowed: tuple[str, ...]) -> dict[str, float]:
    """``key=value`` pairs; anything else is a complaint."""
    found: dict[str, float] = {}
    at = 0
    while at < len(rest):
        if at + 2 < len(rest) + 0 and rest[at + 1] == "=":
            key = rest[at].lower()
            value = scope.number(rest[at + 2], line.number)
            if key not in allowed:
                near = nearest_name(key, allowed)
                scope.complain(
                    line.number, f"{name}: {rest[at]}= is not read here" + (f"; nearest: {near}" if near else "")
                )
            elif value is not None:
                found[key] = value
            at += 3
        else:
            scope.complain(
                line.number, f"{name}: {rest[at]!r} is not expected; write {name} nodes value, then key=value"
            )
            return found
    return found


def _source(name: str, letter: str, words: list[str], line: Line, scope: Scope) -> Part | None:
    """V and I: ``[DC] value``, PULSE/SIN (kept for waveforms; else their value at t = 0), AC ignored."""
    nodes = _nodes(name, 2, words, line, scope, "")
    if nodes is None:
        return None
    rest, value, at = words[2:], None, 0
    facts: dict[str, object] = {}
    while at < len(rest):
        word = rest[at].lower()
        if word == "dc" and at + 1 < len(rest):
            value, at = scope.number(rest[at + 1], line.number), at + 2
        elif word == "ac":
            at += 1
            while at < len(rest) and re.fullmatch(r"[-+]?[\d.]\S*", rest[at]):
                at += 1
        elif word in ("pulse", "sin"):
            shape = [scope.number(w, line.number) for w in _SHAPE.findall(rest[at + 1] if at + 1 < len(rest) else "")]
            if not shape:
                scope.complain(line.number, f"{name}: {word.upper()}(...) needs its values")
                return None
            facts["wave"] = (word.upper(), tuple(v for v in shape if v is not None))
            value = shape[0] if value is None else value
            at += 2
        elif value is None and word not in ("=",):
            value, at = scope.number(rest[at], line.number), at + 1
        else:
            scope.complain(line.number, f"{name}: {rest[at]!r} is not read; write {name} plus minus value")
            return None
    return Part(name, letter, nodes, value=Spread.exact(value or 0.0), facts=facts, line=line.number)


_SHAPE = re.compile(r"\{[^{}]*\}|[^\s,(){}]+")  # the numbers of PULSE(...) and SIN(...)


def _model(name: str, word: str, letter: str, line: Line, scope: Scope) -> Model | None:
    model = scope.models.get(word.lower())
    if model is None:
        known = [m.name for m in scope.models.values() if m.type in KINDS[letter].model_types]
        near = nearest_name(word, known)
        scope.complain(
            line.number,
            f"{name}: there is no .model {word!r}"
            + (
                f"; nearest: {near}"
                if near
                else f"; add .model {word} {(KINDS[letter].model_types or ('?',))[0]}(...)"
            ),
        )
        return None
    if model.type not in KINDS[letter].model_types:
        scope.complain(
            line.number,
            f"{name}: model {model.name} is of type {model.type}; a {letter} takes "
            + " or ".join(KINDS[letter].model_types),
        )
        return None
    return model


def _transistor(name: str, letter: str, words: list[str], line: Line, scope: Scope) -> Part | None:
    """D, Q (three nodes, or four with the substrate grounded), M: nodes, model, W= L= or area."""
    count = {"D": 2, "Q": 3, "M": 4}[letter]
    nodes = _nodes(name, count, words, line, scope, "a model")
    if nodes is None:
        return None
    rest = words[count:]
    if letter == "Q" and len(rest) > 1 and rest[0].lower() not in scope.models and rest[1].lower() in scope.models:
        scope.complain(line.number, f"{name}: a substrate node is not read; write {name} c b e model")
        return None
    model = _model(name, rest[0], letter, line, scope)
    rest, settings = rest[1:], {}
    if rest and (len(rest) == 1 or rest[1] != "=") and letter in "DQ":
        area = scope.number(rest[0], line.number)
        settings, rest = ({"AREA": area} if area is not None else {}), rest[1:]
    while rest and rest[0].lower() == "off":
        rest = rest[1:]
    known = {k.lower(): k for k in KINDS[letter].settings}
    extra = _extra(name, rest, line, scope, (*known, "ic", "temp", "as", "ad", "ps", "pd", "nrs", "nrd"))
    settings |= {known[k]: v for k, v in extra.items() if k in known}
    return None if model is None else Part(name, letter, nodes, model=model, settings=settings, line=line.number)


def _switch(name: str, letter: str, words: list[str], line: Line, scope: Scope) -> Part | None:
    nodes = _nodes(name, 4, words, line, scope, "a model")
    if nodes is None:
        return None
    model = _model(name, words[4], letter, line, scope)
    rest = [w.lower() for w in words[5:]]
    if rest and rest not in (["on"], ["off"]):
        scope.complain(line.number, f"{name}: after the model only ON or OFF may stand")
    settings = {"on": 1.0} if rest == ["on"] else {}
    return None if model is None else Part(name, letter, nodes, model=model, settings=settings, line=line.number)


def _block(name: str, letter: str, words: list[str], line: Line, scope: Scope) -> Part | None:
    equals = words.index("=") - 1 if "=" in words else len(words)
    plain = [w for w in words[:equals] if w.lower() != "params:"]
    if len(plain) < 2:
        scope.complain(line.number, f"{name} needs its nodes and the name of a subcircuit: {name} n1 n2 SUBCKT")
        return None
    params: dict[str, float] = {}
    rest = words[equals:]
    for at in range(0, len(rest), 3):
        row = rest[at : at + 3]
        if len(row) < 3 or row[1] != "=":
            scope.complain(line.number, f"{name}: write parameters as key=value")
            return None
        value = scope.number(row[2], line.number)
        if value is not None:
            params[row[0].lower()] = value
    block = scope.block(plain[-1], params, line.number)
    nodes = tuple(scope.node(w, line.number) for w in plain[:-1])
    if block is None:
        return None
    if len(nodes) != len(block.pins):
        scope.complain(
            line.number,
            f"{name}: {block.name} has {len(block.pins)} pins ({' '.join(block.pins)}), {len(nodes)} nodes are given",
        )
        return None
    strange = [k for k in params if k not in block.params]
    if strange:
        near = nearest_name(strange[0], block.params)
        scope.complain(
            line.number,
            f"{name}: {block.name} has no parameter {strange[0]!r}" + (f"; nearest: {near}" if near else ""),
        )
        return None
    return Part(name, "X", nodes, block=block, settings={**block.params, **params}, line=line.number)


_ROW = re.compile(
    r"I=max\(V\((?P<outp>\w+),(?P<outn>\w+)\),0\)\*I\((?P<sense>\w+)\)/\((?P<eta>[^()]+)\*max\("
    r"max\(V\((?P<inp>\w+),(?P<inn>\w+)\),V\((?P=outp),(?P=outn)\)/(?P=eta)\),(?P<least>[\d.]+)\)\)-I\((?P=sense)\)",
    re.IGNORECASE,
)


def _converter_row(line: Line, scope: Scope) -> Part | None:
    """The averaged converter's correction: its input carries output power over eta x volts, not the output's current."""
    text = re.sub(r"\s+", "", line.text.split(None, 3)[3]) if len(line.text.split(None, 3)) > 3 else ""
    hit = _ROW.fullmatch(text)
    if hit is None:
        scope.complain(line.number, f"{line.words[0]}: only the averaged converter's row is read")
        return None
    eta = scope.number(hit["eta"], line.number)
    nodes = [scope.node(w, line.number) for w in (*line.words[1:3], hit["outp"], hit["outn"], hit["inp"], hit["inn"])]
    settings = {"eta": eta or 1.0, "least": float(hit["least"])}
    return Part(line.words[0], "B", tuple(nodes), settings=settings, facts={"sense": hit["sense"]}, line=line.number)
