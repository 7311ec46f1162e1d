"""The pictures: their size, what stands on them, held against the workbook's cells; nothing is cut off in silence."""

import re
from contextlib import closing
from dataclasses import replace
from io import BytesIO
from itertools import combinations
from pathlib import Path

import openpyxl
import pytest
from PIL import Image

import xlsengine
from tests.judged.worked_benches import SESSION, assessed
from tests.publish.published_benches import LONG, SESSIONS, session
from xlsengine.bench.advice.short_answers import HELD_TITLE
from xlsengine.bench.inputs.bench_test import Value
from xlsengine.bench.inputs.craft import BURSTS, HOVER
from xlsengine.publish.assessed import Publication
from xlsengine.publish.content import HEADERS, HELD, THRUST
from xlsengine.publish.drawing import Drawing, text_width, wrap
from xlsengine.publish.pictures import TALL, WIDE, alt_text, drawn, picture

DEMOS = Path(__file__).parent.parent.parent / "demo_inputs"
SHOWN = {
    "Thrust (g)": "{:,.0f}",
    "Current (A)": "{:.1f}",
    "g/W": "{:.2f}",
    "In flight* (A)": "{}",
    "ESC held (A)": "{:.0f}",
}


Box = tuple[float, float, float, float, str]
"""Left, top, right and bottom of a text."""


def texts(page: Drawing) -> list[str]:
    return [shape.text for shape in page.shapes if shape.tag == "text"]


def report_page(path: Path) -> dict[tuple[int, int], str | float]:
    """Return the filled cells of the Report by row and column, formulas with their stored values."""
    with closing(openpyxl.load_workbook(path, read_only=True, data_only=True)) as book:
        return {
            (cell.row, cell.column): cell.value
            for row in book["Report"].iter_rows(max_col=30)
            for cell in row
            if isinstance(cell.value, str | float | int)
        }


def report_cells(page: dict[tuple[int, int], str | float]) -> dict[str, list[str]]:
    """Return propeller → its figures as the Report shows them, all cell counts, read by header from the page."""
    head = min(row for (row, column), value in page.items() if column == 1 and value == "Propeller")
    headers = {column: str(value) for (row, column), value in page.items() if row == head and value in SHOWN}
    shown: dict[str, list[str]] = {}
    for row in range(head + 1, head + 30):
        name = str(page.get((row, 1), "*"))
        if name.startswith(("*", "At full")):
            break
        found = [SHOWN[header].format(page[row, column]) for column, header in headers.items() if (row, column) in page]
        shown[name.removesuffix(" ◄").removesuffix(" ¹")] = found
    return shown


@pytest.mark.parametrize("name", ["gherkin-2207", "thimble-2207", "colander-2306"])
def test_figures_are_those_of_the_report(name: str, tmp_path: Path) -> None:
    assessment = xlsengine.evaluate(xlsengine.read_bench_test(DEMOS / f"{name}.xlsx"))
    path = xlsengine.write_results(assessment, tmp_path / "results.xlsx")
    page = report_page(path)
    content = Publication(assessment).content
    wanted = report_cells(page)
    assert list(wanted) == list(content.props)
    assert all(len(figures) >= 5 for figures in wanted.values())
    for size in (WIDE, TALL):
        said = texts(drawn(content, size)[0])
        for prop, figures in wanted.items():
            assert prop in said
            if size == WIDE:
                assert [
                    figure for figure in figures if figure not in [text.split(" p")[0].lstrip("● ") for text in said]
                ] == []
    cells = {str(value) for value in page.values()}
    for answer in Publication(assessment).headline()["answers"]:
        assert set(answer.values()) <= cells
    assert {content.disclosure, content.conditions, content.motor} <= cells
    assert any(content.left_out in cell for cell in cells)


@pytest.mark.parametrize("name", SESSIONS)
def test_nothing_is_cut_runs_out_of_the_page_or_lies_over_another(name: str) -> None:
    """Each text's rectangle, by the type's own measures, is within the page and clear of all others."""
    content = Publication(SESSIONS[name]()).content
    for size in (WIDE, TALL):
        page, props = drawn(content, size)
        assert page.shortened == []
        boxes = []
        for text, about in ((shape.text, shape.attributes) for shape in page.shapes if shape.tag == "text"):
            size_of, y = about["font-size"], about["y"]
            wide = text_width(text, size_of, "font-weight" in about)
            left = about["x"] - {"start": 0.0, "middle": wide / 2, "end": wide}[about.get("text-anchor", "start")]
            assert left >= 0, text
            assert left + wide <= page.width + 1, text
            assert size_of <= y <= page.height, text
            assert size_of >= 16, text
            boxes.append((left, y - 0.73 * size_of, left + wide, y, text))
        assert [
            (one[4], other[4]) for one, other in combinations(boxes, 2) if one[4] and other[4] and over(one, other)
        ] == []
        said = " ".join(texts(page)).replace("\u00a0", " ")
        more = len(content.props) - len(props)
        assert [prop for prop in props if prop not in said] == []
        assert more == 0 or f"{more} more propeller" in said
        for answer in (content.answers[0], content.answers[1], content.air):
            assert answer.line in said, answer.line


def over(one: Box, other: Box) -> bool:
    return one[0] < other[2] - 1 and other[0] < one[2] - 1 and one[1] < other[3] - 1 and other[1] < one[3] - 1


@pytest.mark.parametrize("size", [WIDE, TALL], ids=["wide", "tall"])
def test_a_picture_is_a_png_of_its_size_with_its_alt_text_and_the_same_every_time(size: tuple[int, int]) -> None:
    content = Publication(session(3, [3, 4])).content
    made = picture(content, size)
    image = Image.open(BytesIO(made))
    assert (image.format, image.size) == ("PNG", size)
    assert image.info["Description"] == alt_text(content, size)
    assert made == picture(Publication(session(3, [3, 4])).content, size)
    assert len(made) < 150_000


def test_long_names_are_told() -> None:
    content = Publication(session(3, [3, 4], name=LONG)).content
    for size in (WIDE, TALL):
        page, _ = drawn(content, size)
        assert page.shortened
        said = " ".join(texts(page)).replace("\u00a0", " ")
        assert "Texts that end in … are whole on the page." in said


def test_what_decides_and_what_is_best_is_always_shown() -> None:
    """Of 36 propellers the last by thrust has the most grams per watt: it is on the picture all the same."""
    assessment = session(36, [4])
    content = Publication(assessment).content
    _, props = drawn(content, WIDE)
    best = max(content.lines, key=lambda line: line.numbers[5] or 0.0).prop
    assert {best, *content.deciding} <= set(props)


@pytest.mark.parametrize(("share", "tie"), [(0.999, True), (0.9, False)])
def test_what_ties_with_the_best_is_marked_as_it_is(share: float, tie: bool) -> None:
    """A thousandth of the thrust is within its ±, as on the Report; a tenth is not."""
    other = [row | {"prop": "6x4 B", "thrust": row["thrust"] * share} for row in SESSION]
    content = Publication(assessed([*SESSION, *other])).content
    assert [content.is_best(line, THRUST) for line in content.lines] == [True, tie]


def test_alt_text_answers_what_the_picture_answers() -> None:
    content = Publication(session(3, [3, 4])).content
    said = alt_text(content, WIDE)
    assert "3S and 4S" in said
    assert re.search(r"ESC for full throttle held .*: \d+ A on 3S, \d+ A on 4S", said)
    assert content.air.line in said
    assert "static bench" in said


def test_wrapping_keeps_a_number_with_its_unit() -> None:
    assert wrap("means of 2.0 s", 20, text_width("means of 2.0", 20)) == ["means of", "2.0\u00a0s"]


def test_no_answer_says_why_as_the_other_answers_do() -> None:
    said = Publication(assessed(SESSION, {"pack_cells": 6.0})).headline()
    for answer in (said["in_flight"], *said["answers"]):
        assert (answer["line"], answer["words"]) == ("No answer", "Because it was not tested on 6S (tested: 4S).")


@pytest.mark.parametrize("name", ["thimble-2207", "colander-2306"])
def test_readers_get_the_sizes_of_every_propeller_and_not_those_of_the_testers_craft(name: str) -> None:
    """The largest of each cell count in the table, held against the headline; the table stands on both pictures."""
    test = xlsengine.read_bench_test(DEMOS / f"{name}.xlsx")
    smallest = min(Publication(xlsengine.evaluate(test)).content.lines, key=lambda line: line.numbers[HELD] or 99.0)
    own: dict[str, Value] = {
        "craft_propeller": smallest.prop,
        "pack_cells": float(smallest.cells),
        "motor_count": 4.0,
        "all_up_mass": 700.0,
    }
    content = Publication(xlsengine.evaluate(replace(test, fields={**test.fields, **own}))).content
    most = {
        cells: max(line.numbers[HELD] or 0 for line in content.lines if line.cells == cells)
        for cells in content.cell_counts
    }
    held = next(answer for answer in content.answers if answer.title == HELD_TITLE)
    assert held.line == ", ".join(f"{size:.0f} A on {cells}S" for cells, size in most.items())
    assert content.answers[-1].title == "The tester's craft"
    for size in (WIDE, TALL):
        assert "ESC A" in texts(drawn(content, size)[0])


def test_one_size_says_for_which_cell_count_it_is() -> None:
    content = Publication(assessed(SESSION)).content
    assert [answer.line.endswith("A or larger on 4S") for answer in content.answers[:2]] == [True, True]


def test_amps_by_airspeed_say_at_which() -> None:
    rows = [{**row, "speed": 21000.0} for row in SESSION]
    craft = {"airspeed": 15.0, "way_of_flying": BURSTS}
    assert "at 15 m/s by the propeller's own speed" in Publication(assessed(rows, craft)).content.estimate
    assert "m/s" not in Publication(assessed(SESSION, craft)).content.estimate


def test_amps_as_on_the_bench_are_one_figure() -> None:
    content = Publication(assessed(SESSION, {"way_of_flying": HOVER})).content
    highest = max(line.numbers[HEADERS.index("Highest (A)")] or 0.0 for line in content.lines)
    assert content.air.line == f"{highest:.1f} A"
    assert content.air.words.endswith("; the highest on the bench")
    assert "Amps are means; in the air: the highest on the bench" in content.estimate


def test_the_condition_of_a_size_in_bursts_is_whole() -> None:
    """In the longest sentence of it: no peak counts, so that a factor stands in."""
    rows = [{**row, "prop": "10x4.7 SF", "kind": "steady"} for row in SESSION]
    content = Publication(assessed(rows, {"way_of_flying": BURSTS})).content
    for size in (WIDE, TALL):
        page = drawn(content, size)[0]
        said = " ".join(texts(page)).replace("\u00a0", " ")
        assert (
            "no peak counts: 1.25 times its highest reading), if its burst rating is at least 1.15 times its size"
            in said
        )
        assert page.shortened == []


def test_the_pictures_say_what_the_answers_assume() -> None:
    said = " ".join(texts(drawn(Publication(assessed(SESSION)).content, WIDE)[0])).replace("\u00a0", " ")
    assert "if its burst rating is at least 1.15 times its size" in said
    assert "never choose an ESC by the estimate alone" in said
    assert "wind tunnels mostly show more" in said
