"""What is kept of a circuit: for the very object only, and not without end."""

from shouldread.circuit import Remembered


def test_each_owner_has_its_own_answers_and_the_oldest_are_let_go() -> None:
    kept: Remembered[int] = Remembered(2)
    one, two = {"a": 1}, {"a": 1}
    assert one == two
    assert kept.get(one, "k", lambda: 1) == 1
    assert kept.get(two, "k", lambda: 2) == 2, "equal is not the same"
    assert kept.get(one, "k", lambda: 3) == 1
    assert kept.get(one, "other", lambda: 4) == 4
    assert kept.get(one, "k", lambda: 5) == 5, "two are kept, this was the oldest"
