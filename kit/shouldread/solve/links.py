"""Links: pins on nodes of their own, each tied to its pad through no ohms, so that a number lifts it."""

from collections.abc import Mapping, Sequence
from copy import copy

import numpy as np

from shouldread.circuit import flatten, state_edits
from shouldread.parts import Lift
from shouldread.solve.build import build
from shouldread.solve.net import Net
from shouldread.solve.network import Network
from shouldread.solve.patch import held
from shouldread.solve.steady import SOLVED, Rest, power_up, rested


def linked(network: Network, lifts: Sequence[Lift]) -> Network:
    """The same board with a link at each of these pins, told of in ``net.links``, every one of them closed.

    Its ohms (slot ``link:x1.in``, ``ohms``) are none; a great number lifts the pin, which leaves no slope behind that
    a matrix could not bear, as a resistor of next to no ohms would.
    """
    flat = flatten(
        network.circuit,
        (*state_edits(network.circuit, network.state), *network.edits, *lifts),
        cold=network.state.name == "cold",
    )
    places = dict.fromkeys(f"{lift.part}.{lift.pin}".casefold() for lift in lifts)
    ends = [(place, flat.places[place], network.flat.places[place]) for place in places]
    net = held(build(flat, links=[(place, pin, pad) for place, pin, pad in ends if pin != pad]))
    out = copy(network)
    out.stand(flat, _started(network, net, {pin: pad for _, pin, pad in ends}))
    return out


def _started(network: Network, net: Net, pads: Mapping[str, str]) -> Rest:
    """Where it rests: where the board without links does, each pin as its pad; else from power-up."""
    before, inner = network.start, net.size - len(net.index)
    old = before.net.index
    if before.status == SOLVED and not net.loop and inner == before.net.size - len(old):
        x = np.zeros(net.size)
        for name, k in net.index.items():
            x[k] = before.x[old[pads.get(name, name)]]
        x[len(net.index) :] = before.x[len(old) :]  # nodes behind the ohms of a lead, in the order of parts
        bits = dict(zip(before.net.switch_names, before.bits, strict=True))
        point = rested(net, x, net.slots, np.array([bits[name] for name in net.switch_names], dtype=np.int64))
        if point.status == SOLVED:
            return point
    return power_up(net)
