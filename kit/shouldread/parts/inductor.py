"""L: inductors; for direct current their winding resistance (the ``dcr`` fact, 0 Ω without one)."""

from shouldread.parts.declare import declare

INDUCTOR = declare(
    letter="L",
    name="inductor",
    pins=("1", "2"),
    unit="H",
    value_name="inductance",
    ways={
        "open": (("lift", "1"),),
        "short": (("bridge", "1", "2", 0.01),),
        "drifted high": (("scale", "dcr", "severity"),),
    },
    unreadable=(1e-9, 1e-2),
    settings={"dcr": 0.0},
)
