"""Long work on the bench says what it is at, and can be stopped and taken up again."""

import threading
from pathlib import Path

import pytest
import shouldread as sr
from shouldread.diagnosis import StoppedError, stoppable
from shouldread.views.desk import Desk

STAGE, READ = "two_feed_enable", "L1 ohms OL"


def test_what_was_stopped_goes_on_where_it_was(tmp_path: Path) -> None:
    desk = Desk(sr.Casebook(tmp_path / "book.sqlite"), None, sr.load_circuit(STAGE), "handheld")
    stop, said = threading.Event(), []

    def busy(words: str) -> None:
        said.append(words)
        if words.startswith("weighing"):
            stop.set()

    seen = list(desk.screens.in_turn(busy))
    assert len(seen) == 2 and not stop.is_set(), "nothing is weighed before the first look is over"
    desk.kept.case.read(READ, circuit=desk.kept.circuit)
    with stoppable(stop), pytest.raises(StoppedError):
        list(desk.screens.in_turn(busy))
    stop.clear()
    said.clear()
    last = list(desk.screens.in_turn())[-1]["stage"]
    assert last["groups"] and last["next"] is not None
    alone = sr.diagnose(sr.load_circuit(STAGE), READ)
    assert last["groups"][0]["faults"][0] == alone.groups[0].faults[0]


def test_work_that_nobody_stopped_knows_of_no_stop() -> None:
    stop = threading.Event()
    with stoppable(stop):
        assert sr.diagnose(sr.load_circuit("soft_latch"), "VOUT 0.02").groups
    stop.set()
    assert sr.diagnose(sr.load_circuit("soft_latch"), "VOUT 0.03").groups, "a stop holds within its block alone"


def test_a_bench_tells_what_it_is_at(tmp_path: Path) -> None:
    bench = sr.bench("two_feed_enable", casebook=sr.Casebook(tmp_path / "book.sqlite"))
    told: list[dict[str, object]] = []
    bench.widget.observe(lambda change: told.append(change["new"]), "busy")
    bench.read("EN 0.02")
    assert any("suspects" in str(one["words"]) for one in told)
    assert told[-1] == {"words": "", "stopped": False}
