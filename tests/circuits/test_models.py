"""Every block of models/ is whole: pins with their part, effects with shares and sources, each doing something."""

import math
from functools import cache

import pytest
import shouldread as sr
from shouldread.circuit import Circuit
from shouldread.parts import Block, Part

ROLES = ("in", "out", "supply", "ground", "enable", "feedback", "flag")
SIDES = ("left", "right", "top", "bottom")


@cache
def uses() -> dict[str, list[tuple[Circuit, Part]]]:
    """Every use of a block on the shelf, by the block's name."""
    found: dict[str, list[tuple[Circuit, Part]]] = {}
    for entry in sr.shelf():
        circuit = sr.load_circuit(entry.name)
        for part in circuit.netlist.values():
            if part.block is not None:
                found.setdefault(part.block.name, []).append((circuit, part))
    return found


def block(name: str) -> Block:
    used = uses()[name][0][1].block
    assert used is not None
    return used


@pytest.mark.parametrize("name", sorted(uses()))
def test_it_is_whole(name: str) -> None:
    """Words, a failure rate, what each pin is and where it is drawn."""
    b = block(name)
    missing = [what for what in ("about", "rate") if not getattr(b, what)]
    for pin in b.pins:
        facts = b.pin_facts[pin]
        missing += [f"{pin}: role"] if facts.role not in ROLES else []
        missing += [f"{pin}: side"] if facts.side not in SIDES else []
    missing += [] if any(f.role == "ground" for f in b.pin_facts.values()) or name == "AMPLIFIER" else ["a ground pin"]
    assert not missing, "\n".join(missing)


@pytest.mark.parametrize("name", sorted(uses()))
def test_its_effects_are_sourced_and_their_shares_sum_to_one(name: str) -> None:
    effects = block(name).effects
    missing = [f"{e.name}: source" for e in effects if not e.source]
    needs = [e.name for e in effects if any("severity" in row for row in e.edits) != (e.severity is not None)]
    assert not missing + needs
    assert math.fsum(e.share for e in effects) == pytest.approx(1, abs=0.005)
    assert len({e.name for e in effects}) == len(effects)


def moves(circuit: Circuit, part: Part, effect: str) -> bool:
    """Whether the effect moves a node or a supply's current, in some state of the circuit."""
    for state in circuit.state_table:
        healthy = sr.solve(circuit, state=state)
        ill = sr.solve(circuit, state=state, fault=f"{part.name} {effect}")
        if any(abs(ill.volts[n] - v) > 1e-3 for n, v in healthy.volts.items() if not math.isnan(v)):
            return True
        if any(abs(ill.amps[p] - a) > 1e-5 for p, a in healthy.amps.items() if not math.isnan(a)):
            return True
    return False


@pytest.mark.parametrize(("name", "effect"), [(name, e.name) for name in sorted(uses()) for e in block(name).effects])
def test_each_effect_shows_somewhere(name: str, effect: str) -> None:
    """An effect that moves nothing in any use on the shelf would be words only."""
    assert any(moves(circuit, part, effect) for circuit, part in sorted(uses()[name], key=lambda u: len(u[0].parts)))
