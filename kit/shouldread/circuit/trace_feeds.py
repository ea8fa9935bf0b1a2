"""What feeds a traced stage: the rails of the board that end here, and those whose volts nobody has said."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from shouldread.circuit.rails import Rail, Rails
from shouldread.circuit.trace_netlist import Element, places_of, supply
from shouldread.circuit.traced_part import TracedPart
from shouldread.quantities import Spread

# names that boards print on feeds: 12V, +5V, 3V3, 24V_IN, VCC, VDD, VBAT, VBUS (common practice, no source)
_RAIL = re.compile(r"[+-]?(\d+)V(\d*)(?:\W|_|$).*|V(?:CC|DD|BAT|BUS|IN)\w*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Feeds:
    """Supplies to add (with line -1, as nobody typed them) and what to ask."""

    elements: tuple[tuple[int, Element], ...] = ()
    questions: tuple[str, ...] = ()


def feeds_of(
    placed: Iterable[tuple[int, Element]],
    parts: Iterable[tuple[int, TracedPart]],
    rails: Rails,
    volts: float | None,
    fed: tuple[str, ...],
) -> Feeds:
    """The rails of the sheet that feed the traced lines, unless a line feeds them or they are made in the stage."""
    listed = [element for _, element in placed]
    nodes = dict.fromkeys(node for element in listed for node in places_of(element))
    driven = {element.line.split()[1].casefold() for element in listed if element.name[0] in "Vv"}
    driven |= {end.place.casefold() for _, part in parts for leg, end in part.ends.items() if _delivers(part, leg)}
    here = {node.casefold(): node for node in nodes if node != "0"}
    names = {element.name.casefold() for element in listed}
    made, asked = list[tuple[int, Element]](), list[str]()
    for rail in rails:
        node = here.get(rail.name.casefold())
        if node is None or node.casefold() in driven or any(s.casefold() in here for s in rail.sources):
            continue
        nominal = _nominal(rail, volts, fed)
        name = _free(node, names)
        if nominal is None:
            asked.append(
                f"{node} feeds this stage: how many volts? Type {name} at {node} {_guess(_RAIL.fullmatch(node))}"
            )
        else:
            made.append((-1, supply(name, node, nominal)))
        driven.add(node.casefold())
    sheet = {rail.name.casefold() for rail in rails}
    for folded, node in here.items():
        hit = _RAIL.fullmatch(node)
        if hit and folded not in driven and folded not in sheet:
            asked.append(f"{node}: fed from outside? Then type {_free(node, names)} at {node} {_guess(hit)}")
    if listed and not driven and not asked:
        asked.append("Nothing feeds this stage yet. Name what does, such as VAUX at 12V_AUX 12")
    return Feeds(tuple(made), tuple(asked))


def _delivers(part: TracedPart, leg: str) -> bool:
    """Whether a leg is where an IC delivers."""
    return bool(part.sort.block) and leg.upper() in ("OUT", "P")


def _nominal(rail: Rail, volts: float | None, fed: tuple[str, ...]) -> Spread | None:
    """The rail's volts by the sheet, else those of the supply where it feeds this rail."""
    if rail.nominal is None and volts is not None and rail.name.casefold() in {name.casefold() for name in fed}:
        return Spread.exact(volts)
    return rail.nominal


def _free(node: str, names: set[str]) -> str:
    """A name for the supply of a rail that no part bears."""
    base = "V" + (re.sub(r"\W", "_", node, flags=re.ASCII).strip("_") or "FEED")
    name = next(n for n in (base, *(f"{base}_{k}" for k in range(2, 500))) if n.casefold() not in names)
    names.add(name.casefold())
    return name


def _guess(hit: re.Match[str] | None) -> str:
    """Volts as the name tells them: ``3V3`` 3.3; 12 where it tells none."""
    if hit is None:
        return "12"
    return f"{hit[1]}.{hit[2]}" if hit[2] else hit[1] or "12"
