"""The write-up: one page for colleagues, complete without a network, a kernel or a script."""

import base64
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined

from shouldread.casebook.form import PRIVATE
from shouldread.casebook.photos import Mark
from shouldread.casebook.record import Record
from shouldread.casebook.road import RailRow, Step, rails, road
from shouldread.diagnosis import diagnose
from shouldread.drawing import lay_out
from shouldread.errors import CaseError, KitError

WORDS: Mapping[str, str] = {
    "reading": "read",
    "observation": "seen",
    "done": "done",
    "supply": "fed with",
    "cause": "cause found",
    "proved": "proved",
    "note": "note",
}
_MARKDOWN = re.compile(r"([\\`*_{}\[\]<>#|!~])")


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo as the page shows it."""

    source: str
    about: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """Everything a write-up says; both forms are made of it."""

    name: str
    headline: str
    board: str
    span: str
    symptom: str
    cause: Mapping[str, object] | None
    cautions: tuple[str, ...]
    picture: str
    picture_words: str
    rails: tuple[RailRow, ...]
    road: tuple[Step, ...]
    suspects: tuple[tuple[str, str, str], ...]
    proofs: tuple[str, ...]
    photos: tuple[Photo, ...]
    private: Mapping[str, str] = field(default_factory=dict)


def page_of(case: Record, *, private: bool = False) -> Page:
    """Gather what the page says. ``private``: with customer and serial number (left out otherwise)."""
    events = case.standing()
    opened = next((e.body for e in events if e.kind == "opened"), {})
    symptoms = [str(e.body["text"]) for e in events if e.kind == "symptom"] or [str(opened.get("symptom", ""))]
    cause = case.last("cause")
    picture, words, cautions = _picture(case)
    headline = str(cause["fault"]) if cause else (symptoms[-1] or "a case in work")
    kept = {k: str(opened[k]) for k in PRIVATE if opened.get(k)} if private else {}
    return Page(
        case.name,
        headline,
        case.board,
        f"{events[0].at:%Y-%m-%d} to {events[-1].at:%Y-%m-%d}" if events else "",
        symptoms[-1],
        {k: cause.get(k, "") for k in ("fault", "class", "confidence", "why")} if cause else None,
        cautions,
        picture,
        words,
        rails(case),
        road(case),
        _suspects(case),
        _proofs(case),
        tuple(_photo(case, e.body) for e in events if e.kind == "photo"),
        kept,
    )


def write_up(case: Record, folder: str | Path, *, private: bool = False) -> tuple[Path, Path]:
    """Write ``NAME.html`` and its Markdown twin into the folder (made if missing). Returns both paths."""
    page = page_of(case, private=private)
    stem = re.sub(r"[^\w\-]+", "_", case.name).strip("_") or "case"
    paths = Path(folder) / f"{stem}.html", Path(folder) / f"{stem}.md"
    try:
        paths[0].parent.mkdir(parents=True, exist_ok=True)
        for path in paths:
            path.write_text(rendered(page, f"write_up{path.suffix}"), encoding="utf-8", newline="\n")
    except OSError as error:
        raise CaseError(f"the write-up cannot be written to {folder}: {error.strerror}", value=str(folder)) from error
    return paths


def rendered(page: Page, template: str) -> str:
    """The page in one of its forms (``write_up.html``, ``write_up.md``), everything escaped for it."""
    environment = Environment(
        loader=PackageLoader("shouldread.casebook"),
        autoescape=template.endswith(".html"),
        undefined=StrictUndefined,
        keep_trailing_newline=True,
    )
    environment.filters["md"] = lambda text: _MARKDOWN.sub(r"\\\1", " / ".join(str(text).splitlines()))
    return environment.get_template(template).render(page=page, words=WORDS)


def _picture(case: Record) -> tuple[str, str, tuple[str, ...]]:
    circuit = case.circuit
    if circuit is None:
        return "", "", ()
    svg = lay_out(circuit).to_svg(theme_free=False)
    source = "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()
    cautions = circuit.facts.get("cautions", ())
    said = (cautions,) if isinstance(cautions, str) else tuple(str(c) for c in cautions)  # type: ignore[attr-defined]
    return source, f"Circuit of {circuit.title or circuit.name}", said


def _suspects(case: Record) -> tuple[tuple[str, str, str], ...]:
    """Groups as they stood on the readings before the repair."""
    circuit = case.circuit
    if circuit is None or not case.text.strip():
        return ()
    try:
        diagnosis = diagnose(circuit, case.text)
    except KitError:
        return ()  # the road says which line could not be taken
    rows = [(", ".join(g.faults), _standing(g.share), str(g.split_by or "")) for g in diagnosis.groups[:5]]
    return tuple(row for row in rows if row[1] != "unlikely") or tuple(rows[:1])


def _standing(share: float) -> str:
    return "likely" if share > 0.5 else "possible" if share > 0.05 else "unlikely"


def _proofs(case: Record) -> tuple[str, ...]:
    lines = []
    for event in case.standing():
        if event.kind == "proved":
            body = event.body
            extra = [f"at {body['amps']} A"] if "amps" in body else []
            extra += [f"for {body['minutes']} min"] if "minutes" in body else []
            extra += [str(body["rails"])] if body.get("rails") else []
            lines.append(str(body["text"]) + (f" ({', '.join(extra)})" if extra else ""))
    return tuple(lines)


def _photo(case: Record, body: Mapping[str, object]) -> Photo:
    png = case.photo(str(body["sha256"]))
    marks = tuple(Mark(float(x), float(y), str(text)) for x, y, text in body.get("marks", ()))  # type: ignore[attr-defined]
    return Photo("data:image/png;base64," + base64.b64encode(png).decode(), str(body.get("about", "")), marks)
