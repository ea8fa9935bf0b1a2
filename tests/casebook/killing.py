"""Two processes enter readings into one case and are killed at random moments, again and again.

``python killing.py CASEBOOK ROUNDS``: each round forks two that open the casebook and type; each tells a pipe what
it was told is taken; both are killed without warning (two kills a round). What was told and is not in the book
afterwards, or a book that fails SQLite's integrity check, ends it with what was lost.
"""

import os
import random
import signal
import sqlite3
import sys
import time
from pathlib import Path

from shouldread.casebook import Casebook

LONGEST = 0.25  # seconds that a process lives; opening the book takes about a tenth of it


def type_on(path: Path, case_name: str, who: int, told: int) -> None:
    """Enter readings until killed; each is told only after the verb came back."""
    case = Casebook(path).open(case_name, board="GH-CTRL-2")
    for i in range(1_000_000):
        text = f"P{who}_{i} {i % 12}.5"
        case.read(text)
        os.write(told, f"{text}\n".encode())


def start(path: Path, name: str, who: int) -> tuple[int, int]:
    """The process and the pipe that it tells."""
    read, write = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(read)
        try:
            type_on(path, name, who, write)
        finally:
            os._exit(1)
    os.close(write)
    return pid, read


def end(pid: int, told: int) -> list[str]:
    """Kill; every line that was complete in the pipe was shown to somebody."""
    os.kill(pid, signal.SIGKILL)
    _, status = os.waitpid(pid, 0)
    assert os.WIFSIGNALED(status), "it ended by itself: an error stands above"
    with os.fdopen(told, "rb") as pipe:
        return pipe.read().decode().split("\n")[:-1]


def one_round(path: Path, name: str, chance: random.Random) -> int:
    """How many readings were told as taken; all of them stand in the reopened case."""
    writers = [start(path, name, who) for who in range(2)]
    shown: list[str] = []
    for pid, told in writers:
        time.sleep(chance.uniform(0, LONGEST / 2))
        shown += end(pid, told)
    case = Casebook(path).open(name, board="GH-CTRL-2")
    lost = set(shown) - {str(event.body.get("text")) for event in case.standing()}
    assert not lost, f"lost: {sorted(lost)}"
    assert {text.split()[0] for text in shown} <= {reading.place for reading in case.readings}
    case.read("5V 5.02")
    with sqlite3.connect(path) as connection:
        (verdict,) = connection.execute("PRAGMA integrity_check").fetchone()
        assert verdict == "ok", verdict
        connection.execute("INSERT INTO words(words, rank) VALUES ('integrity-check', 1)")  # the words' own index
    connection.close()
    return len(shown)


def main() -> None:
    path, rounds = Path(sys.argv[1]), int(sys.argv[2])
    chance = random.Random(rounds)
    counts = [one_round(path, f"GC-{number}", chance) for number in range(rounds)]
    print(2 * rounds, sum(counts), sum(count > 0 for count in counts))


main()
