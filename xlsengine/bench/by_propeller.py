"""One row for each propeller, the one of highest thrust first, that says in which rows of the summary its figures are."""

from __future__ import annotations

from xlsengine.bench import counting
from xlsengine.bench import readings as r
from xlsengine.bench import summary as g
from xlsengine.bench.declare import Figures, Quantity, Table
from xlsengine.bench.row_checks import flagged
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Named, Node
from xlsengine.sources import definition

MOST_CELL_COUNTS = 6
_MOST_CELLS = 100.0
_TIE = 1e-6


def _here(name: str, label: str, expression: Node, meaning: str) -> Column:
    return g.SUMMARY.derive(Quantity(name, label, expression, meaning, definition(), shown=0, helper=True))


told_cells = _here("told_cells", "Cells, 0 where none", g.cells.otherwise(0.0), "Never blank.")
told_thrust = _here("told_thrust", "Thrust, 0 where none", g.full["thrust"].otherwise(0.0), "Never blank.")
_key = _here(
    "summary_prop_key", "Propeller key", g.prop.present().where(r.propeller_key(g.prop), ""), "As names are compared."
)
own_place = _here(
    "summary_prop_place", "First row of its propeller",
    g.prop.present().where(Aggregate("text position", (_key,), (), _key), 0.0).otherwise(0.0), "Row here; 0 where none.",
)  # fmt: skip
_pair = _here(
    "summary_pair",
    "Propeller and cells, as a number",
    own_place * _MOST_CELLS + told_cells,
    "Row times 100, and cells.",
)
left_here = _here(
    "left_out_here", "Readings left out",
    Aggregate(
        "count", (r.group,),
        (Condition(r.group, "=", g.first_row), Condition(counting.left_out, ">", Constant(0.0))),
    ).otherwise(0.0),
    "Of the propeller and cell count.",
)  # fmt: skip
doubtful_here = _here(
    "doubtful_here", "Flagged readings that count, full throttle",
    Aggregate(
        "count", (r.group,),
        (Condition(r.group, "=", g.first_row), Condition(flagged, "=", Constant(1.0)),
         Condition(counting.point, ">", Constant(0.0))),
    ).otherwise(0.0),
    "Behind the figures of the propeller and cell count.",
)  # fmt: skip
_of_propeller = (Condition(own_place, "=", own_place),)
_top = Aggregate("largest", (told_thrust,), _of_propeller, Constant(1.0))
rank = _here(
    "summary_prop_rank", "Highest thrust of the propeller",
    (own_place > 0).where(own_place.equals(g.summary_row).where(_top - g.summary_row * _TIE, BLANK), BLANK),
    "In the propeller's first row; equal ones differ by their place.",
)  # fmt: skip

CELL_COUNTS = Figures("Cell counts", "The cell counts that were tested, in rising order.")


def _cell_counts() -> tuple[Named, ...]:
    found: list[Named] = []
    for place in range(1, MOST_CELL_COUNTS + 1):
        above = (Condition(told_cells, ">", found[-1] if found else Constant(0.0)),)
        smallest = Aggregate("largest", (told_cells,), above, Aggregate("count", (told_cells,), above))
        found.append(
            CELL_COUNTS.derive(
                Quantity(f"tested_cells_{place}", f"Cell count {place}", smallest, "Of all readings.", definition(),
                         shown=0)
            )
        )  # fmt: skip
    return tuple(found)


tested_cells = _cell_counts()

BY_PROPELLER = Table(
    "ByPropeller", "One row for each propeller, by its highest thrust, and where the summary has its cell counts.",
    spare=1, per=(rank,),
)  # fmt: skip


def _derive(name: str, label: str, expression: Node, meaning: str, helper: bool = True) -> Column:
    return BY_PROPELLER.derive(Quantity(name, label, expression, meaning, definition(), shown=0, helper=helper))


place = _derive("by_place", "Place", Aggregate("row", (Column("ByPropeller", "by_place"),)), "From 1.")
_row = _derive(
    "by_row", "Summary row", Aggregate("position", (rank,), (), Aggregate("largest", (rank,), (), place)),
    "The propeller's first.",
)  # fmt: skip
prop = _derive("by_prop", "Prop", Aggregate("text at", (g.prop,), (), _row), "The propeller.")
left_out = _derive(
    "by_left_out", "Readings left out", Aggregate("sum", (left_here,), (Condition(own_place, "=", _row),)).otherwise(0.0),
    "Of the propeller.",
)  # fmt: skip
row_on = tuple(
    _derive(
        f"by_row_{number}", f"Summary row, cell count {number}",
        Aggregate("position", (_pair,), (), _row * _MOST_CELLS + cells), "Blank where it was not tested on it.",
    )
    for number, cells in enumerate(tested_cells, start=1)
)  # fmt: skip


def _kind_code(row: Column) -> Node:
    """Tell a figure of peaks (1) and one with a flagged reading behind it (2), both as their sum."""
    peak = Aggregate("text at", (g.full_kind,), (), row).equals(r.PEAK).where(1.0, 0.0)
    doubtful = (Aggregate("at", (doubtful_here,), (), row).otherwise(0.0) > 0).where(2.0, 0.0)
    return row.present().where(peak.otherwise(0.0) + doubtful, 0.0)


kind_on = tuple(
    _derive(f"by_kind_{number}", f"Kind, cell count {number}", _kind_code(row), "1 peaks, 2 a flagged reading, 3 both.")
    for number, row in enumerate(row_on, start=1)
)
