"""Figures of data sheets: each is kept by the kit's part of that sort, and stands behind a part of the shelf."""

import math
from collections.abc import Callable, Mapping
from functools import cache

import pytest
import shouldread as sr
from scipy.optimize import brentq
from shouldread.circuit import Circuit, Figure, figures, figures_of, told_figures
from shouldread.circuit.figures import _table
from shouldread.circuit.sorts import sorts
from shouldread.circuit.trace_back import sort_of
from shouldread.parts import Part, spreads_of
from shouldread.quantities import Spread, spice_number


def solved(text: str) -> Mapping[str, float]:
    return sr.solve(sr.load_circuit(f"* one part\n{text}\n")).volts


def turned(sort: str) -> int:
    """-1 for what conducts the other way round."""
    return -1 if sort.startswith("p") else 1


def card(figure: Figure) -> str:
    return f".model MX {sorts()[figure.sort].model}"


def saturated(figure: Figure) -> Mapping[str, float]:
    """Collector and base volts with both currents forced."""
    s, at = turned(figure.sort), figure.at
    return solved(f"I1 0 c {s * at['collector']}\nI2 0 b {s * at['base']}\nQ1 c b 0 MX\n{card(figure)}")


def amps(figure: Figure, base: str) -> float:
    """Amps into the collector, held at its volts, with the base fed as told."""
    volts = figure.at.get("collector_volts", 1.0)  # a gain is stated at 1 V
    text = f"* one part\nVC c 0 {turned(figure.sort) * volts}\n{base}\nQ1 c b 0 MX\n{card(figure)}\n"
    return abs(sr.solve(sr.load_circuit(text)).amps["VC"])


def gain(figure: Figure) -> float:
    wanted, s = figure.at["collector"], turned(figure.sort)
    base = brentq(lambda log: amps(figure, f"I1 0 b {s * math.exp(log)}") - wanted, math.log(1e-9), math.log(wanted))
    return wanted / math.exp(base)


def switching_input(figure: Figure) -> float:
    """Volts at the input that bring the collector to its amps."""
    inside = f"R1 in b {figure.at['series']}\nR2 b 0 {figure.at['shunt']}"
    return brentq(lambda v: amps(figure, f"V1 in 0 {v}\n{inside}") - figure.at["collector"], 0.1, 5)


def output(figure: Figure) -> float:
    """Collector volts of a pre-biased transistor with its load."""
    at = figure.at
    rows = f"V1 in 0 {at['input_volts']}\nR1 in b {at['series']}\nR2 b 0 {at['shunt']}\nQ1 c b 0 MX\n{card(figure)}"
    return solved(f"V2 s 0 {at['supply_volts']}\nR3 s c {at['load']}\n{rows}")["c"]


def leakage(figure: Figure) -> float:
    text = f"* one part\nV1 k 0 {figure.at['reverse_volts']}\nD1 0 k MX\n{card(figure)}\n"
    return abs(sr.solve(sr.load_circuit(text)).amps["V1"])


def threshold(figure: Figure) -> float:
    return abs(
        solved(f"I1 0 d {turned(figure.sort) * figure.at['drain']}\nM1 d d 0 0 MX W=1 L=1\n{card(figure)}")["d"]
    )


def on_ohms(figure: Figure) -> float:
    s, at = turned(figure.sort), figure.at
    drive = f"VG g 0 {s * at['drive']}\nI1 0 d {s * at['drain']}\nM1 d g 0 0 MX W=1 L=1\n{card(figure)}"
    return abs(solved(drive)["d"]) / at["drain"]


PINS = {"buck": "IN X OUT OUT 0", "regulator": "IN X OUT OUT 0", "efuse": "IN X 0 OUT 0"}


def changes(figure: Figure, pins: str, surely: bool) -> float:
    """Volts at X where a block's output comes or goes: where it surely lives, or where it may (hysteresis between)."""
    block = f"X1 {pins} {figure.sort.upper()}\n.include ../models/{figure.sort}.cir"

    def lives(volts: float) -> bool:
        text = f"* block\nV1 IN 0 12\nVX X 0 {volts}\nV2 HELD 0 1.4\n{block}\nRL OUT 0 1k\n"
        found = sr.solve(sr.load_circuit(text))
        return (all if surely else any)(v["OUT"] > 0.5 for v in (found.volts, *found.outcome.others))

    low, high = 0.1, 2.5
    at_low = lives(low)
    assert lives(high) != at_low
    while high - low > 1e-3:
        middle = (low + high) / 2
        low, high = (middle, high) if lives(middle) == at_low else (low, middle)
    return low


MEASURED: Mapping[str, Callable[[Figure], float]] = {
    "saturation": lambda f: abs(saturated(f)["c"]),
    "base volts": lambda f: abs(saturated(f)["b"]),
    "gain": gain,
    "threshold": threshold,
    "on ohms": on_ohms,
    "forward volts": lambda f: solved(f"I1 0 a {f.at['forward']}\nD1 a 0 MX\n{card(f)}")["a"],
    "leakage": leakage,
    "output low": output,
    "output high": output,
    "input off": switching_input,
    "input on": switching_input,
    "enable rising": lambda f: changes(f, PINS[f.sort], surely=True),
    "enable falling": lambda f: changes(f, PINS[f.sort], surely=False),
    "overvoltage": lambda f: changes(f, "IN HELD X OUT 0", surely=False),
}
USUAL = 0.1  # V, Ω: how near to a typical figure the kit's own part comes


def within(figure: Figure, value: float) -> bool:
    least = figure.least if figure.least is not None else -math.inf
    most = figure.most if figure.most is not None else math.inf
    return least - 1e-9 <= value <= most * (1 + 1e-9)


def called(figure: Figure) -> str:
    return f"{figure.sort} {figure.what} {' '.join(f'{k}={v:g}' for k, v in figure.at.items())}"


OF_MODELS = [f for f in figures() if f.what in MEASURED]
OF_VALUES = [f for f in figures() if f.what not in MEASURED]


@pytest.mark.parametrize("figure", OF_MODELS, ids=called)
def test_the_generic_part_keeps_the_figure(figure: Figure) -> None:
    """Its model, measured as the data sheet measures it (sheets as the table names them)."""
    value = MEASURED[figure.what](figure)
    assert within(figure, value), f"{value:.4g}, the sheet says {figure}"
    if figure.usual is not None:
        assert value == pytest.approx(figure.usual, abs=USUAL), f"{value:.4g}, the sheet says {figure}"


@cache
def shelf_parts() -> tuple[tuple[Circuit, Part], ...]:
    boards = [sr.load_circuit(name) for name in sr.shelf().names]
    return tuple((board, part) for board in boards for part in board.netlist.values())


def inside(board: Circuit, transistor: Part) -> tuple[Part, Part]:
    """The resistors inside a pre-biased transistor: input to base, base to emitter."""
    base, emitter = transistor.nodes[1:3]
    at_base = [p for p in board.netlist.values() if p.facts.get("detail") == "inside" and base in p.nodes]
    shunt = next(p for p in at_base if emitter in p.nodes)
    return next(p for p in at_base if p is not shunt), shunt


def values_on_the_shelf(figure: Figure) -> list[float]:
    """The number of each part of the shelf that the figure speaks of."""
    found = []
    for board, part in shelf_parts():
        sort = sort_of(part)
        if sort is None or sort.name != figure.sort:
            continue
        if figure.what in ("series inside", "ratio inside"):
            series, shunt = (p.value for p in inside(board, part))
            assert series is not None and shunt is not None
            value = series.nominal if figure.what == "series inside" else shunt.nominal / series.nominal
            found += [value] if value == pytest.approx(figure.at["marked"], rel=0.02) else []
        elif figure.what == "winding":
            found += [spread.nominal for what, spread in spreads_of(part) if what == "dcr"]
        elif part.value is not None:
            found.append(part.value.nominal)
    return found


@pytest.mark.parametrize("figure", OF_VALUES, ids=called)
def test_values_on_the_shelf_lie_within_the_figure(figure: Figure) -> None:
    found = values_on_the_shelf(figure)
    assert found and all(within(figure, value) for value in found), found
    default = sorts()[figure.sort].value
    assert not default or default == "?" or within(figure, spice_number(default))


@pytest.mark.parametrize("figure", [f for f in OF_VALUES if f.what == "series inside"], ids=called)
def test_a_resistor_inside_varies_as_the_data_sheet_says(figure: Figure) -> None:
    """The limits that the sheet prints are what the kit's own spread gives a resistor inside."""
    marked = Part("R1", "R", ("A", "B"), Spread.exact(figure.at["marked"]), facts={"detail": "inside"})
    spread = dict(spreads_of(marked))["value"]
    assert (spread.low, spread.high) == pytest.approx((figure.least, figure.most))


@pytest.mark.parametrize("figure", figures(), ids=called)
def test_a_figure_stands_behind_a_part_of_the_shelf(figure: Figure) -> None:
    """Some part there is of that sort, and who replaces it is told the figure with its sheet."""
    board, part = next((b, p) for b, p in shelf_parts() if figure in figures_of(p))
    notes = str(sr.choose_part(board, part.name))
    assert str(figure) in notes and figure.source in notes


def test_no_figure_without_a_limit_a_sheet_and_words() -> None:
    for figure in figures():
        assert any(limit is not None for limit in (figure.least, figure.most, figure.usual))
        assert "data sheet" in figure.source or "from memory" in figure.source
    assert {figure.what for figure in figures()} == set(_table()["what"])
    lines = list(told_figures(f for f in figures() if f.sort == "signal"))
    assert lines == [
        "forward: 0.62 V to 0.72 V at forward 5 mA; at most 1.0 V at forward 50 mA (data sheet 1N4148W (from memory))"
    ]


def test_a_model_of_its_own_has_no_figures() -> None:
    own = sr.load_circuit("* own\nV1 A 0 1\nD1 A 0 DX\n.model DX D(IS=3e-9)\n")
    assert figures_of(own.part("D1")) == ()


@pytest.mark.parametrize(
    ("dividers", "threshold", "start", "stop"),
    [((470e3, 31.6e3, 44.2e3), 1.24, 9.0, 15.5), ((470e3, 11e3, 47e3), 1.2, 10.8, 13.2)],
    ids=["data sheet TPS25961", "data sheet TPS22811"],
)
def test_worked_dividers_of_data_sheets(
    dividers: tuple[float, float, float], threshold: float, start: float, stop: float
) -> None:
    """The input volts at which the sheet's own dividers switch the electronic fuse, to 2.5 % (it rounds its values)."""
    top, middle, bottom = dividers
    fuse = f"X1 IN UV OV OUT 0 EFUSE vth={threshold} hys=0.002\n.include ../models/efuse.cir"
    stage = f"R1 IN UV {top}\nR2 UV OV {middle}\nR3 OV 0 {bottom}\n{fuse}\nRL OUT 0 1k"

    def lives(volts: float) -> bool:
        return solved(f"V1 IN 0 {volts}\n{stage}")["OUT"] > 1

    assert [lives(v) for v in (0.975 * start, 1.025 * start, 0.975 * stop, 1.025 * stop)] == [False, True, True, False]
