"""The bench: one widget where a board is worked on, with a saved copy that reads without a kernel."""

import threading
import traceback

import traitlets

from shouldread.casebook import Case, Casebook
from shouldread.circuit import Circuit, load_circuit
from shouldread.diagnosis import StoppedError, stoppable
from shouldread.drawing import Drawing
from shouldread.errors import KitError
from shouldread.views.copies import SavedCopies
from shouldread.views.desk import QUESTIONS, Answer, Desk
from shouldread.views.drawer import Drawer
from shouldread.views.drawn_state import drawing_state
from shouldread.views.messages import Message, message_id, read_message
from shouldread.views.page_widget import PageWidget
from shouldread.views.plots import Plot, node_strip, road_plot
from shouldread.views.saved import Report
from shouldread.views.static import css, esm
from shouldread.views.words import State
from shouldread.views.worker import Worker

HALTS = ("stop", "go on")  # verbs that wait for nothing and are written down nowhere
PATIENCE = 8.0  # s that a cell waits for the first thought before it shows what it has


class BenchWidget(PageWidget):
    """The page's half: every screen as plain data, written by the kernel alone and never read back."""

    _esm = esm()
    _css = css()
    head = traitlets.Dict().tag(sync=True)
    doorway = traitlets.Dict().tag(sync=True)
    stage = traitlets.Dict().tag(sync=True)
    trace = traitlets.Dict().tag(sync=True)
    drawing = traitlets.Dict().tag(sync=True)
    busy = traitlets.Dict().tag(sync=True)


class Bench:
    """One case on the bench: what the page shows, and the same by words for a cell.

    Every reading is in the casebook before the page shows it as taken.
    """

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._widget: BenchWidget | None = None
        self._copies: SavedCopies | None = None
        self._drawing: Drawing | None = None
        self._drawer = Drawer(self._again)
        self._trace_drawer = Drawer(self._trace_again, follows=True)
        self._tracer = Worker(self._show_trace)
        self._sending = threading.Lock()
        self._states = {**desk.screens.first_states(), "drawing": drawing_state(None)}
        self._stop = threading.Event()
        self._busy: State = {"words": "", "stopped": False}
        self._worker = Worker(self._think, desk.screens.think_ahead)
        self._worker.ask()

    @property
    def case(self) -> Case:
        """The case that everything typed here goes to."""
        return self._desk.kept.case

    @property
    def circuit(self) -> Circuit | None:
        """The circuit on the bench."""
        return self._desk.kept.circuit

    @property
    def widget(self) -> BenchWidget:
        """The widget itself, made when it is first shown."""
        if self._widget is None:
            self._widget = BenchWidget(**self._states, busy=self._busy)
            self._widget.on_msg(self._hear)
        return self._widget

    def read(self, text: str) -> Report:
        """Take readings and observations as on the page (``"EN 0.02; C17 hot"``) and say where things stand.

        Raises ReadingError naming what cannot be read; nothing of the text is stored then.
        """
        self._desk.kept.case.read(text, circuit=self.circuit)
        self._worker.ask()
        return self.report()

    def report(self) -> Report:
        """Where things stand, as text and as a table: rails, points, suspects, the next probe."""
        self._worker.wait()
        return Report(self._states)

    def road(self) -> Plot:
        """How belief moved, reading by reading. Raises RequestError before anything was read on a stage."""
        with self._worker.hushed():
            return road_plot([(str(item), standing) for item, standing in self._desk.screens.road()])

    def plot(self, place: str) -> Plot:
        """What a point should read, healthy and under every fault that shows there, with what it did read."""
        expectation, reading = self._desk.screens.point(place)
        return node_strip(expectation, place, reading.value if reading is not None else None)

    def __repr__(self) -> str:
        return str(self.report())

    def _ipython_display_(self) -> None:
        """Picture, table and widget as three outputs: the first two are what a reader without a kernel sees."""
        self._worker.wait(PATIENCE)
        self._copies = SavedCopies(self._states, self._drawing)
        self.widget.put_on_the_page()

    def _hear(self, _widget: object, content: object, _buffers: object) -> None:
        """Answer one message: written down, answered, then thought about."""
        uid = message_id(content)
        if not uid:
            return
        try:
            message = read_message(content)
        except KitError as trouble:
            self.widget.send(Answer(False, str(trouble)).as_message(uid, self._desk.screens.revision))
            return
        if message.verb in HALTS:
            self._halt(message.verb)
            self.widget.send(Answer(True).as_message(uid, self._desk.screens.revision))
            return
        self._stop.clear()
        if message.verb in QUESTIONS:
            threading.Thread(target=self._answer, args=(message,), daemon=True).start()
            return
        if verdicts := self._desk.judged(message):  # seen before it is written down, told as taken only after
            self.widget.send({"judged": uid, "verdicts": verdicts})
        if self._answer(message).ok:
            if message.verb in self._desk.tracing.verbs:
                self._tracer.ask()
            if message.verb not in self._desk.tracing.verbs or message.verb == "use":
                self._worker.ask()

    def _halt(self, verb: str) -> None:
        """Stop what is being worked out, or go on with it."""
        if verb == "stop":
            self._stop.set()
        else:
            self._stop.clear()
            self._worker.ask()

    def _answer(self, message: Message) -> Answer:
        answer = self._answered(message)
        self.widget.send(answer.as_message(message.id, self._desk.screens.revision))
        return answer

    def _answered(self, message: Message) -> Answer:
        """The desk's answer. What the kit itself stumbles over is told too: the page must not wait for nothing."""
        try:
            with self._worker.hushed(), stoppable(self._stop):
                return self._desk.do(message)
        except Exception as trouble:  # the text goes back into its field, so nothing typed is lost
            traceback.print_exc()
            return Answer(False, f"not taken, the kit stumbled: {type(trouble).__name__}: {trouble}")

    def _again(self) -> None:
        """Show everything anew: a better drawing came."""
        self._worker.ask()

    def _trace_again(self) -> None:
        self._tracer.ask()

    def _show_trace(self) -> None:
        """Show the traced stage at once; no other screen is waited for."""
        state = self._desk.screens.trace(self._trace_drawer.drawing)
        with self._sending:
            self._states["trace"] = state
            if self._widget is not None:
                self._widget.trace = state

    def _think(self) -> None:
        """Compute every screen, send what changed, and bring the saved copies up to date."""
        drawing = self._drawer.drawing(self._desk.kept.circuit)
        try:
            with stoppable(self._stop):
                for states in self._desk.screens.in_turn(self._show_busy):
                    self._send({**states, "drawing": drawing_state(drawing, self._drawer.trouble)}, drawing)
        except StoppedError:
            self._show_busy("", stopped=True)
            return
        except Exception as trouble:
            self._show_busy("")
            self._tell(f"could not work this out: {trouble}", trouble=True)
            raise
        self._show_busy("")
        if self._copies is not None:
            self._copies.refresh(self._states, drawing)
        self._tell(Report(self._states).headline)

    def _send(self, states: dict[str, State], drawing: Drawing | None) -> None:
        """Send the screens that changed."""
        with self._sending:
            states["trace"] = self._desk.screens.trace(self._trace_drawer.drawing)
            changed = {name: state for name, state in states.items() if self._states.get(name) != state}
            self._states, self._drawing = states, drawing
            if self._widget is not None:
                with self._widget.hold_sync():
                    for name, state in changed.items():
                        setattr(self._widget, name, state)

    def _show_busy(self, words: str, stopped: bool = False) -> None:
        """Say on the page what is being worked out, or that it was stopped."""
        self._busy = {"words": words, "stopped": stopped}
        if self._widget is not None:
            self._widget.busy = self._busy

    def _tell(self, text: str, trouble: bool = False) -> None:
        """Say something on the page's status line."""
        if self._widget is not None and text:
            self._widget.send({"say": text, "trouble": trouble})


def bench(
    circuit: Circuit | str | None = None,
    *,
    case: Case | str | None = None,
    casebook: Casebook | None = None,
    meter: str = "handheld",
) -> Bench:
    """Put a board on the bench: alone it opens a new case, with ``case`` it goes on where that one was.

    ``circuit``: a Circuit, or whatever ``load_circuit`` takes. ``case``: a Case or its name.

    >>> import shouldread as sr, tempfile, pathlib
    >>> book = sr.Casebook(pathlib.Path(tempfile.mkdtemp()) / "cases.sqlite")
    >>> print(sr.bench("two_feed_enable", casebook=book).read("EN 0.02; FEED 0.58; AUX_S 12"))  # doctest: +ELLIPSIS
    Converter enable that needs both feeds
    ...
    1. L1 open (likely)
    ...
    """
    book = casebook if casebook is not None else Casebook()
    loaded = load_circuit(circuit) if isinstance(circuit, str) else circuit
    opened = book.open(case) if isinstance(case, str) else case
    return Bench(Desk(book, opened, loaded, meter))
