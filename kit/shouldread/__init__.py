"""What should this point read? Healthy, and under each single fault, as your own meter would show it.

Each name is imported when it is first needed: ``import shouldread as sr`` itself takes a few milliseconds.
"""

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from shouldread.casebook import Casebook as Casebook
    from shouldread.circuit import Rails as Rails
    from shouldread.circuit import load_circuit as load_circuit
    from shouldread.circuit import shelf as shelf
    from shouldread.diagnosis import diagnose as diagnose
    from shouldread.diagnosis import expect as expect
    from shouldread.diagnosis import fault_table as fault_table
    from shouldread.diagnosis import walk_rails as walk_rails
    from shouldread.errors import KitError as KitError
    from shouldread.explain import explain as explain
    from shouldread.meter import Reading as Reading
    from shouldread.practice import drill as drill
    from shouldread.practice import exercise as exercise
    from shouldread.repair import choose_part as choose_part
    from shouldread.repair import confirm as confirm
    from shouldread.repair import hunt_short as hunt_short
    from shouldread.repair import prove as prove
    from shouldread.repair import stress as stress
    from shouldread.solve import solve as solve
    from shouldread.views import bench as bench

_ROOM = {
    "Casebook": "casebook",
    "KitError": "errors",
    "Rails": "circuit",
    "Reading": "meter",
    "bench": "views",
    "choose_part": "repair",
    "confirm": "repair",
    "diagnose": "diagnosis",
    "drill": "practice",
    "exercise": "practice",
    "expect": "diagnosis",
    "explain": "explain",
    "fault_table": "diagnosis",
    "hunt_short": "repair",
    "load_circuit": "circuit",
    "prove": "repair",
    "shelf": "circuit",
    "solve": "solve",
    "stress": "repair",
    "walk_rails": "diagnosis",
}
__all__ = sorted(_ROOM)

_SHOWN = (  # what a notebook shows as a table or with a picture; found by name, so that nothing is loaded for it
    "circuit.circuit.Circuit",
    "circuit.library.Shelf",
    "circuit.rails.Rails",
    "diagnosis.diagnosis.Diagnosis",
    "diagnosis.expectation.Expectation",
    "diagnosis.rail_finding.RailWalk",
    "diagnosis.fault_table.FaultTable",
    "drawing.drawing.Drawing",
    "practice.truth_table.TruthTable",
    "repair.confirm.Confirmation",
    "explain.explanation.Explanation",
    "repair.proving.Proof",
    "repair.replacement.Requirement",
    "repair.stress.Stress",
    "repair.short_hunt.ShortHunt",
    "solve.outcome.Solution",
)
_SAID = (  # what a notebook shows as the text of ``print``
    "casebook.book.Casebook",
    "casebook.case.Case",
    "casebook.search.Hit",
    "casebook.similar.Likeness",
    "diagnosis.estimate.Estimate",
    "diagnosis.expectation.Expected",
    "diagnosis.finding.Group",
    "diagnosis.finding.Probe",
    "diagnosis.finding.Suspect",
    "faults.fault.Fault",
    "meter.reading.Observation",
    "meter.reading.Reading",
    "practice.course.Course",
    "practice.course.Progress",
    "practice.drills.Drill",
    "practice.result.Result",
    "quantities.markings.Marking",
    "reference.second_opinion.Opinion",
    "reference.waveform.Waveform",
    "repair.replacement.Fit",
)


def _as_html(value: object) -> str:
    return str(import_module("shouldread.views.rich").html(value))


def _as_text(value: object, printer: Any, cycle: bool) -> None:
    printer.text(str(value))


def _switches(question: Any) -> Any:
    """What a written netlist needs of the solver: a room further on, loaded when a switch asks for it."""
    return import_module("shouldread.solve").bits_reached(question)


def _as_practice(value: object) -> None:
    import_module("shouldread.views.practice").show_exercise(value)


def _as_drill(value: object) -> None:
    import_module("shouldread.views.drill").show_drill(value)


def _show_in_notebooks() -> None:
    """Hand the forms of ``_SHOWN`` and ``_SAID`` to IPython, where one runs."""
    python = sys.modules.get("IPython")
    shell = python.get_ipython() if python is not None else None
    if shell is None or shell.display_formatter is None:
        return
    forms = shell.display_formatter.formatters
    for path in (*_SHOWN, *_SAID):
        module, _, name = path.rpartition(".")
        forms["text/plain"].for_type_by_name(f"shouldread.{module}", name, _as_text)
        if path in _SHOWN:
            forms["text/html"].for_type_by_name(f"shouldread.{module}", name, _as_html)
    own = shell.display_formatter.ipython_display_formatter
    own.for_type_by_name("shouldread.practice.exercise", "Exercise", _as_practice)
    own.for_type_by_name("shouldread.practice.drills", "Drill", _as_drill)


def __getattr__(name: str) -> Any:
    """The verb of that name, out of its room."""
    room = _ROOM.get(name)
    if room is None:
        raise AttributeError(f"module 'shouldread' has no attribute {name!r}")
    value = getattr(import_module(f"shouldread.{room}"), name)
    if (circuits := sys.modules.get("shouldread.circuit")) is not None:
        circuits.switches_from(_switches)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*(name for name in globals() if name.startswith("__")), *_ROOM})


class _FrontDoor(ModuleType):
    """Two rooms bear the name of their verb (solve, explain): the verb is what stands at the door.

    Importing a room makes Python set it as an attribute here; for those two that must not hide the verb.
    """

    def __setattr__(self, name: str, value: object) -> None:
        if not (isinstance(value, ModuleType) and name in _ROOM):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _FrontDoor
_show_in_notebooks()
