"""Propellers: figures at reference volts and air, each propeller against itself, its exponents, and the supply's sag."""

from __future__ import annotations

from typing import NamedTuple

from xlsengine.bench.declare import Table
from xlsengine.bench.exponents import EXPONENTS
from xlsengine.bench.normalising import NORMALISED, SAG
from xlsengine.bench.propeller_verdicts import PROPELLERS
from xlsengine.bench.settings import reference_cell_voltage, reference_density
from xlsengine.expression import Node, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.sheets.derived_table import place_table, write_table

NAME = "Propellers"
_TOP = 6
_HEADER_HEIGHT, _TWO_LINES = 74, 26


class Part(NamedTuple):
    """A table with its title, and the columns a reader sees first: what it is, how many, the verdict, and figures."""

    table: Table
    title: str
    leading: tuple[str, ...]


def _with_margins(*names: str) -> tuple[str, ...]:
    return tuple(each for name in names for each in (name, f"{name}_expanded"))


_PARTS = (
    Part(
        NORMALISED, "At reference volts and air",
        (
            "normal_prop", "normal_cells", "normal_note", "raw_voltage", "raw_thrust", "raw_current", "raw_power",
            "normal_ratio", "volts_exponent", "density_exponent", *_with_margins(
                "normal_thrust", "normal_current", "normal_power", "normal_efficiency"
            ),
        ),
    ),
    Part(
        PROPELLERS, "Each propeller across voltages",
        (
            "propeller_name", "amp_groups", "propeller_verdict", "coefficient_rows", "median_coefficient",
            "coefficient_expanded", "coefficient_spread", "most_grams", "most_grams_expanded",
        ),
    ),
    Part(EXPONENTS, "Powers over the throttle steps", ("exponent_prop", "exponent_cells", "exponent_verdict")),
    Part(
        SAG, "Sag of the supply",
        ("sag_line_cells", "sag_rows", "sag_verdict", *_with_margins("sag_rest", "supply_resistance")),
    ),
)  # fmt: skip
_WIDTHS = (17, 9, 58)


def place_propellers(layout: Layout, scope: Scope) -> None:
    """Place the tables below each other."""
    top = _TOP
    for part in _PARTS:
        top = place_table(layout, scope, part.table, NAME, top, order=part.leading).bottom + 4


def write_propellers(book: Book) -> None:
    """Write the sheet."""
    sheet, formats = book.sheet(NAME), book.formats
    sheet.worksheet.set_row(0, 28)
    sheet.text(0, 0, NAME, formats.title)
    sheet.live(1, 0, _subtitle(), formats.subtitle)
    _set_widths(sheet)
    for part in _PARTS:
        top = book.layout.blocks[part.table.name].top
        sheet.text(top - 2, 0, part.title, formats.section)
        sheet.text(top - 1, 0, part.table.meaning, formats.subtitle)
        write_table(sheet, part.table, header_height=_HEADER_HEIGHT)
    verdicts = book.layout.blocks[PROPELLERS.name]
    for row in range(verdicts.top + 1, verdicts.bottom + 1):
        sheet.worksheet.set_row(row, _TWO_LINES)
    sheet.print_setup(one_page=True)
    sheet.worksheet.freeze_panes(2, 1)


def _subtitle() -> Node:
    return join(
        "Reference: ", reference_cell_voltage.fixed(2), " V per cell and ", reference_density.fixed(3),
        " kg/m³, from Settings. Normalised figures are estimates; the read ones stand beside them.",
    )  # fmt: skip


def _set_widths(sheet: Sheet) -> None:
    for column, width in enumerate(_WIDTHS, start=0):
        sheet.worksheet.set_column(column, column, width)
    last = max(sheet.book.layout.blocks[part.table.name].right for part in _PARTS)
    sheet.worksheet.set_column(len(_WIDTHS), last, 10.5)
