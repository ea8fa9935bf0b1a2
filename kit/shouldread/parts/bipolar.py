"""Q: bipolar transistors, NPN and PNP (Gummel-Poon in direct current)."""

import math

from shouldread.parts.declare import declare

BIPOLAR = declare(
    letter="Q",
    name="transistor",
    pins=("c", "b", "e"),
    unit="",
    ways={
        "collector open": (("lift", "c"),),
        "base open": (("lift", "b"),),
        "emitter open": (("lift", "e"),),
        "collector-emitter short": (("bridge", "c", "e", 0.01),),
        "base-emitter short": (("bridge", "b", "e", 0.01),),
        "base-collector short": (("bridge", "b", "c", 0.01),),
        "leaky": (("bridge", "c", "e", "severity"),),
    },
    model_types=("NPN", "PNP"),
    model_params={
        "IS": 1e-16,
        "BF": 100.0,
        "BR": 1.0,
        "NF": 1.0,
        "NR": 1.0,
        "VAF": math.inf,
        "VAR": math.inf,
        "IKF": math.inf,
        "IKR": math.inf,
        "ISE": 0.0,
        "NE": 1.5,
        "ISC": 0.0,
        "NC": 2.0,
        "RB": 0.0,
        "RC": 0.0,
        "RE": 0.0,
    },
    ignored_params=frozenset(
        "CJE VJE PE MJE ME CJC VJC PC MJC MC XCJC CJS CCS VJS PS MJS MS TF XTF VTF ITF TR PTF FC KF AF EG "
        "XTI XTB TNOM TREF LEVEL".split()
    ),
    settings={"AREA": 1.0, "M": 1.0},
)
