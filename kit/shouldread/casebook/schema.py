"""The casebook file: its tables, its version, and how an older one is brought up to date."""

import sqlite3
from collections.abc import Callable

APPLICATION_ID = 0x53684C64  # "ShLd": tells our files from any other SQLite file

# Readings whose interval is no wider than this are sought by their low end alone, from both sides; the few others
# (dead, beeps, OL) by themselves. An index over an interval serves one side only.
SLACK, SHARE = 0.5, 0.2
NARROW = f"high - low <= {SLACK} + {SHARE} * abs(low)"

# One text per version, run in order inside one transaction each. Never edit a released one: add the next.
MIGRATIONS: tuple[str, ...] = (
    """
    CREATE TABLE cases (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL UNIQUE COLLATE NOCASE,
        board TEXT NOT NULL DEFAULT '' COLLATE NOCASE,
        opened TEXT NOT NULL
    );
    CREATE TABLE events (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        case_id INTEGER NOT NULL REFERENCES cases(id),
        uid TEXT NOT NULL UNIQUE,
        at TEXT NOT NULL,
        kind TEXT NOT NULL,
        body TEXT NOT NULL
    );
    CREATE INDEX events_of_case ON events(case_id, seq);
    CREATE INDEX cases_of_board ON cases(board);
    CREATE TABLE photos (
        sha256 TEXT PRIMARY KEY,
        png BLOB NOT NULL
    );
    CREATE TABLE values_read (
        event_uid TEXT NOT NULL,
        case_id INTEGER NOT NULL REFERENCES cases(id),
        place TEXT NOT NULL COLLATE NOCASE,
        setting TEXT NOT NULL,
        state TEXT NOT NULL,
        low REAL, high REAL,
        good INTEGER NOT NULL DEFAULT 0
    );
    CREATE INDEX values_of_place ON values_read(place, setting);
    CREATE INDEX values_of_case ON values_read(case_id);
    CREATE TABLE causes (
        event_uid TEXT NOT NULL,
        case_id INTEGER NOT NULL REFERENCES cases(id),
        fault TEXT NOT NULL COLLATE NOCASE
    );
    CREATE INDEX causes_of_fault ON causes(fault);
    CREATE VIRTUAL TABLE words USING fts5(text, tokenize = "unicode61 tokenchars '_+-#'");
    CREATE VIRTUAL TABLE vocabulary USING fts5vocab('words', 'row');
    """,
    # 2: cases are found by shape of the stage and first wrong rail; words that a misspelt one may stand for
    """
    CREATE TABLE traits (
        trait TEXT NOT NULL,
        case_id INTEGER NOT NULL REFERENCES cases(id),
        PRIMARY KEY (trait, case_id)
    ) WITHOUT ROWID;
    CREATE INDEX traits_of_case ON traits(case_id);
    CREATE TABLE spellings (
        word TEXT PRIMARY KEY,
        letters INTEGER NOT NULL
    ) WITHOUT ROWID;
    DROP INDEX values_of_place;
    CREATE INDEX values_alike ON values_read(place, setting, good, low, high, case_id);
    """,
    # 3: what learners answered
    """
    CREATE TABLE lessons (
        seq INTEGER PRIMARY KEY AUTOINCREMENT,
        uid TEXT NOT NULL UNIQUE,
        learner TEXT NOT NULL COLLATE NOCASE,
        at TEXT NOT NULL,
        kind TEXT NOT NULL,
        body TEXT NOT NULL
    );
    CREATE INDEX lessons_of_learner ON lessons(learner, kind, seq);
    """,
    # 4: readings alike are sought from both sides; what the cause was is found by its case
    f"""
    DROP INDEX values_alike;
    CREATE INDEX values_narrow ON values_read(place, setting, low, high, case_id) WHERE good = 0 AND {NARROW};
    CREATE INDEX values_wide ON values_read(place, setting, low, high, case_id) WHERE good = 0 AND NOT ({NARROW});
    CREATE INDEX causes_of_case ON causes(case_id);
    """,
)
VERSION = len(MIGRATIONS)
INDEXED_ANEW = (2,)  # the forms that look up something new of the events
TABLES = frozenset(
    {"cases", "events", "photos", "values_read", "causes", "words", "vocabulary", "traits", "spellings", "lessons"}
)


def version_of(connection: sqlite3.Connection) -> tuple[int, int]:
    """(application id, schema version) as the file states them."""
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    return int(application), int(version)


def migrate(connection: sqlite3.Connection, index_all: Callable[[sqlite3.Connection], None]) -> None:
    """Bring the file to VERSION in one transaction (another process may do the same at the same time).

    ``index_all`` fills anew what is looked up, where a step asks for it: in a large book that takes a minute.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        done = version_of(connection)[1]
        for script in MIGRATIONS[done:]:
            for statement in _statements(script):
                connection.execute(statement)
        if any(done < step for step in INDEXED_ANEW):
            index_all(connection)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {max(done, VERSION)}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _statements(script: str) -> list[str]:
    """The script's statements (executescript would commit the transaction it runs in)."""
    return [part for part in (piece.strip() for piece in script.split(";")) if part]


def foreign_objects(connection: sqlite3.Connection) -> list[str]:
    """What differs from the form that the file claims to be of (a trigger, a view, a rule in a table): refuse it."""
    own = sqlite3.connect(":memory:", isolation_level=None)
    try:
        for script in MIGRATIONS[: version_of(connection)[1]]:
            for statement in _statements(script):
                own.execute(statement)
        return sorted(f"{kind} {name}" for kind, name, _ in _objects(connection) ^ _objects(own))
    finally:
        own.close()


def _objects(connection: sqlite3.Connection) -> set[tuple[str, str, str]]:
    """Type, name and text of everything in a file; what SQLite makes by itself for the words, by name only."""
    rows = connection.execute("SELECT type, name, coalesce(sql, '') FROM sqlite_master").fetchall()
    by_itself = ("words_", "sqlite_")
    return {(str(t), str(n), "" if str(n).startswith(by_itself) else " ".join(str(s).split())) for t, n, s in rows}
