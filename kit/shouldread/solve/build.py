"""Build: the arrays of a flat circuit, part by part."""

import math
from collections.abc import Sequence

import numpy as np

from shouldread.circuit import HOLD, Flat, islands
from shouldread.parts import KINDS, Bridge, Part, model_value
from shouldread.solve.net import Ints, Net

BIPOLAR = ("IS", "BF", "BR", "NF", "NR", "VAF", "VAR", "IKF", "IKR", "ISE", "NE", "ISC", "NC", "AREA", "BCAREA")
FIELD = ("VTO", "KP", "LAMBDA", "GAMMA", "PHI", "IS", "W", "L", "M")
DIODE = ("IS", "N", "BV", "IBV", "NBV", "AREA")
SWITCH = ("VT", "VH", "RON", "ROFF")


class _Builder:
    """Collects elements; one method for each kind."""

    def __init__(self, flat: Flat) -> None:
        self.flat = flat
        self.index = {name: i for i, name in enumerate(flat.nodes)}
        self.size = len(flat.nodes)
        self.slots: list[float] = []
        self.slot_of: dict[tuple[str, str], int] = {}
        self.rows: dict[str, list[list[int]]] = {k: [] for k in "R I G S D Q M B".split()}
        self.owners: dict[str, list[tuple[str, int]]] = {}
        self.edges: list[tuple[int, int, int, int, int, str]] = []
        self.held: list[int] = []
        self.first: list[int] = []
        self.switch_names: list[str] = []
        self.parent: dict[int, int] = {}
        self.loop: list[str] = []
        self.sense: list[tuple[int, str]] = []

    def slot(self, part: str, what: str, value: float) -> int:
        self.slot_of[part, what] = len(self.slots)
        self.slots.append(value)
        return len(self.slots) - 1

    def inner(self) -> int:
        self.size += 1
        return self.size - 1

    def add(self, kind: str, part: str, row: list[int]) -> None:
        self.owners.setdefault(part, []).append((kind, len(self.rows[kind])))
        self.rows[kind].append(row)

    def resistor(self, part: str, what: str, a: int, b: int, ohms: float) -> None:
        self.add("R", part, [a, b, self.slot(part, what, ohms)])

    def behind(self, part: Part, what: str, node: int, area: float) -> int:
        """An inner node behind a series resistance of a device, or the node itself when there is none."""
        ohms = model_value(KINDS[part.kind], part.model, what)
        if ohms <= 0:
            return node
        made = self.inner()
        self.add("R", f"{part.name}:{what}", [node, made, self.slot(part.name, what, ohms / area)])
        return made

    def edge(self, a: int, b: int, plus: int, minus: int, slot: int, name: str) -> None:
        self.edges.append((a, b, plus, minus, slot, name))

    def part(self, part: Part) -> None:
        nodes = [self.index[n] for n in part.nodes]
        kind = part.kind
        value = part.value.nominal if part.value is not None else 0.0
        if kind == "R":
            self.resistor(part.name, "value", nodes[0], nodes[1], value)
        elif kind == "L":
            dcr = part.facts.get("dcr")
            ohms = getattr(dcr, "nominal", 0.0)
            if ohms > 0:
                self.resistor(part.name, "dcr", nodes[0], nodes[1], ohms)
            else:
                self.edge(nodes[0], nodes[1], -1, -1, self.slot(part.name, "zero", 0.0), part.name)
        elif kind == "V":
            self.edge(nodes[0], nodes[1], -1, -1, self.slot(part.name, "value", value), part.name)
        elif kind == "E":
            self.edge(nodes[0], nodes[1], nodes[2], nodes[3], self.slot(part.name, "value", value), part.name)
        elif kind == "I":
            self.add("I", part.name, [*nodes, self.slot(part.name, "value", value)])
        elif kind == "G":
            self.add("G", part.name, [*nodes, self.slot(part.name, "value", value)])
        elif kind in "DQMS":
            getattr(self, f"_{kind.lower()}")(part, nodes)
        elif kind == "B":
            base = self.slot(part.name, "eta", part.settings["eta"])
            self.slot(part.name, "least", part.settings["least"])
            self.sense.append((len(self.rows["B"]), str(part.facts["sense"])))
            self.add("B", part.name, [*nodes, -1, base])

    def _model(self, part: Part, names: tuple[str, ...]) -> int:
        kind = KINDS[part.kind]
        start = len(self.slots)
        for name in names:
            if name in kind.settings:
                value = part.settings.get(
                    name, part.model.params.get(name, kind.settings[name]) if part.model else 1.0
                )
                if name == "AREA":
                    value *= part.settings.get("M", 1.0)
            elif name == "BCAREA":
                value = 1.0
            else:
                value = model_value(kind, part.model, name)
            self.slot(part.name, name, value)
        return start

    def _d(self, part: Part, nodes: list[int]) -> None:
        base = self._model(part, DIODE)
        anode = self.behind(part, "RS", nodes[0], self.slots[base + 5])
        self.add("D", part.name, [anode, nodes[1], base])

    def _q(self, part: Part, nodes: list[int]) -> None:
        base = self._model(part, BIPOLAR)
        area = self.slots[base + 13]
        # an area on the line counts twice at the base-collector junction in ngspice (areab is by default the area)
        self.slots[base + 14] = area * part.settings.get("AREA", 1.0)
        c, b, e = (self.behind(part, what, n, area) for what, n in zip(("RC", "RB", "RE"), nodes, strict=True))
        assert part.model is not None
        self.add("Q", part.name, [c, b, e, 1 if part.model.type == "NPN" else -1, base])

    def _m(self, part: Part, nodes: list[int]) -> None:
        base = self._model(part, FIELD)
        count = self.slots[base + 8]
        d, s = self.behind(part, "RD", nodes[0], count), self.behind(part, "RS", nodes[2], count)
        assert part.model is not None
        self.add("M", part.name, [d, nodes[1], s, nodes[3], 1 if part.model.type == "NMOS" else -1, base])

    def _s(self, part: Part, nodes: list[int]) -> None:
        base = self._model(part, SWITCH)
        self.add("S", part.name, [*nodes, base])
        self.held.append(int(part.settings["held"]) if "held" in part.settings else -1)
        self.first.append(int(part.settings.get("on", 0.0)))
        self.switch_names.append(part.name)

    def junction(self, name: str, a: str, b: str, saturation: float, n: float) -> None:
        base = len(self.slots)
        for what, value in zip(DIODE, (saturation, n, math.inf, 1e-3, n, 1.0), strict=True):
            self.slot(name, what, value)
        self.add("D", name, [self.index[a], self.index[b], base])


def _tree(builder: _Builder) -> Ints:
    """Ideal sources as a forest rooted at ground, leaf to root; edges that close a loop go to ``loop``."""
    adjacent: dict[int, list[int]] = {}
    for number, edge in enumerate(builder.edges):
        for node in edge[:2]:
            adjacent.setdefault(node, []).append(number)
    used: set[int] = set()
    seen: set[int] = set()
    rows: list[list[int]] = []
    for root in [0, *sorted(adjacent)]:
        if root in seen:
            continue
        seen.add(root)
        queue = [root]
        while queue:
            node = queue.pop(0)
            for number in adjacent.get(node, ()):
                if number in used:
                    continue
                used.add(number)
                a, b, cp, cn, slot, name = builder.edges[number]
                child, sign = (a, 1) if b == node else (b, -1)
                if child in seen or a == b:
                    builder.loop += [name, *(builder.edges[k][5] for k in adjacent[child] if k in used)]
                    continue
                seen.add(child)
                queue.append(child)
                builder.owners.setdefault(name, []).append(("V", len(rows)))
                rows.append([child, node, cp, cn, slot, sign])
    back = len(rows)
    for name, items in builder.owners.items():
        builder.owners[name] = [(k, back - 1 - i) if k == "V" else (k, i) for k, i in items]
    return _ints(rows[::-1], 6)


def _hold_islands(builder: _Builder) -> None:
    """Tie one node of every island down through 1 T ohm, so that the rest can be solved (it floats all the same)."""
    for number, node in enumerate(islands(builder.flat)):
        builder.resistor(f"island:{number}", "value", builder.index[node], 0, HOLD)


def _ints(rows: list[list[int]], width: int) -> Ints:
    return np.array(rows, dtype=np.int64).reshape(len(rows), width)


def _add_edits(builder: _Builder, flat: Flat, extra: tuple[Bridge, ...]) -> None:
    """Bridges, junctions and drives that faults, conditions and meters added."""
    for bridge in (*flat.bridges, *extra):
        builder.resistor(
            f"bridge:{bridge.name}", "value", builder.index[bridge.a], builder.index[bridge.b], bridge.ohms
        )
    for j in flat.junctions:
        builder.junction(f"junction:{j.name}", j.a, j.b, j.is_, j.n)
    for drive in flat.drives:
        middle = builder.inner()
        b = builder.index[drive.b]
        builder.edges.append(
            (middle, b, -1, -1, builder.slot(f"drive:{drive.name}", "volts", drive.volts), f"drive:{drive.name}")
        )
        builder.resistor(f"drive:{drive.name}", "ohms", middle, builder.index[drive.a], drive.ohms)


def _add_links(builder: _Builder, links: Sequence[tuple[str, str, str]]) -> None:
    """Pins tied to their pads through no ohms: a source whose volts are its own current, as a converter senses it."""
    for place, pin, pad in links:
        name = f"link:{place}"
        base = builder.slot(name, "eta", 1.0)
        builder.slot(name, "least", 1.0)
        own = builder.size + len(builder.rows["B"])
        builder.sense.append((len(builder.rows["B"]), name))
        builder.rows["B"].append([0, 0, 0, 0, 0, 0, -1, base])
        builder.edge(builder.index[pin], builder.index[pad], own, 0, builder.slot(name, "ohms", 0.0), name)


def build(flat: Flat, extra: tuple[Bridge, ...] = (), links: Sequence[tuple[str, str, str]] = ()) -> Net:
    """The arrays of a flat circuit. ``extra``: bridges more, between node names; ``links``: place and node of pins
    that hang on nodes of their own, each with the node of its pad; then no island is held."""
    builder = _Builder(flat)
    for part in flat.parts:
        if part.kind != "C":
            builder.part(part)
    _add_edits(builder, flat, extra)
    _add_links(builder, links)
    if not links:
        _hold_islands(builder)
    constraints = _tree(builder)
    order = {name: items[0][1] for name, items in builder.owners.items() if items[0][0] == "V"}
    tied = {place: order[f"link:{place}"] for place, _, _ in links if f"link:{place}" in order}
    constraints[list(tied.values()), 5] = 1  # ohms have no sense
    for number, sense in builder.sense:
        builder.rows["B"][number][6] = order.get(sense, -1)
    widths = {"R": 3, "I": 3, "G": 5, "S": 5, "D": 3, "Q": 5, "M": 6, "B": 8}
    arrays = {k: _ints(rows, widths[k]) for k, rows in builder.rows.items()}
    return Net(
        names=flat.nodes,
        size=builder.size,
        slots=np.array(builder.slots, dtype=float),
        slot_of=builder.slot_of,
        resistors=arrays["R"],
        currents=arrays["I"],
        gains=arrays["G"],
        constraints=constraints,
        switches=arrays["S"],
        diodes=arrays["D"],
        bipolars=arrays["Q"],
        fields=arrays["M"],
        rows=arrays["B"],
        held=np.array(builder.held, dtype=np.int64),
        first_bits=np.array(builder.first, dtype=np.int64),
        owners={k: tuple(v) for k, v in builder.owners.items()},
        switch_names=tuple(builder.switch_names),
        loop=tuple(dict.fromkeys(builder.loop)),
        index=builder.index,
        links=tied,
    )
