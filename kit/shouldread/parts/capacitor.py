"""C: capacitors; for direct current an open, until they leak or short."""

from shouldread.parts.declare import declare

CAPACITOR = declare(
    letter="C",
    name="capacitor",
    pins=("1", "2"),
    unit="F",
    value_name="capacitance",
    ways={
        "open": (("lift", "1"),),
        "short": (("bridge", "1", "2", 0.01),),
        "leaky": (("bridge", "1", "2", "severity"),),
        "drifted high": (("scale", "value", "severity"),),
        "drifted low": (("scale", "value", "severity"),),
    },
    unreadable=(1e-12, 1e-3),
)
