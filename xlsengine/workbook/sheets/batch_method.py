"""Method of a box of motors: the equations of one characteristic, which hold for the others too."""

from xlsengine.bench.boxes.batch import BATCH, SERIALS
from xlsengine.bench.boxes.batch_figures import BATCH_FIGURES, OUTCOMES, RUN
from xlsengine.bench.declaring.declare import Quantity
from xlsengine.expression import Column, Named
from xlsengine.words import words
from xlsengine.workbook.book import Book

NAME = "Method"
LONGEST = 300
_HEADERS = ("Quantity", "Symbol", "Unit", "Equation", "Meaning", "Source")
_WIDTHS = (34, 9, 8, 58, 36, 46)
_FIRST = OUTCOMES[0]
_NAMES = (
    "count mean s mean_width s_low s_high deviation s_share low high cp cp_low cp_high cpk cpk_width moved chart_low "
    "chart_high moved_high for_mean for_index"
)
_TOLD = (
    f"For {_FIRST.of.label}; {', '.join(each.of.label for each in OUTCOMES[1:])} alike. The index is of the spread over all "
    "motors of the box, not of that between neighbours; where the run chart shows a drift or a jump it says little."
)


def _symbol(cell: Column | Named) -> str:
    found = (
        {table.name: table for table in (SERIALS, RUN)}[cell.table].declared(cell.name)
        if isinstance(cell, Column)
        else BATCH.fields.get(cell.name) or BATCH_FIGURES.quantities[cell.name]
    )
    return found.symbol or found.label


def _line(quantity: Quantity) -> tuple[str, ...]:
    name = quantity.symbol or quantity.label
    said = f"{name} = {quantity.equation or words(quantity.expression, _symbol)}"
    return (
        quantity.label,
        quantity.symbol,
        quantity.unit,
        said if len(said) <= LONGEST else "as said beside",
        quantity.meaning,
        quantity.source.text,
    )


def write_batch_method(book: Book) -> None:
    """Write the sheet."""
    sheet, formats = book.sheet(NAME), book.formats
    sheet.heading(NAME, _TOLD)
    sheet.widths(_WIDTHS)
    sheet.row(3, _HEADERS, formats.header)
    quantities = [
        RUN.quantities[_FIRST.moved.name],
        *(BATCH_FIGURES.quantities[_FIRST.figures[n].name] for n in _NAMES.split()),
    ]
    for row, quantity in enumerate((BATCH_FIGURES.quantities["batch_z"], *quantities), start=4):
        line = _line(quantity)
        for column, text in enumerate(line):
            sheet.text(row, column, text, formats.label if column < 4 else formats.quiet)
        tallest = max(-(-len(text) // int(width * 1.1)) for text, width in zip(line, _WIDTHS, strict=True))
        sheet.worksheet.set_row(row, 13 * tallest + 3)
    sheet.print_setup()
    sheet.print_nothing()
    sheet.worksheet.freeze_panes(4, 1)
