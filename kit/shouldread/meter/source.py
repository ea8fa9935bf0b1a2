"""The source that an ohms or diode range puts on the leads, and what it shows of the volts between the tips.

The meter is a Thevenin source: open-circuit volts behind volts over amps, plus the leads. It divides the
volts at its jacks by the current it delivers, so leads are part of what it shows.
"""

import math
from dataclasses import dataclass

from shouldread.errors import RequestError
from shouldread.meter.profile import Meter, Range


@dataclass(frozen=True, slots=True)
class Thevenin:
    """Volts behind ohms, leads included."""

    volts: float
    ohms: float


def thevenin(meter: Meter, setting: str, within: Range | None = None) -> Thevenin:
    """What the leads see: the load of volts, the source of ohms and diode (the top range unless one is given).

    Raises RequestError for amps, where the supply's own display is read and nothing is connected.
    """
    if setting == "volts":
        return Thevenin(0.0, meter.input_ohms)
    picked = within if within is not None else meter.ranges(setting)[-1]
    if setting == "amps" or picked.short_amps <= 0:
        raise RequestError(f"the setting {setting} puts no source on the leads", value=setting)
    return Thevenin(picked.open_volts, picked.source_ohms + picked.lead_ohms)


def shown_of(setting: str, within: Range, tip_volts: float) -> float:
    """What a range shows when ``tip_volts`` stand between the tips: ohms with leads, or a diode's volts."""
    amps = (within.open_volts - tip_volts) / (within.source_ohms + within.lead_ohms)
    jacks = tip_volts + amps * within.lead_ohms
    if setting == "diode":
        return jacks
    return math.inf if amps <= 1e-12 * within.short_amps else jacks / amps


def tip_volts(within: Range, ohms: float) -> float:
    """The volts between the tips when an ohms range shows ``ohms`` (the inverse of ``shown_of``)."""
    if math.isinf(ohms):
        return within.open_volts
    beyond = max(ohms - within.lead_ohms, 0.0)
    return within.open_volts * beyond / (within.source_ohms + within.lead_ohms + beyond)
