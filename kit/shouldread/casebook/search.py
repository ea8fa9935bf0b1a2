"""Finding a case by words, tolerant of spelling."""

import sqlite3
from dataclasses import dataclass
from difflib import SequenceMatcher

from shouldread.casebook.rows import WORD
from shouldread.casebook.store import SqliteStore

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
    """Best fitting cases first (FTS5's bm25). All words must occur; when no case has all, any may."""
    words = [word.casefold() for word in WORD.findall(text)][:16]
    if not words:
        return ()
    with store.connection() as connection:
        instead = []
        for i, word in enumerate(words):
            near = _spelt(connection, word)
            if near != word:
                instead.append((word, near))
                words[i] = near
        for joint in (" AND ", " OR "):
            query = joint.join(f'"{word}"*' for word in words)
            rows = connection.execute(
                "SELECT rowid, snippet(words, 0, '', '', '...', 12) FROM words WHERE words MATCH ?"
                " ORDER BY rank LIMIT ?",
                (query, limit),
            ).fetchall()
            if rows:
                break
        names = {
            int(row[0]): (str(row[1]), str(row[2]))
            for row in connection.execute(
                f"SELECT id, name, board FROM cases WHERE id IN ({','.join('?' * len(rows))})",
                [r[0] for r in rows],
            )
        }
    return tuple(
        Hit(names[row_id][0], names[row_id][1], " / ".join(str(line).split("\n")), tuple(instead))
        for row_id, line in rows
        if row_id in names
    )


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
