"""Who the page answers and whom not, what it keeps, and how it bears large, many, hostile and killed work."""

import asyncio
import http.client
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from tests.doors.made_files import TABLE, THRUST, motor, typed
from tests.doors.served import PATIENT, Served, serving
from xlsengine.doors.page.app import safe_name
from xlsengine.doors.page.serving import make_app
from xlsengine.doors.page.workers import Bounds
from xlsengine.guide.assemble import guide
from xlsengine.jobs import make_results, take_table
from xlsengine.workbook.reading.limits import LARGEST_FILE
from xlsengine.workbook.template import write_template

SAFE = {
    "content-security-policy": "default-src 'self'",
    "x-content-type-options": "nosniff",
    "cache-control": "no-store",
}


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with serving(tmp_path_factory.mktemp("page")) as page:
        yield page


def is_careful(answer: httpx.Response) -> bool:
    return all(answer.headers.get(name, "").startswith(value) for name, value in SAFE.items())


def test_the_page_and_its_parts_are_answered(served: Served) -> None:
    page = httpx.get(served.address)
    assert page.status_code == 200
    assert "A spinning propeller cuts" in page.text
    assert is_careful(page)
    for part in ("/page.css", "/page.js", "/icon.svg"):
        assert served.get(part).status_code == 200
    assert "http" not in page.text.replace(served.root, "")


@pytest.mark.parametrize("path", ["/", "/page.js", "/template", "/guide", "/files/x/results", "/nothing"])
def test_without_the_key_nothing_is_answered(served: Served, path: str) -> None:
    for headers in ({}, {"x-key": "guessed"}, {"x-key": served.key[:-1]}, {"x-key": ""}):
        answer = httpx.get(served.root + path, headers=headers)
        assert answer.status_code == 403
        assert served.key not in answer.text
        assert is_careful(answer)
    assert httpx.get(f"{served.root}{path}?key=é").status_code == 403


@pytest.mark.parametrize(
    "host", ["bench.example", "bench.example:80", "127.0.0.1", "127.0.0.1:1", "localhost.bench.example"]
)
def test_another_host_is_refused(served: Served, host: str) -> None:
    """As of a name that somebody lets point at this machine."""
    assert served.get("/", host=host).status_code == 403
    assert served.get("/", host=served.root.removeprefix("http://")).status_code == 200


@pytest.mark.parametrize("origin", ["http://bench.example", "null", "https://127.0.0.1", "http://127.0.0.1:1", ""])
def test_another_origin_is_refused(served: Served, origin: str) -> None:
    assert served.hand_over("a.xlsx", b"x", origin=origin).status_code == 403
    assert served.get("/", origin=origin).status_code == 403


def test_a_request_without_its_origin_or_from_another_site_is_refused(served: Served) -> None:
    without = httpx.post(f"{served.root}/work", content=b"x", headers={"x-key": served.key, "x-name": "a.xlsx"})
    assert without.status_code == 403
    assert served.get("/", **{"sec-fetch-site": "cross-site"}).status_code == 403
    assert served.get("/", **{"sec-fetch-site": "same-origin"}).status_code == 200


ELSEWHERE = (
    "/../x /%2e%2e/x /..%2f..%2fetc%2fpasswd /files/../../x/results /files/..%2f..%2fx/results "
    "/files/%2e%2e/results //etc/passwd /app.py /files/x/..%2fresults /page.js%00 /\\..\\x"
)


@pytest.mark.parametrize("path", ELSEWHERE.split())
def test_paths_lead_nowhere_else(served: Served, path: str) -> None:
    """Sent as they are: no client tidies them up first."""
    connection = http.client.HTTPConnection(served.root.removeprefix("http://"))
    connection.putrequest("GET", path, skip_host=False)
    for name, value in served.headers.items():
        connection.putheader(name, value)
    connection.endheaders()
    answer = connection.getresponse()
    assert answer.status == 404
    assert b"root:" not in answer.read()
    connection.close()


@pytest.fixture(scope="module")
def reply(served: Served, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Return the page's answer to a sound workbook."""
    path = motor(tmp_path_factory.mktemp("handed over"))
    answer: dict[str, Any] = served.hand_over(path.name, path.read_bytes()).json()
    return answer


def test_results_are_those_of_the_command_line(served: Served, reply: dict[str, Any], tmp_path: Path) -> None:
    path = motor(tmp_path)
    taken = served.get(f"/files/{reply['id']}/results")
    assert taken.content == Path(str(make_results(path).output)).read_bytes()
    assert "motor%20results.xlsx" in taken.headers["content-disposition"]
    assert is_careful(taken)
    assert reply["headline"]["figures"] == reply["answers"]["headlines"]
    assert all(text.startswith("<svg") for text in reply["charts"].values())
    assert reply["charts"]


def test_what_is_handed_over_is_deleted(served: Served, reply: dict[str, Any]) -> None:
    """All that is left of `motor.xlsx`; of what is no workbook nothing is (`test_names_stay_names`)."""
    assert reply["exit_code"] == 0
    assert [Path(name).name for name in served.files() if "motor" in name] == ["motor results.xlsx"]


def test_what_is_published_is_made_when_it_is_asked_for(served: Served, reply: dict[str, Any]) -> None:
    wide, page = (served.get(f"/files/{reply['id']}/{what}") for what in ("wide", "page"))
    assert wide.content.startswith(b"\x89PNG")
    assert page.text.startswith("<!DOCTYPE html>")
    assert served.get(f"/files/{reply['id']}/input").status_code == 404
    assert served.get(f"/files/{'0' * 32}/results").status_code == 404


def test_a_plain_table_gives_a_workbook_to_fill_and_results(served: Served, tmp_path: Path) -> None:
    reply = served.hand_over("night.csv", TABLE.encode()).json()
    assert reply["taken"]["readings"] == 2
    table = tmp_path / "night.csv"
    table.write_text(TABLE)
    filled = Path(str(take_table(table).output))
    assert served.get(f"/files/{reply['id']}/filled").content == filled.read_bytes()
    results = Path(str(make_results(filled).output)).read_bytes()
    assert served.get(f"/files/{reply['id']}/results").content == results


def test_the_template_is_that_of_the_command(served: Served, tmp_path: Path) -> None:
    answer = served.get("/template")
    assert answer.content == write_template(tmp_path / "template.xlsx").read_bytes()
    assert "motor%20bench.xlsx" in answer.headers["content-disposition"]


def test_the_guide_is_that_of_the_command_and_runs_nothing(served: Served) -> None:
    answer = served.get("/guide")
    assert answer.text == guide()
    assert answer.headers["content-security-policy"].startswith("default-src 'none'; style-src")
    assert "script" not in answer.headers["content-security-policy"]


NAMES = (
    "../x.xlsx",
    "..\\..\\x.xlsx",
    "/etc/x.xlsx",
    ".reply.json",
    "",
    "a" * 300 + ".xlsx",
    "nul.xlsx",
    "a\r\nx-injected: 1.xlsx",
    "<img src=x onerror=alert(1)>.xlsx",
    "\u202exslx.exe",
)


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_made_safe(name: str) -> None:
    safe = safe_name(name)
    assert not set(safe) & set('/\\<>\r\n\u202e"')
    assert 0 < len(safe.encode()) <= 150
    assert not safe.startswith(".")


@pytest.mark.parametrize("name", ["../x.xlsx", "a\r\nx-injected: 1.xlsx"])
def test_names_stay_names(served: Served, name: str) -> None:
    before = served.files()
    answer = served.hand_over(name, b"not a workbook")
    reply = answer.json()
    assert reply["exit_code"] == 2
    assert "x-injected" not in answer.headers
    assert reply["name"] == safe_name(name)
    assert str(served.folder) not in answer.text
    assert served.files() == before


def test_an_ordinary_name_stays_as_it_is() -> None:
    for name in ("motor 2207.xlsx", "Motor – Größe 2 (neu).xlsx", "a.b.xlsx", "5x4.3x3.csv"):
        assert safe_name(name) == name


def test_a_file_beyond_the_readers_limit_is_refused_and_not_kept(served: Served) -> None:
    before = served.files()

    def content() -> Iterator[bytes]:
        for _ in range(LARGEST_FILE // 2**20 + 1):
            yield bytes(2**20)

    headers = {**served.headers, "x-name": "large.xlsx"}
    answer = httpx.post(f"{served.root}/work", content=content(), headers=headers, timeout=PATIENT)
    assert answer.status_code == 413
    assert "larger than 64 MiB" in answer.json()["error"]
    assert served.files() == before


def rss(pid: int) -> int:
    """Return the memory a process holds, in bytes."""
    return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")


def test_six_at_once_none_lost_two_at_work_and_memory_bounded(served: Served, tmp_path: Path) -> None:
    """Two with results, four with a fault of their own each."""
    path = motor(tmp_path)
    contents = [
        typed(path, {THRUST: 800 + n if n < 2 else f"x{n}x"}, tmp_path / f"{n}.xlsx").read_bytes() for n in range(6)
    ]
    held, most, done = rss(served.process.pid), [0], threading.Event()

    def count() -> None:
        while not done.is_set():
            most[0] = max(most[0], len(served.workers()))
            time.sleep(0.1)

    async def all_at_once() -> list[httpx.Response]:
        limits = httpx.Limits(max_connections=len(contents))
        async with httpx.AsyncClient(timeout=600, limits=limits) as client:
            return await asyncio.gather(
                *(
                    client.post(
                        f"{served.root}/work", content=content, headers={**served.headers, "x-name": f"{n}.xlsx"}
                    )
                    for n, content in enumerate(contents)
                )
            )

    counting = threading.Thread(target=count)
    counting.start()
    replies = [answer.json() for answer in asyncio.run(all_at_once())]
    done.set()
    counting.join()
    assert most[0] == 2
    assert rss(served.process.pid) - held < 50 * 2**20
    for n, reply in enumerate(replies):
        assert reply["name"] == f"{n}.xlsx"
        if n < 2:
            assert reply["headline"]["figures"][0]["value"] == 800 + n
        else:
            assert [fault["found"] for fault in reply["faults"]] == [f'"x{n}x"']
    assert len({reply["id"] for reply in replies}) == len(contents)


@pytest.mark.skipif(not Path("/proc").exists(), reason="needs a system that lists its processes as files")
def test_a_killed_worker_is_told_and_the_page_goes_on(served: Served, tmp_path: Path) -> None:
    rows = "".join(f"5x4,4,14.8,{31 + n % 7},{900 + n % 50},{n}\n" for n in range(3000))
    answers: list[dict[str, Any]] = []
    work = threading.Thread(
        target=lambda: answers.append(
            served.hand_over("long.csv", (TABLE.splitlines()[0] + "\n" + rows).encode()).json()
        )
    )
    work.start()
    ends = time.monotonic() + PATIENT
    while not (found := served.workers()) and time.monotonic() < ends:
        time.sleep(0.02)
    os.kill(found[0], signal.SIGKILL)
    work.join()
    assert "was stopped before it was done: it was ended from outside before it was done" in answers[0]["error"]
    assert served.hand_over("night.csv", TABLE.encode()).json()["exit_code"] == 0


@pytest.mark.parametrize(
    ("bounds", "why"),
    [(Bounds(seconds=1), "took more than 1 s"), (Bounds(memory=60 * 2**20), "too much memory")],
    ids=["time", "memory"],
)
def test_work_beyond_its_bounds_is_ended(tmp_path: Path, bounds: Bounds, why: str) -> None:
    path = motor(tmp_path)
    held = tmp_path / "held"
    held.mkdir()
    transport = httpx.ASGITransport(make_app(held, "key", 80, bounds))

    async def handed_over() -> httpx.Response:
        async with httpx.AsyncClient(transport=transport, timeout=PATIENT) as client:
            headers = {"x-key": "key", "origin": "http://127.0.0.1:80", "host": "127.0.0.1:80", "x-name": "motor.xlsx"}
            return await client.post("http://127.0.0.1:80/work", content=path.read_bytes(), headers=headers)

    assert why in asyncio.run(handed_over()).json()["error"]
    assert [path.name for path in held.rglob("*") if path.suffix] == []


def test_nothing_is_left_when_it_ends(tmp_path: Path) -> None:
    with serving(tmp_path) as page:
        assert page.hand_over("night.csv", TABLE.encode()).json()["exit_code"] == 0
        assert len(page.files()) > 3
    assert page.process.returncode == 0
    assert list(tmp_path.iterdir()) == []


def test_a_port_in_use_is_told(served: Served) -> None:
    port = served.root.rpartition(":")[2]
    done = subprocess.run(
        [sys.executable, "-m", "xlsengine", "page", "--no-browser", "--port", port], capture_output=True, text=True
    )
    assert (done.returncode, done.stderr.count("\n")) == (2, 1)
    assert "leave --port out for a free one" in done.stderr
