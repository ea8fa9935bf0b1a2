"""A fault hidden by a trainer: the notebook holds a token, the fault itself lies in the user's own folder."""

import json
import os
import re
import secrets
from collections.abc import Mapping
from pathlib import Path

from platformdirs import user_data_path

from shouldread.circuit import Circuit, load_circuit
from shouldread.errors import CaseError, RequestError, UnknownNameError
from shouldread.practice.telling import TRIGGERS

_TOKEN = re.compile(r"sealed-[0-9a-f]{12}")
_KEYS = ("fault", "trigger", "real", "brief")


def seal(
    fault: str,
    *,
    circuit: Circuit | str | None = None,
    trigger: str = "",
    real: bool = False,
    brief: str = "",
    folder: Path | None = None,
) -> str:
    """Put a fault away and get a token for ``exercise(hidden=token)``; the token says nothing of the fault.

    ``circuit``: to have the fault's name checked at once. ``trigger``: ``warmed``, ``cooled`` or ``flexed``, for a
    fault that comes and goes. ``real``: a real board was sabotaged so, and the learner types own readings;
    ``brief`` is what its owner says. Do it in another notebook than the learner's. Raises UnknownNameError.

    >>> import shouldread.practice as practice, tempfile, pathlib
    >>> token = practice.seal("R2 open", folder=pathlib.Path(tempfile.mkdtemp()))
    >>> token.startswith("sealed-"), "R2" in token
    (True, False)
    """
    if circuit is not None:
        fault = str(load_circuit(circuit).fault(fault)[0])
    if trigger and trigger not in TRIGGERS:
        raise UnknownNameError("trigger", trigger, TRIGGERS)
    if real and not brief.strip():
        raise RequestError("a real board needs the words of its owner: seal(fault, real=True, brief='nothing spins')")
    token = f"sealed-{secrets.token_hex(6)}"
    place = _folder(folder)
    told = {"fault": fault, "trigger": trigger, "real": "yes" if real else "", "brief": brief.strip()}
    try:
        place.mkdir(parents=True, exist_ok=True, mode=0o700)
        path = place / f"{token}.json"
        path.write_text(json.dumps(told), encoding="utf-8")
        if os.name == "posix":
            path.chmod(0o600)
    except OSError as error:
        raise CaseError(f"the sealed fault cannot be written to {place}: {error.strerror}") from error
    return token


def opened(text: str, *, folder: Path | None = None) -> Mapping[str, str] | None:
    """What lies behind a token: fault, trigger, real, brief; None for any other text. Raises RequestError."""
    if not _TOKEN.fullmatch(text):
        return None
    try:
        told = json.loads((_folder(folder) / f"{text}.json").read_text(encoding="utf-8"))
        return {key: str(told.get(key, "")) for key in _KEYS} | {"fault": str(told["fault"])}
    except (OSError, ValueError, KeyError, AttributeError) as error:
        raise RequestError(
            f"nothing is sealed under {text} on this machine; the trainer seals it here with practice.seal(fault)",
            value=text,
        ) from error


def unseal(text: str, *, folder: Path | None = None) -> str:
    """The fault behind a token; any other text is returned as it is."""
    told = opened(text, folder=folder)
    return text if told is None else told["fault"]


def _folder(folder: Path | None) -> Path:
    return folder if folder is not None else user_data_path("shouldread") / "sealed"
