"""Putting a kind together: its ways to fail as edits (code) with their shares and spreads (data files)."""

from collections.abc import Mapping

from shouldread.parts.kind import Detail, PartKind, Row
from shouldread.parts.tables import details_of, spread_rules


def declare(
    *,
    letter: str,
    name: str,
    pins: tuple[str, ...],
    unit: str,
    ways: Mapping[str, tuple[Row, ...]] | None = None,
    unreadable: tuple[float, float] | None = None,
    model_params: Mapping[str, float] | None = None,
    ignored_params: frozenset[str] = frozenset(),
    model_types: tuple[str, ...] = (),
    settings: Mapping[str, float] | None = None,
    value_name: str = "",
    stand_in: str = "",
) -> PartKind:
    """A part kind from its letter: ``ways`` maps each way to fail to the edits that bring it about.

    Shares, rates, severities, symbols and default spreads come from ``failure_modes.toml`` and
    ``spreads.toml`` under the same letter; a way that a variety's table does not list is not offered.

    Raises QuantityError when the tables hold a way to fail that ``ways`` does not declare.
    """
    details: Mapping[str, Detail] = details_of(letter, ways or {})
    return PartKind(
        letter=letter,
        name=name,
        pins=pins,
        unit=unit,
        details=details,
        spreads=spread_rules(letter, ""),
        unreadable=unreadable,
        model_params=model_params or {},
        ignored_params=ignored_params,
        model_types=model_types,
        settings=settings or {},
        value_name=value_name,
        stand_in=stand_in,
    )
