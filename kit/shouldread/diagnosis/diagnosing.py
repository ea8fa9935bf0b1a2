"""The verb: what readings leave of all faults of a circuit."""

from collections.abc import Iterable

from shouldread.circuit import Circuit, Remembered
from shouldread.diagnosis.diagnosis import Diagnosis
from shouldread.diagnosis.hypothesis import KnownCauses, Masses
from shouldread.diagnosis.mind import Item, Mind, items_of
from shouldread.errors import RequestError
from shouldread.meter import Meter
from shouldread.meter import meter as profile_of

_KEPT = 4  # minds kept for circuits that are asked about again
_minds: Remembered[Mind] = Remembered(_KEPT)


def mind_for(circuit: Circuit, meter: Meter, masses: Masses, casebook: KnownCauses | None) -> Mind:
    """A mind for a circuit, the same one when it is asked for again (unless a casebook may have grown meanwhile)."""
    if casebook is not None:
        return Mind(circuit, meter, masses, casebook)
    return _minds.get(circuit, (meter, masses), lambda: Mind(circuit, meter, masses, None))


def diagnose(
    circuit: Circuit,
    readings: str | Iterable[Item] = "",
    *,
    meter: Meter | str | None = None,
    casebook: KnownCauses | None = None,
    healthy: float = 0.5,
) -> Diagnosis:
    """What the readings leave of all faults of a circuit, in groups with reasons, and the best next probe.

    ``readings``: text (``EN 0.02; L1 ohms OL``) or readings and observations. ``casebook`` brings one's own causes in.
    ``healthy``: share of "nothing wrong here" beforehand (lower it where the symptom is surely of this circuit).
    Shares of all suspects, healthy and none of these sum to 1. Raises ReadingError, UnknownNameError.

    >>> import shouldread as sr
    >>> c = sr.load_circuit("* divider\\nV1 IN 0 12\\nR1 IN MID 10k\\nR2 MID 0 10k\\n")
    >>> sr.diagnose(c, "MID 11.99; IN 12.0").suspects[0].fault
    'R2 open'
    """
    if not 0.0 <= healthy <= 0.9:
        raise RequestError(f"healthy is a share beforehand between 0 and 0.9, not {healthy}", value=healthy)
    return diagnose_dealt(circuit, readings, Masses(healthy=healthy), meter=meter, casebook=casebook)


def diagnose_dealt(
    circuit: Circuit,
    readings: str | Iterable[Item],
    masses: Masses,
    *,
    meter: Meter | str | None = None,
    casebook: KnownCauses | None = None,
) -> Diagnosis:
    """The same where belief beforehand is dealt out otherwise. Raises ReadingError, UnknownNameError."""
    mind = mind_for(circuit, profile_of(meter), masses, casebook)
    return Diagnosis(mind, items_of(mind, readings))
