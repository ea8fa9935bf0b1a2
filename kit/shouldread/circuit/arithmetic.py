"""The arithmetic of ``{...}``: numbers, names, + - * / ^, brackets and a few functions. Never ``eval``."""

import math
import re
from collections.abc import Callable, Mapping

from shouldread.errors import QuantityError
from shouldread.quantities import spice_number

_TOKEN = re.compile(
    r"\s*(?:(\d+\.?\d*(?:[eE][+-]?\d+)?[a-zA-Zµ]*|\.\d+(?:[eE][+-]?\d+)?[a-zA-Zµ]*)|([A-Za-z_]\w*)|(\*\*|[-+*/^(),]))"
)
_FUNCTIONS: Mapping[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "exp": math.exp,
    "ln": math.log,
    "log": math.log10,
    "log10": math.log10,
    "abs": abs,
    "min": min,
    "max": max,
    "pow": math.pow,
}
LONGEST, DEEPEST = 400, 30


def evaluate(text: str, names: Mapping[str, float]) -> float:
    """The value of an expression; ``names`` are parameters by lower-case name. Raises QuantityError."""
    if len(text) > LONGEST:
        raise QuantityError(f"the expression is longer than {LONGEST} characters", value=text[:40])
    tokens, at = [], 0
    while at < len(text.rstrip()):
        hit = _TOKEN.match(text, at)
        if hit is None:
            raise QuantityError(f"{text[at : at + 10]!r} is not arithmetic", value=text)
        tokens.append(hit[1] or hit[2] or hit[3])
        at = hit.end()
    try:
        reader = _Reader(tokens, names)
        value = reader.sum(0)
        reader.done()
        return float(value)
    except (ValueError, OverflowError, ZeroDivisionError, TypeError) as error:
        if isinstance(error, QuantityError):
            raise
        raise QuantityError(f"{{{text.strip()}}} cannot be worked out: {error}", value=text) from error


class _Reader:
    """Recursive descent over tokens."""

    def __init__(self, tokens: list[str], names: Mapping[str, float]) -> None:
        self._tokens, self._names, self._at = tokens, names, 0

    def _peek(self) -> str:
        return self._tokens[self._at] if self._at < len(self._tokens) else ""

    def _take(self) -> str:
        token = self._peek()
        self._at += 1
        return token

    def done(self) -> None:
        if self._peek():
            raise QuantityError(f"{self._peek()!r} is not expected there", value=self._peek())

    def sum(self, depth: int) -> float:
        if depth > DEEPEST:
            raise QuantityError("brackets nested too deep")
        value = self._product(depth)
        while self._peek() in ("+", "-"):
            value = value + self._product(depth) if self._take() == "+" else value - self._product(depth)
        return value

    def _product(self, depth: int) -> float:
        value = self._signed(depth)
        while self._peek() in ("*", "/"):
            value = value * self._signed(depth) if self._take() == "*" else value / self._signed(depth)
        return value

    def _signed(self, depth: int) -> float:
        if self._peek() in ("+", "-"):
            if depth > DEEPEST:
                raise QuantityError("brackets nested too deep")
            return self._signed(depth + 1) if self._take() == "+" else -self._signed(depth + 1)
        value = self._atom(depth)
        if self._peek() in ("^", "**"):
            self._take()
            return math.pow(value, self._signed(depth + 1))
        return value

    def _atom(self, depth: int) -> float:
        token = self._take()
        if token == "(":
            value = self.sum(depth + 1)
            if self._take() != ")":
                raise QuantityError("a bracket is not closed")
            return value
        if token[:1].isdigit() or token[:1] == ".":
            return spice_number(token)
        if self._peek() == "(" and token.lower() in _FUNCTIONS:
            self._take()
            values = [self.sum(depth + 1)]
            while self._peek() == ",":
                self._take()
                values.append(self.sum(depth + 1))
            if self._take() != ")":
                raise QuantityError("a bracket is not closed")
            return _FUNCTIONS[token.lower()](*values)
        if token.lower() in self._names:
            return self._names[token.lower()]
        raise QuantityError(
            f"there is no parameter {token!r}" if token else "the expression ends too early",
            value=token,
            known=tuple(self._names),
        )
