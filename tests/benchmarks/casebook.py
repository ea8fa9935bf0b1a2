"""How quick a large casebook is: ``python tests/benchmarks/casebook.py [CASES] [FILE]`` (50 000, a temporary file).

Makes a book of synthetic cases (a second run on the same FILE uses it as it is) and prints, for a book that is
opened anew: opening, searching and finding similar cases (95th percentile of 100, by the clock and of the processor
alone, for a computer that has other work), entering a reading, and the size.
"""

import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "kit"))

from shouldread.casebook import Casebook
from shouldread.casebook.event import Event
from shouldread.casebook.nouns import Incoming
from shouldread.casebook.said import items_of, values_of
from shouldread.circuit import load_circuit, shelf

SIGNS = "nothing spins|no lamp|pump hums|valve stays open|display dark|resets when warm|draws too much|smells burnt"
WORDS = "corrosion cracked joint lifted pad swollen capacitor burnt mark flux residue scratched trace cold warm feed"
RAILS = {"12V": 12.0, "5V": 5.0, "3V3": 3.3, "1V8": 1.8, "12V_AUX": 12.0, "5V_SENS": 5.0}
PLACES = ("EN", "FEED", "AUX_S", "SW", "FB", "BST", "GATE", "DRAIN")
GOALS = {"open": 0.3, "search": 0.05, "similar": 0.3}


def synthetic(number: int, chance: random.Random, stages: list[Event]) -> Incoming:
    """A case of about ten events, as a shop writes them."""
    wrong = chance.choice(list(RAILS))
    read = {name: chance.gauss(volts, volts * 0.01) for name, volts in RAILS.items()} | {wrong: chance.uniform(0, 1)}
    lines = ["; ".join(f"{name} {volts:.2f}" for name, volts in read.items())]
    lines += [f"{chance.choice(PLACES)} {chance.uniform(0, 12):.2f}" for _ in range(3)]
    part = f"{chance.choice('RCLQDU')}{chance.randint(1, 400)}"
    words = " ".join(chance.sample(WORDS.split(), 4))
    stage = chance.choice(stages)
    bodies: list[tuple[str, dict[str, object]]] = [
        ("opened", {"board": f"GH-{chance.randint(1, 300)}", "symptom": chance.choice(SIGNS.split("|"))}),
        ("supply", {"volts": 12.0, "limit": 0.5, "amps": 0.02, "limiting": False}),
        *(("reading", {"text": line, "good": False, "rails": True}) for line in lines),
        ("observation", {"text": f"{part} {words}"}),
        ("circuit", dict(stage.body)),
        ("done", {"text": f"{part} replaced", "part": "", "lot": str(number % 90)}),
        ("cause", {"fault": f"{part} open", "class": "wear", "confidence": "sure", "why": words}),
        ("proved", {"text": "all rails in order", "amps": 0.4, "minutes": 30}),
    ]
    events = tuple(Event(kind, body) for kind, body in bodies)
    return Incoming(f"GC-{number:05d}", events, {e.uid: values_of(e, items_of(e, None)) for e in events})


def fill(book: Casebook, cases: int) -> None:
    chance, begun = random.Random(7), time.perf_counter()
    texts = [load_circuit(entry.name) for entry in shelf()]
    stages = [Event("circuit", {"text": circuit.text, "name": circuit.name}) for circuit in texts]
    for first in range(0, cases, 500):
        book._store.adopt([synthetic(n, chance, stages) for n in range(first, min(first + 500, cases))], {})
        print(f"\r{first + 500} cases, {time.perf_counter() - begun:.0f} s", end="", file=sys.stderr)
    print(file=sys.stderr)


def p95(verb: Callable[[int], object], times: int = 100) -> tuple[float, float]:
    """Seconds by the clock and of the processor."""
    took: list[tuple[float, float]] = []
    for number in range(times):
        begun, worked = time.perf_counter(), time.process_time()
        verb(number)
        took.append((time.perf_counter() - begun, time.process_time() - worked))
    clock, processor = (statistics.quantiles(column, n=20)[-1] for column in zip(*took, strict=True))
    return clock, processor


def asked(chance: random.Random) -> str:
    """Words as typed, every third time with a slip."""
    words = [*chance.sample(WORDS.split(), 3), chance.choice(("12V", "open", "L17", "GH-42", "GC-00321"))]
    if chance.random() < 0.33:
        words[0] = words[0].replace("r", "rr", 1) if "r" in words[0] else words[0][:1] + "x" + words[0][1:]
    return " ".join(words)


def main() -> None:
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 50_000
    with tempfile.TemporaryDirectory() as folder:
        path = Path(sys.argv[2]) if len(sys.argv) > 2 else Path(folder) / "book.sqlite"
        book = Casebook(path)
        if len(book) == 0:
            fill(book, cases)
        chance, count = random.Random(11), len(book)
        questions = [asked(chance) for _ in range(100)]
        names = [f"GC-{chance.randrange(count):05d}" for _ in range(100)]
        measured = {
            "open": p95(lambda n: Casebook(path).open(names[n])),
            "search": p95(lambda n: book.search(questions[n])),
            "similar": p95(lambda n: book.similar(book.case(names[n]))),
            "read": p95(lambda n: book.case(names[n]).read("EN 0.02", rails=True), 20),
        }
        for what, (clock, processor) in measured.items():
            goal = f"   goal {1000 * GOALS[what]:.0f} ms" if what in GOALS else ""
            print(f"{what:8} {1000 * clock:8.1f} ms, of the processor {1000 * processor:8.1f} ms{goal}")
        print(f"size     {path.stat().st_size / count / 1000:8.2f} kB a case, {count} cases")


main()
