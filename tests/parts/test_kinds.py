"""Every kind of part is whole: what is missing is named, kind by kind and figure by figure."""

import math
from collections.abc import Iterator

import pytest
from shouldread.errors import QuantityError
from shouldread.parts import KINDS, Detail, Mode, PartKind, tables

VALUED = "RCLVIEG"
STATUS = ("seen", "from memory", "own judgement")
HONOURED = {  # the parameters that the public contract promises to honour
    "D": "IS N RS BV IBV NBV",
    "Q": "IS BF BR NF NR VAF VAR IKF IKR ISE NE ISC NC RB RC RE",
    "M": "VTO KP LAMBDA GAMMA PHI RD RS IS W L",
}
WAYS = {  # the ways to fail that the public contract promises; an inductor's winding may also drift
    "R": {"open", "short", "drifted high", "drifted low"},
    "C": {"open", "short", "leaky", "drifted high", "drifted low"},
    "L": {"open", "short", "drifted high"},
    "D": {"open", "short", "leaky"},
    "Q": {
        *("collector open", "base open", "emitter open", "leaky"),
        *("collector-emitter short", "base-emitter short", "base-collector short"),
    },
    "M": {
        *("drain open", "gate open", "source open", "leaky"),
        *("drain-source short", "gate-source short", "gate-drain short"),
    },
    "V": {"absent", "low"},
}


def varieties() -> Iterator[tuple[PartKind, Detail]]:
    for kind in KINDS.values():
        for detail in kind.details.values():
            yield kind, detail


def called(kind: PartKind, detail: Detail) -> str:
    return f"{kind.letter} ({detail.name or 'plain'})"


def test_every_kind_is_whole() -> None:
    """A kind has a plain variety, words, a symbol for each variety, a unit when it has a value."""
    missing = [f"{kind.letter}: plain variety" for kind in KINDS.values() if "" not in kind.details]
    missing += [f"{kind.letter}: name" for kind in KINDS.values() if not kind.name]
    missing += [f"{k.letter}: unit" for k in KINDS.values() if k.letter in VALUED and not (k.unit and k.value_name)]
    missing += [f"{k.letter}: pins" for k in KINDS.values() if not k.pins and k.letter != "X"]
    for kind, detail in varieties():
        missing += [f"{called(kind, detail)}: {what}" for what in ("words", "symbol") if not getattr(detail, what)]
    assert not missing, "\n".join(missing)


def test_every_kind_fails_or_says_why_not() -> None:
    """A component has ways to fail in each variety; what only stands for something says what it stands for."""
    missing = []
    for kind, detail in varieties():
        if kind.stand_in and detail.modes:
            missing.append(f"{called(kind, detail)}: stands in for something, and fails all the same")
        if not kind.stand_in and not detail.modes:
            missing.append(f"{called(kind, detail)}: ways to fail")
        if detail.modes and not (detail.rate > 0 and detail.source):
            missing.append(f"{called(kind, detail)}: failure rate with its source")
    assert not missing, "\n".join(missing)


def test_every_figure_has_its_source_and_how_well_it_is_known() -> None:
    """Shares sum to one after folding; each share, bench multiplier and severity says where it is from."""
    missing = []
    for kind, detail in varieties():
        if detail.modes and abs(sum(mode.share for mode in detail.modes) - 1) > 0.005:
            missing.append(f"{called(kind, detail)}: shares sum to {sum(m.share for m in detail.modes):g}")
        for mode in detail.modes:
            where = f"{called(kind, detail)} {mode.name}"
            missing += [f"{where}: {what}" for what in unsourced(mode)]
    assert not missing, "\n".join(missing)


def unsourced(mode: Mode) -> Iterator[str]:
    if not any(word in mode.source for word in STATUS):
        yield "source of its share and its status"
    if mode.bench != 1 and not mode.bench_source:
        yield "source of its bench multiplier"
    needs_degrees = any("severity" in row for row in mode.edits)
    if needs_degrees != (mode.severity is not None):
        yield "severity where its edits ask for one, none where they do not"
    if mode.severity is not None and not mode.severity.low < mode.severity.median < mode.severity.high:
        yield "a severity range around its median"


def test_the_data_files_speak_only_of_what_is_there() -> None:
    """No severity, bench multiplier or spread is for a kind, variety, way to fail or number that nothing has."""
    strays = []
    figures = tables.table("failure_modes.toml")
    for section in ("severity", "bench"):
        for letter, rows in figures[section].items():
            kind = KINDS[letter]
            ways = {mode.name for detail in kind.details.values() for mode in detail.modes}
            for name, row in rows.items():
                if name in kind.details or name == "*":
                    strays += [f"{section}.{letter}.{name}.{way}" for way in row if way not in ways]
                elif name not in ways:
                    strays.append(f"{section}.{letter}.{name}")
                elif "source" not in row:
                    strays.append(f"{section}.{letter}.{name}: source")
    for kind, detail in varieties():
        numbers = {"value", *kind.settings, *kind.model_params}
        for rule in (*kind.spreads, *detail.spreads):
            if rule.what not in numbers or not rule.source:
                strays.append(f"spreads {called(kind, detail)}: {rule.what}")
    assert not strays, "\n".join(strays)


@pytest.mark.parametrize("letter", WAYS)
def test_the_promised_ways_to_fail(letter: str) -> None:
    """The names that people may write for a plain part of each kind."""
    assert {mode.name for mode in KINDS[letter].details[""].modes} == WAYS[letter]


@pytest.mark.parametrize("letter", HONOURED)
def test_the_promised_model_parameters(letter: str) -> None:
    """What a .model line may say, and what is accepted and noted, do not overlap."""
    kind = KINDS[letter]
    assert set(kind.model_params) == set(HONOURED[letter].split())
    assert not set(kind.model_params) & kind.ignored_params


def test_a_table_edited_wrongly_is_refused_with_its_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """A shop that edits the figures is told which table is wrong, and what it knows."""
    row = {"share": 0.9, "source": "a shop's log", "status": "seen"}
    shop = {"kind": {"R": {"plain": {"words": "w", "symbol": "s", "rate": {"value": 1.0}, "open": row}}}}
    bad = {**shop, "severity": {"R": {"open": {"ohms": [5, 2]}}}, "bench": {}}
    with monkeypatch.context() as patch:
        patch.setattr(tables, "table", lambda name: {**shop, "severity": {}, "bench": {}})
        with pytest.raises(QuantityError, match=r"kind\.R\.plain: the shares sum to 0\.9, not to 1"):
            tables.details_of("R", {"open": ()})
        with pytest.raises(QuantityError, match=r"kind\.R\.plain: no way to fail 'open'; a R knows short"):
            tables.details_of("R", {"short": ()})
        patch.setattr(tables, "table", lambda name: bad)
        with pytest.raises(QuantityError, match="5 to 2 is no range"):
            tables.severity_of("R", "", "open")


def test_unwritten_parameters_are_infinite_where_spice_says_so() -> None:
    """No breakdown, no Early effect, no knee unless a model states them."""
    assert math.isinf(KINDS["D"].model_params["BV"])
    assert all(math.isinf(KINDS["Q"].model_params[name]) for name in ("VAF", "VAR", "IKF", "IKR"))
