"""Small circuits that the tests of this room read their meters on."""

from shouldread.circuit import Circuit, load_circuit

STAGE = """* two feeds, one transistor
VMAIN 12V_MAIN 0 12
VAUX 12V_AUX 0 12
R1 12V_MAIN B1 47k
R2 B1 0 10k
Q1 X B1 0 QN
R3 12V_AUX X 10k
C17 X 0 1u
L1 12V_AUX FEED 10u
R9 FEED 0 1k
.model QN NPN(IS=7e-15 BF=180)
*: [states]
*: run = {}
*: aux_missing = { VAUX = "absent" }
"""

ODD_NAMES = """* rails as boards name them
V1 12V 0 12
V2 +5V 0 5
V3 V- 0 -12
R1 12V A-B 1k
R2 A-B 0 1k
R3 +5V PWR_EN# 1k
R4 PWR_EN# V- 100k
R5 12V X:Y 1k
R6 X:Y 0 1k
V12 N12 0 12
R7 N12 V12 1k
"""


def stage() -> Circuit:
    return load_circuit(STAGE)


def odd_names() -> Circuit:
    return load_circuit(ODD_NAMES)
