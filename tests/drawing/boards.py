"""Circuits the drawing is tried on: small netlists, odd ones, and random ones that make no sense."""

from functools import cache
from random import Random

from shouldread.circuit import Circuit, load_circuit, shelf
from shouldread.drawing import Drawing, lay_out

MODELS = """\
.model QN NPN(IS=7e-15 BF=180)
.model QP PNP(IS=7e-15 BF=150)
.model MN NMOS(LEVEL=1 VTO=1.6 KP=0.35)
.model MP PMOS(LEVEL=1 VTO=-0.9 KP=12)
.model DS D(IS=2.5e-9 N=1.75)
.end
"""
DIVIDER = "* divider\nV1 VIN 0 12\nR1 VIN MID 10k\nR2 MID 0 4.7k\n.end\n"
INVERTER = (
    "* inverter\nV3 V3 0 3.3\nVIN IN 0 0\nR1 IN B 10k\nR2 B 0 47k\nQ1 EN B 0 QN\nR3 V3 EN 10k\nRL EN 0 1meg\n" + MODELS
)
ODD = {
    "both pins on one node": "* t\nV1 A 0 5\nR1 A B 1k\nR2 B B 1k\nR3 B 0 1k\n.end\n",
    "both pins on ground": "* t\nV1 A 0 5\nR1 A 0 1k\nR2 0 0 1k\n.end\n",
    "a source and nothing else": "* t\nV1 A 0 5\n.end\n",
    "two sources on one node": "* t\nV1 A 0 5\nV2 A 0 5\nR1 A 0 1k\n.end\n",
    "sources between nodes": "* t\nV1 A B 5\nR1 A 0 1k\nR2 B 0 1k\nI1 A B 1m\n.end\n",
    "a negative supply": "* t\nV1 VP 0 12\nV2 VN 0 -12\nR1 VP X 1k\nR2 X VN 1k\nD1 0 VN DS\nQ1 VN X 0 QP\n" + MODELS,
    "a bulk of its own": "* t\nV1 V5 0 5\nM1 D G S 0 MN\nR1 V5 D 1k\nR2 S 0 1k\nR3 V5 G 1k\n" + MODELS,
    "gains and a switch": "* t\nV1 IN 0 1\nE1 OUT 0 IN 0 10\nG1 0 O2 OUT IN 1m\nR1 O2 0 1k\nS1 O2 X OUT 0 SW\n"
    "R2 X 0 1k\n.model SW SW(VT=1)\n.end\n",
    "bench supplies": "* t\nX1 VIN 0 SUPPLY vset=12 ilim=1\nR1 VIN OUT 1k\nX2 A B SUPPLY\nR2 A 0 1k\nR3 B 0 1k\n.end\n",
    "the longest names": f"* t\nV1 {'N' * 40} 0 5\nR1 {'N' * 40} B 1k\nR{'P' * 39} B 0 1k\n.end\n",
    "an IC on its supplies": "* t\nV1 V5 0 5\n.subckt U A B C D E F G H\nR1 A B 1k\nR2 C D 1k\nR3 E F 1k\nR4 G H 1k\n.ends\n"
    "X1 V5 V5 0 N1 N2 N3 0 V5 U\nR1 N1 N2 1k\nR2 N3 0 1k\n.end\n",
    "a chain of forty": "* t\nV1 N0 0 5\n" + "".join(f"R{k} N{k - 1} N{k} 1\n" for k in range(1, 41)) + ".end\n",
}


def random_text(seed: int, size: int) -> str:
    """A netlist of parts thrown together."""
    random = Random(seed)
    nodes = ["0", "V5", "V3", *(f"N{k}" for k in range(max(2, size // 2)))]
    lines = ["* thrown together", "V5 V5 0 5", "V3 V3 0 3.3"]
    for k in range(size):
        sort = random.choice("RRRRRCDDQQM")
        chosen = random.sample(nodes, 3)
        if sort in "RC":
            lines.append(f"{sort}{k} {chosen[0]} {chosen[1]} {'10k' if sort == 'R' else '10u'}")
        elif sort == "D":
            lines.append(f"D{k} {chosen[0]} {chosen[1]} DS")
        elif sort == "Q":
            lines.append(f"Q{k} {' '.join(chosen)} {random.choice(('QN', 'QP'))}")
        else:
            lines.append(f"M{k} {' '.join(chosen)} {chosen[2]} {random.choice(('MN', 'MP'))}")
    return "\n".join(lines) + "\n" + MODELS


@cache
def drawn(name: str) -> tuple[Circuit, Drawing]:
    """A circuit of the shelf and its drawing."""
    circuit = load_circuit(name)
    return circuit, lay_out(circuit)


SHELF = shelf().names
FRAGMENTS = tuple(entry.name for entry in shelf() if entry.sort == "fragment")
