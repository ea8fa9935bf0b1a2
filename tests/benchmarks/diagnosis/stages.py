"""Stages whose faults are to be found, each as the kit knows it and as it really is: other transistors, other spreads."""

from dataclasses import dataclass
from functools import cache

from shouldread import load_circuit
from shouldread.circuit import Circuit


@dataclass(frozen=True, slots=True)
class Stage:
    """``known`` is what the technician traced; ``models`` are lines of the real board in place of the known ones.

    ``places`` in the order of the signal; the first reading is taken at ``symptom``. ``wide``: a resistor whose value
    nobody can read. ``one_in``: of so many boards one is asked of this stage, where each takes long.
    """

    name: str
    known: str
    models: tuple[str, ...]
    places: tuple[str, ...]
    symptom: str
    wide: str
    one_in: int = 1


@cache
def known(stage: Stage) -> Circuit:
    """The stage as the technician knows it."""
    return load_circuit(stage.known)


TWO_TRANSISTORS = Stage(
    "NPN drives PNP on the high side",
    """* NPN drives PNP on the high side
*: [parts]
*: V12 = { tolerance = "5 %" }
V12 V12 0 12
R1 V12 B1 47k
R2 B1 0 10k
Q1 C1 B1 0 QN
R3 V12 C1 10k
R5 C1 B2 4.7k
Q2 OUT B2 V12 QP
R4 OUT 0 4.7k
.model QN NPN(IS=7e-15 BF=180 VAF=80)
.model QP PNP(IS=7e-15 BF=150 VAF=60)
""",
    (
        ".model QN NPN(IS={{7e-15*{IS}}} BF={{180*{BF}}} VAF={{80*{VAF}}} BR={BR} RB={RB} ISE=2e-14 NE=1.7 IKF=0.15)",
        ".model QP PNP(IS={{7e-15*{IS}}} BF={{150*{BF}}} VAF={{60*{VAF}}} BR={BR} RB={RB} ISE=1e-14 NE=1.6 IKF=0.1)",
    ),
    ("V12", "B1", "C1", "B2", "OUT"),
    "OUT",
    "R1",
)
TWO_FEEDS = Stage(
    "two NPN release an enable while both feeds are there",
    """* two NPN release an enable while both feeds are there
*: [parts]
*: V12 = { tolerance = "5 %" }
V12 A 0 12
L1 A F 10u
R1 A B1 47k
R2 B1 0 10k
Q1 X B1 0 QN
R3 F X 22k
Q2 EN X 0 QN
R6 F EN 47k
R7 EN 0 12k
D1 EN K DL
R8 K 0 100k
.model QN NPN(IS=1e-14 BF=200 VAF=100)
.model DL D(IS=2e-9 N=1.8)
""",
    (
        ".model QN NPN(IS={{1e-14*{IS}}} BF={{200*{BF}}} VAF={{100*{VAF}}} BR={BR} RB={RB} ISE=3e-14 NE=1.8 IKF=0.2)",
        ".model DL D(IS={{2e-9*{IS}}} N=1.75 RS=0.6)",
    ),
    ("A", "F", "B1", "X", "EN", "K"),
    "EN",
    "R7",
)


def _chain(switches: int) -> str:
    """Switched rails one behind the other, each of two transistors, as a netlist."""
    facts = ["*: [parts]", '*: V12 = { tolerance = "5 %" }']
    lines = ["* switched rails, each fed by the one before", *facts, "V12 S0 0 12"]
    for k in range(1, switches + 1):
        rail, out = f"S{k - 1}", f"S{k}"
        lines += [
            f"R{k}1 {rail} B{k} 47k",
            f"R{k}2 B{k} 0 10k",
            f"Q{k}1 C{k} B{k} 0 QN",
            f"R{k}3 {rail} C{k} 10k",
            f"R{k}5 C{k} P{k} 4.7k",
            f"Q{k}2 {out} P{k} {rail} QP",
            f"R{k}4 {out} 0 4.7k",
        ]
    return "\n".join([*lines, ".model QN NPN(IS=7e-15 BF=180 VAF=80)", ".model QP PNP(IS=7e-15 BF=150 VAF=60)", ""])


CHAIN = Stage(
    "six switched rails, each fed by the one before",
    _chain(6),
    TWO_TRANSISTORS.models,
    ("S0", *(f"{net}{k}" for k in range(1, 7) for net in "BCS")),
    "S6",
    "R31",
    4,
)
STAGES = (TWO_TRANSISTORS, TWO_FEEDS, CHAIN)
