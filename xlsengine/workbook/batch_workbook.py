"""The workbook of a box of motors: empty to be filled, or with what its serials say; that one is an input again."""

from pathlib import Path
from typing import Any

from xlsengine.bench.boxes import batch as b
from xlsengine.bench.declaring.spoken import decimals_of
from xlsengine.bench.inputs.bench_test import BenchTest, columns_of
from xlsengine.expression import BLANK, Column, Constant, Named, Node, call, join
from xlsengine.study.batch import new_fields
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet, new_book
from xlsengine.workbook.chart_data import ChartCells
from xlsengine.workbook.charts import GRID, LINES, chart, font, where_drawn
from xlsengine.workbook.formats import (
    BAD_FILL,
    BLUE,
    GOOD_FILL,
    GREY,
    INK,
    MIDDLE_FILL,
    RULE,
    VERMILION,
    plain_number_format,
)
from xlsengine.workbook.input_sheets import make_table, place_parts, write_form_sheet, write_input_table
from xlsengine.workbook.layout import TITLE_ROWS, Block, Layout
from xlsengine.workbook.page_widths import MARGINS, last_printed
from xlsengine.workbook.sheets.method_sheet import HEADERS as METHOD_HEADERS
from xlsengine.workbook.sheets.method_sheet import line_of, symbol_of, write_lines
from xlsengine.workbook.sheets.parts import write_aside, write_table

LABEL, SERIALS_SHEET = "Label", "Serials"
_BLANK_ROWS = 50
_HOW_TO = "Fill in the cream cells of Label and Serials, save, then run: xlsengine batch FILE"
_CAUTION = (
    "Take the propeller off for every spin. Leads of a driven motor are live. Clamp the motor; keep fingers, hair and cords "
    "off the shaft. Measure resistance at rest, with the ESC disconnected, and all motors alike."
)
_SERIAL_WIDTHS = (18, 12, 11, 12, 12, 10, 30)


def write_batch_template(path: str | Path, overwrite: bool = False) -> Path:
    """Write the empty workbook of serials; returns its path. Raises `OutputRefused` as `write_input_workbook`."""
    blank = columns_of(b.SERIALS, ())
    layout = Layout()
    _place_inputs(layout, _BLANK_ROWS, derived=False)
    with new_book(path, overwrite, layout, "Box of motors, input") as book:
        _write_inputs(book, BenchTest(new_fields(), {b.SERIALS.name: blank}))
    return Path(path)


def write_batch(path: str | Path, scope: Scope, overwrite: bool = False) -> Path:
    """Write a box with all that follows from it, live; returns the path. Raises `OutputRefused` likewise."""
    layout = Layout()
    _place_inputs(layout, scope.rows(b.SERIALS.name), derived=True)
    with new_book(path, overwrite, layout, "Box of motors, results", scope) as book:
        for name in (NAME, LABEL, SERIALS_SHEET, RUN_SHEET, METHOD):
            book.sheet(name)
        _write_inputs(book, scope.test)
        write_batch_sheet(book)
        write_run_sheet(book)
        write_batch_method(book)
        book.put_live_cells()
        book.sheet(NAME).worksheet.activate()
    return Path(path)


def lines_of(scope: Scope) -> list[str]:
    """Return what a box comes to in a few lines: one a characteristic that was measured."""
    lines = [str(scope.named(b.headline.name))]
    for outcome in b.OUTCOMES:
        if scope.named(outcome.figures["count"].name) > 0:
            stands, why = (scope.named(outcome.figures[name].name) for name in ("verdict", "why"))
            lines.append(f"  {outcome.label}: {stands}. {why}")
    return lines


def _place_inputs(layout: Layout, rows: int, derived: bool) -> None:
    place_parts(layout, LABEL, [b.BATCH])
    place_parts(layout, SERIALS_SHEET, [b.SERIALS], {b.SERIALS.name: rows}, derived)


def _write_inputs(book: Book, box: BenchTest) -> None:
    sheet = write_form_sheet(book, LABEL, b.BATCH, box, "Label", b.BATCH.meaning)
    sheet.text(2, 0, _HOW_TO, book.formats.get(bold=True))
    sheet.print_setup()
    _write_serials(book, box)


def _write_serials(book: Book, box: BenchTest) -> None:
    sheet, block = book.sheet(SERIALS_SHEET), book.layout.blocks[b.SERIALS.name]
    sheet.heading("Serials", b.SERIALS.meaning)
    form = book.formats.get(bold=True, font_color=VERMILION, text_wrap=True, valign="vcenter")
    sheet.across(2, 0, len(b.SERIALS.fields) - 1, _CAUTION, form, height=34)
    write_input_table(sheet, b.SERIALS, box)
    make_table(sheet, b.SERIALS)
    sheet.height(block.top, 32)
    for column, name in enumerate(block.columns):
        is_typed = name in b.SERIALS.fields
        sheet.width(column, _SERIAL_WIDTHS[column] if is_typed else 9, not is_typed)
    sheet.worksheet.freeze_panes(TITLE_ROWS + 1, 1)
    sheet.print_setup(repeat=(TITLE_ROWS, TITLE_ROWS))
    used = block.rows if book.scope is None else book.scope.used_rows(b.SERIALS.name)
    sheet.worksheet.print_area(0, 0, last_printed(block, used), len(b.SERIALS.fields) - 1)


# --- the run chart of a characteristic -------------------------------------------------------------------------


_LIMITS = (
    ("mean", "mean", INK, "solid"),
    ("chart_low", "limits of chance", BLUE, "dash"),
    ("chart_high", "limits of chance, upper", BLUE, "dash"),
    ("low", "limits of the label", VERMILION, "long_dash_dot"),
    ("high", "limits of the label, upper", VERMILION, "long_dash_dot"),
)
_NOT_NAMED = [3, 5]  # the upper limits, in the legend


def draw_run(sheet: Sheet, cells: ChartCells, o: b.Outcome) -> tuple[Any, str]:
    """Return the run chart of a characteristic and its alt text; what it is drawn from is written beside the page."""
    rows, there = max(1, sheet.scope.rows(o.value.table)), b.run_serial.present()
    across = cells.across(Constant("Tested as"), there.where(b.run_place, BLANK), rows)
    motors = where_drawn(across, cells.up(Constant(o.label), o.value, rows))
    dot = {"type": "circle", "size": 6, "fill": {"color": INK}, "border": {"color": INK}}
    series = [{**motors, "marker": dot, "line": {"color": GREY, "width": 1.0, "dash_type": "solid"}}]
    for name, words, colour, dash in _LIMITS:
        limit = where_drawn(across, cells.up(Constant(words), there.where(o.figures[name], BLANK), rows))
        line = {"color": colour, "width": 1.75, "dash_type": dash}
        series.append({**limit, "marker": {"type": "none"}, "line": line})
    motors_tested = sheet.scope.named(o.figures["count"].name)
    return _drawn(sheet.book, series, o), (
        f"Run chart of {o.label}: {motors_tested:.0f} motors in the order of their tests, their mean, the limits that "
        "chance explains, and the limits of the label. The sheet Run chart lists the values."
    )


def _drawn(book: Book, series: list[dict[str, Any]], o: b.Outcome) -> Any:
    axis = {"name_font": font(10), "num_font": font(10, colour=GREY), "line": {"color": GREY}}
    order = {"name": "Motor, in the order of the tests", "min": 0, "num_format": "0", "crossing": 0}
    x = {**axis, **order, "major_gridlines": {"visible": False}, "label_position": "low"}
    lines = {"visible": True, "line": {"color": GRID, "width": 0.75}}
    shown = {"name": o.unit, "num_format": plain_number_format(o.shown)}
    y = {**axis, **shown, "major_gridlines": lines}
    legend = {"position": "right", "font": font(10), "delete_series": _NOT_NAMED}
    made = chart(book, LINES, series, (x, y), f"{o.label} ({o.unit})", 12, legend)
    made.show_hidden_data()
    return made


NAME, RUN_SHEET = "Batch", "Run chart"
# --- the sheet Batch -------------------------------------------------------------------------------------------


_WIDTHS = (124, 140, 54, 130, 62, 62, 160, 62, 62, 48, 48, 92, 112, 72, 72)  # pixels
_LAST = len(_WIDTHS) - 1
_TOP, _ROW = 3, 22
_CHART_HEIGHT, _GAP = 210, 8  # pixels
_CAVEATS = (
    "Every motor counts; none is left out as an outlier. An index and its interval hold where the values scatter normally, "
    "nothing drifts, and the motors were picked at random; a sample speaks for no more than the box it was picked from. "
    "Limits of the run chart: mean ± 2.66 times the mean range between neighbours in the order of the tests; from a "
    "handful of motors they are rough. Where it cannot be told, test more motors before the box is sent back or praised."
)


def write_batch_sheet(book: Book) -> None:
    """Write the sheet: b.headline, a row a characteristic, why, caveats, and the charts of what was measured."""
    sheet, formats = book.sheet(NAME), book.formats
    box = b.batch_box.present().where(join(", ", b.batch_box), "")
    named = join(b.batch_maker.present().where(join(b.batch_maker, " "), ""), b.batch_model, box)
    said = join(b.headline, b.batch_tester.present().where(join("; tested by ", b.batch_tester), ""))
    sheet.across(0, 0, _LAST, named, formats.title, height=28)
    sheet.across(1, 0, _LAST, said, formats.get(bold=True, font_size=12), height=20)
    for row, outcome in enumerate(b.OUTCOMES, start=_TOP + 1):
        _write_row(sheet, row, outcome)
    sheet.height(_TOP, 46)
    _shade(sheet)
    top = _TOP + len(b.OUTCOMES) + 2
    for row, o in enumerate(b.OUTCOMES, start=top):
        why = join(f"{o.label}: ", o.figures["why"], ".")
        sheet.across(row, 0, _LAST, why, formats.get(text_wrap=True), height=17)
    below = top + len(b.OUTCOMES)
    form = formats.get(text_wrap=True, valign="top", font_color=GREY)
    sheet.across(below, 0, _LAST, _CAVEATS, form, height=44)
    last = _write_charts(sheet, below + 2)
    write_aside(sheet, b.BATCH_FIGURES, _LAST + 4)
    sheet.widths(_WIDTHS, pixels=True)
    sheet.print_setup(one_page=True, margins=MARGINS)
    sheet.worksheet.center_horizontally()
    sheet.worksheet.print_area(0, 0, last, _LAST)


def _allowed(low: Named, high: Named, decimals: int, unit: str) -> Node:
    least, most = join("from ", low.fixed(decimals)), join("up to ", high.fixed(decimals))
    both = join(low.fixed(decimals), " to ", high.fixed(decimals))
    said = join(both.otherwise(least.otherwise(most)), f" {unit}")
    return (low.present() | high.present()).where(said, "no limit")


def _fixed(number: Node, decimals: Node) -> Node:
    return call("fixed", number, decimals)


def _columns(o: b.Outcome) -> tuple[tuple[Node | str, Node, int | None], ...]:
    """Return what heads each column and stands in it, with the decimals of numbers and None for texts."""
    f, shown, at_level = o.figures, o.shown, join(b.batch_confidence.fixed(0), " % between")
    sure, scatter = decimals_of(f["mean_width"], shown), decimals_of(f["s"], shown)
    mean = join(_fixed(f["mean"], sure), join(" ± ", _fixed(f["mean_width"], sure)).otherwise(""))
    spread = join(_fixed(f["s"], scatter), " (", _fixed(f["s_low"], scatter), " to ", _fixed(f["s_high"], scatter), ")")
    return (
        ("Measured", join(f"{o.label}, {o.unit}"), None),
        ("Label allows", _allowed(f["low"], f["high"], shown, o.unit), None),
        ("Motors", f["count"], 0),
        ("Mean", mean.otherwise(""), None),
        ("Mean against label", join(f["deviation"].fixed(1), " %").otherwise(""), None),
        ("s, % of the mean", join(f["s_share"].fixed(2), " %").otherwise(""), None),
        (join("s, and at ", at_level), spread.otherwise(""), None),
        ("Outside the label", f["outside"], 0),
        ("Beyond chance", f["beyond"], 0),
        ("Cp", f["cp"], 2),
        ("Cpk", f["cpk"], 2),
        (join("Cpk at ", at_level), join(f["cpk_low"].fixed(2), " to ", f["cpk_high"].fixed(2)).otherwise(""), None),
        ("How it stands", f["verdict"], None),
        (join("Motors for mean ±", b.wanted_mean_width.fixed(1), " %"), f["for_mean"], 0),
        (join("Motors for Cpk ±", b.wanted_index_width.fixed(2)), f["for_index"], 0),
    )


def _write_row(sheet: Sheet, row: int, outcome: b.Outcome) -> None:
    formats = sheet.book.formats
    look: dict[str, Any] = {"bottom": 1, "bottom_color": RULE, "shrink": True}
    for column, (head, node, decimals) in enumerate(_columns(outcome)):
        if outcome is b.OUTCOMES[0]:
            sheet.across(_TOP, column, column, head, formats.header)
        align = "left" if column < 2 else "center"
        number = {} if decimals is None else {"num_format": plain_number_format(decimals).removeprefix("#,##")}
        sheet.live(row, column, node, formats.get(**look, align=align, bold=column in (0, 12), **number))
    sheet.height(row, _ROW)


def _shade(sheet: Sheet) -> None:
    last = _TOP + len(b.OUTCOMES)
    verdicts = ((b.CAPABLE, GOOD_FILL), (b.OPEN, MIDDLE_FILL), (b.NOT_CAPABLE, BAD_FILL))
    sheet.shade_words((_TOP + 1, 12, last, 12), verdicts)
    more = {"bg_color": BAD_FILL, "bold": True}
    sheet.shade((_TOP + 1, 7, last, 8), more, type="cell", criteria=">", value=0)


def _write_charts(sheet: Sheet, top: int) -> int:
    """Draw what was measured, two beside each other; return the last row that they cover."""
    scope = sheet.scope
    cells = ChartCells(sheet, scope)
    drawn = [o for o in b.OUTCOMES if scope.named(o.figures["count"].name) > 0]
    width = sum(_WIDTHS) // 2 - _GAP
    for place, outcome in enumerate(drawn):
        drawn_run, described = draw_run(sheet, cells, outcome)
        down, across = (place // 2) * (_CHART_HEIGHT + _GAP), (place % 2) * (width + _GAP)
        where = {"x_offset": across, "y_offset": down, "object_position": 1}
        sheet.chart((top, 0), drawn_run, (width, _CHART_HEIGHT), described, **where)
    sheet.fold(30, max(30, sheet.worksheet.dim_colmax), 9)
    return top + (_CHART_HEIGHT + _GAP) * -(-len(drawn) // 2) // 20


def write_run_sheet(book: Book) -> None:
    """Write the motors in the order of their tests; what is outside of a limit is shaded."""
    sheet = book.sheet(RUN_SHEET)
    sheet.heading(
        "Run chart",
        "In the order of the tests. Orange: outside the label's limits; yellow: beyond what chance explains.",
    )
    block = write_table(sheet, b.RUN, 3, order=tuple(b.RUN.columns))
    for column, name in enumerate(block.columns):
        sheet.width(column, 14 if name == "run_serial" else 11, b.RUN.quantities[name].helper)
    for outcome in b.OUTCOMES:
        _shade_run(sheet, block, outcome)
    sheet.print_setup(repeat=(block.top, block.top))
    shown = [column for column, name in enumerate(block.columns) if not b.RUN.quantities[name].helper]
    sheet.worksheet.print_area(0, 0, last_printed(block, sheet.scope.used_rows(b.RUN.name)), shown[-1])
    sheet.worksheet.freeze_panes(block.top + 1, 2)


def _shade_run(sheet: Sheet, block: Block, o: b.Outcome) -> None:
    for mark, fill in ((o.outside, BAD_FILL), (o.beyond, MIDDLE_FILL)):
        style, asked = {"bg_color": fill, "bold": True}, f"={block.local(mark.name, 0)}=1"
        sheet.shade(block.area(o.value.name), style, type="formula", criteria=asked)


# --- the equations of a characteristic, on the sheet Method ----------------------------------------------------


METHOD = "Method"
_METHOD_WIDTHS = (34, 9, 8, 58, 36, 46)
_FIRST = b.OUTCOMES[0]
_NAMES = (
    "count mean s mean_width s_low s_high deviation s_share low high cp cp_low cp_high cpk cpk_width moved chart_low "
    "chart_high moved_high for_mean for_index"
)
_TOLD = (
    f"For {_FIRST.label}; {', '.join(each.label for each in b.OUTCOMES[1:])} alike. The index is of the spread over all "
    "motors of the box, not of that between neighbours; where the run chart shows a drift or a jump it says little."
)


def _symbol(cell: Column | Named) -> str:
    if isinstance(cell, Column):
        return symbol_of({table.name: table for table in (b.SERIALS, b.RUN)}[cell.table].declared(cell.name))
    return symbol_of(b.BATCH.fields.get(cell.name) or b.BATCH_FIGURES.quantities[cell.name])


def write_batch_method(book: Book) -> None:
    """Write the equations of one characteristic, which hold for the others too."""
    sheet = book.sheet(METHOD)
    sheet.heading(METHOD, _TOLD)
    sheet.widths(_METHOD_WIDTHS)
    sheet.row(3, METHOD_HEADERS[:-1], book.formats.header)
    quantities = [b.RUN.quantities[_FIRST.moved.name]]
    quantities += [b.BATCH_FIGURES.quantities[_FIRST.figures[name].name] for name in _NAMES.split()]
    lines = (line_of(each, _symbol) for each in (b.BATCH_FIGURES.quantities["batch_z"], *quantities))
    write_lines(sheet, 4, lines, _METHOD_WIDTHS)
    sheet.print_setup()
    sheet.print_nothing()
    sheet.worksheet.freeze_panes(4, 1)
