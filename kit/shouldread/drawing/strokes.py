"""The pen strokes of each symbol, in grid units: two-pin ones stand upright with the first pin on top.

After IEC 60617 (resistor, capacitor, inductor, fuse, thermistor, contacts, plug and socket, coil, breakdown diode, bipolar
and field-effect transistor, thyristor) and IEEE 315 (sources, controlled gain, light-emitting diode);
shapes drawn from memory of these standards. A transistor has its control at (-2, 0).
"""

from collections.abc import Sequence

from shouldread.drawing.things import Arc, Area, Line, Point, Ring, Thing

Strokes = tuple[Thing, ...]


def _line(*points: Point, sort: str = "symbol") -> Line:
    return Line(points, sort)


def _leads(gap: float) -> Strokes:
    return (_line((0, -2), (0, -gap)), _line((0, gap), (0, 2)))


def _frame(half: float, long: float) -> Line:
    return _line((-half, -long), (half, -long), (half, long), (-half, long), (-half, -long))


def _arrow(start: Point, tip: Point, long: float = 0.5, half: float = 0.2) -> Area:
    """A filled arrow head at the end of the way from ``start`` to ``tip``."""
    dx, dy = tip[0] - start[0], tip[1] - start[1]
    size = (dx * dx + dy * dy) ** 0.5
    ux, uy = dx / size, dy / size
    bx, by = tip[0] - long * ux, tip[1] - long * uy
    return Area((tip, (bx - half * uy, by + half * ux), (bx + half * uy, by - half * ux)))


def _boxed(half: float, long: float, *more: Thing) -> Strokes:
    return (*_leads(long), _frame(half, long), *more)


def _capacitor(*more: Thing) -> Strokes:
    plates = (_line((-0.85, -0.25), (0.85, -0.25), sort="heavy"), _line((-0.85, 0.25), (0.85, 0.25), sort="heavy"))
    return (*_leads(0.25), *plates, *more)


def _inductor() -> Strokes:
    turns = [-1.2 + 0.6 * k for k in range(4)]
    return (*_leads(1.2), *(Arc((0, y), (0, y + 0.6)) for y in turns))


def _diode(*bar: Sequence[Point], more: Strokes = ()) -> Strokes:
    triangle = Area(((-0.65, -0.55), (0.65, -0.55), (0, 0.55)))
    bars = [((-0.65, 0.55), (0.65, 0.55)), *bar]
    return (_line((0, -2), (0, 2)), triangle, *(_line(*points) for points in bars), *more)


def _light() -> Strokes:
    rays: list[Thing] = []
    for y in (-0.45, 0.15):
        start, tip = (0.75, y), (1.4, y - 0.4)
        rays += [_line(start, tip), _arrow(start, tip, 0.28, 0.11)]
    return tuple(rays)


def _contact(*worked_by: Thing) -> Strokes:
    """A make contact; what works it is linked to the middle of its blade by a broken line."""
    link = (_line((-0.37, 0.05), (-0.6, 0.05)), _line((-0.82, 0.05), (-1.05, 0.05))) if worked_by else ()
    return (_line((0, -2), (0, -0.7)), _line((0, 2), (0, 0.8), (-0.7, -0.7)), *link, *worked_by)


def _plug_and_socket() -> Strokes:
    pin = Area(((-0.15, -0.85), (0.15, -0.85), (0.15, 0.3), (-0.15, 0.3)))
    return (_line((0, -2), (0, -0.85)), pin, Arc((0.5, 0.1), (-0.5, 0.1)), _line((0, 0.6), (0, 2)))


def _circle(*more: Thing) -> Strokes:
    return (*_leads(0.9), Ring(0, 0, 0.9), *more)


def _bipolar(arrow: Area, base: Strokes = ()) -> Strokes:
    base = base or (_line((-2, 0), (-1, 0)),)
    collector = _line((0, -2), (0, -1.1), (-1, -0.4))
    emitter = _line((0, 2), (0, 1.1), (-1, 0.4))
    return (*base, collector, emitter, _line((-1, -0.95), (-1, 0.95), sort="heavy"), arrow)


_OUT = _arrow((-1, 0.4), (-0.12, 1.016))
_IN = _arrow((0, -1.1), (-0.86, -0.498))
_BASE_RESISTOR = (
    _line((-2, 0), (-1.9, 0)),
    _line((-1.9, -0.24), (-1.2, -0.24), (-1.2, 0.24), (-1.9, 0.24), (-1.9, -0.24)),
    _line((-1.2, 0), (-1, 0)),
)


def _mosfet(source_y: float, arrow: Area, diode: bool) -> Strokes:
    channel = [_line((-0.9, a), (-0.9, b), sort="heavy") for a, b in ((-1, -0.5), (-0.25, 0.25), (0.5, 1))]
    bulk = (0, source_y) if diode else (2, 0)
    strokes: list[Thing] = [
        _line((-2, 0), (-1.3, 0)),
        _line((-1.3, -0.85), (-1.3, 0.85)),
        *channel,
        _line((-0.9, -0.75), (0, -0.75), (0, -2)),
        _line((-0.9, 0.75), (0, 0.75), (0, 2)),
        _line((-0.9, 0), (0, 0), bulk),
        arrow,
    ]
    if diode:
        strokes += [
            _line((0, -1.4), (1, -1.4), (1, 1.4), (0, 1.4)),
            Area(((0.6, 0.35), (1.4, 0.35), (1, -0.35))),
            _line((0.6, -0.35), (1.4, -0.35)),
        ]
    return tuple(strokes)


_TO_CHANNEL = _arrow((0, 0), (-0.85, 0), 0.5, 0.24)
_FROM_CHANNEL = _arrow((-0.9, 0), (-0.1, 0), 0.5, 0.24)
_PLUS = (_line((-1.0, -0.95), (-0.5, -0.95)), _line((-0.75, -1.2), (-0.75, -0.7)))

STROKES: dict[str, Strokes] = {
    "resistor": _boxed(0.42, 1.2),
    "thermistor": _boxed(0.42, 1.2, _line((-1.15, 0.95), (-0.75, 0.95), (0.8, -0.95))),
    "fuse": _boxed(0.42, 1.2, _line((0, -1.2), (0, 1.2))),
    "bead": (*_leads(1.2), Area(((-0.42, -1.2), (0.42, -1.2), (0.42, 1.2), (-0.42, 1.2)))),
    "coil": _boxed(0.85, 0.55),
    "wire": (*_leads(1.2), _line((0, -1.2), (0, 1.2), sort="heavy"), Ring(0, -1.2, 0.14), Ring(0, 1.2, 0.14)),
    "capacitor": _capacitor(),
    "polarised capacitor": _capacitor(*_PLUS),
    "inductor": _inductor(),
    "plug and socket": _plug_and_socket(),
    "make contact": _contact(),
    "push button": _contact(
        _line((-1.1, -0.4), (-1.4, -0.4), (-1.4, 0.5), (-1.1, 0.5)), _line((-1.27, 0.05), (-1.4, 0.05))
    ),
    "hand switch": _contact(_line((-1.4, -0.4), (-1.4, 0.5)), _line((-1.27, 0.05), (-1.4, 0.05))),
    "diode": _diode(),
    "schottky": _diode(((-0.65, 0.55), (-0.65, 0.25), (-0.4, 0.25)), ((0.65, 0.55), (0.65, 0.85), (0.4, 0.85))),
    "zener": _diode(((-0.65, 0.55), (-0.65, 0.18))),
    "tvs": _diode(((-0.65, 0.55), (-0.85, 0.2)), ((0.65, 0.55), (0.85, 0.9))),
    "led": _diode(more=_light()),
    "source": _circle(
        _line((0, -0.65), (0, -0.2)), _line((-0.22, -0.42), (0.22, -0.42)), _line((-0.2, 0.45), (0.2, 0.45))
    ),
    "current source": _circle(_line((0, -0.6), (0, 0.3)), _arrow((0, -0.6), (0, 0.62), 0.5, 0.26)),
    "npn": _bipolar(_OUT),
    "pnp": _bipolar(_IN),
    "prebiased npn": _bipolar(_OUT, _BASE_RESISTOR),
    "prebiased pnp": _bipolar(_IN, _BASE_RESISTOR),
    "nmos": _mosfet(0.75, _TO_CHANNEL, True),
    "pmos": _mosfet(-0.75, _FROM_CHANNEL, True),
    "nmos with bulk pin": _mosfet(0.75, _TO_CHANNEL, False),
    "pmos with bulk pin": _mosfet(-0.75, _FROM_CHANNEL, False),
    "thyristor": (*_diode(), _line((-2, 0), (-1.1, 0), (-0.2, 0.55))),
}
# inside a box, about the middle between its pins; the edges are at -4 and 4
GLYPHS: dict[str, Strokes] = {
    "block": (),
    "gain": (_line((0, -0.8), (0.6, 0), (0, 0.8), (-0.6, 0), (0, -0.8)),),
    "controlled switch": (
        _line((4, -2), (1.4, -2), (1.4, -0.7)),
        _line((4, 2), (1.4, 2), (1.4, 0.8), (0.7, -0.7)),
        _line((-4, -2), (-2, -2), (-2, -0.6)),  # the coil side, linked to the blade by a broken line
        _line((-4, 2), (-2, 2), (-2, 0.6)),
        _line((-2.9, -0.6), (-1.1, -0.6), (-1.1, 0.6), (-2.9, 0.6), (-2.9, -0.6)),
        *(_line((x, 0.05), (x + 0.3, 0.05)) for x in (-0.9, -0.4, 0.1, 0.6)),
    ),
    "optocoupler": (
        _line((-4, -2), (-1.4, -2), (-1.4, 2), (-4, 2)),
        Area(((-1.95, -0.45), (-0.85, -0.45), (-1.4, 0.45))),
        _line((-1.95, 0.45), (-0.85, 0.45)),
        *(_line((-0.55, y), (0.35, y)) for y in (-0.25, 0.3)),
        *(_arrow((-0.55, y), (0.45, y), 0.3, 0.13) for y in (-0.25, 0.3)),
        _line((0.8, -0.9), (0.8, 0.9), sort="heavy"),
        _line((4, -2), (1.7, -2), (1.7, -1), (0.8, -0.35)),
        _line((4, 2), (1.7, 2), (1.7, 1), (0.8, 0.35)),
        _arrow((0.8, 0.35), (1.62, 0.94)),
    ),
}
