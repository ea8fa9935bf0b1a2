"""Measure: put the meter's own parts on the board, solve, and imitate the display."""

import math

from shouldread.circuit import Circuit, is_supply, standing
from shouldread.errors import RequestError
from shouldread.faults import Fault, fault_edits
from shouldread.meter.display import Display, pick_range, shown
from shouldread.meter.places import Places, leads, pads
from shouldread.meter.profile import Meter, MeterLike, Range, meter
from shouldread.meter.reading import COLD
from shouldread.meter.setting import SETTINGS, setting_named
from shouldread.meter.source import shown_of, thevenin
from shouldread.parts import Bridge, Drive, Edit
from shouldread.solve import Network, solve

PATIENCE = 3.0  # seconds that a technician waits for ohms to settle
SETTLED = 0.01  # of the volts between the tips still to come, below which a reading counts as settled
_NAME = "meter"
RESTLESS = 2  # status of a solved lane that has no steady state
_NO_ANSWER = "no operating point: ideal sources or coils without resistance in a loop; put the wire's resistance in"


def measure(
    circuit: Circuit,
    place: str,
    to: str = "",
    setting: str = "volts",
    *,
    state: str | None = None,
    condition: str | None = None,
    fault: str | Fault | None = None,
    meter: MeterLike = None,
) -> Display:
    """What the display shows at a place (``EN``, ``A to B``, ``R1``, ``Q1.b``), with the meter's own load.

    Volts and amps are read in the first state unless one is named, ohms and diode on the board with nothing
    fed: the range is where autoranging from the top down stops, and a reading that a capacitor still moves
    after 3 s is ``rising``. What never comes to rest shows ``pulsing``, a circuit that has no answer ``unknown``,
    both with nan as value and why in ``words``. No error of the meter is added.

    Raises UnknownNameError for a name that is not there, RequestError for ohms on a fed state, ReadingError
    for leads that make no sense.

    >>> from shouldread.circuit import load_circuit
    >>> str(measure(load_circuit("* divider\\nV1 A 0 12\\nR1 A B 1Meg\\nR2 B 0 1Meg\\n"), "B"))
    '5.714 V'
    """
    if not to and " to " in place:
        place, _, to = (piece.strip() for piece in place.partition(" to "))
    name = setting_named(setting).name
    profile = _profile(meter)
    fed = _state(circuit, name, state)
    board = circuit if condition is None else circuit.with_condition(condition)
    edits = () if fault is None else fault_edits(board.fault(fault)[0], board.netlist.values())
    edits = standing(board, edits, cold=SETTINGS[name].cold)
    if name == "amps":
        return _delivered(board, place, to, fed, fault, profile)
    pair = pads(board, leads(board, place, to))
    if name == "volts":
        return _volts(board, pair, edits, fed, profile)
    return _sourced(board, pair, edits, name, profile)


def _profile(profile: MeterLike) -> Meter:
    return meter(profile)


def _state(circuit: Circuit, setting: str, state: str | None) -> str:
    name = circuit.state(COLD if SETTINGS[setting].cold and state is None else state).name
    if SETTINGS[setting].cold and name != COLD:
        raise RequestError(
            f"{setting} are read with nothing fed: leave the state out or say {COLD}, not {state}", value=state
        )
    if not SETTINGS[setting].cold and name == COLD:
        raise RequestError(f"in the state {COLD} nothing is fed: read ohms or diode, not {setting}", value=state)
    return name


def _delivered(
    circuit: Circuit, place: str, to: str, state: str, fault: str | Fault | None, profile: Meter
) -> Display:
    """What a supply delivers, as its own display shows it: no burden is put in its lead."""
    spot = Places.of(circuit).part_spot(place)
    if to or spot is None or spot.part is None or not is_supply(spot.part):
        feeds = [part.name for part in circuit.netlist.values() if is_supply(part)]
        raise RequestError(
            f"amps are what a supply delivers: name one ({', '.join(feeds) or 'none here'})", value=place, known=feeds
        )
    solution = solve(circuit, state=state, fault=fault)
    amps = solution.amps[spot.part.name]
    if math.isnan(amps):
        return _nothing(profile, "amps", restless=solution.outcome.word == "no steady state")
    return shown(profile, "amps", -amps + 0.0)


def _nothing(profile: Meter, setting: str, *, restless: bool) -> Display:
    """The display of a board that gives no steady reading, or that no real board can be."""
    text, why = ("pulsing", "it never comes to rest") if restless else ("unknown", _NO_ANSWER)
    return Display(setting, math.nan, text, profile.ranges(setting)[-1], words=why)


def _volts(circuit: Circuit, pair: tuple[str, str], edits: tuple[Edit, ...], state: str, profile: Meter) -> Display:
    points = Network(circuit, (*edits, Bridge(*pair, profile.input_ohms, _NAME)), state=state).solve()
    if points.status[0] != 0:
        return _nothing(profile, "volts", restless=points.status[0] == RESTLESS)
    return shown(profile, "volts", float(points.volts([pair])[0, 0]))


def _sourced(
    circuit: Circuit, pair: tuple[str, str], edits: tuple[Edit, ...], setting: str, profile: Meter
) -> Display:
    """Ohms or diode: the source of each range from the top down, until autoranging stops."""
    ranges = profile.ranges(setting)
    values: list[float] = [math.nan] * len(ranges)
    climbing = [False] * len(ranges)
    for at in reversed(range(len(ranges))):
        tips, climbing[at] = _tips(circuit, pair, edits, setting, ranges[at], profile)
        values[at] = shown_of(setting, ranges[at], tips)
        if at < len(ranges) - 1 and pick_range(ranges[at:], values[at:]) > 0:
            break
    first = next((i for i, v in enumerate(values) if not math.isnan(v)), None)
    if first is None:
        return _nothing(profile, setting, restless=False)
    picked = first + pick_range(ranges[first:], values[first:])
    return shown(profile, setting, values[picked], ranges[picked], rising=climbing[picked])


def _tips(
    circuit: Circuit, pair: tuple[str, str], edits: tuple[Edit, ...], setting: str, within: Range, profile: Meter
) -> tuple[float, bool]:
    """Volts between the tips on one range after the technician's patience, and whether they still climb."""
    source = thevenin(profile, setting, within)
    network = Network(circuit, (*edits, Drive(*pair, source.volts, source.ohms, _NAME)), state=COLD)
    points = network.solve()
    if points.status[0] != 0:
        return math.nan, False
    capacitors = [p for p in network.flat.parts if p.kind == "C" and p.value is not None]
    settled = float(points.volts([pair])[0, 0])
    if settled <= 0 or not capacitors:
        return settled, False
    across = points.volts([(p.nodes[0], p.nodes[1]) for p in capacitors])[0]
    farads = [p.value.nominal for p in capacitors if p.value is not None]
    # First moment of the step response: sum of C dV^2 over the volts between the tips times the source's
    # short-circuit amps. Exact for a resistive net (Elmore 1948, J. Appl. Phys. 19:55), near enough through junctions.
    stored = math.fsum(c * v * v for c, v in zip(farads, across, strict=True))
    seconds = stored / (settled * source.volts / source.ohms)
    left = math.exp(-PATIENCE / seconds) if seconds > 0 else 0.0
    return settled * (1 - left), left > SETTLED
