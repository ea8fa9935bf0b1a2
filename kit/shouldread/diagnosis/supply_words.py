"""What the bench supply says before any rail is read: hard short, open path, standby, or limiting."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from shouldread.diagnosis.rail_road import OFF_FIRST, RailStep, Road
from shouldread.diagnosis.rules_of_thumb import rule
from shouldread.errors import QuantityError, RequestError, UnknownNameError
from shouldread.quantities import say, si_number

_KEYS = ("volts", "limit", "amps", "limiting", "fed", "pattern")
_PATTERNS: Mapping[str, str] = {
    "hiccup": "pulses every 0.1 s to 2 s: a converter restarts into a short or has lost its feedback",
    "climbs": "the current climbs: something warms up, switch off and look for the warm part",
    "steady": "",
}


@dataclass(frozen=True, slots=True)
class Supply:
    """How a board is fed: volts and limit as set, amps as read (None when nobody looked), limiting or not."""

    volts: float | None = None
    limit: float | None = None
    amps: float | None = None
    limiting: bool | None = None
    pattern: str = ""

    @classmethod
    def of(cls, told: Mapping[str, object] | None) -> "Supply | None":
        """From a mapping such as ``{"volts": 12, "limit": 0.5, "amps": "20 mA", "limiting": False}`` (SI units).

        Raises UnknownNameError for another key, RequestError for what is no mapping or a value that is no number.
        """
        if not told:
            return None
        if not isinstance(told, Mapping):
            raise RequestError(f'say the supply as {{"volts": 24, "limit": 1, "amps": 0.9}}, not {told!r}', value=told)
        for key in told:
            if key not in _KEYS:
                raise UnknownNameError("detail of a supply", key, _KEYS)
        limiting = told.get("limiting")
        numbers = (_number(told, "volts"), _number(told, "limit"), _number(told, "amps"))
        return cls(*numbers, None if limiting is None else bool(limiting), str(told.get("pattern") or ""))

    @property
    def limits(self) -> bool:
        """Whether it stands at its limit: as told, else by its own figures."""
        if self.limiting is not None:
            return self.limiting
        if self.amps is None or not self.limit:
            return False
        return self.amps >= rule("supply", "limiting_share") * self.limit

    @property
    def is_idle(self) -> bool:
        """Little current and not limiting: nothing but standby runs."""
        if self.amps is None or self.limits:
            return False
        roof = rule("supply", "standby_below")
        return self.amps < (min(roof, rule("supply", "standby_share") * self.limit) if self.limit else roof)


def _number(told: Mapping[str, object], key: str) -> float | None:
    value = told.get(key)
    if value is None or value == "":
        return None
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    unit = "V" if key == "volts" else "A"
    try:
        number, said = si_number(str(value))
    except QuantityError:
        said = "?"
    if said not in ("", unit):
        raise RequestError(
            f"the supply's {key} is a number of {unit}, such as 0.5 or '500 m{unit}', not {value!r}", value=value
        )
    return number


def supply_says(supply: Supply) -> tuple[str, ...]:
    """Sentences a technician draws from the supply alone."""
    said: list[str] = []
    if supply.limits:
        at = f" at {say(supply.amps, 'A', 3)}" if supply.amps is not None else ""
        said.append(f"the supply limits{at}: what feeds from it is pulled down; look for the short, cold, first")
    elif supply.amps is not None and supply.amps < rule("supply", "open_below"):
        said.append("no current at all: an open path at the input (cable, connector, fuse, protection part)")
    elif supply.is_idle:
        said.append(f"no hard short on the inputs that are fed: {say(supply.amps or 0.0, 'A', 2)}, not limiting")
        said.append("standby only: the converters are not commanded, or wait for an earlier rail")
    elif supply.amps is not None:
        said.append(f"no hard short on the inputs that are fed: {say(supply.amps, 'A', 2)}, not limiting")
    if hint := _PATTERNS.get(supply.pattern):
        said.append(hint)
    if supply.is_idle and supply.amps:
        lost = say(supply.amps * 1.0, "V", 2)
        said.append(f"at this current a joint of 1 Ω loses only {lost}: right volts do not prove it sound")
    return tuple(said)


def input_road(
    rail: str, supply: Supply | None, read_volts: float | None
) -> tuple[tuple[str, ...], tuple[RailStep, ...]]:
    """Causes and next places when the first wrong rail is an input itself."""
    cold = RailStep(rail, "is the input held down?", "ohms", "cold", OFF_FIRST)
    if supply is not None and supply.limits:
        return (f"a short on {rail} or on what feeds from it",), (cold,)
    causes: tuple[str, ...] = (
        "the supply, its cable or the connector",
        "fuse, bead or protection part open or its joint",
    )
    if supply is not None and supply.volts and supply.amps and read_volts is not None:
        lost = supply.volts - read_volts
        if lost > 0.02 * supply.volts and supply.amps >= rule("supply", "open_below"):
            ohms = say(lost / supply.amps, "Ω", 2)
            lost_words = f"{say(lost, 'V', 2)} lost at {say(supply.amps, 'A', 2)}"
            causes = (f"a path of about {ohms} between supply and {rail}: {lost_words}", *causes)
    steps = (
        RailStep(f"{rail}.IN", "at the input connector, on the board's side"),
        RailStep(f"{rail}.IN to {rail}", "what is lost on the way: then both sides of each series part"),
        cold,
    )
    return causes, steps


def short_first(road: Road, rail: str, supply: Supply | None) -> Road:
    """The road at a low rail when the supply stands at its limit: the rail's own short, cold, before its converter.

    A converter that is not fed or not commanded draws no current that would limit the supply.
    """
    if supply is None or not supply.limits or road.blamed not in ("", "OUT"):
        return road
    cold = RailStep(rail, f"is {rail} held down? The supply limits", "ohms", "cold", OFF_FIRST)
    held = f"{rail} held down by a short behind it"
    causes = (held, *(cause for cause in road.causes if cause != held))
    return replace(road, causes=causes, steps=(cold, *(step for step in road.steps if step.place != cold.place)))
