"""What a reader without a kernel sees: a picture, a table and a text of the same screens."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from shouldread.drawing import Drawing
from shouldread.views.picture import picture
from shouldread.views.stage import names_of
from shouldread.views.words import State

# A widget row that cannot come up in a saved notebook is not shown below its saved table.
SAVED_STYLE = (
    ".jp-OutputArea:has([data-shouldread-saved]) .jp-OutputArea-child"
    ":has(> .jupyter-widgets):not(:has(.shouldread[data-live])){display:none}"
)
_TABLE = "border-collapse:collapse"
_CELL = "text-align:left;padding:2px 10px 2px 0"
Bundle = tuple[dict[str, object], dict[str, object]]


@dataclass(frozen=True, slots=True)
class Report:
    """Where a case stands: the text form is a function of what was read alone, so that it can be compared."""

    states: Mapping[str, State]

    @property
    def stage(self) -> State:
        """The stage screen, with no points while there is no circuit."""
        return self.states["stage"]

    @property
    def headline(self) -> str:
        """One sentence."""
        if self.stage["points"]:
            return str(self.stage["left"])
        return str(self.states["doorway"]["finding"])

    def __str__(self) -> str:
        return "\n".join(_stage_text(self.stage) if self.stage["points"] else _doorway_text(self.states["doorway"]))

    def __repr__(self) -> str:
        return str(self)

    def _repr_html_(self) -> str:
        stage = self.states["stage"]
        return str(_suspects_block(stage) if stage["points"] else _rails_block(self.states["doorway"]))


def _rows(state: State, name: str) -> list[State]:
    rows = state[name]
    assert isinstance(rows, list)
    return rows


def _stage_text(stage: State) -> Iterable[str]:
    yield str(stage["title"])
    for row in _rows(stage, "taken"):
        yield (
            "  "
            + " ".join(filter(None, [str(row["label"]), str(row["read"])]))
            + (f": {row['verdict']}" if row["verdict"] else "")
        )
    yield str(stage["left"])
    if stage["alike"]:
        yield str(stage["alike"])
    live = [group for group in _rows(stage, "groups") if group["rank"] != "unlikely"]
    for number, group in enumerate(live, 1):
        yield f"{number}. {' | '.join(names_of(group))} ({group['rank']})"
        if group["why"]:
            yield f"   {group['why']}"
    yield from (f"also: {note}" for note in _texts(stage, "notes"))
    probe = stage["next"]
    if isinstance(probe, dict):
        yield f"next: red on {probe['red']}, black on {probe['black']}, {probe['how']}: {probe['why']}"
    elif stage["stop"]:
        yield f"no next probe: {stage['stop']}"


def _doorway_text(doorway: State) -> Iterable[str]:
    rows = _rows(doorway, "rows")
    wide = max([0, *(len(str(row["name"])) for row in rows)])
    for row in rows:
        yield f"{row['name']:<{wide}}  {row['read'] or '-':>8}  {row['said'] or 'not read'}"
    if doorway["finding"]:
        yield str(doorway["finding"])
    for head, name in (("Supply", "says"), ("Cannot be told apart yet", "causes"), ("Assumed", "assumed")):
        yield from (f"{head}: {text}" for text in _texts(doorway, name))
    yield from (f"next: {step['place']}: {step['why']}" for step in _rows(doorway, "next"))


def _texts(state: State, name: str) -> list[str]:
    rows = state[name]
    assert isinstance(rows, list)
    return [str(row) for row in rows]


def _table(heads: Iterable[str], rows: Iterable[Iterable[object]]) -> Markup:
    head = Markup("").join(Markup('<th style="{}">{}</th>').format(_CELL, word) for word in heads)
    body = Markup("").join(
        Markup("<tr>{}</tr>").format(
            Markup("").join(Markup('<td style="{}">{}</td>').format(_CELL, cell) for cell in row)
        )
        for row in rows
    )
    return Markup('<table style="{}"><thead><tr>{}</tr></thead><tbody>{}</tbody></table>').format(_TABLE, head, body)


def saved_html(states: Mapping[str, State]) -> Markup:
    """Rails and points, everything taken, suspects in order, the next probe; every text escaped."""
    doorway, stage = states["doorway"], states["stage"]
    blocks: list[Markup] = [Markup("<p><b>{}</b></p>").format(states["head"]["title"])]
    if any(row["read"] for row in _rows(doorway, "rows")) or not stage["points"]:
        blocks.append(_rails_block(doorway))
    if stage["points"]:
        blocks += [_points_block(stage), _suspects_block(stage)]
    return Markup("").join(blocks)


def _rails_block(doorway: State) -> Markup:
    cells = [(row["name"], row["read"] or "–", row["said"], row["why"]) for row in _rows(doorway, "rows")]
    blocks = [Markup("<p>{}</p>").format(doorway["finding"] or "Nothing read yet.")]
    blocks += [_table(("Rail", "Reads", "Verdict", "Why"), cells)] if cells else []
    lines = [*_texts(doorway, "says"), *_texts(doorway, "causes"), *_texts(doorway, "assumed")]
    lines += [f"Next: {step['place']}: {step['why']}" for step in _rows(doorway, "next")]
    return Markup("").join([*blocks, *(Markup("<p>{}</p>").format(line) for line in lines)])


def _points_block(stage: State) -> Markup:
    points = [(p["place"], p["should"], p["read"] or "–", p["verdict"]) for p in _rows(stage, "points")]
    said = ", ".join(str(stage[name]) for name in ("setting", "state", "condition") if stage[name])
    head = Markup("<p>{} ({})</p>").format(stage["title"], said)
    return head + _table(("Point", "Should read", "Reads", "Verdict"), points)


def _suspects_block(stage: State) -> Markup:
    """Everything taken, what is left, and the next probe."""
    taken = [(row["label"], row["read"], row["verdict"]) for row in _rows(stage, "taken")]
    blocks = [_table(("Taken", "Reads", "Verdict"), taken)] if taken else []
    blocks.append(Markup("<p><b>{}</b> {}</p>").format(stage["left"], stage["alike"]))
    suspects = [group for group in _rows(stage, "groups") if group["rank"] != "unlikely"]
    items = Markup("").join(
        Markup("<li>{} ({}){}</li>").format(
            " or ".join(names_of(group)), group["rank"], f": {group['why']}" if group["why"] else ""
        )
        for group in suspects
    )
    blocks += [Markup("<ol>{}</ol>").format(items)] if suspects else []
    blocks += [Markup("<p>{}</p>").format(note) for note in _texts(stage, "notes")]
    probe = stage["next"]
    if isinstance(probe, dict):
        words = f"Next probe: red on {probe['red']}, black on {probe['black']}, {probe['how']}. {probe['why']}"
        blocks.append(Markup("<p>{}</p>").format(words))
    elif stage["stop"]:
        blocks.append(Markup("<p>No next probe: {}</p>").format(stage["stop"]))
    return Markup("").join(blocks)


def saved_table(states: Mapping[str, State]) -> Bundle:
    """The table output of the saved copy."""
    html = Markup("<div data-shouldread-saved><style>{}</style>{}</div>").format(
        Markup(SAVED_STYLE), saved_html(states)
    )
    return {"text/html": str(html), "text/plain": str(Report(states))}, {}


def saved_picture(states: Mapping[str, State], drawing: Drawing | None) -> Bundle:
    """The picture output of the saved copy, at twice the size so that it stays sharp."""
    png, width = picture(states, drawing)
    sentence = f"Picture: {Report(states).headline or 'nothing read yet'}"
    return {"image/png": png, "text/plain": sentence}, {"image/png": {"width": width}}
