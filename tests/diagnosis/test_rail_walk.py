"""The rail walk: what a technician who knows boards would say of the same figures, without any circuit."""

import pytest
import shouldread as sr
from shouldread.diagnosis.rules_of_thumb import kind_of, rail_kinds, rules, volts_in_name
from shouldread.errors import KitError, ReadingError, UnknownNameError

SHEET = """12V nominal 12 ± 5 %
5V nominal 5 ± 5 % from 12V made by U3 enabled by EN5
3V3 nominal 3.3 ± 5 % from 5V made by U4
PROC nominal 0.9 ± 3 % from 3V3 made by U5
EXP_1V8 nominal 1.8 from EXP_3V3 made by U9
"""
COLD = "12V 22k; 5V 2k1; 3V3 340; 1V8 96; DDR 41; proc 0.8; VBUS 120k; AVDD 610; X7 0.9; 5VSB 4k7"


def test_ten_cold_rails_with_names_invented_on_the_spot() -> None:
    """A processor rail of 0.8 Ω is healthy; without a reference nothing here is more than a rule of thumb."""
    w = sr.walk_rails("", COLD, setting="ohms")
    assert len(w.verdicts) == 10
    assert w.verdicts["proc"] != "too low" and w.first_wrong is None
    assert set(w.evidence.values()) <= {"rule of thumb", "none"}
    assert w.verdicts["X7"] == "cannot tell" and w.evidence["X7"] == "none"
    assert w.verdicts["3V3"] == w.verdicts["5V"] == "as it should be"
    assert not w.waiting and not w.not_judged


def test_a_low_3v3_is_suspect_and_names_no_single_part() -> None:
    w = sr.walk_rails("", "3V3 1.2; 5V 2k1", setting="ohms")
    assert w.first_wrong == "3V3" and w.evidence["3V3"] == "rule of thumb"
    assert len(w.causes) >= 3
    assert w.next_places[0] == "GND to 3V3 ohms"
    assert "discharge" in w.caution


@pytest.mark.parametrize("name", ["proc", "VCORE", "CPU_0V9", "vdd_soc", "GPU", "DDR_1V2", "1V0"])
def test_rails_of_large_chips_are_never_called_short_without_a_reference(name: str) -> None:
    """Common practice, no source: large processors read under 1 Ω, some a tenth of that."""
    for ohms in ("0.1", "0.3", "0.8", "3"):
        assert sr.walk_rails("", f"{name} {ohms}", setting="ohms").first_wrong is None


def test_a_good_board_outranks_the_rule_of_thumb() -> None:
    w = sr.walk_rails("", "proc 0.8; 3V3 9", setting="ohms", good="proc 4.2; 3V3 11")
    assert w.first_wrong == "proc"
    assert w.verdicts == {"proc": "too low", "3V3": "as it should be"}
    assert set(w.evidence.values()) == {"compared"}


def test_low_supply_current_says_no_hard_short_and_standby() -> None:
    """Common practice, no source: with the enable gone a supply shows only tens of milliamperes."""
    supply = {"volts": 12.0, "limit": 0.5, "amps": 0.02, "limiting": False}
    w = sr.walk_rails(SHEET, "12V 12.0", supply=supply)
    said = " ".join(w.supply_says)
    assert "no hard short" in said and "standby" in said and "1 Ω" in said
    assert w.not_judged == ("EXP_1V8",) and w.first_wrong is None
    assert w.next_places[:3] == ("U3.VIN", "EN5", "5V")


def test_an_input_that_is_not_fed_is_not_judged_however_it_reads() -> None:
    w = sr.walk_rails(SHEET, "12V 12.0; 5V 5.02; EXP_3V3 0.00; EXP_1V8 0.00")
    assert "EXP_1V8" in w.not_judged and "EXP_3V3" in w.not_judged
    assert w.first_wrong is None and w.verdicts["EXP_1V8"] == "cannot tell"
    w = sr.walk_rails(SHEET, "12V 12.0; 5V 5.02; EXP_1V8 0.00", fed="12V, EXP_3V3")
    assert w.first_wrong == "EXP_1V8" and "EXP_1V8" not in w.not_judged


def test_a_rail_that_reads_as_it_should_is_fed_whatever_the_sheet_says() -> None:
    w = sr.walk_rails(
        "12V nominal 12 ± 8 % from VIN\n5V from 12V made by U3\n9V from AUX", "12V 12.1; 5V 0.02; 9V 0.3"
    )
    assert w.first_wrong == "5V" and w.not_judged == ("9V",)
    w = sr.walk_rails("12V nominal 12 ± 8 % from VIN\n5V from 12V made by U3", "12V 0.3; 5V 0.02")
    assert w.first_wrong is None and w.not_judged == ("12V", "5V")


def test_fed_names_the_only_inputs_that_count() -> None:
    w = sr.walk_rails(SHEET, "12V 0.00; 5V 0.00", fed=["EXP_3V3"])
    assert w.first_wrong is None
    assert set(w.not_judged) == {"12V", "5V", "3V3", "PROC"}


def test_a_limiting_supply_sends_to_cold_ohms_first() -> None:
    supply = {"volts": 12.0, "limit": 0.5, "amps": 0.5, "limiting": True}
    w = sr.walk_rails(SHEET, "12V 1.9; 5V 0.00", supply=supply)
    assert w.first_wrong == "12V" and w.next_places == ("12V ohms",)
    assert "short" in w.causes[0] and "limits" in w.supply_says[0]


def test_volts_lost_on_the_way_in_name_the_resistance_of_the_path() -> None:
    """Ohm's law: 1.7 V lost at 1.7 A is a joint of about 1 Ω."""
    w = sr.walk_rails(SHEET, "12V 10.3", supply={"volts": 12.0, "limit": 3, "amps": 1.7, "limiting": False})
    assert w.first_wrong == "12V" and "1 Ω" in w.causes[0]


def test_enable_missing_does_not_blame_the_converter() -> None:
    w = sr.walk_rails(SHEET, "U3.VIN 12.1; EN5 0.02; 5V 0.00; 12V 12.1")
    assert w.first_wrong == "5V"
    assert w.waiting == ("3V3", "PROC")
    assert len(w.causes) == 3
    assert "upstream" in w.causes[0] and "no feed" in w.causes[1] and "EN pin of U3 shorted inside" in w.causes
    assert not any("gives nothing" in cause for cause in w.causes)
    assert w.next_places == ("FEED", "EN5 ohms")
    assert any("1.2 V assumed" in words for words in w.assumed)


def test_the_same_without_any_sheet() -> None:
    w = sr.walk_rails("", "VIN 12.1; EN 0.02; 5V 0.00")
    assert w.first_wrong == "5V" and tuple(w.verdicts) == ("5V",)
    assert w.next_places == ("FEED", "EN ohms")
    assert w.evidence["5V"] == "rule of thumb"


@pytest.mark.parametrize("read", ["EN 1.15", "EN 1.2", "EN 1.26"])
def test_an_enable_at_the_threshold_is_not_judged(read: str) -> None:
    w = sr.walk_rails("", f"VIN 12.1; {read}; 5V 0.00")
    assert w.next_places[0] == "EN" and len(w.causes) > 1


def test_the_walk_goes_vin_en_out_fb_pg_in_that_order() -> None:
    read = "5V 0.00"
    for place, value in (("VIN", "12.1"), ("EN", "3.30"), ("OUT", "0.00"), ("FB", "0.00"), ("PG", "0.00")):
        assert sr.walk_rails("", read).next_places[0] == place
        read += f"; {place} {value}"
    w = sr.walk_rails("", read)
    assert w.next_places == ("5V ohms",) and "gives nothing" in w.causes[0]


def test_feed_there_and_vin_missing_is_a_series_part() -> None:
    w = sr.walk_rails(SHEET, "12V 12.1; U3.VIN 0.02; 5V 0.00")
    assert "series part between 12V and U3.VIN" in w.causes[0]
    assert w.next_places == ("12V to U3.VIN",)


def test_output_there_and_rail_missing_is_the_coil_or_shunt() -> None:
    w = sr.walk_rails(SHEET, "12V 12.1; U3.VIN 12.1; EN5 2.30; U3.OUT 5.0; 5V 0.40")
    assert "series part between U3.OUT and 5V" in w.causes[0]


def test_a_rail_that_is_too_high_asks_to_switch_off() -> None:
    w = sr.walk_rails(SHEET, "12V 12.1; EN5 0.0; 5V 5.61")
    assert w.verdicts["5V"] == "too high" and "switch off" in w.caution
    assert any("feedback" in cause for cause in w.causes)


def test_an_enable_that_is_a_rail_is_walked_first() -> None:
    sheet = "12V\n5V from 12V enabled by 3V3_AON\n3V3_AON from 12V\n"
    w = sr.walk_rails(sheet, "12V 12.0; 5V 0.00; 3V3_AON 0.10")
    assert w.first_wrong == "3V3_AON" and w.waiting == ("5V",)


def test_either_of_two_feeds_will_do() -> None:
    sheet = "A12 nominal 12\nB12 nominal 12\n5V from A12 or B12\n"
    w = sr.walk_rails(sheet, "A12 0.0; B12 12.0; 5V 5.0")
    assert w.first_wrong == "A12" and "5V" not in w.waiting


def test_bare_names_are_taken_in_start_up_order() -> None:
    w = sr.walk_rails("12V\n5V\n3V3\n", "12V 12.0; 5V 0.1; 3V3 0.0")
    assert w.first_wrong == "5V" and w.waiting == ("3V3",)


def test_a_numbered_start_up_order_makes_later_rails_wait() -> None:
    w = sr.walk_rails("3V3 order 3\n12V order 1\n5V order 2\n", "12V 12.0; 5V 0.1; 3V3 0.0")
    assert tuple(w.verdicts) == ("12V", "5V", "3V3")
    assert w.first_wrong == "5V" and w.waiting == ("3V3",)


def test_a_lone_low_rail_is_taken_as_made_by_a_converter_and_a_high_one_as_an_input() -> None:
    assert sr.walk_rails("", "5V 0.00; 3V3 0.00").next_places[:2] == ("VIN", "EN")
    assert sr.walk_rails("", "24V 0.00; 5V 0.00").next_places[0] == "24V.IN"


def test_rails_on_other_feeds_are_also_wrong_but_do_not_wait() -> None:
    w = sr.walk_rails("12V\n5V from 12V\n3V3 from 12V\n", "12V 12.0; 5V 0.1; 3V3 0.0")
    assert w.first_wrong == "5V" and not w.waiting and w.also_wrong == ("3V3",)


def test_rails_that_feed_each_other_do_not_hang() -> None:
    w = sr.walk_rails("A from B\nB from A\n", "A 0.0; B 0.0", fed="A")
    assert set(w.verdicts) == {"A", "B"}


def test_above_extra_low_voltage_there_is_no_word_on_where_to_probe() -> None:
    """IEC 61140, extra-low voltage: 60 V DC (from memory)."""
    w = sr.walk_rails("HV nominal 330\n5V from HV", "HV 0.0; 5V 0.0", supply={"volts": 48, "limit": 1})
    assert w.next_places == () and w.causes == ()
    assert "licensed practice" in w.caution and "local codes" in w.caution


def test_the_volts_of_a_name() -> None:
    said = {
        "5V": 5, "3V3": 3.3, "1V8": 1.8, "12V_AUX": 12, "+5V": 5, "-12V": -12, "VDD_1V2": 1.2, "3.3V": 3.3,
        "5VSB": 5, "V3V3": 3.3, "P0V9": 0.9, "24V": 24,
    }  # fmt: skip
    assert {name: volts_in_name(name) for name in said} == said
    for name in ("proc", "VCORE", "VAUX", "AVDD", "EN", "V5", "TP12"):
        assert volts_in_name(name) is None


def test_tolerance_of_a_nominal_without_one() -> None:
    """ATX12V power supply design guide 2.0, table 2: 5 V is 4.75 V to 5.25 V, 3.3 V is 3.14 V to 3.47 V."""
    sheet = "5V nominal 5\n3V3 nominal 3.3\n"
    for read, verdict in (("5V 4.80", "as it should be"), ("5V 4.60", "too low"), ("5V 5.40", "too high")):
        assert sr.walk_rails(sheet, read).verdicts["5V"] == verdict
    for read, verdict in (("3V3 3.16", "as it should be"), ("3V3 3.05", "too low"), ("3V3 3.55", "too high")):
        assert sr.walk_rails(sheet, read).verdicts["3V3"] == verdict


def test_a_coarse_reading_is_not_judged() -> None:
    w = sr.walk_rails("3V3 nominal 3.3 ± 1 %", "3V3 3")
    assert w.verdicts["3V3"] == "cannot tell" and "more digits" in str(w)


def test_the_enable_threshold_is_that_of_a_data_sheet() -> None:
    """Datasheet TPS54360B: enable threshold 1.2 V typical, 1.1 V to 1.3 V."""
    enable = rules()["enable"]
    assert (enable["low"], enable["threshold"], enable["high"]) == (1.1, 1.2, 1.3)


def test_every_rule_of_thumb_names_its_source_and_its_kind() -> None:
    for kind in rail_kinds():
        assert kind.source and (kind.words or kind.nominal)
        assert kind.usual_ohms[0] < kind.usual_ohms[1] and kind.usual_diode[0] < kind.usual_diode[1]
        if kind.short_below is not None:
            assert kind.short_below < kind.usual_ohms[0]
    assert kind_of("VDD_DDR_1V2", 1.2).name == "memory rail"
    assert kind_of("5V_EN", 5.0).name == "enable or power-good line"


def test_bad_requests_say_what_is_known() -> None:
    with pytest.raises(UnknownNameError, match="amps"):
        sr.walk_rails(SHEET, "5V 0.1", setting="amps")
    with pytest.raises(UnknownNameError, match="limt"):
        sr.walk_rails(SHEET, "5V 0.1", supply={"limt": 0.5})
    with pytest.raises(ReadingError):
        sr.walk_rails(SHEET, "5V banana")
    with pytest.raises(KitError):
        sr.walk_rails("5V nominal from from\n", "5V 0.1")


def test_text_and_table_say_the_same() -> None:
    w = sr.walk_rails(SHEET, "12V 12.1; EN5 0.02; 5V 0.00")
    text = str(w)
    for words in ("First wrong rail: 5V", "Waiting for it: 3V3, PROC", "EXP_1V8", "Next: FEED"):
        assert words in text
    frame = w.frame()
    assert list(frame.columns) == ["rail", "read", "should_read", "verdict", "evidence", "why"]
    assert dict(zip(frame.rail, frame.verdict, strict=True)) == dict(w.verdicts)


def test_ok_means_within_the_nominal_and_asks_without_one() -> None:
    w = sr.walk_rails(SHEET, "12V ok; 5V dead")
    assert w.verdicts["12V"] == "as it should be" and w.first_wrong == "5V"
    with pytest.raises(ReadingError, match="PROC2"):
        sr.walk_rails("", "PROC2 ok")


def test_diode_readings_are_red_on_ground_however_they_are_typed() -> None:
    """Common practice, no source: red on ground, black on the rail."""
    for text in ("3V3 0.38", "GND to 3V3 diode 0.38"):
        assert sr.walk_rails("", text, setting="diode").verdicts == {"3V3": "as it should be"}
    assert sr.walk_rails("", "3V3 0.003; VCORE 0.004", setting="diode").first_wrong == "3V3"


@pytest.mark.parametrize("limiting", [True, False])
def test_a_supply_at_its_limit_sends_to_the_low_rail_itself_first(limiting: bool) -> None:
    """Common practice, no source: what limits a supply is a short, and a converter without command draws nothing."""
    walk = sr.walk_rails(
        "12V\n5V from 12V made by U3 enabled by EN5\n3V3 from 5V made by U4",
        "12V 12.1; 5V 5.02; 3V3 0.4",
        supply={"volts": 12, "limit": 1.0, "amps": 0.99 if limiting else 0.3, "limiting": limiting},
    )
    assert (walk.next_places[0] == "3V3 ohms") is limiting
    assert (walk.causes[0] == "3V3 held down by a short behind it") is limiting


def test_rails_are_named_as_they_are_said() -> None:
    """``24 V`` is the rail that the sheet calls 24V, and ``3.3 V`` its 3V3."""
    walk = sr.walk_rails("24V\n3V3 from 24V\n1.8V from 3V3", "24 V 24.1; 3.3 V 0.01\n1,8 V 0")
    assert dict(walk.verdicts) == {"24V": "as it should be", "3V3": "too low", "1.8V": "too low"}
    assert dict(sr.walk_rails("24V", "24V 24.1 V").verdicts) == {"24V": "as it should be"}


def test_over_the_range_asks_what_the_meter_was_set_to() -> None:
    with pytest.raises(ReadingError, match="EN5 ohms OL"):
        sr.walk_rails(SHEET, "12V 12.1; EN5 OL")


@pytest.mark.parametrize("supply", [{"amps": "990 mA", "limit": "1 A"}, {"amps": 0.99, "limit": 1}])
def test_the_supply_is_told_in_figures_or_as_its_display_writes(supply: dict[str, object]) -> None:
    walk = sr.walk_rails("12V", "12V 3.1", supply=supply)
    assert walk.supply_says[0].startswith("the supply limits at 0.99 A"), walk.supply_says


@pytest.mark.parametrize("supply", ["12 V 0.9 A", {"volts": "1 A"}, {"amps": "much"}])
def test_a_supply_that_cannot_be_read_is_told_how(supply: object) -> None:
    with pytest.raises(KitError, match=r"amps|volts"):
        sr.walk_rails("12V", "12V 3.1", supply=supply)  # type: ignore[arg-type]
