"""Comparison: this motor against its class, live: in words, drawn, and motor by motor.

What only formulas read stands in folded columns to the left, so that the three tables share their first columns.
"""

from typing import Any, NamedTuple

import numpy as np

from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.class_motors import COMPARED, scatter_told
from xlsengine.bench.comparison.ranking import ONE_SAMPLE, RANKED, comparison_line, drawn_name
from xlsengine.bench.declaring.declare import Table
from xlsengine.expression import BLANK, Aggregate, Column, Constant, Named, Node, join
from xlsengine.study.comparison import is_compared
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.cell_values import decimals_of
from xlsengine.workbook.chart_data import ChartCells
from xlsengine.workbook.charts import PALE, finish, font, where_drawn
from xlsengine.workbook.formats import (
    BAD_FILL,
    BLUE,
    GOOD_FILL,
    GREY,
    INK,
    ONE_LINE,
    ORANGE,
    TYPED_FILL,
    plain_number_format,
)
from xlsengine.workbook.layout import Block, Layout, cell_address
from xlsengine.workbook.page_widths import pixels, print_blocks
from xlsengine.workbook.sheets.derived_table import place_table, write_table
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan, columns

# --- charts: bars, this motor's set apart ----------------------------------------------------------------------


HEIGHT = 18
"""Rows that the charts stand over."""
MOST_BARS = 16
_SIZE = (402, 330)


class Bars(NamedTuple):
    """One chart: its title, what is drawn of which rows of a table, and its alt text."""

    title: Node
    value: Column
    name: Column
    own: Node
    rows: int
    decimals: int
    described: str


def write_charts(sheet: Sheet, scope: Scope, place: tuple[int, int], left: int) -> None:
    """Put the charts beside each other from a cell on, and what they are drawn from at column `left`."""
    cells = ChartCells(sheet, scope, left)
    for number, bars in enumerate(each for each in _charts(scope) if cells.shows(each.value, each.rows)):
        chart = _chart(sheet, cells, bars)
        described = f"Bar chart of {bars.described} by motor, this motor in another colour than its peers."
        sheet.chart(place, chart, _SIZE, described, x_offset=4 + number * (_SIZE[0] + 12))


def _charts(scope: Scope) -> list[Bars]:
    """Return the charts: of the propeller and cell count with most peers, and of the class."""
    here = min(int(np.sum(scope.this_row(p.group) == 1)), MOST_BARS)
    motors = min(scope.rows(k.CLASS_MOTORS.name), MOST_BARS)
    first = Aggregate("text at", (k.label,), (), Constant(1.0))
    at = Aggregate("at", (k.at,), (), Constant(1.0)).fixed(0).otherwise("equal thrust")
    full, watts = join("Thrust at full throttle (g), ", first), join("Grams per watt at ", at, " g, ", first)
    mass, own = join("Trimmed mass (g)"), k.own.equals(1)
    return [
        Bars(full, p.thrust.value, drawn_name, p.is_own, here, 0, "static thrust at full throttle in grams"),
        Bars(watts, p.at_thrust, drawn_name, p.is_own, here, 2, "grams per watt at one thrust"),
        Bars(mass, k.mass, k.name, own, motors, 1, "the mass with trimmed leads in grams"),
    ]


def _chart(sheet: Sheet, cells: ChartCells, bars: Bars) -> Any:
    rows = [Aggregate("text at", (bars.name,), (), Constant(number + 1.0)) for number in range(bars.rows)]
    names = cells.each(join("Motor"), rows)
    chart = sheet.book.workbook.add_chart({"type": "bar"})
    for title, node, colour, ink in (
        ("Peers", bars.own.where(BLANK, bars.value), BLUE, "#FFFFFF"),
        ("This motor", bars.own.where(bars.value, BLANK), ORANGE, INK),
    ):
        drawn = where_drawn(names, cells.up(Constant(title), node, bars.rows))
        figures = {"value": True, "num_format": plain_number_format(bars.decimals), "font": font(10, True, ink)}
        labels = {"data_labels": {**figures, "position": "inside_end"}}  # beyond the longest bar there is no room
        chart.add_series({**drawn, "fill": {"color": colour}, "overlap": 100, "gap": 45, **labels})
    heading = cells.each(join("Title"), [bars.title])
    chart.set_y_axis({"num_font": font(10), "reverse": True, "line": {"color": PALE}, "major_tick_mark": "none"})
    chart.set_x_axis({"min": 0, "visible": False, "major_gridlines": {"visible": False}})
    finish(chart, heading.where, 12, {"position": "bottom", "font": font(10)}, {"color": PALE})
    return chart


# --- the sheet: in words, and three tables ---------------------------------------------------------------------


class Part(NamedTuple):
    """A table with its title, what it says, and its columns that a reader sees."""

    table: Table
    title: str
    said: str
    leading: tuple[str, ...]

    @property
    def helpers(self) -> tuple[str, ...]:
        """Columns that only formulas read."""
        return tuple(name for name in self.table.columns if name not in self.leading)


def _of_figures(*names: str) -> tuple[str, ...]:
    return tuple(name.format(figure) for figure in RANKED for name in names)


_PARTS = (
    Part(
        COMPARED,
        "How it stands, by propeller and cell count",
        "From the best place that this motor may have to the worst, with the confidence on Settings; motors between them "
        "are level with it. At 95 %, of 100 classes of motors equal in truth 5 at most have a peer that is called different, "
        "for each figure of each propeller and cell count.",
        (
            "compared_label",
            *_of_figures("compared_{}_standing", "compared_{}_band"),
            "compared_at",
        ),
    ),
    Part(
        k.CLASS_MOTORS,
        "Mass, Kv and price of the class",
        "Kv measured over the one on the label; mass with trimmed leads.",
        columns("class", "test name mass_full mass mass_margin mass_over label_kv kv kv_expanded kv_off price"),
    ),
    Part(
        p.PEERS,
        "Motor by motor",
        "Thrust and g/W are brought to this motor's voltage and air (estimates; as read below). Shaded where a difference "
        "counts.",
        (
            "peer_label",
            "peer_name",
            *_of_figures("peer_{0}", "peer_{0}_against", "peer_{0}_place"),
            "peer_conditions",
        ),
    ),
)
_FURTHER = columns("peer", "label name thrust_read voltage what current unbeaten mass")
_FURTHER_TITLE = "Motor by motor: as read, and what else is known"
_FURTHER_SAID = (
    "Current is brought to this motor's voltage and air, as thrust is above. Nothing beats it: in thrust, mass and g/W at "
    "equal thrust together."
)
_FURTHER_HEADER = 42.0  # points
_FIRST = max(len(part.helpers) for part in _PARTS)
_WIDTHS = (16.5, 30, 9, 15, 9, 15, 13, 9, 9, 13, 9, 20)
_NAMES = frozenset(name for part in _PARTS for name in part.leading[:2])
_WRAPPED = {"peer_conditions": 21, "compared_efficiency_standing": 14, "compared_at_thrust_standing": 14}
"""Texts that may take more than a line, with the letters that one holds."""
_LAST = _FIRST + len(_WIDTHS) - 1
_CHARTS = _LAST + 3
_ABOUT = (
    "Motors of the same stator size and about the same Kv, from the library; each with the same propeller and cell count. "
    "Their figures were typed in when this workbook was written; ranks and verdicts follow this motor's readings."
)
_SENTENCES: tuple[Node, ...] = (comparison_line, scatter_told, join(ONE_SAMPLE))
_SENTENCES_TOP, _CHART_TOP = 3, 7
_TOP = _CHART_TOP + HEIGHT + 3
_LINE, _ACROSS = 14.0, 170  # points, and letters over the width of the page
_HEADERS = {COMPARED.name: 92.0, k.CLASS_MOTORS.name: 42.0, p.PEERS.name: 54.0}  # points


def _place(layout: Layout, content: Content, sheet: str) -> None:
    """Place the tables below each other, and the sentences that are figures."""
    for row, sentence in enumerate(_SENTENCES, start=_SENTENCES_TOP):
        if isinstance(sentence, Named):
            layout.name(sentence.name, sheet, row, _FIRST)
    top = _TOP
    for part in _PARTS:
        left, order = _FIRST - len(part.helpers), (*part.helpers, *part.leading)
        top = place_table(layout, content.scope, part.table, sheet, top, left=left, order=order).bottom + 4


def _write(sheet: Sheet, content: Content) -> None:
    formats, blocks = sheet.book.formats, sheet.book.layout.blocks
    sheet.usual_height(_LINE)
    sheet.height(0, 28)
    sheet.text(0, _FIRST, "This motor against its class", formats.title)
    _across(sheet, 1, join(_ABOUT), italic=True, font_color=GREY)
    for row, sentence in enumerate(_SENTENCES, start=_SENTENCES_TOP):
        _across(sheet, row, sentence, bold=row == _SENTENCES_TOP)
    sheet.fold(0, _FIRST - 1, 9)
    sheet.widths(_WIDTHS, _FIRST)
    write_charts(sheet, content.scope, (_CHART_TOP, _FIRST), _CHARTS)
    for part in _PARTS:
        block = blocks[part.table.name]
        sheet.text(block.top - 2, _FIRST, part.title, formats.section)
        _across(sheet, block.top - 1, join(part.said), italic=True, font_color=GREY)
        write_table(sheet, part.table, _HEADERS[block.name], _shape)
        for row, height in enumerate(_heights(sheet, block), start=block.top + 1):
            sheet.height(row, height)
    _write_further(sheet, blocks[p.PEERS.name])
    _colour(sheet)
    _print(sheet)
    sheet.worksheet.freeze_panes(2, 0)


def _further(block: Block) -> tuple[int, int]:
    """Return the header row and the last row of the motors' further figures, which stand below the table of them."""
    return block.bottom + 4, block.bottom + 4 + block.rows


def _write_further(sheet: Sheet, block: Block) -> None:
    """Write what a page has no room for beside the other figures, motor by motor in the same order."""
    formats, (top, _) = sheet.book.formats, _further(block)
    sheet.text(top - 2, _FIRST, _FURTHER_TITLE, formats.section)
    _across(sheet, top - 1, join(_FURTHER_SAID), italic=True, font_color=GREY)
    sheet.height(top, _FURTHER_HEADER)
    for column, name in enumerate(_FURTHER, start=_FIRST):
        declared = p.PEERS.declared(name)
        sheet.text(top, column, declared.header, formats.header)
        form = formats.derived(decimals_of(declared), declared.is_text, **(_shape(name) if declared.is_text else {}))
        sheet.live(top + 1, column, Column(block.name, name, declared.is_text), form, block.rows)


def _across(sheet: Sheet, row: int, said: Node, **style: Any) -> None:
    form = sheet.book.formats.get(text_wrap=True, valign="top", **style)
    sheet.paragraph(row, (_FIRST, _LAST), said, form, _ACROSS, _LINE)


def _print(sheet: Sheet) -> None:
    """Print charts and tables, none of them split; of one longer than a page the motors of a group stay together."""
    blocks = [sheet.book.layout.blocks[part.table.name] for part in _PARTS]
    top, bottom = _further(blocks[-1])
    starts = [0, *(block.top - 2 for block in blocks), top - 2]
    print_blocks(sheet, sum(map(pixels, _WIDTHS)), starts, (bottom, _LAST))


def _shape(name: str) -> dict[str, Any]:
    """Return how a text stands in its cell: on one line, but for those that may take more."""
    place = {} if name in _NAMES or name in _WRAPPED else {"align": "center", "indent": 0}
    return {**({} if name in _WRAPPED else ONE_LINE), **place}


def _heights(sheet: Sheet, block: Block) -> list[float]:
    """Return how high the rows of a table are, in points: some texts may take more than a line."""
    lines = [1] * block.rows
    for name, letters in _WRAPPED.items():
        if name in block.columns:
            said = sheet.book.values(Column(block.name, name, True))[: block.rows]
            lines = [max(line, -(-len(text or "") // letters)) for line, text in zip(lines, said, strict=True)]
    return [_LINE + 13.0 * (line - 1) for line in lines]


# --- colours ---------------------------------------------------------------------------------------------------


def _colour(sheet: Sheet) -> None:
    """Shade this motor's rows, and what the verdicts say in words."""
    layout = sheet.book.layout
    for own in (p.own, k.own):
        block = layout.blocks[own.table]
        area = (block.top + 1, _FIRST, block.bottom, block.right)
        asked = f"=${cell_address(block.top + 1, block.column(own.name))}=1"
        style = {"bg_color": TYPED_FILL, "bold": True}
        sheet.shade(area, style, type="formula", criteria=asked)
        if own is p.own:
            top, bottom = _further(block)
            further = (top + 1, _FIRST, bottom, _FIRST + len(_FURTHER) - 1)
            sheet.shade(further, style, type="formula", criteria=asked)
    block = layout.blocks[p.PEERS.name]
    for ranked in RANKED.values():
        fills = ((", higher", BAD_FILL), (", lower", GOOD_FILL))
        sheet.shade_words(block.area(ranked.against.name), fills, "containing")
    above, here = (cell_address(row, _FIRST) for row in (block.top, block.top + 1))
    line = {"bold": True, "top": 1, "top_color": INK}
    sheet.shade((block.top + 1, _FIRST, block.bottom, _FIRST), line, type="formula", criteria=f"=${here}<>${above}")


SHEET = SheetPlan(
    "Comparison",
    Kind.READ,
    "how this motor stands among those of its class, and which differences are noise",
    writes=_write,
    places=_place,
    printed=True,
    measured=is_compared,
    out_of_date=(2, _FIRST),
    more="Compare with a library of earlier tests to see how the motor stands among its class",
)
