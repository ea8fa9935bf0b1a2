"""One line of tracing: a part as a technician reads it off the board, with its ends, its value and what is unsure."""

import re
from dataclasses import replace

from shouldread.circuit.names import is_name, name_rule
from shouldread.circuit.sorts import (
    PAIR,
    package_legs,
    plain_word,
    sort_named,
    usual_sort,
    words,
)
from shouldread.circuit.traced_part import End, TracedPart, value_of
from shouldread.errors import QuantityError, RequestError, UnknownNameError
from shouldread.quantities import read_number

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]*\??")
EXAMPLE = "R? from 12V_AUX to Q7.2 47k"
MOST_ON_A_LINE = 400
RATINGS = {"V": "volts", "A": "amps", "W": "watts"}


def read_part(text: str) -> TracedPart:
    """The part of one line. Raises KitError that says what to type instead.

    >>> part = read_part("R7 from B1 to GND? ?")
    >>> part.sort.name, part.ends["2"].unsure, part.value
    ('resistor', True, '?')
    """
    if len(text) > MOST_ON_A_LINE:
        raise RequestError(f"a line is at most {MOST_ON_A_LINE} characters; one part a line", value=text[:40])
    spaced = re.sub(r",(?!\d)", " ", re.sub(r"\s*=\s*", "=", text.replace("|", " | ")))
    tokens = spaced.split()
    if not tokens:
        raise RequestError(f"nothing was typed: {EXAMPLE}", value=text)
    name, rest = tokens[0].rstrip(":"), tokens[1:]
    if not _NAME.fullmatch(name):
        raise RequestError(f"a line begins with the name of a part, not {name[:40]!r}: {EXAMPLE}", value=name[:40])
    part = _sorted(name, rest)
    return _Line(part, rest).read()


def _told(rest: list[str], few_legs: bool) -> list[list[str]]:
    """The sort words of a line, one list for each candidate between ``|``; names of places are none."""
    groups: list[list[str]] = [[]]
    after = ""
    for token in rest:
        folded = token.casefold()
        leg = not few_legs and ((len(after) == 1 and after.isalpha()) or after[:1].isdigit())
        place = leg or after in ("from", "to", "at", "and", "between")
        if token == "|":
            groups.append([])
        elif not place and folded in words():
            groups[-1] += [plain_word(token)] if plain_word(token) else []
        after = "" if place else folded
    return groups


def _sorted(name: str, rest: list[str]) -> TracedPart:
    """What sort it is, and what it could be as well."""
    usual = usual_sort(name)
    few_legs = usual is not None and usual.letter in "RCLV"
    groups = [frozenset(group) for group in _told(rest, few_legs) if group]
    if not groups:
        if usual is None:
            raise RequestError(
                f"{name}: what is it? Write for instance {name} npn, {name} npn prebiased pair, {name} p-fet, "
                f"{name} regulator; unsure between two: {name} npn | npn prebiased",
                value=name,
            )
        return TracedPart(name, usual)
    first = groups[0]
    if first == frozenset({PAIR}):
        raise RequestError(f"{name}: a pair of what? {name} npn pair, {name} p-fet pair", value=PAIR)
    sort = sort_named(first)
    others = [sort_named(group, first) for group in groups[1:]]
    wrong = next((s for s in others if s.pins != sort.pins), None)
    if wrong is not None:
        raise RequestError(f"{name}: {sort.name} or {wrong.name} have different pins: settle that first", value=name)
    pairs = [PAIR in group for group in groups]
    if any(pairs) and sort.letter not in "QM":
        raise RequestError(f"{name}: only transistors come in pairs here; give each {sort.name} a line", value=PAIR)
    also = tuple(f"{s.name} {PAIR}" if any(pairs) else s.name for s in others)
    return TracedPart(name, sort, pair=any(pairs), also=also)


class _Line:
    """Walks along the words of a line behind the name."""

    def __init__(self, part: TracedPart, rest: list[str]) -> None:
        self.part = part
        self.rest = rest
        self.at = 0
        self.ends: dict[str, End] = {}
        self.left: list[str] = []
        self.settings: dict[str, str] = {}
        self.lettered = part.sort.letter in "QMDX"

    def read(self) -> TracedPart:
        while self.at < len(self.rest):
            token = self.rest[self.at]
            self.at += 1
            folded = token.casefold()
            if folded in ("from", "at", "between"):
                self._two_ends(folded)
            elif folded == "to":
                raise RequestError(f"{self.part.name}: 'to' needs a 'from' before it: {EXAMPLE}", value=token)
            elif self.lettered and (legs := package_legs(token, self.part.sort.letter)) and not self.part.pair:
                self.part = replace(self.part, legs=legs)
            elif "=" in token:
                self._setting(token)
            elif self.lettered and self.part.leg(folded) is not None and self.at < len(self.rest):
                self._leg(token, self._place())
            elif token != "|" and folded not in words():
                self.left.append(token)
        self._bare_ends()
        return self._valued()

    def _place(self) -> End:
        """The next word as a place. Raises RequestError when there is none or it cannot be a name."""
        if self.at >= len(self.rest):
            raise RequestError(f"{self.part.name}: a place is missing at the end of the line: {EXAMPLE}")
        token = self.rest[self.at]
        self.at += 1
        plain = token[:-1] if len(token) > 1 and token.endswith("?") else token
        if not is_name(plain):
            raise RequestError(f"{self.part.name}: {name_rule('a place', plain)}", value=plain[:40])
        return End(plain, unsure=plain != token)

    def _leg(self, text: str, end: End) -> None:
        leg = self.part.leg(text)
        if leg is None:
            raise UnknownNameError("pin", text, self.part.leg_names, self.part.name)
        if leg in self.ends and self.ends[leg].place.casefold() != end.place.casefold():
            raise RequestError(
                f"{self.part.name}: pin {text} cannot sit on {self.ends[leg].place} and on {end.place}; "
                f"if those are one point, say so on a line: {end.place} is {self.ends[leg].place}",
                value=text,
            )
        self.ends[leg] = end

    def _two_ends(self, word: str) -> None:
        name, pins = self.part.name, self.part.leg_names
        if len(pins) != 2:
            legs = " ".join(f"{pin} NODE" for pin in pins[:3])
            raise RequestError(f"{name} has {len(pins)} legs: say where each goes, such as {name} {legs}", value=name)
        self._leg(pins[0], self._place())
        if word == "at":
            self._leg(pins[1], End("0"))
            return
        if self.at >= len(self.rest) or self.rest[self.at].casefold() not in ("to", "and"):
            raise RequestError(
                f"{name}: from where to where? {name} from {self.ends[pins[0]].place} to GND", value=name
            )
        self.at += 1
        self._leg(pins[1], self._place())

    def _bare_ends(self) -> None:
        """``R1 A B 47k``: two places without from and to."""
        pins = self.part.leg_names
        if self.ends or len(pins) != 2 or len(self.left) < 2 or not all(map(is_name, self.left[:2])):
            return
        self.rest, self.at = self.left[:2], 0
        self.left = self.left[2:]
        for pin in pins:
            self._leg(pin, self._place())

    def _setting(self, token: str) -> None:
        """``vref=0.8`` of an IC, ``c=EN`` of a transistor."""
        key, _, value = token.partition("=")
        if self.part.leg(key) is not None and value:
            self.rest.insert(self.at, value)
            self._leg(key, self._place())
        elif self.part.sort.block and value:
            self.settings[key.casefold()] = value
        else:
            raise RequestError(f"{self.part.name}: {token} is not read here; write a pin and its place", value=token)

    def _ratings(self) -> None:
        """``10u 16V 2A``: what stands in another unit than the part's own is a rating."""
        for word in list(self.left):
            try:
                number = read_number(word)
            except QuantityError:
                continue
            if number.unit in RATINGS:
                self.left.remove(word)
                self.settings[RATINGS[number.unit]] = f"{number.value:g}"

    def _valued(self) -> TracedPart:
        if self.part.sort.letter in "RCL":
            self._ratings()
        part, sort = replace(self.part, ends=self.ends, settings=self.settings), self.part.sort
        left = " ".join(self.left)
        if not self.ends and len(part.leg_names) == 2:
            raise RequestError(
                f"{part.name}: where does it sit? {part.name} from A to B {left or '47k'}", value=part.name
            )
        if len({end.place.casefold() for end in self.ends.values()}) < len(self.ends) == 2 == len(part.leg_names):
            raise RequestError(f"{part.name}: both ends sit on {self.ends[part.leg_names[0]].place}", value=part.name)
        if sort.inside:
            inside = tuple(re.split(r"[\s/]+", left)) if left else (sort.inside, sort.inside)
            inside = inside * 2 if len(inside) == 1 else inside
            if len(inside) != 2:
                raise RequestError(
                    f"{part.name}: two resistors sit inside: {part.name} {part.called} 10k 10k", value=left
                )
            for text in inside:
                _check(part, text)
            return replace(part, inside=inside)
        if sort.has_value:
            return replace(part, value=_check(part, left or sort.value))
        if self.left:
            raise RequestError(
                f"{part.name}: {self.left[0]!r} is not understood; a {sort.name} has no value, only legs: "
                + ", ".join(part.leg_names[:6]),
                value=self.left[0],
            )
        return part


def _check(part: TracedPart, text: str) -> str:
    """The value if it can be read; what else could be meant by what is left over is said."""
    example = {"R": "47k", "C": "10u", "L": "10u", "V": "12 ± 5 %", "D": "5V6"}.get(part.sort.letter, "10k")
    if not text:
        raise RequestError(f"{part.name}: how many volts? {part.name} ... {example}", value=part.name)
    try:
        spread = value_of(part, text)
    except QuantityError as error:
        raise QuantityError(
            f"{part.name}: {error.message}; write its value last, such as {example}", value=text
        ) from error
    if spread.low <= 0 and part.sort.letter in "RCLDQM":
        raise QuantityError(f"{part.name}: a value is more than 0; a link is 1m, what cannot be read is ?", value=text)
    return text
