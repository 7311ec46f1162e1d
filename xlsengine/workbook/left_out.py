"""Which readings take no part in the figures, in one sentence with their cells."""

from __future__ import annotations

from xlsxwriter.utility import xl_col_to_name

from xlsengine.bench.advice.statements import LEFT_OUT, LEFT_OUT_CELLS, MOST_NAMED, left_out_count, typed_readings
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import counting as c
from xlsengine.expression import Constant, Named, Node, call, join
from xlsengine.workbook.layout import Layout


def _cell(layout: Layout, row: Named, column: Named) -> Node:
    """Return the address of the typed cell that a reading is left out for."""
    block = layout.blocks[r.READINGS.name]
    letters = call("choose", column, *(xl_col_to_name(block.column(name)) for name in r.READINGS.fields))
    return join(letters, (row + block.top + 1).fixed(0))


def _cells(layout: Layout, kind: float) -> Node:
    """Return the cells in brackets, the first few of them."""
    words: Node = join("Readings ")
    for place, (row, column) in enumerate(LEFT_OUT_CELLS[kind]):
        comma = ", " if place else ""
        words = join(words, row.present().where(join(comma, _cell(layout, row, column)), ""))
    return join(" (", words, (LEFT_OUT[kind] > MOST_NAMED).where(", …", ""), ")")


def left_out_statement(layout: Layout) -> Node:
    """Say how many readings are left out, why, and in which cells; nothing where all count."""
    parts: Node = join("")
    before: Node = Constant(0.0)
    for kind, words in c.WHY.items():
        count: Node = LEFT_OUT[kind]
        cells = join("") if kind == c.BY_TESTER else _cells(layout, kind)
        comma = (before > 0).where(", ", "")
        parts = join(parts, (count > 0).where(join(comma, count.fixed(0), f" {words}", cells), ""))
        before = before + count
    of_how_many = typed_readings.equals(1).where("1 reading", join(typed_readings.fixed(0), " readings"))
    said = join(left_out_count.fixed(0), " of ", of_how_many, " left out: ", parts, ".")
    every = typed_readings.equals(1).where("The reading counts.", join("All ", of_how_many, " count."))
    return (left_out_count > 0).where(said, every)
