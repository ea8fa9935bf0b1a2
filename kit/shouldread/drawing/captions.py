"""The words beside a part: its name and its value as a schematic writes it."""

from shouldread.parts import KINDS, Part
from shouldread.quantities import Spread

_PREFIXES = ((1e9, "G"), (1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"), (1e-12, "p"))


def short_value(value: float, unit: str) -> str:
    """A number with its prefix, at most four digits: ``4.7 kΩ``, ``100 nF``, ``0 V``."""
    size = abs(value)
    if size == 0:
        return f"0 {unit}"
    for factor, prefix in _PREFIXES:
        if size >= factor * 0.99995:
            return f"{value / factor:.4g} {prefix}{unit}"
    return f"{value:.3g} {unit}"


def _spread(spread: Spread, unit: str, unreadable: tuple[float, float] | None) -> str:
    if not spread.wide:
        return short_value(spread.nominal, unit)
    if unreadable == (spread.low, spread.high):
        return f"? {unit}"
    low, high = short_value(spread.low, unit), short_value(spread.high, unit)
    number, prefix = low.split(" ", 1)
    return f"{number}..{high}" if high.endswith(prefix) else f"{low}..{high}"


def value_text(part: Part) -> str:
    """What stands under the name: the value with its unit, a zener's volts, an IC's sort; often nothing."""
    if part.block is not None:
        return part.block.name
    if part.value is not None:
        kind = KINDS[part.kind]
        return _spread(part.value, kind.unit, kind.unreadable)
    detail = str(part.facts.get("detail", ""))
    breakdown = part.model.params.get("BV", 0.0) if part.model and detail in ("zener", "tvs") else 0.0
    return short_value(breakdown, "V") if 0 < breakdown < 1e4 else ""
