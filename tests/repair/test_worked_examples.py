"""Worked examples of the trade, each with its source: what the kit reckons against handbook and datasheet figures."""

import math

import pytest
import shouldread as sr
from shouldread.diagnosis import cautions
from shouldread.quantities import nearest, read_marking, series_of
from shouldread.reference import waveform
from shouldread.repair.short_walk import SQUARE

TI = "design example of the Texas Instruments datasheet "


@pytest.mark.parametrize(
    ("source", "volts", "ohms", "node", "expected", "rel"),
    [
        (TI + "TPS7A25, section 8.2.2.2: 3.6 M over 1.18 M, 5.023 V", 5.023, ("3.6meg", "1.18meg"), 1, 1.24, 5e-4),
        (TI + "TPS2595, UVLO: 1 M over 387 k, 1.2 V at 4.3 V", 4.3, ("1meg", "387k"), 1, 1.2, 2e-3),
        (TI + "LM76002, section 8.2.2.12: 315 k over 100 k, 1.218 V at 5 V", 5.0, ("315k", "100k"), 1, 1.218, 0.015),
        (TI + "TPS25961: 470 k, 31.5 k, 43.6 k, 1.24 V at 9.0 V", 9.0, ("470k", "31.5k", "43.6k"), 1, 1.24, 4e-3),
        (TI + "TPS25961: the same, overvoltage at 15.5 V", 15.5, ("470k", "31.5k", "43.6k"), 2, 1.24, 4e-3),
        (TI + "TPS25983: 1 M, 40.6 k, 84.4 k, 1.2 V at 10.8 V", 10.8, ("1meg", "40.6k", "84.4k"), 1, 1.2, 4e-3),
        (TI + "TPS25983: the same, overvoltage at 16 V", 16.0, ("1meg", "40.6k", "84.4k"), 2, 1.2, 4e-3),
        (TI + "LM7310, section 8.2.1.2.1: 470 k, 10.7 k, 48 k, 1.2 V at 10.8 V", 10.8, ("470k", "10.7k", "48k"), 1, 1.2, 4e-3),
        (TI + "LM7310: the same, overvoltage at 13.2 V", 13.2, ("470k", "10.7k", "48k"), 2, 1.2, 4e-3),
    ],
)  # fmt: skip
def test_dividers_of_published_datasheets(
    source: str, volts: float, ohms: tuple[str, ...], node: int, expected: float, rel: float
) -> None:
    """The level at the pin as printed; what a part of the divider bears; and the closed form of the explanation."""
    rows = [
        f"R{k} {'IN' if k == 1 else f'N{k - 1}'} {f'N{k}' if k < len(ohms) else '0'} {r}"
        for k, r in enumerate(ohms, 1)
    ]
    circuit = sr.load_circuit("\n".join(["* divider", f"V1 IN 0 {volts}", *rows, ""]))
    assert sr.solve(circuit).volts[f"N{node}"] == pytest.approx(expected, rel=rel), source
    assert sr.explain(circuit, f"N{node}").exact
    watts = sum(load.watts for load in sr.stress(circuit, faults=()).loads if load.part.startswith("R"))
    total = sum(circuit.part(p).value.nominal for p in circuit.parts if p.startswith("R"))  # type: ignore[union-attr]
    assert watts == pytest.approx(volts**2 / total, rel=1e-6), "Joule: V² over the string"


def test_each_resistor_of_a_divider_bears_its_share() -> None:
    """Lessons In Electric Circuits vol. 1, divider circuits (from memory): 45 V over 5, 10 and 7.5 k at 2 mA."""
    circuit = sr.load_circuit("* string\nV1 A 0 45\nR1 A B 5k\nR2 B C 10k\nR3 C 0 7.5k\n")
    loads = sr.stress(circuit, faults=())
    assert [loads[r].volts for r in ("R1", "R2", "R3")] == pytest.approx([10, 20, 15])
    assert [loads[r].watts for r in ("R1", "R2", "R3")] == pytest.approx([20e-3, 40e-3, 30e-3])


def test_a_shunt_bears_nearly_all_of_the_current() -> None:
    """Lessons In Electric Circuits vol. 1, ammeter design (from memory): 1 mA and 500 ohm, 100.02 mohm beside it, 5 A."""
    circuit = sr.load_circuit("* ammeter\nI1 0 A 5\nRM A 0 500\nRS1 A 0 100.02m\n")
    loads = sr.stress(circuit, faults=())
    assert abs(loads["RM"].amps) == pytest.approx(1e-3, rel=1e-4)
    assert loads["RS1"].watts == pytest.approx(0.5 * 4.999, rel=1e-4)


@pytest.mark.parametrize(
    ("load", "amps", "watts"), [("1k", 14.7e-3, 75e-3), ("500", 9.6e-3, 49e-3), ("910", 14.2e-3, 72.4e-3)]
)
def test_a_zener_bears_what_the_load_leaves(load: str, amps: float, watts: float) -> None:
    """Lessons In Electric Circuits vol. 3, zener diodes, by the same arithmetic: (15 V - 5.1 V) / 500 ohm less the load's."""
    text = f"* z\nV1 IN 0 15\nR1 IN Z 500\nD1 0 Z DZ\nRL Z 0 {load}\n.model DZ D(IS=1e-14 BV=5.1 IBV=15m NBV=0.5)\n"
    told = sr.stress(sr.load_circuit(text), faults=())["D1"]
    assert abs(told.amps) == pytest.approx(amps, rel=0.02)
    assert told.watts == pytest.approx(watts, rel=0.02)


def test_a_zener_without_its_load_bears_the_most() -> None:
    """All of (15 - 5.1) / 500 = 19.8 mA, 0.1 W (Ohm and Joule): stress finds that fault by itself."""
    text = "* z\nV1 IN 0 15\nR1 IN Z 500\nD1 0 Z DZ\nRL Z 0 500\n.model DZ D(IS=1e-14 BV=5.1 IBV=15m NBV=0.5)\n"
    told = sr.stress(sr.load_circuit(text), faults=["RL open"])["D1"]
    assert told.watts_worst == pytest.approx(19.8e-3 * 5.1, rel=0.02) and told.under.startswith("RL open")


@pytest.mark.parametrize(
    ("farads", "volts", "joules"),
    [(8e-6, 10e3, 400.0), (1e-3, 48, 1.152), (220e-6, 24, 0.06336), (470e-6, 50, 0.5875)],
)
def test_energy_of_a_charged_capacitor(farads: float, volts: float, joules: float) -> None:
    """½ C V²: the first is the worked example of OpenStax College Physics, section 19.7 (8.00 uF, 10.0 kV, 400 J; from memory)."""
    told = cautions(sr.load_circuit(f"* c\nV1 A 0 {volts}\nC1 A 0 {farads}\nR1 A 0 1k\n"), "ohms")
    words = next(c.say for c in told if c.rule == "stored charge")
    value, unit = words.partition("stores ")[2].split()[:2]
    assert float(value) * {"J": 1.0, "mJ": 1e-3}[unit] == pytest.approx(joules, rel=5e-3)


@pytest.mark.parametrize(
    ("load", "amps", "watts", "resistor"), [("", 32.4e-3, 0.40824, 1.04976), ("RL Z 0 500", 7.2e-3, 0.09072, 1.04976)]
)
def test_the_zener_of_the_textbook(load: str, amps: float, watts: float, resistor: float) -> None:
    """Lessons In Electric Circuits vol. 3, chapter 3, zener diodes (from memory): 45 V, 1 kohm, 12.6 V.

    32.4 mA, 408.24 mW in the zener and 1.0498 W in the resistor; with 500 ohm beside it 7.2 mA and 90.72 mW.
    """
    model = ".model DZ D(IS=1e-14 BV=12.6 IBV=32.4m NBV=0.1)"
    told = sr.stress(sr.load_circuit(f"* z\nV1 IN 0 45\nR1 IN Z 1k\nD1 0 Z DZ\n{load}\n{model}\n"), faults=())
    assert abs(told["D1"].amps) == pytest.approx(amps, rel=0.01)
    assert told["D1"].watts == pytest.approx(watts, rel=0.01)
    assert told["R1"].watts == pytest.approx(resistor, rel=0.01)


def test_a_capacitor_discharges_as_published() -> None:
    """Socratic Electronics, question 02943: 17 uF at 12 V through 190 k; its table of times, and the one of question
    02941: 10 uF at 18 V through 22 k is at 7 V after 0.208 s."""
    text = (
        "* d\nV1 S 0 {v}\nRSW S C 10m\nR1 C 0 {r}\nC1 C 0 {c}\n*: [states]\n*: fed = {{}}\n*: cut = {{ RSW = 1e12 }}\n"
    )
    told = waveform(sr.load_circuit(text.format(v=12, r="190k", c="17u")), state="cut", after="fed", seconds=8)
    for volts, seconds in ((10, 0.5889), (8, 1.31), (6, 2.24), (4, 3.55), (2, 5.79)):
        assert told.reaches("C", volts) == pytest.approx(seconds, rel=0.01)
    other = waveform(sr.load_circuit(text.format(v=18, r="22k", c="10u")), state="cut", after="fed", seconds=0.5)
    assert other.reaches("C", 7) == pytest.approx(0.208, rel=0.01)


def test_a_capacitor_charges_as_published() -> None:
    """Socratic Electronics, question 03025: 50 V through 100 k into 4.7 uF; V (1 - exp(-t / RC))."""
    told = waveform(sr.load_circuit("* c\nV1 S 0 50\nR1 S C 100k\nC1 C 0 4.7u\n"), seconds=3)
    for seconds in (0.5, 1.0, 2.0):
        assert told.at("C", seconds) == pytest.approx(50 * (1 - math.exp(-seconds / 0.47)), rel=5e-3)


def test_drop_and_saturation_margin_of_a_coil() -> None:
    """Ohm: 3 A through 30 mohm lose 90 mV and turn 0.27 W to heat; with 1.3 in hand it must not saturate below 3.9 A."""
    circuit = sr.load_circuit("* l\nV1 A 0 12\nL1 A B 10u\nI1 B 0 3\n*: [parts]\n*: L1 = { dcr = '30m' }\n")
    load = sr.stress(circuit, faults=())["L1"]
    assert load.volts == pytest.approx(0.090) and load.watts == pytest.approx(0.27)
    amps = next(line for line in sr.choose_part(circuit, "L1").lines if line.what == "amps")
    assert amps.low == pytest.approx(3.9)
    assert sr.choose_part(circuit, "L1").check("10 µH, 4 A sat, 30 mΩ").fits
    assert not sr.choose_part(circuit, "L1").check("10 µH, 3.5 A sat, 30 mΩ").fits


@pytest.mark.parametrize(("microns", "milliohms"), [(35, 0.49), (70, 0.246), (18, 0.96)])
def test_copper_by_the_square(microns: float, milliohms: float) -> None:
    """IEC 60028: 1.7241e-8 ohm metre at 20 degC; 0.49 milliohm a square at 35 um is the figure of every handbook."""
    assert 1.7241e-8 / (microns * 1e-6) == pytest.approx(milliohms * 1e-3, rel=0.01)
    assert SQUARE * 35 / microns == pytest.approx(milliohms * 1e-3, rel=0.01)


@pytest.mark.parametrize(
    ("text", "unit", "value", "series"),
    [("4K7", "Ω", 4.7e3, "E3"), ("R010", "Ω", 0.010, "E3"), ("5R1", "Ω", 5.1, "E24"),
        ("4u7", "F", 4.7e-6, "E3"), ("104", "F", 100e-9, "E3"),
    ],
)  # fmt: skip
def test_codes_and_series(text: str, unit: str, value: float, series: str) -> None:
    """IEC 60062 letter and digit codes, IEC 60063 series (from memory)."""
    told = read_marking(text, unit)[0].spread.nominal
    assert told == pytest.approx(value) and series_of(told) == series


def test_the_ideal_value_of_a_divider_goes_to_its_series() -> None:
    """TPS7A25: 3.58 M by hand becomes 3.6 M of E24; LM76002: its own equation gives 310.5 k, 309 k of E96."""
    assert nearest((5 / 1.24 - 1) * 1.18e6, "E24") == pytest.approx(3.6e6)
    assert nearest((5 / 1.218 - 1) * 100e3, "E96") == pytest.approx(309e3)
