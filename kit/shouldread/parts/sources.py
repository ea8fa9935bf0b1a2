"""V: feeds and signals from outside. I: a current that something draws or gives."""

from shouldread.parts.declare import declare

VOLTAGE = declare(
    letter="V",
    name="supply",
    pins=("1", "2"),
    unit="V",
    value_name="voltage",
    ways={
        "absent": (("remove",),),
        "low": (("scale", "value", "severity"),),
    },
)

CURRENT = declare(
    letter="I",
    name="current source",
    pins=("1", "2"),
    unit="A",
    value_name="current",
    stand_in="a current stands for what some other circuit draws or gives, not for a component",
)
