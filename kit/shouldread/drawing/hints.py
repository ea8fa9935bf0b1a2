"""Drawing hints: a few electrical words that make a picture better. None is a coordinate, none is needed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields

from shouldread.errors import RequestError, UnknownNameError

_NODE_LISTS = ("inputs", "outputs", "wired", "flags", "nolabel")
_PART_LISTS = ("loads", "series", "stack", "hide")


@dataclass(frozen=True, slots=True)
class Hints:
    """What a circuit may say of its own drawing.

    ``rails``: supply nodes, or node to volts (the sign decides whether a flag stands up or hangs down;
    None: as its source says). ``inputs``,
    ``outputs``: nodes that get a tag. ``wired`` / ``flags``: supply nodes drawn as a wire / as flags
    (empty: decided by counting). ``level``: node to number, how far right it belongs. ``orient``: part
    to ``V`` or ``H``. ``series`` / ``stack``: parts that lie along the signal / stand in a divider.
    ``loads``: parts that go far right. ``hide``: parts left out. ``nolabel``: nodes without a label.
    """

    rails: Mapping[str, float | None] = field(default_factory=dict)
    inputs: tuple[str, ...] = ()
    outputs: tuple[str, ...] = ()
    wired: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    nolabel: tuple[str, ...] = ()
    loads: tuple[str, ...] = ()
    series: tuple[str, ...] = ()
    stack: tuple[str, ...] = ()
    hide: tuple[str, ...] = ()
    level: Mapping[str, float] = field(default_factory=dict)
    orient: Mapping[str, str] = field(default_factory=dict)


def _names(known: Iterable[str]) -> dict[str, str]:
    return {name.casefold(): name for name in known}


def _resolve(what: str, hint: str, name: object, known: Mapping[str, str]) -> str:
    found = known.get(str(name).casefold())
    if found is None:
        raise UnknownNameError(what, str(name), known.values(), f"the drawing hint {hint!r}")
    return found


def _list(hint: str, given: object) -> list[object]:
    if isinstance(given, str):
        return [given]
    if isinstance(given, (list, tuple)):
        return list(given)
    raise RequestError(f"the drawing hint {hint!r} is a list of names, not {given!r}.", value=given)


def _numbers(hint: str, given: object, nodes: Mapping[str, str]) -> dict[str, float]:
    if not isinstance(given, Mapping):
        raise RequestError(f"the drawing hint {hint!r} maps nodes to numbers, not {given!r}.", value=given)
    table: dict[str, float] = {}
    for name, number in given.items():
        if isinstance(number, bool) or not isinstance(number, (int, float)):
            raise RequestError(f"the drawing hint {hint}.{name} is a number, not {number!r}.", value=number)
        table[_resolve("node", hint, name, nodes)] = float(number)
    return table


def _orient(given: object, parts: Mapping[str, str]) -> dict[str, str]:
    if not isinstance(given, Mapping):
        raise RequestError(f"the drawing hint 'orient' maps parts to V or H, not {given!r}.", value=given)
    table: dict[str, str] = {}
    for name, way in given.items():
        if way not in ("V", "H"):
            raise RequestError(f"the drawing hint orient.{name} is V (standing) or H (lying), not {way!r}.", value=way)
        table[_resolve("part", "orient", name, parts)] = way
    return table


def read_hints(given: Mapping[str, object], nodes: Iterable[str], parts: Iterable[str]) -> Hints:
    """The hints of a circuit, each name checked against its nodes and parts (any case).

    Raises UnknownNameError for a hint, node or part that is not there, RequestError for a value of the
    wrong sort.
    """
    node_names, part_names = _names(nodes), _names(parts)
    read: dict[str, object] = {}
    for hint, value in given.items():
        if hint in _NODE_LISTS:
            read[hint] = tuple(_resolve("node", hint, name, node_names) for name in _list(hint, value))
        elif hint in _PART_LISTS:
            read[hint] = tuple(_resolve("part", hint, name, part_names) for name in _list(hint, value))
        elif hint == "rails" and not isinstance(value, Mapping):
            read[hint] = {_resolve("node", hint, name, node_names): None for name in _list(hint, value)}
        elif hint in ("rails", "level"):
            read[hint] = _numbers(hint, value, node_names)
        elif hint == "orient":
            read[hint] = _orient(value, part_names)
        else:
            raise UnknownNameError("drawing hint", hint, [f.name for f in fields(Hints)])
    return Hints(**read)  # type: ignore[arg-type]
