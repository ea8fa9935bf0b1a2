"""Practice in a notebook: the bench with the answer hidden. Predict, probe, do, look, name; the log beside it."""

import secrets
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import traitlets
from IPython.display import DisplayHandle, display
from markupsafe import Markup

from shouldread.errors import KitError, RequestError
from shouldread.practice import Exercise
from shouldread.views.drawer import Drawer
from shouldread.views.drawn_state import drawing_state
from shouldread.views.messages import Message
from shouldread.views.one_by_one import OneByOne
from shouldread.views.page_widget import PageWidget
from shouldread.views.picture import drawn
from shouldread.views.practice_state import Bands, first_view, task_state, turned
from shouldread.views.rich import paragraphs, table
from shouldread.views.saved import SAVED_STYLE
from shouldread.views.static import screen_css, screen_esm

if TYPE_CHECKING:
    from shouldread.views.words import State

VERBS: Mapping[str, frozenset[str]] = {
    "look": frozenset({"setting", "state"}),
    "predict": frozenset({"at", "setting", "state"}),
    "measure": frozenset({"at", "setting", "state"}),
    "do": frozenset(),
    "take back": frozenset(),
    "seen": frozenset(),
    "name": frozenset(),
    "give up": frozenset(),
}


class PracticeWidget(PageWidget):
    """The page's half: plain data of the screen, in which the hidden fault stands nowhere."""

    _esm = screen_esm("practice")
    _css = screen_css("practice")
    head = traitlets.Dict().tag(sync=True)
    task = traitlets.Dict().tag(sync=True)
    drawing = traitlets.Dict().tag(sync=True)


class PracticeBench:
    """One exercise on the page. Acts are carried out one after the other, each message once."""

    def __init__(self, task: Exercise) -> None:
        self.task = task
        self._view, self._bands = first_view(task), Bands(task)
        self._back: list[str] = []
        self._copies: list[DisplayHandle] = []
        self._drawer = Drawer(self._draw)
        self._verbs: Mapping[str, Callable[[Message], str]] = {
            "look": self._look,
            "predict": self._predict,
            "measure": self._measure,
            "do": lambda message: self.task.do(message.text),
            "take back": lambda message: self.task.undo(message.text),
            "seen": lambda message: self.task.observe(),
            "name": self._name,
            "give up": lambda message: self.task.give_up(),
        }
        key = f"practice/{secrets.token_hex(4)}"
        self.widget = PracticeWidget(
            head={"key": key, "book": "practice", "revision": 0},
            task=self._state(),
            drawing=drawing_state(self._drawer.drawing(task.circuit), self._drawer.trouble),
        )
        self.line = OneByOne(self.widget, VERBS, lambda m: self._verbs[m.verb](m), self._bring_up_to_date, self._save)

    def show(self) -> None:
        """Picture, words and widget as three outputs: the first two are what a reader without a kernel sees."""
        self._copies = [self._shown(*self._picture()), self._shown(self._words(), {})]
        self.widget.put_on_the_page()

    @staticmethod
    def _shown(data: Mapping[str, object], metadata: Mapping[str, object]) -> DisplayHandle:
        handle = display(data, metadata=metadata, raw=True, display_id=True)  # type: ignore[no-untyped-call]
        assert isinstance(handle, DisplayHandle)
        return handle

    def _bring_up_to_date(self) -> None:
        self.widget.task = self._state()

    def _save(self) -> None:
        self._refresh_copies()
        if self.task.done and not self._back:
            self._look_back()

    def _look(self, message: Message) -> str:
        self._view = turned(self.task, self._view, message.get("setting"), message.get("state"))
        return f"{self._view.setting}, {self._view.state}"

    def _predict(self, message: Message) -> str:
        key = self._key(message)
        if not message.text:
            raise RequestError(f"predict what {key[0]} reads on a healthy board, such as 0.65", value=message.text)
        place, setting, state = key
        said = self.task.predict(place, f"{setting} {message.text} @{state}")
        self._view = self._view.with_predicted(key, message.text, said.startswith("right"))
        return f"{place}: {said}"

    def _measure(self, message: Message) -> str:
        place, setting, state = key = self._key(message)
        if self.task.real:
            (reading,) = self.task.read(f"{place} {setting} {message.text} @{state}") or (None,)
            shown = reading.text if reading is not None else message.text
        else:
            shown = self.task.measure(place, setting, state)
        self._view = self._view.with_read(key, shown)
        return f"{place} {setting} @{state}: {shown}"

    def _name(self, message: Message) -> str:
        if not message.text:
            raise RequestError("name a part and how it failed, such as R2 open", value=message.text)
        result = self.task.name(message.text)
        return str(result) if result else result.why

    def _key(self, message: Message) -> tuple[str, str, str]:
        setting = message.get("setting") or self._view.setting
        return message.get("at"), setting, message.get("state") or self._view.state

    def _state(self) -> "State":
        return task_state(self.task, self._view, self._bands, self._back)

    def _refresh(self) -> None:
        self.widget.task = self._state()
        self._refresh_copies()

    def _refresh_copies(self) -> None:
        if self._copies:
            picture, words = self._copies
            data, metadata = self._picture()
            picture.update(data, metadata=metadata, raw=True)  # type: ignore[no-untyped-call]
            words.update(self._words(), raw=True)  # type: ignore[no-untyped-call]

    def _look_back(self) -> None:
        """Looking back takes seconds (other roads over the same board are walked): it comes when it is there."""
        try:
            self._back = [line.removeprefix("- ").strip() for line in self.task.looking_back.splitlines()]
        except KitError as trouble:
            self._back = [f"could not be worked out: {trouble}"]
        self._refresh()

    def _draw(self) -> None:
        self.widget.drawing = drawing_state(self._drawer.drawing(self.task.circuit), self._drawer.trouble)

    def _picture(self) -> tuple[dict[str, object], dict[str, object]]:
        """The saved copy's picture: the drawing with what was read, at twice the size so that it stays sharp."""
        said = f"Picture: {self.task.circuit.title}"
        drawing = self._drawer.drawing(self.task.circuit)
        if drawing is None:
            return {"text/plain": said}, {}
        png, width = drawn(drawing, {**self.widget.task, "next": None})
        return {"image/png": png, "text/plain": said}, {"image/png": {"width": width}}

    def _words(self) -> dict[str, str]:
        """The saved copy: brief, log, and the looking back once it is there."""
        rows = [(act.said, act.answer, str(act.toll) if act.toll.minutes else "") for act in self.task.log]
        blocks = [paragraphs([self.task.brief]), table(("Done", "Came of it", "Toll"), rows) if rows else Markup("")]
        blocks += [paragraphs([f"So far {self.task.toll}", *self._back])]
        body = Markup("").join(blocks)
        html = Markup("<div data-shouldread-saved><style>{}</style>{}</div>").format(Markup(SAVED_STYLE), body)
        return {"text/html": str(html), "text/plain": "\n".join([str(self.task), *self._back])}


def show_exercise(task: Exercise) -> None:
    """Show an exercise in a notebook."""
    PracticeBench(task).show()
