"""Stages whose faults are to be found, each as the kit knows it and as it really is: other transistors, other spreads."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Stage:
    """``known`` is what the technician traced; ``models`` are lines of the real board in place of the known ones.

    ``places`` in the order of the signal; the first reading is taken at ``symptom``.
    """

    name: str
    known: str
    models: tuple[str, ...]
    places: tuple[str, ...]
    symptom: str

    def real(self, draw: np.random.Generator) -> str:
        """The netlist of one real board: its device models are drawn anew, none like the known one."""
        lines = [line for line in self.known.split("\n") if not line.startswith(".model")]
        drawn = {
            "IS": 10 ** draw.uniform(-0.35, 0.35),
            "BF": 10 ** draw.uniform(-0.2, 0.25),
            "VAF": draw.uniform(0.6, 2.0),
            "RB": draw.uniform(5, 20),
        }
        return "\n".join([*lines[:-1], *(model.format(**drawn) for model in self.models), ""])


TWO_TRANSISTORS = Stage(
    "NPN drives PNP on the high side",
    """* NPN drives PNP on the high side
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
        ".model QN NPN(IS={{7e-15*{IS}}} BF={{180*{BF}}} VAF={{80*{VAF}}} RB={RB} ISE=2e-14 NE=1.7 IKF=0.15)",
        ".model QP PNP(IS={{7e-15*{IS}}} BF={{150*{BF}}} VAF={{60*{VAF}}} RB={RB} ISE=1e-14 NE=1.6 IKF=0.1)",
    ),
    ("B1", "C1", "B2", "OUT"),
    "OUT",
)
TWO_FEEDS = Stage(
    "two NPN release an enable while both feeds are there",
    """* two NPN release an enable while both feeds are there
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
        ".model QN NPN(IS={{1e-14*{IS}}} BF={{200*{BF}}} VAF={{100*{VAF}}} RB={RB} ISE=3e-14 NE=1.8 IKF=0.2)",
        ".model DL D(IS={{2e-9*{IS}}} N=1.75 RS=0.6)",
    ),
    ("F", "B1", "X", "EN", "K"),
    "EN",
)
STAGES = (TWO_TRANSISTORS, TWO_FEEDS)
