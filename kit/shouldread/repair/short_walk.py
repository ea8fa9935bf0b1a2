"""Readings walked along a shorted rail: how they are taken, and where along it the current leaves."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from shouldread.errors import KitError, ReadingError
from shouldread.quantities import say, si_number

SQUARE = 0.49e-3  # ohm per square of 35 um copper at 20 degC: IACS 1.7241e-8 ohm m (IEC 60028) / 35e-6 m
STEP = 5  # squares between two neighbouring points of a walk, as a rule of thumb
COUNT = 0.1e-3  # V, one count of a 6000-count meter on its 600 mV range
OHM_COUNT = 1e-3  # ohm, one count of a milliohm meter (common practice, no source)
ALONG = 0.3  # V at most along the copper of one rail: hundreds of squares at 1 A
EXAMPLE = '("C3", "4.1 mV"), or in one text: C3 4.1 mV; C17 7.0 mV'
Walk = str | Sequence[tuple[str, float | str]]


@dataclass(frozen=True, slots=True)
class Walked:
    """What was walked: ``places`` along the rail, and how far from the injection point each lies, in V or Ω.

    ``values`` are as read and ``falls`` says that they fall towards the short; ``rises`` grow towards it either way.
    ``note``: how it was taken.
    """

    places: tuple[str, ...] = ()
    values: tuple[float, ...] = ()
    rises: tuple[float, ...] = ()
    unit: str = "V"
    falls: bool = False
    note: str = ""

    @property
    def count(self) -> float:
        """What the last digit of the display is worth."""
        return OHM_COUNT if self.unit == "Ω" else COUNT

    @property
    def noise(self) -> float:
        """What two readings may differ by without a difference: against ground, contact and lead ride on all of it."""
        share = 0.02 if self.falls else 0.005
        return 2 * self.count + share * max(map(abs, self.values), default=0.0)


def read_walk(walk: Walk, most: float, *, to_ground: bool) -> Walked:
    """A walk as typed: pairs of place and reading, or one text. ``most``: volts fed at most; ``to_ground``: as planned.

    Black on the rail at the injection point: readings rise towards the short. Black on ground (a rail at few
    millivolts) or a milliohm meter: they fall. Leads swapped are taken the other way round, and that is said.
    Raises ReadingError.
    """
    rows = [_row(row) for row in (_pieces(walk) if isinstance(walk, str) else walk)]
    if not rows:
        return Walked()
    places, told = tuple(place for place, _, _ in rows), [value for _, value, _ in rows]
    units = {unit for _, _, unit in rows if unit} or {"V"}
    if len(units) > 1:
        raise ReadingError(f"a walk is in millivolts or in milliohms, not in both; write {EXAMPLE}", value=walk)
    unit = units.pop()
    note = ""
    if unit == "V" and max(told) <= 0 > min(told) >= -ALONG:
        told, note = [-value for value in told], "the leads stood the other way round: read without the minus"
    values = tuple(told)
    for place, value in zip(places, values, strict=True):
        _sound(place, value, unit, most)
    if unit == "V" and max(values) - min(values) > ALONG:
        far = f"{say(max(values) - min(values), 'V', 2)} along one rail is more than copper drops"
        raise ReadingError(f"{far}; write millivolts as 4.1 mV", value=walk)
    down = unit == "Ω" or (to_ground and values[0] > 5 * COUNT and values[-1] < values[0])
    rises = tuple(values[0] - value for value in values) if down else values
    return Walked(
        places, values, rises, unit, down, note or ("black on ground: the lowest is nearest" if down else "")
    )


def found_by(walk: Walked, amps: float) -> tuple[str | None, tuple[str, ...], str]:
    """(nearest place, the places that cannot be told from it, the sentence); ``amps`` flow along the copper."""
    places, rises, unit = walk.places, walk.rises, walk.unit
    most, noise = max(rises), walk.noise
    back = next((i for i in range(1, len(rises)) if rises[i] < max(rises[:i]) - noise), None)
    if back is not None:
        return None, places, _turns(walk, back)
    flat = most - min(rises) < noise
    if flat and min(map(abs, rises)) >= 5 * walk.count and unit == "V":
        words = f"it stands at {_said(most, unit)} from {places[0]} on: the current leaves at {places[0]} or before it"
        return places[0], ("the injection point", places[0]), f"{words}; is the black lead at the injection point?"
    if most - min(rises) < 5 * walk.count:
        more = "raise the current (the plan says how far) and walk again"
        more = "a milliohm meter needs four wires here, else inject" if unit == "Ω" else more
        return (
            None,
            places,
            f"the walk changes by less than a meter can tell ({_said(most - min(rises), unit)}): {more}",
        )
    at = next(i for i, rise in enumerate(rises) if rise >= most - noise)
    squares = (rises[at] - rises[at - 1]) / (SQUARE * (1.0 if unit == "Ω" else amps)) if at else 0.0
    last = at == len(rises) - 1
    unsure = (places[at - 1], places[at]) if at and (last or squares > STEP) else (places[at],)
    beyond = " or beyond it: walk on" if last else f": beyond it the walk stays at {_said(walk.values[at], unit)}"
    between = f"; {places[at - 1]} to {places[at]} are about {squares:.0f} squares" if at and squares >= 1 else ""
    return places[at], unsure, f"the current leaves the rail at {places[at]}{beyond}{between}"


def _turns(walk: Walked, back: int) -> str:
    here, before = walk.places[back], walk.places[back - 1]
    way = "rises" if walk.falls else "falls"
    return (
        f"the walk {way} at {here}, which one short along one line cannot do: read {before} and it again, list the places "
        "in their order along the copper, black lead at the injection point; a branch is a walk of its own"
    )


def _said(value: float, unit: str) -> str:
    """Volts in millivolts, as the meter shows them."""
    return f"{value * 1e3:.3g} mV" if unit == "V" and abs(value) < 1 else say(value, unit, 2)


def _pieces(text: str) -> list[tuple[str, str]]:
    """A walk typed as one text."""
    rows = [piece.strip().partition(" ") for piece in re.split(r"[;\n]|,\s", text) if piece.strip()]
    return [(place.removesuffix(":"), value.strip()) for place, _, value in rows]


def _row(row: object) -> tuple[str, float, str]:
    """(place, value, unit or nothing). Raises ReadingError."""
    if not isinstance(row, tuple | list) or len(row) != 2 or not str(row[0]).strip():
        raise ReadingError(f"{row!r} is no place and reading; write {EXAMPLE}", value=row)
    place, value = str(row[0]).strip(), row[1]
    try:
        number, unit = si_number(value) if isinstance(value, str) else (float(value), "")
    except (KitError, TypeError, ValueError) as error:
        raise ReadingError(f"{place} {value}: no reading along a rail; write {EXAMPLE}", value=value) from error
    if unit not in ("", "V", "Ω"):
        raise ReadingError(f"{place} {value}: a walk is read in mV, or in mΩ with a milliohm meter", value=value)
    return place, number, unit


def _sound(place: str, value: float, unit: str, most: float) -> None:
    if unit == "Ω" and not 0 <= value < 1e3:
        raise ReadingError(f"{place}: {say(value, 'Ω', 3)} along a shorted rail cannot be; write milliohms as 84 mΩ")
    if unit == "V" and not -0.05 <= value <= 1.1 * most:
        raise ReadingError(
            f"{place} {say(value, 'V', 3)}: along a rail fed with {say(most, 'V', 2)} that cannot be; "
            "write millivolts as 4.1 mV",
            value=value,
        )
