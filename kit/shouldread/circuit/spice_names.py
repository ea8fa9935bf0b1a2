"""Names that every SPICE takes, one for each node and primitive: ASCII letters, digits and _, no two alike."""

import re
from collections.abc import Iterable

from shouldread.circuit.flat import Flat

OURS = re.compile(r"(?:rbridge|djunction|vdrive|rdrive|rhold)\d+|r.*_dcr")  # what the writer adds itself


def node_names(flat: Flat) -> dict[str, str]:
    """What each node is called (``U1.g`` -> ``U1_g``, ``R1.2*`` -> ``R1_2_open``); ground is ``0``."""
    wanted = [(n, n.replace("+", "p").replace("-", "n").replace("*", "_open")) for n in flat.nodes if n != "0"]
    return {"0": "0", **_distinct(wanted, {"0", "gnd"})}


def part_names(flat: Flat) -> dict[str, str]:
    """What each primitive is called: its kind's letter first (``U1.M1`` -> ``M_U1_M1``)."""
    wanted = []
    for part in flat.parts:
        plain = "." not in part.name and part.name[0].upper() == part.kind
        wanted.append((part.name, part.name if plain else f"{part.kind}_{part.name}"))
    return _distinct(wanted, set())


def _distinct(wanted: Iterable[tuple[str, str]], taken: set[str]) -> dict[str, str]:
    out = {}
    for name, wish in wanted:
        base = re.sub(r"\W", "_", wish, flags=re.ASCII)
        plain, count = base, 1
        while plain.lower() in taken or OURS.fullmatch(plain.lower()):
            count += 1
            plain = f"{base}_{count}"
        taken.add(plain.lower())
        out[name] = plain
    return out
