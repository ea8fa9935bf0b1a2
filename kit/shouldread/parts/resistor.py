"""R: resistors, and all that reads as ohms: fuses, shunts, beads, contacts, loads, traces."""

from shouldread.parts.declare import declare

RESISTOR = declare(
    letter="R",
    name="resistor",
    pins=("1", "2"),
    unit="Ω",
    value_name="resistance",
    ways={
        "open": (("lift", "1"),),
        "short": (("bridge", "1", "2", 0.01),),
        "drifted high": (("scale", "value", "severity"),),
        "drifted low": (("scale", "value", "severity"),),
    },
    unreadable=(1.0, 1e6),
)
