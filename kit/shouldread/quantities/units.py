"""Other people's units made SI: inches, °F, ampere-hours, ounces of copper. The one place that uses pint.

pint parses expressions and can hang on one (``9**9**9``), so it never sees typed text: the unit comes out
of the closed table below, and only the name in the table reaches pint.
"""

from collections.abc import Mapping
from functools import cache

import pint

from shouldread.errors import UnknownNameError
from shouldread.quantities.symbols import plain_signs

# dimension -> SI unit, and what may be written -> pint's name
UNITS: Mapping[str, tuple[str, Mapping[str, str]]] = {
    "voltage": ("volt", {"V": "volt", "mV": "millivolt", "µV": "microvolt", "kV": "kilovolt"}),
    "current": ("ampere", {"A": "ampere", "mA": "milliampere", "µA": "microampere", "nA": "nanoampere"}),
    "resistance": ("ohm", {"Ω": "ohm", "mΩ": "milliohm", "kΩ": "kiloohm", "MΩ": "megaohm"}),
    "power": ("watt", {"W": "watt", "mW": "milliwatt", "kW": "kilowatt", "hp": "horsepower"}),
    "energy": (
        "joule",
        {"J": "joule", "mJ": "millijoule", "Wh": "watt_hour", "kWh": "kilowatt_hour", "cal": "calorie"},
    ),
    "charge": ("coulomb", {"C": "coulomb", "Ah": "ampere_hour", "mAh": "milliampere_hour"}),
    "temperature": ("kelvin", {"K": "kelvin", "°C": "degree_Celsius", "°F": "degree_Fahrenheit"}),
    "time": ("second", {"s": "second", "ms": "millisecond", "µs": "microsecond", "min": "minute", "h": "hour"}),
    "length": (
        "meter",
        {"m": "meter", "cm": "centimeter", "mm": "millimeter", "µm": "micrometer", "in": "inch", "mil": "thou"},
    ),
    "area": ("meter**2", {"m²": "meter**2", "mm²": "millimeter**2", "in²": "inch**2"}),
    "mass": ("kilogram", {"kg": "kilogram", "g": "gram", "oz": "ounce"}),
    "copper": ("kilogram/meter**2", {"kg/m²": "kilogram/meter**2", "oz/ft²": "ounce/foot**2", "oz": "ounce/foot**2"}),
}
_SAME = {"inch": "in", '"': "in", "degC": "°C", "degF": "°F", "ohm": "Ω", "hr": "h", "thou": "mil"}


@cache
def _registry() -> "pint.UnitRegistry[float]":
    return pint.UnitRegistry()


def to_si(value: float, unit_text: str, dimension: str) -> float:
    """A value given in ``unit_text`` as the SI figure of its dimension.

    Raises UnknownNameError for a dimension or unit that is not in the closed table.

    >>> round(to_si(25, "°C", "temperature"), 2), to_si(90, "min", "time")
    (298.15, 5400.0)
    """
    if dimension not in UNITS:
        raise UnknownNameError("dimension", dimension, UNITS)
    target, names = UNITS[dimension]
    written = plain_signs(unit_text).strip()
    if written.startswith("u") and f"µ{written[1:]}" in names:
        written = f"µ{written[1:]}"
    written = _SAME.get(written, written)
    if written not in names:
        raise UnknownNameError(f"unit of {dimension}", unit_text[:40], names)
    return float(_registry().Quantity(value, names[written]).to(target).magnitude)
