"""Tracing a stage part by part: what a technician types, and the circuit it becomes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shouldread.circuit import Rails, Trace, load_circuit
from shouldread.errors import KitError, RequestError

FEED = "VAUX at 12V_AUX 12"


def one(line: str, *others: str) -> str:
    """What is wrong with a line among others, "" when nothing is."""
    return Trace.read("\n".join([line, *others])).rows[0].wrong


def test_the_lines_of_the_trade_become_a_circuit() -> None:
    trace = Trace.read(
        "R? from 12V_AUX to Q7.2 47k\nQ7 npn pair\nC from EN to ground ?\nL1 from A to B bead\n"
        "D2 from OUT to VIN schottky\nQ7.1 is GND\nR? from 12V_AUX to Q7.6 47k\nQ7.6 is X\n" + FEED
    )
    assert [row.wrong for row in trace.rows] == [""] * 9
    circuit = trace.circuit
    assert circuit is not None and circuit.rest == "unknown"
    assert circuit.parts == ("R1", "Q7A", "C1", "RL1", "D2", "R2", "VAUX")
    assert circuit.part("R1").nodes == ("12V_AUX", "Q7.2") and circuit.part("R1").value.nominal == 47e3
    assert circuit.part("Q7A").nodes == ("X", "Q7.2", "0") and circuit.part("Q7A").model.type == "NPN"
    assert circuit.part("C1").value.wide and circuit.part("C1").nodes == ("EN", "0")
    assert circuit.part("RL1").facts["detail"] == "bead"
    assert circuit.part("D2").nodes == ("OUT", "VIN"), "current flows from the first end to the second"
    assert circuit.part("D2").facts["detail"] == "schottky"


def test_numbers_are_invented_once_and_stay() -> None:
    trace = Trace.read("R1 from A to B 1k\nR? from B to C 2k\nR from C to GND 3k\nC? from A to GND 10u")
    assert [line.split()[0] for line in trace.lines] == ["R1", "R2", "R3", "C1"]
    assert [line.split()[0] for line in trace.without(0).lines] == ["R2", "R3", "C1"]
    assert trace.without(0).add("R? from A to B 1k").lines[-1].startswith("R1 ")


@pytest.mark.parametrize(
    ("line", "nodes"),
    [
        ("Q1 npn c EN b B e GND", ("EN", "B", "0")),
        ("Q1 npn e GND c EN b B", ("EN", "B", "0")),
        ("Q1 npn 1 EN 2 B 3 GND", ("EN", "B", "0")),  # in netlist order, where no package is told
        ("Q1 npn bec 1 B 2 GND 3 EN", ("EN", "B", "0")),
        ("Q1 npn c=EN b=B e=GND", ("EN", "B", "0")),
        ("M1 p-channel g B s EN d OUT", ("OUT", "B", "EN", "EN")),
    ],
)
def test_legs_go_by_letter_or_number(line: str, nodes: tuple[str, ...]) -> None:
    circuit = Trace.read(line).circuit
    assert circuit is not None and circuit.part(line.split()[0]).nodes == nodes


def test_a_pin_of_the_package_is_a_place_for_readings_and_faults() -> None:
    from shouldread.meter import leads

    circuit = Trace.read(
        "Q7 npn pair 1 GND 2 B1 6 X 5 X 4 GND 3 EN\nF1 from A to B1\nQ8 npn bec 1 X 2 GND 3 A"
    ).circuit
    assert circuit is not None
    assert leads(circuit, "Q7.2") == ("Q7A.b", "0") and leads(circuit, "Q7.3") == ("Q7B.c", "0")
    assert leads(circuit, "Q8.1", "Q8.2") == ("Q8.b", "Q8.e")
    assert leads(circuit, "F1") == ("RF1.1", "RF1.2")
    assert str(circuit.fault("F1 open")[0]) == "RF1 open"
    assert circuit.with_condition("F1 bridged").condition_names == ("RF1 bridged",)


@pytest.mark.parametrize(
    ("text", "low", "high"), [("?", 1.0, 1e6), ("1k..100k", 1e3, 100e3), ("47k 5%", 44650, 49350)]
)
def test_values_nobody_can_read_stay_open(text: str, low: float, high: float) -> None:
    circuit = Trace.read(f"R1 from A to B {text}").circuit
    assert circuit is not None
    assert (circuit.part("R1").value.low, circuit.part("R1").value.high) == pytest.approx((low, high))


def test_what_the_part_is_may_be_unsure() -> None:
    trace = Trace.read("Q7 NPN pair | prebiased pair 1 GND 2 B 6 X\nR1 from A to B 10k\n" + FEED)
    assert trace.rows[0].also == ("npn prebiased pair",) and "or npn prebiased pair" in trace.rows[0].said
    ((name, other),) = trace.other_circuits
    assert name == "Q7 npn prebiased pair"
    assert {"RQ7AS", "RQ7AP"} <= set(other.parts) and "RQ7AS" not in trace.circuit.parts
    assert other.part("RQ7AS").value.wide, "nobody knows what sits inside"
    assert trace.settled(0, "npn prebiased pair").rows[0].also == ()
    assert trace.circuit.facts["parts"]["Q7A"]["kind"] == ["npn pair", "npn prebiased pair"]


def test_an_unsure_connection_is_marked_and_said() -> None:
    trace = Trace.read("R7 from B1 to GND? 100k")
    assert "unsure at GND: look again" in trace.rows[0].said
    assert trace.circuit.part("R7").nodes == ("B1", "0")
    assert trace.circuit.part("R7").facts["unsure"] == ["2"]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("R1 from A to Q9.2 47k", "type what it is on a line of its own, such as Q9 npn"),
        ("R1 from A to A 47k", "both ends sit on A"),
        ("R1 from A", "R1 from A to GND"),
        ("R1 47k", "R1 from A to B 47k"),
        ("R1 from A to B 47q", "write its value last, such as 47k"),
        ("R1 from A to B 0", "a link is 1m"),
        ("Q1 c A b B e GND", "Q1 npn"),
        ("Q1 npn from A to B", "Q1 c NODE b NODE e NODE"),
        ("Q1 npn c A c B", "B is A"),
        ("Q1 pair", "Q1 npn pair"),
        ("Q1 npm c A b B e C", "what is it"),
        ("D1 from A to B zener", "how many volts? D1 ... 5V6"),
        ("12 from A to B", "a line begins with the name of a part"),
        ("U1 regulator in A foo B", "'foo' is not understood"),
        ("netlist R5 A B", "R5 needs 2 nodes and a value"),
        ("*: rest = maybe", "not TOML"),
    ],
)
def test_a_mistake_stands_beside_its_line_and_the_others_stay(line: str, says: str) -> None:
    trace = Trace.read(f"{line}\nR2 from A to B 10k\n{FEED}")
    assert says in trace.rows[0].wrong
    assert [row.wrong for row in trace.rows[1:]] == ["", ""]
    assert trace.circuit is not None and trace.circuit.parts == ("R2", "VAUX")
    assert trace.lines[0] == line, "what was typed stays to be mended"


def test_a_pin_waits_for_its_part() -> None:
    trace = Trace.read("R1 from A to Q7.2 47k")
    assert "there is no Q7 here yet" in trace.rows[0].wrong and trace.circuit is None
    assert trace.add("Q7 npn pair 1 GND").rows[0].wrong == ""


def test_a_name_stands_once() -> None:
    trace = Trace.read("R1 from A to B 1k\nr1 from B to C 2k")
    assert "stands on line 1 already" in trace.rows[1].wrong and "R?" in trace.rows[1].wrong


def test_taking_back_and_changing_keep_the_rest() -> None:
    trace = Trace.read("R1 from A to B 1k\nR2 from B to GND 2k")
    assert trace.without(1).lines == ("R1 from A to B 1k",)
    assert trace.change(0, "R1 from A to C 1k").circuit.part("R1").nodes == ("A", "C")
    assert trace.lines == ("R1 from A to B 1k", "R2 from B to GND 2k")
    with pytest.raises(RequestError, match="there is no line 3"):
        trace.without(2)


def test_what_feeds_the_stage_comes_from_the_rail_sheet() -> None:
    sheet = Rails.read("12V_AUX nominal 12 ± 8 %\nFEED nominal 12 from 12V_AUX\nVREF")
    lines = "L1 from 12V_AUX to FEED 10u\nR1 from FEED to EN 10k\nR2 from VREF to EN 10k"
    trace = Trace.read(lines, "stage", sheet)
    circuit = trace.circuit
    assert circuit is not None
    feeds = {name: part for name, part in circuit.netlist.items() if part.kind == "V"}
    assert [part.nodes for part in feeds.values()] == [("12V_AUX", "0")], "FEED is made in the stage itself"
    assert feeds["V12V_AUX"].value.low == pytest.approx(11.04) and feeds["V12V_AUX"].value.high == pytest.approx(12.96)
    assert trace.questions == ("VREF feeds this stage: how many volts? Type VVREF at VREF 12",)
    told = trace.add("VREF1 at VREF 5")
    assert told.questions == () and {p.nodes[0] for p in told.circuit.netlist.values() if p.kind == "V"} == {
        "12V_AUX",
        "VREF",
    }


def test_what_feeds_it_is_asked_for() -> None:
    assert (
        "3V3_AUX: fed from outside? Then type V3V3_AUX at 3V3_AUX 3.3"
        in Trace.read("R1 from 3V3_AUX to EN 1k").questions
    )
    assert "Nothing feeds this stage yet" in Trace.read("R1 from FEED to EN 1k").questions[0]
    assert Trace.read(f"R1 from 12V_AUX to EN 1k\n{FEED}").questions == ()


def test_the_saved_file_reads_back_identically() -> None:
    trace = Trace.read(
        "Q7 npn prebiased pair 10k 47k 1 GND 2 B1 6 X 3 EN 4 GND? 5 X\nF1 from 12V to A 2A\nR? from A to B1 47k ± 1 %\n"
        "R? from X to 12V ?\nD1 from GND to B1 zener 5V6\nU3 regulator in 12V en EN fb FB out OUT gnd GND vref=0.8\n"
        "V1 at 12V 12 ± 8 %",
        "Stage of the valve driver",
    )
    again = load_circuit(trace.netlist)
    assert trace.circuit is not None and not [row.wrong for row in trace.rows if row.wrong]
    assert again == load_circuit(trace.circuit.text) and again.netlist == trace.circuit.netlist
    assert (again.title, again.rest, again.node_facts) == (trace.title, "unknown", trace.circuit.node_facts)


WORDS = st.sampled_from(
    "R1 R? Q7 C D1 L2 U1 from to at is npn pnp pair prebiased zener A B EN GND Q7.2 B? ? 47k 1k..9k 5V6 12 | = , c b e 1 "
    "2 3 *: .model netlist [parts] regulator vref=1 µ ± % ..".split()
)


@given(st.lists(st.lists(WORDS, min_size=1, max_size=8).map(" ".join), max_size=6))
def test_any_words_are_taken_or_complained_of_and_the_rest_is_a_circuit(lines: list[str]) -> None:
    """Nothing typed raises, nothing typed is lost, and what has no mistake is in the circuit."""
    trace = Trace.read("\n".join(lines))
    assert len(trace.rows) == len([line for line in lines if line.strip()])
    if trace.circuit is not None:
        assert load_circuit(trace.netlist).netlist == trace.circuit.netlist
    else:
        assert trace.netlist == ""


@given(st.text(max_size=60))
def test_any_text_is_survived(text: str) -> None:
    try:
        trace = Trace.read(text)
    except KitError:
        return
    assert len(trace.rows) == len(trace.lines)
