"""The Report's grid, and its whole table: a row for each propeller, a group of columns for each cell count."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any

import numpy as np

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
from xlsengine.bench.inputs.settings import esc_peak_over_steady, flight_share_high, flight_share_low
from xlsengine.bench.uncertainty.telling_apart import EFFICIENCY_LEAD, THRUST_LEAD
from xlsengine.expression import Aggregate, Column, Condition, Constant, Named, Node, call, join, say
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet, Span
from xlsengine.workbook.formats import CELL_COUNT_HEADS, GOOD_FILL, GREY, MIDDLE_FILL, RULE, SLATE
from xlsengine.workbook.layout import cell_address, column_letters
from xlsengine.workbook.sheets.parts import Page

MOST_PROPELLERS = 24
MARGINS = (0.35, 0.35, 0.4, 0.5)
POINTS = 0.75  # of a pixel
_NAMES, _FIGURES = 144, 1098  # pixels; programs that measure digits in halves of them draw columns 6 % wider
_PAPER = (11.69, 8.27)


class Grid:
    """A column for names and equal ones for figures, as wide as a page of A4 whose type of 10 points stays readable.

    It follows from how many propellers and cell counts are shown; widths are in pixels.
    """

    def __init__(self, propellers: int, cell_counts: int) -> None:
        self.propellers, self.cell_counts = propellers, cell_counts
        # cell counts beside each other, others follow below in a table of their own; one alone has room for more figures
        self.beside = 2 if cell_counts == 4 else min(cell_counts, 3)
        self.bands = -(-cell_counts // self.beside)
        self.fields = 12 if self.beside == 1 else 6
        self.last = self.fields * self.beside  # column of the page
        self.aside = self.last + 3  # first column of what formats and charts go by, beside the page
        self.widths = [_NAMES, *[_FIGURES // self.last] * self.last]
        self.width = sum(self.widths)
        self.page = Page((0, self.last), 212, 15)
        left, right, top, bottom = MARGINS
        printed = (_PAPER[1] - top - bottom) / (_PAPER[0] - left - right)
        self.page_height = printed * self.width * POINTS  # points of rows that a page holds, fitted to its width
        rows = propellers * self.bands
        self.row = 20.0 if rows <= 6 else 15.5 if rows <= 8 else 14.0  # points
        self.type = (11 if self.beside < 3 else 10.5) if self.row > 15 else 10

    def spans(self, *shares: float) -> list[Span]:
        """Return the first and last columns of parts that share the width in this proportion, as near as columns allow."""
        ends = np.cumsum(self.widths)
        wanted = np.cumsum(shares) / sum(shares) * self.width
        lasts = [int(np.argmin(np.abs(ends - each))) for each in wanted]
        firsts = [0, *(last + 1 for last in lasts[:-1])]
        return list(zip(firsts, lasts, strict=True))

    def span_width(self, span: Span) -> int:
        """Return the width of such a part in pixels."""
        return sum(self.widths[span[0] : span[1] + 1])


def grid_of(scope: Scope) -> Grid:
    """Return the grid for a test: never without a propeller and a cell count."""
    counts = sum(scope.named(cells.name) == scope.named(cells.name) for cells in by.tested_cells)
    propellers = min(max(1, scope.used_rows(by.BY_PROPELLER.name)), MOST_PROPELLERS)
    return Grid(propellers, min(max(1, counts), by.MOST_CELL_COUNTS))


# --- the figures of a propeller on a cell count ----------------------------------------------------------------


ESC_HELD, ESC_BURSTS = "ESC held (A)", "ESC burst (A)"
_WHOLE, _ONE, _TWO = "#,##0_)", "0.0_)", "0.00_)"
_GRAMS, _AMPS = f"[<99.5]0.0_);{_WHOLE}", f"[<2.95]0.00_);{_ONE}"
"""Small motors have three digits too."""
_PER_WATT = "g/W"
_OF_SEVERAL = ("Thrust (g)", "Current (A)", "Voltage (V)", _PER_WATT, "In flight* (A)", ESC_HELD)
"""What there is room for where several cell counts stand beside each other."""


def _at(column: Column, row: Column | Named) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), row)


def in_flight(row: Column | Named) -> Node:
    """Return the amps to expect in flight, from low to high where they differ, of a row of the summary."""
    low, high, static = (_at(column, row) for column in (f.flight_low, f.flight_high, g.static_current))
    return f.told(low, high, static, _at(f.flight_basis, row))


def _number(column: Column, row: Column | Named) -> Node:
    """Return a number without what lies beyond nine decimals: programs show one a hair below a half differently."""
    return call("round", _at(column, row), 9.0)


def fields(row: Column) -> dict[str, tuple[Node, str]]:
    """Return figure and number format of each column of a cell count, by their headers."""
    return {
        "Thrust (g)": (_number(g.full["thrust"], row), _GRAMS),
        "Current (A)": (_number(g.full["current"], row), _AMPS),
        "Voltage (V)": (_number(g.full["voltage"], row), _TWO),
        "Power (W)": (_number(g.full["power"], row), _WHOLE),
        _PER_WATT: (_number(g.full["grams_per_watt"], row), _TWO),
        "g/A": (_number(g.full["grams_per_amp"], row), _ONE),
        "g/g motor": (_number(g.full_thrust_to_mass, row), _ONE),
        "Highest (A)": (_number(g.static_current, row), _AMPS),
        "In flight* (A)": (in_flight(row), ""),
        ESC_HELD: (_at(n.held_size, row), _WHOLE),
        ESC_BURSTS: (_at(n.flight_size, row), _WHOLE),
        "Kind": (_at(g.full_kind, row), ""),
    }


def _shown_fields(grid: Grid, row: Column) -> dict[str, tuple[Node, Node, str]]:
    """Return the columns with live headers: of the ESC sizes the one for what is flown stands first, or alone."""
    found = fields(row)
    shown = {name: (join(name), *found[name]) for name in (found if grid.fields > len(_OF_SEVERAL) else _OF_SEVERAL)}
    for here, other in ((ESC_HELD, ESC_BURSTS), (ESC_BURSTS, ESC_HELD)):
        if here in shown:
            header, size = (rule.flown_in_bursts(*pair) for pair in ((other, here), (found[other][0], found[here][0])))
            shown[here] = (header if here == ESC_HELD else rule.flies_forward(header, "")), size, _WHOLE
    return shown


# --- the table -------------------------------------------------------------------------------------------------


MARK, CHOSEN = " ¹", " ◄"
MORE_IF_STEADY = (
    "Steady readings at part throttle would add grams per watt at equal thrust, hover throttle and minutes."
)
_PEAK, _NO_PEAK = '[<99.5]0.0" p";#,##0" p"', '#,##0" ×"'
_all_peaks = g.full_point.count(Condition(g.full_point, "=", Constant(r.AT_STEADY))) < 1
_MIXED, _PEAKS, _UNSAID = "At full throttle", "Full-throttle peaks", "Peak or steady?"
"""What heads the table: where no figure is steady marks would be on every row, so that the head says it."""
_LINE: dict[str, Any] = {"bottom": 1, "bottom_color": RULE}
_HEAD: dict[str, Any] = {"bold": True, "font_color": "#FFFFFF", "font_size": 11}


def _any(column: Column, comparison: str, value: float | str) -> Node:
    """Ask whether a column has such a row."""
    return column.count(Condition(column, comparison, Constant(value))) > 0


_WITHOUT_PEAK = join(
    "; ×: ",
    g.kind_unsaid.where("peak or steady not said", "no peak counts"),
    say(", so {:.2f} times it.", esc_peak_over_steady),
)
_PEAKS_SAID = _all_peaks.where(
    g.kind_unsaid.where("", " Peaks: less when held."),
    _any(g.full_kind, "=", r.PEAK).where(" p: peak, less when held.", ""),
)


def write_whole_table(sheet: Sheet, grid: Grid, top: int) -> int:
    """Write the table from a row on; return the row below it."""
    for band in range(grid.bands):
        top = _write_band(sheet, grid, top, band)
    more = f" {MORE_IF_STEADY}" if sheet.book.layout.is_left_out(g.headline_efficiency) else ""
    left_out = join((left_out_count > 0).where(f"{MARK.strip()} ", ""), sheet.book.layout.said["left out"], more)
    return grid.page.paragraphs(sheet, top, (_footnote(grid), left_out), font_color=GREY)


_SHARE = join(flight_share_low.fixed(0), " to ", flight_share_high.fixed(0), " % less")
_BY_SPEED = (f.by_speed.sum() > 0).where(say(" or by rpm at {:.0f} m/s, perhaps above the stand's", airspeed), "")
_KNOWN = join("Estimate: ", _SHARE, " (rule of thumb, often more)", _BY_SPEED)
_EITHER = join("Forward flight (", _SHARE, " by rule of thumb, often more", _BY_SPEED, ") to held (as static)")
_FLIGHT_WORDS = rule.flies_forward(
    join(
        way_of_flying.present().where(_KNOWN, _EITHER),
        _any(f.flight_basis, "=", f.MAY_RISE).where("; ≥: may rise.", "."),
    ),
    "As static: what is flown here gets no reduction.",
)
"""What the amps in flight are for what is flown: an estimate, or those of the stand."""


def _footnote(grid: Grid) -> Node:
    """Say what the marks mean that are on the page, and how much more there is than the table has room for."""
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
        " ESC: for the highest current with its ±",
        _any(n.over_static, ">", 1.0).where(_WITHOUT_PEAK, "."),
        _PEAKS_SAID,
        " Green: best, and ties.",
        _any(by.doubtful_here, ">", 0.0).where(" Amber: a flagged reading counts.", ""),
        esc.own_row.present().where(f"{CHOSEN}: on Craft.", ""),
        propellers,
        beyond,
    )


def _write_band(sheet: Sheet, grid: Grid, top: int, band: int) -> int:
    formats, first = sheet.book.formats, band * grid.beside
    head = _all_peaks.where(g.kind_unsaid.where(_UNSAID, _PEAKS), _MIXED)
    sheet.live(top, 0, head, formats.get(bg_color=SLATE, indent=1, **_HEAD))
    sheet.text(top + 1, 0, "Propeller", formats.get(indent=1, font_color=GREY, **_LINE))
    heights = (18, 28 if grid.beside == 3 else 16, *[grid.row] * grid.propellers)
    for row, height in enumerate(heights, start=top):
        sheet.height(row, height)
    chosen = by.BY_PROPELLER.row.equals(esc.own_row).where(CHOSEN, "").otherwise("")
    named = join(call("in short", by.prop), (by.left_out > 0).where(MARK, ""), chosen)
    form = formats.get(bold=True, font_size=grid.type, indent=1, shrink=True, **_LINE)
    _write_down(sheet, grid, top + 2, 0, named, form)
    for place, number in enumerate(range(first, min(first + grid.beside, grid.cell_counts))):
        left = 1 + place * grid.fields
        shade = formats.get(bg_color=CELL_COUNT_HEADS[number], align="center", **_HEAD)
        title = in_cells(by.tested_cells[number]).otherwise("No cell count")
        sheet.across(top, left, left + grid.fields - 1, title, shade)
        heads = _write_group(sheet, grid, top + 1, left, number)
        sheet.live(top + 2, grid.aside + number, by.kind_on[number], formats.helper, grid.propellers)
        _shade(sheet, grid, top + 2, left, heads, f"${column_letters(grid.aside + number)}{top + 3}")
    for row, lead in enumerate((THRUST_LEAD, EFFICIENCY_LEAD), start=top):
        sheet.live(row, grid.aside, lead, formats.helper)
    return top + 2 + grid.propellers


def _write_down(sheet: Sheet, grid: Grid, top: int, column: int, node: Node, form: Any) -> None:
    for row in range(grid.propellers):
        sheet.live(top + row, column, node, form, at=row)


def _write_group(sheet: Sheet, grid: Grid, header: int, left: int, number: int) -> list[str]:
    """Write headers and figures of a cell count; return what its columns are."""
    formats, shown = sheet.book.formats, _shown_fields(grid, by.row_on[number])
    for column, (words, node, shape) in enumerate(shown.values(), start=left):
        line = {**_LINE, "align": "right", **({"left": 1, "left_color": RULE} if column == left else {})}
        line |= {"indent": 1} if column == left + len(shown) - 1 and grid.beside > 1 else {}
        sheet.live(header, column, words, formats.get(font_color=GREY, text_wrap=True, **line))
        style: dict[str, Any] = {"num_format": shape} if shape else {"italic": True, "font_color": GREY}
        _write_down(sheet, grid, header + 1, column, node, formats.get(font_size=grid.type, **line, **style))
    return list(shown)


def _shade(sheet: Sheet, grid: Grid, top: int, left: int, heads: Sequence[str], kind: str) -> None:
    """Mark peaks, the best thrust and grams per watt, sizes without a peak, and what a flagged reading stands behind.

    Some programs follow the first rule that holds and no other, so each case has one rule.
    """
    last = top + grid.propellers - 1
    good, doubtful = {"bold": True, "bg_color": GOOD_FILL}, {"bg_color": MIDDLE_FILL, "italic": True}
    peak, without = {"num_format": _PEAK}, {"num_format": _NO_PEAK}
    is_doubtful, is_without = f"MOD(INT(N({kind})/2),2)=1", f"N({kind})>=4"
    is_peak = f'MOD(N({kind}),2)=1,{cell_address(top - 2, 0, True)}="{_MIXED}"'

    def best(column: int, lead: int) -> str:
        """Ask whether a figure is the best, or so near that it cannot be told from it."""
        here, area = cell_address(top, column), f"{cell_address(top, column, True)}:{cell_address(last, column, True)}"
        within = cell_address(top - 2 + lead, grid.aside, True)
        return f"ISNUMBER({here}),{here}>=MAX({area})/(1+N({within})/100)"

    of_thrust = (
        (f"AND({is_doubtful},{is_peak})", doubtful | peak),
        (is_doubtful, doubtful),
        (f"AND({best(left, 0)},{is_peak})", good | peak),
        (f"AND({best(left, 0)})", good),
        (f"AND({is_peak})", peak),
    )
    of_others = ((is_doubtful, doubtful),)
    of_sizes = (
        (f"AND({is_doubtful},{is_without})", doubtful | without),
        (is_doubtful, doubtful),
        (is_without, without),
    )
    of_efficiency = (*of_others, (f"AND({best(left + heads.index(_PER_WATT), 1)})", good))
    own = {heads[0]: of_thrust, _PER_WATT: of_efficiency, ESC_HELD: of_sizes, ESC_BURSTS: of_sizes}
    for cases, alike in groupby(enumerate(heads, start=left), lambda each: own.get(each[1], of_others)):
        columns = [column for column, _ in alike]
        for where, style in cases:
            sheet.shade((top, columns[0], last, columns[-1]), style, where, stop_if_true=True)
