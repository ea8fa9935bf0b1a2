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
