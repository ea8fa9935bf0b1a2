"""Links: pins on nodes of their own, each tied to its pad through no ohms, so that a number lifts it."""

from collections.abc import Sequence
from copy import copy

from shouldread.circuit import flatten, state_edits
from shouldread.parts import Lift
from shouldread.solve.build import build
from shouldread.solve.network import Network
from shouldread.solve.patch import held
from shouldread.solve.steady import power_up


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
    out.stand(flat, power_up(net))
    return out
