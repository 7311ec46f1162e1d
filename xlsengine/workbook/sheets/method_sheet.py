"""Method: the equations of what the sheets to read show, from their expressions; below them, those of the workings."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from importlib.metadata import version

import numpy as np

from xlsengine.bench.advice.suitability import HOVERING, LIFT
from xlsengine.bench.declaring.declare import Field, Figures, Quantity, Table
from xlsengine.bench.groups.summary import SUMMARY
from xlsengine.bench.inputs.bench_test import input_hash
from xlsengine.bench.inputs.conditions import AIR
from xlsengine.bench.inputs.motor import MASS_AND_LEADS
from xlsengine.bench.inputs.no_load import DRIVEN_SPINS, FREE_SPINS, NO_LOAD
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.bench.model import FIGURES, TABLES, declared
from xlsengine.bench.physics.motor_model import MOTOR_MODEL
from xlsengine.bench.physics.speed_rows import SPEED_FIGURES
from xlsengine.bench.uncertainty.budget import BUDGET
from xlsengine.bench.uncertainty.group_uncertainty import GROUP_UNCERTAINTY
from xlsengine.expression import Aggregate, Column, Named, Node
from xlsengine.glossary import ENGINEERING
from xlsengine.study.evaluation import Scope
from xlsengine.words import words
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.layout import SCHEMA_VERSION, Layout, cell_address, quoted
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan
from xlsengine.workbook.steps_sheet import HIDDEN
from xlsengine.workbook.steps_sheet import NAME as STEPS

LONGEST = 300
"""Letters of an equation; in place of a longer one its meaning stands alone."""
OTHERS = "Workings: all other figures"
HEADERS = ("Quantity", "Symbol", "Unit", "Equation", "Meaning", "Source", "Where")
_WIDTHS = (28, 9, 7, 60, 42, 42, 18)
_LETTERS = (1.1, 1.0, 1.0, 1.2, 1.2, 1.2, 1.0)
"""How many letters of a column's type stand in the width of one letter of the default type."""
Line = tuple[str, ...]


def _of(group: Table | Figures, names: str) -> list[tuple[str, Quantity]]:
    return [(group.name, group.quantities[name]) for name in names.split()]


SECTIONS: dict[str, list[tuple[str, Quantity]]] = {
    "Each reading": _of(
        READINGS,
        "power grams_per_watt grams_per_amp thrust_newton cell_voltage disk_loading "
        "hover_efficiency pitch_ratio speed_ratio electrical_speed tip_mach",
    ),
    "Each reading with a speed": _of(
        SPEED_FIGURES,
        "tip_speed thrust_coefficient shaft_power power_coefficient figure_of_merit motor_efficiency "
        "copper_loss iron_loss propeller_loss ideal_power unexplained",
    ),
    "By propeller and cell count": _of(
        SUMMARY,
        "peak_top_current steady_top_current full_thrust full_grams_per_watt full_grams_per_amp "
        "full_thrust_to_mass static_current headline_efficiency flight_low flight_high held_size "
        "flight_size",
    ),
    "What ± stands for": [
        *_of(GROUP_UNCERTAINTY, "sure_thrust_expanded sure_thrust_per_power_expanded"),
        *_of(BUDGET, "budget_expanded"),
    ],
    "Hovering the craft, and what is lifted": [
        *_of(HOVERING, "hover_thrust hover_throttle hover_power hover_total hover_time"),
        *_of(LIFT, "lift_hovering_1"),
    ],
    "The motor's mass, and the air": [
        *_of(MASS_AND_LEADS, "lead_mass_removed trimmed_mass stator_volume"),
        *_of(AIR, " ".join(name for name in AIR.quantities if name != "taken_humidity")),
    ],
    "The motor without a propeller": [
        *_of(DRIVEN_SPINS, "driven_mean kv_driven"),
        *_of(FREE_SPINS, "kv_free"),
        *_of(NO_LOAD, "resistance_at_20"),
        *_of(MOTOR_MODEL, "line_kv best_kv kv_deviation model_resistance"),
    ],
}
"""What the sheets to read show, with the table that it stands in."""


def _write_method(sheet: Sheet, content: Content, top: int) -> int:
    """Write the sheet, once it is known what the workbook computes."""
    book, formats = sheet.book, sheet.book.formats
    sheet.heading(
        sheet.name, "How every figure comes about. Factors and limits stand on Settings, where they can be changed."
    )
    engine = f"xlsengine {version('xlsengine')}, template version {SCHEMA_VERSION}"
    ours = (("Written by", engine), ("Hash of the inputs", input_hash(content.assessment.test)))
    for row, (label, text) in enumerate((*ours, *_FACTS, *ENGINEERING), start=3):
        sheet.text(row, 0, label, formats.get(bold=True))
        sheet.text(row, 1, text, formats.get())
    row, shown = _TOP, set[Line]()
    sheet.row(row, HEADERS, formats.header)
    for title in SECTIONS:
        lines = list(_printed_lines(book, title))
        row = _write_section(sheet, row + 1, title, lines) if lines else row
        shown.update(lines)
    others = (each for each in _lines(book) if each not in shown)
    return _write_section(sheet, row + 1, OTHERS, others)


def _set_page(sheet: Sheet, content: Content, below: int) -> None:
    sheet.widths(_WIDTHS)
    sheet.print_setup()
    sheet.worksheet.freeze_panes(_TOP + 1, 1)


def _write_section(sheet: Sheet, top: int, title: str, lines: Iterable[Line]) -> int:
    sheet.text(top, 0, title, sheet.book.formats.section)
    return write_lines(sheet, top + 1, lines, _WIDTHS)


def write_lines(sheet: Sheet, top: int, lines: Iterable[Line], widths: Sequence[int]) -> int:
    """Write a line a row, as high as its texts are long in columns of so many letters; return the last row."""
    formats, row = sheet.book.formats, top - 1
    letters = [int(width * more) for width, more in zip(widths, _LETTERS, strict=False)]
    for row, texts in enumerate(lines, start=top):
        for column, text in enumerate(texts):
            if text and HEADERS[column] == "Where":
                tab = text.rpartition("!")[0].strip("'").replace("''", "'")
                sheet.worksheet.write_url(row, column, f"internal:{text.replace('$', '')}", formats.link, tab)
            elif text:
                sheet.text(row, column, text, formats.label if column < 4 else formats.quiet)
        sheet.fit(row, texts, letters, 12)
    return row


_FACTS = (
    (
        "Live",
        "Computed columns, summaries, advice, checks of each reading and charts follow every change of a reading or setting.",
    ),
    (
        "Not live",
        "Comparisons between readings (slips, exchanges, copies, outliers): computed on writing; Checks says when they "
        "are out of date.",
    ),
    (f"Sheet {STEPS}", f"{HIDDEN[:1].upper()}{HIDDEN[1:]}."),
    ("Blank", "A blank reading was not measured; what needs it stays blank too. 0 is a measured zero."),
)
_TOP = 6 + len(_FACTS) + len(ENGINEERING)
"""Row of the headers, below facts and terms."""


def symbol(cell: Column | Named) -> str:
    """Return how a quantity is called in an equation: its symbol, else its label."""
    return symbol_of(declared(cell))


def symbol_of(found: Field | Quantity) -> str:
    """Return the symbol of a field or quantity, else its label."""
    return found.symbol or found.label


def equation(quantity: Quantity, symbol: Callable[[Column | Named], str] = symbol) -> str:
    """Return a quantity's equation, generated from its expression."""
    return f"{symbol_of(quantity)} = {words(quantity.expression, symbol)}"


def _printed_lines(book: Book, title: str) -> Iterator[Line]:
    """Yield a line for each quantity of a section that something was measured for."""
    for group, quantity in SECTIONS[title]:
        cell = _cell(group, quantity)
        if is_printed(quantity) and _is_filled(cell, book.scope):
            yield (*line_of(quantity), _where(book.layout, cell))


def _where(layout: Layout, cell: Column | Named) -> str:
    """Return the place of a figure or of the header of a column; blank where it stands on no sheet that is seen."""
    if not layout.has(cell) or cell in layout.unseen:
        return ""
    if isinstance(cell, Named):
        return layout.address(cell.name)
    block = layout.home(cell)
    return f"{quoted(block.sheet)}!{cell_address(block.top, block.column(cell.name), fixed=True)}"


def is_printed(quantity: Quantity) -> bool:
    """Tell whether a quantity's line says more than where it is taken from, and is generated from its expression."""
    return not (quantity.helper or quantity.is_text or quantity.equation or _is_taken_over(quantity.expression))


def _is_taken_over(node: Node) -> bool:
    return isinstance(node, Column | Named) or (
        isinstance(node, Aggregate) and node.operation in ("at", "text at", "row")
    )


def _is_filled(cell: Column | Named, scope: Scope | None) -> bool:
    assert scope is not None
    return not bool(np.all(np.isnan(np.asarray(scope.any_value(cell), dtype=float))))


def _cell(group: str, quantity: Quantity) -> Column | Named:
    return Column(group, quantity.name, quantity.is_text) if group in TABLES else Named(quantity.name, quantity.is_text)


def _lines(book: Book) -> Iterator[Line]:
    """Yield a line for each number that a reader wants, of those that the workbook computes.

    What only fetches another cell has none: the line of that cell says how it comes about. Nor have a sentence, which
    says it itself, and what only other formulas read, whose own formula stands under its name on Steps.
    """
    assert book.reach is not None
    groups: tuple[Table | Figures, ...] = (*TABLES.values(), *FIGURES)
    for group in groups:
        for quantity in group.quantities.values():
            if quantity.helper or quantity.is_text or _is_taken_over(quantity.expression):
                continue
            cell = _cell(group.name, quantity)
            if book.reach.computes(cell) and book.layout.has(cell) and cell not in book.layout.unseen:
                yield (*line_of(quantity), _where(book.layout, cell))


def line_of(quantity: Quantity, symbol: Callable[[Column | Named], str] = symbol) -> Line:
    """Return label, symbol, unit, equation (that of its declaration, if it has one), meaning and source of a quantity."""
    said = f"{symbol_of(quantity)} = {quantity.equation}" if quantity.equation else equation(quantity, symbol)
    said = said if len(said) <= LONGEST else ""
    return (quantity.label, quantity.symbol, quantity.unit, said, quantity.meaning, quantity.source.text)


SHEET = SheetPlan(
    "Method",
    Kind.WORKING,
    "the equations of what you read here, with their sources",
    parts=(_write_method,),
    page=_set_page,
    late=True,
    out_of_date=None,
)
