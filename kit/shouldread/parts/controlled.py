"""E, G: linear controlled sources. B: the one row of the averaged converter, only inside models/."""

from shouldread.parts.declare import declare

VOLTAGE_GAIN = declare(
    letter="E",
    name="voltage gain",
    pins=("1", "2", "3", "4"),
    unit="V/V",
    value_name="gain",
    stand_in="a gain stands for the inside of an IC, whose failures are told by their effect",
)

TRANSCONDUCTANCE = declare(
    letter="G",
    name="transconductance",
    pins=("1", "2", "3", "4"),
    unit="A/V",
    value_name="transconductance",
    stand_in="a transconductance stands for the inside of an IC, whose failures are told by their effect",
)

CONVERTER_ROW = declare(
    letter="B",
    name="averaged converter input",
    pins=("1", "2"),
    unit="A",
    stand_in="the input current of an averaged converter follows from its output; only models/ may hold it",
)
