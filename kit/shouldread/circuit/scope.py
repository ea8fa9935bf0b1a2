"""What a netlist line may refer to while a file is read, and where its complaints go."""

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from shouldread.circuit.arithmetic import evaluate
from shouldread.errors import Complaint, QuantityError
from shouldread.parts import Block, Model
from shouldread.quantities import spice_number

NAME = re.compile(r"[^\W_][\w+\-#.$/:~\[\]!%&|<>]*|[+\-/~!][\w+\-#.]*|_[\w]+")
LONGEST_NAME = 40


@dataclass(slots=True)
class Scope:
    """What an element line may refer to, and where its complaints go."""

    params: dict[str, float] = field(default_factory=dict)
    models: dict[str, Model] = field(default_factory=dict)
    nodes: dict[str, str] = field(default_factory=dict)  # folded -> first spelling
    complaints: list[Complaint] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    block: Callable[[str, Mapping[str, float], int], Block | None] = lambda name, params, line: None
    block_names: Callable[[], tuple[str, ...]] = lambda: ()
    rows_allowed: bool = False  # the averaged converter's B row, in models/ only

    def complain(self, line: int, text: str) -> None:
        """Note a mistake."""
        self.complaints.append(Complaint(line, text))

    def node(self, text: str, line: int) -> str:
        """The node in its first spelling; ``gnd`` is ground."""
        folded = unicodedata.normalize("NFKC", text).casefold()
        if folded in ("0", "gnd"):
            return "0"
        if not named(text):
            self.complain(line, f"{text!r} is not a node name: letters, digits, _ + - # . and at most {LONGEST_NAME}")
        return self.nodes.setdefault(folded, unicodedata.normalize("NFKC", text))

    def number(self, word: str, line: int) -> float | None:
        """A number or ``{expression}``; None and a complaint when it is neither."""
        try:
            if word[:1] in "{'\"":
                return evaluate(word[1:-1], self.params)
            return spice_number(word)
        except QuantityError as error:
            self.complain(line, error.message)
            return None


def named(text: str) -> bool:
    """Whether a text may be a name here."""
    plain = unicodedata.normalize("NFKC", text)
    return (
        len(plain) <= LONGEST_NAME and plain.isprintable() and re.fullmatch(r"[\w+\-#./:~!\[\]$]+", plain) is not None
    )
