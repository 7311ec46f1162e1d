"""Which errors there are and what each acts on, for the full-throttle means of one propeller and cell count.

Errors of instruments are shared by all readings of the bench, so averaging does not make them smaller; the scatter of
repeats is divided by √number.
"""

import math
from dataclasses import dataclass

from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import air_density
from xlsengine.bench.inputs.no_load import no_load_at, no_load_at_rest, no_load_slope
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import Cell, Input, Scatter, scattered, shares
from xlsengine.bench.uncertainty import motor_uncertainty as v
from xlsengine.expression import Constant, Node
from xlsengine.units import GRAM_FORCE, INCH

BY_TORQUE, BY_MODEL = "figure of merit by torque", "figure of merit by the motor model"
BY_PROPAGATION = "√(Σ (c·u(x))² + scatter²) over the instruments and what the motor's constants were read with"
BY_WELCH = "u⁴ / Σ ((c·u(x))⁴/ν), 10,000 at most"
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


def instruments(*groups: Taken) -> tuple[Input, ...]:
    """Return the errors that all groups share."""

    def each(part: str) -> tuple[tuple[Cell, Node], ...]:
        return tuple(shares(getattr(means, part)) for means in groups)

    thrusts = tuple((means.thrust, Constant(1.0)) for means in groups)
    return (
        Input("thrust_error", "Thrust stand", a.taken_thrust_accuracy * a.LIMIT_TO_DEVIATION, thrusts, unit="g"),
        Input(
            "voltage_error",
            "Voltmeter",
            a.relative(a.taken_voltage_accuracy),
            (*each("voltage"), (best_kv, -best_kv * v.kv_share_of_voltmeter), (v.hot_resistance, v.hot_by_voltmeter)),
        ),
        Input(
            "current_error",
            "Ammeter",
            a.relative(a.taken_current_accuracy),
            (*each("current"), _minus(v.hot_resistance), shares(no_load_at_rest), shares(no_load_slope)),
        ),
        Input(
            "speed_error",
            "Speed reading",
            a.relative(a.taken_speed_accuracy),
            (*each("speed"), shares(best_kv), _minus(no_load_slope)),
        ),
        Input("torque_error", "Torque reading", a.relative(s.torque_accuracy), each("torque")),
        Input("diameter_error", "Propeller diameter", a.relative(s.diameter_accuracy), each("diameter")),
        Input("density_error", "Air density", a.relative(a.taken_density_accuracy), (shares(air_density),)),
        Input("model_error", "Motor model", a.relative(s.model_accuracy), each("modelled")),
    )


def repeats_of(means: Taken, number: Node | None = None) -> Scatter:
    """Return the scatter of means of a number of readings, or of one, in thrust, voltage and current together."""

    def one(name: str, cell: Cell, scatter: Node) -> Input:
        of_one = scatter / 100
        return Input(name, f"Scatter of {name}", of_one if number is None else of_one / number.sqrt(), (shares(cell),))

    inputs = (
        one("thrust", means.thrust, p.thrust_scatter),
        one("voltage", means.voltage, p.voltage_scatter),
        one("current", means.current, p.current_scatter),
    )
    pairs = (
        ("thrust", "voltage", p.thrust_voltage),
        ("thrust", "current", p.thrust_current),
        ("voltage", "current", p.voltage_current),
    )
    return Scatter(inputs, {frozenset((one, other)): r for one, other, r in pairs}, p.scatter_freedom)


FITTED = (
    Input("kv_part", "Kv: scatter or fit", v.best_kv_part, ((best_kv, Constant(1.0)),), v.best_kv_freedom, "rpm/V"),
    Input(
        "hot_part", "Resistance: scatter or fit", v.hot_part, ((v.hot_resistance, Constant(1.0)),), v.hot_freedom, "mΩ"
    ),
    *v.NO_LOAD_PARTS,
)
"""What the motor's constants were read with, beside the instruments: few degrees of freedom."""


def scatter_of(name: str, figure: Node, means: Means) -> Node:
    """Return the standard uncertainty that scatter gives a figure: from the repeats, or the default of Settings.

    That of the figure of merit is read off its own repeats (GUM H.2.4, second approach); that of the others follows
    from thrust, volts and amps and how these scatter together (first approach).
    """
    default = figure * (s.default_scatter / 100) / means.count.sqrt()
    if name in (BY_TORQUE, BY_MODEL):
        own = figure * (p.merit_scatter / 100) / means.count.sqrt()
        return p.enough_merits.where(own, default)
    return p.enough_repeats.where(scattered(figure, repeats_of(means, means.count), means.made()), default)


def scatter_freedom_of(name: str) -> Node:
    """Return the degrees of freedom of the scatter of a figure."""
    return p.merit_freedom if name in (BY_TORQUE, BY_MODEL) else p.scatter_freedom
