"""The Report's whole table: a row for each propeller, a group of columns for each cell count."""

from typing import Any

from xlsengine.bench.advice import esc
from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice.statements import left_out_count
from xlsengine.bench.declaring.spoken import in_cells
from xlsengine.bench.groups import by_propeller as by
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.craft import airspeed, way_of_flying
from xlsengine.bench.inputs.settings import flight_share_high, flight_share_low
from xlsengine.bench.uncertainty.telling_apart import EFFICIENCY_LEAD, THRUST_LEAD
from xlsengine.expression import Aggregate, Column, Condition, Constant, Named, Node, call, join, say
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.formats import CELL_COUNT_HEADS, GOOD_FILL, GREY, MIDDLE_FILL, RULE, SLATE
from xlsengine.workbook.layout import cell_address, column_letters
from xlsengine.workbook.sheets.report_grid import SMALLEST, Grid

MARK, CHOSEN = " ¹", " ◄"
MORE_IF_STEADY = (
    "Steady readings at part throttle would add grams per watt at equal thrust, hover throttle and minutes."
)
ESC_HELD, ESC_BURSTS = "ESC held (A)", "ESC burst (A)"
_WHOLE, _ONE, _TWO = "#,##0_)", "0.0_)", "0.00_)"
_PEAK = '#,##0" p"'
_all_peaks = g.full_point.count(Condition(g.full_point, "=", Constant(r.AT_STEADY))) < 1
_PEAKS = "Full-throttle peaks"
"""What heads a table in which no figure is steady: its marks would be on every row."""
_HEAD, _NOTE = 18, 15  # points
_LETTERS = 212  # of the smallest type in a line of the page


def row_height(grid: Grid) -> float:
    """Return the height of the table's rows in points: lower where there are many."""
    rows = grid.propellers * grid.bands
    return 20.0 if rows <= 6 else 15.5 if rows <= 8 else 14.0


def _at(column: Column, row: Column | Named) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), row)


def in_flight(row: Column | Named) -> Node:
    """Return the amps to expect in flight, from low to high where they differ, of a row of the summary."""
    low, high, static = (_at(column, row) for column in (f.flight_low, f.flight_high, g.static_current))
    return f.told(low, high, static, _at(f.flight_basis, row))


def _number(column: Column, row: Column | Named) -> Node:
    """Return a number without what lies beyond nine decimals: programs show one a hair below a half differently."""
    return call("round", _at(column, row), 9.0)


def fields(grid: Grid, row: Column) -> tuple[tuple[str, Node, str], ...]:
    """Return header, figure and number format of each column of a cell count."""
    thrust = ("Thrust (g)", _number(g.full["thrust"], row), _WHOLE)
    current = ("Current (A)", _number(g.full["current"], row), _ONE)
    per_watt = ("g/W", _number(g.full["grams_per_watt"], row), _TWO)
    volts = ("Voltage (V)", _number(g.full["voltage"], row), _TWO)
    flight = ("In flight* (A)", in_flight(row), "")
    held = (ESC_HELD, _at(n.held_size, row), _WHOLE)
    if grid.fields == 6:
        return thrust, current, volts, per_watt, flight, held
    return (
        thrust,
        current,
        volts,
        ("Power (W)", _number(g.full["power"], row), _WHOLE),
        per_watt,
        ("g/A", _number(g.full["grams_per_amp"], row), _ONE),
        ("g/g motor", _number(g.full_thrust_to_mass, row), _ONE),
        ("Highest (A)", _number(g.static_current, row), _ONE),
        flight,
        held,
        (ESC_BURSTS, _at(n.flight_size, row), _WHOLE),
        ("Kind", _at(g.full_kind, row), ""),
    )


def shown_fields(grid: Grid, row: Column) -> list[tuple[Node, Node, str]]:
    """Return the columns with live headers: of the ESC sizes the one for what is flown stands first, or alone."""
    shown = [(join(words), node, shape) for words, node, shape in fields(grid, row)]
    held, bursts = (
        (join(words), _at(size, row)) for words, size in ((ESC_HELD, n.held_size), (ESC_BURSTS, n.flight_size))
    )
    for place, (words, _, _) in enumerate(fields(grid, row)):
        if words in (ESC_HELD, ESC_BURSTS):
            first, other = (bursts, held) if words == ESC_HELD else (held, bursts)
            header, size = (rule.flown_in_bursts(*pair) for pair in zip(first, other, strict=True))
            header = header if words == ESC_HELD else rule.flies_forward(header, "")
            shown[place] = header, size, _WHOLE
    return shown


def write_whole_table(sheet: Sheet, grid: Grid, top: int) -> int:
    """Write the table from a row on; return the row below it."""
    for band in range(grid.bands):
        top = _write_band(sheet, grid, top, band)
    more = f" {MORE_IF_STEADY}" if sheet.book.layout.is_left_out(g.headline_efficiency) else ""
    left_out = join((left_out_count > 0).where(f"{MARK.strip()} ", ""), sheet.book.layout.said["left out"], more)
    form = sheet.book.formats.get(font_size=SMALLEST, font_color=GREY, text_wrap=True, valign="top")
    for row, node in enumerate((_footnote(grid), left_out), start=top):
        sheet.paragraph(row, (0, grid.last), node, form, _LETTERS, _NOTE)
    return top + 2


_SHARE = join(flight_share_low.fixed(0), " to ", flight_share_high.fixed(0), " % less")
_BY_SPEED = say(" or by rpm at {:.0f} m/s, perhaps above the stand's", airspeed).otherwise("")
_KNOWN = join("Estimate: ", _SHARE, " (rule of thumb, often more)", _BY_SPEED)
_EITHER = join("Forward flight (", _SHARE, " by rule of thumb, often more", _BY_SPEED, ") to held (as static)")
_FLIGHT_WORDS = rule.flies_forward(
    join(way_of_flying.present().where(_KNOWN, _EITHER), "; ≥: may rise."),
    "As static: what is flown here gets no reduction.",
)
"""What the amps in flight are for what is flown: an estimate, or those of the stand."""


def _footnote(grid: Grid) -> Node:
    """Say what the marks mean, and how much more there is than the table has room for."""
    more = Aggregate("count", (by.rank,)) - float(grid.propellers)
    propellers = (more > 0).where(
        join(" ", more.fixed(0), " more of less thrust: on Summary, or make the results again."), ""
    )
    above = (Condition(by.told_cells, ">", by.tested_cells[-1]),)
    beyond = (Aggregate("count", (by.told_cells,), above).otherwise(0.0) > 0).where(
        " Higher cell counts on Summary.", ""
    )
    return join(
        "* ",
        _FLIGHT_WORDS.otherwise("In flight: not known."),
        " Means. ESC: by highest current, ±. ",
        _all_peaks.where("Peaks: less when held.", "p: peak, less when held."),
        " Green: best, ties; amber: flagged.",
        esc.own_row.present().where(f"{CHOSEN}: on Craft.", ""),
        propellers,
        beyond,
    )


def _write_band(sheet: Sheet, grid: Grid, top: int, band: int) -> int:
    formats = sheet.book.formats
    head = {"bold": True, "font_color": "#FFFFFF", "font_size": 11}
    title = _all_peaks.where(_PEAKS, "At full throttle")
    sheet.across(top, 0, 0, title, formats.get(bg_color=SLATE, indent=1, **head))
    quiet = {"font_color": GREY, "font_size": SMALLEST, "bottom": 1, "bottom_color": RULE}
    sheet.text(top + 1, 0, "Propeller", formats.get(indent=1, **quiet))
    sheet.height(top, _HEAD)
    sheet.height(top + 1, 28.0 if grid.beside == 3 else 16.0)
    _write_names(sheet, grid, top + 2)
    first = band * grid.beside
    for place, number in enumerate(range(first, min(first + grid.beside, grid.cell_counts))):
        left = 1 + place * grid.fields
        shade = formats.get(bg_color=CELL_COUNT_HEADS[number], align="center", **head)
        sheet.across(
            top,
            left,
            left + grid.fields - 1,
            in_cells(by.tested_cells[number]).otherwise("No cell count"),
            shade,
        )
        _write_group(sheet, grid, top + 1, left, number)
        sheet.live(top + 2, grid.aside + number, by.kind_on[number], formats.helper, grid.propellers)
        _shade(sheet, grid, top + 2, left, f"${column_letters(grid.aside + number)}{top + 3}")
    for row, lead in enumerate((THRUST_LEAD, EFFICIENCY_LEAD), start=top):
        sheet.live(row, grid.aside, lead, formats.helper)
    return top + 2 + grid.propellers


def _write_names(sheet: Sheet, grid: Grid, top: int) -> None:
    """Write the propellers, a mark at those with readings that are left out."""
    form = sheet.book.formats.get(bold=True, font_size=_size(grid), indent=1, bottom=1, bottom_color=RULE, shrink=True)
    chosen = by.BY_PROPELLER.row.equals(esc.own_row).where(CHOSEN, "").otherwise("")
    named = join(call("in short", by.prop), (by.left_out > 0).where(MARK, ""), chosen)
    for row in range(grid.propellers):
        sheet.height(top + row, row_height(grid))
        sheet.live(top + row, 0, named, form, at=row)


def _size(grid: Grid) -> float:
    return 11 if row_height(grid) > 15 and grid.beside < 3 else 10.5 if row_height(grid) > 15 else SMALLEST


def _write_group(sheet: Sheet, grid: Grid, header: int, left: int, number: int) -> None:
    formats = sheet.book.formats
    for place, (words, node, shape) in enumerate(shown_fields(grid, by.row_on[number])):
        edge = {"left": 1, "left_color": RULE} if place == 0 else {}
        line = {"bottom": 1, "bottom_color": RULE, "align": "right", **edge}
        head = formats.get(font_size=SMALLEST, font_color=GREY, text_wrap=True, **line)
        sheet.across(header, left + place, left + place, words, head)
        style: dict[str, Any] = {"num_format": shape} if shape else {"italic": True, "font_color": GREY}
        form = formats.get(font_size=_size(grid), **line, **style)
        for row in range(grid.propellers):
            sheet.live(header + 1 + row, left + place, node, form, at=row)


def _shade(sheet: Sheet, grid: Grid, top: int, left: int, kind: str) -> None:
    """Mark peaks, the best thrust and grams per watt, and what a flagged reading stands behind.

    Some programs follow the first rule that holds and no other, so each case has one rule.
    """
    last = top + grid.propellers - 1
    good, doubtful, peak = (
        {"bold": True, "bg_color": GOOD_FILL},
        {"bg_color": MIDDLE_FILL, "italic": True},
        {"num_format": _PEAK},
    )
    title = cell_address(top - 2, 0, True)
    is_peak, is_doubtful = f'MOD(N({kind}),2)=1,{title}<>"{_PEAKS}"', f"N({kind})>=2"

    def rules(first: int, final: int, *cases: tuple[str, dict[str, Any]]) -> None:
        for criteria, style in cases:
            area = (top, first, last, final)
            sheet.shade(area, style, type="formula", criteria=f"={criteria}", stop_if_true=True)

    def best(column: int, lead: int) -> str:
        """Ask whether a figure is the best, or so near that it cannot be told from it."""
        here, area = cell_address(top, column), f"{cell_address(top, column, True)}:{cell_address(last, column, True)}"
        within = cell_address(top - 2 + lead, grid.aside, True)
        return f"ISNUMBER({here}),{here}>=MAX({area})/(1+N({within})/100)"

    per_watt = left + (3 if grid.fields == 6 else 4)
    rules(
        left,
        left,
        (f"AND({is_doubtful},{is_peak})", doubtful | peak),
        (is_doubtful, doubtful),
        (f"AND({best(left, 0)},{is_peak})", good | peak),
        (f"AND({best(left, 0)})", good),
        (f"AND({is_peak})", peak),
    )
    rules(left + 1, per_watt - 1, (is_doubtful, doubtful))
    rules(per_watt, per_watt, (is_doubtful, doubtful), (f"AND({best(per_watt, 1)})", good))
    rules(per_watt + 1, left + grid.fields - 1, (is_doubtful, doubtful))
