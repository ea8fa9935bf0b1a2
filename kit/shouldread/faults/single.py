"""Every single fault of a set of parts, in canonical order: netlist order, then the kind's order of modes."""

from collections.abc import Iterable, Iterator, Mapping

from shouldread.errors import RequestError
from shouldread.faults.fault import Fault
from shouldread.faults.places import pin_name, pin_place
from shouldread.parts import KINDS, Mode, Part, block_figures, number_of, shared_weight


def _scalable(part: Part, mode: Mode) -> bool:
    """Whether every number that the mode scales is there, not zero, and known well enough to drift."""
    for row in mode.edits:
        if row[0] == "scale":
            number = number_of(part, str(row[1]))
            if number is None or number.nominal == 0 or number.wide:
                return False
    return True


def mode_fault(part: Part, mode: Mode) -> Fault:
    """The fault of one part in one declared way to fail."""
    return Fault(
        parts=(part.name,),
        mode=mode.name,
        name=f"{part.name} {mode.name}",
        prior=KINDS[part.kind].detail_of(part).rate * mode.share * mode.bench,
        severity_range=mode.severity,
        source=mode.source,
    )


def modes_of(part: Part) -> tuple[Mode, ...]:
    """The ways to fail that a part offers: those of its variety that its numbers allow."""
    return tuple(m for m in KINDS[part.kind].detail_of(part).modes if _scalable(part, m))


def joint_fault(part: Part, pin: str) -> Fault:
    """An open joint at one pin of an IC or connector."""
    weight, source = shared_weight("joint", "open")
    place = pin_place(part, pin)
    return Fault((part.name,), "joint open", name=f"{place} joint open", prior=weight, pins=(place,), source=source)


def bridge_fault(a: str, b: str, parts: tuple[str, ...]) -> Fault:
    """A solder bridge between two places."""
    weight, source = shared_weight("joint", "bridged")
    return Fault(parts, "bridged", name=f"{a}-{b} bridged", prior=weight, pins=(a, b), source=source)


def effect_faults(part: Part) -> Iterator[Fault]:
    """How an IC fails, told by effect, as its model file states."""
    if part.block is None:
        return
    rate, times = block_figures()
    for effect in part.block.effects:
        yield Fault(
            parts=(part.name,),
            mode=effect.name,
            name=f"{part.name} {effect.name}",
            prior=(part.block.rate or rate) * effect.share * times,
            severity_range=effect.severity,
            source=effect.source,
        )


def _neighbour_pins(part: Part) -> Iterator[tuple[str, str]]:
    """Pin pairs of the ``neighbours`` fact: ``["IN-EN", ["V-", "OUT"]]``."""
    fact = part.facts.get("neighbours", ())
    for entry in fact if isinstance(fact, list | tuple) else (fact,):
        pair = entry if isinstance(entry, list | tuple) else _cut(part, str(entry))
        if len(pair) != 2 or any(pin_name(part, str(pin)) is None for pin in pair):
            raise RequestError(
                f"neighbours of {part.name}: {entry!r} names no two pins of it; write for instance "
                f'"{"-".join(part.pins[:2])}". Pins: {", ".join(part.pins)}.',
                value=str(entry),
                known=part.pins,
            )
        yield str(pair[0]), str(pair[1])


def _cut(part: Part, entry: str) -> tuple[str, ...]:
    for at, sign in enumerate(entry):
        pair = entry[:at].strip(), entry[at + 1 :].strip()
        if sign == "-" and all(pin_name(part, pin) is not None for pin in pair):
            return pair
    return (entry,)


def part_faults(part: Part) -> Iterator[Fault]:
    """Every single fault of one part."""
    yield from (mode_fault(part, mode) for mode in modes_of(part))
    yield from effect_faults(part)
    if part.block is not None and len(part.pins) >= 3:
        yield from (joint_fault(part, pin) for pin in part.pins)
    if "neighbours" in part.facts:
        for a, b in _neighbour_pins(part):
            yield bridge_fault(pin_place(part, a), pin_place(part, b), (part.name,))


def single_faults(parts: Iterable[Part], neighbours: Iterable[tuple[str, str]] = ()) -> tuple[Fault, ...]:
    """Every single fault considered, in canonical order; ``neighbours`` adds pairs of places that could bridge.

    Raises RequestError when a ``neighbours`` fact names no pins of its part.
    """
    faults = [fault for part in parts for fault in part_faults(part)]
    for a, b in neighbours:
        owners = tuple(dict.fromkeys(place.partition(".")[0] for place in (a, b) if "." in place))
        faults.append(bridge_fault(a, b, owners))
    return tuple(faults)


def by_name(parts: Iterable[Part]) -> Mapping[str, Part]:
    """Parts by their name in any case, and by what is printed beside them where that names just one."""
    listed = list(parts)
    printed: dict[str, list[Part]] = {}
    for part in listed:
        if "printed" in part.facts and part.facts.get("detail") != "inside":
            printed.setdefault(str(part.facts["printed"]).casefold(), []).append(part)
    alone = {name: hits[0] for name, hits in printed.items() if len(hits) == 1}
    return alone | {part.name.casefold(): part for part in listed}
