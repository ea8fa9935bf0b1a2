"""A part taken off the board, on a meter for its own value: what it shows when it failed this way, and when not."""

from shouldread.diagnosis import Band
from shouldread.faults import Fault
from shouldread.parts import KINDS, Part, number_of
from shouldread.quantities import say
from shouldread.repair.derating import rules

LEFT = 0.05  # of its value: what an open capacitor's leads and pads still show (common practice, no source)


def own_bands(part: Part, fault: Fault) -> dict[str, tuple[Band, Band]]:
    """(right, wrong) of the number that a fault changes: farads, henries, ohms with four wires; none if it has none.

    A drift multiplies the number, a short stands in parallel with ohms, an open or shorted turns leave next to nothing.
    """
    mode = next((m for m in KINDS[part.kind].detail_of(part).modes if m.name == fault.mode), None)
    if mode is None or part.kind not in "RCL":
        return {}
    scaled = [str(row[1]) for row in mode.edits if row[0] == "scale"]
    what = scaled[0] if scaled else "value"
    good = number_of(part, what)
    if good is None or good.wide or not good.nominal > 0:
        return {}
    unit = KINDS[part.kind].unit if what == "value" else "Ω"
    if scaled and fault.severity_range is not None:
        low, middle, high = _degrees(fault)
        bad = (good.nominal * low, good.nominal * middle, good.nominal * high)
    elif unit == "Ω" and (ohms := _bridged(mode.edits)):
        bad = (0.0, good.nominal * ohms / (good.nominal + ohms), good.low * ohms / (good.low + ohms))
    elif unit != "Ω":
        bad = (0.0, 0.0, LEFT * good.nominal)
    else:
        return {}
    half = max((good.high - good.low) / 2, _usual(part) * good.nominal)  # as far as a good one may be off
    return {part.name: (_band(*bad, unit), _band(good.nominal - half, good.nominal, good.nominal + half, unit))}


def _usual(part: Part) -> float:
    """How far a good one's value usually lies off, as a share."""
    table = rules()["value"]
    return float(table.get(str(part.facts.get("detail", "")), table[part.kind]))


def _degrees(fault: Fault) -> tuple[float, float, float]:
    """Lowest, usual and highest factor of a drift; one and the same where its name says how bad it is."""
    span = fault.severity_range
    assert span is not None
    if fault.severity is not None:
        return fault.severity, fault.severity, fault.severity
    return span.low, span.median, span.high


def _bridged(edits: tuple[tuple[object, ...], ...]) -> float:
    """The ohms of a short that a fault lays across the part, or 0."""
    return next((float(str(row[3])) for row in edits if row[0] == "bridge" and row[3] != "severity"), 0.0)


def _band(low: float, typical: float, high: float, unit: str) -> Band:
    short = say(typical, unit, 3)
    span = f"at most {say(high, unit, 3)}" if low <= 0 else f"{say(low, unit, 3)} to {say(high, unit, 3)}"
    return Band(low, typical, high, span if low <= 0 else f"{short} ({span})", short)
