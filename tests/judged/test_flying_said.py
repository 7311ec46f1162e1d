"""What a type of flying, or none, decides: amps and ESC on Report, Craft and ESC, on the command line and of `find`.

The session of the other tests, 42.0 A at its peak: held it asks for 50 A, in bursts for 40 A, and 25 to 40 % less of
42.0 A is 25.2 to 31.5 A, shown outward. With a blank type of flying the ESC is that of full throttle held, the safer one,
and what to expect in flight goes from 25.2 A up to the 42.0 A of the stand, on every sheet.
"""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.command_line import run
from tests.judged import labels
from tests.judged.full_bench import on_three_cells
from tests.judged.workbook_by_labels import Workbook, written
from tests.judged.worked_benches import CRAFT, SESSION, assessed
from xlsengine import write_input_workbook
from xlsengine.library.store import Library

BURSTS, HELD, HOVER = "forward flight with short full throttle", "full throttle held", "hover / 3D / ducted"
TYPES = {"blank": None, "bursts": BURSTS, "held": HELD, "hover": HOVER}
HELD_TITLE, BURSTS_TITLE, _ = labels.REPORT_ANSWERS


@pytest.fixture(scope="module", params=TYPES)
def said(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Workbook]:
    name = str(request.param)
    path = tmp_path_factory.mktemp(name) / "flown.xlsx"
    return name, written(assessed(SESSION, CRAFT | {"way_of_flying": TYPES[name]}), path)


def beside(workbook: Workbook, sheet: str, *titles: str) -> list[str]:
    """Return titles in the order in which they stand on a sheet."""
    cells = {title: workbook.find(sheet, title) for title in titles}
    return sorted(titles, key=lambda title: (cells[title].row, cells[title].column))


def tile(workbook: Workbook, name: str) -> tuple[str, str]:
    """Return the large figure of a tile on Craft, and the words below it."""
    cell, sheet = workbook.find("Craft", labels.CRAFT_TILES[name]), workbook.book["Craft"]
    return str(sheet.cell(cell.row + 1, cell.column).value), str(sheet.cell(cell.row + 3, cell.column).value)


def test_what_is_flown_stands_first_everywhere(said: tuple[str, Workbook]) -> None:
    flying, workbook = said
    turned = flying == "bursts"
    wanted = [BURSTS_TITLE, HELD_TITLE] if turned else [HELD_TITLE, BURSTS_TITLE]
    assert beside(workbook, "Report", HELD_TITLE, BURSTS_TITLE) == wanted
    title = workbook.find("Report", labels.REPORT_SIZES)
    questions = [workbook.book["Report"].cell(title.row + down, title.column).value for down in (2, 3, 4)]
    held, launch, speed = labels.REPORT_QUESTIONS
    assert questions == ([launch, speed, held] if turned else [held, launch, speed])
    tiles = [labels.CRAFT_TILES[name] for name in (("bursts", "held") if turned else ("held", "bursts"))]
    if flying in ("held", "hover"):  # no burst answer: another one stands there
        tiles[1] = labels.CRAFT_TILES["stand_minutes"]
    assert beside(workbook, "Craft", *tiles) == tiles
    cell = workbook.find("ESC", labels.ESC_SENTENCES["esc_advice"])
    first = next(right.value for right in workbook.book["ESC"][cell.row][cell.column :] if right.value)
    assert first.startswith("ESC for short bursts" if turned else "ESC for full throttle held")


def test_the_sizes_stay_with_their_titles(said: tuple[str, Workbook]) -> None:
    flying, workbook = said
    sizes = {"held": "50 A"} | ({"bursts": "40 A"} if flying in ("blank", "bursts") else {})
    for name, size in sizes.items():
        assert tile(workbook, name)[0] == size
    for title, line in zip((HELD_TITLE, BURSTS_TITLE), ("50 A or larger", "40 A or larger"), strict=True):
        cell = workbook.find("Report", title)
        large = workbook.book["Report"].cell(cell.row + 1, cell.column).value
        none = title == BURSTS_TITLE and flying in ("held", "hover")
        assert large == ("As for full throttle held" if none else line)


def test_the_amps_in_flight_are_those_of_the_esc(said: tuple[str, Workbook]) -> None:
    flying, workbook = said
    value, words = tile(workbook, "flight")
    shown = {"bursts": "25–32 A", "blank": "25–42 A"}
    assert value == shown.get(flying, "42.0 A")
    basis = {
        "bursts": "rule of thumb, often more; 42.0 A static",
        "blank": "rule of thumb, or held, often more; 42.0 A static",
    }
    assert words == basis.get(flying, "as on the stand")
    esc = [str(cell.value) for row in workbook.book["ESC"].iter_rows() for cell in row]
    assert [text for text in esc if text.startswith("at speed ")] == (
        [f"at speed {shown[flying].removesuffix(' A')}"] if flying in shown else []
    )
    notes = [str(cell.value) for row in workbook.book["Report"].iter_rows() for cell in row if cell.value]
    (note,) = [text for text in notes if text.startswith("* ")]
    begins = {
        "blank": "* Forward flight (25 to 40 % less by rule of thumb, often more) to held (as static)",
        "bursts": "* Estimate: 25 to 40 %",
    }
    assert note.startswith(begins.get(flying, "* As static"))


def amps_in_flight(workbook: Workbook) -> list[object]:
    """Return what Readings shows beside 42.0 A, and what Report shows."""
    beside = [row["flight"].value for row in workbook.rows(labels.READINGS_TYPED) if row["current"].value == 42.0]
    shown = {name: place for name, place in labels.REPORT.headers.items() if name != "flight_size"}  # none where held
    return [*beside, workbook.rows(replace(labels.REPORT, headers=shown))[0]["flight"].value]


def test_readings_and_report_show_the_same_amps(said: tuple[str, Workbook]) -> None:
    """42.0 A less 40 and 25 %, outward."""
    flying, workbook = said
    assert amps_in_flight(workbook) == [{"bursts": "25–32", "blank": "25–42"}.get(flying, "42")] * 2


def test_a_pitch_that_is_not_known_reduces_no_amps_and_they_may_rise(tmp_path: Path) -> None:
    rows = [row | {"pitch": None} for row in SESSION]
    assert amps_in_flight(written(assessed(rows, {}), tmp_path / "flown.xlsx")) == ["≥42"] * 2


def test_where_no_peak_was_read_esc_shows_the_same_amps_at_speed(tmp_path: Path) -> None:
    """38.0 A steady alone: 22.8 to 28.5 A in flight on every sheet, and 1.25 times it is what a size is judged by."""
    steady = [row for row in SESSION if row["kind"] == "steady"]
    workbook = written(assessed(steady, {"way_of_flying": BURSTS}), tmp_path / "steady.xlsx")
    cell = workbook.find("ESC", labels.ESC_LEFT["current"])
    at_speed = workbook.book["ESC"].cell(cell.row + labels.ESC_HEADS, cell.column).value
    assert at_speed == "at speed 22–29 ×1.25"
    assert tile(workbook, "flight")[0] == "22–29 A"


def test_the_command_line_and_find_agree(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """50 A are needed held and 40 A in bursts, so that an ESC of 45 A fits where bursts are flown, and nowhere else."""
    for flying, way in TYPES.items():
        path, found = tmp_path / f"{flying}.xlsx", tmp_path / f"{flying} found.xlsx"
        test = assessed(SESSION, CRAFT | {"way_of_flying": way}).test
        write_input_workbook(test, path)
        assert run("results", path) == 0
        lines = [line.strip() for line in capsys.readouterr().out.splitlines()]
        first = next(line for line in lines if line.startswith(("ESC for short bursts", "ESC for full throttle held")))
        assert first.startswith("ESC for short" if flying == "bursts" else "ESC for full throttle held")
        library = str(tmp_path / f"{flying}.library")
        with Library(library).make() as shelf:
            shelf.add(test, path)
        words = ["--all-up-mass", "2000", "--motors", "4", "--thrust-to-weight", "1", "--esc-in-flight", "45"]
        flown = ["--flown-for", way] if way else []
        assert run("find", *words, *flown, "--library", library, "-o", found) == 0
        (row,) = Workbook(found).rows(labels.FOUND)
        assert (row["low"].value, row["high"].value) == pytest.approx(
            {"bursts": (25, 32), "blank": (25, 42.0)}.get(flying, (42.0, 42.0))
        )
        assert row["verdict"].value == ("fits" if flying == "bursts" else "borderline")


@pytest.mark.parametrize(("way", "word", "sizes"), [(BURSTS, "bursts", (40, 25)), (None, "held", (50, 35))])
def test_the_big_table_and_the_bars_name_the_size_for_what_is_flown(
    way: str | None, word: str, sizes: tuple[int, int], tmp_path: Path
) -> None:
    """On 3S 0.75 to the power 1.6 of the amps on 4S, 0.631: 50 and 40 A become 31.1 A held and 23.9 A in bursts."""
    three = [on_three_cells(row) for row in SESSION]
    workbook = written(assessed([*SESSION, *three], {"way_of_flying": way}), tmp_path / "two.xlsx")
    sheet = workbook.book["Report"]
    heads = [
        cell for row in sheet.iter_rows() for cell in row if str(cell.value).startswith("ESC ") and "(A)" in cell.value
    ]
    assert [cell.value for cell in heads] == [f"ESC {word.removesuffix('s')} (A)"] * 2
    assert [sheet.cell(cell.row + 1, cell.column).value for cell in heads] == list(reversed(sizes))
    names = [str(cell.value) for row in sheet.iter_rows() for cell in row if str(cell.value).startswith("6x4: ")]
    assert names == [f"6x4: {sizes[1]}/{sizes[0]}"]
