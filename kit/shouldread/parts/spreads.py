"""What is unsure about a part: every number of it that varies, and how far."""

import math

from shouldread.parts.kind import PartKind, SpreadRule
from shouldread.parts.kinds import KINDS
from shouldread.parts.part import Model, Part
from shouldread.quantities import Spread

THERMAL_VOLTS = 1.380649e-23 * 300.15 / 1.602176634e-19  # kT/q at 27 °C, SI defining constants


def model_value(kind: PartKind, model: Model | None, what: str) -> float:
    """A model parameter as SPICE takes it: as written, else its default (an unwritten NBV is N)."""
    given = {} if model is None else model.params
    if what in given:
        return given[what]
    default = kind.model_params[what]
    return model_value(kind, model, "N") if math.isnan(default) else default


def _fact_spread(part: Part, what: str) -> Spread | None:
    fact = part.facts.get(what)
    if isinstance(fact, Spread):
        return fact
    return Spread.exact(float(fact)) if isinstance(fact, int | float) and not isinstance(fact, bool) else None


def number_of(part: Part, what: str) -> Spread | None:
    """A number of a part as typed: its value, a fact (``dcr``), a setting or a model parameter; or None."""
    if what == "value":
        return part.value
    fact = _fact_spread(part, what)
    if fact is not None:
        return fact
    if what in part.settings:
        return Spread.exact(part.settings[what])
    kind = KINDS[part.kind]
    if what in kind.model_params:
        return Spread.exact(model_value(kind, part.model, what))
    return Spread.exact(kind.settings[what]) if what in kind.settings else None


def _widened(rule: SpreadRule, nominal: float, part: Part) -> Spread:
    if rule.law == "fraction":
        return Spread.normal(nominal, rule.amount)
    if rule.law == "volts":
        return Spread(nominal, nominal - rule.amount, nominal + rule.amount, "normal")
    factor = rule.amount
    if rule.law == "junction volts":
        kind = KINDS[part.kind]
        emission = model_value(kind, part.model, "N" if part.kind == "D" else "NF")
        factor = math.exp(rule.amount / (emission * THERMAL_VOLTS))
    return Spread(nominal, nominal / factor, nominal * factor, "normal")


def _rules(part: Part) -> tuple[SpreadRule, ...]:
    kind = KINDS[part.kind]
    own = kind.detail_of(part).spreads
    named = {rule.what for rule in own}
    return own + tuple(rule for rule in kind.spreads if rule.what not in named)


def is_of_type(part: Part, what: str) -> bool:
    """Whether all parts of this one's model have a number in common."""
    return part.model is not None and any(rule.what == what and rule.of_type for rule in _rules(part))


def spreads_of(part: Part) -> tuple[tuple[str, Spread], ...]:
    """Every number of a part that varies, with its spread: typed tolerances, else the trade's defaults.

    An IC's block parameters vary as its model file states. A number that is 0 or infinite (no breakdown
    given, no winding resistance) has nothing to vary.
    """
    if part.block is not None:
        return tuple(
            (what, spread if what not in part.settings else spread.around(part.settings[what]))
            for what, spread in part.block.spreads.items()
        )
    out = []
    rules = {rule.what: rule for rule in _rules(part)}
    for what in dict.fromkeys(("value", *rules)):
        number = number_of(part, what)
        if number is None or not math.isfinite(number.nominal) or number.nominal == 0:
            continue
        if number.law == "exact" and what in rules:
            number = _widened(rules[what], number.nominal, part)
        if number.law != "exact" and number.low != number.high:
            out.append((what, number))
    return tuple(out)
