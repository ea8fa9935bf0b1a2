"""Rail walk: the first wrong rail of a board, what waits for it and where to probe next, without a circuit."""

import math
from collections.abc import Iterable, Mapping, Sequence

from shouldread.circuit import Circuit, Rail, Rails
from shouldread.diagnosis.cautions import DANGEROUS, caution_rule
from shouldread.diagnosis.rail_chain import Chain, chain_of, volts_of
from shouldread.diagnosis.rail_finding import RailRow, RailWalk
from shouldread.diagnosis.rail_judge import (
    AS_IT_SHOULD,
    CANNOT_TELL,
    NO_EVIDENCE,
    TOO_HIGH,
    TOO_LOW,
    Interval,
    Judgement,
    judge,
)
from shouldread.diagnosis.rail_road import OFF_FIRST, RailStep, Road, Stage, walk_stage
from shouldread.diagnosis.rail_sheet import rails_of
from shouldread.diagnosis.rules_of_thumb import kind_of
from shouldread.diagnosis.supply_words import Supply, input_road, short_first, supply_says
from shouldread.errors import UnknownNameError
from shouldread.meter import Observation, Reading, read_readings

WRONG = (TOO_LOW, TOO_HIGH)
GROUND = ("0", "GND", "ground")  # as typed in an own Reading; texts give "0"
SETTINGS = ("volts", "ohms", "diode")

Readings = str | Iterable[Reading | Observation]


def walk_rails(
    sheet: str | Rails | Circuit,
    readings: Readings,
    *,
    supply: Mapping[str, object] | None = None,
    fed: str | Sequence[str] | None = None,
    setting: str = "volts",
    good: Readings = "",
) -> RailWalk:
    """Say which rail is the first wrong one, what waits for it, and where to probe next. No circuit needed.

    ``sheet``: one line a rail (``5V nominal 5 ± 5 % from 12V made by U3 enabled by EN5``; may be empty), or a
    circuit, whose sheet is found from its netlist (``rails_of``).
    ``readings``: text or readings; a name the sheet does not hold is a rail invented on the spot.
    ``supply``: volts, limit, amps (SI), limiting. ``fed``: the inputs that are fed. ``good``: readings of a good
    board. Raises ReadingError for text that is no reading, RequestError for another setting.

    >>> import shouldread as sr
    >>> w = sr.walk_rails("12V\\n5V from 12V made by U3", "12V 12.1; U3.EN 0.02; 5V 0.00")
    >>> w.first_wrong, w.next_places[-1]
    ('5V', 'U3.EN ohms')
    """
    if setting not in SETTINGS:
        raise UnknownNameError("setting of a rail walk", setting, SETTINGS)
    rails = rails_of(sheet) if isinstance(sheet, Circuit) else sheet if isinstance(sheet, Rails) else Rails.read(sheet)
    read, compared = (_latest(some, setting, rails) for some in (readings, good))
    told = Supply.of(supply)
    inputs = [name.strip() for name in fed.split(",") if name.strip()] if isinstance(fed, str) else fed
    chain = chain_of(rails, read, inputs, setting)
    rows = _judged(chain, read, compared, setting)
    if hot := _too_hot(chain, told):
        return _referred(chain, rows, hot, setting)
    return _walked(chain, rows, read, told, setting)


def _latest(readings: Readings, setting: str, rails: Rails) -> dict[str, Reading]:
    """The last reading at every place to ground, of one setting (others do not belong to this walk)."""
    items = read_readings(rails.in_its_names(readings), setting=setting) if isinstance(readings, str) else readings
    kept: dict[str, Reading] = {}
    for item in items:
        if not isinstance(item, Reading) or item.setting != setting:
            continue
        if not item.to:
            kept[item.place] = item
        elif setting == "diode" and item.place in GROUND:  # red on ground, the trade's habit
            kept[item.to] = item
    return kept


def _judged(
    chain: Chain, read: Mapping[str, Reading], good: Mapping[str, Reading], setting: str
) -> dict[str, tuple[RailRow, Judgement]]:
    """Every rail with its verdict, in the order they come up; those without a fed input are not judged."""
    rows: dict[str, tuple[RailRow, Judgement]] = {}
    for line in chain.lines:
        value = read.get(line.name)
        if setting == "volts" and line.name not in chain.fed:
            said = Judgement(CANNOT_TELL, NO_EVIDENCE, f"not judged: {_unfed(line)} is not said to be fed")
        else:
            said = judge(line.name, line.nominal, value, good.get(line.name), setting, line.limit)
        shown = value.text if value is not None else ""
        should = said.band.words(setting) if said.band is not None else ""
        rows[line.name] = (RailRow(line.name, shown, should, said.verdict, said.evidence, said.why), said)
    return rows


def _unfed(line: Rail) -> str:
    return " or ".join(line.sources) or "this input"


def _too_hot(chain: Chain, supply: Supply | None) -> float | None:
    """Volts above which live probing belongs to licensed practice, if any rail or the supply has them."""
    volts = [abs(told) for line in chain.lines if (told := volts_of(line)) is not None]
    volts += [abs(supply.volts)] if supply is not None and supply.volts is not None else []
    return next((v for v in volts if v > caution_rule(DANGEROUS).least), None)


def _referred(chain: Chain, rows: Mapping[str, tuple[RailRow, Judgement]], volts: float, setting: str) -> RailWalk:
    """Above extra-low voltage: verdicts yes, no word on where to put a probe."""
    wrong = [name for name, (row, _) in rows.items() if row.verdict in WRONG]
    first = wrong[0] if wrong else None
    danger = caution_rule(DANGEROUS)
    caution = danger.say.format(node="the board", value=f"{volts:g} V, more than {danger.least:g} V DC")
    plain = tuple(row for row, _ in rows.values())
    return RailWalk(plain, first, (), _not_judged(chain, setting), (), (), (), caution=caution, setting=setting)


def _not_judged(chain: Chain, setting: str) -> tuple[str, ...]:
    if setting != "volts":
        return ()
    return tuple(line.name for line in chain.lines if line.name not in chain.fed)


def _walked(
    chain: Chain,
    rows: Mapping[str, tuple[RailRow, Judgement]],
    read: Mapping[str, Reading],
    supply: Supply | None,
    setting: str,
) -> RailWalk:
    wrong = [line.name for line in chain.lines if rows[line.name][0].verdict in WRONG]
    first = wrong[0] if wrong else None
    waiting = _waiting(chain, rows, first) if setting == "volts" else ()
    road = _road(chain, rows, read, supply, first) if setting == "volts" else _cold_road(chain, rows, first)
    caution = next((step.caution for step in road.steps if step.caution), "")
    return RailWalk(
        tuple(row for row, _ in rows.values()),
        first,
        waiting,
        _not_judged(chain, setting),
        tuple(name for name in wrong if name != first and name not in waiting),
        road.causes,
        road.steps,
        supply_says(supply) if supply is not None else (),
        road.assumed,
        caution,
        setting,
    )


def _waiting(chain: Chain, rows: Mapping[str, tuple[RailRow, Judgement]], first: str | None) -> tuple[str, ...]:
    """Rails behind the first wrong one that are not there; a sheet of bare names is taken as start-up order."""
    if first is None:
        return ()
    names = [line.name for line in chain.lines]
    behind = set(chain.waits_for(first))
    later = chain.lines[names.index(first) + 1 :]
    for line in later:
        alone = not line.sources and not line.enables and (line.order is not None or not chain.declared)
        if alone and rows[line.name][0].verdict in WRONG:
            behind.add(line.name)
    return tuple(n for n in names if n in behind and n in chain.fed and rows[n][0].verdict != AS_IT_SHOULD)


def _road(
    chain: Chain,
    rows: Mapping[str, tuple[RailRow, Judgement]],
    read: Mapping[str, Reading],
    supply: Supply | None,
    first: str | None,
) -> Road:
    """The road at the first wrong rail; with none wrong, at the first one that nobody has read."""
    at = first or next((line.name for line in chain.lines if line.name in chain.fed and line.name not in read), None)
    line = chain.named(at) if at is not None else None
    if line is None:
        return Road()
    if _is_input(chain, line, read):
        if first is None:
            return Road((), (RailStep(line.name, "an input: is it there?"),))
        causes, steps = input_road(line.name, supply, _middle(read.get(line.name)))
        return Road(causes, steps)
    road = walk_stage(_stage(chain, line, rows, read))
    low = line.name in read and rows[line.name][0].verdict == TOO_LOW
    return short_first(road, line.name, supply) if low else road


def _is_input(chain: Chain, line: Rail, read: Mapping[str, Interval]) -> bool:
    """Whether a rail comes from outside: the sheet says so, or it is the highest, and as high as inputs are."""
    if line.sources or line.enables or line.maker:
        return False
    if chain.declared:
        return True
    volts = [abs(told) for other in chain.lines if (told := volts_of(other)) is not None]
    own = volts_of(line)
    kind = kind_of(line.name, own)
    is_highest = own is not None and abs(own) == max(volts) and kind is not None and kind.is_input
    return is_highest and "VIN" not in read


def _stage(
    chain: Chain,
    line: Rail,
    rows: Mapping[str, tuple[RailRow, Judgement]],
    read: Mapping[str, Interval],
) -> Stage:
    """What is known of the converter behind a rail. Of several feeds, the first that is fed counts."""
    feed = next((s for s in line.sources if s in chain.fed), line.sources[0] if line.sources else "")
    feed_verdict = rows[feed][0].verdict if feed in rows and feed in read else ""
    verdict = rows[line.name][0].verdict if line.name in read else ""
    return Stage(line.name, volts_of(line), feed, line.maker, line.enables, verdict, feed_verdict, read)


def _middle(reading: Reading | None) -> float | None:
    if reading is None or math.isinf(reading.low) or math.isinf(reading.high):
        return None
    return (reading.low + reading.high) / 2


def _cold_road(chain: Chain, rows: Mapping[str, tuple[RailRow, Judgement]], first: str | None) -> Road:
    """Cold: the rail that is low is read the other way round, then split; nothing low: the unread ones."""
    if first is None:
        unread = [name for name, (row, _) in rows.items() if not row.read]
        return Road((), tuple(RailStep(n, "not read yet", "ohms", "cold", OFF_FIRST) for n in unread))
    low = rows[first][0].verdict == TOO_LOW
    causes = (
        (
            f"a capacitor or clamp on {first} shorted",
            f"a chip fed by {first} shorted inside",
            f"the lower switch of the converter of {first} shorted",
        )
        if low
        else (f"an open path between {first} and what it feeds",)
    )
    swapped = f"GND to {first}"
    steps = (
        RailStep(swapped, "leads swapped: the same both ways is a short", "ohms", "cold", OFF_FIRST),
        RailStep(first, "lift its bead, fuse or coil, then both sides", "ohms", "cold", OFF_FIRST),
    )
    return Road(causes, steps)
