"""What should this point read? Healthy, and under each single fault, as your own meter would show it.

Each name is imported when it is first needed: ``import shouldread as sr`` itself takes a few milliseconds.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from shouldread.circuit import load_circuit, shelf
    from shouldread.errors import KitError
    from shouldread.solve import solve

_ROOM = {
    "Casebook": "casebook",
    "KitError": "errors",
    "Rails": "circuit",
    "Reading": "meter",
    "bench": "views",
    "choose_part": "repair",
    "confirm": "repair",
    "diagnose": "diagnosis",
    "exercise": "practice",
    "expect": "diagnosis",
    "explain": "explain",
    "fault_table": "diagnosis",
    "hunt_short": "repair",
    "load_circuit": "circuit",
    "shelf": "circuit",
    "solve": "solve",
    "stress": "repair",
    "walk_rails": "diagnosis",
}
__all__ = sorted(_ROOM)


def __getattr__(name: str) -> Any:
    """The verb of that name, out of its room."""
    room = _ROOM.get(name)
    if room is None:
        raise AttributeError(f"module 'shouldread' has no attribute {name!r}")
    value = getattr(import_module(f"shouldread.{room}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_ROOM})
