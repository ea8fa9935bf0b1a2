"""The process that owns the ngspice library: one JSON request a line in, one JSON reply a line out.

Run by ngspice.py, never imported by the kit: a crash, a hang or a poisoned library ends here and nowhere else.
A request is ``{"deck": netlist, "vectors": [names]}``; the reply holds each vector as base64 of its doubles,
everything ngspice said, and whether the library can be asked again.
"""

import base64
import json
import logging
import os
import sys
from typing import Any

from PySpice.Spice.NgSpice import Shared

try:
    import resource
except ImportError:  # Windows has no such limits
    resource = None  # type: ignore[assignment]

MEMORY = 4 << 30  # bytes of address space; numpy alone maps several hundred MB


class Ngspice(Shared.NgSpiceShared):  # type: ignore[misc]
    """The library with a tolerant ear.

    PySpice 1.5 takes every line that ngspice writes to stderr for a failure, also notes of success
    ("Dynamic gmin stepping completed"). Here all lines are collected and judged by the asking side.
    """

    said: list[str]

    @staticmethod
    def _send_char(message: Any, ngspice_id: int, user_data: Any) -> int:
        line = Shared.ffi.string(message).decode("utf-8", "replace")
        Shared.ffi.from_handle(user_data).said.append(line.partition(" ")[2])
        return 0


def answer(engine: Ngspice, request: dict[str, Any]) -> dict[str, Any]:
    """Run one deck. A deck that cannot be loaded leaves the library unfit: ``alive`` is false then."""
    engine.said = []
    try:
        engine.load_circuit(request["deck"])
    except NameError:
        return {"vectors": {}, "said": engine.said, "alive": False}
    try:
        engine.run()
        plot = engine.plot_names[0]
        vectors = {} if plot == "const" else _vectors(engine, plot, request["vectors"])
    except NameError as error:
        engine.said.append(str(error))
        vectors = {}
    engine.remove_circuit()  # else every run keeps its circuit: 577 kB at 200 nodes
    engine.destroy()
    return {"vectors": vectors, "said": engine.said, "alive": True}


def _vectors(engine: Ngspice, plot: str, names: list[str]) -> dict[str, str]:
    found = {}
    for name in names:
        for spelled in (name, f"V({name})"):  # nodes that are numbers are kept as V(12)
            info = engine._ngspice_shared.ngGet_Vec_Info(f"{plot}.{spelled}".encode())
            if info != Shared.ffi.NULL and info.v_realdata != Shared.ffi.NULL:
                raw = Shared.ffi.buffer(info.v_realdata, info.v_length * 8)[:]
                found[name] = base64.b64encode(raw).decode("ascii")
                break
    return found


def main() -> None:
    """Serve until the asking side closes the pipe."""
    logging.getLogger("PySpice").setLevel(logging.CRITICAL + 1)
    if resource is not None:
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    out = os.fdopen(os.dup(1), "w", encoding="ascii")
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, 1)  # whatever the library prints must not stand between the replies
    os.dup2(silent, 2)
    Ngspice.said = []
    engine = Ngspice.new_instance()
    for line in sys.stdin:
        out.write(json.dumps(answer(engine, json.loads(line))) + "\n")
        out.flush()


if __name__ == "__main__":
    main()
