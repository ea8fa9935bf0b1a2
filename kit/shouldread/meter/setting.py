"""Settings of a meter: what it is asked to show."""

from collections.abc import Mapping
from dataclasses import dataclass

from shouldread.errors import UnknownNameError


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting: its unit, the words that name it, and whether it belongs to a board with nothing fed."""

    name: str
    unit: str
    words: frozenset[str]
    cold: bool


SETTINGS: Mapping[str, Setting] = {
    "volts": Setting("volts", "V", frozenset({"volts", "volt", "v"}), cold=False),
    "ohms": Setting("ohms", "Ω", frozenset({"ohms", "ohm", "ω", "continuity"}), cold=True),
    "diode": Setting("diode", "V", frozenset({"diode"}), cold=True),
    "amps": Setting("amps", "A", frozenset({"amps", "amp", "a"}), cold=False),
}
_BY_WORD = {word: setting for setting in SETTINGS.values() for word in setting.words}
BY_UNIT: Mapping[str, str] = {"V": "volts", "Ω": "ohms", "A": "amps"}


def setting_word(word: str) -> Setting | None:
    """The setting that a word or unit names, in any case; None when it names none."""
    return _BY_WORD.get(word.casefold())


def heading_word(word: str) -> Setting | None:
    """The setting that a heading names: whole words only, for ``A:`` and ``V:`` may be nodes."""
    return setting_word(word) if len(word) > 1 else None


def setting_named(name: str) -> Setting:
    """A setting by name. Raises UnknownNameError."""
    found = setting_word(name.strip())
    if found is None:
        raise UnknownNameError("setting", name[:40], SETTINGS)
    return found
