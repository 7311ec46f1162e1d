"""Serving the page: to this machine alone, on a free port, with a folder that goes when it ends."""

import secrets
import signal
import socket
import tempfile
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import uvicorn

from xlsengine.doors.page.app import make_app
from xlsengine.errors import XlsEngineError
from xlsengine.workbook.output import sweep

_FOLDERS = "xlsengine-page-"
_LEFT_BEHIND_AFTER = 86400.0
"""Seconds after which a session's folder belongs to one that was killed."""


class PortTaken(XlsEngineError):
    """The port that was asked for cannot be had."""


def serve(
    port: int = 0, open_browser: bool = True, tell: Callable[[str], None] = print, library: str | None = None
) -> None:
    """Serve the page until interrupted, on a free port where it is 0. Raises `PortTaken`."""
    with (
        _listening(port) as listening,
        tempfile.TemporaryDirectory(prefix=_FOLDERS, ignore_cleanup_errors=True) as held,
    ):
        sweep(Path(held).parent, _FOLDERS, _LEFT_BEHIND_AFTER)
        key, port = secrets.token_urlsafe(24), int(listening.getsockname()[1])
        address = f"http://127.0.0.1:{port}/?key={key}"
        tell(f"the page is at {address}")
        tell("it is for this machine alone; Ctrl+C ends it, and what it keeps goes with it")
        if open_browser:
            webbrowser.open(address)
        signal.signal(signal.SIGTERM, _interrupt)
        config = uvicorn.Config(
            make_app(Path(held), key, port, library=library), log_level="warning", access_log=False, server_header=False
        )
        with suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[listening])


def _listening(port: int) -> socket.socket:
    listening = socket.socket()
    try:
        listening.bind(("127.0.0.1", port))
        listening.listen(128)
    except (OSError, OverflowError) as error:
        listening.close()
        why = getattr(error, "strerror", None) or error
        raise PortTaken(f"port {port} cannot be used: {why}; leave --port out for a free one") from error
    return listening


def _interrupt(*_: object) -> None:
    raise KeyboardInterrupt
