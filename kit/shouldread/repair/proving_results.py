"""Results of a proof as they are typed, each judged against its line."""

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from shouldread.circuit import Circuit, Rails, feed_of
from shouldread.diagnosis import walk_rails
from shouldread.errors import KitError, ReadingError, UnknownNameError
from shouldread.meter import Meter, Observation, Reading, limit, read_readings
from shouldread.quantities import read_number, say, si_number
from shouldread.repair.feed_path import Path, feed_path, joint
from shouldread.repair.proving_lines import (
    FURTHER,
    INPUT,
    NOT_PROVEN,
    RIGHT,
    STRESS,
    WRONG,
    Check,
    elsewhere,
    figures,
    path_check,
    rated_amps,
    sheet_of,
)

_AT_AMPS = re.compile(r"\s+at\s+(\S+(?:\s?[mµu]?A))\s*$")
_POWER = re.compile(r"power-?up\s+(not\s+)?limit(?:s|ing|ed)?$", re.I)
_FUNCTION = re.compile(r"function\s+(passed|ok|failed)\b[:,]?\s*(.*)$", re.I)
_STRESS = re.compile(r"stress\s+([\d.,]+)\s*min(?:utes?)?$", re.I)
_STARTS = re.compile(r"starts\s+(cold|warm)\s+(\d+)(?:\s*(?:of|/)\s*(\d+))?$", re.I)
_HOT = re.compile(r"(\S+)\s+(-?[\d.,]+)\s*°?\s*C(?:\s+at\s+([\d.,]+)\s*min)?$")
_INPUT = re.compile(r"input\s+(?:amps\s+)?(\S+\s?[mµu]?A)$", re.I)
_ORDER = re.compile(r"order\s+(.+)$", re.I)


@dataclass(slots=True)
class Judge:
    """Takes results line by line and keeps the lines of the sheet as they then stand."""

    board: Circuit | Rails
    checks: tuple[Check, ...]
    meter: Meter
    amps: float = 0.0
    minutes: float = 0.0
    _volts: dict[tuple[str, float], Reading] = field(default_factory=dict)
    _hot: dict[str, list[tuple[float, float]]] = field(default_factory=dict)

    def judged(self, text: str) -> "Judge":
        """Take everything typed. Raises ReadingError that lists every line which cannot be taken."""
        refused = []
        for line in (piece.strip() for row in text.splitlines() for piece in row.split(";")):
            try:
                if line:
                    self._take(line)
            except KitError as trouble:
                refused.append(f"  {line!r}: {trouble}")
        if refused:
            raise ReadingError("\n".join(["these results cannot be taken as typed:", *refused]), value=text)
        return self

    def _take(self, line: str) -> None:
        forms: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], None]], ...] = (
            (_POWER, self._powered), (_FUNCTION, self._function), (_STRESS, self._stressed), (_STARTS, self._started),
            (_HOT, self._warmed), (_INPUT, self._input), (_ORDER, self._ordered),
        )  # fmt: skip
        for form, take in forms:
            if hit := form.match(line):
                return take(hit)
        return self._read(line)

    def _set(self, key: str, shown: str, verdict: str, why: str = "") -> None:
        self.checks = tuple(
            replace(c, shown=shown, verdict=verdict, why=why) if c.key.casefold() == key.casefold() else c
            for c in self.checks
        )

    def _check(self, key: str) -> Check | None:
        return next((c for c in self.checks if c.key.casefold() == key.casefold()), None)

    def _powered(self, hit: re.Match[str]) -> None:
        fine = bool(hit.group(1))
        why = "" if fine else "the supply limits: cold ohms of what it feeds, before anything else"
        self._set("power-up", "not limiting" if fine else "limiting", RIGHT if fine else WRONG, why)

    def _function(self, hit: re.Match[str]) -> None:
        fine = hit.group(1).casefold() != "failed"
        self._set("function", hit.group(0).partition(" ")[2], RIGHT if fine else WRONG, "" if fine else hit.group(2))

    def _stressed(self, hit: re.Match[str]) -> None:
        minutes, asked = read_number(hit.group(1)).value, figures()["stress"]["minutes"]
        self.minutes = max(self.minutes, minutes)
        long = self.minutes >= asked
        self._set(
            "stress", f"{self.minutes:g} min", RIGHT if long else NOT_PROVEN, "" if long else f"{asked} min are asked"
        )

    def _started(self, hit: re.Match[str]) -> None:
        kind, came = hit.group(1).casefold(), int(hit.group(2))
        asked = int(figures()["starts"][kind])
        tried = int(hit.group(3) or came)
        shown = f"{came} of {tried}"
        if came < tried:
            self._set(f"starts {kind}", shown, WRONG, f"{tried - came} of {tried} did not come up")
        else:
            enough = came >= asked
            why = "" if enough else f"{asked} are asked"
            self._set(f"starts {kind}", shown, RIGHT if enough else NOT_PROVEN, why)

    def _warmed(self, hit: re.Match[str]) -> None:
        name, degrees = hit.group(1), read_number(hit.group(2)).value
        if isinstance(self.board, Circuit) and name.casefold() != "hottest":
            name = self.board.part(name).name
        minute = read_number(hit.group(3)).value if hit.group(3) else math.nan
        rows = self._hot.setdefault(name, [])
        rows.append((minute, degrees))
        rule, key = figures()["stress"], f"{name} °C"
        if self._check(key) is None:
            self.checks += (
                Check(STRESS, key, f"temperature of {name}", -math.inf, rule["hottest"], "°C", rule["source"]),
            )
        shown = ", ".join(f"{d:g} °C" + (f" at {m:g} min" if m == m else "") for m, d in rows)
        climbing = len(rows) > 1 and rows[-1][1] - rows[-2][1] > rule["settled"]
        if degrees > rule["hottest"]:
            self._set(key, shown, WRONG, f"hotter than {rule['hottest']:g} °C: is that what its own sheet allows?")
        elif climbing:
            self._set(key, shown, NOT_PROVEN, "still climbing: go on until it settles")
        else:
            self._set(key, shown, RIGHT)

    def _input(self, hit: re.Match[str]) -> None:
        amps = _amps(hit.group(1))
        self.amps = max(self.amps, amps)
        rows = [c for c in self.checks if c.stage == INPUT]
        low, high = math.fsum(c.low for c in rows), math.fsum(c.high for c in rows)
        for check in rows:
            if math.isnan(low):
                self._set(check.key, say(amps, "A", 3), NOT_PROVEN, "what a good board takes is not known")
            else:
                self._set(check.key, say(amps, "A", 3) + " together", *_within(amps, low, high, "A"))

    def _ordered(self, hit: re.Match[str]) -> None:
        sheet = sheet_of(self.board) if isinstance(self.board, Circuit) else self.board
        known = {name.casefold(): name for r in sheet for name in (r.name, *r.enables, *r.sources)}
        names = [word.strip(",") for word in hit.group(1).replace(" then ", " ").split()]
        if unknown := [n for n in names if n.casefold() not in known]:
            raise UnknownNameError("rail or enable", unknown[0], known.values(), "the rail sheet")
        place = {known[n.casefold()]: k for k, n in enumerate(names)}
        late = [
            f"{rail.name} before {other}"
            for rail in sheet
            for other in (*rail.enables, *(rail.sources if len(rail.sources) == 1 else ()))
            if place.get(rail.name, math.inf) < place.get(other, -1)
        ]
        missing = [rail.name for rail in sheet if rail.name not in place]
        shown = ", ".join(known[n.casefold()] for n in names)
        if late:
            self._set("order", shown, WRONG, f"out of order: {', '.join(late)}")
        else:
            why = f"not watched: {', '.join(missing)}" if missing else ""
            self._set("order", shown, NOT_PROVEN if missing else RIGHT, why)

    # -- readings ------------------------------------------------------------------------------------
    def _read(self, line: str) -> None:
        hit = _AT_AMPS.search(line)
        amps = _amps(hit.group(1)) if hit else math.nan
        circuit = self.board if isinstance(self.board, Circuit) else None
        for item in read_on(circuit, line[: hit.start()] if hit else line, self.meter):
            if isinstance(item, Observation):
                self.checks += (Check(FURTHER, str(item), "seen", shown=item.seen, verdict=RIGHT),)
                continue
            if amps == amps:
                self.amps = max(self.amps, amps)
            if item.setting == "amps":
                self.amps = max(self.amps, item.value)
            if item.setting == "volts" and not item.to and amps == amps:
                self._volts[item.place, amps] = item
            if not (amps == amps and self._lost(item, amps)):
                self._plain(item)

    def _plain(self, item: Reading) -> None:
        """A reading against the line of its place, or against what the board should read there."""
        key = item.at if item.setting == "volts" else f"{item.at} {item.setting}"
        check = self._check(key)
        if check is not None and check.low == check.low:
            return self._set(key, item.text, *_within(item.value, check.low, check.high, check.unit, item))
        if check is None:
            check = Check(FURTHER, key, f"read {item.at}")
            self.checks += (check,)
        self._set(key, item.text, *self._by_sheet(item))
        return None

    def _by_sheet(self, item: Reading) -> tuple[str, str]:
        sheet = sheet_of(self.board) if isinstance(self.board, Circuit) else self.board
        if item.setting not in ("volts", "ohms", "diode") or item.to:
            return NOT_PROVEN, "nothing says what it should be"
        row = next((r for r in walk_rails(sheet, [item], setting=item.setting).rows if r.name == item.place), None)
        if row is None or row.verdict == "cannot tell":
            return NOT_PROVEN, row.why if row is not None and row.why else "nothing says what it should be"
        return RIGHT if row.verdict == "as it should be" else WRONG, row.why

    def _lost(self, item: Reading, amps: float) -> bool:
        """A reading at a current that tells what a feed path loses; False where it tells of none."""
        if not isinstance(self.board, Circuit) or item.setting != "volts":
            return False
        circuit = self.board
        nodes = {c.key: c for c in self.checks if c.path is not None}
        if item.to or item.place in circuit.parts:
            a, b = (item.place, item.to) if item.to else circuit.part(item.place).nodes[:2]
            path = feed_path(circuit, a, b)
            if path is None:
                return False
            error = limit(self.meter, "volts", item.value) + (item.high - item.low) / 2
            self._judge_path(item.at, path, abs(item.value), amps, error, item.text)
            return True
        for key, check in nodes.items():
            start, _, end = key.partition(" to ")
            if end == item.place and check.path is not None:
                lost, error = self._against_start(circuit, start, item, amps)
                self._judge_path(key, check.path, lost, amps, error, f"{item.place} {item.text}")
                return True
        return False

    def _against_start(self, circuit: Circuit, start: str, item: Reading, amps: float) -> tuple[float, float]:
        """Volts lost from the start of a path to a reading, and how far that may be off.

        Two readings of one meter share their gain; what the feed itself holds is not better known than its tolerance.
        """
        wide = (item.high - item.low) / 2 + limit(self.meter, "volts", 0.0)
        other = self._volts.get((start, amps))
        if other is not None:
            wide += (other.high - other.low) / 2 + 2 * abs(limit(self.meter, "volts", item.value)) * 0.1
            return other.value - item.value, wide
        feeds = [volts for p in circuit.netlist.values() if start in p.nodes and (volts := feed_of(p)) is not None]
        held = feeds[0] if feeds else None
        if held is None:
            return 0.0, math.inf
        return held.nominal - item.value, (held.high - held.low) / 2 + limit(self.meter, "volts", item.value)

    def _judge_path(self, key: str, path: Path, lost: float, amps: float, error: float, text: str) -> None:
        assert isinstance(self.board, Circuit)
        if self._check(key) is None:
            self.checks += (path_check(self.board, key, path),)
        check = self._check(key)
        assert check is not None
        told, most = joint(path, lost, amps, error), figures()["joint"]["ohms"]
        small = say(amps * 1.0, "V", 2)
        if told.low > most:
            verdict, why = WRONG, f"{told}: a joint, which turns {say(told.watts, 'W', 2)} to heat"
        elif amps < check.amps:
            verdict = NOT_PROVEN
            why = f"at {say(amps, 'A', 2)} even a joint of 1 Ω loses only {small}: draw {say(check.amps, 'A', 2)} or more"
        elif told.high <= most:
            verdict, why = RIGHT, f"{say(lost, 'V', 3)} and {say(lost * amps, 'W', 2)} over {', '.join(path.parts)}"
        else:
            verdict = NOT_PROVEN
            why = f"this leaves up to {say(told.high, 'Ω', 2)} beyond the parts: read the millivolts {key} directly"
        rated = rated_amps(self.board, path.parts)
        why += f"; {say(amps, 'A', 2)} is more than its {say(rated, 'A', 2)}" if amps > rated else ""
        most_lost = amps * (path.high + most)
        self.checks = tuple(replace(c, high=most_lost) if c is check else c for c in self.checks)
        self._set(key, f"{text} at {say(amps, 'A', 3)}", verdict, why)


def read_on(circuit: Circuit | None, text: str, meter: Meter) -> Iterator[Reading | Observation]:
    """Readings of a stage, and of the rails of its board that are no node of it. Raises ReadingError."""
    beyond = elsewhere(circuit) if circuit is not None else frozenset[str]()
    if not beyond:
        yield from read_readings(text, circuit=circuit, meter=meter)
        return
    for piece in filter(None, map(str.strip, re.split(r"[\n;]", text))):
        first = re.split(r"[\s:=]", piece, maxsplit=1)[0].casefold()
        yield from read_readings(piece, circuit=None if first in beyond else circuit, meter=meter)


def _amps(text: str) -> float:
    value, unit = si_number(text)
    if unit not in ("", "A"):
        raise ReadingError(f"{text!r} are no amps; write 0.42 A", value=text)
    if not value > 0:
        raise ReadingError(f"{text!r}: the amps that flowed are above zero; write 0.42 A", value=text)
    return value


def _within(value: float, low: float, high: float, unit: str, item: Reading | None = None) -> tuple[str, str]:
    """Whether a value, or the interval that a display left open, lies in a band."""
    least, most = (value, value) if item is None else (item.low, item.high)
    if most < low:
        return WRONG, f"below {say(low, unit, 3)}"
    if least > high:
        return WRONG, f"above {say(high, unit, 3)}"
    return RIGHT, ""
