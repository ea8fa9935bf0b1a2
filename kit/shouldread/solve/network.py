"""Network: one structure of a circuit, solved over many lanes of values; its sensitivities without differences."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from shouldread.circuit import Circuit, Flat
from shouldread.parts import Edit, Part, is_of_type, spreads_of
from shouldread.quantities import Spread
from shouldread.solve.answer import reach
from shouldread.solve.currents import terminal_amps
from shouldread.solve.lane_rest import FAILED, SOLVED, rest
from shouldread.solve.lane_slopes import Moved, homes_of, inverse_rows, slopes
from shouldread.solve.net import Floats, Ints, Net
from shouldread.solve.steady import FLOATS, Rest, resistances

Pair = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Param:
    """A number that varies: of a part (``R3``, ``value``) or of a bridge (``bridge:stray FEED``, ``value``).

    ``shared`` names what numbers of several parts hang on; ``sense`` is -1 for one that falls as that rises.
    """

    part: str
    what: str
    spread: Spread
    slot: int
    owner: str
    shared: str = ""
    sense: float = 1.0

    @property
    def key(self) -> str:
        """``R3.value``, ``bridge:stray FEED``, ``param r``: params of one key are one variable."""
        if self.shared:
            return f"param {self.shared}"
        return self.part if self.part.startswith("bridge:") else f"{self.part}.{self.what}"


class Network:
    """A circuit with edits in one state (``"cold"``: nothing fed), its structure fixed, its numbers free.

    Raises UnknownNameError for names that are not there.
    """

    def __init__(self, circuit: Circuit, edits: Sequence[Edit] = (), *, state: str | None = None) -> None:
        self.circuit = circuit
        self.state = circuit.state(state)
        self.edits = tuple(edits)
        self.stand(*reach(circuit, self.state, self.edits))

    def stand(self, flat: Flat, start: Rest) -> None:
        """Be this structure, which starts at rest there."""
        self.flat, self.start = flat, start
        self.net: Net = start.net
        self.nodes = self.flat.nodes
        self.params = _params(self.flat, self.net)
        self.nominal: Floats = np.array([p.spread.nominal for p in self.params])
        self._slots: Ints = np.array([p.slot for p in self.params], dtype=np.int64)
        self._homes = homes_of(self.net, self._slots)
        self._numbers = {name.casefold(): self.net.index[name] for name in reversed(self.nodes)}
        self._numbers |= dict.fromkeys(("0", "gnd", "ground"), 0)
        self.primitives: dict[str, Part] = {part.name.casefold(): part for part in reversed(self.flat.parts)}
        self._ends: dict[tuple[Pair, ...], tuple[Ints, Ints]] = {}

    def node(self, place: str) -> int:
        """Number of the node at a place: a node's name or ``PART.pin``. KeyError when there is none."""
        key = place.casefold()
        found = self._numbers.get(key)
        return self.net.index[self.flat.places[key]] if found is None else found

    def ends(self, pairs: Sequence[Pair]) -> tuple[Ints, Ints]:
        """Numbers of the first and of the second places of pairs."""
        key = tuple(pairs)
        if key not in self._ends:
            first = np.array([self.node(p) for p, _ in key], dtype=np.int64)
            second = np.array([self.node(q) for _, q in key], dtype=np.int64)
            self._ends[key] = first, second
        return self._ends[key]

    def solve(
        self, values: Floats | None = None, *, slots: Floats | None = None, warm: "Points | None" = None
    ) -> "Points":
        """Solve every lane. ``values``: (L, P) numbers of the params (SI); None is one lane at the nominal.

        Each lane of ``slots`` (L, S) starts at that of ``warm``; one that did not come to rest there stays so.
        """
        net = self.net
        if slots is None:
            lanes = 1 if values is None else len(values)
            slots = np.repeat(net.slots[None], lanes, axis=0)
            if values is not None and len(self._slots):
                slots[:, self._slots] = values
        warm = self._started(slots) if warm is None else warm
        x, bits, status = warm.raw.copy(), warm.bits.copy(), warm.status.copy()
        calm = np.flatnonzero(status == SOLVED)
        if len(calm) == len(slots):
            status = rest(x, slots, bits, net)
        elif len(calm):
            some, turned = x[calm], bits[calm]
            status[calm] = rest(some, slots[calm], turned, net)
            x[calm], bits[calm] = some, turned
        return Points(self, x, bits, status, slots)

    def _started(self, slots: Floats) -> "Points":
        """Every lane where the network itself rests, if it does."""
        lanes, start = len(slots), self.start
        x, bits = np.repeat(start.x[None], lanes, axis=0), np.repeat(start.bits[None], lanes, axis=0)
        return Points(self, x, bits, np.full(lanes, FAILED if self.net.loop else start.status, dtype=np.int64), slots)


@dataclass(slots=True)
class Points:
    """Solved lanes: ``raw`` (L, N) node volts, ``bits``, ``status`` (0 solved, 1 failed, 2 no steady state)."""

    network: Network
    raw: Floats
    bits: Ints
    status: Ints
    slots: Floats

    def __len__(self) -> int:
        return len(self.raw)

    def _rest(self, lane: int) -> Rest:
        return Rest(self.raw[lane], self.bits[lane], int(self.status[lane]), self.slots[lane], self.network.net)

    def inverse(self, pairs: Sequence[Pair]) -> Floats:
        """(L, K, N + C): volts of each pair per ampere put into each node, then per volt of each ideal source.

        What resistance and sensitivity need of the inverse, from one factorisation per lane.
        """
        nodes = np.column_stack(self.network.ends(pairs))
        return inverse_rows(self.raw, self.slots, self.bits, nodes, self.network.net)

    def inverse_of(self, nodes: Ints) -> Floats:
        """The same (L, 1, N + C) of one pair of nodes (L, 2) in each lane."""
        return inverse_rows(self.raw, self.slots, self.bits, nodes[:, None], self.network.net)

    def volts(self, pairs: Sequence[Pair]) -> Floats:
        """(L, K) volts of each pair as they are, unloaded."""
        a, b = self.network.ends(pairs)
        return self.raw[:, a] - self.raw[:, b]

    def resistance(self, pairs: Sequence[Pair], inverse: Floats | None = None) -> Floats:
        """(L, K) small-signal ohms seen between the two places of each pair."""
        z = self.inverse(pairs) if inverse is None else inverse
        a, b = self.network.ends(pairs)
        k = np.arange(len(pairs))
        return z[:, k, a] - z[:, k, b]

    def sensitivity(self, pairs: Sequence[Pair], inverse: Floats | None = None) -> Floats:
        """(L, K, P) change of each pair's volts per unit of each param (SI), from one factorisation per lane."""
        z = self.inverse(pairs) if inverse is None else inverse
        network = self.network
        return slopes((self.raw, self.slots, self.bits), network._slots, network._homes, z, network.net)

    def moved(self, inverse: Floats, params: Ints, moved: Moved) -> Floats:
        """(L, K, C) change (V) of each pair's volts by all of some params (P,) that belong to a column at once."""
        network = self.network
        which, homes = network._slots[params], network._homes[params]
        return slopes((self.raw, self.slots, self.bits), which, homes, inverse, network.net, moved)

    def pin_amps(self, pin: str) -> Floats:
        """(L,) amps into a pin of a part (``V1.1``, ``X1.P``); 0 where the part is gone."""
        flat = self.network.flat
        ends = [end for end, place in flat.terminals.items() if place.casefold() == pin.casefold()]
        out = np.zeros(len(self))
        for lane in range(len(self)):
            told = terminal_amps(self._rest(lane))
            out[lane] = sum(float(told.get(end, 0.0)) for end in ends)
        return out

    def every_pin_amps(self) -> Mapping[str, Floats]:
        """(L,) amps into every pin of every part that is on the board, by ``PART.pin``; one pass over the lanes."""
        out: dict[str, Floats] = {}
        for lane in range(len(self)):
            told = terminal_amps(self._rest(lane))
            for end, pin in self.network.flat.terminals.items():
                out.setdefault(pin, np.zeros(len(self)))[lane] += float(told.get(end, 0.0))
        return out

    @property
    def floats(self) -> Ints:
        """(L, N) whether nothing holds a node (more than 100 megohm to ground)."""
        return np.array([resistances(self._rest(k)) > FLOATS for k in range(len(self))])


def _params(flat: Flat, net: Net) -> tuple[Param, ...]:
    found = []
    for part in flat.parts:
        inner = "." in part.name
        for what, spread in _spreads(part) if not inner else _stated(part):
            slot = net.slot_of.get((part.name, what))
            if slot is not None and spread.law != "exact":
                found.append(Param(part.name, what, spread, slot, flat.owner[part.name], *_hangs_on(part, what)))
    for bridge in flat.bridges:
        if bridge.spread is not None and bridge.spread.law != "exact":
            slot = net.slot_of[f"bridge:{bridge.name}", "value"]
            found.append(Param(f"bridge:{bridge.name}", "value", bridge.spread, slot, bridge.owner))
    return tuple(found)


def _hangs_on(part: Part, what: str) -> tuple[str, float]:
    """The ``.param`` that a part's value hangs on, and whether it falls as that rises; the type for its own numbers."""
    if part.model is not None and is_of_type(part, what):
        return f"{part.model.name}.{what}", 1.0
    shared = part.facts.get("param") if what == "value" else None
    return (str(shared), -1.0 if part.facts.get("falls") else 1.0) if shared else ("", 1.0)


_known: dict[int, tuple[Part, tuple[tuple[str, Spread], ...]]] = {}  # by identity: parts are frozen, not hashable
_MOST_KNOWN = 4096


def _spreads(part: Part) -> tuple[tuple[str, Spread], ...]:
    """The spreads of a part, looked up once for the many networks that share it."""
    found = _known.get(id(part))
    if found is None or found[0] is not part:
        if len(_known) >= _MOST_KNOWN:
            _known.clear()
        found = _known[id(part)] = part, spreads_of(part)
    return found[1]


def _stated(part: Part) -> list[tuple[str, Spread]]:
    """Inner parts of a block vary only where its model file says so."""
    return [("value", part.value)] if part.value is not None and part.value.law != "exact" else []
