"""Which errors act on one single reading, and the table that holds what its figures' uncertainties are made of."""

from __future__ import annotations

from dataclasses import replace

from xlsengine.bench import readings as r
from xlsengine.bench import settings as s
from xlsengine.bench import speed_figures as f
from xlsengine.bench import speed_rows as t
from xlsengine.bench.accuracies import relative
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.error_sources import FITTED, Taken, instruments, repeats_of
from xlsengine.bench.motor import trimmed_mass
from xlsengine.bench.motor_model import model_resistance
from xlsengine.bench.motor_uncertainty import hot_resistance, trimmed_mass_uncertainty, winding_uncertainty
from xlsengine.bench.no_load import winding_resistance
from xlsengine.bench.uncertainty import Input, relative_change
from xlsengine.expression import Aggregate, Column, Constant, Node, replaced
from xlsengine.sources import GUM_PROPAGATION, Source, definition

ROW_UNCERTAINTY = Table(
    "Margins", "Row by row as on Readings: the expanded uncertainty, ±, of every figure, in the figure's unit.",
    per=(r.row_number,), most=2000,
)  # fmt: skip
DECLARED_IN = {table.name: table for table in (r.READINGS, t.SPEED_FIGURES)}
NAMING = (r.run, r.prop, r.cells, r.throttle, r.kind_taken)
"""What says which reading a row is of."""
READING = Taken(
    thrust=r.thrust, voltage=r.voltage, current=r.current, speed=r.speed, torque=r.torque, diameter=r.diameter,
    ideal=f.ideal_power, measured=f.shaft_power, modelled=f.shaft_power,
)  # fmt: skip


# --- the figures' cells, fetched into this table -----------------------------------------------------------

row = ROW_UNCERTAINTY.derive(
    Quantity("sure_reading", "Row", Aggregate("row", (Column(ROW_UNCERTAINTY.name, "sure_reading"),)),
             "Row of Readings.", definition(), shown=0, helper=True)
)  # fmt: skip


def _fetched(cell: Node) -> Node | None:
    """Return this table's own column for one of Readings or Speed figures, made on demand."""
    if not isinstance(cell, Column) or cell.table == ROW_UNCERTAINTY.name:
        return None
    found = MADE.get(cell)
    if isinstance(found, Column):
        return _fetched(found)
    name = f"of_{cell.name}"
    if name not in ROW_UNCERTAINTY.quantities:
        declared = DECLARED_IN[cell.table].columns[cell.name]
        shown = declared.shown if isinstance(declared, Quantity) else 0
        fetch = Aggregate("text at" if cell.text else "at", (cell,), (), row)
        names = cell in NAMING
        named = r.READINGS.fields[r.GOES_BY[cell].name] if cell in r.GOES_BY else declared
        label = named.label if names else declared.symbol or declared.label
        ROW_UNCERTAINTY.derive(
            Quantity(name, label, fetch, declared.meaning, t.TAKEN, "", declared.unit, shown, not names)
        )
    return Column(ROW_UNCERTAINTY.name, name, cell.text)


def derive(
    name: str, label: str, unit: str, shown: int, node: Node, meaning: str, source: Source, equation: str = "",
    helper: bool = True,
) -> Column:  # fmt: skip
    """Add a column to the table; the columns of Readings and Speed figures that it speaks of are fetched."""
    here = replaced(node, _fetched)
    return ROW_UNCERTAINTY.derive(Quantity(name, label, here, meaning, source, "", unit, shown, helper, equation))


# --- what the figures are made of --------------------------------------------------------------------------


def _taken_over(node: Node) -> Node | None:
    """Return the column of Readings that Speed figures takes over in its row."""
    if isinstance(node, Aggregate) and node.argument == t.row:
        return node.columns[0]
    return None


def _made() -> dict[Node, Node]:
    """Return what every figure is made of, down to the readings, the motor's constants and the shaft power.

    The figure of merit and what belongs to it are spelt out by the ideal power, which is the same but shorter.
    """
    made: dict[Node, Node] = {
        Column(table.name, name, quantity.is_text): replaced(quantity.expression, _taken_over)
        for table in DECLARED_IN.values()
        for name, quantity in table.quantities.items()
    }
    made[f.ideal_power] = READING.made()[READING.ideal]
    made[f.figure_of_merit] = f.ideal_power / f.shaft_power
    made[f.propeller_loss] = f.shaft_power - f.ideal_power
    made[r.hover_efficiency] = f.ideal_power / r.power
    made[model_resistance] = hot_resistance.present().where(hot_resistance, winding_resistance)
    return made


MADE = _made()
for _column in NAMING:
    _fetched(_column)

# --- the errors ----------------------------------------------------------------------------------------------

_PLAIN = (
    *(each for each in instruments(READING) if each.name != "model_error"),
    Input("mass_error", "Trimmed mass", trimmed_mass_uncertainty, ((trimmed_mass, Constant(1.0)),), unit="g"),
    Input(
        "winding_error", "Winding resistance", winding_uncertainty, ((winding_resistance, Constant(1.0)),), unit="mΩ"
    ),
    Input(
        "model_error", "Motor model", relative(s.model_accuracy),
        ((f.shaft_power, f.shaft_power * r.torque.present().where(0.0, 1.0)),),
    ),
    *FITTED,
)  # fmt: skip
LEAVES = (f.shaft_power, f.motor_current)
"""Figures whose changes stand in columns of their own, so that what is made of them is short."""
DOWN_TO_LEAVES = {cell: made for cell, made in MADE.items() if cell not in LEAVES}


def _through_leaves(error: Input) -> Input:
    """Let an error act on the leaves as on cells."""
    acts = [act for act in error.acts_on if act[0] not in LEAVES]
    changes = ((leaf, relative_change(leaf, error, MADE)) for leaf in LEAVES)
    acts += [(leaf, leaf * _change(leaf, error, share)) for leaf, share in changes if share != Constant(0.0)]
    return replace(error, acts_on=tuple(acts))


def _change(leaf: Column, error: Input, share: Node) -> Node:
    symbol = t.SPEED_FIGURES.quantities[leaf.name].symbol
    return derive(
        f"{leaf.name}_by_{error.name}", f"r({symbol}; {error.label})", "", 3, share.otherwise(0.0),
        "By what share it moves with the error; 0 where it has no part.", GUM_PROPAGATION, "derivative of its logarithm",
    )  # fmt: skip


ERRORS = tuple(map(_through_leaves, _PLAIN))
_REPEATS = repeats_of(READING)
SCATTER = replace(_REPEATS, inputs=tuple(map(_through_leaves, _REPEATS.inputs)))
