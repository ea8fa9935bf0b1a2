"""Reference: ngspice's answer beside the kit's own, and what happens in time."""

from shouldread.reference.ngspice import Ngspice
from shouldread.reference.second_opinion import Opinion, second_opinion
from shouldread.reference.waveform import Waveform, waveform

__all__ = ["Ngspice", "Opinion", "Waveform", "second_opinion", "waveform"]
