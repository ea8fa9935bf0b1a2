"""A fault hidden by a trainer: the notebook holds a token, the fault itself lies in the user's own folder."""

import json
import os
import re
import secrets
from pathlib import Path

from platformdirs import user_data_path

from shouldread.errors import CaseError, RequestError

_TOKEN = re.compile(r"sealed-[0-9a-f]{12}")


def seal(fault: str, *, folder: Path | None = None) -> str:
    """Put a fault away and get a token for ``exercise(hidden=token)``; the token says nothing of the fault.

    >>> import shouldread.practice as practice, tempfile, pathlib
    >>> token = practice.seal("R2 open", folder=pathlib.Path(tempfile.mkdtemp()))
    >>> token.startswith("sealed-"), "R2" in token
    (True, False)
    """
    token = f"sealed-{secrets.token_hex(6)}"
    place = _folder(folder)
    try:
        place.mkdir(parents=True, exist_ok=True, mode=0o700)
        path = place / f"{token}.json"
        path.write_text(json.dumps({"fault": fault}), encoding="utf-8")
        if os.name == "posix":
            path.chmod(0o600)
    except OSError as error:
        raise CaseError(f"the sealed fault cannot be written to {place}: {error.strerror}") from error
    return token


def unseal(text: str, *, folder: Path | None = None) -> str:
    """The fault behind a token; any other text is returned as it is."""
    if not _TOKEN.fullmatch(text):
        return text
    try:
        return str(json.loads((_folder(folder) / f"{text}.json").read_text(encoding="utf-8"))["fault"])
    except (OSError, ValueError, KeyError) as error:
        raise RequestError(
            f"nothing is sealed under {text} on this machine; the trainer seals it here with practice.seal(fault)",
            value=text,
        ) from error


def _folder(folder: Path | None) -> Path:
    return folder if folder is not None else user_data_path("shouldread") / "sealed"
