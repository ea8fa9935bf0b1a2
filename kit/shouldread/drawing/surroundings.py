"""What some pieces would cost in each place, everything else standing still.

The one pricing of pictures: building, searching and comparing all ask here. Cost in grid units of wire:
length and corners of wires, wires across wires and parts, tolls of poses, order, size, flags in rows.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from shouldread.drawing.arrangement import NO_WIRE, Arrangement, Change, Laid, Masks, Standing
from shouldread.drawing.trunks import Ends, Segments

CROSS, SHARED, STRUCK, TOUCHED = 6.0, 8.0, 4.0, 12.0  # wire over wire, along wire, over a part, on a pin
WIDE, TALL = 0.2, 0.7  # per grid unit of the picture's size
SCREEN, BEYOND = 66, 0.8  # grid units that a notebook shows side by side, and what each one more costs
IN_ROW = 1.0  # won by each flag in the row of another
ASKEW = 3.0  # two boxes of one sort that stand neither in one row nor in one column
INFINITE = float("inf")


def clash(bits: Masks, solids: int, foreign: int, laid: Masks) -> float:
    """What a wire costs by striking parts, foreign pins and other wires."""
    flat, steep, joints = bits
    cells = flat | steep
    price = 0.0
    if struck := cells & solids:
        price += STRUCK * struck.bit_count()
    if touched := cells & foreign:
        price += TOUCHED * touched.bit_count()
    others = laid[0] | laid[1]
    if not cells & others:
        return price
    if shared := (flat & laid[0]) | (steep & laid[1]) | (joints & others) | (cells & laid[2]):
        price += SHARED * shared.bit_count()
    if crossed := ((flat & laid[1]) | (steep & laid[0])) & ~shared:
        price += CROSS * crossed.bit_count()
    return price


class _Drawn(NamedTuple):
    """A node's wire as priced: its bits, and its straight pieces relative to a corner."""

    price: float
    masks: Masks
    segments: Segments
    left: int
    up: int

    def laid(self) -> Laid:
        """The wire in board coordinates."""
        x, y = self.left, self.up
        return Laid(self.masks, tuple((a + x, b + y, c + x, d + y) for a, b, c, d in self.segments))


_UNDRAWN = _Drawn(0.0, NO_WIRE, (), 0, 0)


class Surroundings:
    """Everything placed but the ``members``, added up once, so that many places can be tried quickly."""

    def __init__(self, arrangement: Arrangement, members: Iterable[int]) -> None:
        self.arrangement = arrangement
        self.members = tuple(members)
        stage = arrangement.stage
        self.occupied = self.kept = self.solid = self.pins = 0
        self.frame = (10**6, 10**6, -(10**6), -(10**6))
        self._rows: dict[int, int] = {}
        inside = set(self.members)
        rest = [p for i, p in enumerate(arrangement.standing) if p is not None and i not in inside]
        for piece in rest:
            self.solid |= piece.solid
            self.pins |= piece.pins
            self.kept |= piece.keep
            for row in piece.rows:
                self._rows[row] = self._rows.get(row, 0) + 1
        self.occupied = self.solid | self.pins
        if rest:
            x0, y0, x1, y1 = zip(*[piece.reach for piece in rest], strict=True)
            self.frame = (min(x0), min(y0), max(x1), max(y1))
        self._order = [
            row
            for row in dict.fromkeys(row for piece in self.members for row in stage.before_of[piece])
            if all(i in inside or arrangement.standing[i] is not None for i in row[:2])
        ]
        self._twins = [
            pair
            for pair in dict.fromkeys(pair for piece in self.members for pair in stage.twins_of[piece])
            if all(i in inside or arrangement.standing[i] is not None for i in pair)
        ]
        self.nets = tuple(dict.fromkeys(net for piece in self.members for net in stage.nets_of[piece]))
        self._ends = [arrangement.ends(net, inside) for net in self.nets]
        self._own = [[(i, k) for i, k in stage.nets[net].pins if i in inside] for net in self.nets]
        self.laid = self._laid_by_others()

    def _laid_by_others(self) -> Masks:
        flat = steep = joints = 0
        for net, wire in enumerate(self.arrangement.laid):
            if net not in self.nets:
                flat, steep, joints = flat | wire.masks[0], steep | wire.masks[1], joints | wire.masks[2]
        return flat, steep, joints

    def free(self, changes: Sequence[Change]) -> bool:
        """Whether the members have room there: on the board, clear of the others and of each other."""
        arrangement = self.arrangement
        occupied, kept, width = self.occupied, self.kept, arrangement.width
        for piece, spot in changes:
            if not arrangement.fits(piece, spot):
                return False
            number, x, y = spot
            stamp = arrangement.stamp(piece, number)
            shift = (y + stamp.dy) * width + x + stamp.dx
            own, keep = (stamp.solid | stamp.pins) << shift, stamp.keep << shift
            if own & kept or keep & occupied:
                return False
            if len(changes) > 1:
                occupied, kept = occupied | own, kept | keep
        return True

    def price(self, changes: Sequence[Change], limit: float = INFINITE) -> float:
        """What the members would add there; stops early, with a lower bound, when that passes the limit."""
        pieces = {piece: self.arrangement.stand(piece, spot) for piece, spot in changes}
        cost = self._spread(pieces)
        if cost > limit:
            return cost
        return self._wire(pieces, cost, limit)[0]

    def settle(self, changes: Sequence[Change]) -> None:
        """Put the members there and lay their wires."""
        pieces = {piece: self.arrangement.stand(piece, spot) for piece, spot in changes}
        _, wires = self._wire(pieces, 0.0, INFINITE)
        for piece, standing in pieces.items():
            self.arrangement.standing[piece] = standing
        for net, wire in zip(self.nets, wires, strict=True):
            self.arrangement.laid[net] = wire.laid()

    def _spread(self, pieces: dict[int, Standing]) -> float:
        """Tolls of the poses, order from left to right, growth of the picture, flags in rows."""
        x0, y0, x1, y1 = a, b, c, d = self.frame
        cost = 0.0
        won: dict[int, int] = {}
        for piece in pieces.values():
            cost += piece.toll
            e, f, g, h = piece.reach
            a, b, c, d = a if a < e else e, b if b < f else f, c if c > g else g, d if d > h else h
            for row in piece.rows:
                count = won.get(row)
                won[row] = (self._rows.get(row, 0) if count is None else count) + 1
        standing = self.arrangement.standing
        for left, right, weight, gap in self._order:
            one, other = pieces.get(left) or standing[left], pieces.get(right) or standing[right]
            over = one.spot[1] - other.spot[1] + gap  # type: ignore[union-attr]
            if over > 0:
                cost += weight * over
        for left, right in self._twins:
            one, other = pieces.get(left) or standing[left], pieces.get(right) or standing[right]
            if one.spot[1] != other.spot[1] and one.spot[2] != other.spot[2]:  # type: ignore[union-attr]
                cost += ASKEW
        wide, tall = (x1 - x0, y1 - y0) if x1 >= x0 else (0, 0)
        cost += WIDE * (c - a - wide) + TALL * (d - b - tall)
        if c - a > SCREEN:
            cost += BEYOND * (c - a - max(SCREEN, wide))
        for row, count in won.items():
            before = self._rows.get(row, 0)
            cost -= IN_ROW * (min(count - 1, 3) - min(max(0, before - 1), 3))
        return cost

    def _wire(self, pieces: dict[int, Standing], cost: float, limit: float) -> tuple[float, list[_Drawn]]:
        """Adds the wires of the members' nodes: each takes the shape that clashes least."""
        solid = pins = 0
        for piece in pieces.values():
            solid |= piece.solid
            pins |= piece.pins
        others = self.laid[0] | self.laid[1]
        if struck := others & solid:
            cost += STRUCK * struck.bit_count()
        if touched := others & pins:
            cost += TOUCHED * touched.bit_count()
        solid, pins = solid | self.solid, pins | self.pins
        laid, wires = self.laid, []
        for ends, own in zip(self._ends, self._own, strict=True):
            if cost > limit:
                break
            every = ends + tuple([pieces[i].ends[k] for i, k in own if i in pieces])
            wire = self._cheapest(every, solid, pins, laid, limit - cost)
            cost += wire.price
            masks = wire.masks
            laid = (laid[0] | masks[0], laid[1] | masks[1], laid[2] | masks[2])
            wires.append(wire)
        return cost, wires

    def _cheapest(self, ends: Ends, solid: int, pins: int, laid: Masks, limit: float) -> _Drawn:
        """The shape of a node that clashes least; only its price when even the cheapest passes the limit."""
        if len(ends) < 2:
            return _UNDRAWN
        arrangement = self.arrangement
        plan, left, up = arrangement.trunks.plan(ends)
        if plan.costs[0] > limit:
            return _Drawn(plan.costs[0], NO_WIRE, (), 0, 0)
        foreign = pins & ~arrangement.pin_bits(ends)
        best = _UNDRAWN
        for number, cost in enumerate(plan.costs):
            if best is not _UNDRAWN and cost >= best.price:
                break
            shape = plan.shape(number)
            bits = arrangement.masks(shape, left, up)
            price = cost + clash(bits, solid, foreign, laid)
            if best is _UNDRAWN or price < best.price:
                best = _Drawn(price, bits, shape.segments, left, up)
        return best


def lay(arrangement: Arrangement) -> float:
    """Chooses the wires of a whole arrangement afresh; its cost."""
    changes = [(piece, arrangement.at(piece).spot) for piece in range(arrangement.stage.size)]
    everything = Surroundings(arrangement, range(arrangement.stage.size))
    cost = everything.price(changes)
    everything.settle(changes)
    return cost


def overlaps(arrangement: Arrangement) -> bool:
    """Whether two placed pieces need the same room."""
    occupied = kept = 0
    for piece in arrangement.standing:
        if piece is not None:
            own = piece.solid | piece.pins
            if own & kept or piece.keep & occupied:
                return True
            occupied, kept = occupied | own, kept | piece.keep
    return False
