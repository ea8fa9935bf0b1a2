"""Whether a reading makes sense where it was taken; each check says what to write instead."""

from shouldread.circuit import Circuit, feed_of, is_supply
from shouldread.errors import ReadingError
from shouldread.meter.places import Spot, across, one_pin
from shouldread.meter.reading import GROUND, Reading
from shouldread.meter.scene import Scene
from shouldread.parts import Part
from shouldread.quantities import say_in_full

BARE_LIMIT = 10  # times the highest source, above which bare digits are taken for ohms by mistake
FEED_TOLERANCE = 0.05  # of a feed that is ``ok``: the trade's ± 5 % (ATX12V design guide 2.0, table 2)

_FAULT_WORDS = frozenset("open short shorted leaky drifted absent low high joint stuck blown".split())
_CONDITION_WORDS = frozenset("bridged lifted removed linked".split())


def refuse_fault(spot: Spot, value: str) -> None:
    """Raise ReadingError for ``L1 open`` and ``L1 bridged``, which are no readings."""
    words = set(value.casefold().split())
    if words & _CONDITION_WORDS:
        raise ReadingError(
            f"{spot.name} {value} is something done to the board: write it behind a reading, "
            f"such as EN 3.3 with {spot.name} {value}",
            value=value,
        )
    if words <= {"low", "high"} and words and not spot.is_part:
        raise ReadingError(f"{spot.name} {value} is a level: write the volts that the display showed", value=value)
    if words & _FAULT_WORDS:
        raise ReadingError(
            f"{spot.name} {value} is a fault, not a reading: write what the display showed, such as "
            f"{spot.name} ohms OL; what it was found to be goes under cause",
            value=value,
        )


def refuse_seen(spot: Spot, seen: str) -> None:
    """Raise ReadingError for an observation of a node that only a part can show."""
    if spot.kind == "node" and seen != "pulsing":
        raise ReadingError(f"{spot.name} is a node: which part is {seen}?", value=spot.name)


def leads_fit(reading: Reading, red: Spot, black: Spot | None, scene: Scene) -> None:
    """Raise ReadingError for leads where the setting needs others: amps at a node, a part that has many pins."""
    if reading.setting == "amps":
        if not scene.places.free and (black is not None or red.part is None or not is_supply(red.part)):
            feeds = [part.name for part in scene.places.parts.values() if is_supply(part)]
            raise ReadingError(
                f"amps are what a supply delivers: name the supply ({', '.join(feeds[:6]) or 'none here'})",
                value=reading.place,
            )
        return
    if black is None and red.kind == "part":
        across(red)
    for spot in (red, black) if black is not None else ():
        if spot is not None and spot.kind == "part":
            one_pin(spot)


def bare_fits(reading: Reading, scene: Scene) -> None:
    """Raise ReadingError for bare digits far above every source: ohms typed without saying so."""
    highest = scene.highest
    if reading.form in ("number", "about", "between") and abs(reading.value) > BARE_LIMIT * highest > 0:
        raise ReadingError(
            f"{reading.text} volts where no source gives more than {say_in_full(highest, 'V')}? "
            f"Write {reading.text} V if so, or ohms {reading.text}",
            value=reading.text,
        )


def highest_source(circuit: Circuit | None) -> float:
    """The highest volts that any source of a circuit gives in any state; 0 without one."""
    if circuit is None:
        return 0.0
    volts = [abs(_feed_volts(part)) for part in circuit.netlist.values()]
    for state in circuit.state_table.values():
        named = {name.casefold(): value for name, value in state.sets.items()}
        for part in circuit.netlist.values():
            value = named.get(part.name.casefold())
            if part.kind == "V" and isinstance(value, int | float) and not isinstance(value, bool):
                volts.append(abs(float(value)))
    return max(volts, default=0.0)


def _feed_volts(part: Part) -> float:
    """The volts that a feed is made for; 0 for what is none."""
    volts = feed_of(part)
    return 0.0 if volts is None else volts.high if abs(volts.high) > abs(volts.low) else volts.low


def healthy_band(spot: Spot, value: str, scene: Scene) -> tuple[float, float] | None:
    """What ``ok`` means at a place: within the nominal's tolerance; None leaves it to whoever knows a healthy band.

    Raises ReadingError when nominals were given, none is this place's, and no circuit gives a band.
    """
    nominal = scene.nominals.get(spot.name.casefold())
    if nominal is not None and nominal.low != nominal.high:
        return nominal.low, nominal.high
    volts = nominal.nominal if nominal is not None else 0.0
    for part in scene.places.parts.values():
        at_place = part.nodes[0] == spot.name and part.nodes[-1] == GROUND
        if nominal is None and is_supply(part) and (at_place or part.name == spot.name):
            volts = _feed_volts(part)
    if volts:
        ends = sorted((volts * (1 - FEED_TOLERANCE), volts * (1 + FEED_TOLERANCE)))
        return ends[0], ends[1]
    if scene.circuit is None and scene.nominals:
        raise ReadingError(f"{spot.name} {value}: ok against what? No nominal is known; write the volts", value=value)
    return None
