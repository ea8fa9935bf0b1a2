"""Practice: a hidden fault is found by reading, and nothing is gained by guessing."""

import pytest
import shouldread as sr
from shouldread.practice import seal


def inverter() -> object:
    return sr.exercise(circuit="npn_inverter_enable", hidden="R2 open", seed=3)


def test_volts_cannot_tell_an_open_base_resistor_and_a_guess_scores_nothing() -> None:
    """Common practice, no source: b 0.60 to 0.73 V and EN < 0.05 V, healthy or not; b to ground cold tells."""
    e = inverter()
    e.predict("B", "0.65 @in high")
    assert 0.60 < float(e.measure("B", state="in high").split()[0]) < 0.73
    assert e.measure("EN", state="in high").endswith("mV")
    guess = e.name("R2 open")
    assert guess and guess.score == 0 and "guess" in guess.why
    stopped = e.measure("B", "ohms", state="in high")
    assert "stopped" in stopped and e.log[-1].stopped and e.log[-1].toll.risk > 0.1
    reading = e.measure("B", "ohms")
    assert "M" in reading or reading == "OL"
    assert e.name("R2 open").score > 0.5
    assert "It was R2 open" in e.looking_back


def test_the_hidden_fault_is_written_nowhere() -> None:
    e = inverter()
    e.measure("B")
    assert "R2" not in repr(e) + str(e) + e.brief
    with pytest.raises(sr.KitError):
        _ = e.looking_back


def test_the_same_seed_is_the_same_exercise() -> None:
    def road() -> list[str]:
        e = sr.exercise("enable", step=2, seed=11)
        nodes = [n for n in e.circuit.nodes if n != "0"]
        return [e.circuit.name, e.brief, *(e.measure(n) for n in nodes)]

    assert road() == road()


def test_a_wrong_name_costs_minutes_and_is_false() -> None:
    e = inverter()
    result = e.name("R3 open")
    assert not result and e.toll.minutes >= 15


def test_a_trainer_seals_a_fault(tmp_path: object, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("shouldread.practice.sealing.user_data_path", lambda name: tmp_path)
    token = seal("R1 open")
    e = sr.exercise(circuit="npn_inverter_enable", hidden=token)
    assert "mV" in e.measure("B", state="in high")
    with pytest.raises(sr.KitError, match="nothing is sealed"):
        sr.exercise(circuit="npn_inverter_enable", hidden="sealed-000000000000")


def test_the_kits_own_probes_find_the_group() -> None:
    found = 0
    for seed in range(8):
        e = sr.exercise(circuit="two_supply_and", step=1, seed=seed)
        for _ in range(8):
            probe = e.diagnosis.next_probe
            if probe is None:
                break
            e.measure(probe.at, probe.setting, probe.state)
        found += bool(e.name(e.diagnosis.groups[0].faults[0]))
    assert found >= 7


def test_unknown_topics_and_steps_are_told() -> None:
    with pytest.raises(sr.KitError):
        sr.exercise("submarine")
    with pytest.raises(sr.KitError, match="from 1 to 5"):
        sr.exercise(step=9)
