"""A drill in a notebook: a question, an answer, why, the truth table of the stage, and on to the next."""

import secrets
from collections.abc import Mapping

import traitlets
from IPython.display import DisplayHandle, display
from markupsafe import Markup

from shouldread.errors import RequestError
from shouldread.practice import Drill, Marked, Question, TruthTable
from shouldread.views.messages import Message
from shouldread.views.one_by_one import OneByOne
from shouldread.views.page_widget import PageWidget
from shouldread.views.rich import paragraphs, table
from shouldread.views.saved import SAVED_STYLE
from shouldread.views.static import screen_css, screen_esm
from shouldread.views.words import State

VERBS: Mapping[str, frozenset[str]] = {"answer": frozenset({"card"}), "next": frozenset()}
ALL_KNOWN = "Everything is known for today. What you missed comes again tomorrow, the rest later."


class DrillWidget(PageWidget):
    """The page's half: the question without its answer, and what became of the one before."""

    _esm = screen_esm("drill")
    _css = screen_css("drill")
    head = traitlets.Dict().tag(sync=True)
    drill = traitlets.Dict().tag(sync=True)


class DrillBench:
    """One drill on the page. An answer is shown with its reason until the next question is asked for."""

    def __init__(self, drill: Drill) -> None:
        self.drill = drill
        self._last: tuple[Question, Marked] | None = None  # in view, until one goes on
        self._taken: list[tuple[Question, Marked]] = []
        self._copy: DisplayHandle | None = None
        head = {"key": f"drill/{secrets.token_hex(4)}", "book": "drill", "revision": 0}
        self.widget = DrillWidget(head=head, drill=self._state())
        self.line = OneByOne(self.widget, VERBS, self._done, self._bring_up_to_date, self._save)

    def show(self) -> None:
        """Words and widget as two outputs: the first is what a reader without a kernel sees."""
        handle = display(self._words(), raw=True, display_id=True)  # type: ignore[no-untyped-call]
        assert isinstance(handle, DisplayHandle)
        self._copy = handle
        self.widget.put_on_the_page()

    def _done(self, message: Message) -> str:
        return self._mark(message) if message.verb == "answer" else self._next()

    def _bring_up_to_date(self) -> None:
        self.widget.drill = self._state()

    def _save(self) -> None:
        if self._copy is not None:
            self._copy.update(self._words(), raw=True)  # type: ignore[no-untyped-call]

    def _mark(self, message: Message) -> str:
        asked = self.drill.question
        if asked is None:
            raise RequestError("nothing is asked: everything is known for today")
        if self._last is not None or message.get("card") != asked.key:
            raise RequestError("that question was answered already: go on to the next")
        marked = self.drill.answer(message.text)
        self._last = (asked, marked)
        self._taken.append(self._last)
        return str(marked)

    def _next(self) -> str:
        self._last = None
        return ""

    def _state(self) -> State:
        asked = self._last[0] if self._last is not None else self.drill.question
        right = sum(map(bool, self.drill.answers))
        return {
            "title": "Drill" if asked is None else self.drill.table(asked).circuit.title,
            "score": f"{right} of {len(self.drill.answers)} right",
            "boxes": list(self.drill.boxes),
            "question": question_state(asked) if asked is not None else None,
            "marked": None if self._last is None else marked_state(self._last[1]),
            "table": None if self._last is None else table_state(self.drill.table(self._last[0]), self._last[0].state),
            "done": ALL_KNOWN if asked is None else "",
        }

    def _words(self) -> dict[str, str]:
        """The saved copy: what was asked, answered and right so far."""
        rows = [(q.text, m.said, "right" if m else f"not so: {m.answer}", m.why) for q, m in self._taken]
        right = sum(map(bool, self.drill.answers))
        body = paragraphs(["Drill on enable logic" if not rows else f"Drill: {right} of {len(rows)} right"])
        body += table(("Asked", "Answered", "Marked", "Why"), rows) if rows else Markup("")
        html = Markup("<div data-shouldread-saved><style>{}</style>{}</div>").format(Markup(SAVED_STYLE), body)
        plain = "\n".join(
            [f"Drill: {right} of {len(rows)} right", *(f"{q.text} {m.said}. {m}" for q, m in self._taken)]
        )
        return {"text/html": str(html), "text/plain": plain}


def question_state(question: Question) -> State:
    """The question for the page; neither answer nor reason goes with it."""
    return {
        "key": question.key,
        "text": question.text,
        "wanted": question.wanted,
        "choices": list(question.choices),
    }


def marked_state(marked: Marked) -> State:
    """What became of an answer."""
    return {"right": marked.right, "said": marked.said, "answer": marked.answer, "why": marked.why.split("; ")}


def table_state(told: TruthTable, state: str) -> State:
    """A truth table as plain texts; ``at`` is the row that was asked about."""
    frame = told.frame()
    rows = [list(map(str, row)) for row in frame.itertuples(index=False)]
    at = next((number for number, row in enumerate(told.rows) if row.state == state), -1)
    return {"heads": list(map(str, frame.columns)), "rows": rows, "at": at}


def show_drill(drill: Drill) -> None:
    """Show a drill in a notebook."""
    DrillBench(drill).show()
