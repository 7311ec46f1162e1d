"""Which sheets a results workbook has, of which kind, and the list of them at the head of Start.

A sheet of workings for which nothing was measured is hidden, and the list says what to read to see it. Workings and what
is only typed once stay out of the print.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import Enum

import numpy as np

from xlsengine.bench import conditions, motor, motor_model, no_load
from xlsengine.bench import readings as r
from xlsengine.bench import repeatability as p
from xlsengine.bench.exponents import EXPONENTS
from xlsengine.bench.normalising import supply_resistance
from xlsengine.bench.suitability import lift_throttle
from xlsengine.bench.summary import steady
from xlsengine.expression import Column, Named
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Book, Sheet
from xlsengine.workbook.formats import BLUE, GREY, INPUT_RULE, ORANGE, RULE
from xlsengine.workbook.layout import quoted
from xlsengine.workbook.start_sheet import NAME as START
from xlsengine.workbook.start_sheet import TOP


class Kind(Enum):
    """What a sheet is for: its title in the list, and the colour of its tab."""

    READ = ("To read", BLUE)
    CHECK = ("To check", ORANGE)
    TYPED = ("Typed by you", INPUT_RULE)
    WORKING = ("Workings: where the figures come from", GREY)


@dataclass(frozen=True)
class Entry:
    """A sheet of the results: its kind, what stands on it, and whether it is printed with the workbook.

    `measured` tells whether anything was read for it; where not, `more` says what would show it.
    """

    name: str
    kind: Kind
    line: str
    printed: bool = False
    measured: Callable[[Scope], bool] = lambda scope: True
    more: str = ""


def _any(*cells: Column | Named) -> Callable[[Scope], bool]:
    """Make a test that holds where one of these cells holds a number other than 0 or a text."""

    def holds(scope: Scope) -> bool:
        return any(_holds(scope.any_value(cell), cell.is_text) for cell in cells)

    return holds


def _holds(value: object, text: bool) -> bool:
    if text:
        return bool(np.any(np.asarray(value, dtype=object).astype(bool)))
    return bool(np.any(np.nan_to_num(np.asarray(value, dtype=float))))


_ACCURACIES = (
    conditions.thrust_accuracy, conditions.voltage_accuracy, conditions.current_accuracy, conditions.speed_accuracy,
)  # fmt: skip
_SHEETS = (
    Entry("Report", Kind.READ, "one page to publish: what was tested, the best figures, thrust and amps, advice, cautions",
          True),
    Entry("Comparison", Kind.READ, "how this motor stands among those of its class, and which differences are noise", True),
    Entry("Craft", Kind.READ, "what the motor is meant for: type it into the cream cells", True),
    Entry("ESC", Kind.READ, "which ESC size covers each propeller and cell count, held and in short bursts", True),
    Entry("Charts", Kind.READ, "the readings drawn; each point follows its reading", True, _any(r.power),
          "Read volts, amps and grams to see charts"),
    Entry(START, Kind.READ, "this sheet"),
    Entry("Checks", Kind.CHECK, "readings that look odd, each with its cell, the likely cause and what to do", True),
    Entry("Changes", Kind.CHECK, "what was changed in the workbook that came back, and what that did", True),
    Entry("Readings", Kind.TYPED, "your readings, and beside them what each one gives", True),
    Entry("Motor", Kind.TYPED, "what was tested, its mass and leads, and what was seen inside"),
    Entry("Bench", Kind.TYPED, "supply, air and instruments; check weights"),
    Entry("No load", Kind.TYPED, "spins without a propeller, and winding resistance"),
    Entry("Settings", Kind.TYPED, "factors, limits and ESC sizes; change one and the workbook follows"),
    Entry("Summary", Kind.WORKING, "full-throttle means by propeller and cell count, and how the headlines were found"),
    Entry("Prediction", Kind.WORKING, "cell counts that were not tested, in flight, hovering and what can be lifted", False,
          _any(steady["current"], lift_throttle),
          "Read steady values, or throttle steps, to see estimates of hover, flight and untested cell counts"),
    Entry("Motor figures", Kind.WORKING, "Kv against the label, resistance, no-load current, inspection", False,
          _any(motor_model.best_kv, motor_model.model_resistance, no_load.winding_resistance, no_load.no_load_current,
               Column(motor.INSPECTION.name, "observation", True)),
          "Read spins without a propeller, or the winding resistance, to see Kv and what the motor loses"),
    Entry("Speed figures", Kind.WORKING, "figure of merit, motor efficiency, where the watts went", False, _any(r.speed),
          "Read the speed to see figures of merit, and where the watts went"),
    Entry("Propellers", Kind.WORKING, "at reference volts and air, propellers across voltages, sag of the supply", False,
          _any(r.speed, Column(EXPONENTS.name, "thrust_exponent"), supply_resistance),
          "Read the speed, or throttle steps, to see propellers across voltages and the sag of the supply"),
    Entry("Uncertainty", Kind.WORKING, "± of each figure, and where it comes from", False,
          _any(p.repeat_groups, *_ACCURACIES),
          "Name the accuracies of the instruments on Bench, or repeat readings, to see where each ± comes from"),
    Entry("Repeatability", Kind.WORKING, "scatter, drift, peak against steady, zero of the stand", False,
          _any(p.repeat_groups, p.peaks_compared, p.zero_readings),
          "Repeat readings, or take peak and steady ones, to see scatter and drift"),
    Entry("Method", Kind.WORKING, "the equations of what you read here, with their sources", True),
)  # fmt: skip


def entries(returned: bool, compared: bool = False) -> tuple[Entry, ...]:
    """Return the sheets of a results workbook in their order.

    Changes stands second, where the workbook came `returned`, and Comparison only where it was `compared`.
    """
    changes = [entry for entry in _SHEETS if entry.name == "Changes"]
    missing = {"Changes"} if compared else {"Changes", "Comparison"}
    others = [entry for entry in _SHEETS if entry.name not in missing]
    return (*others[:1], *(changes if returned else ()), *others[1:])


def write_contents(book: Book, listed: Iterable[Entry]) -> int:
    """Write the list at the head of Start, a link and one line a sheet; return the row below it.

    A workbook for readers lists what it shows.
    """
    assert book.scope is not None
    sheet, row, kind = book.sheet(START), TOP, None
    listed = [entry for entry in listed if entry.kind is Kind.READ or not book.for_readers]
    for entry in sorted(listed, key=lambda entry: list(Kind).index(entry.kind)):
        if entry.kind is not kind:
            kind, row = entry.kind, _write_kind(sheet, row, entry.kind)
        _write_entry(sheet, row, entry, entry.measured(book.scope))
        row += 1
    return row + 1


def _write_kind(sheet: Sheet, row: int, kind: Kind) -> int:
    title, colour = kind.value
    form = sheet.book.formats.get(bold=True, bottom=1, bottom_color=RULE)
    sheet.value(row, 0, None, sheet.book.formats.get(bg_color=colour))
    sheet.text(row, 1, title, form)
    return row + 1


def _write_entry(sheet: Sheet, row: int, entry: Entry, shown: bool) -> None:
    """Write a line that leads to its sheet; one of a hidden sheet would be a dead end, and says what would show it."""
    formats = sheet.book.formats
    if not shown:
        sheet.text(row, 1, f"{entry.name} (hidden): {entry.more[:1].lower()}{entry.more[1:]}.", formats.subtitle)
    elif entry.name == START:
        sheet.text(row, 1, f"{entry.name}: {entry.line}", formats.get())
    else:
        target = f"internal:{quoted(entry.name)}!A1"
        sheet.worksheet.write_url(
            row, 1, target, formats.get(font_color=BLUE, underline=1), f"{entry.name}: {entry.line}"
        )


def dress_sheets(book: Book, listed: Iterable[Entry]) -> None:
    """Give the tabs the colours of their kinds, hide what nothing was measured for, and keep workings out of the print."""
    assert book.scope is not None
    for entry in listed:
        sheet = book.sheet(entry.name)
        sheet.worksheet.set_tab_color(entry.kind.value[1])
        if not entry.printed:
            sheet.print_nothing()
        if not entry.measured(book.scope) or (book.for_readers and entry.kind is not Kind.READ):
            sheet.worksheet.hide()
