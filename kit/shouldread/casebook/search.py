"""Finding a case by words, tolerant of spelling."""

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher

from shouldread.casebook.rows import LONGEST_WORD, WORD
from shouldread.casebook.store import SqliteStore

NEWEST = 500  # cases that are ranked: beyond that the words are too common to rank by
MOST_WORDS = 16
_LINE = "snippet(words, 0, '', '', '...', 12)"
NEAR = 0.72  # how alike a word of the book must be to stand in for a misspelt one


@dataclass(frozen=True, slots=True)
class Hit:
    """A case that fits the words, with the line that fits best and the words taken for misspelt ones."""

    case: str
    board: str
    line: str
    instead: tuple[tuple[str, str], ...] = ()

    def __str__(self) -> str:
        swapped = "".join(f" [{a} taken as {b}]" for a, b in self.instead)
        return f"{self.case}: {self.line}{swapped}"


def search(store: SqliteStore, text: str, limit: int) -> tuple[Hit, ...]:
    """Best fitting cases first (FTS5's bm25, of the newest NEWEST that hold all the words).

    When no case holds all words: those that hold all but one, the most common one left out first, then any.
    """
    words = [word.casefold()[:LONGEST_WORD] for word in WORD.findall(text[:1000])][:MOST_WORDS]
    if not words:
        return ()
    with store.connection() as connection:
        spelt = [_spelt(connection, word) for word in words]
        instead = tuple((word, near) for word, near in zip(words, spelt, strict=True) if near != word)
        terms = {_term(connection, word): word for word in spelt}
        rows = _with_all(connection, list(terms), limit) or _with_some(connection, terms, limit)
        return tuple(_hit(connection, number, line, instead) for number, line in rows)


def _with_all(connection: sqlite3.Connection, terms: Sequence[str], limit: int) -> list[tuple[int, str]]:
    query = " AND ".join(terms)
    newest = "SELECT rowid FROM words WHERE words MATCH ? ORDER BY rowid DESC LIMIT ?"
    (since,) = connection.execute(f"SELECT min(rowid) FROM ({newest})", (query, NEWEST)).fetchone()
    return connection.execute(
        f"SELECT rowid, {_LINE} FROM words WHERE words MATCH ? AND rowid >= ? ORDER BY rank LIMIT ?",
        (query, since, limit),
    ).fetchall()


def _with_some(connection: sqlite3.Connection, terms: Mapping[str, str], limit: int) -> list[tuple[int, str]]:
    """Newest first. What is left out first tells least: the most common word."""
    counts = {term: _count(connection, word) for term, word in terms.items()}
    common_first = sorted(counts, key=lambda term: -counts[term])
    choices = [[t for t in common_first if t != left_out] for left_out in common_first]
    choices += [[term] for term in common_first[::-1]]
    found: dict[int, str] = {}
    for choice in choices:
        if choice and all(counts[term] for term in choice) and len(found) < limit:
            rows = connection.execute(
                f"SELECT rowid, {_LINE} FROM words WHERE words MATCH ? ORDER BY rowid DESC LIMIT ?",
                (" AND ".join(choice), limit),
            )
            found |= {number: line for number, line in rows if number not in found}
    return list(found.items())[:limit]


def _term(connection: sqlite3.Connection, word: str) -> str:
    """The word as FTS5 takes it: with all words that begin with it, unless it is common as it stands."""
    row = connection.execute("SELECT doc FROM vocabulary WHERE term = ?", (word,)).fetchone()
    return f'"{word}"' if row and row[0] > NEWEST else f'"{word}"*'


def _count(connection: sqlite3.Connection, word: str) -> int:
    """In how many cases a word stands, or one that begins with it (the first few such words)."""
    few = "SELECT doc FROM vocabulary WHERE term >= ? AND term < ? LIMIT 20"
    (count,) = connection.execute(f"SELECT total(doc) FROM ({few})", (word, word + "\uffff")).fetchone()
    return int(count)


def _hit(connection: sqlite3.Connection, number: int, line: str, instead: tuple[tuple[str, str], ...]) -> Hit:
    name, board = connection.execute("SELECT name, board FROM cases WHERE id = ?", (number,)).fetchone()
    return Hit(str(name), str(board), " / ".join(str(line).split("\n")), instead)


def _spelt(connection: sqlite3.Connection, word: str) -> str:
    """The word itself when some case has it (or one that starts with it), else the nearest of the book."""
    known = "SELECT 1 FROM vocabulary WHERE term >= ? AND term < ? LIMIT 1"
    if connection.execute(known, (word, word + "\uffff")).fetchone() or not word.isalpha():
        return word
    candidates = connection.execute(
        "SELECT word FROM spellings WHERE letters BETWEEN ? AND ? AND (word GLOB ? OR word GLOB ? OR word GLOB ?)",
        (len(word) - 2, len(word) + 2, f"{word[:1]}*", f"?{word[1:2]}*", f"*{word[-2:]}"),
    ).fetchall()
    best, score = word, NEAR
    matcher = SequenceMatcher(b=word, autojunk=False)
    for (term,) in candidates:
        matcher.set_seq1(term)
        if matcher.real_quick_ratio() > score and matcher.quick_ratio() > score and (ratio := matcher.ratio()) > score:
            best, score = term, ratio
    return str(best)
