"""The line between a page and the kernel that every screen of the kit uses."""

import anywidget
from IPython.display import display


class PageWidget(anywidget.AnyWidget):
    """A widget whose messages are taken on the thread that the page asks for, also while a cell runs."""

    def open(self) -> None:
        """Open the line to the page."""
        super().open()
        # From ipykernel 7.4 on, messages go to the thread that spoke last, which a running cell may block.
        self.comm._reply_subshell_for = _as_asked

    def put_on_the_page(self) -> None:
        """Show it, with no text beside it: what a reader without a kernel sees are outputs of their own."""
        bundle = self._repr_mimebundle_()
        data = dict(bundle[0] if isinstance(bundle, tuple) else bundle or {})
        display(data | {"text/plain": ""}, raw=True)  # type: ignore[no-untyped-call]


def _as_asked(_data: object, subshell: str | None) -> str | None:
    return subshell
