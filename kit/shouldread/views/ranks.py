"""Suspects in words: likely, possible, unlikely, and how many are left. Never percent to the digit."""

from shouldread.diagnosis import Diagnosis, rank
from shouldread.views.words import State, counted, listed

MOST = 12  # groups of a rank that are listed; the rest is counted


def group_rows(diagnosis: Diagnosis) -> list[State]:
    """The groups, first those with most belief: rank, faults that cannot be told apart, why, what would split."""
    why = {suspect.fault: suspect.why for suspect in diagnosis.suspects}
    rows: list[State] = []
    for group in diagnosis.groups:
        faults = [str(fault) for fault in group.faults]
        rows.append(
            {
                "key": faults[0],
                "rank": rank(group.share),
                "faults": faults,
                "why": why.get(faults[0], "") if diagnosis.items else "",
                "split": group.split_by,
            }
        )
    return [row for word in ("likely", "possible", "unlikely") for row in _of(rows, word)]


def _of(rows: list[State], word: str) -> list[State]:
    return [row for row in rows if row["rank"] == word][:MOST]


def left(diagnosis: Diagnosis) -> str:
    """``2 groups left, 5 faults; 61 unlikely.``"""
    live, rest = _counts(diagnosis)
    if not diagnosis.items:
        return f"Nothing read yet; {rest + live} faults are considered."
    if not live:
        return f"No single fault stands out among {rest}."
    groups = sum(rank(group.share) != "unlikely" for group in diagnosis.groups)
    return f"{counted(groups, 'group')} left, {counted(live, 'fault')}; {rest} unlikely."


def alike(diagnosis: Diagnosis) -> str:
    """Faults that the readings so far do not tell apart, "" as long as there is but one."""
    if len(diagnosis.alike) < 2 or not diagnosis.items:
        return ""
    return f"Not told apart by these readings: {listed(diagnosis.alike, most=8)}."


def unlikely(diagnosis: Diagnosis) -> str:
    """How many faults are unlikely by now."""
    return counted(_counts(diagnosis)[1], "fault")


def _counts(diagnosis: Diagnosis) -> tuple[int, int]:
    """Faults that are not unlikely, and those that are."""
    live = sum(len(group.faults) for group in diagnosis.groups if rank(group.share) != "unlikely")
    return live, sum(len(group.faults) for group in diagnosis.groups) - live


def notes(diagnosis: Diagnosis) -> list[str]:
    """What else may be so: nothing wrong here, none of these, a reading that spoils the picture."""
    said: list[str] = []
    if rank(diagnosis.healthy) != "unlikely":
        said.append(f"nothing wrong in this stage: {rank(diagnosis.healthy)}")
    if rank(diagnosis.none_of_these) != "unlikely":
        said.append(f"none of these faults: {rank(diagnosis.none_of_these)}")
    said += [f"{reading.at} {reading.text} does not fit the others: read it again" for reading in diagnosis.doubtful]
    said += [f"two faults together would fit: {pair}" for pair in diagnosis.two_faults]
    return said + _values(diagnosis)[:MOST]


def _values(diagnosis: Diagnosis) -> list[str]:
    """Estimates of parts that nobody can read, and of parts accused of drift."""
    accused = {
        fault.partition(" ")[0]
        for group in diagnosis.groups
        if rank(group.share) != "unlikely"
        for fault in group.faults
        if "drifted" in fault
    }
    netlist = diagnosis.circuit.netlist
    wide = {name for name, part in netlist.items() if part.value is not None and part.value.wide}
    told = accused | wide if diagnosis.items else wide  # before anything is read an accusation is the trade's alone
    return [f"value of {value}" for name, value in diagnosis.values.items() if name in told]
