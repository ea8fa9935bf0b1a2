"""Patches: a fault or a meter laid on a network that is built already, instead of building it anew."""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import replace

import numpy as np

from shouldread.circuit import HOLD, first_of_islands
from shouldread.parts import Bridge, Change, Edit, Lift, Part, Remove, Scale
from shouldread.solve.net import Floats, Ints, Net
from shouldread.solve.network import Network
from shouldread.solve.steady import SOLVED, Rest, carried, power_up, rested

OPEN = 1e24  # ohm: next to it even what holds an island conducts
_PIN_ROWS = {"D": ("diodes", "D"), "Q": ("bipolars", "Q"), "M": ("fields", "M")}
_SERIES = {("D", 0): "RS", ("Q", 0): "RC", ("Q", 1): "RB", ("Q", 2): "RE", ("M", 0): "RD", ("M", 2): "RS"}


def loaded(network: Network, pairs: Sequence[tuple[str, str]]) -> Network:
    """The same structure with a meter between two places: a resistance, and a source of current beside it.

    Three numbers of it come last in ``slots``: which of the ``pairs`` it stands at, its siemens, and its volts over ohms
    (0 for a meter on volts). Until they are set, nothing flows.
    """
    net, size = network.net, len(network.net.slots)
    tips = np.column_stack([*network.ends(pairs), np.full(len(pairs), size)])
    with_meter = replace(net, slots=np.append(net.slots, [0.0, 0.0, 0.0]), tips=tips)
    out = copy(network)
    out.net = with_meter
    out.start = replace(network.start, net=with_meter, slots=with_meter.slots)
    return out


def patched(network: Network, edits: Sequence[Edit], before: Rest | None = None) -> Network | None:
    """The network with these edits, or None where they need it built anew (a source or an IC's pin lifted ...).

    Agrees with a network built anew. ``flat``, ``params`` and the names of places stay those of ``network``: a
    lifted pin's place is still its pad. ``before``: where the board with them rests in the state that is passed
    through; None for power-up. Not for a circuit of several stable answers without switches in it, which
    has to go through its power-up.
    """
    patch = Patch(network)
    if not all(patch.takes(edit) for edit in edits):
        return None
    net = patch.net()
    out = copy(network)
    out.net = net
    start = _started(network, net, before)
    if start is None:
        return None
    out.start = start
    return out


class Patch:
    """Arrays of a network under change: numbers ``changed``, pins ``moved`` to nodes of their own, links ``opened``
    (constraints), switches ``removed``, bridges."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.base = network.net
        self.size = self.base.size
        self.slots: list[float] = []
        self.changed: dict[int, float] = {}
        self.resistors: list[list[int]] = []
        self.bridged: list[str] = []
        self.moved: dict[str, list[tuple[int, int, int]]] = {}
        self.slot_of: dict[tuple[str, str], int] = {}
        self.lifted: set[str] = set()
        self.opened: list[int] = []
        self.removed: list[int] = []

    def takes(self, edit: Edit) -> bool:
        """Lay an edit on; whether that can be done."""
        if isinstance(edit, Bridge):
            return self._bridge(edit)
        if isinstance(edit, Lift):
            return self._lift(edit)
        if isinstance(edit, Scale | Change):
            return self._number(edit)
        return isinstance(edit, Remove) and self._remove(edit)

    def _bridge(self, edit: Bridge) -> bool:
        ends = {edit.a.casefold(), edit.b.casefold()}
        if ends & self.lifted or ends & set(self.base.links) or edit.spread is not None:
            return False
        try:
            a, b = self.network.node(edit.a), self.network.node(edit.b)
        except KeyError:
            return False
        slot = len(self.base.slots) + len(self.slots)
        self.slots.append(edit.ohms)
        self.slot_of[f"bridge:{edit.name}", "value"] = slot
        self.resistors.append([a, b, slot])
        self.bridged.append(edit.name)
        return True

    def _number(self, edit: Scale | Change) -> bool:
        slot = self.base.slot_of.get((edit.part, edit.what))
        part = self._primitive(edit.part)
        if slot is None or part is None:
            return part is not None and part.kind == "C"
        old = float(self.base.slots[slot])
        self.changed[slot] = old * edit.factor if isinstance(edit, Scale) else edit.value
        return True

    def _lift(self, edit: Lift) -> bool:
        link = f"{edit.part}.{edit.pin}".casefold()
        if link in self.base.links:
            self.changed[self.base.slot_of[f"link:{link}", "ohms"]] = OPEN
            self.opened.append(self.base.links[link])
            return True
        part = self._primitive(edit.part)
        if part is None or part.kind not in "RLDQMC":
            return False
        place = f"{part.name}.{edit.pin}".casefold()
        pin = next((k for k, p in enumerate(part.pins) if p.casefold() == edit.pin.casefold()), -1)
        if part.kind == "C":
            return self.network.state.name != "cold"
        if pin < 0 or place in self.lifted:
            return False
        series = self.base.owners.get(f"{part.name}:{_SERIES.get((part.kind, pin), '')}")
        if series is not None:
            array, row, column = "resistors", series[0][1], 0
        else:
            owners = self.base.owners.get(part.name, ())
            if len(owners) != 1 or owners[0][0] not in "RDQM":
                return False
            array = {"R": "resistors"}.get(owners[0][0]) or _PIN_ROWS[owners[0][0]][0]
            row, column = owners[0][1], pin
        self.lifted.add(place)
        self.moved.setdefault(array, []).append((row, column, self.size))
        self.size += 1
        return True

    def _remove(self, edit: Remove) -> bool:
        """A switch that is gone conducts neither on nor off."""
        part = self._primitive(edit.part)
        if part is None or part.kind != "S":
            return False
        ((_, row),) = self.base.owners[part.name]
        base = int(self.base.switches[row, 4])
        self.changed |= {base + 2: OPEN, base + 3: OPEN}
        self.removed.append(row)
        return True

    def _primitive(self, name: str) -> Part | None:
        return self.network.primitives.get(name.casefold())

    def net(self) -> Net:
        """The arrays with everything laid on, islands held."""
        base = self.base
        slots = base.slots.copy()
        for slot, value in self.changed.items():
            slots[slot] = value
        made = {name: getattr(base, name) for name in ("resistors", "diodes", "bipolars", "fields")}
        for name, moves in self.moved.items():
            made[name] = made[name].copy()
            for row, column, node in moves:
                made[name][row, column] = node
        rows = [made["resistors"], np.array(self.resistors, dtype=np.int64).reshape(-1, 3)]
        numbers = [slots, np.array(self.slots)]
        net = replace(
            base,
            size=self.size,
            slots=np.concatenate(numbers),
            slot_of={**base.slot_of, **self.slot_of},
            resistors=np.concatenate(rows),
            diodes=made["diodes"],
            bipolars=made["bipolars"],
            fields=made["fields"],
        )
        return held(net, self.removed) if self.moved or self.removed else net


def held(net: Net, removed: Sequence[int] = ()) -> Net:
    """One node of every island tied down, as when a network is built. ``removed``: switches that are not there."""
    nodes = loose_nodes(net, net.resistors[:, :2], removed=removed)
    if not len(nodes):
        return net
    slot = len(net.slots)
    ties = np.column_stack([nodes, np.zeros(len(nodes), dtype=np.int64), slot + np.arange(len(nodes))])
    return replace(
        net,
        slots=np.concatenate([net.slots, np.full(len(nodes), HOLD)]),
        resistors=np.concatenate([net.resistors, ties.astype(np.int64)]),
    )


def loose_nodes(net: Net, resistors: Ints, opened: Sequence[int] = (), removed: Sequence[int] = ()) -> Ints:
    """The first node of every island that nothing ties to ground, with these ends of resistors (R, 2) and no others.

    ``opened`` and ``removed``: links, by their constraints, and switches that are not there.
    """
    links = _conducting(net, resistors, opened, removed).tolist()
    return np.array(first_of_islands(range(net.size), links, 0), dtype=np.int64)


def sole_ties(net: Net) -> Mapping[str, frozenset[int]]:
    """Which resistors, switches and constraints alone tie something to ground: without one of them there is an island.

    With 1 ohm in every link a link is the only way round exactly where 1 ohm is seen across it (Foster's law).
    """
    one, two = _conducting(net, net.resistors[:, :2]).T
    siemens = np.zeros((net.size, net.size))
    for a, b, sign in ((one, one, 1.0), (two, two, 1.0), (one, two, -1.0), (two, one, -1.0)):
        np.add.at(siemens, (a, b), sign)
    ohms = np.zeros_like(siemens)
    ohms[1:, 1:] = np.linalg.inv(siemens[1:, 1:])
    across = ohms[one, one] + ohms[two, two] - 2 * ohms[one, two]
    sole, sizes = across > 1.0 - 1e-6, [len(net.resistors), len(net.switches), len(net.diodes), len(net.constraints)]
    pieces = [frozenset(np.flatnonzero(piece).tolist()) for piece in np.split(sole, np.cumsum(sizes))]
    return {"resistors": pieces[0], "switches": pieces[1], "constraints": pieces[3]}


def _conducting(net: Net, resistors: Ints, opened: Sequence[int] = (), removed: Sequence[int] = ()) -> Ints:
    """Pairs of nodes (L, 2) between which something conducts, these ends of resistors first."""
    q, m = net.bipolars, net.fields
    under = np.zeros(len(q), dtype=np.int64)
    sources = np.delete(net.constraints[:, :2], list(opened), axis=0)
    switches = np.delete(net.switches[:, :2], list(removed), axis=0)
    ends = [resistors, switches, net.diodes[:, :2], sources]
    ends += [q[:, [0, 1]], q[:, [1, 2]], np.column_stack([q[:, 0], under]), m[:, [0, 2]], m[:, [3, 0]]]
    return np.concatenate(ends)


def _started(network: Network, net: Net, before: Rest | None) -> Rest | None:
    """Where the patched net rests: from where it was before where switches remember, else from where the network rests."""
    if net.loop or network.start.status != SOLVED:
        return None
    if len(net.switches):
        return power_up(net, carried(before, net))
    x: Floats = np.zeros(net.size)
    x[: network.net.size] = network.start.x
    point = rested(net, x, net.slots, network.start.bits)
    return point if point.status == SOLVED else None
