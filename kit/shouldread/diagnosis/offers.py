"""Offered probes: every reading that a technician could take next, with what it costs and what to mind."""

from collections.abc import Iterator
from dataclasses import dataclass

from shouldread.circuit import Circuit
from shouldread.diagnosis.board import Board, Context
from shouldread.diagnosis.cautions import Figure, figures_of, told_of
from shouldread.diagnosis.taken import Pair
from shouldread.diagnosis.variables import COLD
from shouldread.meter import pads

REACH = {"": 1.0, "easy": 1.0, "fair": 1.5, "hard": 3.0}  # minutes or so to get a probe there (own judgement)
SETTING = {"volts": 0.0, "ohms": 1.0, "diode": 1.3, "amps": 0.2}  # more: switch off, discharge, wait (own judgement)
OTHER_STATE = 0.7  # more for feeding the board otherwise than in its first state (own judgement)
ITSELF = 0.9  # of the cost where a part is read by itself: what it shows needs no thought (own judgement)
NO_REACH = ("none", "no")
USUAL = ("slip", "dead board")  # of a probe's own words; what holds for the whole board is said once elsewhere


@dataclass(frozen=True, slots=True)
class Offer:
    """A reading that may be taken: ``at`` as it is typed, its leads, setting and context, cost and caution."""

    at: str
    pair: Pair
    setting: str
    context: Context
    cost: float
    caution: str
    parts: tuple[str, ...]

    @property
    def key(self) -> tuple[Context, str, Pair]:
        """What makes two offers one and the same reading."""
        return self.context, self.setting, self.pair


def offers(board: Board) -> tuple[Offer, ...]:
    """Every offered probe: volts of nodes in all states; ohms of nodes and parts, and diode, with nothing fed.

    Where a caution leaves live work to licensed practice no volts are offered.
    """
    found: dict[tuple[Context, str, Pair], Offer] = {}
    good = [board.good(board.context(state)) for state in board.circuit.states]
    mind = _Mind(board.circuit, figures_of(board.circuit, good))
    live = () if mind.referred else _volts(board, mind)
    for offer in (*live, *_cold(board, mind)):
        found.setdefault(offer.key, offer)
    return tuple(found.values())


def _cost(circuit: Circuit, nodes: Pair) -> float | None:
    """Cost of reaching both ends; None where one cannot be reached."""
    reach = []
    for node in nodes:
        facts = circuit.node_facts.get(node)
        word = facts.reach.casefold() if facts is not None else ""
        if node != "0" and word in NO_REACH:
            return None
        reach.append(0.0 if node == "0" else REACH.get(word, 1.5))
    return max(reach)


def _near(circuit: Circuit, pair: Pair, aside: str = "") -> tuple[str, ...]:
    """Parts that touch a place of the pair (ground aside), but those of the kinds ``aside``."""
    ends = set(pair) - {"0"}
    return tuple(p.name for p in circuit.netlist.values() if p.kind not in aside and ends & set(p.nodes))


@dataclass(frozen=True, slots=True)
class _Mind:
    """What to mind on a board: its figures are reckoned once for all its offers."""

    circuit: Circuit
    figures: tuple[Figure, ...]

    @property
    def referred(self) -> bool:
        """Whether live probing is left to licensed practice."""
        return any(c.refer for c in told_of(self.circuit, self.figures, ""))

    def words(self, pair: Pair, setting: str) -> str:
        """The cautions of the nodes, of what hangs on them, and of the setting."""
        facts = self.circuit.node_facts
        own = [c for n in pair if n in facts for c in facts[n].cautions]
        told = told_of(self.circuit, self.figures, setting, at=(*pair, *_near(self.circuit, pair)))
        return "; ".join([*own, *(c.say for c in told if c.at or c.rule in USUAL)])


def _volts(board: Board, mind: _Mind) -> Iterator[Offer]:
    circuit = board.circuit
    for number, name in enumerate(circuit.state_table):
        context = Context(circuit.state(name).name)
        for node in circuit.nodes:
            pair = (node, "0")
            cost = _cost(circuit, pair)
            if node != "0" and cost is not None:
                more = OTHER_STATE if number else 0.0
                yield Offer(node, pair, "volts", context, cost + more, mind.words(pair, "volts"), _near(circuit, pair))


def _cold(board: Board, mind: _Mind) -> Iterator[Offer]:
    circuit, context = board.circuit, Context(COLD)
    rows: list[tuple[str, Pair, str, tuple[str, ...]]] = []
    for part in circuit.netlist.values():
        if part.kind in "RL" and len(part.nodes) == 2:
            rows.append((part.name, (part.nodes[0], part.nodes[1]), "ohms", (part.name,)))
        elif part.kind == "D":
            rows.append((part.name, (part.nodes[0], part.nodes[1]), "diode", (part.name,)))
        elif part.kind == "Q":
            leads = ((1, 2), (1, 0)) if part.model is None or part.model.type == "NPN" else ((2, 1), (0, 1))
            for red, black in leads:
                at = f"{part.name}.{part.pins[red]} to {part.name}.{part.pins[black]}"
                pair = pads(circuit, (f"{part.name}.{part.pins[red]}", f"{part.name}.{part.pins[black]}"))
                rows.append((at, pair, "diode", (part.name,)))
    by_itself = "RLDQ"  # parts of these kinds are read across, which tells more of them than a node does
    rows += [(n, (n, "0"), "ohms", _near(circuit, (n, "0"), by_itself)) for n in circuit.nodes if n != "0"]
    for at, pair, setting, parts in rows:
        cost = _cost(circuit, pair)
        if cost is not None and pair[0] != pair[1]:
            across = ITSELF if len(parts) == 1 and at.startswith(parts[0]) else 1.0
            yield Offer(
                at, pair, setting, context, (cost + SETTING[setting]) * across, mind.words(pair, setting), parts
            )
