"""Uncertainty: how sure each figure is, and where the doubt in a chosen one comes from."""

from __future__ import annotations

from xlsengine.bench import budget as b
from xlsengine.bench.accuracies import accuracies_basis
from xlsengine.bench.group_uncertainty import GROUP_UNCERTAINTY
from xlsengine.bench.repeatability import scatter_basis
from xlsengine.bench.settings import BUDGET_FIGURES, budget_figure, coverage
from xlsengine.bench.telling_apart import efficiency_apart, thrust_apart
from xlsengine.bench.uncertainty import INFINITE, Input
from xlsengine.expression import Node, call, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.formats import SKY
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.sheets.derived_table import place_table, write_table
from xlsengine.workbook.sheets.single_reading import place_singles, write_singles

NAME = "Uncertainty"
_BUDGET_TOP = 10
_LINES = (*b.SOURCES, None)
_TABLE_TOP = _BUDGET_TOP + len(_LINES) + 6
_SHOWN = tuple(name for name, declared in GROUP_UNCERTAINTY.columns.items() if not declared.helper)
_SPANS = ((0, 1), (2, 3), (4, 5), (6, 7), (8, 8), (9, 10))
_SCIENTIFIC = '0.00E+00;-0.00E+00;"–"'
_HEADERS = ("Source of error", "u(x)", "Sensitivity c", "Contribution c·u", "Share (%)", "Degrees of freedom")


def place_uncertainty(layout: Layout, scope: Scope) -> None:
    """Place the table, and the lines of single readings below."""
    groups = place_table(layout, scope, GROUP_UNCERTAINTY, NAME, _TABLE_TOP)
    place_singles(layout, NAME, groups.bottom + 3)


def write_uncertainty(book: Book) -> None:
    """Write the sheet."""
    sheet = book.sheet(NAME)
    sheet.heading(
        "Uncertainty", "What “±” stands for, after the GUM: instruments as they are, scatter as found, nothing twice."
    )
    _set_widths(sheet)
    _write_sentences(sheet)
    _write_budget(sheet)
    sheet.text(_TABLE_TOP - 2, 0, "Figures by propeller and cell count", book.formats.section)
    sheet.text(_TABLE_TOP - 1, 0, GROUP_UNCERTAINTY.meaning, book.formats.subtitle)
    write_table(sheet, GROUP_UNCERTAINTY, header_height=46)
    last = write_singles(sheet)
    sheet.worksheet.print_area(0, 0, last, len(_SHOWN) - 1)
    sheet.print_setup()
    sheet.worksheet.freeze_panes(2, 0)


def _set_widths(sheet: Sheet) -> None:
    sheet.worksheet.set_column(0, 0, 20)
    sheet.worksheet.set_column(1, 2, 9)
    sheet.worksheet.set_column(3, len(_SHOWN) - 1, 10)


def _write_sentences(sheet: Sheet) -> None:
    formats = sheet.book.formats
    level = join(
        "“±” holds the true value with a confidence of ", coverage.fixed(0), " %, if the accuracies are right."
    )
    lines: tuple[tuple[Node, bool], ...] = (
        (thrust_apart, True), (efficiency_apart, True), (level, False),
        (join("Accuracies of the instruments: ", accuracies_basis, "."), False),
        (join("Scatter is taken from ", scatter_basis, "."), False),
    )  # fmt: skip
    for row, (node, bold) in enumerate(lines, start=3):
        sheet.live(row, 0, node, formats.get(bold=bold))


def _write_budget(sheet: Sheet) -> None:
    formats = sheet.book.formats
    of_row = join(
        "Budget of ", call("choose", b.budget_number, *BUDGET_FIGURES),
        (b.budget_number <= float(len(b.SURE_FIGURES))).where(join(", ", b.budget_label), ", of the motor"),
    )  # fmt: skip
    sheet.live(_BUDGET_TOP - 1, 0, of_row, formats.section)
    target = f"#{sheet.book.layout.address(budget_figure.name)}"
    link = formats.get(font_color=SKY, underline=1)
    sheet.live(_BUDGET_TOP - 1, _SPANS[-1][0], call("link", target, "choose another on Settings"), link)
    for (left, right), words in zip(_SPANS, _HEADERS, strict=True):
        sheet.merged(_BUDGET_TOP, left, right, formats.header)
        sheet.text(_BUDGET_TOP, left, words, formats.header)
    for row, source in enumerate(_LINES, start=_BUDGET_TOP + 1):
        _write_line(sheet, row, source)
    last = _BUDGET_TOP + len(_LINES)
    bar = {"type": "data_bar", "bar_solid": True, "bar_color": SKY, "min_type": "num", "max_type": "num",
           "min_value": 0, "max_value": 100}  # fmt: skip
    sheet.worksheet.conditional_format(_BUDGET_TOP + 1, _SPANS[4][0], last, _SPANS[4][0], bar)
    _write_result(sheet, last + 1)


def _write_line(sheet: Sheet, row: int, source: Input | None) -> None:
    """Write one source of error; None stands for the scatter of the readings, which has no sensitivity of its own."""
    formats = sheet.book.formats
    part = b.budget_scatter if source is None else b.PARTS[source.name]
    number, words = formats.derived(5, num_format=_SCIENTIFIC), formats.derived(0, text=True)
    cells: list[Node | None] = [
        None,
        None if source is None else _unit_of(source),
        None if source is None else part / source.uncertainty,
        part,
        part**2 / b.budget_combined**2 * 100,
        _freedom(source),
    ]
    figures = formats.derived(1, num_format="0.0", align="right", indent=1)
    forms = (words, figures, number, number, formats.derived(1), figures)
    for (left, right), node, form in zip(_SPANS, cells, forms, strict=True):
        sheet.merged(row, left, right, form)
        if node is not None:
            sheet.live(row, left, node, form)
    sheet.text(row, 0, "Scatter of the readings" if source is None else source.label, words)


def _unit_of(source: Input) -> Node:
    """Say how large the standard uncertainty of the source is; instruments are known in percent, but for the stand."""
    if source.unit:
        return join(source.uncertainty.fixed(2), f" {source.unit}").otherwise("")
    return join((source.uncertainty * 100).fixed(2), " %").otherwise("")


def _freedom(source: Input | None) -> Node:
    if source is None:
        return b.budget_scatter_freedom.fixed(0).otherwise("")
    return join("infinite") if source.freedom is None else source.freedom.fixed(0).otherwise("")


def _write_result(sheet: Sheet, row: int) -> None:
    formats = sheet.book.formats
    unit = join(" ", b.budget_unit)
    endless = (b.budget_freedom < INFINITE).where(b.budget_freedom.whole_part().fixed(0), "infinite")
    said = join(
        "y = ", b.budget_value.fixed(3), unit, ";  u = ", b.budget_combined.fixed(4), unit, ";  ν = ", endless,
        ";  k = ", b.budget_factor.fixed(2), ";  U = k·u = ± ", b.budget_expanded.fixed(3), unit,
    ).otherwise("This figure is blank: what it needs was not read.")  # fmt: skip
    sheet.live(row, 0, said, formats.get(bold=True, font_size=11))
