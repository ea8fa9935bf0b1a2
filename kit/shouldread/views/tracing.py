"""The verbs of tracing: each writes the stage as it then stands into the case; the one before stays in the history."""

from collections.abc import Callable, Mapping

from shouldread.circuit import Trace, load_circuit, traced
from shouldread.errors import RequestError
from shouldread.views.kept import Kept
from shouldread.views.messages import Message


class Tracing:
    """The stage being traced in a case. ``verbs`` answer with the sentence for the page."""

    def __init__(self, kept: Kept) -> None:
        self._kept = kept
        self.verbs: Mapping[str, Callable[[Message], str]] = {
            "part": self._part,
            "unpart": self._unpart,
            "untrace": self._untrace,
            "sort": self._sort,
            "stage name": self._name,
            "netlist": self._netlist,
            "retrace": self._retrace,
            "use": self._use,
        }

    def trace(self) -> Trace:
        """The stage as it stands, with what feeds the board."""
        kept, body = self._kept, self._kept.last("traced")
        lines = tuple(line for line in str(body.get("text", "")).splitlines() if line.strip())
        supply = kept.last("supply")
        volts, fed = supply.get("volts"), str(supply.get("fed", "") or "")
        given = float(volts) if isinstance(volts, int | float) else None
        return Trace(lines, str(body.get("name", "")), kept.sheet, given, tuple(fed.replace(",", " ").split()))

    @property
    def last(self) -> str:
        """The event that undo would take back, "" when there is none."""
        return next((e.uid for e in reversed(self._kept.standing()) if e.kind == "traced"), "")

    def _keep(self, trace: Trace, message: Message) -> None:
        self._kept.case.trace(trace.text, name=trace.title, uid=message.id)

    def _part(self, message: Message) -> str:
        """A line more (several, when more were pasted), or another text for a line."""
        trace = self.trace()
        lines = [line for line in message.text.splitlines() if line.strip()]
        if not lines:
            raise RequestError("nothing was typed: R? from 12V_AUX to Q7.2 47k")
        if number := message.get("line"):
            trace = trace.change(_index(number), lines[0])
            self._keep(trace, message)
            return _said(trace, _index(number))
        for line in lines:
            trace = trace.add(line)
        self._keep(trace, message)
        return _said(trace, len(trace.lines) - 1)

    def _unpart(self, message: Message) -> str:
        trace, number = self.trace(), _index(message.text)
        self._keep(trace.without(number), message)
        return f"taken back: {trace.lines[number]}"

    def _untrace(self, message: Message) -> str:
        last = message.text or self.last
        if not last:
            raise RequestError("nothing was traced yet, so there is nothing to take back")
        if all(event.uid != last for event in self._kept.standing()):
            return "taken back already"
        before = self.trace()
        self._kept.case.undo(last)
        gone = [line for line in before.lines if line not in self.trace().lines]
        return f"taken back: {'; '.join(gone[:3])}" if gone else "taken back; what stood before is back"

    def _sort(self, message: Message) -> str:
        trace, number = self.trace(), _index(message.get("line"))
        settled = trace.settled(number, message.text)
        self._keep(settled, message)
        return _said(settled, number)

    def _name(self, message: Message) -> str:
        trace = self.trace()
        self._kept.case.trace(trace.text, name=message.text, uid=message.id)
        return f"stage {message.text}"

    def _netlist(self, message: Message) -> str:
        """The netlist as it was changed by hand becomes the lines."""
        text = message.text.strip()
        if "\n" not in text:
            raise RequestError("a netlist is a title line and a line for each part", value=text[:40])
        trace = traced(load_circuit(text + "\n"))
        self._keep(trace, message)
        return f"netlist taken: {len(trace.lines)} lines"

    def _retrace(self, message: Message) -> str:
        """The stage on the bench as lines, to go on from there."""
        if self._kept.circuit is None:
            raise RequestError("there is no stage on the bench to take over")
        trace = traced(self._kept.circuit)
        self._keep(trace, message)
        return f"{trace.title}: {len(trace.lines)} lines"

    def _use(self, message: Message) -> str:
        """Put the traced stage on the bench."""
        circuit = self.trace().circuit
        if circuit is None:
            raise RequestError("there is no part without a mistake yet")
        self._kept.case.use(circuit, uid=message.id)
        return f"{circuit.title} is on the bench: what should it read?"


def _index(text: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 5:
        raise RequestError("a line is named by its number", value=text[:20])
    return int(text)


def _said(trace: Trace, number: int) -> str:
    """What a line is taken for, or what is wrong with it."""
    row = trace.rows[number]
    return f"{row.text.split()[0]}: {row.said}" if row.said else row.wrong or row.text
