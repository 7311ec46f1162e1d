"""Speed figures: what each reading with a speed gives, and where its watts went."""

from __future__ import annotations

from xlsengine.bench import speed_figures as f
from xlsengine.bench import speed_rows as t
from xlsengine.bench.motor_model import best_kv, line_verdict, model_resistance
from xlsengine.bench.readings import READINGS
from xlsengine.bench.row_uncertainty import MARGIN_OF
from xlsengine.expression import Aggregate, Column, Condition, Constant, Node, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book
from xlsengine.workbook.input_sheets import set_column_widths
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.page_widths import last_printed
from xlsengine.workbook.sheets.derived_table import place_table, write_table

NAME = "Speed figures"
_TOP = 6


def place_speed(layout: Layout, scope: Scope) -> None:
    """Place the table."""
    place_table(layout, scope, t.SPEED_FIGURES, NAME, _TOP, order=_order())


def _order() -> list[str]:
    """Return the columns that readers want, each ± right after its figure."""
    margins = {figure.name: margin.name for figure, margin in MARGIN_OF.items()}
    after = set(margins.values())
    wanted = [n for n, declared in t.SPEED_FIGURES.columns.items() if not declared.helper and n not in after]
    return [name for each in wanted for name in (each, margins.get(each)) if name]


def write_speed(book: Book) -> None:
    """Write the sheet."""
    sheet, formats = book.sheet(NAME), book.formats
    sheet.heading(
        NAME, "Row by row as on Readings, blank where no speed was read; shaft power is measured by torque or modelled."
    )
    for row, sentence in enumerate((_counts(), _model()), start=2):
        sheet.live(row, 0, sentence, formats.get(bold=True))
    set_column_widths(sheet, t.SPEED_FIGURES)
    block = book.layout.blocks[t.SPEED_FIGURES.name]
    for column in (t.kind, f.shaft_basis):
        place = block.column(column.name)
        sheet.worksheet.set_column(place, place, 11)
    write_table(sheet, t.SPEED_FIGURES, header_height=72)
    sheet.print_setup(repeat=(_TOP, _TOP))
    assert book.scope is not None
    sheet.worksheet.print_area(0, 0, last_printed(block, book.scope.used_rows(READINGS.name)), block.right)
    sheet.worksheet.set_paper(8)
    sheet.worksheet.freeze_panes(_TOP + 1, 3)


def _number_of(column: Column, *conditions: Condition) -> Node:
    return Aggregate("count", (column,), conditions).fixed(0)


def _counts() -> Node:
    def with_basis(words: str) -> Node:
        return _number_of(f.shaft_basis, Condition(f.shaft_basis, "=", Constant(words)))

    return join(
        "Speed was read in ", _number_of(t.speed), " of ", _number_of(t.cells), " rows. Shaft power is measured in ",
        with_basis(f.MEASURED), " and modelled, an estimate good to 5 or 10 %, in ", with_basis(f.MODELLED), ".",
    )  # fmt: skip


def _model() -> Node:
    constants = join("Losses go by Kv ", best_kv.fixed(0), " rpm/V and ", model_resistance.fixed(1), " mΩ")
    return join(constants.otherwise("No losses: it takes a measured Kv and a resistance"),
                "; the line through loaded readings is ", line_verdict, ".")  # fmt: skip
