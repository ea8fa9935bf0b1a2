"""Placing: pieces keep clear of each other, prices add up, a search never ends dearer than it began."""

from random import Random

import pytest
from shouldread.circuit import load_circuit
from shouldread.drawing.anneal import anneal, restore
from shouldread.drawing.arrangement import Arrangement
from shouldread.drawing.construct import construct
from shouldread.drawing.moves import Moves, groups_of
from shouldread.drawing.panel import finish, tagged, with_room
from shouldread.drawing.sense import read_sense
from shouldread.drawing.sheet import read_sheet
from shouldread.drawing.stage import Stage, split_stages
from shouldread.drawing.supplies import settle_supplies, with_tags
from shouldread.drawing.surroundings import Surroundings, lay, overlaps

from tests.drawing.boards import INVERTER, random_text


def largest_stage(text: str) -> Stage:
    sheet = with_tags(settle_supplies(read_sheet(load_circuit(text))))
    return max(split_stages(sheet, read_sense(sheet)), key=lambda stage: stage.size)


def built(text: str) -> Arrangement:
    arrangement = Arrangement(largest_stage(text), 150, 110)
    assert construct(arrangement)
    return arrangement


TEXTS = (INVERTER, random_text(4, 8), random_text(8, 14))


@pytest.mark.parametrize("text", TEXTS)
def test_built_and_searched_pieces_keep_clear_of_each_other(text: str) -> None:
    arrangement = built(text)
    assert not overlaps(arrangement)
    anneal(arrangement, 300, Random(1))
    assert not overlaps(arrangement)


@pytest.mark.parametrize("text", TEXTS)
def test_a_search_never_ends_dearer_than_it_began(text: str) -> None:
    arrangement = built(text)
    before = lay(arrangement)
    assert anneal(arrangement, 300, Random(2)) <= before + 1e-6


@pytest.mark.parametrize("seed", range(12))
def test_the_price_of_a_move_is_the_difference_of_the_whole_pictures(seed: int) -> None:
    """What does not move keeps the shape of its wires, so the difference is exact where no wire is laid anew."""
    arrangement = built(INVERTER)
    random = Random(seed)
    before = lay(arrangement)
    moves = Moves(arrangement, random)
    for _ in range(200):
        members, offers = moves.draw()
        around = Surroundings(arrangement, members)
        free = [offer for offer in offers if around.free(offer)]
        if not free:
            continue
        stay = around.price([(piece, arrangement.at(piece).spot) for piece in members])
        move = around.price(free[0])
        around.settle(free[0])
        after = lay(arrangement)
        assert after <= before + move - stay + 1e-6
        return
    raise AssertionError("no free move in two hundred")


def test_a_price_over_the_limit_says_so_early() -> None:
    arrangement = built(INVERTER)
    lay(arrangement)
    around = Surroundings(arrangement, (1,))
    here = ((1, arrangement.at(1).spot),)
    price = around.price(here)
    assert around.price(here, price + 1) == pytest.approx(price)
    assert around.price(here, price - 1) > price - 1


def test_a_place_beside_another_piece_is_not_free() -> None:
    arrangement = built(INVERTER)
    around = Surroundings(arrangement, (0,))
    pose, _, _ = arrangement.at(0).spot
    _, x, y = arrangement.at(1).spot
    assert not around.free(((0, (pose, x, y)),))
    assert not around.free(((0, (pose, -50, y)),))


def test_groups_are_whole_sides_of_the_stage() -> None:
    stage = largest_stage(INVERTER)
    groups = groups_of(stage)
    assert len(groups) == len(set(groups)) and all(1 < len(group) < stage.size for group in groups)


def test_the_best_picture_comes_back() -> None:
    arrangement = built(TEXTS[1])
    spots, cost = arrangement.spots, lay(arrangement)
    anneal(arrangement, 100, Random(3), hot=20, cold=10)
    assert restore(arrangement, spots) == pytest.approx(cost)


def test_a_wire_without_a_way_becomes_named_tags() -> None:
    arrangement = built(INVERTER)
    lay(arrangement)
    net = next(k for k, row in enumerate(arrangement.stage.nets) if row.node == "B")
    pins = len(arrangement.stage.nets[net].pins)
    split = tagged(arrangement, net)
    panel = finish(split, ())
    tags = [piece for piece in panel.stage.pieces if piece.name.startswith("tag B at ")]
    assert len(tags) == pins and not panel.unwired and not overlaps(split)


def test_tags_find_room_on_a_full_board() -> None:
    stage = largest_stage(INVERTER)
    wide, high = 20, 20
    while not construct(arrangement := Arrangement(stage, wide, high)):
        wide, high = wide + 2, high + 2
    lay(arrangement)
    split = tagged(arrangement, next(k for k, row in enumerate(stage.nets) if row.node == "EN"))
    assert not overlaps(split) and not finish(split, ()).unwired


@pytest.mark.parametrize("seed", (1, 2, 3))
def test_a_label_without_room_gets_a_leader(seed: int) -> None:
    """These three are so dense as built that some node finds no place for its name."""
    arrangement = built(random_text(seed, 24))
    lay(arrangement)
    crowded = finish(arrangement, ())
    assert crowded.left
    panel = with_room(arrangement, (), 0)
    assert {label.node for label in panel.labels if label.leader} == set(crowded.left)
    tagged_nodes = {piece.pins[0].node for piece in panel.stage.pieces if piece.symbol.form == "tag"}
    assert {label.node for label in panel.labels} == {row.node for row in panel.stage.nets} - tagged_nodes
    covers = [label.cover for label in panel.labels]
    for k, a in enumerate(covers):
        assert all(a[0] > b[2] or b[0] > a[2] or a[1] > b[3] or b[1] > a[3] for b in covers[k + 1 :])


@pytest.mark.parametrize("seed", (1, 3))
def test_opened_rows_and_columns_make_room(seed: int) -> None:
    arrangement = built(random_text(seed, 24))
    lay(arrangement)
    crowded = finish(arrangement, ())
    opened = with_room(arrangement, (), 6)
    assert len(opened.left) < len(crowded.left)
