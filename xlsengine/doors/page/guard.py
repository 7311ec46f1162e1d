"""Who is answered: requests to this machine's own address, from this page alone, that know the key of the session."""

import hmac
from collections.abc import Mapping
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

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
