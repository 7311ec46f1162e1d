"""The page's few addresses: the page itself, work on a file, and the files that came of it."""

import asyncio
import json
import re
import secrets
import shutil
from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any
from urllib.parse import unquote

from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from xlsengine.cautions import IN_FULL, ON_A_PICTURE
from xlsengine.doors.page.workers import PUBLISHED, Bounds, Workers
from xlsengine.outcome import UNREADABLE
from xlsengine.publish.templates import filled, own
from xlsengine.workbook.reading.limits import LARGEST_FILE, MEBIBYTE

MOST_KEPT = 200
"""How many files' results are kept; the oldest goes."""
MOST_AT_ONCE = 100
TEMPLATE_NAME, GUIDE_NAME, NEED_NAME = "motor bench.xlsx", "guide.html", "need.json"
LONGEST_NEED = 200
"""Letters of one field of a need."""
LONGEST_NAME = 150
"""Bytes of a file's name."""
_STATIC = {"page.css": "text/css", "page.js": "text/javascript", "icon.svg": "image/svg+xml"}
_NOT_IN_NAMES = re.compile(r'[\x00-\x1f\x7f-\x9f<>:"|?*\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]')
_RESERVED = re.compile(r"(?i:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?")
_NUMBERS = re.compile(r"\d{1,9}(?: \d{1,9}){1,3}")


@dataclass
class Kept:
    """What came of one file: its folder, and in it the files that can be taken, by what they are."""

    folder: Path
    files: dict[str, str] = field(default_factory=dict)
    publishing: asyncio.Lock = field(default_factory=asyncio.Lock)


class Page:
    """A session: what is kept of it lies in one folder and goes with it."""

    def __init__(self, folder: Path, key: str, bounds: Bounds, library: str | None) -> None:
        self._folder, self._key, self._library = folder, key, library
        self._workers = Workers(bounds, library)
        self._kept: OrderedDict[str, Kept] = OrderedDict()
        self._making = asyncio.Lock()
        self._in_hand = 0

    def routes(self) -> list[Route]:
        """Return the addresses that are answered."""
        return [
            Route("/", self.page),
            Route("/template", self.template),
            Route("/guide", self.guide),
            Route("/work", self.work, methods=["POST"]),
            Route("/library", self.library),
            Route("/compare", self.compare, methods=["POST"]),
            Route("/find", self.find, methods=["POST"]),
            Route("/files/{id}/{what}", self.file),
            Route("/{name}", self.static),
        ]

    async def page(self, request: Request) -> Response:
        """Answer with the page."""
        hidden, first = "" if self._library else "hidden", " ".join(ON_A_PICTURE)
        return HTMLResponse(filled("doors/page/page.html", key=self._key, cautions=IN_FULL, first=first, hidden=hidden))

    async def static(self, request: Request) -> Response:
        """Answer with the page's style or script."""
        name = request.path_params["name"]
        if name not in _STATIC:
            return PlainTextResponse("There is no such thing here.", 404)
        return Response(own(f"doors/page/{name}"), media_type=_STATIC[name])

    async def work(self, request: Request) -> Response:
        """Take a file, check it and write its results; answers with what the page shows of it."""
        name = safe_name(unquote(request.headers.get("x-name", "")))
        if self._in_hand >= MOST_AT_ONCE:
            return _refused(
                name, f"More than {MOST_AT_ONCE} files at once; wait for some of them, then drop this one.", 503
            )
        self._in_hand += 1
        try:
            return await self._worked(request, name)
        finally:
            self._in_hand -= 1

    async def _worked(self, request: Request, name: str) -> Response:
        kept = self._new()
        try:
            if not await _received(request, kept.folder / name):
                return self._gone(kept, _refused(name, f"The file is larger than {LARGEST_FILE // MEBIBYTE} MiB.", 413))
        except ClientDisconnect:
            return self._gone(kept)
        try:
            return await self._answered("work_on", kept, name)
        finally:
            (kept.folder / name).unlink(missing_ok=True)

    async def template(self, request: Request) -> Response:
        """Answer with the empty workbook."""
        return await self._made("empty_template", TEMPLATE_NAME) or FileResponse(
            self._folder / TEMPLATE_NAME, filename=TEMPLATE_NAME
        )

    async def guide(self, request: Request) -> Response:
        """Answer with the guide, which holds its own style and pictures and runs nothing."""
        headers = {"content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; img-src data:"}
        return await self._made("whole_guide", GUIDE_NAME) or FileResponse(self._folder / GUIDE_NAME, headers=headers)

    async def _made(self, task: str, name: str) -> Response | None:
        """Have a file of the session made that is the same for everybody; returns why it could not be."""
        async with self._making:
            if (self._folder / name).exists():
                return None
            reply = await self._workers.do(task, self._folder, name)
            return None if reply["files"] else PlainTextResponse(reply["error"], 500)

    async def library(self, request: Request) -> Response:
        """Answer with the list of the library's tests."""
        if self._library is None:
            return PlainTextResponse("No library is named.", 404)
        place = self._new()
        try:
            return JSONResponse(await self._workers.do("list_library", place.folder, "-"))
        finally:
            self._gone(place)

    async def compare(self, request: Request) -> Response:
        """Put two to four tests of the library side by side, by their numbers; answers with who is ahead."""
        numbers = request.headers.get("x-numbers", "")
        if self._library is None or not _NUMBERS.fullmatch(numbers):
            return PlainTextResponse("Choose two to four tests of the library.", 400)
        return await self._answered("put_side_by_side", self._new(), numbers)

    async def find(self, request: Request) -> Response:
        """Find what of the library fits a craft; answers with the first pairs."""
        try:
            need = {str(name): str(text)[:LONGEST_NEED] for name, text in dict(await _short_json(request)).items()}
        except (ValueError, TypeError):
            return PlainTextResponse("This is no need.", 400)
        if self._library is None:
            return PlainTextResponse("No library is named.", 404)
        kept = self._new()
        (kept.folder / NEED_NAME).write_text(json.dumps(need), encoding="utf-8")
        return await self._answered("find_for_a_craft", kept, NEED_NAME)

    async def _answered(self, task: str, kept: Kept, name: str) -> Response:
        """Have a task done and answer with its reply; what came of it is kept where there is anything."""
        reply = await self._workers.do(task, kept.folder, name)
        kept.files = reply.get("files", {})
        if kept.files:
            self._forget_the_oldest()
        else:
            self._gone(kept)
        return JSONResponse({"name": name, **reply, "id": kept.folder.name})

    async def file(self, request: Request) -> Response:
        """Answer with a file that came of another; what is published of results is made when it is first asked for."""
        kept, what = self._kept.get(request.path_params["id"]), request.path_params["what"]
        if kept and what in PUBLISHED and "results" in kept.files:
            async with kept.publishing:
                if what not in kept.files:
                    made = await self._workers.do("publish_from", kept.folder, kept.files["results"])
                    kept.files |= made["files"]
        if kept is None or what not in kept.files:
            return PlainTextResponse("There is no such file in this session.", 404)
        path = kept.folder / kept.files[what]
        return FileResponse(path, filename=path.name)

    def _new(self) -> Kept:
        """Return a new place for a file and what comes of it."""
        name = secrets.token_hex(16)
        kept = self._kept[name] = Kept(self._folder / name)
        kept.folder.mkdir()
        return kept

    def _gone(self, kept: Kept, answer: Response | None = None) -> Response:
        self._kept.pop(kept.folder.name, None)
        shutil.rmtree(kept.folder, ignore_errors=True)
        return answer or Response(status_code=204)

    def _forget_the_oldest(self) -> None:
        while len(self._kept) > MOST_KEPT + MOST_AT_ONCE:
            self._gone(next(iter(self._kept.values())))


async def _received(request: Request, path: Path) -> bool:
    """Put a request's body into a file; returns whether it is no larger than a workbook may be.

    What is beyond that is read and thrown away: a browser that is cut off shows no answer.
    """
    size = 0
    with path.open("wb") as stream:
        async for chunk in request.stream():
            size += len(chunk)
            if size <= LARGEST_FILE:
                stream.write(chunk)
    return size <= LARGEST_FILE


async def _short_json(request: Request) -> Any:
    """Return what a small body holds; raises ValueError for others."""
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > 100 * LONGEST_NEED:
            raise ValueError("too long")
    return json.loads(body)


def _refused(name: str, why: str, status: int) -> Response:
    return JSONResponse({"name": name, "exit_code": UNREADABLE, "error": why, "files": {}}, status)


def safe_name(name: str) -> str:
    """Return a file's name without folders and without signs that some system refuses; an ordinary one stays as it is.

    >>> safe_name("motor 2207.xlsx"), safe_name("../../etc/x.xlsx"), safe_name("C:\\\\a\\\\..."), safe_name("nul.xlsx")
    ('motor 2207.xlsx', 'x.xlsx', 'workbook', '_nul.xlsx')
    """
    last = _NOT_IN_NAMES.sub("_", re.split(r"[/\\]", name)[-1]).strip().lstrip(".").rstrip(". ")
    path = PurePosixPath(last or "workbook")
    stem = path.stem.encode()[: LONGEST_NAME - len(path.suffix.encode())].decode("utf-8", "ignore")
    whole = stem.rstrip() + path.suffix if len(path.suffix) < 20 else "workbook"
    return f"_{whole}" if _RESERVED.fullmatch(whole) else whole
