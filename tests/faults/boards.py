"""Boards of a few parts for the tests of faults."""

import shouldread as sr
from shouldread.circuit import Circuit

CARD = """* relay card
V12 12V 0 12
RF1 12V FEED 30m
L1 FEED RAIL 10u
C1 RAIL 0 10u
R1 RAIL B 10k
R2 B 0 1k
Q1 C B 0 QN
R3 RAIL C 1k
M1 SW C RAIL RAIL MP
R7 SW 0 1k
D1 0 OUT DZ
X1 RAIL EN FB OUT 0 REGULATOR
R4 RAIL EN 10k
R5 OUT FB 31.6k
R6 FB 0 10k
.model QN NPN(IS=7e-15 BF=180)
.model MP PMOS(VTO=-0.9 KP=2)
.model DZ D(IS=1e-14 BV=5.1)
*: [parts]
*: RF1 = { detail = "fuse" }
*: D1 = { detail = "zener" }
*: R6 = { value = "?" }
*: X1 = { neighbours = ["IN-EN"] }
"""


def card() -> Circuit:
    return sr.load_circuit(CARD)
