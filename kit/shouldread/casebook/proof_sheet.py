"""The hand-over sheet of a case: what its stage or its rails are held to, with the results that stand in it."""

from collections.abc import Mapping
from dataclasses import replace

from shouldread.casebook.record import Record
from shouldread.casebook.said import AFTER, placed
from shouldread.circuit import Circuit, Rails
from shouldread.errors import KitError
from shouldread.meter import Reading
from shouldread.repair import Proof, prove, with_rails

REPLACED = ("done", "cause")  # kinds of events that begin with the part that was replaced, the surer first


def results_of(case: Record) -> str:
    """The results that stand, as typed, one a line."""
    return "\n".join(str(event.body["text"]) for event in case.standing() if event.kind == "test")


def board_of(case: Record) -> Circuit | Rails | None:
    """What the sheet is made of: the stage in use with the rails of its board, or either; None where there is neither."""
    circuit, told = case.circuit, case.last("sheet")
    sheet = Rails.read(str(told["text"])) if told else Rails()
    if circuit is not None:
        return with_rails(circuit, sheet) if len(sheet) else circuit
    return sheet if len(sheet) else None


def filled(sheet: Proof, case: Record) -> Proof:
    """A sheet with the readings before the repair, the cause and the results of the case on it. Raises ReadingError."""
    old = {key.casefold(): text for key, text in read_before(case).items()}
    checks = tuple(replace(check, before=old.get(check.key.casefold(), "")) for check in sheet.checks)
    cause = case.last("cause") or {}
    fault, why = str(cause.get("fault", "")), str(cause.get("why", ""))
    return replace(sheet, checks=checks, typed="", cause=fault, why=why).entered(results_of(case))


def sheet_of_case(case: Record) -> Proof | None:
    """The sheet with its results; None where nothing was tested, or where the stage is another one by now."""
    if not results_of(case):
        return None
    try:
        board = board_of(case)
        return filled(prove(board, repaired=replaced_in(case)), case) if board is not None else None
    except KitError:
        return None  # the results stand in the road as they were typed


def read_before(case: Record) -> Mapping[str, str]:
    """The last reading before the repair by place, with its setting where that is not volts."""
    found: dict[str, str] = {}
    for event, items, _ in placed(case.standing()):
        if event.kind == "reading" and not event.body.get("good"):
            found |= {key_of(r): r.text for r in items if isinstance(r, Reading) and AFTER not in r.conditions}
    return found


def key_of(reading: Reading) -> str:
    """How a line of the sheet calls what was read: ``5V``, ``5V ohms``, ``A to B``."""
    pair = f"{reading.place} to {reading.to}" if reading.to else reading.place
    return pair + (f" {reading.setting}" if reading.setting != "volts" else "")


def replaced_in(case: Record) -> str:
    """The part that was replaced, by the newest work on the board or the newest cause that begins with a part."""
    circuit = case.circuit
    known = {name.casefold(): name for name in circuit.parts} if circuit is not None else {}
    for kind in REPLACED:
        for event in reversed(case.standing()):
            first = str(event.body.get("text") or event.body.get("fault") or "").split() if event.kind == kind else []
            if first and first[0].casefold().rstrip(",:;") in known:
                return known[first[0].casefold().rstrip(",:;")]
    return ""
