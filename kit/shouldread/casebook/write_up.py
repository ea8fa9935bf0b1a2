"""The write-up: one page for colleagues, complete without a network, a kernel or a script."""

import base64
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined

from shouldread.casebook.archive import replacing
from shouldread.casebook.form import PRIVATE, TOLD
from shouldread.casebook.photos import Mark
from shouldread.casebook.proof_sheet import sheet_of_case
from shouldread.casebook.record import Record
from shouldread.casebook.road import RailRow, Step, rails, road
from shouldread.circuit import Circuit
from shouldread.diagnosis import cautions, diagnose
from shouldread.drawing import lay_out
from shouldread.errors import CaseError, KitError
from shouldread.quantities import say
from shouldread.repair import Check, Proof

# file names that Windows keeps for devices (Microsoft, "Naming Files, Paths, and Namespaces", from memory)
DEVICES = {"CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in range(10))}
_MARKDOWN = re.compile(r"([\\`*_{}\[\]<>#|!~])")


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo as the page shows it."""

    source: str
    about: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Heading:
    """What a list of cases says of one."""

    name: str
    headline: str
    board: str
    span: str
    symptom: str
    cause: Mapping[str, object] | None
    reached: str


@dataclass(frozen=True, slots=True)
class Page(Heading):
    """Everything a write-up says; all its forms are made of it."""

    cautions: tuple[str, ...] = ()
    picture: str = ""
    picture_words: str = ""
    rails: tuple[RailRow, ...] = ()
    road: tuple[Step, ...] = ()
    suspects: tuple[tuple[str, str, str], ...] = ()
    confirmed: tuple[str, ...] = ()
    proofs: tuple[str, ...] = ()
    sheet: tuple[tuple[str, str, str], ...] = ()
    unproven: tuple[str, ...] = ()
    photos: tuple[Photo, ...] = ()
    private: Mapping[str, str] = field(default_factory=dict)


def heading_of(case: Record) -> Heading:
    """Name, what it was (or what is wrong), board and days of a case; nothing is calculated."""
    events = case.standing()
    symptoms = [str(e.body["text"]) for e in events if e.kind == "symptom"]
    symptom = (symptoms or [str(e.body.get("symptom", "")) for e in events if e.kind == "opened"] or [""])[-1]
    causes = [{"class": "", "confidence": "", "why": "", **e.body} for e in events if e.kind == "cause"]
    headline = str(causes[-1]["fault"]) if causes else (symptom or "a case in work")
    days = dict.fromkeys(f"{event.at:%Y-%m-%d}" for event in (*events[:1], *events[-1:]))
    span = " to ".join(days)
    kinds = {e.kind for e in events}
    reached = " and ".join(kind for kind in ("confirmed", "proved") if kind in kinds)
    return Heading(case.name, headline, case.board, span, symptom, causes[-1] if causes else None, reached)


def page_of(case: Record, *, private: bool = False) -> Page:
    """Gather what the page says. ``private``: with customer and serial number (left out otherwise)."""
    events, heading = case.standing(), heading_of(case)
    opened = next((e.body for e in events if e.kind == "opened"), {})
    circuit, sheet = case.circuit, sheet_of_case(case)
    picture, words = _picture(circuit)
    return Page(
        **{name: getattr(heading, name) for name in Heading.__slots__},
        cautions=tuple(dict.fromkeys(caution.say for caution in cautions(circuit, "hand over"))),
        picture=picture,
        picture_words=words,
        rails=rails(case, sheet),
        road=road(case),
        suspects=_suspects(case),
        confirmed=tuple(_confirmed(e.body) for e in events if e.kind == "confirmed"),
        proofs=_proofs(case),
        sheet=tuple((c.key, c.shown, c.verdict + (f": {c.why}" if c.why else "")) for c in _tested(sheet)),
        unproven=sheet.unproven if sheet is not None else (),
        photos=tuple(_photo(case, e.body) for e in events if e.kind == "photo"),
        private={k: str(opened[k]) for k in PRIVATE if opened.get(k)} if private else {},
    )


def write_up(case: Record, folder: str | Path, *, private: bool = False) -> tuple[Path, Path, Path]:
    """Write ``NAME.html``, its Markdown twin and a plain text into the folder (made if missing). Returns the paths."""
    page = page_of(case, private=private)
    html, md, txt = (Path(folder) / f"{stem_of(case.name)}{suffix}" for suffix in (".html", ".md", ".txt"))
    for path in (html, md, txt):
        write_text(path, rendered(f"write_up{path.suffix}", page=page, words=TOLD, revision=""))
    return html, md, txt


def stem_of(name: str) -> str:
    """A file name for a case, on every system: letters, digits, dashes."""
    stem = re.sub(r"[^\w\-]+", "_", name).strip("_") or "case"
    return f"case_{stem}" if stem.upper() in DEVICES or stem == "index" else stem


def write_text(path: Path, text: str) -> None:
    """A file that is written whole or not at all. Raises CaseError."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CaseError(f"{path.parent} cannot be made: {error.strerror}", value=str(path)) from error
    with replacing(path) as file:
        file.write(text.encode("utf-8"))


def rendered(template: str, **values: object) -> str:
    """One of the templates with its values, everything escaped for what it is."""
    environment = Environment(
        loader=PackageLoader("shouldread.casebook"),
        autoescape=template.endswith(".html"),
        undefined=StrictUndefined,
        keep_trailing_newline=True,
    )
    environment.filters["md"] = lambda text: _MARKDOWN.sub(r"\\\1", " / ".join(str(text).splitlines()))
    return environment.get_template(template).render(values)


def _picture(circuit: Circuit | None) -> tuple[str, str]:
    if circuit is None:
        return "", ""
    svg = lay_out(circuit).to_svg(theme_free=False)
    source = "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()
    return source, f"Circuit of {circuit.title or circuit.name}"


def _tested(sheet: Proof | None) -> tuple[Check, ...]:
    return tuple(check for check in sheet.checks if check.shown) if sheet is not None else ()


def _confirmed(body: Mapping[str, object]) -> str:
    return f"{body['fault']}: {body['text']}" if body.get("fault") else str(body["text"])


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
            extra = [f"at {say(float(str(body['amps'])), 'A')}"] if "amps" in body else []
            extra += [f"for {float(str(body['minutes'])):g} min"] if "minutes" in body else []
            extra += [str(body["rails"])] if body.get("rails") else []
            lines.append(str(body["text"]) + (f" ({', '.join(extra)})" if extra else ""))
    return tuple(lines)


def _photo(case: Record, body: Mapping[str, object]) -> Photo:
    png = case.photo(str(body["sha256"]))
    marks = tuple(Mark(float(x), float(y), str(text)) for x, y, text in body.get("marks", ()))  # type: ignore[attr-defined]
    return Photo("data:image/png;base64," + base64.b64encode(png).decode(), str(body.get("about", "")), marks)
