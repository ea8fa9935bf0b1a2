"""What should this point read? Healthy, and under each single fault, as your own meter would show it.

Each name is imported when it is first needed: ``import shouldread as sr`` itself takes a few milliseconds.
"""

import sys
from importlib import import_module
from types import ModuleType
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


class _FrontDoor(ModuleType):
    """Two rooms bear the name of their verb (solve, explain): the verb is what stands at the door.

    Importing a room makes Python set it as an attribute here; for those two that must not hide the verb.
    """

    def __setattr__(self, name: str, value: object) -> None:
        if not (isinstance(value, ModuleType) and name in _ROOM):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _FrontDoor
