"""Proof: the bring-up and hand-over sheet of a repaired board, filled in as its results are typed."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shouldread.circuit import Circuit, Rails
from shouldread.diagnosis import Caution, cautions
from shouldread.meter import Meter, Reading
from shouldread.meter import meter as profile_of
from shouldread.quantities import say
from shouldread.repair.proving_lines import (
    COLD,
    FUNCTION,
    FURTHER,
    NOT_PROVEN,
    OPEN,
    RAILS,
    RIGHT,
    STARTS,
    STRESS,
    WRONG,
    Check,
    lines_of,
    rated_amps,
    with_rails,
)
from shouldread.repair.proving_results import Judge, read_on

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True, slots=True)
class Proof:
    """A hand-over sheet: ``checks`` in the order they are done, each with its verdict; ``typed`` is what was entered.

    ``amps`` and ``minutes``: the most that flowed and the longest load so far, nothing typed gives 0. ``cause`` and
    ``why`` it failed, as far as anybody said. ``unproven``: what remains open, in words. ``cautions``: what to mind,
    each once; where they leave live work to licensed practice the sheet holds the cold table only.
    """

    title: str
    board: Circuit | Rails
    checks: tuple[Check, ...]
    meter: Meter
    typed: str = ""
    amps: float = 0.0
    minutes: float = 0.0
    unproven: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    repaired: str = ""
    cause: str = ""
    why: str = ""

    @property
    def passed(self) -> bool:
        """Whether every line is right and nothing remains unproven."""
        return all(check.verdict == RIGHT for check in self.checks) and not self.unproven

    @property
    def wrong(self) -> tuple[Check, ...]:
        """The lines that failed."""
        return tuple(check for check in self.checks if check.verdict == WRONG)

    def __getitem__(self, key: str) -> Check:
        return next(check for check in self.checks if check.key.casefold() == key.casefold())

    def entered(self, results: str) -> "Proof":
        """The sheet with more results on it, as typed; a later one of the same line stands.

        One a line or between ``;``: readings (``5V 5.02``, ``12V_AUX to FEED 55 mV at 5.5 A``, ``5V ohms 2k1``),
        ``power-up not limiting``, ``input 0.42 A``, ``order EN5 5V 3V3``, ``function passed`` (or ``failed: the
        fan stands``), ``stress 30 min``, ``X1 52 °C at 30 min``, ``starts cold 5 of 5``.
        Raises ReadingError that lists every line which cannot be taken.
        """
        typed = "\n".join(filter(None, [self.typed, results]))
        blank = tuple(replace(c, shown="", verdict=OPEN, why="") for c in self.checks if c.stage != FURTHER)
        judged = Judge(self.board, blank, self.meter).judged(typed)
        unproven = (*_unproven(self.board, judged.checks, judged.amps), *self._unsaid())
        return replace(
            self, checks=judged.checks, typed=typed, amps=judged.amps, minutes=judged.minutes, unproven=unproven
        )

    def _unsaid(self) -> Iterable[str]:
        """A part that was replaced without a word on what killed it may be killed again."""
        if self.repaired and not self.why:
            yield f"why {self.repaired} failed: not said, and what killed it may still be there"

    def told(self) -> dict[str, object]:
        """What a case keeps of it: ``case.proved(**proof.told())``."""
        count = {word: sum(c.verdict == word for c in self.checks) for word in (RIGHT, WRONG, NOT_PROVEN, OPEN)}
        said = ", ".join(f"{number} {word}" for word, number in count.items() if number)
        failed = [f"{c.key}: {c.why or c.shown}" for c in self.wrong]
        short = [f"{c.key} not proven: {c.why}" for c in self.checks if c.verdict == NOT_PROVEN]
        shown = [c for c in self.checks if c.stage in (FUNCTION, STRESS, STARTS) and c.shown]
        done = [f"{c.key} {c.shown}" for c in shown]
        text = "; ".join([f"hand-over sheet: {said}", *done, *failed, *short])
        body: dict[str, object] = {
            "text": text,
            "rails": ", ".join(f"{c.key} {c.shown}" for c in self.checks if c.stage == RAILS and c.shown),
        }
        body |= {"amps": self.amps} if self.amps else {}
        return body | ({"minutes": self.minutes} if self.minutes else {})

    def frame(self) -> "pandas.DataFrame":
        """One row a line: stage, key, action, should, before, shown, verdict, why."""
        import pandas

        keys = ("stage", "key", "action", "should", "before", "shown", "verdict", "why", "source")
        return pandas.DataFrame([{k: getattr(c, k) for k in keys} for c in self.checks], columns=list(keys))

    def __str__(self) -> str:
        rows = [self.title, *(f"caution: {caution}" for caution in self.cautions)]
        rows += [f"cause: {self.cause}"] if self.cause else []
        rows += [f"why it failed: {self.why}"] if self.why else []
        stage = ""
        for check in self.checks:
            rows += [f"{check.stage}:"] if check.stage != stage else []
            stage = check.stage
            rows.append(f"  {check}")
        rows += ["not proven so far:", *(f"  {row}" for row in self.unproven)] if self.unproven else []
        return "\n".join(rows)


def prove(
    board: Circuit | Rails | str,
    *,
    rails: Rails | str = "",
    repaired: str = "",
    cause: str = "",
    why: str = "",
    before: str = "",
    results: str = "",
    meter: Meter | str | None = None,
) -> Proof:
    """The sheet by which a repaired board is proved: cold table, limited power-up, rails, order, current, load, starts.

    ``board``: a circuit, or a rail sheet (``Rails`` or its text). ``rails``: the rail sheet of the board on which a
    circuit is only a stage; both then make one sheet. ``repaired``: the part that was replaced, ``cause``: what it
    was, ``why`` it failed; with a part and no ``why`` that remains open. ``before``: readings before the repair,
    shown beside the new ones; ``results``: as for ``Proof.entered``.
    Raises UnknownNameError for a part that is not there, ReadingError for what cannot be taken.

    >>> import shouldread as sr
    >>> sheet = sr.prove(sr.load_circuit("two_feed_enable"), repaired="L1", results="FEED 12.0 at 0.02 A")
    >>> sheet["12V_AUX to FEED"].verdict
    'not proven'
    """
    on = Rails.read(board) if isinstance(board, str) else board
    sheet = Rails.read(rails) if isinstance(rails, str) else rails
    if len(sheet):
        on = with_rails(on, sheet) if isinstance(on, Circuit) else sheet
    part = on.part(repaired).name if repaired and isinstance(on, Circuit) else repaired
    profile = profile_of(meter)
    name = on.title or on.name if isinstance(on, Circuit) else "board"
    old = _before(on, before, profile)
    lines = tuple(replace(line, before=old.get(line.key.casefold(), "")) for line in lines_of(on, part, profile))
    circuit = on if isinstance(on, Circuit) else None
    mind = dict.fromkeys(c for act in ("ohms", "power", "load") for c in cautions(circuit, act))
    if any(c.refer for c in mind):
        lines = tuple(line for line in lines if line.stage == COLD)
    title = f"Hand-over sheet: {name}" + (f", {part} replaced" if part else "")
    told = Proof(title, on, lines, profile, cautions=tuple(mind), repaired=part, cause=cause, why=why)
    return told.entered(results)


def _before(board: Circuit | Rails, text: str, meter: Meter) -> dict[str, str]:
    circuit = board if isinstance(board, Circuit) else None
    read = (r for r in read_on(circuit, text, meter) if isinstance(r, Reading))
    return {(r.at if r.setting == "volts" else f"{r.at} {r.setting}").casefold(): r.text for r in read}


def _unproven(board: Circuit | Rails, checks: Iterable[Check], amps: float) -> Iterable[str]:
    """What nobody has shown yet: lines not done, readings that do not suffice, parts far below their rating."""
    rows = list(checks)
    yield from (f"{c.key}: {c.why}" for c in rows if c.verdict == NOT_PROVEN)
    stages = dict.fromkeys(c.stage for c in rows)
    for stage in stages:
        left = [c.key for c in rows if c.stage == stage and c.verdict == OPEN]
        if left:
            yield f"{stage}: {', '.join(left)} not done"
    if isinstance(board, Circuit):
        coils = [p.name for p in board.netlist.values() if p.kind == "L" and rated_amps(board, (p.name,)) > amps]
        if coils:
            most = say(amps, "A", 2)
            yield f"{', '.join(coils)} at rated amps: {most} at most has flowed, and saturation shows on a scope only"
