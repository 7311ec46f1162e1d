"""Serving the page: to this machine alone, on a free port, with a folder that goes when it ends; answered are requests to
this machine's own address, from this page alone, that know the key of the session.
"""

import hmac
import secrets
import signal
import socket
import tempfile
import webbrowser
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from urllib.parse import parse_qs

import uvicorn
from starlette.applications import Starlette
from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from xlsengine.doors.page.app import Page
from xlsengine.doors.page.workers import Bounds
from xlsengine.errors import XlsEngineError
from xlsengine.workbook.output import sweep

KEY_HEADER = "x-key"
HOSTS = ("127.0.0.1", "localhost")
_HEADERS: Mapping[str, str] = {
    "content-security-policy": "default-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; "
    "object-src 'none'",
    "x-content-type-options": "nosniff",
    "cache-control": "no-store",
    "referrer-policy": "no-referrer",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
}
_FOLDERS = "xlsengine-page-"
_LEFT_BEHIND_AFTER = 86400.0
"""Seconds after which a session's folder belongs to one that was killed."""


def serve(
    port: int = 0, open_browser: bool = True, tell: Callable[[str], None] = print, library: str | None = None
) -> None:
    """Serve the page until interrupted, on a free port where it is 0. Raises `XlsEngineError` where another has it."""
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
        raise XlsEngineError(f"port {port} cannot be used: {why}; leave --port out for a free one") from error
    return listening


def _interrupt(*_: object) -> None:
    raise KeyboardInterrupt


class Guard:
    """Refuses what is not asked by the page itself, and puts the same careful headers on every answer."""

    def __init__(self, app: ASGIApp, key: str, port: int) -> None:
        self._app, self._key = app, key
        self._hosts = {f"{host}:{port}" for host in HOSTS}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer or refuse a request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        refusal = self._refusal(scope["method"], Headers(scope=scope), scope["query_string"])
        await (PlainTextResponse(refusal, 403) if refusal else self._app)(scope, receive, with_headers)

    def _refusal(self, method: str, headers: Headers, query: bytes) -> str:
        """Return why a request is refused, "" where it is not."""
        if headers.get("host") not in self._hosts:
            return "This page is served to 127.0.0.1 alone."
        origin = headers.get("origin")
        origins = {f"http://{host}" for host in self._hosts}
        if (origin is not None or method not in ("GET", "HEAD")) and origin not in origins:
            return "Only this page itself may ask."
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return "Only this page itself may ask."
        if not self._knows_the_key(headers, query):
            return "Open the whole address that xlsengine page printed: it holds the key of this session."
        return ""

    def _knows_the_key(self, headers: Headers, query: bytes) -> bool:
        asked = parse_qs(query.decode("latin-1")).get("key", [""])[0]
        given = headers.get(KEY_HEADER, asked)
        return hmac.compare_digest(given.encode("utf-8", "replace"), self._key.encode())


def make_app(folder: Path, key: str, port: int, bounds: Bounds | None = None, library: str | None = None) -> Guard:
    """Return the page as an ASGI application that keeps its files in `folder` and compares with a library if one is named."""
    return Guard(Starlette(routes=Page(folder, key, bounds or Bounds(), library).routes()), key, port)
