"""ngspice's answer to the question that solve answered, and how far the two are apart."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from shouldread.circuit import OPTIONS, Asked, Circuit, Deck, Flat, asked, deck
from shouldread.faults import Fault
from shouldread.reference.ngspice import NGSPICE, Reply, how_to_install
from shouldread.reference.terminals import save_line, switch_amps, vectors_of
from shouldread.solve import DEFAULT_METER, Loading, Outcome, Solution, part_amps, pin_amps, solve

LOOSER = OPTIONS.replace("reltol=1e-9 vntol=1e-10", "reltol=1e-6 vntol=1e-6")  # what is compared
RELATIVE, VOLTS, AMPS = 1e-6, 1e-6, 1e-9  # two answers agree within a millionth and 1 µV, 1 nA
ANOTHER = 1e-3  # V: two answers that are nowhere further apart are one


@dataclass(frozen=True, slots=True)
class Opinion:
    """What ngspice says: volts of every node, amps of every part and pin, outcome; floating nodes are nan.

    ``difference`` is ngspice less the kit, in volts, at every node that both know; ``amps_difference`` the same
    by pin. ``kit`` is the kit's own answer.
    """

    volts: Mapping[str, float]
    amps: Mapping[str, float]
    pin_amps: Mapping[str, float]
    outcome: Outcome
    kit: Solution
    difference: Mapping[str, float] = field(default_factory=dict)
    amps_difference: Mapping[str, float] = field(default_factory=dict)

    @property
    def agrees(self) -> bool:
        """Whether both give the same volts (1e-6 relative + 1 µV) and amps (1e-6 relative + 1 nA) everywhere."""
        return self.volts_within(VOLTS) and all(
            abs(d) <= AMPS + RELATIVE * abs(self.kit.pin_amps[p]) for p, d in self.amps_difference.items()
        )

    def volts_within(self, most: float) -> bool:
        """Whether both give the same volts (1e-6 relative + ``most``, V) at every node, and there is one at least."""
        near = (abs(d) <= most + RELATIVE * abs(self.kit.volts[n]) for n, d in self.difference.items())
        return bool(self.difference) and all(near)

    def __str__(self) -> str:
        return self.outcome.sentence


def second_opinion(
    circuit: Circuit,
    *,
    state: str | None = None,
    fault: str | Fault | None = None,
    condition: str | None = None,
    meter_at: str | tuple[str, str] | None = None,
    meter: Loading | None = None,
) -> Opinion:
    """Ask ngspice what solve was asked (same arguments) and compare.

    ngspice gets the circuit as ``to_spice`` writes it, switch elements as the kit reached them, in a process of its
    own. Without ngspice the outcome is ``not available`` and says how to get it. Where ngspice by itself comes to
    another answer it is asked once more, started from the kit's. Raises UnknownNameError as solve does.
    """
    kit = solve(circuit, state=state, fault=fault, condition=condition, meter_at=meter_at, meter=meter)
    ohms = DEFAULT_METER if meter is None else meter.input_ohms
    question = asked(circuit, state=state, fault=fault, condition=condition, meter_at=meter_at, meter_ohms=ohms)
    table = _Table(question, kit)
    alone = table.ask()
    if alone is None:
        return Opinion({}, {}, {}, Outcome("not available", f"ngspice is not here: {how_to_install()}"), kit)
    first = table.opinion(alone)
    if first.agrees or kit.outcome.word in ("failed", "no steady state"):
        return first
    started = table.ask(start=kit.volts)
    if started is None:
        return first
    return _weighed(first, table.opinion(started))


def _weighed(alone: Opinion, started: Opinion) -> Opinion:
    """ngspice by itself, and started from the kit's answer."""
    if not started.agrees:
        return alone
    if alone.outcome.word == "failed":
        words = f"{alone.outcome.sentence}; started from the kit's answer it stays there"
        outcome = Outcome("solved", words)
    elif alone.volts_within(ANOTHER):
        words = "ngspice comes to the same answer less exactly; started from the kit's it agrees to the last digits"
        outcome = Outcome("solved", words)
    else:
        words = "by itself ngspice comes to another answer; started from the kit's it stays there: there are several"
        outcome = Outcome("several", words, others=(alone.volts,))
    return Opinion(
        started.volts,
        started.amps,
        started.pin_amps,
        outcome,
        started.kit,
        started.difference,
        started.amps_difference,
    )


class _Table:
    """One question in ngspice's words, and its answers in the kit's."""

    def __init__(self, question: Asked, kit: Solution) -> None:
        self.question, self.kit = question, kit
        self.flat: Flat = question.flat
        self.deck: Deck = deck(self.flat, question.board.title or question.board.name, kit.bits)
        self.terminals = vectors_of(self.flat, self.deck)

    def ask(self, start: Mapping[str, float] | None = None) -> Reply | None:
        amps = dict.fromkeys(name for name, _ in self.terminals.values())
        names = [name.lower() for node, name in self.deck.nodes.items() if node != "0"]
        hints = [f".nodeset v({self.deck.nodes[n]})={v!r}" for n, v in (start or {}).items() if n != "0" and v == v]
        text = self.deck.text(save_line(list(amps)), *hints, ".op")
        reply = NGSPICE.ask(text, [*names, *amps])
        if reply is not None and reply.trouble:  # what nothing holds cannot be settled to a tenth of a nanovolt
            looser = NGSPICE.ask(text.replace(OPTIONS, LOOSER), [*names, *amps])
            return reply if looser is None or looser.trouble else looser
        return reply

    def opinion(self, reply: Reply) -> Opinion:
        """The reply as volts and amps by the kit's names, compared with the kit's own."""
        if reply.trouble:
            nothing = dict.fromkeys(self.kit.volts, math.nan)
            outcome = Outcome("failed", f"ngspice has no answer: {reply.trouble}")
            return Opinion(nothing, dict.fromkeys(self.kit.amps, math.nan), {}, outcome, self.kit)
        floating = self.kit.outcome.floating
        every = {n: float(reply.vectors[s.lower()][0]) for n, s in self.deck.nodes.items() if n != "0"} | {"0": 0.0}
        volts = {n: math.nan if n in floating else every[n] for n in self.question.board.nodes}
        found = switch_amps(self.flat, every, self.kit.bits)
        found |= {
            place: sign * float(reply.vectors[name][0])
            for place, (name, sign) in self.terminals.items()
            if name in reply.vectors
        }
        pins = pin_amps(self.question, self.flat, found)
        apart = {n: volts[n] - v for n, v in self.kit.volts.items() if v == v and volts[n] == volts[n]}
        amps_apart = {p: pins[p] - i for p, i in self.kit.pin_amps.items() if i == i}
        outcome = Outcome("solved", _said(apart), floating=floating)
        amps = part_amps(self.question.board, pins)
        return Opinion(volts, amps, pins, outcome, self.kit, apart, amps_apart)


def _said(apart: Mapping[str, float]) -> str:
    if not apart:
        return "ngspice has an answer where the kit has none"
    node = max(apart, key=lambda n: abs(apart[n]))
    return f"ngspice and the kit are at most {abs(apart[node]):.2g} V apart, at {node}"
