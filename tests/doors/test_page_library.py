"""The page with a library: its list, motors side by side, and results that are compared with their class."""

import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import openpyxl
import pytest
from playwright.sync_api import Browser, expect

from tests.command_line import run
from tests.doors.served import Served, serving
from tests.doors.test_page_browser import DONE, PATIENT, opened
from xlsengine.jobs import make_results, named_library
from xlsengine.library.listing import test_lines as lines_of
from xlsengine.library.store import Library
from xlsengine.workbook.reading.reader import read_bench_test

MOTORS = Path(__file__).parents[2] / "demo_inputs" / "library"
CLASS = ("bramble-2207.xlsx", "kettle-2207.xlsx", "parsnip-2207.xlsx")


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a library of three invented motors of a class."""
    place = tmp_path_factory.mktemp("shelf") / "bench.library"
    with Library(place) as library:
        for name in CLASS:
            library.add(read_bench_test(MOTORS / name), name)
    return place


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory, shelf: Path) -> Iterator[Served]:
    with serving(tmp_path_factory.mktemp("page"), "--library", str(shelf)) as page:
        yield page


def put_side_by_side(served: Served, numbers: str) -> tuple[int, dict[str, object]]:
    answer = httpx.post(f"{served.root}/compare", headers={**served.headers, "x-numbers": numbers}, timeout=120)
    return answer.status_code, answer.json() if answer.status_code == 200 else {}


def test_the_list_is_that_of_the_command(served: Served, shelf: Path) -> None:
    reply = served.get("/library").json()
    with Library(shelf) as library:
        listed = list(lines_of(library.tests()))[1:]
    assert [f"{number:>5}  " + "  ".join((*rest, f"thrust {last}")) for number, *rest, last in reply["tests"]] == listed
    assert len(listed) == 3


def test_side_by_side_is_that_of_the_command(served: Served, shelf: Path, tmp_path: Path) -> None:
    status, reply = put_side_by_side(served, "1 3")
    target = tmp_path / "both.xlsx"
    run("compare", 1, 3, "-o", target, "--library", shelf)
    assert status == 200
    assert served.get(f"/files/{reply['id']}/side").content == target.read_bytes()
    assert reply["verdicts"]


@pytest.mark.parametrize("numbers", ["", "1", "1 2 3 4 5", "1;2", "1 x", "1 -2", "../1 2", "1  2", "9999999999 1"])
def test_numbers_that_are_none_are_refused(served: Served, numbers: str) -> None:
    assert put_side_by_side(served, numbers)[0] == 400


def test_a_test_that_is_not_there_is_told(served: Served) -> None:
    status, reply = put_side_by_side(served, "1 77")
    assert status == 200
    assert "77: found no such test" in str(reply["error"])


def test_results_are_those_of_the_command_line_with_the_library(served: Served, shelf: Path, tmp_path: Path) -> None:
    path = MOTORS / "bramble-2207.xlsx"
    reply = served.hand_over(path.name, path.read_bytes()).json()
    taken = tmp_path / "taken.xlsx"
    taken.write_bytes(served.get(f"/files/{reply['id']}/results").content)
    outcome = make_results(path, tmp_path / "by command.xlsx", library=named_library(str(shelf)))
    same = taken.read_bytes() == Path(str(outcome.output)).read_bytes()
    assert same  # by itself, since to show where long bytes differ takes minutes
    assert "Comparison" in openpyxl.load_workbook(taken, read_only=True).sheetnames


CRAFT = {"all_up_mass": "1,9 kg", "motor_count": "4", "wanted_ratio": "3", "usable_capacity": "80"}


def found(served: Served, need: object) -> httpx.Response:
    return httpx.post(f"{served.root}/find", json=need, headers=served.headers, timeout=120)


def test_what_fits_a_craft_is_that_of_the_command(served: Served, shelf: Path, tmp_path: Path) -> None:
    reply = found(served, CRAFT).json()
    target = tmp_path / "found.xlsx"
    craft = ("--all-up-mass", 1900, "--motors", 4, "--thrust-to-weight", 3, "--usable", 80)
    run("find", *craft, "-o", target, "--library", shelf)
    assert served.get(f"/files/{reply['id']}/found").content == target.read_bytes()
    assert reply["counts"]["tests"] == 3
    verdict, motor, pair, thrust_to_weight, *_ = reply["pairs"][0]
    values = openpyxl.load_workbook(target, data_only=True)["Pairs"].iter_rows(values_only=True)
    headers = next(row for row in values if "Rank" in row)
    first = dict(zip(headers, next(values), strict=True))
    assert (verdict, motor) == ("fits", first["Motor"])
    assert pair == f"{first['Propeller']} on {first['Cells']}S"
    assert thrust_to_weight.startswith(f"{first['Thrust to weight']:.2f} ± {first['Thrust to weight, ±']:.2f}")


def test_what_is_wrong_with_a_need_is_told_field_by_field(served: Served) -> None:
    reply = found(served, {"all_up_mass": "heavy", "motor_count": "", "wanted_ratio": "99"}).json()
    assert [(fault["label"], fault["found"]) for fault in reply["faults"]] == [
        ("All-up mass", '"heavy"'),
        ("Thrust to weight", '"99"'),
        ("Number of motors", "nothing"),
    ]


@pytest.mark.parametrize("need", [[1], "x", 7, None, {"all_up_mass": "1" * 30_000}])
def test_what_is_no_need_is_refused(served: Served, need: object) -> None:
    assert found(served, need).status_code == 400


def test_without_a_library_there_is_none(tmp_path: Path) -> None:
    with serving(tmp_path) as page:
        assert page.get("/library").status_code == 404
        assert put_side_by_side(page, "1 2")[0] == 400
        assert found(page, CRAFT).status_code == 404
        assert re.search(r'<section id="library"[^>]* hidden>', page.get("/").text)


def test_two_are_chosen_and_put_side_by_side(browser: Browser, served: Served) -> None:
    for tab in opened(browser, served):
        page = tab.page
        expect(page.get_by_role("heading", name="Earlier tests")).to_be_visible()
        boxes, button = page.get_by_role("checkbox"), page.get_by_role("button", name="Put two to four side by side")
        expect(boxes).to_have_count(3, timeout=PATIENT)
        boxes.nth(0).check()
        expect(button).to_be_disabled()
        page.get_by_label("Show those with").fill("parsnip")
        expect(page.locator(".tests tbody tr:visible")).to_have_count(1)
        page.locator(".tests tbody tr:visible input").check()
        button.click()
        expect(page.locator(DONE)).to_have_count(1, timeout=PATIENT)
        assert "Who is ahead" in tab.said()
        with page.expect_download() as download:
            page.get_by_role("link", name="Workbook, side by side").click()
        assert download.value.suggested_filename == "side by side.xlsx"


def test_a_craft_is_filled_in_and_pairs_are_found(browser: Browser, served: Served) -> None:
    for tab in opened(browser, served):
        page = tab.page
        page.get_by_label("All-up mass (g) *").fill("1900")
        page.get_by_label("Number of motors *").fill("4")
        page.get_by_role("button", name="Find").click()
        expect(page.get_by_role("heading", name="The craft: 1 fault")).to_be_visible(timeout=PATIENT)
        page.get_by_label("Thrust to weight *").fill("3")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", name=re.compile("pairs? fits? the craft"))).to_be_visible(timeout=PATIENT)
        assert "a candidate to test, not a promise" in tab.said()
        with page.expect_download() as download:
            page.get_by_role("link", name="Workbook, all pairs").click()
        assert download.value.suggested_filename == "found.xlsx"
