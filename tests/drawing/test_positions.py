"""The same circuit is always the same picture; kept places come back; a small change does not tear it."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from shouldread.circuit import load_circuit
from shouldread.drawing import Drawing, Positions, clashes, lay_out, verify
from shouldread.errors import RequestError

from tests.drawing.boards import DIVIDER, INVERTER, random_text

KIT = Path(__file__).resolve().parents[2] / "kit"
SCRIPT = """
import hashlib, sys
from shouldread.circuit import load_circuit
from shouldread.drawing import Positions, lay_out
for text in sys.stdin.read().split("----"):
    for effort in ("first", "polished"):
        svg = lay_out(load_circuit(text), effort=effort, positions=Positions()).to_svg()
        print(hashlib.sha256(svg.encode()).hexdigest())
"""


def digest(hash_seed: str) -> list[str]:
    """What a fresh interpreter with that hash seed draws."""
    environment = {**os.environ, "PYTHONHASHSEED": hash_seed, "PYTHONPATH": str(KIT)}
    texts = "----".join((INVERTER, random_text(3, 7)))
    run = subprocess.run(
        [sys.executable, "-c", SCRIPT], input=texts, env=environment, capture_output=True, text=True, check=True
    )
    return run.stdout.split()


def test_the_same_bytes_whatever_the_hash_seed() -> None:
    first, second = digest("1"), digest("2")
    assert first == second and len(first) == 4 and len(set(first)) >= 2


def test_the_same_seed_gives_the_same_picture_and_every_seed_a_right_one() -> None:
    circuit = load_circuit(random_text(11, 6))
    drawings = [lay_out(circuit, seed=seed, effort="polished") for seed in (0, 0, 7)]
    assert drawings[0].to_svg() == drawings[1].to_svg()
    assert len({drawing.positions.key for drawing in drawings}) == 1
    assert all(verify(drawing) == () and clashes(drawing) == () for drawing in drawings)


@pytest.mark.parametrize("effort", ("first", "polished"))
@pytest.mark.parametrize("text", (INVERTER, random_text(1, 9), random_text(2, 14)))
def test_kept_places_give_the_same_picture(text: str, effort: str) -> None:
    if effort == "polished" and text is not INVERTER:
        text = DIVIDER
    circuit = load_circuit(text)
    drawing = lay_out(circuit, effort=effort)  # type: ignore[arg-type]
    kept = Positions.from_data(json.loads(json.dumps(drawing.positions.as_data())))
    again = lay_out(circuit, positions=kept)
    assert again.to_svg() == drawing.to_svg()


def places(drawing: Drawing) -> dict[str, tuple[int, int, str]]:
    """Where parts stand, seen from the first of them."""
    x0, y0, _ = next(iter(drawing.positions.places.values()))
    return {name: (x - x0, y - y0, pose) for name, (x, y, pose) in drawing.positions.places.items()}


def test_another_value_moves_nothing() -> None:
    before = lay_out(load_circuit(INVERTER), effort="polished")
    after = lay_out(load_circuit(INVERTER.replace("47k", "33k")), positions=before.positions)
    assert before.positions.key != after.positions.key
    assert places(before) == places(after)


def test_one_part_more_leaves_the_others_where_they_are() -> None:
    before = lay_out(load_circuit(INVERTER), effort="polished")
    more = INVERTER.replace("RL EN", "C1 B 0 100n\nRL EN")
    after = lay_out(load_circuit(more), positions=before.positions)
    assert verify(after) == () and clashes(after) == ()
    old, new = places(before), places(after)
    assert set(new) - set(old) == {"C1"}
    moved = [name for name in old if old[name] != new[name]]
    assert len(moved) <= len(old) // 3, moved


def test_a_kept_place_without_room_is_given_up() -> None:
    circuit = load_circuit(DIVIDER)
    drawing = lay_out(circuit)
    heap = {name: (10, 10, pose) for name, (_, _, pose) in drawing.positions.places.items()}
    again = lay_out(circuit, positions=Positions(drawing.positions.key, heap))
    assert verify(again) == () and clashes(again) == ()


@pytest.mark.parametrize(
    "data",
    [
        None,
        [],
        {"key": "x"},
        {"key": 3, "places": {}},
        {"key": "x", "places": {"R1": [1, 2]}},
        {"key": "x", "places": {"R1": [1.5, 2, "V0r"]}},
        {"key": "x", "places": {"R1": [True, 2, "V0r"]}},
        {"key": "x", "places": {"R1": [10**9, 2, "V0r"]}},
        {"key": "x", "places": {"R1": [1, 2, 3]}},
    ],
)
def test_data_of_another_form_is_refused(data: object) -> None:
    with pytest.raises(RequestError, match="lay the circuit out anew"):
        Positions.from_data(data)


def test_an_unknown_pose_or_part_is_passed_over() -> None:
    circuit = load_circuit(DIVIDER)
    drawing = lay_out(circuit, positions=Positions("x", {"R1": (0, 0, "upside"), "R9": (4, 4, "V0r")}))
    assert verify(drawing) == ()


def test_an_effort_there_is_not() -> None:
    with pytest.raises(RequestError, match="first, polished or printed"):
        lay_out(load_circuit(DIVIDER), effort="best")  # type: ignore[arg-type]
