"""S: switches and contacts: a hard threshold with memory on the volts between two control nodes."""

from shouldread.parts.declare import declare

SWITCH = declare(
    letter="S",
    name="switch",
    pins=("1", "2", "3", "4"),
    unit="",
    ways={
        "open": (("lift", "1"),),
        "short": (("bridge", "1", "2", 0.01),),
    },
    model_types=("SW",),
    model_params={"VT": 0.0, "VH": 0.0, "RON": 1.0, "ROFF": 1e12},
    settings={"on": 0.0},
)
