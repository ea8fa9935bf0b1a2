"""Ladder-like boards of any size, and random boards with one to five faults."""

import random
from dataclasses import dataclass

import shouldread as sr
from shouldread.circuit import Circuit

from tests.second_opinion.boards import staged, tangled

MODELS = ".model DX D(IS=4e-9 N=1.8 RS=0.6)\n.model QX NPN(IS=7e-15 BF=180 VAF=80)\n"
FEWEST, MOST = 5, 60  # nodes of a random board


def ladder(nodes: int) -> str:
    """A chain of resistors with loads; every fifth node has a diode to ground, every tenth drives a transistor."""
    lines, left = ["V1 n1 0 12"], nodes - 1
    last, k = "n1", 1
    while left > 0:
        k, left = k + 1, left - 1
        here = f"n{k}"
        lines += [f"RS{k} {last} {here} 33", f"RL{k} {here} 0 {4700 + 100 * (k % 7)}"]
        if k % 5 == 0:
            lines.append(f"D{k} 0 {here} DX")
        if k % 10 == 0 and left > 1:
            base, collector = f"b{k}", f"c{k}"
            lines += [f"RB{k} {here} {base} 100k", f"RC{k} {here} {collector} 22k", f"Q{k} {collector} {base} 0 QX"]
            left -= 2
        last = here
    return "\n".join([f"* ladder of {nodes} nodes", *lines, MODELS, ".end", ""])


@dataclass(frozen=True, slots=True)
class Ill:
    """A random board with its faults; ``seed`` makes it again."""

    seed: int
    circuit: Circuit
    faults: tuple[str, ...]


def ill_board(seed: int) -> Ill:
    """Stages (three of four) or a tangle, of five to sixty nodes, with one to five faults on different parts."""
    draw = random.Random(seed)
    while True:
        text = staged(draw.randrange(2**40), 8) if draw.random() < 0.75 else tangled(draw.randrange(2**40))
        circuit = sr.load_circuit(text)
        if FEWEST <= len(circuit.nodes) - 1 <= MOST:
            break
    faults: list[str] = []
    touched: set[str] = set()
    for _ in range(draw.randint(1, 5)):
        single = draw.choice(circuit.single_faults)
        if touched.isdisjoint(single.parts):
            touched.update(single.parts)
            faults.append(str(single))
            circuit = circuit.with_fault(single)
    return Ill(seed, circuit, tuple(faults))
