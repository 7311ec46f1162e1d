"""The page in a real Chromium: drop, faults, fix, results, download, two at once, hostile files, the keyboard alone."""

import base64
import signal
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.doors.made_files import TABLE, THRUST, motor, typed
from tests.doors.served import Served, serving
from tests.instruments.editing import edited_copy
from xlsengine.jobs import check, make_results

PATIENT = 120_000  # milliseconds
DONE = "article:not([aria-busy])"
DROPPED = """([name, content]) => {
    const bytes = Uint8Array.from(atob(content), (sign) => sign.charCodeAt(0));
    const held = new DataTransfer(), zone = document.querySelector(".drop");
    held.items.add(new File([bytes], name));
    for (const kind of ["dragenter", "dragover", "drop"])
        zone.dispatchEvent(new DragEvent(kind, { dataTransfer: held, bubbles: true, cancelable: true }));
}"""


@dataclass
class Watched:
    """A tab, and what went wrong in it: errors, refusals by its policy, dialogs, and requests to elsewhere."""

    page: Page
    wrong: list[str] = field(default_factory=list)

    def drop(self, path: Path, name: str = "") -> None:
        """Drop a file, as from a file manager."""
        content = base64.b64encode(path.read_bytes()).decode()
        self.page.evaluate(DROPPED, [name or path.name, content])

    def choose(self, *paths: Path) -> None:
        self.page.set_input_files("#choose", [str(path) for path in paths])

    def wait_for(self, count: int = 1) -> None:
        expect(self.page.locator(DONE)).to_have_count(count, timeout=PATIENT)

    def elsewhere(self, address: str, root: str) -> None:
        """Note a request that leaves the page."""
        if not address.startswith(root):
            self.wrong.append(address)

    def said(self) -> str:
        return self.page.locator(DONE).first.inner_text()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with serving(tmp_path_factory.mktemp("page")) as page:
        yield page


@pytest.fixture
def tab(browser: Browser, served: Served) -> Iterator[Watched]:
    yield from opened(browser, served)


def opened(browser: Browser, served: Served, width: int = 1920, height: int = 1080) -> Iterator[Watched]:
    page = browser.new_page(viewport={"width": width, "height": height})
    watched = Watched(page)
    page.on("console", lambda said: watched.wrong.append(said.text))
    page.on("pageerror", lambda error: watched.wrong.append(str(error)))
    page.on("dialog", lambda dialog: watched.wrong.append(dialog.message))
    page.on("request", lambda asked: watched.elsewhere(asked.url, served.root))
    page.goto(served.address)
    yield watched
    assert watched.wrong == []
    page.close()


def test_drop_faults_fix_results_download(tab: Watched, tmp_path: Path) -> None:
    path = motor(tmp_path)
    bad = typed(path, {THRUST: "9..1"}, tmp_path / "bad.xlsx")
    tab.drop(bad, "motor.xlsx")
    tab.wait_for()
    expect(tab.page.get_by_role("heading", name="motor.xlsx: 1 fault")).to_be_visible()
    (fault,) = check(bad).faults
    row = tab.page.locator("table.faults tbody tr")
    assert row.locator("td").all_inner_texts() == [f"Readings K6\n{fault.label}", fault.found, fault.wanted, fault.fix]
    assert tab.page.get_by_role("link", name="Results workbook").count() == 0
    tab.drop(path)
    expect(tab.page.get_by_role("link", name="Results workbook")).to_be_visible(timeout=PATIENT)
    tab.wait_for(1)
    said = tab.said()
    outcome = make_results(path)
    assert outcome.answers is not None
    for headline in outcome.answers.headlines:
        assert headline["value"] is None or (headline["shown"] in said and headline["label"] in said)
    assert "40 A or larger" in said
    assert "Makers' ratings and local rules come before these figures." in said
    assert tab.page.locator("figure svg title").count() >= 2
    with tab.page.expect_download() as download:
        tab.page.get_by_role("link", name="Results workbook").click()
    assert download.value.suggested_filename == "motor results.xlsx"
    assert Path(download.value.path()).read_bytes() == Path(str(outcome.output)).read_bytes()
    with tab.page.expect_download(timeout=PATIENT) as picture:
        tab.page.get_by_role("link", name="Picture, wide").click()
    assert Path(picture.value.path()).read_bytes().startswith(b"\x89PNG")
    with tab.page.expect_download(timeout=PATIENT) as template:
        tab.page.get_by_role("link", name="Empty workbook").click()
    assert template.value.suggested_filename == "motor bench.xlsx"


def test_an_entry_about_the_bench_is_no_reading_and_a_count_of_all_no_warning(tab: Watched, tmp_path: Path) -> None:
    tab.drop(edited_copy(motor(tmp_path), tmp_path / "small.xlsx", [("Bench", "B12", 5.0)]))
    tab.wait_for()
    assert tab.page.locator(".caveat").first.inner_text() == "One entry looks odd: see what to do."
    assert tab.page.locator("p.lead").first.inner_text().strip() == "The reading counts."


def test_hostile_names_and_texts_stay_texts(tab: Watched, tmp_path: Path) -> None:
    script = "<script>alert(1)</script><img src=x onerror=alert(2)>"
    rows = f'"{script}",4,14.8,31,900,"{script}"\n"{script}",4,14.7,9,905,\n'
    table = tmp_path / "table.csv"
    table.write_text(TABLE.splitlines()[0] + "\n" + rows)
    tab.drop(table, "<img src=x onerror=alert(3)>.csv")
    tab.wait_for()
    assert script in (tab.page.locator(DONE).first.text_content() or "")
    assert script[:16] in (tab.page.locator("figure svg").first.text_content() or "")
    assert tab.page.locator("article img, article script").count() == 0


def test_what_is_no_workbook_is_told(tab: Watched, tmp_path: Path) -> None:
    path = tmp_path / "letter.xlsx"
    path.write_bytes(b"%PDF-1.7")
    tab.choose(path)
    tab.wait_for()
    assert "it is a PDF" in tab.said()
    assert str(tmp_path) not in tab.said()


def test_the_keyboard_alone_does_it(tab: Watched, tmp_path: Path) -> None:
    page = tab.page
    page.on("filechooser", lambda _: None)  # from now on no dialog opens that nobody could answer
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "choose"
    assert page.get_by_label("Drop a workbook here, or choose one").count() == 1
    with page.expect_file_chooser(timeout=PATIENT) as chooser:
        page.keyboard.press("Enter")
    chooser.value.set_files(str(motor(tmp_path)))
    tab.wait_for()
    assert page.evaluate("document.activeElement.tagName") == "H2"
    assert "results are ready" in page.get_by_role("status").inner_text()
    with page.expect_download() as download:
        for _ in range(4):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.textContent") == "Results workbook":
                page.keyboard.press("Enter")
                break
    assert download.value.suggested_filename == "motor results.xlsx"


def test_three_at_once_fit_a_phone_and_each_gets_its_own(browser: Browser, served: Served, tmp_path: Path) -> None:
    bad = typed(motor(tmp_path), {THRUST: "9..1"}, tmp_path / "bad.xlsx")
    small = typed(motor(tmp_path, "other.xlsx"), {THRUST: 802}, tmp_path / "small.xlsx")
    for tab in opened(browser, served, 390, 844):
        tab.choose(bad, small, Path(__file__).parents[2] / "demo_inputs" / "thimble-2207.xlsx")
        tab.wait_for(3)
        for name, thrust in (("small.xlsx", "802 g"), ("thimble-2207.xlsx", "1,575 g")):
            article = tab.page.locator(f'article[data-name="{name}"]')
            assert f"Highest static thrust\n{thrust}" in article.inner_text()
        ids = tab.page.evaluate("[...document.querySelectorAll('[id]')].map((each) => each.id)")
        assert len(ids) == len(set(ids))
        assert tab.page.evaluate("document.documentElement.scrollWidth") <= 390
        small_type = tab.page.evaluate(
            "[...document.querySelectorAll('main *')].filter((each) => each.childNodes.length && !each.closest('svg'))"
            ".map((each) => parseFloat(getComputedStyle(each).fontSize)).filter((size) => size < 14)"
        )
        assert small_type == []


def test_the_guide_opens_with_its_pictures(tab: Watched) -> None:
    with tab.page.expect_popup() as popup:
        tab.page.get_by_role("link", name="Guide with pictures").click()
    expect(popup.value.get_by_role("heading", level=1)).to_have_text("xlsengine: a guide", timeout=PATIENT)
    widths = popup.value.evaluate("[...document.images].map((each) => each.naturalWidth)")
    assert len(widths) > 3
    assert all(widths)
    popup.value.close()


def test_the_end_of_its_program_is_told(browser: Browser, tmp_path: Path) -> None:
    with serving(tmp_path) as ending:
        page = browser.new_page()
        page.goto(ending.address)
        ending.process.send_signal(signal.SIGKILL)
        ending.process.wait()
        page.set_input_files("#choose", str(motor(tmp_path)))
        expect(page.locator(DONE)).to_contain_text("the program behind this page has ended", timeout=PATIENT)
        page.close()
