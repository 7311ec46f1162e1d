"""Comparison: this motor against its class, live: in words, drawn, and motor by motor.

What only formulas read stands in folded columns to the left, so that the three tables share their first columns.
"""

from functools import partial
from typing import Any, NamedTuple

import numpy as np

from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.class_motors import COMPARED, scatter_told
from xlsengine.bench.comparison.ranking import ONE_SAMPLE, RANKED, comparison_line, drawn_name
from xlsengine.bench.declaring.declare import Table
from xlsengine.expression import BLANK, Aggregate, Column, Constant, Node, join
from xlsengine.study.comparison import is_compared
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.chart_data import ChartCells
from xlsengine.workbook.charts import LYING, PALE, chart, font, where_drawn
from xlsengine.workbook.formats import (
    BAD_FILL,
    BLUE,
    GOOD_FILL,
    GREY,
    INK,
    ONE_LINE,
    ORANGE,
    TYPED_FILL,
    decimals_of,
    plain_number_format,
    stored,
)
from xlsengine.workbook.layout import cell_address
from xlsengine.workbook.page_widths import pixels, print_blocks
from xlsengine.workbook.sheets.parts import Content, Kind, Page, SheetPlan, columns, write_table

# --- charts: bars, this motor's set apart ----------------------------------------------------------------------


HEIGHT = 18
"""Rows that the charts stand over."""
MOST_BARS = 16
_SIZE = (402, 330)


def write_charts(sheet: Sheet, scope: Scope, place: tuple[int, int], left: int) -> None:
    """Put the charts beside each other from a cell on, and what they are drawn from at column `left`.

    They are of the propeller and cell count with most peers, and of the class.
    """
    here = min(int(np.sum(scope.this_row(p.group) == 1)), MOST_BARS)
    motors = min(scope.rows(k.CLASS_MOTORS.name), MOST_BARS)
    first = Aggregate("text at", (k.label,), (), Constant(1.0))
    at = Aggregate("at", (k.at,), (), Constant(1.0)).fixed(0).otherwise("equal thrust")
    full, watts = join("Thrust at full throttle (g), ", first), join("Grams per watt at ", at, " g, ", first)
    peers, of_class = (drawn_name, p.is_own, here), (k.name, k.own.equals(1), motors)
    charts: tuple[tuple[Node, Column, tuple[Column, Node, int], int, str], ...] = (
        (full, p.thrust.value, peers, 0, "static thrust at full throttle in grams"),
        (watts, p.at_thrust, peers, 2, "grams per watt at one thrust"),
        (join("Trimmed mass (g)"), k.mass, of_class, 1, "the mass with trimmed leads in grams"),
    )
    cells, number = ChartCells(sheet, scope, left), 0
    for title, value, of, decimals, described in charts:
        if cells.shows(value, of[-1]):
            chart = _chart(sheet, cells, title, value, of, decimals)
            said = f"Bar chart of {described} by motor, this motor in another colour than its peers."
            sheet.chart(place, chart, _SIZE, said, x_offset=4 + number * (_SIZE[0] + 12))
            number += 1


def _chart(
    sheet: Sheet, cells: ChartCells, title: Node, value: Column, of: tuple[Column, Node, int], decimals: int
) -> Any:
    """Make the chart of a column: `of` are the motors' names, which of them is this one, and how many rows are drawn."""
    name, own, rows = of
    nodes = [Aggregate("text at", (name,), (), Constant(number + 1.0)) for number in range(rows)]
    names = cells.each(join("Motor"), nodes)
    bars = []
    for series, node, colour, ink in (
        ("Peers", own.where(BLANK, value), BLUE, "#FFFFFF"),
        ("This motor", own.where(value, BLANK), ORANGE, INK),
    ):
        drawn = where_drawn(names, cells.up(Constant(series), node, rows))
        figures = {"value": True, "num_format": plain_number_format(decimals), "font": font(10, True, ink)}
        labels = {"data_labels": {**figures, "position": "inside_end"}}  # beyond the longest bar there is no room
        bars.append({**drawn, "fill": {"color": colour}, "overlap": 100, "gap": 45, **labels})
    heading = cells.each(join("Title"), [title])
    names_axis = {"num_font": font(10), "reverse": True, "line": {"color": PALE}, "major_tick_mark": "none"}
    axes = {"min": 0, "visible": False, "major_gridlines": {"visible": False}}, names_axis
    legend = {"position": "bottom", "font": font(10)}
    return chart(sheet.book, LYING, bars, axes, heading.where, 12, legend, PALE, data=[*map(stored, heading.texts)])


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
_FURTHER_SAID = (
    "Current is brought to this motor's voltage and air, as thrust is above. Nothing beats it: in thrust, mass and g/W at "
    "equal thrust together."
)
_FIRST = max(len(part.helpers) for part in _PARTS)
_WIDTHS = (16.5, 30, 9, 15, 9, 15, 13, 9, 9, 13, 9, 20)
_NAMES = frozenset(name for part in _PARTS for name in part.leading[:2])
_WRAPPED = {"peer_conditions": 21, "compared_efficiency_standing": 14, "compared_at_thrust_standing": 14}
"""Texts that may take more than a line, with the letters that one holds."""
_LAST = _FIRST + len(_WIDTHS) - 1
_PAGE = Page((_FIRST, _LAST), 170, 14.0)
_ABOUT = (
    "Motors of the same stator size and about the same Kv, from the library; each with the same propeller and cell count. "
    "Their figures were typed in when this workbook was written; ranks and verdicts follow this motor's readings."
)
_SENTENCES: tuple[Node, ...] = (comparison_line, scatter_told, join(ONE_SAMPLE))
_QUIET: dict[str, Any] = {"italic": True, "font_color": GREY}
_HEADERS = {COMPARED.name: 92.0, k.CLASS_MOTORS.name: 42.0, p.PEERS.name: 54.0}  # points


def _parts(scope: Scope) -> tuple[Part, ...]:
    """Return the tables that hold something: that of the class alone where none of it was read with the same propeller."""
    alike = bool(np.any(scope.this_row(p.group) > 0))
    return tuple(part for part in _PARTS if alike or part.table is k.CLASS_MOTORS)


def _write_words(sheet: Sheet, content: Content, top: int) -> int:
    """Write what it is about, how this motor stands, and the charts."""
    sheet.usual_height(_PAGE.line)
    sheet.height(0, 28)
    sheet.text(0, _FIRST, "This motor against its class", sheet.book.formats.title)
    _PAGE.paragraphs(sheet, 1, [_ABOUT], **_QUIET)
    row = _PAGE.paragraphs(sheet, 3, _SENTENCES[:1], bold=True)
    row = _PAGE.paragraphs(sheet, row, _SENTENCES[1:]) + 1
    write_charts(sheet, content.scope, (row, _FIRST), _LAST + 3)
    return row + HEIGHT + 1


def _title(sheet: Sheet, top: int, title: str, said: str) -> int:
    sheet.text(top, _FIRST, title, sheet.book.formats.section)
    return _PAGE.paragraphs(sheet, top + 1, [said], **_QUIET)


def _write_part(part: Part, sheet: Sheet, content: Content, top: int) -> int:
    """Write a table, what only formulas read folded away to the left; its rows are as high as some texts need."""
    if part not in _parts(content.scope):
        return top
    top, name = _title(sheet, top, part.title, part.said), part.table.name
    left, order = _FIRST - len(part.helpers), (*part.helpers, *part.leading)
    block = write_table(sheet, part.table, top, left, order, _HEADERS[name], _shape)
    wrapped = [each for each in _WRAPPED if each in block.columns]
    texts = [sheet.book.values(Column(name, each, True))[: block.rows] for each in wrapped]
    for row in range(block.rows):
        said = [column[row] for column in texts]
        sheet.fit(block.top + 1 + row, said, [_WRAPPED[each] for each in wrapped], 13, _PAGE.line - 13)
    return block.bottom + 2


def _write_further(sheet: Sheet, content: Content, top: int) -> int:
    """Write what a page has no room for beside the other figures, motor by motor in the same order."""
    if _parts(content.scope) != _PARTS:
        return top
    formats, block = sheet.book.formats, sheet.book.layout.blocks[p.PEERS.name]
    top = _title(sheet, top, "Motor by motor: as read, and what else is known", _FURTHER_SAID)
    sheet.height(top, 42)
    for column, name in enumerate(_FURTHER, start=_FIRST):
        declared = p.PEERS.declared(name)
        sheet.text(top, column, declared.header, formats.header)
        form = formats.derived(decimals_of(declared), declared.is_text, **(_shape(name) if declared.is_text else {}))
        sheet.live(top + 1, column, Column(block.name, name, declared.is_text), form, block.rows)
    return top + block.rows + 1


def _shape(name: str) -> dict[str, Any]:
    """Return how a text stands in its cell: on one line, but for those that may take more."""
    place = {} if name in _NAMES or name in _WRAPPED else {"align": "center", "indent": 0}
    return {**({} if name in _WRAPPED else ONE_LINE), **place}


def _set_page(sheet: Sheet, content: Content, below: int) -> None:
    """Colour it, and print charts and tables, none split; of one longer than a page the motors of a group stay together."""
    sheet.fold(0, _FIRST - 1, 9)
    sheet.widths(_WIDTHS, _FIRST)
    parts = _parts(content.scope)
    blocks = [sheet.book.layout.blocks[part.table.name] for part in parts]
    starts = [0, *(block.top - 2 for block in blocks)]
    if parts == _PARTS:
        further = below - blocks[-1].rows
        _colour(sheet, further)
        starts.append(further - 3)
    print_blocks(sheet, sum(map(pixels, _WIDTHS)), starts, (below - 1, _LAST))
    sheet.worksheet.freeze_panes(2, 0)


def _colour(sheet: Sheet, further: int) -> None:
    """Shade this motor's rows, and what the verdicts say in words; `further` is the first row of further figures."""
    layout = sheet.book.layout
    for own in (p.own, k.own):
        block = layout.blocks[own.table]
        area = (block.top + 1, _FIRST, block.bottom, block.right)
        again = (further, _FIRST, further + block.rows - 1, _FIRST + len(_FURTHER) - 1)
        for each in (area, again) if own is p.own else (area,):
            here = f"${cell_address(block.top + 1, block.column(own.name))}=1"
            sheet.shade(each, {"bg_color": TYPED_FILL, "bold": True}, here)
    block = layout.blocks[p.PEERS.name]
    for ranked in RANKED.values():
        fills = ((", higher", BAD_FILL), (", lower", GOOD_FILL))
        sheet.shade_words(block.area(ranked.against.name), fills, "containing")
    above, first = (cell_address(row, _FIRST) for row in (block.top, block.top + 1))
    line = {"bold": True, "top": 1, "top_color": INK}
    sheet.shade((block.top + 1, _FIRST, block.bottom, _FIRST), line, f"${first}<>${above}")


SHEET = SheetPlan(
    "Comparison",
    Kind.READ,
    "how this motor stands among those of its class, and which differences are noise",
    parts=(_write_words, *(partial(_write_part, part) for part in _PARTS), _write_further),
    page=_set_page,
    printed=True,
    measured=is_compared,
    out_of_date=(2, _FIRST),
    more="Compare with a library of earlier tests to see how the motor stands among its class",
)
