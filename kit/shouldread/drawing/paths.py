"""Wires as straight pieces and as links between neighbouring grid points."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

Segment = tuple[int, int, int, int]  # x0 <= x1, y0 <= y1, one pair equal
Cell = tuple[int, int]
Links = Mapping[Cell, Sequence[Cell]]


def straight_pieces(way: Sequence[Cell]) -> list[Segment]:
    """A way of neighbouring cells as straight segments."""
    pieces: list[Segment] = []
    start = 0
    for k in range(1, len(way)):
        last = k == len(way) - 1
        if last or (way[k + 1][0] - way[k][0], way[k + 1][1] - way[k][1]) != (
            way[k][0] - way[k - 1][0],
            way[k][1] - way[k - 1][1],
        ):
            (xa, ya), (xb, yb) = way[start], way[k]
            pieces.append((min(xa, xb), min(ya, yb), max(xa, xb), max(ya, yb)))
            start = k
    return pieces


def links_of(segments: Iterable[Segment]) -> dict[Cell, list[Cell]]:
    """For each grid point of a wire the neighbouring points it is linked to."""
    links: dict[Cell, list[Cell]] = {}
    for x0, y0, x1, y1 in segments:
        dx, dy = (1, 0) if y0 == y1 else (0, 1)
        for k in range(x1 - x0 + y1 - y0):
            here = (x0 + k * dx, y0 + k * dy)
            there = (here[0] + dx, here[1] + dy)
            if there not in links.setdefault(here, []):
                links[here].append(there)
                links.setdefault(there, []).append(here)
    return links


def bends_at(cell: Cell, links: Links) -> bool:
    """Whether the wire turns here (a branch is no corner)."""
    around = links[cell]
    return len(around) == 2 and around[0][0] != around[1][0] and around[0][1] != around[1][1]


def corners(links: Links) -> int:
    """How many corners the wire has."""
    return sum(bends_at(cell, links) for cell in links)


def runs(links: Links, stops: Iterable[Cell]) -> Iterator[list[Cell]]:
    """The wire as lines from one stop, branch or end to the next, by their corner points."""
    marks = {cell for cell in links if len(links[cell]) != 2} | set(stops)
    done: set[tuple[Cell, Cell]] = set()
    for start in sorted(cell for cell in links if cell in marks):
        for step in links[start]:
            if (start, step) in done:
                continue
            line, before, here = [start], start, step
            while True:
                done |= {(before, here), (here, before)}
                if here in marks:
                    break
                if bends_at(here, links):
                    line.append(here)
                onward = links[here][0] if links[here][1] == before else links[here][1]
                before, here = here, onward
            yield [*line, here]
