"""The practice screen without a browser: messages in, plain data out, and nothing of the answer in it."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
import shouldread as sr
from shouldread.practice import Exercise, seal
from shouldread.views import static
from shouldread.views.practice import VERBS, PracticeBench

from tests.views.test_static import FORBIDDEN, selectors


class Page:
    """A page's end of the wire."""

    def __init__(self, task: Exercise) -> None:
        self.bench = PracticeBench(task)
        self.heard: list[dict[str, Any]] = []
        self.bench.widget.send = lambda content, buffers=None: self.heard.append(content)
        self._number = 0

    def send(self, verb: str, text: str = "", uid: str = "", **more: str) -> dict[str, Any]:
        self._number += 1
        message = {"do": verb, "id": uid or f"{self._number:032x}", "text": text, **more}
        self.bench.line.hear(self.bench.widget, message, [])
        self.bench.line.wait(120)
        return self.heard[-1]

    @property
    def task(self) -> dict[str, Any]:
        return dict(self.bench.widget.task)

    def point(self, place: str) -> dict[str, Any]:
        return next(dict(p) for p in self.task["points"] if p["place"] == place)


@pytest.fixture
def page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    monkeypatch.setattr("shouldread.practice.sealing.user_data_path", lambda name: tmp_path)
    token = seal("R1 open", circuit="two_supply_and")
    return Page(sr.exercise(circuit="two_supply_and", hidden=token, seed=3))


def test_the_healthy_band_is_told_once_predicted_and_the_verdict_once_read(page: Page) -> None:
    assert page.point("X")["healthy"] == "" and page.point("X")["should"] == "predict it first"
    assert page.send("measure", at="X")["ok"]
    assert page.point("X")["read"].endswith("V") and page.point("X")["verdict"] == ""
    told = page.send("predict", "0.015", at="X")
    assert told["ok"] and "right for a healthy board" in told["said"]
    point = page.point("X")
    assert point["right"] and "mV" in point["healthy"] and point["verdict"] == "too high"
    assert page.task["predictions"] == "1 of 1 predictions right"


def test_every_act_is_in_the_log_with_its_toll(page: Page) -> None:
    assert page.send("do", "R4 lifted")["ok"] and page.task["done_to"] == ["R4 lifted"]
    assert page.send("take back")["ok"] and page.task["done_to"] == []
    assert page.send("seen")["said"] == "nothing warm"
    assert page.send("do", "inject 24 V at EN")["said"].startswith("stopped")
    rows = page.task["log"]
    assert [row["stopped"] for row in rows] == [False, False, False, True]
    assert rows[-1]["toll"] == "1 min, risk 20 %" and page.task["toll"].startswith("12 min, risk 2")


def test_a_message_sent_twice_is_done_once(page: Page) -> None:
    one = page.send("measure", at="X", uid="ab" * 16)
    assert page.send("measure", at="X", uid="ab" * 16) == one and len(page.task["log"]) == 1


def test_what_cannot_be_taken_is_told(page: Page) -> None:
    assert not page.send("predict", "", at="X")["ok"]
    assert "no node" in page.send("do", "inject 1 V at NOPE")["said"]
    assert "predict" in page.send("undo")["said"]  # a verb of the other screen: told which there are
    assert not page.send("name", "R77 open")["ok"] and not page.send("name")["ok"]
    assert page.send("look", setting="ohms")["said"] == "ohms, cold" and page.task["states"] == ["cold"]
    assert page.send("look", setting="volts", state="no 12V")["said"] == "volts, no 12V"


def test_the_state_tells_nothing_of_the_answer_until_the_end(page: Page) -> None:
    """In the widget's state the hidden fault stands where all others stand, and nowhere else."""
    page.send("measure", at="X")
    page.send("measure", at="V12")
    page.send("measure", at="B1")
    kept = json.dumps([page.task, dict(page.bench.widget.head), dict(page.bench.widget.drawing)])
    assert kept.count("R1 open") == kept.count("R3 open") == 1
    assert page.task["back"] == [] and "R1 open" not in str(page.bench._words())
    saved = json.dumps(page.bench.widget.get_state(), default=str)  # as a notebook that is saved keeps it
    assert saved.count("R1 open") == saved.count("R3 open") == 1
    assert page.send("name", "R3 open")["said"].startswith("R3 open is not it") and not page.task["done"]
    assert page.send("name", "R1 open")["said"].startswith("right, and the readings say so")
    assert page.task["done"] and page.task["back"][0] == "It was R1 open."
    assert "It was R1 open." in page.bench._words()["text/html"]


def test_on_a_real_board_the_learner_types(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shouldread.practice.sealing.user_data_path", lambda name: tmp_path)
    token = seal("R1 open", real=True, brief="Pump <1> stands still.")
    page = Page(sr.exercise(circuit="two_supply_and", hidden=token))
    assert page.task["real"] and page.task["brief"] == "Pump <1> stands still."
    assert page.send("measure", "1.98", at="X")["ok"] and page.point("X")["read"] == "1.98"
    assert not page.send("measure", "so-so", at="X")["ok"] and len(page.task["log"]) == 1
    assert "Pump &lt;1&gt;" in page.bench._words()["text/html"]


def test_the_page_is_one_module_and_stays_inside() -> None:
    """The practice screen's own files keep the rules of the bench's."""
    esm = static.screen_esm("practice")
    assert esm.count("export ") == 1 and esm.count("\nfunction render(") == 1 and "guardKeys(root)" in esm
    folder = Path(static.__file__).parent / "practice"
    for script in folder.glob("*.js"):
        text = re.sub(r"//.*|/\*.*?\*/", "", script.read_text(encoding="utf-8"), flags=re.DOTALL)
        assert not [p for p in FORBIDDEN if re.search(p, text)] and text.count("\n") <= 300
    for selector in selectors(static.screen_css("practice")):
        assert "shouldread" in selector, selector
    assert set(re.findall(r'"(do|take back|seen|name|give up|look|predict|measure)"', esm)) == set(VERBS)
