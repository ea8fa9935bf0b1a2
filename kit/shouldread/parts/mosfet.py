"""M: field-effect transistors, N and P channel (level 1), body diodes from their bulk."""

from shouldread.parts.declare import declare

MOSFET = declare(
    letter="M",
    name="field-effect transistor",
    pins=("d", "g", "s", "b"),
    unit="",
    ways={
        "drain open": (("lift", "d"),),
        "gate open": (("lift", "g"),),
        "source open": (("lift", "s"), ("lift", "b", "s")),
        "drain-source short": (("bridge", "d", "s", 0.01),),
        "gate-source short": (("bridge", "g", "s", 0.01),),
        "gate-drain short": (("bridge", "g", "d", 0.01),),
        "leaky": (("bridge", "d", "s", "severity"),),
    },
    model_types=("NMOS", "PMOS"),
    model_params={
        "VTO": 0.0,
        "KP": 2e-5,
        "LAMBDA": 0.0,
        "GAMMA": 0.0,
        "PHI": 0.6,
        "RD": 0.0,
        "RS": 0.0,
        "IS": 1e-14,
        "W": 1e-4,
        "L": 1e-4,
    },
    ignored_params=frozenset("LEVEL CGSO CGDO CGBO CBD CBS PB CJ MJ CJSW MJSW FC KF AF TNOM TREF".split()),
    settings={"W": 1e-4, "L": 1e-4, "M": 1.0},
)
