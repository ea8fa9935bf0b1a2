"""Finding a case by words, tolerant of spelling."""

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher

from shouldread.casebook.keeper import Store
from shouldread.casebook.rows import LONGEST_WORD, WORD
from shouldread.casebook.tables import Connection

MOST_WORDS = 16
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


def search(store: Store, text: str, limit: int) -> tuple[Hit, ...]:
    """Best fitting cases first. When no case holds all words: those that hold all but one, then any."""
    words = [word.casefold()[:LONGEST_WORD] for word in WORD.findall(text[:1000])][:MOST_WORDS]
    if not words:
        return ()
    with store.connection() as connection:
        known = {word: store.weighed(connection, word) for word in dict.fromkeys(words)}
        spelt = [_spelt(connection, word, known[word][0]) for word in words]
        instead = tuple((word, near) for word, near in zip(words, spelt, strict=True) if near != word)
        known |= {near: store.weighed(connection, near) for _, near in instead}
        asked = {word: known[word] for word in spelt}
        rows = store.lines(connection, [term for _, term in asked.values()], limit, ranked=True)
        rows = rows or _with_some(store, connection, asked, limit)
        return tuple(_hit(connection, number, line, instead) for number, line in rows)


def _with_some(
    store: Store, connection: Connection, words: Mapping[str, tuple[int, str]], limit: int
) -> list[tuple[int, str]]:
    """Newest first. What is left out first tells least: the most common word."""
    common_first = sorted(words, key=lambda word: -words[word][0])
    choices = [[w for w in common_first if w != left_out] for left_out in common_first]
    choices += [[word] for word in common_first[::-1]]
    found: dict[int, str] = {}
    for choice in choices:
        if choice and all(words[word][0] for word in choice) and len(found) < limit:
            rows = store.lines(connection, [words[word][1] for word in choice], limit, ranked=False)
            found |= {number: line for number, line in rows if number not in found}
    return list(found.items())[:limit]


def _hit(connection: Connection, number: int, line: str, instead: tuple[tuple[str, str], ...]) -> Hit:
    name, board = connection.execute("SELECT name, board FROM cases WHERE id = ?", (number,)).fetchone()
    return Hit(str(name), str(board), " / ".join(str(line).split("\n")), instead)


def _spelt(connection: Connection, word: str, count: int) -> str:
    """The word itself when some case has it (or one that starts with it), else the nearest of the book."""
    if not word.isalpha() or count:
        return word
    candidates = connection.execute(
        "SELECT word FROM spellings WHERE letters BETWEEN ? AND ? AND (word LIKE ? OR word LIKE ? OR word LIKE ?)",
        (len(word) - 2, len(word) + 2, f"{word[:1]}%", f"_{word[1:2]}%", f"%{word[-2:]}"),
    ).fetchall()
    best, score = word, NEAR
    matcher = SequenceMatcher(b=word, autojunk=False)
    for (term,) in candidates:
        matcher.set_seq1(term)
        if matcher.real_quick_ratio() > score and matcher.quick_ratio() > score and (ratio := matcher.ratio()) > score:
            best, score = term, ratio
    return str(best)
