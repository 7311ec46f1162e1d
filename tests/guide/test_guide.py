"""The guide: every command and every recipe in it is run; its pictures are small; it stands alone and reads on a phone."""

import os
import re
import shlex
import shutil
import signal
import subprocess
import sys
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser

import xlsengine
from tests.command_line import run
from tests.doors.made_files import heed_interrupts
from xlsengine.bench.inputs.settings import SETTINGS
from xlsengine.cautions import CAUTIONS, DEFERENCE
from xlsengine.cli import cli
from xlsengine.guide.assemble import AFTER_FIGURES, BEFORE_FIGURES, PICTURES, guide
from xlsengine.workbook.sheets.method_sheet import SECTIONS

DEMOS = Path(__file__).parent.parent.parent / "demo_inputs"
MOST_BYTES = 1_500_000
WRITES = {"template": "-o", "results": "-o", "find": "-o", "compare": "-o", "button": "-o"}
TABLE = "Prop,Cells,Volts,Amps,Grams\n5x4.3x3 A,3,11.3,24.7,766\n5x4.3x3 A,4,15.1,38.9,1254\n"


PARTS = (*BEFORE_FIGURES, *AFTER_FIGURES)


def blocks(name: str, kind: str) -> list[str]:
    """Return the blocks of a part that hold a `command` or `python`, as texts."""
    written = (PICTURES.parent / "parts" / f"{name}.html").read_text(encoding="utf-8")
    return [unescape(text) for text in re.findall(rf'<pre class="{kind}[^"]*">(.*?)</pre>', written, re.DOTALL)]


def commands(part: str) -> list[list[str]]:
    return [shlex.split(line) for block in blocks(part, "command") for line in block.splitlines()]


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder with the files that the guide speaks of, and make it the current one."""
    shutil.copy(DEMOS / "thimble-2207.xlsx", tmp_path / "my motor.xlsx")
    shutil.copy(DEMOS / "gherkin-2207.xlsx", tmp_path / "second motor.xlsx")
    (tmp_path / "old table.csv").write_text(TABLE)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def starts(command: list[str], folder: Path) -> str:
    """Start a command that goes on until it is ended; return the first line it prints."""
    wanted = [sys.executable, "-m", *command, *(["--no-browser"] if command[1] == "page" else [])]
    with subprocess.Popen(
        wanted,
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=os.environ | {"PYTHONUNBUFFERED": "1"},
        preexec_fn=heed_interrupts,
    ) as process:
        assert process.stdout is not None
        line = process.stdout.readline()
        process.send_signal(signal.SIGINT)
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            raise
    return line


@pytest.mark.parametrize("part", PARTS)
def test_commands_do_what_they_are_shown_for(part: str, desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    serving = [shlex.split(block) for block in blocks(part, "command serves")]
    for command in commands(part):
        if command in serving:
            assert starts(command, desk).strip()
            continue
        if command[1:3] == ["template", "-o"]:
            (desk / command[3]).unlink()
        if command[1] == "changes":
            assert run("results", command[2]) == 0
        assert run(*command[1:]) == 0, command
        if command[1:3] == ["template", "-o"]:
            shutil.copy(DEMOS / "thimble-2207.xlsx", desk / command[3])
        option = WRITES.get(command[1])
        if option in command:
            assert (desk / command[command.index(option) + 1]).exists(), command
    assert "Traceback" not in capsys.readouterr().err


def test_every_command_is_there() -> None:
    named = {command[1] for part in PARTS for command in commands(part)} - {"my motor.xlsx"}
    assert {"template", "check", "results", "publish", "changes", "page", "watch"} <= named
    assert named <= set(cli.commands)


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    assessment = xlsengine.evaluate(xlsengine.read_bench_test(DEMOS / "thimble-2207.xlsx"))
    return xlsengine.write_results(assessment, tmp_path_factory.mktemp("guide") / "my motor results.xlsx")


@pytest.mark.parametrize("number", range(len(blocks("6_python", "python"))))
def test_recipes_run(number: int, desk: Path, results: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copy(results, desk)
    before = set(desk.iterdir())
    recipe = blocks("6_python", "python")[number]
    exec(compile(recipe, "recipe", "exec"), {"__name__": "__main__"})
    writes = re.search(r"write_|to_csv", recipe) is not None
    assert (len(set(desk.iterdir()) - before) > 0) is writes
    assert writes or capsys.readouterr().out or "changes" in recipe or "compare" in recipe


class Page(HTMLParser):
    """Collects ids, links inside the page, pictures without a text, and the words."""

    def __init__(self) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.without_text: list[str] = []
        self.words: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        held = dict(attrs)
        self.ids += [held["id"] or ""] if "id" in held else []
        self.links += [held["href"] or ""] if "href" in held else []
        self.without_text += [held["src"] or ""] if tag == "img" and len(held.get("alt") or "") < 40 else []
        if tag not in ("meta", "img", "br", "link"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(" ".join(data.split()))


def test_guide_stands_alone_and_is_whole() -> None:
    text = guide()
    page = Page()
    page.feed(text)
    assert page.open == []
    assert {link.removeprefix("#") for link in page.links} == set(page.ids)
    assert page.without_text == []
    assert re.findall(r'(?:src|href)="(?!data:image/png;base64,|#)', text) == []
    assert "<script" not in text
    assert {caution.full for caution in CAUTIONS} | {DEFERENCE} <= set(page.words)
    assert text == guide()


def test_every_figure_of_the_sheets_to_read_and_every_setting_is_explained() -> None:
    page = Page()
    page.feed(guide())
    words = set(page.words)
    for part in SECTIONS.values():
        for _, quantity in part:
            assert " ".join(quantity.meaning.split()) in words
    assert {field.label for field in SETTINGS.fields.values()} <= words


def test_pictures_are_small_and_all_shown() -> None:
    text = "".join((PICTURES.parent / "parts" / f"{part}.html").read_text(encoding="utf-8") for part in PARTS)
    shown = set(re.findall(r'src="([^"]+)"', text))
    held = {path.name: path.stat().st_size for path in PICTURES.glob("*.png")}
    assert set(held) == shown
    assert sum(held.values()) < MOST_BYTES
    for name in held:
        with Image.open(PICTURES / name) as image:
            assert image.width >= 600


def test_guide_opens_in_the_browser(tmp_path: Path) -> None:
    """With a stand-in for the browser that keeps the address it was given."""
    browser, given = tmp_path / "browser", tmp_path / "given"
    browser.write_text(f'#!/bin/sh\nprintf "%s" "$1" > "{given}"\n')
    browser.chmod(0o755)
    places = {"BROWSER": f"{browser} %s", "XDG_CACHE_HOME": str(tmp_path / "cache"), "HOME": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-m", "xlsengine", "guide"], env=os.environ | places, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("opened ")
    address = given.read_text()
    assert Path(address.removeprefix("file://")).read_text(encoding="utf-8") == guide()


def test_guide_is_written_where_it_is_wanted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "guide.html"
    assert run("guide", "-o", target) == 0
    assert target.read_text(encoding="utf-8") == guide()
    assert run("guide", "-o", target) == 2
    assert "--overwrite" in capsys.readouterr().err


def test_guide_on_a_phone_and_without_a_network(browser: Browser, tmp_path: Path) -> None:
    target, wrong = tmp_path / "guide.html", list[str]()
    target.write_text(guide(), encoding="utf-8")
    page = browser.new_context(offline=True, viewport={"width": 390, "height": 844}).new_page()
    page.on("console", lambda message: wrong.append(message.text))
    page.goto(target.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.evaluate("[...document.images].every(image => image.naturalWidth > 0)")
    page.get_by_role("link", name="You were sent a workbook").click()
    assert page.url.endswith("#reader")
    assert wrong == []
