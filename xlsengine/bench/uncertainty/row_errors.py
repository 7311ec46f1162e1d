"""Which errors act on one single reading, and what its figures are made of."""

from __future__ import annotations

from collections.abc import Mapping

from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.motor import trimmed_mass
from xlsengine.bench.inputs.no_load import no_load_at, winding_resistance
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.physics.motor_model import best_kv, model_resistance
from xlsengine.bench.propagation.accuracies import relative
from xlsengine.bench.propagation.terms import Input
from xlsengine.bench.uncertainty.error_sources import FITTED, Taken, instruments, repeats_of
from xlsengine.bench.uncertainty.motor_uncertainty import hot_resistance, trimmed_mass_uncertainty, winding_uncertainty
from xlsengine.expression import Aggregate, Column, Constant, Node, replaced

DECLARED_IN = {table.name: table for table in (r.READINGS, t.SPEED_FIGURES)}
READING = Taken(
    thrust=r.thrust,
    voltage=r.voltage,
    current=r.current,
    speed=r.speed,
    torque=r.torque,
    diameter=r.diameter,
    ideal=f.ideal_power,
    measured=f.shaft_power,
    modelled=f.shaft_power,
)


def _taken_over(node: Node) -> Node | None:
    """Return the column of Readings that Speed figures takes over in its row."""
    if isinstance(node, Aggregate) and node.argument == t.row:
        return node.columns[0]
    return None


def _made() -> dict[Node, Node]:
    """Return what every figure is made of, down to the readings and the motor's constants.

    The figure of merit and what belongs to it are spelt out by the ideal power, which is the same but shorter.
    """
    made: dict[Node, Node] = {
        Column(table.name, name, quantity.is_text): replaced(quantity.expression, _taken_over)
        for table in DECLARED_IN.values()
        for name, quantity in table.quantities.items()
    }
    made[f.ideal_power] = READING.made()[READING.ideal]
    made[f.figure_of_merit] = f.ideal_power / f.shaft_power
    made[f.propeller_loss] = f.shaft_power * (1 - f.figure_of_merit)
    made[r.hover_efficiency] = f.ideal_power / r.power
    made[model_resistance] = hot_resistance.present().where(hot_resistance, winding_resistance)
    return made


MADE: Mapping[Node, Node] = _made()
"""What every figure is made of, whichever way its shaft power and motor current were found."""
BY_TORQUE: Mapping[Node, Node] = {**MADE, f.shaft_power: r.torque * t.angular(r.speed)}
BY_MODEL: Mapping[Node, Node] = {**MADE, f.shaft_power: (r.current - no_load_at(r.speed)) * r.speed / best_kv}
AT_FULL: Mapping[Node, Node] = {**MADE, f.motor_current: r.current}
AT_PART: Mapping[Node, Node] = {**MADE, f.motor_current: r.torque * t.angular(best_kv)}
"""Of the motor's current, the no-load current passed over: it moves by less than what the torque needs."""
MODEL_ERROR = Input(
    "model_error",
    "Motor model",
    relative(s.model_accuracy),
    ((f.shaft_power, f.shaft_power * r.torque.present().where(0.0, 1.0)),),
)
ERRORS = (
    *(each for each in instruments(READING) if each.name != MODEL_ERROR.name),
    Input("mass_error", "Trimmed mass", trimmed_mass_uncertainty, ((trimmed_mass, Constant(1.0)),), unit="g"),
    Input(
        "winding_error", "Winding resistance", winding_uncertainty, ((winding_resistance, Constant(1.0)),), unit="mΩ"
    ),
    MODEL_ERROR,
    *FITTED,
)
SCATTER = repeats_of(READING)
