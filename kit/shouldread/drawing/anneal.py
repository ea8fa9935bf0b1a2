"""Simulated annealing of an arrangement (Kirkpatrick, Gelatt, Vecchi, Science 220 (1983) 671).

Each step offers a piece or a group several places and draws one as a heat bath would (Boltzmann weights,
drawn by Gumbel noise so that hopeless places need not be priced to the end). The number of steps is
fixed beforehand, never a clock: the same seed gives the same picture everywhere.
"""

import math
from random import Random

from shouldread.drawing.arrangement import Arrangement, Spot
from shouldread.drawing.moves import Moves
from shouldread.drawing.surroundings import Surroundings, lay

HOT, COLD = 6.0, 1.0
_QUENCH = 0.85  # share of the steps after which the picture is only tidied


def anneal(arrangement: Arrangement, steps: int, random: Random, hot: float = HOT, cold: float = COLD) -> float:
    """Search from where the arrangement is; leaves it at the best picture found, whose cost it returns."""
    moves = Moves(arrangement, random)
    cost = lay(arrangement)
    best, best_cost = arrangement.spots, cost
    for k in range(steps):
        heat = _heat(k / steps, hot, cold)
        cost += _step(arrangement, moves, heat, random)
        if cost < best_cost - 1e-6:
            best, best_cost = arrangement.spots, cost
    return restore(arrangement, best)


def _heat(share: float, hot: float, cold: float) -> float:
    """Geometric down to ``cold``, then quenched."""
    if share < _QUENCH:
        return float(hot * (cold / hot) ** (share / _QUENCH))
    return float(cold * (0.02 / cold) ** ((share - _QUENCH) / (1 - _QUENCH)))


def restore(arrangement: Arrangement, spots: list[Spot]) -> float:
    """Puts all pieces back at their spots; the cost there."""
    arrangement.load(spots)
    return lay(arrangement)


def _noise(random: Random) -> float:
    return -math.log(-math.log(random.random() or 0.5))


def _step(arrangement: Arrangement, moves: Moves, heat: float, random: Random) -> float:
    """One draw; by how much the cost has changed."""
    members, offers = moves.draw()
    if not offers:
        return 0.0
    around = Surroundings(arrangement, members)
    free = [offer for offer in offers if around.free(offer)]
    if not free:
        return 0.0
    stay = around.price([(piece, arrangement.at(piece).spot) for piece in members])
    best, chosen, price = stay - heat * _noise(random), None, stay
    for offer in free:
        bonus = heat * _noise(random)
        found = around.price(offer, best + bonus)
        if found - bonus < best:
            best, chosen, price = found - bonus, offer, found
    if chosen is None:
        return 0.0
    around.settle(chosen)
    return price - stay
