"""The page's own files: plain modules and styles, joined in the order of their names; no build step."""

from functools import cache
from pathlib import Path

_HERE = Path(__file__).parent


@cache
def esm() -> str:
    """One ECMAScript module of all scripts."""
    return "\n".join(path.read_text(encoding="utf-8") for path in sorted(_HERE.glob("*.js")))


@cache
def css() -> str:
    """One style sheet of all styles."""
    return "\n".join(path.read_text(encoding="utf-8") for path in sorted(_HERE.glob("*.css")))


def _shared(kind: str) -> list[Path]:
    """What every screen is built of: all but the bench's own last file."""
    return [path for path in sorted(_HERE.glob(f"*.{kind}")) if not path.name.startswith("90_bench")]


def _joined(kind: str, screen: str) -> str:
    paths = [*_shared(kind), *sorted((_HERE / screen).glob(f"*.{kind}"))]
    return "\n".join(path.read_text(encoding="utf-8") for path in paths)


@cache
def screen_esm(screen: str) -> str:
    """The module of a screen of its own: ``practice``, ``drill``."""
    return _joined("js", screen)


@cache
def screen_css(screen: str) -> str:
    """The styles of a screen of its own."""
    return _joined("css", screen)
