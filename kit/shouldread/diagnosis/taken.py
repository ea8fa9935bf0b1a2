"""Readings made ready for inference: which pair on which scale, a number with its errors or an interval."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from shouldread.diagnosis.board import Board, Context
from shouldread.diagnosis.flat import Flat, flat_for
from shouldread.diagnosis.scale import Scale
from shouldread.errors import ReadingError
from shouldread.meter import Meter, Reading, leads, pads

Array = NDArray[np.float64]
Pair = tuple[str, str]
SAME = 6.0  # standard deviations by which two readings of one place may differ and still be repeats


@dataclass(frozen=True, slots=True, order=True)
class Spot:
    """Where and how something is read: context, setting, top of the range (0: any), red and black lead."""

    context: Context
    setting: str
    top: float
    pair: Pair


@dataclass(frozen=True, slots=True)
class Taken:
    """One reading, or repeats of it, on its scale. A number has ``at``; an interval has it nan.

    ``fresh`` and ``rounding`` are variances: of the digits, averaged over repeats, and of what was not typed.
    """

    spot: Spot
    scale: Scale
    flat: Flat
    at: float
    low: float
    high: float
    fresh: float
    rounding: float
    readings: tuple[Reading, ...]

    @property
    def is_number(self) -> bool:
        """Whether digits were read."""
        return not math.isnan(self.at)

    @property
    def log_flat(self) -> float:
        """Log of how well a law that knows nothing explains it."""
        return self.flat.log_density(self.at) if self.is_number else self.flat.log_share(self.low, self.high)

    @property
    def log_slip(self) -> float:
        """Log of how well a slip of the hand explains it: a tip in the air reads nothing, others prefer nothing."""
        return (
            self.flat.log_slip(self.at, self.rounding)
            if self.is_number
            else self.flat.log_slip_share(self.low, self.high)
        )

    @property
    def says_nothing(self) -> bool:
        """Whether it covers all that the display could show."""
        return not self.is_number and self.log_flat == 0.0


def spot_of(board: Board, reading: Reading, top: float) -> Spot:
    """The spot of a reading. Raises UnknownNameError, ReadingError for leads that make no sense here."""
    context = board.context(reading.state, reading.conditions)
    if reading.setting == "amps":
        pair = (board.circuit.part(reading.place).name, "")
    else:
        pair = pads(board.circuit_in(context), leads(board.circuit, reading.place, reading.to))
    return Spot(context, reading.setting, top, pair)


def scale_of(meter: Meter, reading: Reading) -> Scale:
    """The scale of a reading: ohms and diode on the range that shows it."""
    if reading.setting in ("volts", "amps"):
        return Scale(meter, reading.setting)
    finite = [abs(x) for x in (reading.value, reading.low, reading.high) if math.isfinite(x)]
    rows = meter.ranges(reading.setting)
    if reading.form in ("over", "rising") or not finite:
        return Scale(meter, reading.setting, rows[-1])
    if reading.form in ("beeps", "no beep"):
        return Scale(meter, reading.setting, rows[0])
    shown = max(finite) if reading.form == "between" else abs(reading.value)
    return Scale(meter, reading.setting, next((r for r in rows if r.shows(shown)), rows[-1]))


def take(board: Board, readings: Iterable[Reading]) -> tuple[Taken, ...]:
    """All readings on their scales, repeats put together, in an order that is not the one they were typed in."""
    rows = [_one(board, reading) for reading in readings if reading.form not in ("rising", "pulsing")]
    kept = [row for row in rows if not row.says_nothing]
    kept.sort(key=lambda t: (t.spot, not t.is_number, t.at if t.is_number else t.low, t.high, t.rounding))
    return tuple(_merged(kept))


def _one(board: Board, reading: Reading) -> Taken:
    circuit = board.circuit
    scale = scale_of(board.meter, reading)
    spot = spot_of(board, reading, scale.range.top if scale.range is not None else 0.0)
    if reading.setting == "volts" and "0" not in spot.pair:
        scale = replace(scale, across=True)
    flat = flat_for(circuit, circuit.state(spot.context.state), scale)
    low = scale.to_scale(reading.low) if math.isfinite(reading.low) else -math.inf
    high = scale.to_scale(reading.high) if math.isfinite(reading.high) else math.inf
    if reading.form == "ok" and math.isinf(reading.high):
        raise ReadingError(f"{reading}: ok against what? Write what the display showed", value=reading.text)
    if not reading.is_number:
        if reading.setting == "ohms" and reading.low <= 0:
            low = -math.inf
        return Taken(spot, scale, flat, math.nan, low, high, 0.0, 0.0, (reading,))
    at = scale.to_scale(reading.value)
    fresh = float(scale.counts(np.array([at]))[0]) ** 2
    return Taken(spot, scale, flat, at, low, high, fresh, (high - low) ** 2 / 12, (reading,))


def _merged(rows: Sequence[Taken]) -> list[Taken]:
    """Repeats as one: numbers of a spot that agree are averaged, intervals that overlap are cut to what they share."""
    out: list[Taken] = []
    for row in rows:
        last = out[-1] if out else None
        if last is None or last.spot != row.spot or last.is_number != row.is_number:
            out.append(row)
        elif row.is_number and abs(row.at - last.at) <= SAME * math.sqrt(_own(row) + _own(last)):
            out[-1] = _averaged(last, row)
        elif not row.is_number and max(row.low, last.low) < min(row.high, last.high):
            out[-1] = replace(
                last, low=max(row.low, last.low), high=min(row.high, last.high), readings=last.readings + row.readings
            )
        else:
            out.append(row)
    return out


def _own(row: Taken) -> float:
    return row.fresh + row.rounding


def _averaged(one: Taken, two: Taken) -> Taken:
    """The mean weighed by precision: fresh errors shrink with repeats, rounding stays that of the finest typing."""
    a, b = 1 / max(_own(one), 1e-30), 1 / max(_own(two), 1e-30)
    fresh = (a * a * one.fresh + b * b * two.fresh) / (a + b) ** 2
    return replace(
        one,
        at=(a * one.at + b * two.at) / (a + b),
        low=min(one.low, two.low),
        high=max(one.high, two.high),
        fresh=fresh,
        rounding=min(one.rounding, two.rounding),
        readings=one.readings + two.readings,
    )


def noise_of(rows: Sequence[Taken]) -> Array:
    """Covariance (n, n) of the errors of n readings: fresh digits, rounding, the model's floor, one gain a range."""
    middle = np.array([row.at if row.is_number else _edge(row) for row in rows])
    out = np.zeros((len(rows), len(rows)))
    gains = np.array([float(row.scale.gain(np.array([m]))[0]) for row, m in zip(rows, middle, strict=True)])
    floors = np.array([float(row.scale.floor(np.array([m]))[0]) for row, m in zip(rows, middle, strict=True)])
    for i, one in enumerate(rows):
        for j, two in enumerate(rows):
            if i == j:
                counts = float(one.scale.counts(middle[i : i + 1])[0]) ** 2
                fresh = one.fresh + one.rounding if one.is_number else counts
                out[i, i] = fresh + floors[i] ** 2 + gains[i] ** 2
            elif one.is_number and two.is_number and _range_of(one) == _range_of(two):
                out[i, j] = gains[i] * gains[j] + (floors[i] * floors[j] if one.spot == two.spot else 0.0)
    return out


def _edge(row: Taken) -> float:
    finite = [x for x in (row.low, row.high) if math.isfinite(x)]
    return min(finite, key=abs) if finite else 0.0


def _range_of(row: Taken) -> tuple[str, float]:
    if row.spot.top:
        return row.spot.setting, row.spot.top
    rows = row.scale.meter.ranges(row.spot.setting)
    return row.spot.setting, next((r.top for r in rows if r.shows(row.at)), rows[-1].top)
