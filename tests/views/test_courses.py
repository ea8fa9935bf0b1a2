"""Courses in time: who arrives when, drawn as it is said, with the caution where charge is stored."""

import math

import pytest
import shouldread as sr
from shouldread.diagnosis import cautions
from shouldread.reference import waveform
from shouldread.views import arrivals, course_plot

BUS = """* 48 V bus, unplugged
VIN VIN 0 48
RSW VIN BUS 10m
C1 BUS 0 1m
RB BUS 0 47k
*: [states]
*: fed = {}
*: unplugged = { RSW = 1e12 }
"""
OHMS = "* an ohms range on a capacitor\nI1 0 T 10u\nC1 T 0 470u\nR1 T 0 1meg\n"


def test_a_bleeder_takes_its_time_and_the_caution_says_so() -> None:
    """RC ln(V0/V) (any textbook): 1 mF x 47 k x ln(48/2) = 149 s from 48 V to 2 V."""
    circuit = sr.load_circuit(BUS)
    course = waveform(circuit, state="unplugged", after="fed", seconds=300)
    assert course.reaches("BUS", 2.0) == pytest.approx(47 * math.log(24), rel=0.01)
    told = course_plot(course, ["BUS"], level=2.0, cautions=cautions(circuit, "hand over"))
    assert told.image[1:4] == b"PNG"
    assert "2.0 V at 149 s" in told.text or "2.0 V at 150 s" in told.text
    assert told.text.count("C1 stores 1.15 J at 48 V") == 1


def test_ohms_on_a_capacitor_rise() -> None:
    """I t / C at the start (any textbook): 10 uA into 470 uF climbs 1 V in 47 s and a little more beside 1 M."""
    course = waveform(sr.load_circuit(OHMS), seconds=200)
    expected = -470 * math.log(1 - 1 / 10)  # R C ln(1 / (1 - V / I R)), the 1 M in parallel
    assert course.reaches("T", 1.0) == pytest.approx(expected, rel=0.01)
    assert "T: " in course_plot(course).text


def test_a_delayed_enable_arrives_after_its_rail() -> None:
    circuit = sr.load_circuit("rc_delayed_enable")
    order = list(arrivals(waveform(circuit)))
    rail = next(n for p in circuit.netlist.values() if p.kind == "V" for n in p.nodes if n != "0")
    assert order[0] == rail and len(order) > 1


def test_power_good_follows_its_rails() -> None:
    circuit = sr.load_circuit("sequenced_rails")
    when = arrivals(waveform(circuit))
    assert when["5V"] < when["3V3"]
    told = course_plot(waveform(circuit))
    lines = [row.strip().partition(":")[0] for row in told.text.splitlines()[1:]]
    assert lines == list(when)[: len(lines)], "lanes stand in the order of arrival"


def test_what_cannot_be_drawn_says_why(monkeypatch: pytest.MonkeyPatch) -> None:
    circuit = sr.load_circuit("* r\nV1 A 0 5\nR1 A B 1k\nC1 B 0 1u\n".replace("\\\n", "\n"))
    course = waveform(circuit, seconds=0.01)
    with pytest.raises(sr.KitError, match="node"):
        course_plot(course, ["Z"])
    still = waveform(circuit, after="rest", seconds=0.01)
    with pytest.raises(sr.KitError, match="no node moves"):
        course_plot(still)
    monkeypatch.setenv("NGSPICE_LIBRARY_PATH", "no-such-library.so")
    with pytest.raises(sr.KitError, match="nothing to draw"):
        course_plot(waveform(circuit))
