"""Reading and observation: what the display showed, and what eye, nose and finger found."""

import math
from dataclasses import dataclass

from shouldread.errors import ReadingError
from shouldread.meter.profile import MeterLike, meter
from shouldread.meter.setting import SETTINGS, setting_named
from shouldread.meter.value import Form, Shown, read_typed, settled
from shouldread.quantities import say_in_full

GROUND = "0"
GROUND_NAMES = frozenset({"0", "gnd", "ground"})
COLD = "cold"
NUMERIC: frozenset[Form] = frozenset({"number"})


def _spot(name: str) -> str:
    """A place as given, ground under its one name. Raises ReadingError for what no name may hold."""
    if not name or any(sign in " ;@=" or not sign.isprintable() for sign in name):
        raise ReadingError(f"{name!r} is no place: a name holds no blank, ';', '@' or '='", value=name)
    return GROUND if name.casefold() in GROUND_NAMES else name


def _as_text(value: float | str) -> str:
    if isinstance(value, str):
        return value.strip()
    if math.isinf(value):
        return "OL" if value > 0 else "-OL"
    return repr(value)


@dataclass(frozen=True, slots=True, init=False)
class Reading:
    """One reading: where the leads were, how the meter was set, how the board was fed, what the display showed.

    ``place`` is the red lead's node, pin or part (a part alone: across it, first pin to second), ``to`` the
    black lead's, "" for ground. ``low`` to ``high`` (SI) is what the display may have shown: the digits typed
    are precision, words and ``OL`` leave an interval. ``form`` tells which (``number``, ``about``, ``between``,
    ``above``, ``below``, ``over``, ``rising``, ``beeps``, ``no beep``, ``dead``, ``ok``); an ``ok`` still open
    on both sides means "within the healthy band". ``state`` "" is the circuit's first. ``text`` is the value
    as typed.
    """

    place: str
    value: float
    setting: str
    state: str
    to: str
    conditions: tuple[str, ...]
    low: float
    high: float
    form: Form
    text: str

    def __init__(
        self,
        place: str,
        value: float | str,
        setting: str = "",
        state: str = "",
        to: str = "",
        condition: str | tuple[str, ...] = (),
        *,
        meter: MeterLike = None,
        band: tuple[float, float] | None = None,
    ) -> None:
        """Take a value as a number or as typed (``"4k7"``, ``"OL"``).

        ``setting`` "" is the one that the value implies, else volts. ``band`` states what ``ok`` means.
        Raises ReadingError, QuantityError, UnknownNameError.
        """
        place, to = _spot(place), _spot(to) if to else ""
        text = _as_text(value)
        name, shown = _meaning(text, setting, state, meter, band, f"{_ground(place)} ohms {text}")
        fixed = state.strip() or (COLD if SETTINGS[name].cold else "")
        if SETTINGS[name].cold and fixed.casefold() != COLD:
            raise ReadingError(
                f"{name} are read on a board with nothing fed and discharged; in the state {fixed} read volts",
                value=state,
            )
        conditions = (condition,) if isinstance(condition, str) else condition
        done = tuple(c for group in conditions for c in joined(group))
        for key, item in (
            ("place", place), ("value", shown.value), ("setting", name), ("state", fixed),
            ("to", to if to != GROUND else ""),
            ("conditions", done), ("low", shown.low), ("high", shown.high), ("form", shown.form), ("text", text),
        ):  # fmt: skip
            object.__setattr__(self, key, item)

    @property
    def unit(self) -> str:
        """The unit of value, low and high: V, Ω or A."""
        return SETTINGS[self.setting].unit

    @property
    def is_number(self) -> bool:
        """Whether digits were read, whose error is the meter's; else an interval."""
        return self.form in NUMERIC

    @property
    def at(self) -> str:
        """Where: ``EN``, ``A to B``, ``GND to 5V``."""
        return f"{_ground(self.place)} to {_ground(self.to)}" if self.to else _ground(self.place)

    @property
    def words(self) -> str:
        """The reading in full words: prefixes spelled out, and the interval that it is taken as."""
        where = f" @{self.state}" if self.state else ""
        done = f", {' and '.join(self.conditions)}" if self.conditions else ""
        return f"{self.at} {self.setting}{where}{done}: {self._meant()}"

    def _meant(self) -> str:
        value, low, high = (say_in_full(x, self.unit) for x in (self.value, self.low, self.high))
        said = {
            "over": f"over the range ({low} or more)" if self.value > 0 else f"below the range (under {high})",
            "above": f"above {low}",
            "below": f"below {high}",
            "rising": f"rising, past {low}" if self.value else "rising",
            "beeps": f"beeps (below {high})",
            "no beep": f"no beep (above {low})",
            "dead": f"dead (within ± {high})",
            "between": f"wanders from {low} to {high}",
        }
        if self.form == "ok":
            return "as it should be" if math.isinf(self.high) else f"as it should be ({low} to {high})"
        return said.get(self.form) or f"{value}, taken as {low} to {high}"

    def __str__(self) -> str:
        """The reading as one line of text that reads back as this reading."""
        state = f" @{self.state}" if self.state else ""
        done = f" with {' and '.join(self.conditions)}" if self.conditions else ""
        return f"{self.at} {self.setting} {self.text}{state}{done}"


def _meaning(
    text: str, setting: str, state: str, profile: MeterLike, band: tuple[float, float] | None, example: str
) -> tuple[str, Shown]:
    if not text:
        raise ReadingError("a reading needs a value: what did the display show?", value=text)
    typed = read_typed(text)
    name = setting_named(setting).name if setting else typed.implies
    if not name and typed.asks:
        raise ReadingError(f"{typed.asks} Say the setting, such as: {example}", value=text)
    if not SETTINGS[name or "volts"].cold and state.strip().casefold() == COLD:
        raise ReadingError(f"{text} @{COLD}: nothing is fed then. Say ohms or diode: {example}", value=text)
    name = name or "volts"
    shown = settled(typed, name, meter(profile))
    if typed.form == "ok" and band is not None:
        shown = Shown("ok", sum(band) / 2, *band)
    return name, shown


def joined(text: str) -> tuple[str, ...]:
    """Conditions in a text joined by ``and`` or commas, blanks made single."""
    pieces, words = [], text.replace(",", " and ").split()
    while "and" in words:
        at = words.index("and")
        pieces.append(" ".join(words[:at]))
        words = words[at + 1 :]
    return tuple(piece for piece in (*pieces, " ".join(words)) if piece)


def _ground(place: str) -> str:
    return "GND" if place == GROUND else place


SEEN = ("hot", "warm", "cold", "cracked", "burnt", "corroded", "reworked", "missing", "pulsing")


@dataclass(frozen=True, slots=True)
class Observation:
    """What was seen, smelt or felt: ``C17 cracked``; ``place`` "" with ``seen`` "nothing warm" is the whole board."""

    place: str
    seen: str
    state: str = ""
    conditions: tuple[str, ...] = ()
    text: str = ""

    def __post_init__(self) -> None:
        if self.seen not in SEEN and (self.place or self.seen != "nothing warm"):
            raise ReadingError(f"{self.seen!r} is no observation; say one of: {', '.join(SEEN)}", value=self.seen)

    @property
    def words(self) -> str:
        """The observation as a sentence."""
        return f"{self.place} is {self.seen}" if self.place else "nothing on the board is warm"

    def __str__(self) -> str:
        state = f" @{self.state}" if self.state else ""
        done = f" with {' and '.join(self.conditions)}" if self.conditions else ""
        return f"{self.place} {self.seen}".strip() + state + done
