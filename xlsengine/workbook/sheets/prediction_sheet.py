"""Prediction: untested cell counts with their range, in flight from physics, hovering the craft, and what is lifted."""

from __future__ import annotations

from typing import NamedTuple

from xlsengine.bench.advance import IN_FLIGHT
from xlsengine.bench.advance_curves import BAND_WORDS
from xlsengine.bench.craft import airspeed, all_up_mass, motor_count
from xlsengine.bench.declare import Table
from xlsengine.bench.measured_points import MEASURED
from xlsengine.bench.prediction import PREDICTED, thin
from xlsengine.bench.prediction_trials import (
    PREDICTION,
    honesty,
    predicted_current_range,
    predicted_thrust_range,
)
from xlsengine.bench.settings import flight_time_range, prediction_limit, wing_ratios
from xlsengine.bench.suitability import HOVERING, LIFT, WINGS, wing_masses
from xlsengine.expression import Node, join
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.page_widths import last_printed
from xlsengine.workbook.sheets.derived_table import place_table, write_table

NAME = "Prediction"
_TOP = 9
_LAST_COLUMN = 17
_SENTENCES = (thin, honesty)


class Part(NamedTuple):
    """A table with its title, its first columns, and the sentence that says under which conditions it holds."""

    table: Table
    title: str
    leading: tuple[str, ...]
    conditions: Node


def _flight_conditions() -> Node:
    return join(
        "Steady full throttle at ", airspeed.fixed(1), " m/s along the propeller's axis, at the volts of the bench; CP "
        f"and CT fall along J by a fit to open university sweeps; {BAND_WORDS}."
    ).otherwise("Blank: Craft names no airspeed.")  # fmt: skip


def _hover_conditions() -> Node:
    return join(
        all_up_mass.fixed(0), " g, number of motors ", motor_count.fixed(0), "; read off the measured curve at the "
        "volts of its readings. ±: scatter, reading off, instruments; of time also ", flight_time_range.fixed(0),
        " % for going by a static table."
    ).otherwise("Blank: Craft names no all-up mass or no number of motors.")  # fmt: skip


def _range_conditions() -> Node:
    return join(
        "Static, at the voltage taken. ± comes from the test predictions below (thrust ",
        predicted_thrust_range.fixed(1), " %, current ", predicted_current_range.fixed(1),
        " %) plus instrument error, wider for larger steps or without speed readings; beyond ",
        prediction_limit.fixed(0), " % no figure is given. Never exceed the makers' limits on cells and current."
    )  # fmt: skip


_PARTS = (
    Part(
        PREDICTED, "Cell counts that were not tested",
        tuple(f"predicted_{name}" for name in (
            "prop", "cells", "basis", "kind", "from", "volts", "thrust", "thrust_expanded", "current", "current_expanded",
            "power", "power_expanded", "efficiency", "efficiency_expanded", "speed", "speed_expanded",
        )),
        _range_conditions(),
    ),
    Part(
        IN_FLIGHT, "In flight, from physics and by rule of thumb",
        tuple(f"flying_{name}" for name in (
            "prop", "cells", "note", "pitch_ratio", "advance", "speed", "static_current", "current", "current_low",
            "current_high", "width", "fall", "rule_low", "rule_high", "static_thrust", "thrust", "thrust_low",
            "thrust_high",
        )),
        _flight_conditions(),
    ),
    Part(
        HOVERING, "Hovering the craft",
        tuple(f"hover_{name}" for name in (
            "prop", "cells", "note", "thrust", "throttle", "throttle_expanded", "current", "current_expanded", "power",
            "power_expanded", "grams_per_watt", "total", "time", "time_expanded",
        )),
        _hover_conditions(),
    ),
    Part(MEASURED, "Check of the method: measured against predicted",
         ("measured_prop", "measured_cells", "tried_from", "measured_kind"),
         join(MEASURED.meaning)),
    Part(WINGS, "Fixed wing", ("wing_prop", "wing_cells", "wing_note", *(mass.name for mass in wing_masses)),
         join(WINGS.meaning)),
    Part(LIFT, "Hovering craft by thrust over weight", ("lift_prop", "lift_cells", "lift_note"), join(LIFT.meaning)),
)  # fmt: skip
_WIDTHS = (17, 9, 50)
_TWO_LINES = 26


def place_prediction(layout: Layout, scope: Scope) -> None:
    """Place the sentences and the tables below each other."""
    for row, sentence in enumerate(_SENTENCES, start=3):
        layout.name(sentence.name, NAME, row, 0)
    top = _TOP
    for part in _PARTS:
        top = place_table(layout, scope, part.table, NAME, top, order=part.leading).bottom + 5


def write_prediction(book: Book) -> None:
    """Write the sheet."""
    sheet, formats = book.sheet(NAME), book.formats
    sheet.worksheet.set_row(0, 28)
    sheet.text(0, 0, NAME, formats.title)
    sheet.text(1, 0, "Estimates, none of them measured; each with its range and basis.",
               formats.subtitle)  # fmt: skip
    for row, sentence in enumerate(_SENTENCES, start=3):
        sheet.live(row, 0, PREDICTION.quantities[sentence.name].expression, formats.get(bold=True))
    _set_widths(sheet)
    for part in _PARTS:
        _write_part(sheet, part)
    sheet.print_setup()
    assert book.scope is not None
    last = book.layout.blocks[LIFT.name]
    right = max(book.layout.blocks[part.table.name].right for part in _PARTS)
    sheet.worksheet.print_area(0, 0, last_printed(last, book.scope.used_rows(LIFT.name)), right)
    sheet.worksheet.set_paper(8)
    sheet.worksheet.freeze_panes(2, 1)


def _write_part(sheet: Sheet, part: Part) -> None:
    formats, block = sheet.book.formats, sheet.book.layout.blocks[part.table.name]
    sheet.text(block.top - 3, 0, part.title, formats.section)
    sheet.live(block.top - 2, 0, part.conditions, formats.subtitle)
    if part.table is WINGS:
        for place, (mass, ratio) in enumerate(zip(wing_masses, wing_ratios, strict=True), start=1):
            over = join(f"class {place}: ", ratio.fixed(1))
            sheet.live(block.top - 1, block.column(mass.name), over, formats.get(bold=True, align="center"))
    write_table(sheet, part.table, header_height=60)
    if part.table is IN_FLIGHT:
        for row in range(block.top + 1, block.bottom + 1):
            sheet.worksheet.set_row(row, _TWO_LINES)


def _set_widths(sheet: Sheet) -> None:
    for column, width in enumerate(_WIDTHS, start=0):
        sheet.worksheet.set_column(column, column, width)
    sheet.worksheet.set_column(len(_WIDTHS), _LAST_COLUMN, 11)
