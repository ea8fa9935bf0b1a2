"""Ways of wires: the flood against Dijkstra of a general graph library, the trunks against plain geometry."""

from itertools import pairwise
from random import Random

import networkx as nx
import pytest
from shouldread.drawing.maze import CROSS, DEAR, STEP, TURN, Terrain, find_way
from shouldread.drawing.paths import corners, links_of, runs, straight_pieces
from shouldread.drawing.trunks import BEND, WRONG, Trunks

WIDTH, HEIGHT = 14, 11


def grid(seed: int) -> dict[tuple[int, int], str]:
    """Cells and what lies there: plain, dear, a flat wire, a steep wire, or a wall."""
    random = Random(seed)
    inside = [(x, y) for x in range(1, WIDTH - 1) for y in range(1, HEIGHT - 1)]
    return {cell: random.choice(["plain"] * 6 + ["dear"] * 2 + ["flat", "steep", "wall", "wall"]) for cell in inside}


def terrain_of(cells: dict[tuple[int, int], str]) -> Terrain:
    def mask(*sorts: str) -> int:
        return sum(1 << (y * WIDTH + x) for (x, y), sort in cells.items() if sort in sorts)

    plain, dear = mask("plain"), mask("dear")
    return Terrain(WIDTH, (plain, plain), (dear, dear), (mask("steep"), mask("flat")), mask("plain", "dear"))


def reference(cells: dict[tuple[int, int], str], start: tuple[int, int], goal: tuple[int, int]) -> int | None:
    """The cheapest way by networkx, on a graph of (layer, cell)."""
    graph: nx.DiGraph = nx.DiGraph()
    for (x, y), sort in cells.items():
        for layer, (dx, dy) in enumerate(((1, 0), (0, 1))):
            for sign in (1, -1):
                there = (x + sign * dx, y + sign * dy)
                into = cells.get(there, "wall")
                price = {"plain": STEP, "dear": STEP + DEAR, ("steep", "flat")[layer]: STEP + CROSS}.get(into)
                if price is not None:
                    graph.add_edge((layer, (x, y)), (layer, there), weight=price)
            if sort in ("plain", "dear"):
                graph.add_edge((layer, (x, y)), (1 - layer, (x, y)), weight=TURN)
    for layer in (0, 1):
        graph.add_edge("start", (layer, start), weight=0)
        graph.add_edge((layer, goal), "goal", weight=0)
    try:
        return int(nx.dijkstra_path_length(graph, "start", "goal"))
    except nx.NetworkXNoPath:
        return None


def price_of(way: list[tuple[int, int]], cells: dict[tuple[int, int], str]) -> int:
    """What a way costs, counted cell by cell."""
    total = 0
    for k in range(1, len(way)):
        flat = way[k][1] == way[k - 1][1]
        sort = cells[way[k]]
        total += STEP + (DEAR if sort == "dear" else CROSS if sort in ("flat", "steep") else 0)
        assert sort != ("flat" if flat else "steep")
        if k > 1 and flat != (way[k - 1][1] == way[k - 2][1]):
            total += TURN
            assert cells[way[k - 1]] in ("plain", "dear")
    return total


@pytest.mark.parametrize("seed", range(60))
def test_the_flood_finds_the_cheapest_way(seed: int) -> None:
    """Dijkstra's algorithm (Numerische Mathematik 1 (1959) 269) as networkx has it gives the same price."""
    cells = grid(seed)
    start, goal = (1, 1), (WIDTH - 2, HEIGHT - 2)
    cells[start] = cells[goal] = "plain"
    bits = [1 << (y * WIDTH + x) for x, y in (start, goal)]
    found = find_way(terrain_of(cells), [(k, bits[0], 0) for k in (0, 1)], [(k, bits[1], 0) for k in (0, 1)])
    wanted = reference(cells, start, goal)
    if wanted is None:
        assert found is None
        return
    assert found is not None
    way = [(cell % WIDTH, cell // WIDTH) for cell in reversed(found)]
    assert (way[0], way[-1]) == (start, goal)
    assert all(abs(a - c) + abs(b - d) == 1 for (a, b), (c, d) in pairwise(way))
    assert price_of(way, cells) == wanted


def test_a_goal_with_a_surcharge_is_passed_over_for_a_cheaper_one() -> None:
    cells = {(x, y): "plain" for x in range(1, WIDTH - 1) for y in range(1, HEIGHT - 1)}
    near, far = 1 << (5 * WIDTH + 4), 1 << (5 * WIDTH + 6)
    starts = [(0, 1 << (5 * WIDTH + 2), 0)]
    found = find_way(terrain_of(cells), starts, [(0, near, 50), (0, far, 0)])
    assert found is not None and 1 << found[0] == far


def cheapest(pins: tuple[tuple[int, int, int, int], ...]):  # type: ignore[no-untyped-def]
    plan, _, _ = Trunks(64).plan(pins)
    return plan.shape(0)


def test_pins_that_face_each_other_are_joined_straight() -> None:
    shape = cheapest(((0, 0, 1, 0), (7, 0, -1, 0)))
    assert shape.cost == 7 and shape.segments == ((0, 0, 7, 0),)


def test_a_corner_costs_a_bend() -> None:
    assert cheapest(((0, 4, 1, 0), (6, 0, 0, 1))).cost == 10 + BEND


def test_leaving_through_the_part_is_dear() -> None:
    right, wrong = cheapest(((0, 0, 1, 0), (6, 0, -1, 0))).cost, cheapest(((0, 0, -1, 0), (6, 0, 1, 0))).cost
    assert wrong >= right + WRONG


@pytest.mark.parametrize("seed", range(40))
def test_every_shape_joins_all_its_pins_and_its_bits_are_its_lines(seed: int) -> None:
    random = Random(seed)
    ways = ((1, 0), (-1, 0), (0, 1), (0, -1))
    places = random.sample([(x, y) for x in range(0, 20, 2) for y in range(0, 20, 2)], random.randint(2, 6))
    pins = tuple((x, y, *random.choice(ways)) for x, y in places)
    plan, left, up = Trunks(64).plan(pins)
    for number in range(len(plan.costs)):
        shape = plan.shape(number)
        links = links_of(shape.segments)
        cells = {(x - shape.left, y - shape.up) for x, y in links}
        bits = shape.flat | shape.steep
        assert {(k % 64, k // 64) for k in range(bits.bit_length()) if bits >> k & 1} == cells
        joined = nx.node_connected_component(
            nx.Graph((a, b) for a, row in links.items() for b in row), next(iter(links))
        )
        assert all((x - left, y - up) in joined for x, y, _, _ in pins)
    assert plan.costs == sorted(plan.costs)


def test_ways_links_and_runs_tell_the_same_wire() -> None:
    way = [(0, 0), (1, 0), (2, 0), (2, 1), (2, 2), (3, 2)]
    segments = straight_pieces(way)
    assert segments == [(0, 0, 2, 0), (2, 0, 2, 2), (2, 2, 3, 2)]
    links = links_of(segments)
    assert corners(links) == 2
    assert list(runs(links, ())) == [[(0, 0), (2, 0), (2, 2), (3, 2)]]
    assert sorted(runs(links, [(2, 1)])) == [[(0, 0), (2, 0), (2, 1)], [(2, 1), (2, 2), (3, 2)]]
