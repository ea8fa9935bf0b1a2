"""What a notebook shows of the kit's answers: a table or picture for each, and every name as text."""

import base64
import os
import re
import subprocess
import sys
from importlib import import_module
from xml.etree import ElementTree

import pytest
import shouldread as sr
from IPython.core.interactiveshell import InteractiveShell
from shouldread.drawing import lay_out
from shouldread.practice import truth_table
from shouldread.views.rich import html

from tests.house.source import ROOT
from tests.views.desks import shelf_circuit

STAGE = "npn_inverter_enable"
HOSTILE = """* <script>alert(1)</script> & $x$
*: title = "<img src=x onerror=alert(1)>"
*: about = "</pre><b>bold</b>"
V1 IN 0 12
R1 IN MID 10k
R2 MID 0 10k
"""


def answers() -> dict[str, object]:
    c = shelf_circuit(STAGE)
    return {
        "Circuit": c,
        "Shelf": sr.shelf(),
        "Solution": sr.solve(c),
        "Expectation": sr.expect(c),
        "FaultTable": sr.fault_table(c),
        "Diagnosis": sr.diagnose(c, "EN 0.02"),
        "RailWalk": sr.walk_rails("12V\n5V from 12V made by U3\n", "12V 12.1; U3.EN 0.02; 5V 0.00"),
        "Confirmation": sr.confirm(c, "R1 open"),
        "TruthTable": truth_table(c),
        "Proof": sr.prove(c, repaired="R1", results="EN 0.02; function failed: <i>"),
        "Explanation": sr.explain(c, "EN"),
        "Stress": sr.stress(c),
        "Requirement": sr.choose_part(c, "R1"),
        "ShortHunt": sr.hunt_short(rail="3V3", nominal=3.3, ohms=1.2, parts=["FB1", "C17"]),
        "Rails": sr.Rails.read("5V from 12V\n"),
        "Drawing": lay_out(c, effort="first"),
    }


@pytest.fixture(scope="module")
def told() -> dict[str, object]:
    return answers()


def test_every_named_answer_exists_where_the_front_door_says() -> None:
    for path in (*sr._SHOWN, *sr._SAID):
        module, _, name = path.rpartition(".")
        assert getattr(import_module(f"shouldread.{module}"), name).__module__ == f"shouldread.{module}"


def test_every_answer_of_the_front_door_has_a_form(told: dict[str, object]) -> None:
    named = {path.rpartition(".")[2] for path in sr._SHOWN}
    assert named == set(told)
    for name, value in told.items():
        assert type(value).__name__ == name
        text = html(value)
        assert text.startswith("<") and len(text) > 20
        ElementTree.fromstring(f"<div>{text}</div>")  # well-formed: no name broke out of its cell


def test_what_is_shown_is_what_was_answered(told: dict[str, object]) -> None:
    assert "First wrong rail: 5V" in html(told["RailWalk"]) and "U3.EN ohms" in html(told["RailWalk"])
    solution = told["Solution"]
    for node in ("EN", "B"):
        assert node in html(solution) or node.lower() in html(solution)
    diagnosis = told["Diagnosis"]
    assert diagnosis.groups[0].faults[0] in html(diagnosis)
    assert "R1" in html(told["Confirmation"]) and "FB1" in html(told["ShortHunt"])


def test_names_of_a_hostile_file_are_text() -> None:
    c = sr.load_circuit(HOSTILE)
    for value in (c, sr.solve(c), sr.expect(c), sr.diagnose(c, "MID 0.00"), sr.fault_table(c)):
        tree = ElementTree.fromstring(f"<div>{html(value)}</div>")
        assert not {"script", "b"} & {element.tag for element in tree.iter()}
        for image in tree.iter("img"):
            assert set(image.attrib) - {"width", "style"} == {"alt", "src"}
            kind, _, data = image.attrib["src"].partition(",")
            if kind == "data:image/png;base64":  # pixels hold no script; its words are in alt, escaped
                assert base64.b64decode(data).startswith(b"\x89PNG")
                continue
            assert kind == "data:image/svg+xml;base64"
            svg = ElementTree.fromstring(base64.b64decode(data))
            tags = {element.tag.rpartition("}")[2] for element in svg.iter()}
            assert not tags & {"script", "foreignObject", "image", "use", "a", "style", "animate"}


def test_a_notebook_finds_the_forms_and_a_plain_python_loads_none() -> None:
    shell = InteractiveShell.instance()
    try:
        sr._show_in_notebooks()
        data, _ = shell.display_formatter.format(sr.walk_rails("", "5V 0.00"))
        assert "<table" in data["text/html"] and data["text/plain"].startswith("5V")
    finally:
        InteractiveShell.clear_instance()
    code = "import sys, shouldread; print('IPython' in sys.modules, 'shouldread.views' in sys.modules)"
    env = {**os.environ, "PYTHONPATH": str(ROOT / "kit")}
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True, env=env)
    assert run.stdout.split() == ["False", "False"]


def test_what_stands_beside_the_tables_is_shown_too() -> None:
    c = shelf_circuit("two_feed_enable")
    confirmed = html(sr.confirm(c, "L1 open", "EN 0.02; FEED 0.58; AUX_S 12.1"))
    assert "leave this one alone" in confirmed and "Why did it fail?" in confirmed
    assert "Else it may be: VAUX absent, RJ1 open, RS1 open" in html(sr.confirm(c, "L1 open"))
    proof = html(sr.prove(c, repaired="L1", cause="L1 open", why="<b>surge</b>"))
    assert "Cause: L1 open" in proof and "Why it failed: &lt;b&gt;surge" in proof
    stress = html(sr.stress(c, tolerances=False))
    assert "with C1 short L1 carries" in stress and "what is it rated for?" in stress
    assert not re.search(r"\d\.\d{4}|\de-\d", stress), "figures as a meter shows them"
