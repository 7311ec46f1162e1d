"""Which errors there are and what each acts on, for the full-throttle means of one propeller and cell count.

Errors of instruments are shared by all readings of the bench, so averaging does not make them smaller; the scatter of
repeats is divided by √number.
"""

import math
from dataclasses import dataclass, replace

from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import air_density
from xlsengine.bench.inputs.no_load import no_load_at, no_load_at_rest, no_load_slope
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import Cell, Input, Scatter, shares
from xlsengine.bench.uncertainty import motor_uncertainty as v
from xlsengine.expression import Constant, Named, Node
from xlsengine.units import GRAM_FORCE, INCH

BY_TORQUE, BY_MODEL = "figure of merit by torque", "figure of merit by the motor model"
BY_PROPAGATION = "√(Σ (c·u(x))² + scatter²) over the instruments and what the motor's constants were read with"
IDEAL_POWER = GRAM_FORCE**1.5 / (INCH * math.sqrt(math.pi / 2))
"""Ideal power is this times T^1.5/(√ρ·D), in W for T in g, ρ in kg/m³ and D in inches: momentum theory."""


@dataclass(frozen=True)
class Taken:
    """The cells that hold readings, or means of several, and what is made of them.

    `measured` is the shaft power by torque, `modelled` the one by the motor's constants.
    """

    thrust: Cell
    voltage: Cell
    current: Cell
    speed: Cell
    torque: Cell
    diameter: Cell
    ideal: Cell
    measured: Cell
    modelled: Cell

    def made(self) -> dict[Node, Node]:
        """Return what ideal power and shaft power are made of."""
        above = self.current - no_load_at(self.speed)
        return {
            self.ideal: IDEAL_POWER * self.thrust**1.5 / (air_density.sqrt() * self.diameter),
            self.measured: self.torque * self.speed * (math.pi / 30),
            self.modelled: above * self.speed / best_kv,
        }

    def figures(self) -> dict[str, Node]:
        """Return the figures of the group as expressions over its cells, by what they are called."""
        return {
            "thrust": self.thrust,
            "current": self.current,
            "power": self.voltage * self.current,
            "thrust per power": self.thrust / (self.voltage * self.current),
            "thrust per current": self.thrust / self.current,
            "overall static efficiency": self.ideal / (self.voltage * self.current),
            BY_TORQUE: self.ideal / self.measured,
            BY_MODEL: self.ideal / self.modelled,
        }


@dataclass(frozen=True)
class Means(Taken):
    """Means of one group's readings, and of how many."""

    count: Cell


def _minus(cell: Cell) -> tuple[Cell, Node]:
    return cell, -cell


def instruments(read: Taken) -> tuple[Input, ...]:
    """Return the errors that all readings of the bench share."""
    return (
        Input(
            "thrust_error",
            "Thrust stand",
            a.taken_thrust_accuracy * a.LIMIT_TO_DEVIATION,
            ((read.thrust, Constant(1.0)),),
            unit="g",
        ),
        Input(
            "voltage_error",
            "Voltmeter",
            a.relative(a.taken_voltage_accuracy),
            (
                shares(read.voltage),
                (best_kv, -best_kv * v.kv_share_of_voltmeter),
                (v.hot_resistance, v.hot_by_voltmeter),
            ),
        ),
        Input(
            "current_error",
            "Ammeter",
            a.relative(a.taken_current_accuracy),
            (shares(read.current), _minus(v.hot_resistance), shares(no_load_at_rest), shares(no_load_slope)),
        ),
        Input(
            "speed_error",
            "Speed reading",
            a.relative(a.taken_speed_accuracy),
            (shares(read.speed), shares(best_kv), _minus(no_load_slope)),
        ),
        Input("torque_error", "Torque reading", a.relative(s.torque_accuracy), (shares(read.torque),)),
        Input("diameter_error", "Propeller diameter", a.relative(s.diameter_accuracy), (shares(read.diameter),)),
        Input("density_error", "Air density", a.relative(a.taken_density_accuracy), (shares(air_density),)),
        Input("model_error", "Motor model", a.relative(s.model_accuracy), (shares(read.modelled),)),
    )


def repeats_of(reading: Taken) -> Scatter:
    """Return the scatter of one reading in thrust and current together."""
    inputs = tuple(
        Input(name, f"Scatter of {name}", scatter / 100, (shares(getattr(reading, name)),))
        for name, scatter in p.SCATTERS.items()
    )
    return replace(p.TOGETHER, inputs=inputs)


FITTED = (
    Input("kv_part", "Kv: scatter or fit", v.best_kv_part, ((best_kv, Constant(1.0)),), v.best_kv_freedom, "rpm/V"),
    Input(
        "hot_part", "Resistance: scatter or fit", v.hot_part, ((v.hot_resistance, Constant(1.0)),), v.hot_freedom, "mΩ"
    ),
    *v.NO_LOAD_PARTS,
)
"""What the motor's constants were read with, beside the instruments: few degrees of freedom."""


def scatter_of(name: str) -> tuple[Named, Named]:
    """Return the scatter of one reading of a figure, in percent, with its degrees of freedom.

    That of the figure of merit is read off its own repeats (GUM H.2.4, second approach); that of the others follows
    from thrust and amps and how these scatter together (first approach).
    """
    merit = name in (BY_TORQUE, BY_MODEL)
    return p.SCATTER_TAKEN[p.MERIT if merit else name], p.merit_freedom if merit else p.scatter_freedom
