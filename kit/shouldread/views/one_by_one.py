"""A page's messages one by one: each carried out once, answered, and answered again when it comes again."""

import traceback
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor

from shouldread.errors import KitError
from shouldread.views.desk import Answer
from shouldread.views.messages import Message, message_id, read_message
from shouldread.views.page_widget import PageWidget

KEPT = 200  # answers remembered, so that a message sent twice is done once


class OneByOne:
    """Hears a widget's messages. ``do`` carries one out and says what came of it; ``show`` brings the screen up to
    date before it is answered, ``after`` what may wait until then.
    """

    def __init__(
        self,
        widget: PageWidget,
        verbs: Mapping[str, frozenset[str]],
        do: Callable[[Message], str],
        show: Callable[[], None],
        after: Callable[[], None],
    ) -> None:
        self._widget, self._verbs, self._do, self._show, self._after = widget, verbs, do, show, after
        self._answers: dict[str, Answer] = {}
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="page")
        widget.on_msg(self.hear)

    def hear(self, _widget: object, content: object, _buffers: object) -> None:
        """Take one message, or send it back with the reason; without a name of its own it is passed over."""
        uid = message_id(content)
        if not uid:
            return
        try:
            message = read_message(content, self._verbs)
        except KitError as trouble:
            self._widget.send(Answer(False, str(trouble)).as_message(uid, 0))
            return
        self._pool.submit(self._carry_out, message)

    def wait(self, seconds: float) -> None:
        """Until all that was heard is carried out. Raises TimeoutError."""
        self._pool.submit(lambda: None).result(seconds)

    def _carry_out(self, message: Message) -> None:
        new = message.id not in self._answers
        if new:
            self._answers[message.id] = self._answered(message)
            if len(self._answers) > KEPT:
                self._answers.pop(next(iter(self._answers)))
            self._show()
        self._widget.send(self._answers[message.id].as_message(message.id, 0))
        if new:
            self._after()

    def _answered(self, message: Message) -> Answer:
        """What came of it. What the kit itself stumbles over is told too: the page must not wait for nothing."""
        try:
            return Answer(True, self._do(message))
        except KitError as trouble:
            return Answer(False, str(trouble))
        except Exception as trouble:  # the text goes back into its field, so nothing typed is lost
            traceback.print_exc()
            return Answer(False, f"not taken, the kit stumbled: {type(trouble).__name__}: {trouble}")
