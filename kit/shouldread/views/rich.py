"""How the kit's answers look in a notebook: a table, a picture where there is one, and every name escaped."""

import base64
import math
from collections.abc import Callable, Iterable, Mapping

from markupsafe import Markup

from shouldread.circuit import Circuit, Shelf
from shouldread.diagnosis import Diagnosis, Expectation, FaultTable, RailWalk
from shouldread.drawing import Drawing, lay_out
from shouldread.explain import Explanation
from shouldread.quantities import say
from shouldread.repair import Confirmation, Proof, Stress
from shouldread.solve import Solution
from shouldread.views.fault_strip import fault_strip, most_moved
from shouldread.views.ranks import group_rows, left, notes

_CELL = "text-align:left;padding:2px 12px 2px 0"
MOST_ROWS = 200
MOST_COLUMNS = 12  # points of a fault table that stand side by side


def table(heads: Iterable[str], rows: Iterable[Iterable[object]], caption: str = "") -> Markup:
    """A plain table; every cell is text."""
    head = Markup("").join(Markup('<th scope="col" style="{}">{}</th>').format(_CELL, word) for word in heads)
    body = Markup("").join(
        Markup("<tr>{}</tr>").format(
            Markup("").join(Markup('<td style="{}">{}</td>').format(_CELL, cell) for cell in row)
        )
        for row in list(rows)[:MOST_ROWS]
    )
    said = Markup('<caption style="text-align:left">{}</caption>').format(caption) if caption else Markup("")
    return Markup(
        '<table style="border-collapse:collapse">{}<thead><tr>{}</tr></thead><tbody>{}</tbody></table>'
    ).format(said, head, body)


def paragraphs(lines: Iterable[object]) -> Markup:
    """Each line a paragraph."""
    return Markup("").join(Markup('<p style="margin:2px 0">{}</p>').format(line) for line in lines if str(line))


def svg_image(svg: str, said: str) -> Markup:
    """A drawing as an image: scripts and links cannot live in one."""
    data = base64.b64encode(svg.encode("utf-8")).decode("ascii")
    return Markup('<img alt="{}" src="data:image/svg+xml;base64,{}"/>').format(said, Markup(data))


def png_image(image: bytes, width: int, said: str) -> Markup:
    """A picture of a given width in CSS pixels, never wider than the page; ``said`` is what it shows."""
    data = base64.b64encode(image).decode("ascii")
    return Markup('<img alt="{}" width="{}" style="max-width:100%" src="data:image/png;base64,{}"/>').format(
        said, width, Markup(data)
    )


def plain(value: object) -> Markup:
    """Whatever has no form of its own: its text."""
    style = "white-space:pre-wrap;word-break:normal;overflow-wrap:break-word"  # a notebook breaks lines inside words
    return Markup('<pre style="{}">{}</pre>').format(style, str(value))


def _circuit(circuit: Circuit) -> Markup:
    rows = [(name, part.kind, " ".join(part.nodes)) for name, part in circuit.netlist.items()]
    said = [f"States: {', '.join(circuit.states)}", *circuit.notes]
    head = Markup("<h4>{}</h4>").format(circuit.title)
    picture = svg_image(lay_out(circuit).to_svg(theme_free=False), f"drawing of {circuit.title}")
    listed = Markup("<details><summary>{} parts</summary>{}</details>").format(
        len(rows), table(("Part", "Kind", "Nodes"), rows)
    )
    return Markup("").join([head, paragraphs([circuit.about]), picture, paragraphs(said), listed])


def _expectation(told: Expectation) -> Markup:
    rows = [(at, told[at].healthy.words) for at in told]
    head = f"{told.circuit.title}: {told.setting} @{told.state.replace('_', ' ')}"
    return Markup("").join([paragraphs([head]), table(("Point", "Should read"), rows)])


def _solution(solution: Solution) -> Markup:
    rows = [(node, say(volts, "V", 4)) for node, volts in solution.volts.items() if node != "0"]
    sentence = "" if solution.outcome.word == "solved" else solution.outcome.sentence
    return Markup("").join([paragraphs([sentence]), table(("Node", "Volts"), rows)])


def _walk(walk: RailWalk) -> Markup:
    rows = [(r.name, r.read or "–", r.verdict, r.evidence, r.why) for r in walk.rows]
    lines = [f"First wrong rail: {walk.first_wrong or 'none so far'}"]
    lines += [f"Waiting for it: {', '.join(walk.waiting)}"] if walk.waiting else []
    lines += [*walk.supply_says, *(f"Cannot be told apart yet: {cause}" for cause in walk.causes)]
    lines += [*walk.assumed, walk.caution, *(f"Next: {step}" for step in walk.next_steps)]
    return Markup("").join([table(("Rail", "Reads", "Verdict", "Evidence", "Why"), rows), paragraphs(lines)])


def _diagnosis(diagnosis: Diagnosis) -> Markup:
    groups = group_rows(diagnosis)
    rows = [
        (g["rank"], " or ".join(map(str, names)), g["why"], g["split"])
        for g in groups
        if g["rank"] != "unlikely" and isinstance(names := g["faults"], list)
    ]
    probe = diagnosis.next_probe
    last = f"Next probe: {probe}" if probe is not None else f"No next probe: {diagnosis.stop_reason}"
    body = table(("", "Suspects", "Why", "Told apart by"), rows) if rows else Markup("")
    return Markup("").join([paragraphs([left(diagnosis)]), body, paragraphs([*notes(diagnosis), last])])


def _fault_table(told: FaultTable) -> Markup:
    """Only what a fault moves is written out: in a column for each point, or in one where there are too many."""
    places = list(told.healthy)
    shown = {"healthy": {at: band.short for at, band in told.healthy.items()}}
    shown |= {fault: {at: told.under[fault][at].short for at in told.moved(fault)} for fault in told.under}
    if len(places) <= MOST_COLUMNS:
        heads, rows = ("", *places), [[f, *(read.get(p, "") for p in places)] for f, read in shown.items() if read]
    else:
        heads, rows = ("", "reads"), [[f, ", ".join(map(_glued, read.items()))] for f, read in shown.items() if read]
    body = [paragraphs([told.title]), table(heads, rows), paragraphs(told.notes)]
    if places and told.under:
        strip = fault_strip(told, most_moved(told))
        body.append(png_image(strip.image, strip.width, strip.text))
    return Markup("").join(body)


def _glued(row: tuple[str, str]) -> str:
    """A point and its reading, never torn apart at the end of a line."""
    return " ".join(row).replace(" ", "\N{NO-BREAK SPACE}")


def _confirmation(told: Confirmation) -> Markup:
    """The steps in order, cheapest and safest first, with what each place reads if right and if wrong."""
    rows: list[tuple[str, str, str, str]] = []
    for number, step in enumerate(told.steps, 1):
        places = list(dict.fromkeys([*step.if_right, *step.if_wrong])) or [""]
        for k, place in enumerate(places):
            action = f"{number}. {step.action}" if k == 0 else ""
            right = step.if_right[place].words if place in step.if_right else ""
            wrong = step.if_wrong[place].words if place in step.if_wrong else ""
            rows.append((action, place, right, wrong))
    cautions = dict.fromkeys(caution for step in told.steps for caution in step.cautions)
    body = table(("Do", "Read", f"if {told.fault}", "if not"), rows)
    lines = [f"⚠ {caution}" for caution in cautions]
    lines += [f"Else it may be: {', '.join(told.otherwise)}"] if told.otherwise else []
    lines.append(f"Why did it fail? {told.why_failed}")
    return Markup("").join([paragraphs(filter(None, [told.so_far])), body, paragraphs(lines)])


def _explanation(told: Explanation) -> Markup:
    """The formula as mathematics (a notebook typesets what stands between dollar signs), then the same in text."""
    maths = Markup("<div>$$\\displaystyle {}$$</div>").format(told.mathematics) if told.latex else Markup("")
    return maths + plain(told)


def _proof(sheet: Proof) -> Markup:
    """The hand-over sheet: one table a stage, and what nobody has shown yet."""
    said = [f"Cause: {sheet.cause}" if sheet.cause else "", f"Why it failed: {sheet.why}" if sheet.why else ""]
    mind = [f"⚠ {caution}" for caution in sheet.cautions]
    parts = [Markup("<h4>{}</h4>").format(sheet.title), paragraphs(filter(None, [*said, *mind]))]
    for stage in dict.fromkeys(check.stage for check in sheet.checks):
        rows = [
            (c.key, c.action, c.should, c.before, c.shown, c.verdict + (f": {c.why}" if c.why else ""))
            for c in sheet.checks
            if c.stage == stage
        ]
        parts.append(table(("Line", "Do", "Should give", "Before", "Now", "Verdict"), rows, stage))
    if sheet.unproven:
        items = Markup("").join(Markup("<li>{}</li>").format(row) for row in sheet.unproven)
        parts.append(Markup("<p>Not proven so far:</p><ul>{}</ul>").format(items))
    return Markup("").join(parts)


def _stress(told: Stress) -> Markup:
    """The table of loads, what one fault does to other parts, and the ratings that are asked for."""
    rows = [
        (load.part, _figures(load.volts, load.amps, load.watts),
         _figures(load.volts_worst, load.amps_worst, load.watts_worst), load.under, load.rating, load.verdict)
        for load in told.loads
    ]  # fmt: skip
    parts = [table(("Part", "Healthy", "At worst", "Most watts under", "Rating", "Verdict"), rows)]
    for words, lines in (("Secondary damage:", told.damage), ("Ratings to be stated:", told.asked)):
        if lines:
            items = Markup("").join(Markup("<li>{}</li>").format(line) for line in lines[:MOST_ROWS])
            parts.append(Markup("<p>{}</p><ul>{}</ul>").format(words, items))
    return Markup("").join(parts)


def _figures(volts: float, amps: float, watts: float) -> str:
    """Volts, amps and watts of a part as a meter would show them; what is not known is left out."""
    told = ((volts, "V"), (amps, "A"), (watts, "W"))
    return ", ".join(
        say(value, unit, 3).replace(" ", "\N{NO-BREAK SPACE}") for value, unit in told if not math.isnan(value)
    )


def _drawing(drawing: Drawing) -> Markup:
    return svg_image(drawing.to_svg(theme_free=False), "drawing")


def _framed(value: object) -> Markup:
    """Whatever gives a frame is shown as its table."""
    frame = value.frame()  # type: ignore[attr-defined]
    return table([str(column) for column in frame.columns], frame.astype(str).itertuples(index=False))


_FORMS: Mapping[type, Callable[..., Markup]] = {
    Circuit: _circuit,
    Confirmation: _confirmation,
    Diagnosis: _diagnosis,
    Drawing: _drawing,
    Expectation: _expectation,
    Explanation: _explanation,
    FaultTable: _fault_table,
    Proof: _proof,
    RailWalk: _walk,
    Shelf: _framed,
    Solution: _solution,
    Stress: _stress,
}


def html(value: object) -> str:
    """The HTML of anything the kit returns."""
    form = _FORMS.get(type(value))
    if form is None:
        form = _framed if callable(getattr(value, "frame", None)) else plain
    return str(form(value))
