"""Taking cases in from an archive, and what became of each."""

from dataclasses import dataclass
from pathlib import Path

from shouldread.casebook.colleague import cases_of, is_casebook
from shouldread.casebook.doubt import Unpacked
from shouldread.casebook.keeper import Store
from shouldread.casebook.nouns import Adopted
from shouldread.casebook.unpack import unpack

AT_ONCE = 200  # cases in one transaction: others can write in between


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What an archive brought: ``new`` cases, cases that have ``grown`` by events, and cases ``known`` already.

    ``renamed``: cases whose name another case bears here, by the name they had and the one they have now.
    """

    new: tuple[str, ...]
    grown: tuple[str, ...]
    known: tuple[str, ...]
    renamed: tuple[tuple[str, str], ...]

    def __str__(self) -> str:
        rows = [f"{len(self.new)} new, {len(self.grown)} grown, {len(self.known)} known already"]
        rows += [f"  {theirs} is {ours} here: that name was taken" for theirs, ours in self.renamed]
        return "\n".join(rows)


def take_in(store: Store, path: Path) -> TakenIn:
    """Check the whole archive or casebook, then write it. What is known already is left as it is; twice is once.

    Raises CaseError with the entry and the reason; then nothing was taken in.
    """
    cases = cases_of if is_casebook(path) else unpack
    for _ in cases(path):
        pass
    done: list[Adopted] = []
    batch: list[Unpacked] = []
    for unpacked in cases(path):
        batch.append(unpacked)
        if len(batch) >= AT_ONCE:
            done += _adopt(store, batch)
    done += _adopt(store, batch)
    new = [a for a in done if a.fresh == a.events]
    return TakenIn(
        tuple(a.ours for a in new),
        tuple(a.ours for a in done if 0 < a.fresh < a.events),
        tuple(a.ours for a in done if a.fresh == 0),
        tuple((a.theirs, a.ours) for a in new if a.theirs != a.ours),
    )


def _adopt(store: Store, batch: list[Unpacked]) -> tuple[Adopted, ...]:
    photos = {sha256: png for unpacked in batch for sha256, png in unpacked.photos.items()}
    adopted = store.adopt([unpacked.case for unpacked in batch], photos) if batch else ()
    batch.clear()
    return adopted
