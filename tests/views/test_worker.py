"""A worker's job is done as often as it is asked for; what is done idly gives way at once."""

import threading
import time
from collections.abc import Iterator

import pytest
from shouldread.views import worker
from shouldread.views.worker import Worker

SOON = 10.0  # s: a test that waits longer than this has failed


@pytest.fixture(autouse=True)
def short_pause(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(worker, "PAUSE", 0.01)


def musing(begun: threading.Event, over: threading.Event) -> Iterator[None]:
    """Idle work without an end of its own."""
    while not over.is_set():
        begun.set()
        time.sleep(0.001)
        yield


def test_idle_work_begins_when_nothing_is_asked_and_gives_way_when_something_is() -> None:
    done: list[str] = []
    begun, over = threading.Event(), threading.Event()

    one = Worker(lambda: done.append("job"), lambda: musing(begun, over))
    one.ask()
    assert one.wait(SOON) and begun.wait(SOON), "nobody waits for what is done idly"
    for count in (2, 3):
        begun.clear()
        one.ask()
        assert one.wait(SOON) and len(done) == count
        assert begun.wait(SOON), "it begins again afterwards"
    over.set()


def test_a_stumble_in_idle_work_ends_that_and_no_more(capfd: pytest.CaptureFixture[str]) -> None:
    tried = threading.Event()
    done: list[str] = []

    def idly() -> Iterator[None]:
        tried.set()
        raise ValueError("stumbled idly")
        yield

    one = Worker(lambda: done.append("job"), idly)
    for count in (1, 2):
        tried.clear()
        one.ask()
        assert one.wait(SOON) and tried.wait(SOON) and len(done) == count and one.trouble is None
        told, until = "", time.monotonic() + SOON
        while "ValueError: stumbled idly" not in told and time.monotonic() < until:
            time.sleep(0.01)
            told += capfd.readouterr().err
        assert "ValueError: stumbled idly" in told, "it is told of"


def test_a_stumble_of_the_job_is_raised_for_who_waits() -> None:
    def job() -> None:
        raise ValueError("no")

    one = Worker(job)
    one.ask()
    with pytest.raises(ValueError, match="no"):
        one.wait(SOON)


def test_whoever_asks_something_else_is_alone_and_idle_work_goes_on_afterwards() -> None:
    begun, over = threading.Event(), threading.Event()
    at_work: list[bool] = [False]

    def idly() -> Iterator[None]:
        while not over.is_set():
            at_work[0] = True
            begun.set()
            time.sleep(0.001)
            at_work[0] = False
            yield

    one = Worker(lambda: None, idly)
    one.ask()
    for _ in range(5):
        assert begun.wait(SOON)
        with one.hushed():
            begun.clear()
            time.sleep(0.02)
            assert not at_work[0] and not begun.is_set()
    assert begun.wait(SOON)
    over.set()


def test_those_who_ask_do_not_wait_for_each_other_and_a_stumble_of_one_leaves_nothing_behind() -> None:
    begun, over = threading.Event(), threading.Event()

    one = Worker(lambda: None, lambda: musing(begun, over))
    one.ask()
    assert begun.wait(SOON)
    inside, leave = threading.Event(), threading.Event()

    def long_question() -> None:
        with one.hushed():
            inside.set()
            leave.wait(SOON)

    thread = threading.Thread(target=long_question)
    thread.start()
    assert inside.wait(SOON)
    with pytest.raises(ValueError, match="stumbled"), one.hushed():
        raise ValueError("stumbled")
    begun.clear()
    time.sleep(0.05)
    assert not begun.is_set(), "the other still asks"
    leave.set()
    assert begun.wait(SOON), "it goes on when nobody asks"
    over.set()
    thread.join(SOON)
