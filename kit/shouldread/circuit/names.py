"""Names: what a part, node, rail or state may be called, whoever typed it."""

import re
import unicodedata

LONGEST_NAME = 40
_ALLOWED = re.compile(r"[\w+\-#./:~!\[\]$]+")


def plain_name(text: str) -> str:
    """One code point for what looks alike (NFKC): ``µ`` of either sort, full-width letters."""
    return unicodedata.normalize("NFKC", text)


def is_name(text: str) -> bool:
    """Whether a text may be a name: letters, digits and ``_ + - # . / : ~ ! [ ] $``, at most 40 of them."""
    plain = plain_name(text)
    return 0 < len(plain) <= LONGEST_NAME and plain.isprintable() and _ALLOWED.fullmatch(plain) is not None


def name_rule(what: str, text: str) -> str:
    """The complaint about a text that may not be a name."""
    shown = "".join(ch if ch.isprintable() else "?" for ch in text[:LONGEST_NAME])
    return (
        f"{shown!r} cannot be the name of {what}: "
        f"letters, digits, _ + - # . / and no blank, at most {LONGEST_NAME} of them"
    )


def folded(name: str) -> str:
    """States are equal whatever blanks, dashes and underscores their names are written with."""
    return name.strip().casefold().replace("-", " ").replace("_", " ")
