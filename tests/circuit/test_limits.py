"""Rail limits of standards: every one of the table is in force where a rail sheet names it."""

import pytest
import shouldread as sr
from shouldread.circuit import Rails, limits
from shouldread.diagnosis import rails_of
from shouldread.errors import CircuitError

STATUS = ("table", "from memory", "data", "report", "levels of")


@pytest.mark.parametrize("name", limits())
def test_a_named_limit_is_what_the_rail_is_judged_by(name: str) -> None:
    """Just inside either end is as it should be, well outside is not, and the verdict says whose limit it was."""
    spread = limits()[name].volts
    room = 0.02 * max(abs(spread.low), abs(spread.high), 1.0)
    sheet = f"LINE nominal {name}\n"
    wanted = {
        spread.low - room: "too low",
        spread.low + room: "as it should be",
        spread.high - room: "as it should be",
        spread.high + room: "too high",
    }
    for volts, verdict in wanted.items():
        walk = sr.walk_rails(sheet, f"LINE {volts:.4f}")
        assert walk.verdicts["LINE"] == verdict, volts
        assert name in str(walk) and limits()[name].source in str(walk)


@pytest.mark.parametrize("name", limits())
def test_a_limit_is_sourced_and_reads_back(name: str) -> None:
    limit = limits()[name]
    assert limit.volts.low < limit.volts.high and limit.volts.low <= limit.volts.nominal <= limit.volts.high
    assert any(word in limit.source for word in STATUS)
    rails = Rails.read(f"A nominal {name} from B\nB")
    assert Rails.read(str(rails)) == rails and rails["A"].limit == limit and f"nominal {name} from B" in str(rails)
    squeezed = name.upper().replace(" ", "")
    assert Rails.read(f"A nominal {squeezed}")["A"].limit == limit


def test_the_figures_are_those_of_the_standards() -> None:
    """Ends read in the sources that the table names, or from memory where it says so."""
    ends = {name: (limit.volts.low, limit.volts.high) for name, limit in limits().items()}
    assert ends["ATX 12 V"] == (11.40, 12.60) and ends["ATX 3.3 V"] == (3.14, 3.47)  # design guide 2.0, table 2
    assert ends["PCIe auxiliary 12 V"] == pytest.approx((12 * 0.92, 12 * 1.05))  # ATX 3.0 design guide, table 3-5
    assert ends["PCIe slot 3.3 V"] == pytest.approx((3.3 * 0.91, 3.3 * 1.09))  # from memory
    assert ends["IEC 61131-2 supply 24 V"] == pytest.approx((24 * 0.85, 24 * 1.2))  # -15/+20 %
    assert [ends[f"ISO 16750-2 code {c}"][0] for c in "ABCDEFGH"] == [6, 8, 9, 10.5, 10, 16, 22, 18]
    for supply, least in (("3.3 V", 3.3), ("5 V", 5.0)):  # I2C: 0.3 and 0.7 of the supply
        assert (ends[f"I2C {supply} zero"][1], ends[f"I2C {supply} one"][0]) == pytest.approx(
            (0.3 * least, 0.7 * least)
        )


def test_what_is_neither_volts_nor_a_limit_is_told_with_both() -> None:
    with pytest.raises(CircuitError, match="such as 5 ± 5 %") as caught:
        Rails.read("VBUS nominal USB 2 host")
    assert "USB 2.0 host" in str(caught.value)


def test_the_rail_sheet_of_a_circuit_keeps_the_limit_that_its_file_names() -> None:
    text = "* two\n*: rails = '''\n*: 24V nominal IEC 61131-2 supply 24 V\n*: '''\nV1 24V 0 24\nR1 24V 0 1k\n"
    assert str(rails_of(sr.load_circuit(text))["24V"]) == "24V nominal IEC 61131-2 supply 24 V"
