"""Comparison: this motor against its class, live: in words, drawn, and motor by motor.

What only formulas read stands in folded columns to the left, so that the three tables share their first columns.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison import comparison_lines as lines
from xlsengine.bench.comparison.class_scatter import scatter_told
from xlsengine.bench.comparison.compared import COMPARED, FIGURES
from xlsengine.bench.comparison.peers import PEERS
from xlsengine.bench.comparison.ranking import RANKED
from xlsengine.bench.declaring.declare import Field, Table
from xlsengine.bench.model import FIGURE_QUANTITIES
from xlsengine.expression import Named, Node, join
from xlsengine.study.comparison import is_compared
from xlsengine.workbook.book import Sheet, decimals_of
from xlsengine.workbook.formats import BAD_FILL, GOOD_FILL, INK, ONE_LINE, TYPED_FILL
from xlsengine.workbook.layout import Block, Layout, cell_address
from xlsengine.workbook.sheets.comparison_charts import HEIGHT, write_charts
from xlsengine.workbook.sheets.derived_table import place_table
from xlsengine.workbook.sheets.parts import Content, Kind, Own, SheetPlan


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
    return tuple(name.format(figure) for figure in FIGURES for name in names)


_PARTS = (
    Part(
        COMPARED,
        "How it stands, by propeller and cell count",
        "Shared: the motors on a place differ by less than the smallest difference that counts. The true place lies between "
        "the two named, with the confidence on Settings.",
        (
            "compared_label",
            *_of_figures("compared_{}_standing", "compared_{}_band", "compared_{}_range"),
            "compared_at",
        ),
    ),
    Part(
        k.CLASS_MOTORS,
        "Mass, Kv and price of the class",
        "Kv measured over the one on the label; mass with trimmed leads.",
        (
            "class_test",
            "class_name",
            "class_mass_full",
            "class_mass",
            "class_mass_margin",
            "class_mass_over",
            "class_label_kv",
            "class_kv",
            "class_kv_expanded",
            "class_kv_off",
            "class_price",
        ),
    ),
    Part(
        PEERS,
        "Motor by motor",
        "Thrust, current and g/W are brought to this motor's voltage and air (estimates; as read at the right). Nothing "
        "beats it: in thrust, mass and g/W at equal thrust together. Shaded where a difference counts.",
        (
            "peer_label",
            "peer_name",
            *_of_figures("peer_{0}", "peer_{0}_against", "peer_{0}_place"),
            "peer_current",
            "peer_mass",
            "peer_unbeaten",
            "peer_what",
            "peer_voltage",
            "peer_thrust_read",
            "peer_conditions",
        ),
    ),
)
_FIRST = max(len(part.helpers) for part in _PARTS)
_WIDTHS = (18, 28, 11, 14, 14, 11, 14, 14, 11, 14, 14, 9, 8, 12, 10, 8, 9, 34)
_LAST = _FIRST + len(_WIDTHS) - 1
_CHARTS = _LAST + 3
_ABOUT = (
    "Motors of the same stator size and about the same Kv, from the library; each with the same propeller and cell count. "
    "Their figures were typed in when this workbook was written; ranks and verdicts follow this motor's readings."
)
_SENTENCES: tuple[Node, ...] = (lines.comparison_line, scatter_told, join(lines.ONE_SAMPLE))
_SENTENCES_TOP, _CHART_TOP = 3, 7
_TOP = _CHART_TOP + HEIGHT + 3
_LINE, _HEADER = 15, 74


def _place(layout: Layout, content: Content, sheet: str, top: int) -> int:
    """Place the tables below each other, and the sentences that are figures."""
    for row, sentence in enumerate(_SENTENCES, start=_SENTENCES_TOP):
        if isinstance(sentence, Named):
            layout.name(sentence.name, sheet, row, _FIRST)
    top = _TOP
    for part in _PARTS:
        left, order = _FIRST - len(part.helpers), (*part.helpers, *part.leading)
        top = place_table(layout, content.scope, part.table, sheet, top, left=left, order=order).bottom + 4
    return top


def _write(sheet: Sheet, content: Content, top: int) -> int:
    """Write the sheet."""
    formats, blocks = sheet.book.formats, sheet.book.layout.blocks
    sheet.worksheet.set_row(0, 28)
    sheet.text(0, _FIRST, "This motor against its class", formats.title)
    sheet.text(1, _FIRST, _ABOUT, formats.subtitle)
    for row, sentence in enumerate(_SENTENCES, start=_SENTENCES_TOP):
        said = FIGURE_QUANTITIES[sentence.name].expression if isinstance(sentence, Named) else sentence
        sheet.live(row, _FIRST, said, formats.get(bold=row == _SENTENCES_TOP, font_size=11))
        sheet.worksheet.set_row(row, _LINE + 2)
    _set_widths(sheet)
    write_charts(sheet, content.scope, (_CHART_TOP, _FIRST), _CHARTS)
    for part in _PARTS:
        _write_part(sheet, part)
    _colour(sheet)
    sheet.print_setup()
    sheet.worksheet.set_paper(8)
    sheet.worksheet.print_area(0, _FIRST, blocks[PEERS.name].bottom, _LAST)
    sheet.worksheet.freeze_panes(2, 0)
    return blocks[PEERS.name].bottom


def _set_widths(sheet: Sheet) -> None:
    sheet.worksheet.set_column(0, _FIRST - 1, 9, None, {"level": 1, "hidden": True})
    for column, width in enumerate(_WIDTHS, start=_FIRST):
        sheet.worksheet.set_column(column, column, width)


def _write_part(sheet: Sheet, part: Part) -> None:
    """Write a table of typed and of live columns where it was placed."""
    formats, block = sheet.book.formats, sheet.book.layout.blocks[part.table.name]
    sheet.text(block.top - 2, _FIRST, part.title, formats.section)
    sheet.text(block.top - 1, _FIRST, part.said, formats.subtitle)
    sheet.worksheet.set_row(block.top, _HEADER)
    sheet.book.table(sheet, block, [_forms(sheet, part, name) for name in block.columns])
    for name in block.columns:
        declared, form = part.table.columns[name], _forms(sheet, part, name)[1]
        if isinstance(declared, Field):
            _write_typed(sheet, block, name, form)
        else:
            sheet.derived(block.top + 1, block.column(name), part.table.name, declared, form, block.rows)


def _write_typed(sheet: Sheet, block: Block, name: str, form: Any) -> None:
    assert sheet.book.scope is not None
    for row, value in enumerate(sheet.book.scope.column(block.name, name).tolist(), start=block.top + 1):
        sheet.value(row, block.column(name), value, form)


def _forms(sheet: Sheet, part: Part, name: str) -> tuple[Any, Any]:
    formats, declared = sheet.book.formats, part.table.columns[name]
    if name not in part.leading:
        return formats.helper_header, formats.helper(decimals_of(declared))
    shape = {**ONE_LINE, "align": "left"} if declared.is_text else {}
    return formats.header, formats.derived(decimals_of(declared), declared.is_text, **shape)


# --- colours ---------------------------------------------------------------------------------------------------


def _colour(sheet: Sheet) -> None:
    """Shade this motor's rows, and what the verdicts say in words."""
    layout = sheet.book.layout
    for table, own in ((PEERS.name, "kept_own"), (k.CLASS_MOTORS.name, "class_kept_own")):
        block = layout.blocks[table]
        asked = f"=${cell_address(block.top + 1, block.column(own))}=1"
        form = sheet.book.workbook.add_format({"bg_color": TYPED_FILL, "bold": True})
        rule = {"type": "formula", "criteria": asked, "format": form}
        sheet.worksheet.conditional_format(block.top + 1, _FIRST, block.bottom, block.right, rule)
    block = layout.blocks[PEERS.name]
    for ranked in RANKED.values():
        column = block.column(ranked.against.name)
        for word, fill in ((", higher", BAD_FILL), (", lower", GOOD_FILL)):
            form = sheet.book.workbook.add_format({"bg_color": fill})
            rule = {"type": "text", "criteria": "containing", "value": word, "format": form}
            sheet.worksheet.conditional_format(block.top + 1, column, block.bottom, column, rule)
    above, here = (cell_address(row, _FIRST) for row in (block.top, block.top + 1))
    form = sheet.book.workbook.add_format({"bold": True, "top": 1, "top_color": INK})
    rule = {"type": "formula", "criteria": f"=${here}<>${above}", "format": form}
    sheet.worksheet.conditional_format(block.top + 1, _FIRST, block.bottom, _FIRST, rule)


SHEET = SheetPlan(
    "Comparison",
    Kind.READ,
    "how this motor stands among those of its class, and which differences are noise",
    parts=(Own(_write, _place),),
    printed=True,
    measured=is_compared,
    out_of_date=(2, _FIRST),
    more="Compare with a library of earlier tests to see how the motor stands among its class",
)
