"""Compiling the engine once, with a word on how far it is."""

import time
from collections.abc import Callable

from shouldread.circuit import load_circuit
from shouldread.parts.laws.kernel import CACHE
from shouldread.solve.answer import solve
from shouldread.solve.network import Network

_EVERY_KIND = """every kind of part once
V1 IN 0 5
R1 IN A 1k
D1 A 0 DX
Q1 C A 0 QX
R2 IN C 10k
M1 D C 0 0 MX
R3 IN D 1k
S1 D 0 A 0 SX
G1 0 E A 0 1m
R4 E 0 1k
E1 F 0 A 0 2
R5 F 0 1k
I1 0 A 1m
.model DX D
.model QX NPN
.model MX NMOS(VTO=1)
.model SX SW(VT=9 VH=1)
"""


def warm_up(say: Callable[[str], None] = lambda words: None) -> float:
    """Compile every kernel (or load it from the cache of an earlier start). Returns the seconds it took."""
    start = time.monotonic()
    if CACHE is None:
        say("The engine cannot be kept compiled here (no writable cache folder): each start takes a minute longer.")
    say("Getting the engine ready (the first time: a minute) ...")
    circuit = load_circuit(_EVERY_KIND)
    solve(circuit)
    Network(circuit).solve().sensitivity([("A", "0")])
    took = time.monotonic() - start
    say(f"The engine is ready ({took:.0f} s).")
    return took
