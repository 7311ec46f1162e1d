"""What a reader sees of the figures in a results workbook: charts, colours, links, print areas, limits of cells.

Each is held against what the labels beside it say, as a table of this folder has them, not against what wrote it.
"""

import re
from typing import Any

import pytest
from openpyxl.utils import column_index_from_string, get_column_letter, range_boundaries

from tests.judged import labels
from tests.judged.full_bench import LEFT_OUT, ROWS
from tests.judged.workbook_by_labels import ChartAxes, Workbook, hue, is_bar, text_of


@pytest.fixture(scope="module")
def workbook(shown_workbook: Workbook) -> Workbook:
    return shown_workbook


# --- charts ------------------------------------------------------------------------------------------------------


def of_cells(workbook: Workbook, source: tuple[str, str], cells: int) -> list[Any]:
    """Return a column of Readings in rows that count with a cell count, None elsewhere."""
    values, counts = workbook.column(*source), workbook.column("Readings", "Cells")
    return [
        value if count == cells and place not in LEFT_OUT else None
        for place, (value, count) in enumerate(zip(values, counts, strict=False))
    ]


def same(found: list[Any], wanted: list[Any]) -> bool:
    numbers = [(a, b) for a, b in zip(found, wanted, strict=False) if (a, b) != (None, None)]
    return bool(numbers) and all(None not in pair and pair[0] == pytest.approx(pair[1]) for pair in numbers)


def axes(chart: Any) -> tuple[str, str]:
    return text_of(chart.x_axis.title), text_of(chart.y_axis.title)


@pytest.mark.parametrize("title", labels.BY_CELLS)
def test_charts_by_cell_count(workbook: Workbook, title: str) -> None:
    wanted: ChartAxes = labels.BY_CELLS[title]
    chart = workbook.charts(labels.CHART_SHEET)[title]
    assert axes(chart) == (wanted.x, wanted.y)
    drawn = workbook.drawn(chart)
    assert [series.name for series in drawn] == ["3S", "4S"]
    for series, cells in zip(drawn, (3, 4), strict=True):
        assert series.x_header == wanted.x_from[1]
        assert same(
            [x if y is not None else None for x, y in zip(series.x, series.y, strict=True)],
            [
                x if y is not None else None
                for x, y in zip(
                    of_cells(workbook, wanted.x_from, cells), of_cells(workbook, wanted.y_from[0], cells), strict=True
                )
            ],
        )
        assert same(series.y, of_cells(workbook, wanted.y_from[0], cells))


@pytest.mark.parametrize("title", labels.BY_FIGURE)
def test_charts_of_figures_at_speed(workbook: Workbook, title: str) -> None:
    wanted = labels.BY_FIGURE[title]
    chart = workbook.charts(labels.CHART_SHEET)[title]
    assert axes(chart) == (wanted.x, wanted.y)
    drawn = workbook.drawn(chart)
    assert [series.name for series in drawn] == [header for _, header in wanted.y_from]
    for series, source in zip(drawn, wanted.y_from, strict=True):
        values, speeds = workbook.column(*source), workbook.column(*wanted.x_from)
        for place in LEFT_OUT:
            values[place] = speeds[place] = None
        assert series.x_header == wanted.x_from[1].partition(" (")[0]
        assert same([x or None for x in series.x], speeds)
        assert same(series.y, values)
        assert same(workbook.cells_of(series.bars), workbook.column(source[0], f"± {source[1]}"))


def test_the_report_draws_bars_by_propeller_and_cell_count(workbook: Workbook) -> None:
    on_report = workbook.charts("Report")
    assert tuple(on_report) == labels.ON_REPORT
    for title, (sheet, header) in labels.REPORT_BARS.items():
        wanted = dict(zip(workbook.column("Summary", "Cells"), workbook.column(sheet, header), strict=True))
        drawn = workbook.drawn(on_report[title])
        assert [series.name for series in drawn] == ["3 cells", "4 cells"]
        for series, cells in zip(drawn, (3, 4), strict=True):
            assert series.y == [wanted[cells]]
            assert str(series.x[0]).startswith("6x4")
    assert workbook.drawn(on_report[labels.PER_WATT])[0].x == [200, 300, 500, 750, 1000, 1500]


def test_axes_begin_at_zero_and_every_chart_has_another_colour_and_mark_a_series(workbook: Workbook) -> None:
    for chart in workbook.charts(labels.CHART_SHEET).values():
        bars = is_bar(chart.series[0])
        assert (0 if bars else chart.x_axis.scaling.min, chart.y_axis.scaling.min) == (0, 0)
        looks = [look(series) for series in chart.series]
        assert len(set(looks)) == len(looks)


def look(series: Any) -> tuple[str, ...]:
    """Return what tells a series from others: bars by their fill, lines and marks by mark, fill and dash."""
    if is_bar(series):
        return (str(series.spPr.solidFill), str(series.spPr.pattFill))
    inside = "" if series.marker.spPr is None else str(series.marker.spPr.solidFill)
    return (str(series.marker.symbol), inside, str(series.spPr.ln.prstDash))


def test_every_chart_is_in_the_table(workbook: Workbook) -> None:
    titles = {*labels.BARS, *labels.LINES, *labels.BY_CELLS, *labels.BY_FIGURE}
    assert set(workbook.charts(labels.CHART_SHEET)) == titles


# --- colours -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sheet", "word"), [(sheet, word) for sheet, words in labels.SHADED_WORDS.items() for word in words]
)
def test_a_word_has_the_colour_that_belongs_to_it(workbook: Workbook, sheet: str, word: str) -> None:
    assert workbook.fills(sheet)[word] == labels.SHADED_WORDS[sheet][word]


@pytest.mark.parametrize("sheet", labels.SHADED_WORDS)
def test_rules_cover_every_cell_that_holds_such_a_word(workbook: Workbook, sheet: str) -> None:
    """Each cell whose text is a verdict, a severity or a grade is shaded in the colour of that word, and in no other."""
    words, seen = labels.SHADED_WORDS[sheet], set()
    for row in workbook.book[sheet].iter_rows():
        for cell in row:
            text = str(cell.value or "")
            word = next((word for word in words if re.fullmatch(rf"(\d+ A )?{word}(, [+−][\d.]+ A)?", text)), None)
            if word is not None:
                seen.add(word)
                assert set(workbook.shaded(sheet, cell)) == {words[word]}, cell.coordinate
    assert seen


def test_amps_held_have_the_colour_of_the_verdict_above_them(workbook: Workbook) -> None:
    """By the row, odd or even, of the lower cell, and the word in the cell above it."""
    band = workbook.find("ESC", labels.ESC_BANDS["held"])
    first = band.offset(labels.ESC_HEADS, 0)
    asked = {
        rule.formula[0]: hue(str(rule.dxf.fill.bgColor.rgb))
        for area in workbook.formulas["ESC"].conditional_formatting
        for rule in area.rules
        if rule.type == "expression" and str(area.sqref).startswith(first.offset(1, 0).coordinate)
    }
    lower = (first.row + 1) % 2
    assert asked == {
        f'AND(MOD(ROW(),2)={lower},ISNUMBER(SEARCH("{word}",{first.coordinate})))': colour
        for word, colour in labels.VERDICTS.items()
    }


# --- links -------------------------------------------------------------------------------------------------------


def test_links_of_the_checks_lead_to_the_cell_that_they_name(workbook: Workbook) -> None:
    """Each line's link leads to the row of Readings that it speaks of: runs are numbered as the rows are."""
    links = workbook.links("Checks")
    assert links
    top, columns = workbook.header_row(labels.READINGS_TYPED)
    letters = {get_column_letter(column): name for name, column in columns.items()}
    judged = 0
    for coordinate, target in links.items():
        sheet, _, cell = target.partition("!")
        assert sheet in workbook.book.sheetnames, coordinate
        line = workbook.book["Checks"][coordinate].row
        number = workbook.book["Checks"].cell(line, columns_of_checks(workbook)["run"]).value
        if sheet == "Readings":
            judged += 1
            assert cell[0] in letters or cell.startswith("A")
            assert int(re.sub(r"\D", "", cell)) == top + int(number)
    assert judged


def columns_of_checks(workbook: Workbook) -> dict[str, int]:
    return workbook.header_row(labels.CHECK_LIST)[1]


def test_the_impossible_row_is_listed_with_its_link_and_words(workbook: Workbook) -> None:
    """7000 g at 15.6 V and 12 A on 6 in: more than ten times what momentum theory allows."""
    columns = columns_of_checks(workbook)
    sheet = workbook.book["Checks"]
    lines = [row for row in range(1, sheet.max_row + 1) if sheet.cell(row, columns["severity"]).value == "impossible"]
    assert lines
    for row in lines:
        assert sheet.cell(row, columns["run"]).value == 13
        texts = {name: sheet.cell(row, columns[name]).value for name in ("what", "found", "expected", "cause", "fix")}
        assert all(texts.values())
    (slip,) = [row for row in lines if sheet.cell(row, columns["what"]).value == "Decimal slip in thrust"]
    assert sheet.cell(slip, columns["found"]).value == "7,000 g"
    assert sheet.cell(slip, columns["expected"]).value == "near 700 g"


# --- print -------------------------------------------------------------------------------------------------------


def printed(workbook: Workbook, sheet: str) -> tuple[int, int, int, int]:
    area = str(workbook.formulas[sheet].print_area).rpartition("!")[2].replace("$", "")
    left, top, right, bottom = range_boundaries(area)
    assert left
    assert top
    assert right
    assert bottom
    return left, top, right, bottom


@pytest.mark.parametrize(
    ("sheet", "text"), [(sheet, text) for sheet, texts in labels.PRINTED.items() for text in texts]
)
def test_what_is_read_is_printed(workbook: Workbook, sheet: str, text: str) -> None:
    left, top, right, bottom = printed(workbook, sheet)
    cell = workbook.find(sheet, text)
    assert left <= cell.column <= right
    assert top <= cell.row <= bottom


@pytest.mark.parametrize(
    ("sheet", "text"), [(sheet, text) for sheet, texts in labels.NOT_PRINTED.items() for text in texts]
)
def test_what_only_formulas_read_is_not_printed(workbook: Workbook, sheet: str, text: str) -> None:
    left, _, right, bottom = printed(workbook, sheet)
    cell = workbook.find(sheet, text)
    hidden = workbook.formulas[sheet].column_dimensions
    folded = any(d.hidden and d.min <= cell.column <= d.max for d in hidden.values())
    assert folded or not left <= cell.column <= right or cell.row > bottom


@pytest.mark.parametrize("sheet", labels.REPEATED_ROWS)
def test_the_headers_stand_on_every_page(workbook: Workbook, sheet: str) -> None:
    first, last = (int(each) for each in re.findall(r"\d+", str(workbook.formulas[sheet].print_title_rows)))
    header = workbook.find(sheet, labels.REPEATED_ROWS[sheet])
    assert first <= header.row <= last


@pytest.mark.parametrize("sheet", labels.REPEATED_COLUMNS)
def test_what_names_a_row_stands_on_every_page(workbook: Workbook, sheet: str) -> None:
    inside, outside = labels.REPEATED_COLUMNS[sheet]
    first, last = (
        column_index_from_string(each) for each in re.findall(r"[A-Z]+", str(workbook.formulas[sheet].print_title_cols))
    )
    assert first == 1
    assert workbook.find(sheet, inside).column <= last
    if outside is not None:
        assert workbook.find(sheet, outside).column > last


@pytest.mark.parametrize("sheet", labels.PRINTED)
def test_pages_lie_on_their_side(workbook: Workbook, sheet: str) -> None:
    assert workbook.formulas[sheet].page_setup.orientation == "landscape"


# --- limits of typed cells -----------------------------------------------------------------------------------------


def validation(workbook: Workbook, sheet: str, coordinate: str) -> tuple[str, str, str]:
    rules = workbook.formulas[sheet].data_validations.dataValidation
    (rule,) = [rule for rule in rules if coordinate in rule.sqref]
    return str(rule.type), str(rule.formula1), str(rule.formula2 or "")


@pytest.mark.parametrize(("sheet", "header"), labels.VALIDATED)
def test_limits_of_a_column(workbook: Workbook, sheet: str, header: str) -> None:
    top = workbook.find(sheet, header)
    for row in (top.row + 1, top.row + len(ROWS)):
        found = validation(workbook, sheet, f"{get_column_letter(top.column)}{row}")
        assert found == labels.VALIDATED[sheet, header]


@pytest.mark.parametrize(("sheet", "label"), labels.VALIDATED_FIELDS)
def test_limits_of_a_field(workbook: Workbook, sheet: str, label: str) -> None:
    found = validation(workbook, sheet, workbook.field(sheet, label).coordinate)
    assert found == labels.VALIDATED_FIELDS[sheet, label]
