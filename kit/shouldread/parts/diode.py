"""D: diodes of every sort: rectifier, signal, schottky, zener, TVS, LED."""

import math

from shouldread.parts.declare import declare

DIODE = declare(
    letter="D",
    name="diode",
    pins=("a", "k"),
    unit="",
    ways={
        "open": (("lift", "a"),),
        "short": (("bridge", "a", "k", 0.01),),
        "leaky": (("bridge", "a", "k", "severity"),),
    },
    model_types=("D",),
    # nan: ngspice takes N of the same model (measured with ngspice 39)
    model_params={
        "IS": 1e-14,
        "N": 1.0,
        "RS": 0.0,
        "BV": math.inf,
        "IBV": 1e-3,
        "NBV": math.nan,
    },
    ignored_params=frozenset(
        "CJO CJ0 CJ VJ PB M MJ TT FC KF AF EG XTI TNOM TREF CJP CJSW PHP MJSW VJSW FCS TRS TRS1 TRS2 "
        "CTA CTC CTP TCV TM1 TM2 TTT1 TTT2 LEVEL".split()
    ),
    settings={"AREA": 1.0, "M": 1.0},
)
