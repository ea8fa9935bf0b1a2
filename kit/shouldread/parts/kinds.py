"""All kinds of part by their netlist letter."""

from collections.abc import Mapping
from types import MappingProxyType

from shouldread.parts.bipolar import BIPOLAR
from shouldread.parts.block import BLOCK
from shouldread.parts.capacitor import CAPACITOR
from shouldread.parts.controlled import CONVERTER_ROW, TRANSCONDUCTANCE, VOLTAGE_GAIN
from shouldread.parts.diode import DIODE
from shouldread.parts.inductor import INDUCTOR
from shouldread.parts.kind import PartKind
from shouldread.parts.mosfet import MOSFET
from shouldread.parts.resistor import RESISTOR
from shouldread.parts.sources import CURRENT, VOLTAGE
from shouldread.parts.switch import SWITCH

_ALL = (
    RESISTOR,
    CAPACITOR,
    INDUCTOR,
    DIODE,
    BIPOLAR,
    MOSFET,
    SWITCH,
    VOLTAGE,
    CURRENT,
    VOLTAGE_GAIN,
    TRANSCONDUCTANCE,
    CONVERTER_ROW,
    BLOCK,
)

KINDS: Mapping[str, PartKind] = MappingProxyType({kind.letter: kind for kind in _ALL})
