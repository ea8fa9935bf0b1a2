"""The kit's facts of a circuit file: one TOML document, checked against what may stand in it."""

import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from shouldread.circuit.block_facts import can_be_absent, with_tolerance
from shouldread.circuit.lines import facts_text
from shouldread.circuit.nouns import KnownReading, NodeFacts, State
from shouldread.errors import Complaint, KitError, nearest_name
from shouldread.parts import KINDS, Part
from shouldread.quantities import Spread, read_spread, si_number

MOST = 256_000
TOP = (
    "title",
    "about",
    "kind",
    "rest",
    "nodes",
    "parts",
    "states",
    "readings",
    "hints",
    "params",
    "rails",
    "cautions",
    "teaches",
    "tells",
    "mistake",
    "source",
    "neighbours",
    "block",
    "differences",
    "pairs",
)
PART_KEYS = (
    "about",
    "tolerance",
    "value",
    "detail",
    "dcr",
    "ratings",
    "volts",
    "amps",
    "watts",
    "neighbours",
    "cautions",
    "reach",
    "source",
    "kind",
    "hide",
    "saturation",
    "pins",
    "cold",
    "printed",
    "unsure",
)
NODE_KEYS = ("about", "reach", "rest", "cautions")
PARAM_KEYS = ("about", "tolerance", "value", "source")
READING_KEYS = ("at", "to", "setting", "state", "fault", "condition", "value", "source")


def read_toml(text: str, complaints: list[Complaint]) -> dict[str, Any]:
    """All facts as nested tables; a mistake in them is a complaint with its line."""
    document = facts_text(text)
    if len(document) > MOST:
        complaints.append(Complaint(1, f"the facts are longer than {MOST} characters"))
        return {}
    try:
        return tomllib.loads(document)
    except tomllib.TOMLDecodeError as error:
        line = getattr(error, "lineno", 0) or _line_in(str(error))
        complaints.append(Complaint(line, f"the facts are not TOML there: {str(error).split(' (at')[0]}"))
    except RecursionError:
        complaints.append(Complaint(1, "the facts are nested too deep"))
    return {}


def _line_in(message: str) -> int:
    digits = message.rpartition("line ")[2].split(",")[0].split(")")[0]
    return int(digits) if digits.isdigit() else 1


class FactReader:
    """Turns tables into nouns; complaints name the line where the key stands."""

    def __init__(self, text: str, complaints: list[Complaint]) -> None:
        self.table = read_toml(text, complaints)
        self._rows = facts_text(text).split("\n")
        self._complaints = complaints
        self._known(self.table, TOP, "fact")

    def line_of(self, *keys: str) -> int:
        """The first line on which the last key stands (after the first one, if it stands anywhere)."""
        start = 0
        for key in keys:
            start = next((i for i in range(start, len(self._rows)) if key in self._rows[i]), start)
        return start + 1

    def complain(self, text: str, *keys: str) -> None:
        """Note a mistake at the line of a key."""
        self._complaints.append(Complaint(self.line_of(*keys), text))

    def _known(self, table: Mapping[str, Any], known: Sequence[str], what: str, *path: str) -> None:
        for key in table:
            if key not in known:
                near = nearest_name(key, known)
                self.complain(
                    f"there is no {what} {key!r}" + (f"; nearest: {near}" if near else f"; known: {', '.join(known)}"),
                    *path,
                    key,
                )

    def words(self, key: str) -> str:
        """A text of the top table."""
        value = self.table.get(key, "")
        if not isinstance(value, str):
            self.complain(f"{key} is a text in quotes", key)
            return ""
        return value

    def rest(self, default: str) -> str:
        """``unknown`` or ``none``."""
        value = self.table.get("rest", default)
        if value not in ("unknown", "none"):
            self.complain(f'rest is "unknown" or "none", not {value!r}', "rest")
            return default
        return str(value)

    def tables(self, key: str) -> dict[str, dict[str, Any]]:
        """A table of tables (``[nodes]``, ``[parts]``, ``[states]``)."""
        value = self.table.get(key, {})
        if not isinstance(value, dict):
            self.complain(f"[{key}] is a table", key)
            return {}
        good = {}
        for name, row in value.items():
            if isinstance(row, dict):
                good[name] = row
            else:
                self.complain(f"{name} in [{key}] is written {name} = {{ ... }}", key, name)
        return good

    def part(self, part: Part, row: Mapping[str, Any]) -> Part:
        """A part with its facts: tolerance or range of its value, dcr as a spread, the rest as it stands."""
        self._known(row, PART_KEYS, "fact of a part", "[parts]", part.name)
        kind = KINDS[part.kind]
        facts: dict[str, object] = dict(part.facts) | {
            k: v for k, v in row.items() if k not in ("tolerance", "value", "dcr")
        }
        value, block = part.value, part.block
        detail = str(row.get("detail", ""))
        if detail and detail not in kind.details:
            near = nearest_name(detail, kind.details)
            self.complain(
                f"{part.name}: a {kind.name} is no {detail!r}"
                + (f"; nearest: {near}" if near else f"; known: {', '.join(filter(None, kind.details))}"),
                "[parts]",
                part.name,
            )
            facts.pop("detail")
        try:
            if "value" in row:
                value = read_spread(str(row["value"]), kind.unit, kind.unreadable)
            if "tolerance" in row and value is not None:
                value = read_spread(f"{value.nominal!r} ± {row['tolerance']}", "")
            elif "tolerance" in row and (told := with_tolerance(part, str(row["tolerance"]))) is not None:
                block = told
            elif "tolerance" in row:
                self.complain(
                    f"{part.name} has no value of its own to be off by {row['tolerance']}", "[parts]", part.name
                )
            if "dcr" in row:
                facts["dcr"] = read_spread(str(row["dcr"]), "Ω")
        except KitError as error:
            self.complain(f"{part.name}: {error.message}", "[parts]", part.name)
        return Part(part.name, part.kind, part.nodes, value, part.model, block, part.settings, facts, part.line)

    def params(self, values: Mapping[str, float]) -> dict[str, Spread]:
        """What is unsure about ``.param`` names, by folded name: parts that hang on one vary together."""
        found = {}
        for name, row in self.tables("params").items():
            self._known(row, PARAM_KEYS, "fact of a parameter", "[params]", name)
            value = values.get(name.casefold())
            if value is None:
                near = nearest_name(name, values)
                self.complain(
                    f"there is no .param {name!r}" + (f"; nearest: {near}" if near else ""), "[params]", name
                )
                continue
            try:
                if "tolerance" in row:
                    found[name.casefold()] = read_spread(f"{value!r} ± {row['tolerance']}")
                elif "value" in row:
                    found[name.casefold()] = read_spread(str(row["value"])).around(value)
            except KitError as error:
                self.complain(f"{name}: {error.message}", "[params]", name)
        return found

    def node(self, name: str, row: Mapping[str, Any]) -> NodeFacts:
        """Facts of a node."""
        self._known(row, NODE_KEYS, "fact of a node", "[nodes]", name)
        cautions = row.get("cautions", ())
        return NodeFacts(
            str(row.get("about", "")),
            str(row.get("reach", "")),
            str(row.get("rest", "")),
            (cautions,) if isinstance(cautions, str) else tuple(map(str, cautions)),
        )

    def state(self, name: str, row: Mapping[str, Any], find: Mapping[str, Part]) -> State:
        """A state: what it sets of which part."""
        sets: dict[str, float | bool | str] = {}
        for key, value in row.items():
            if key == "from":
                if value != "off":
                    self.complain(f'{name}: from = "off" is the only start that can be asked for', "[states]", name)
                continue
            part = find.get(key.casefold())
            if part is None:
                near = nearest_name(key, [p.name for p in find.values()])
                self.complain(
                    f"{name}: there is no part {key!r}" + (f"; nearest: {near}" if near else ""), "[states]", name
                )
                continue
            setting = _state_value(part, value)
            if setting is None:
                self.complain(f"{name}: {key} = {value!r} cannot be set; " + _settable(part), "[states]", name)
            else:
                sets[part.name] = setting
        return State(name, sets, "off" if row.get("from") == "off" else "")

    def readings(self) -> tuple[KnownReading, ...]:
        """All ``[[readings]]``."""
        rows = self.table.get("readings", [])
        if not isinstance(rows, list):
            self.complain("readings are written [[readings]], one after the other", "readings")
            return ()
        lines = [i + 1 for i, row in enumerate(self._rows) if row.strip().startswith("[[readings]]")]
        found = []
        for row, line in zip(rows, lines, strict=False):
            self._known(row, READING_KEYS, "detail of a reading", "[[readings]]")
            missing = [k for k in ("at", "value", "source") if k not in row]
            if missing:
                self._complaints.append(Complaint(line, f"a reading needs {' and '.join(missing)}"))
                continue
            try:
                unit = {"volts": "V", "ohms": "Ω", "diode": "V", "amps": "A"}[str(row.get("setting", "volts"))]
                text = str(row["value"])
                value = Spread.exact(float("inf")) if text.strip() == "OL" else read_spread(text, unit)
            except (KitError, KeyError) as error:
                self._complaints.append(Complaint(line, f"reading at {row['at']}: {error}"))
                continue
            keys = {k: str(row[k]) for k in ("to", "setting", "state", "fault", "condition") if k in row}
            found.append(KnownReading(str(row["at"]), value, str(row["source"]), line=line, **keys))
        return tuple(found)


def _state_value(part: Part, value: object) -> float | bool | str | None:
    if value == "absent":
        return "absent" if can_be_absent(part) else None
    if part.kind == "S":
        return {"on": True, "off": False}.get(str(value).lower()) if not isinstance(value, bool) else value
    if part.kind not in "VIR":
        return None
    if isinstance(value, bool):
        return None
    try:
        return float(value) if isinstance(value, int | float) else si_number(str(value))[0]
    except KitError:
        return None


def _settable(part: Part) -> str:
    if part.kind == "S":
        return 'a switch is "on" or "off"'
    if part.kind in "VIR":
        return "write a number" + (' or "absent"' if can_be_absent(part) else "")
    return 'write "absent"' if can_be_absent(part) else "a state sets V, I and R values and switches"
