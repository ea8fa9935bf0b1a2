"""The reading grammar: ``PLACE [to PLACE] [setting] VALUE [@state] [with CONDITION]``, by lines or ``;``.

Cut in this order: ``with`` and ``@``, then ``to``, then the place, the setting, the value. A line such as
``ohms cold:`` sets what follows. Observations (``C17 cracked``, ``nothing warm``) go in the same text.
"""

import re
from collections.abc import Mapping
from dataclasses import replace

from shouldread.circuit import Circuit
from shouldread.errors import KitError, QuantityError, ReadingError
from shouldread.meter.fits import bare_fits, healthy_band, highest_source, leads_fit, refuse_fault, refuse_seen
from shouldread.meter.places import Places, Spot
from shouldread.meter.profile import Meter, MeterLike, meter
from shouldread.meter.reading import SEEN, Observation, Reading
from shouldread.meter.scene import (
    Line,
    Scene,
    conditions_of,
    cut_line,
    first_state,
    heading_of,
    lines_of,
    state_named,
)
from shouldread.meter.setting import Setting, heading_word, setting_named, setting_word
from shouldread.meter.value import Typed, read_typed
from shouldread.quantities import Spread

MANY = 40  # refused lines after which the nearest names are no longer looked for

_TO = re.compile(r" to ", re.IGNORECASE)
_SAME_SEEN: Mapping[str, str] = {"burned": "burnt", "pulses": "pulsing", "cool": "cold"}


def read_readings(
    text: str,
    circuit: Circuit | None = None,
    meter: MeterLike = None,
    setting: str | None = None,
    nominals: Mapping[str, Spread] | None = None,
) -> tuple[Reading | Observation, ...]:
    """Take readings as a technician types them, in order.

    ``circuit`` gives the names of nodes, parts and pins; without one the first word of a line is the place.
    ``setting`` is what lines are read as that say none; ``nominals`` tell what ``ok`` means at a rail.
    Raises ReadingError that lists every line which cannot be taken, with what to add.

    >>> (r,) = read_readings("5V 12,1 mV")
    >>> r.place, r.setting, r.words
    ('5V', 'volts', '5V volts: 12.1 millivolts, taken as 12.05 millivolts to 12.15 millivolts')
    """
    scene = Scene(
        circuit,
        Places.of(circuit),
        _profile(meter),
        {name.casefold(): spread for name, spread in (nominals or {}).items()},
        highest_source(circuit),
        setting_named(setting).name if setting else "",
    )
    taken: list[Reading | Observation] = []
    refused: list[tuple[str, KitError]] = []
    for line in lines_of(text):
        try:
            heading = heading_of(line, scene)
            if heading is not None:
                scene, line = heading
            if line:
                taken.append(_take(line, scene))
        except KitError as trouble:
            refused.append((line, trouble))
            if len(refused) == MANY:
                scene = replace(scene, places=replace(scene.places, hints=False))
    if refused:
        raise _told(refused, text)
    return tuple(taken)


def _profile(profile: MeterLike) -> Meter:
    return meter(profile)


def _told(refused: list[tuple[str, KitError]], text: str) -> ReadingError:
    shown = [f"  {_short(line)}: {trouble}" for line, trouble in refused]
    count = f"{len(refused)} reading{'s' if len(refused) > 1 else ''}"
    return ReadingError("\n".join([f"{count} cannot be taken as typed:", *shown]), value=text)


def _short(line: str) -> str:
    return repr(line if len(line) <= 80 else line[:77] + "...")


def _take(line: str, scene: Scene) -> Reading | Observation:
    cut = cut_line(line)
    if " ".join(cut.said.casefold().split()) in ("nothing warm", "nothing hot", "nothing is warm"):
        return Observation("", "nothing warm", state_named(cut.state, scene), conditions_of(cut, scene), line)
    pair = _TO.split(cut.said, maxsplit=1)
    red, rest = scene.places.cut(pair[0])
    black = None
    if len(pair) == 2:
        if rest:
            raise ReadingError("write the two places first: A to B 0.6; a wandering reading is 0.3..0.6", value=line)
        black, rest = scene.places.cut(pair[1])
    if black is None and (seen := _seen(red, rest)):
        red = scene.places.part_spot(red.name) or red
        refuse_seen(red, seen)
        return Observation(red.name, seen, state_named(cut.state, scene), conditions_of(cut, scene), line)
    return _reading(red, black, rest, cut, scene)


def _seen(spot: Spot, rest: str) -> str:
    """The observation that follows a place, or ""; a missing voltage at a node is a reading."""
    words = rest.casefold().split()
    if words and setting_word(words[0]) is not None:
        words = words[1:]
    word = _SAME_SEEN.get(" ".join(words), " ".join(words))
    if word not in SEEN or (word == "missing" and not spot.is_part):
        return ""
    return word


def _setting_and_value(rest: str) -> tuple[Setting | None, str]:
    """``ohms OL`` as well as ``OL ohms``; a unit behind a figure stays with the figure."""
    first, _, behind = rest.partition(" ")
    if behind and (said := setting_word(first)) is not None:
        return said, behind.strip()
    front, _, last = rest.rpartition(" ")
    said = heading_word(last) if front and (last.casefold() == "diode" or not re.search(r"\d", front)) else None
    return (said, front.strip()) if said is not None else (None, rest)


def _typed(begun: str, value: str, scene: Scene) -> Typed:
    """The value behind what was ``begun``, or the error that says how to part two readings in one line."""
    try:
        return read_typed(value)
    except QuantityError:
        words = value.replace(",", ", ").split()
        for k in range(1, len(words) - 1):
            first, place, second = " ".join(words[:k]).rstrip(","), words[k], words[k + 1].rstrip(",")
            if scene.places.spot(place) is not None and _is_value(first) and _is_value(second):
                parted = f"{begun} {first}; {place} {' '.join(words[k + 1 :])}"
                raise ReadingError(f"two readings? Put ';' between them: {parted}", value=value) from None
        raise


def _is_value(text: str) -> bool:
    try:
        return bool(read_typed(text))
    except QuantityError:
        return False


def _reading(red: Spot, black: Spot | None, rest: str, cut: Line, scene: Scene) -> Reading:
    said, value = _setting_and_value(rest)
    refuse_fault(red, value)
    if not value:
        raise ReadingError(f"{red.name}: what did the display show? Write the value behind it", value=cut.said)
    typed = _typed(f"{red.name} {said.name}" if said is not None else red.name, value, scene)
    setting = said.name if said is not None else typed.implies or scene.setting
    if typed.form == "over" and said is None and setting == "volts":
        setting = ""  # no rail is over the range of a meter on volts: it was on ohms or diode, and is asked for
    if setting == "amps":
        red = scene.places.part_spot(red.name) or red
    state = state_named(cut.state, scene)
    if not state and setting == scene.setting:
        state = scene.state
    reading = Reading(
        red.name,
        value,
        setting,
        state or first_state(setting or "volts", scene),
        black.name if black is not None else "",
        conditions_of(cut, scene),
        meter=scene.meter,
        band=healthy_band(red, value, scene) if typed.form == "ok" else None,
    )
    leads_fit(reading, red, black, scene)
    if said is None and not typed.implies and reading.setting == "volts":
        bare_fits(reading, scene)
    return reading
