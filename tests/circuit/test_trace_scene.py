"""A stage traced on the bench, through to its suspects: the two-feed enable with a resistor that nobody can read.

Figures: common practice, no source (the scene of a dead auxiliary feed that strays).
"""

import shouldread as sr
from shouldread.circuit import Rails, Trace, looks_like

LINES = """J1 from 12V_AUX to AUX_IN
R? from AUX_IN to AUX_S shunt 10m
L1 from AUX_S to FEED 10u
C? from FEED to GND 10u
R? from FEED to B1 47k
R? from B1 to GND ?
Q1 npn c X b B1 e GND
R? from 12V_MAIN to X 47k
R? from X to B2 10k
R? from B2 to GND 47k
Q2 npn c EN b B2 e GND
R? from 12V_MAIN to EN 42.2k
R? from EN to GND 10k"""
SHEET = "12V_MAIN nominal 12 ± 8 %\n12V_AUX nominal 12 ± 8 %"
FEED_GONE = {"L1 open", "R1 open", "RJ1 open", "V12V_AUX absent"}


def test_scene_4_from_the_lines_typed_to_the_coil() -> None:
    trace = Trace.read(LINES, "Enable of the 5 V converter", Rails.read(SHEET))
    assert not [row for row in trace.rows if row.wrong] and trace.questions == ()
    circuit = trace.circuit
    assert circuit is not None and looks_like(circuit)[0].name == "two_feed_enable"
    d = sr.diagnose(circuit, "B1 0.55; FEED 0.58; EN 0.02")
    assert set(d.groups[0].faults) <= FEED_GONE, "the shunt, the coil, the contact, the feed; nothing behind them"
    shares = {s.fault: s.share for s in d.suspects}
    assert sum(shares[name] for name in FEED_GONE) > 0.95
    assert shares["R2 open"] < 0.01, "the base resistor is not accused on B1 alone"
    assert d.verdicts["FEED"] == "too low" and d.next_probe is not None and d.next_probe.at == "AUX_S"
    after = d.also("AUX_S 12.1")
    assert after.suspects[0].fault == "L1 open" and after.suspects[0].share > 0.9
    assert not after.also("L1 11.5").doubtful
