"""Loaded by the lab's server: starts the kernel of the start notebook while the page is still on its way.

The page finds a session for the notebook and goes on with it, so the bench need not wait for a kernel and its imports.
"""

import logging
from pathlib import Path
from typing import Any

START = "00_start_here.ipynb"
AHEAD = "import shouldread.views"  # what the first cell needs; it leaves no trace in the kernel's history
PATIENCE = 120  # s
_told = logging.getLogger("shouldread")


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    return [{"module": "shouldread.opening"}]


def _load_jupyter_server_extension(server: Any) -> None:
    """Begin as soon as the server answers."""
    if (Path(server.root_dir) / START).is_file():
        server.io_loop.add_callback(_begin, server)


async def _begin(server: Any) -> None:
    """Start the kernel and have it import; when anything fails the page starts its own, only later."""
    try:
        session = await server.session_manager.create_session(
            path=START, name=START, type="notebook", kernel_name="python3"
        )
        client = server.kernel_manager.get_kernel(session["kernel"]["id"]).client()
        client.start_channels(iopub=False, stdin=False, hb=False, control=False)
        try:
            client.execute(AHEAD, silent=True, store_history=False)
            await client.get_shell_msg(timeout=PATIENCE)
        finally:
            client.stop_channels()
    except Exception as trouble:
        _told.warning("the kernel was not started ahead: %s", trouble)
