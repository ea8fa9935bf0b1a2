"""Rows of the casebook file: events as they happened, and what is looked up, written in the same transaction."""

import json
import re
from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from datetime import datetime

from shouldread.casebook.event import Event, checked
from shouldread.casebook.form import PRIVATE
from shouldread.casebook.nouns import Adopted, Incoming, Value
from shouldread.casebook.tables import Connection
from shouldread.casebook.traits import TELLING, traits_of

WORD = re.compile(r"[^\W_][\w+\-#]*")
SHORTEST, LONGEST_WORD = 4, 24  # letters of a word that another may stand in for


def _insert(connection: Connection, case_id: int, event: Event) -> bool:
    checked(event)
    done = connection.execute(
        "INSERT INTO events(case_id, uid, at, kind, body) VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
        (case_id, event.uid, event.at.isoformat(), event.kind, event.body_text()),
    )
    return done.rowcount == 1


def append_events(
    connection: Connection, case_id: int, events: Sequence[Event], values: Mapping[str, Sequence[Value]]
) -> int:
    """Write events (a known uid is a no-op) and what looking up needs of them. Returns how many were new."""
    fresh = [event for event in events if _insert(connection, case_id, event)]
    for event in fresh:
        connection.executemany(
            "INSERT INTO values_read(event_uid, case_id, place, setting, state, low, high, good)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            [(event.uid, case_id, *value[:-1], int(value.good)) for value in values.get(event.uid, ())],
        )
        if event.kind == "cause":
            connection.execute("INSERT INTO causes VALUES (?, ?, ?)", (event.uid, case_id, event.body["fault"]))
    for event in fresh:
        if event.kind == "undone":
            for table in ("values_read", "causes"):
                taken_back = (event.body["uid"], case_id)
                connection.execute(f"DELETE FROM {table} WHERE event_uid = ? AND case_id = ?", taken_back)
    if fresh:
        index(connection, case_id, {event.kind for event in fresh})
    return len(fresh)


def adopt_case(connection: Connection, case: Incoming) -> Adopted:
    """Write what is new of a case from elsewhere, under a name that is free here."""
    opening = case.events[0]
    row = connection.execute("SELECT case_id FROM events WHERE uid = ?", (opening.uid,)).fetchone()
    name = case.name
    if row is None:
        names = (f"{case.name} ({number})" if number > 1 else case.name for number in range(1, 100_000))
        taken = "SELECT 1 FROM cases WHERE name = ?"
        name = next(n for n in names if connection.execute(taken, (n,)).fetchone() is None)
        connection.execute("INSERT INTO cases(name, board, opened) VALUES (?, '', ?)", (name, opening.at.isoformat()))
        row = connection.execute("SELECT id FROM cases WHERE name = ?", (name,)).fetchone()
    else:
        (name,) = connection.execute("SELECT name FROM cases WHERE id = ?", row).fetchone()
    return Adopted(
        case.name, str(name), append_events(connection, int(row[0]), case.events, case.values), len(case.events)
    )


def read_events(connection: Connection, case_id: int) -> tuple[Event, ...]:
    """Everything that happened in a case, oldest first."""
    rows = connection.execute(
        "SELECT seq, uid, at, kind, body FROM events WHERE case_id = ? ORDER BY seq", (case_id,)
    ).fetchall()
    return tuple(Event(k, json.loads(b), datetime.fromisoformat(a), u, s) for s, u, a, k, b in rows)


def index(connection: Connection, case_id: int, kinds: Container[str] = TELLING) -> None:
    """Write anew what is looked up, after events of some kinds: marking, words, and what makes boards alike."""
    (name,) = connection.execute("SELECT name FROM cases WHERE id = ?", (case_id,)).fetchone()
    events = read_events(connection, case_id)
    standing = _standing(events)
    boards = [str(e.body["board"]) for e in standing if e.kind == "opened"]
    boards += [str(e.body["text"]) for e in standing if e.kind == "board"]
    text = "\n".join([str(name), *boards[-1:], *_said(standing)])
    connection.execute("UPDATE cases SET board = ? WHERE id = ?", ((boards or [""])[-1], case_id))
    connection.execute("DELETE FROM words WHERE rowid = ?", (case_id,))
    connection.execute("INSERT INTO words(rowid, text) VALUES (?, ?)", (case_id, text))
    _spell(connection, WORD.findall(text.casefold()))
    if any(kind in kinds for kind in TELLING):
        connection.execute("DELETE FROM traits WHERE case_id = ?", (case_id,))
        _tell(connection, case_id, standing)


def _standing(events: Sequence[Event]) -> list[Event]:
    undone = {str(e.body["uid"]) for e in events if e.kind == "undone"}
    return [e for e in events if e.uid not in undone and e.kind != "undone"]


def _spell(connection: Connection, words: Iterable[str]) -> None:
    spelt = {word for word in words if word.isalpha() and SHORTEST <= len(word) <= LONGEST_WORD}
    connection.executemany(
        "INSERT INTO spellings VALUES (?, ?) ON CONFLICT DO NOTHING", [(word, len(word)) for word in spelt]
    )


def _tell(connection: Connection, case_id: int, standing: Sequence[Event]) -> None:
    rows = [(trait, case_id) for trait in traits_of(standing)]
    connection.executemany("INSERT INTO traits VALUES (?, ?) ON CONFLICT DO NOTHING", rows)


def index_all(connection: Connection, tell: Callable[[int, int], None] = lambda done, of: None) -> None:
    """What form 2 looks up beside the words: spellings and traits of every case. ``tell`` hears how far it is."""
    connection.execute("DELETE FROM spellings")
    connection.execute("DELETE FROM traits")
    _spell(connection, [str(word) for (word,) in connection.execute("SELECT term FROM vocabulary")])
    numbers = [int(number) for (number,) in connection.execute("SELECT id FROM cases ORDER BY id").fetchall()]
    for done, number in enumerate(numbers, 1):
        _tell(connection, number, _standing(read_events(connection, number)))
        tell(done, len(numbers))


def _said(standing: Sequence[Event]) -> list[str]:
    """What is searched for: circuits and photos say nothing that one would type."""
    telling = [event.body for event in standing if event.kind not in ("photo", "circuit")]
    return [str(v) for body in telling for k, v in body.items() if k not in PRIVATE and isinstance(v, str)]
