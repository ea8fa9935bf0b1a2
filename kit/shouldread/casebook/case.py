"""Case: one board on the bench, with everything read, seen, done and concluded. Kept as it happens."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from shouldread.casebook.event import Event, fresh_uid
from shouldread.casebook.keeper import Store
from shouldread.casebook.photos import Mark, prepared
from shouldread.casebook.said import Item, circuit_in, placed, values_of, words_of
from shouldread.casebook.write_up import write_up
from shouldread.circuit import Circuit, load_circuit
from shouldread.errors import RequestError
from shouldread.meter import Observation, Reading, read_readings


class Case:
    """A case of a casebook. Every verb writes to the disk before it returns; nothing is ever overwritten.

    Undo adds an event that takes an earlier one back; ``events`` keeps both, ``readings`` shows what stands.
    """

    def __init__(self, store: Store, case_id: int, name: str, board: str) -> None:
        self._store = store
        self.id = case_id
        self.name = name
        self.board = board

    # -- what happens on the bench ------------------------------------------------------------------
    def read(
        self,
        text: str,
        *,
        good: bool = False,
        rails: bool = False,
        uid: str | None = None,
        circuit: Circuit | None = None,
    ) -> tuple[Reading, ...]:
        """Take readings as typed (``"5V 0.09; EN 0.02"``). Returns them once they are on the disk.

        ``good``: they are of a board known to work. ``rails``: they are of rails, by whatever names, not of the
        circuit in use. ``uid`` repeats of one message are taken once.
        Raises ReadingError naming every line that cannot be read; then nothing of the text is stored.
        """
        used = circuit if circuit is not None else self.circuit
        items = read_readings(text, circuit=None if rails else used)
        body: dict[str, object] = {"text": text, "good": good}
        event = Event("reading", body | ({"rails": True} if rails else {}), uid=uid or fresh_uid())
        self._store.append(self.id, [event], {event.uid: values_of(event, items)})
        return tuple(item for item in items if isinstance(item, Reading))

    def observe(self, text: str, *, uid: str | None = None) -> None:
        """What eye, nose and finger found: ``"C17 cracked"``, ``"nothing warm"``."""
        self._add("observation", {"text": _said(text)}, uid)

    def did(self, text: str, *, part: str = "", lot: str = "", uid: str | None = None) -> None:
        """Work done on the board: ``"L1 replaced"``, with the part fitted and its lot."""
        self._add("done", {"text": _said(text), "part": part, "lot": lot}, uid)

    def supply(self, *, uid: str | None = None, **facts: object) -> None:
        """How the board is fed: volts, limit, amps, limiting, fed, pattern (SI units)."""
        if "volts" not in facts:
            raise RequestError("how many volts? supply(volts=12, limit=0.5, amps=0.02, limiting=False)")
        self._add("supply", {key: value for key, value in facts.items() if value is not None}, uid)

    def sheet(self, text: str, *, uid: str | None = None) -> None:
        """The rail sheet as typed, the newest one stands."""
        self._add("sheet", {"text": text}, uid)

    def note(self, text: str, *, uid: str | None = None) -> None:
        """Anything worth keeping."""
        self._add("note", {"text": _said(text)}, uid)

    def mark(self, board: str, *, uid: str | None = None) -> None:
        """The marking that is printed on the board, once somebody has read it."""
        self._add("board", {"text": _said(board)}, uid)
        self.board = board

    def trace(self, text: str, *, name: str = "", uid: str | None = None) -> None:
        """A stage as traced so far, one part a line; the newest one stands."""
        self._add("traced", {"text": text, "name": name}, uid)

    def symptom(self, text: str, *, uid: str | None = None) -> None:
        """What the owner says is wrong, in the owner's words."""
        self._add("symptom", {"text": _said(text)}, uid)

    def use(self, circuit: Circuit | str, *, uid: str | None = None) -> Circuit:
        """The circuit that is on the bench from now on (its netlist is kept in the case)."""
        loaded = load_circuit(circuit) if isinstance(circuit, str) else circuit
        self._add("circuit", {"text": loaded.text, "name": loaded.name}, uid)
        return loaded

    def attach(
        self, photo: str | Path, *, marks: Iterable[Mark | tuple[float, float, str]] = (), about: str = ""
    ) -> str:
        """Keep a photo (re-encoded, without its metadata) with marked points. Returns its fingerprint."""
        picture = prepared(Path(photo))
        points = [list(Mark(*mark)) if isinstance(mark, tuple) else list(mark) for mark in marks]
        self._store.keep_photo(picture.sha256, picture.png)
        body = {
            "sha256": picture.sha256,
            "marks": points,
            "about": about,
            "width": picture.width,
            "height": picture.height,
        }
        self._add("photo", body, None)
        return picture.sha256

    def cause(
        self, fault: str, *, class_: str = "", confidence: str = "", why: str = "", uid: str | None = None
    ) -> None:
        """What it was, of which class (wear, surge, liquid, rework ...), how sure, and why it failed."""
        body = {"fault": _said(fault), "class": class_, "confidence": confidence, "why": why}
        self._add("cause", body, uid)

    def confirmed(self, text: str, *, fault: str = "", uid: str | None = None) -> None:
        """How the cause was confirmed before anything was replaced: ``"L1 bridged: FEED 12.1, EN 2.3"``."""
        self._add("confirmed", {"text": _said(text), "fault": fault}, uid)

    def test(self, text: str, *, uid: str | None = None) -> None:
        """Results of the hand-over sheet as typed: ``"power-up not limiting; FEED 12.0 at 5.5 A"``."""
        self._add("test", {"text": _said(text)}, uid)

    def proved(
        self,
        text: str,
        *,
        amps: float | None = None,
        minutes: float | None = None,
        rails: str = "",
        uid: str | None = None,
    ) -> None:
        """How the repair was proved: at which current, for how long, with which rails."""
        body: dict[str, object] = {"text": _said(text), "rails": rails}
        body |= {k: v for k, v in (("amps", amps), ("minutes", minutes)) if v is not None}
        self._add("proved", body, uid)

    def close(self, text: str = "handed over") -> None:
        """The case is done; a next fault on the same board goes on in it after ``reopen``."""
        self._add("closed", {"text": text}, None)

    def reopen(self, text: str) -> None:
        """The board is back."""
        self._add("reopened", {"text": _said(text)}, None)

    def undo(self, uid: str | None = None) -> Event:
        """Take back one event (the last that stands, when none is named). Returns the event taken back."""
        standing = [e for e in self.standing() if e.kind not in ("opened", "undone")]
        hits = [e for e in standing if uid is None or e.uid == uid]
        if not hits:
            raise RequestError(
                "there is nothing to take back" if uid is None else f"no standing event {uid}", value=uid
            )
        self._add("undone", {"uid": hits[-1].uid}, None)
        return hits[-1]

    # -- what stands ---------------------------------------------------------------------------------
    @property
    def events(self) -> tuple[Event, ...]:
        """Everything that happened, oldest first, undone ones included."""
        return self._store.events(self.id)

    def standing(self) -> tuple[Event, ...]:
        """The events that nobody took back."""
        events = self.events
        undone = {str(e.body["uid"]) for e in events if e.kind == "undone"}
        return tuple(e for e in events if e.uid not in undone and e.kind != "undone")

    @property
    def circuit(self) -> Circuit | None:
        """The circuit in use, or None as long as no stage was traced."""
        stages = [e for e in self.standing() if e.kind == "circuit"]
        return circuit_in(stages[-1]) if stages else None

    @property
    def text(self) -> str:
        """Standing readings and observations of the circuit in use as one text that ``diagnose`` takes.

        Those of rails, of good boards and of another stage of the same board are left out.
        """
        circuit = self.circuit
        texts = [
            str(event.body["text"])
            for event, items, of in placed(self.standing())
            if items and not event.body.get("good") and not event.body.get("rails") and _same(of, circuit)
        ]
        return "\n".join(texts)

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings that stand, in the order they were taken."""
        return tuple(item for item in self._items() if isinstance(item, Reading))

    @property
    def observations(self) -> tuple[Observation, ...]:
        """What was seen, in order."""
        return tuple(item for item in self._items() if isinstance(item, Observation))

    def _items(self) -> tuple[Item, ...]:
        return tuple(item for _, items, _ in placed(self.standing()) for item in items)

    def last(self, kind: str) -> Mapping[str, object] | None:
        """The body of the newest standing event of a kind, or None."""
        bodies = [e.body for e in self.standing() if e.kind == kind]
        return bodies[-1] if bodies else None

    def photo(self, sha256: str) -> bytes:
        """A kept photo as PNG bytes."""
        return self._store.photo(sha256)

    def write_up(self, folder: str | Path, *, private: bool = False) -> tuple[Path, Path, Path]:
        """Write the page for colleagues (HTML, Markdown, plain text) into a folder; customer and serial stay out."""
        return write_up(self, folder, private=private)

    def __str__(self) -> str:
        rows = [f"{self.name}" + (f", board {self.board}" if self.board else "")]
        rows += [f"  {e.at:%Y-%m-%d %H:%M} {e.kind}: {words_of(e)}" for e in self.standing()]
        return "\n".join(row if len(row) < 160 else row[:157] + "..." for row in rows)

    def __repr__(self) -> str:
        return f"Case({self.name!r})"

    def _add(self, kind: str, body: Mapping[str, object], uid: str | None) -> None:
        self._store.append(self.id, [Event(kind, body, uid=uid or fresh_uid())])


def _same(one: Circuit | None, other: Circuit | None) -> bool:
    return one is other or (one is not None and other is not None and one.text == other.text)


def _said(text: str) -> str:
    if not text.strip():
        raise RequestError("nothing was said: write what was seen or done", value=text)
    return text
