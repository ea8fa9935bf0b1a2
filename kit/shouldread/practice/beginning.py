"""The verb that begins an exercise: which board, which fault."""

import random

from shouldread.casebook import Casebook
from shouldread.circuit import Circuit, load_circuit
from shouldread.errors import RequestError
from shouldread.meter import Meter
from shouldread.meter import meter as profile_of
from shouldread.practice.exercise import Exercise
from shouldread.practice.hiding import Hidden, hide, pick_circuit, read_hidden, true_board
from shouldread.practice.telling import complaints, tells

STEPS = (1, 2, 3, 4, 5)
TRIES = 30  # faults drawn until one shows


def _hidden(circuit: Circuit, step: int, seed: int, dice: random.Random, profile: Meter) -> Hidden:
    """A fault of the step that can be found on this very board.

    What is obvious or comes and goes shows at an output; any other moves a reading out of its healthy band.
    """
    true = true_board(circuit, random.Random(seed))
    for _ in range(TRIES):
        found = hide(circuit, step, dice)
        halves = found.fault.members or (found.fault,)
        if step in (1, 4) and complaints(circuit, true.at, found.fault):
            break
        if step not in (1, 4) and all(tells(circuit, true.at, half, profile) for half in halves):
            break
    return found


def exercise(
    topic: str | None = None,
    *,
    step: int = 1,
    seed: int | None = None,
    circuit: Circuit | str | None = None,
    hidden: str | None = None,
    meter: str = "handheld",
    learner: str = "",
    casebook: Casebook | None = None,
) -> Exercise:
    """A hidden fault to find. ``step`` 1 obvious, 2 any, 3 gradual, 4 intermittent, 5 a pair; one seed, one exercise.

    ``circuit``: which one; else one on the ``topic``. ``hidden``: a fault, or a token of ``practice.seal``.
    With a ``learner`` its end is kept in the casebook. In a notebook it shows as a bench with the answer hidden.
    Raises UnknownNameError for a topic, circuit or fault that is not there.

    >>> import shouldread as sr
    >>> task = sr.exercise(circuit="npn_inverter_enable", hidden="R2 open")
    >>> task.measure("EN", "ohms", "run")
    'stopped: the board is fed. Off and discharged first, then ohms or diode (read them @cold)'
    """
    if step not in STEPS:
        raise RequestError(f"steps go from 1 to {STEPS[-1]}, not {step!r}", value=step)
    number = random.randrange(2**32) if seed is None else seed
    dice = random.Random(number)
    board = load_circuit(circuit) if circuit is not None else pick_circuit(topic, dice)
    found = read_hidden(board, hidden) if hidden is not None else _hidden(board, step, number, dice, profile_of(meter))
    kept = (casebook if casebook is not None else Casebook(), learner) if learner else None
    return Exercise(board, found, seed=number, step=step, meter=meter, kept=kept)
