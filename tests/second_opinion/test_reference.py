"""ngspice behind its pipe: what it says is judged, what goes wrong with it stays with it."""

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shouldread as sr
from shouldread.reference import Ngspice, second_opinion, waveform
from shouldread.reference.ngspice import Reply, trouble

from tests.benchmarks.engine.ridge import on_a_ridge

DIVIDER = "* divider\nV1 A 0 10\nR1 A B 1k\nR2 B 0 1k\n.end\n"
RC = "* charging\nV1 A 0 5\nR1 A B 10k\nC1 B 0 1u\n.end\n"


def test_without_ngspice_it_says_so_and_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NGSPICE_LIBRARY_PATH", "no-such-library.so")
    circuit = sr.load_circuit(DIVIDER)
    told = second_opinion(circuit)
    assert told.outcome.word == "not available" and "ngspice" in str(told)
    assert not told.agrees and told.kit.volts["B"] == pytest.approx(5)
    course = waveform(circuit)
    assert course.outcome.word == "not available" and not len(course.seconds)
    assert "ngspice" in str(course)


def test_same_arguments_as_solve() -> None:
    text = DIVIDER.replace(".end", "*: [states]\n*: run = {}\n*: low = { V1 = 2 }\n.end")
    circuit = sr.load_circuit(text)
    told = second_opinion(circuit, state="low", fault="R2 open", condition="R1 bridged", meter_at="B")
    assert told.volts["B"] == pytest.approx(2.0, rel=1e-6)
    assert told.agrees
    with pytest.raises(sr.KitError):
        second_opinion(circuit, fault="R9 open")


@pytest.mark.parametrize("bulk", [-2.0, 0.4, 0.72, 0.85])
@pytest.mark.parametrize("source", [-0.1, 0.0307, 0.5])
def test_a_channel_agrees_whatever_its_bulk_stands_at(bulk: float, source: float) -> None:
    """Also with the bulk's junctions conducting and with drain and source in each other's role."""
    lines = [
        "* one transistor",
        "VG G 0 2.01",
        f"VS S 0 {source}",
        f"VB B 0 {bulk}",
        "VD D 0 0",
        "M1 D G S B MN W=1 L=1",
        ".model MN NMOS(LEVEL=1 VTO=1.5 KP=0.2 LAMBDA=0.01 GAMMA=0.4 PHI=0.7 RD=0.05 RS=0.02)",
    ]
    assert second_opinion(sr.load_circuit("\n".join(lines) + "\n")).agrees


def test_floating_nodes_are_left_out() -> None:
    told = second_opinion(sr.load_circuit("* float\nV1 A 0 10\nR1 A 0 1k\nC1 A F 1u\nC2 F 0 1u\n"))
    assert math.isnan(told.volts["F"]) and "F" not in told.difference and told.agrees


def test_a_loop_of_sources_fails_in_both() -> None:
    told = second_opinion(sr.load_circuit("* fight\nV1 A 0 5\nV2 A 0 3\nR1 A 0 1k\n"))
    assert told.kit.outcome.word == told.outcome.word == "failed"


def test_where_there_are_several_answers_ngspice_keeps_the_kits_when_started_there() -> None:
    pair = (
        "* pair\nV1 VCC 0 5\nR1 VCC C1 1k\nR2 VCC C2 1k\nR3 C1 B2 10k\nR4 C2 B1 10k\n"
        "Q1 C1 B1 0 QN\nQ2 C2 B2 0 QN\n.model QN NPN(IS=1e-14 BF=100)\n"
    )
    told = second_opinion(sr.load_circuit(pair))
    assert told.agrees and told.outcome.word == "several"  # by itself it stops on the ridge between them
    (alone,) = told.outcome.others
    assert alone["C1"] == pytest.approx(alone["C2"], abs=1e-6)


def test_the_brink_is_known_though_transistors_have_inner_resistors_and_a_node_floats_at_kilovolts() -> None:
    """1 uA into 5 Gohm beside a pair: ngspice's point between two answers is left at a push, the kit's is not."""
    pair = (
        "* pair\nV1 VCC 0 5\nR1 VCC C1 1k\nR2 VCC C2 1k\nR3 C1 B2 10k\nR4 C2 B1 10k\nI1 0 FAR 1u\nR5 FAR C1 5e9\n"
        "Q1 C1 B1 0 QN\nQ2 C2 B2 0 QN\n.model QN NPN(IS=1e-14 BF=100 RC=1 RB=20 RE=0.2)\n"
    )
    circuit = sr.load_circuit(pair)
    told = second_opinion(circuit)
    (alone,) = told.outcome.others
    assert "FAR" in told.kit.outcome.floating and alone["C1"] == pytest.approx(alone["C2"], rel=0.1)
    assert on_a_ridge(circuit, alone) and not on_a_ridge(circuit, told.kit.volts)


@pytest.mark.parametrize(("off_by", "word"), [(3e-6, "solved"), (0.3, "several")])
def test_what_ngspice_finds_less_exactly_is_not_another_answer(
    monkeypatch: pytest.MonkeyPatch, off_by: float, word: str
) -> None:
    """By itself it may stop microvolts short of where it stays when it is started there; volts apart are another."""
    exact = Ngspice.ask

    def rough(self: Ngspice, deck: str, vectors: Sequence[str], *, patience: float = 20.0) -> Reply | None:
        reply = exact(self, deck, vectors, patience=patience)
        if reply is None or ".nodeset" in deck:
            return reply
        return replace(reply, vectors={name: v * (1 + off_by) for name, v in reply.vectors.items()})

    monkeypatch.setattr(Ngspice, "ask", rough)
    told = second_opinion(sr.load_circuit(DIVIDER))
    assert told.agrees and told.outcome.word == word
    assert len(told.outcome.others) == (word == "several")


def test_an_rc_charges_as_the_textbook_says() -> None:
    """V (1 - exp(-t / RC)): 63.2 % after one time constant, 99.3 % after five (any textbook of electronics)."""
    told = waveform(sr.load_circuit(RC), seconds=0.1)
    for constants in (1, 2, 5):
        expected = 5 * (1 - math.exp(-constants))
        assert told.at("B", constants * 0.01 + 5e-5) == pytest.approx(expected, abs=5e-3)  # half of the 0.1 ms rise
    assert told.reaches("B", 2.5) == pytest.approx(0.01 * math.log(2) + 5e-5, abs=5e-5)
    assert math.isnan(told.reaches("B", 6))
    assert list(told.frame().columns) == ["0", "A", "B"]


def test_without_a_time_it_goes_on_until_nothing_moves() -> None:
    slow = sr.load_circuit("* slow start\nI1 0 A 1u\nC1 A 0 1m\nD1 A 0 DZ\n.model DZ D(IS=1e-14)\n")
    assert waveform(slow).volts["A"][-1] == pytest.approx(sr.solve(slow).volts["A"], abs=5e-3)


def test_a_low_pass_halves_the_power_at_its_corner() -> None:
    """1 / sqrt 2 of the amplitude at f = 1 / (2 pi R C)."""
    text = "* low pass\nV1 A 0 SIN(0 1 1k)\nR1 A B 1k\nC1 B 0 159.155n\n"
    told = waveform(sr.load_circuit(text), after="rest", seconds=0.02)
    late = told.seconds > 0.015
    assert np.abs(told.volts["B"][late]).max() == pytest.approx(math.sqrt(0.5), rel=5e-3)


def test_a_switch_held_by_a_state_moves_over_time() -> None:
    text = (
        "* relay contact\nV1 A 0 5\nS1 A B C 0 SX\nVC C 0 0\nR1 B 0 1k\n.model SX SW(VT=2.5 RON=1)\n"
        '*: [states]\n*: open = { S1 = "off" }\n*: closed = { S1 = "on" }\n'
    )
    told = waveform(sr.load_circuit(text), state="closed", after="open")
    assert told.volts["B"][0] == pytest.approx(0, abs=1e-3)
    assert told.volts["B"][-1] == pytest.approx(5, abs=0.02)


@pytest.mark.parametrize("seconds", [0, -1, 1e9, math.nan])
def test_impossible_times_are_refused(seconds: float) -> None:
    with pytest.raises(sr.KitError):
        waveform(sr.load_circuit(RC), seconds=seconds)


def test_a_dead_process_is_started_again() -> None:
    engine = Ngspice()
    deck = "* x\nV1 a 0 1\nR1 a 0 1\n.op\n.end\n"
    try:
        for ending in (None, "kill", "library"):
            if ending == "kill":
                assert engine._process is not None
                engine._process.kill()
            if ending == "library":
                assert engine.ask("* x\nR1 a 0 {nope}\n.op\n.end\n", ["a"]).trouble  # type: ignore[union-attr]
            replies = [engine.ask(deck, ["a"]) for _ in range(2)]
            assert replies[-1] is not None and list(replies[-1].vectors["a"]) == [1.0]
    finally:
        engine.close()


def test_what_does_not_end_is_stopped() -> None:
    engine = Ngspice()
    try:
        assert engine.ask("* x\nV1 a 0 1\nR1 a 0 1\n.op\n.end\n", ["a"]) is not None
        told = engine.ask("* x\nV1 a 0 SIN(0 1 1G)\nR1 a 0 1\n.tran 1p 1\n.end\n", ["a"], patience=0.5)
        assert told is not None and "time" in told.trouble
    finally:
        engine.close()


def test_nobodys_start_file_is_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """ngspice reads .spiceinit of the working and the home folder; the process gets an empty one as both."""
    (tmp_path / ".spiceinit").write_text(f"shell touch {tmp_path}/run\n")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    engine = Ngspice()
    try:
        assert engine.ask("* x\nV1 a 0 1\nR1 a 0 1\n.op\n.end\n", ["a"]) is not None
    finally:
        engine.close()
    assert not (tmp_path / "run").exists()


def test_words_of_ngspice_are_judged() -> None:
    assert trouble(["Note: Dynamic gmin stepping completed"], answered=True) == ""
    assert trouble(["Warning: singular matrix:  check node a"], answered=True) == ""
    assert "singular" in trouble(["Warning: singular matrix:  check node a"], answered=False)
    assert trouble(["Note: Transient op started"], answered=True)
    assert trouble([], answered=False)
