"""The page in a real browser: sorting, filtering, download, keyboard, print, without a network; and its texts."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import pytest

import xlsengine
from tests.publish.published_benches import session
from xlsengine.bench.advice.short_answers import BURSTS_TITLE, HELD_TITLE
from xlsengine.cautions import CAUTIONS, DEFERENCE
from xlsengine.publish.assessed import Publication, Published
from xlsengine.publish.content import HEADERS
from xlsengine.publish.page import html
from xlsengine.publish.tables import readings_csv

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

SVG = "{http://www.w3.org/2000/svg}"
WIDE, PHONE = (1920, 1080), (390, 844)


def page_of(assessment: xlsengine.Assessment, name: str = "motor") -> str:
    publication = Publication(assessment)
    readings = readings_csv(assessment.scope)
    return html(publication.content, assessment.headlines(), publication.charts_svg(), readings, name)


class Texts(HTMLParser):
    """Collects what a reader sees."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_data(self, data: str) -> None:
        self.found.append(" ".join(data.split()))


def texts_of(page: str) -> list[str]:
    parser = Texts()
    parser.feed(page)
    return [text for text in parser.found if text]


def test_page_says_what_the_workbook_says(assessment: xlsengine.Assessment) -> None:
    content, said = Publication(assessment).content, texts_of(page_of(assessment))
    for text in (content.title, content.disclosure, content.motor, content.conditions, content.air.line, DEFERENCE):
        assert text in said
    for answer in content.answers:
        assert {answer.title, answer.line, answer.words} <= set(said)
    for line in content.lines:
        assert {line.prop, *filter(None, line.shown)} <= set(said)
    assert {caution.full for caution in CAUTIONS} <= set(said)
    assert any(f"{content.left_out} * Amps in the air:" in text for text in said)  # * of "In flight* (A)"


def test_page_stands_alone(assessment: xlsengine.Assessment) -> None:
    """Nothing is loaded from elsewhere: no link, source or address but the download inside the page."""
    page = page_of(assessment)
    assert re.findall(r'(?:href|src)="(?!data:text/csv)', page) == []
    assert set(re.findall(r"https?://[^\s\"'<]+", page)) == {"http://www.w3.org/2000/svg"}
    assert page == page_of(assessment)


def test_what_a_person_typed_stays_text() -> None:
    hostile = '<script>alert(1)</script>"onload="x'
    page = page_of(session(2, [3, 4], name=hostile + " {}"))
    assert "<script>alert" not in page
    assert page.count("<script>") == 1
    assert f"{hostile} A" in texts_of(page)


def test_charts_are_whole_svg_with_titles_and_descriptions(assessment: xlsengine.Assessment) -> None:
    charts = Publication(assessment).charts_svg()
    assert "Thrust at full throttle, by propeller" in charts
    assert "Thrust against throttle" in charts
    for title, text in charts.items():
        root = ElementTree.fromstring(text)
        named = root.get("aria-labelledby", "").split()
        said = {
            part.get("id"): part.text
            for part in (root.find(f"{SVG}title"), root.find(f"{SVG}desc"))
            if part is not None
        }
        assert list(said) == named
        assert said[named[0]] == title
        assert len(said[named[1]] or "") > 30
        assert "style" not in text
        assert text == Publication(assessment).charts_svg()[title]


def test_bars_of_the_svg_are_as_long_as_their_figures(assessment: xlsengine.Assessment) -> None:
    """Full-throttle thrust of the workbook's Summary, read off the drawing."""
    root = ElementTree.fromstring(Publication(assessment).charts_svg()["Thrust at full throttle, by propeller"])
    long = sorted(float(box.get("width", 0)) for box in root.iter(f"{SVG}rect") if box.get("height") == "23")
    thrusts = sorted(line.numbers[0] or 0.0 for line in Publication(assessment).content.lines)
    assert len(long) == len(thrusts) == 6
    assert [each / long[-1] for each in long] == pytest.approx([each / thrusts[-1] for each in thrusts], abs=1e-3)


def test_headline_holds_plain_values(assessment: xlsengine.Assessment) -> None:
    said = Publication(assessment).headline()
    assert said["title"] == "Tarrowby (invented) Thimble 2207"
    titles = [str(answer["title"]) for answer in said["answers"][:2]]
    assert titles == [BURSTS_TITLE, HELD_TITLE]  # Thimble's Craft says short bursts
    assert said["in_flight"]["line"].endswith(" A")
    assert said["figures"] == assessment.headlines()


@pytest.fixture
def opened(browser: Browser, published: Published) -> Iterator[Page]:
    """Return the published page, opened without a network; an error of its script or policy fails the test."""
    context = browser.new_context(viewport={"width": WIDE[0], "height": WIDE[1]}, offline=True, accept_downloads=True)
    page, wrong = context.new_page(), []
    page.on("console", lambda message: wrong.append(message.text))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on(
        "request", lambda request: wrong.append(request.url) if not request.url.startswith(("file:", "data:")) else None
    )
    page.goto(next(path for path in published.files if path.suffix == ".html").as_uri())
    yield page
    context.close()
    assert wrong == []


def column(page: Page, place: int) -> list[str]:
    return page.locator(f"#figures tbody tr:not([hidden]) > :nth-child({place})").all_inner_texts()


def test_sorting_by_click_and_by_key(opened: Page) -> None:
    thrust = opened.get_by_role("button", name="Thrust (g)")
    thrust.click()
    shown = [int(text.replace(",", "")) for text in column(opened, 3)]
    assert len(shown) == 6
    assert shown == sorted(shown)
    thrust.focus()
    opened.keyboard.press("Enter")
    assert column(opened, 3) == [f"{each:,}" for each in sorted(shown, reverse=True)]
    assert opened.locator("th[aria-sort=descending]").inner_text().startswith("Thrust")
    opened.get_by_role("button", name="Propeller").click()
    assert column(opened, 1) == sorted(column(opened, 1))


def test_filtering_is_told_to_a_screen_reader(opened: Page) -> None:
    opened.get_by_label("Propeller contains").fill("6.5X")
    assert {text.split("x")[0] for text in column(opened, 1)} == {"6.5"}
    opened.get_by_label("Cells").select_option("5")
    assert set(column(opened, 2)) == {"5"}
    assert opened.get_by_role("status").inner_text() == "2 of 6 rows shown"
    opened.get_by_label("Propeller contains").fill("nothing like it")
    assert opened.get_by_role("status").inner_text() == "0 of 6 rows shown"


def test_keyboard_reaches_everything_in_order(opened: Page) -> None:
    reached = []
    for _ in range(len(HEADERS) + 8):
        opened.keyboard.press("Tab")
        reached.append(
            opened.evaluate(
                "document.activeElement.tagName + ':' + (document.activeElement.id || "
                "document.activeElement.innerText.trim())"
            )
        )
    assert reached[:2] == ["INPUT:by-name", "SELECT:by-cells"]
    assert "BUTTON:Propeller" in reached
    assert "A:Download the readings (.csv)" in reached


def test_download_is_the_readings(opened: Page, published: Published, tmp_path: Path) -> None:
    with opened.expect_download() as waiting:
        opened.get_by_role("link", name="Download the readings").click()
    saved = tmp_path / "readings.csv"
    waiting.value.save_as(saved)
    assert waiting.value.suggested_filename == "thimble-2207 readings.csv"
    beside = next(path for path in published.files if path.name.endswith("readings.csv"))
    assert saved.read_bytes() == beside.read_bytes()
    rows = list(csv.DictReader(io.StringIO(saved.read_text("utf-8-sig"))))
    assert len(rows) == 31
    assert sum(row["Counts"] == "no" for row in rows) == 3


def test_nothing_runs_out_of_a_phones_width(opened: Page) -> None:
    opened.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    assert opened.evaluate("document.documentElement.scrollWidth") <= PHONE[0]
    smallest = opened.evaluate(
        "Math.min(...[...document.querySelectorAll('figure svg text')].map(t => t.getBoundingClientRect().height))"
    )
    assert smallest >= 7


def test_print_shows_every_row_and_no_tools(opened: Page) -> None:
    opened.emulate_media(media="print")
    assert not opened.get_by_label("Propeller contains").is_visible()
    assert opened.locator("#figures tbody tr").count() == 6
    assert not opened.get_by_role("link", name="Download the readings").is_visible()
    assert opened.pdf(format="A4", landscape=True).startswith(b"%PDF")


def test_page_reads_without_its_script(browser: Browser, published: Published) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(next(path for path in published.files if path.suffix == ".html").as_uri())
    assert page.locator("#figures tbody tr").count() == 6
    assert not page.locator(".tools").is_visible()
    context.close()
