"""Which errors there are and what each acts on, for the full-throttle means of one propeller and cell count.

Errors of instruments are shared by all readings of the bench, so averaging does not make them smaller; the scatter of
repeats is divided by √number.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from xlsengine.bench import accuracies as a
from xlsengine.bench import repeatability as p
from xlsengine.bench import settings as s
from xlsengine.bench.conditions import air_density
from xlsengine.bench.motor_model import best_kv, line_resistance
from xlsengine.bench.no_load import no_load_at, no_load_at_rest, no_load_slope
from xlsengine.bench.uncertainty import Cell, Input, Scatter, scattered, shares, standard_uncertainty
from xlsengine.expression import Constant, Node
from xlsengine.units import GRAM_FORCE, INCH

FREE = (best_kv, line_resistance, no_load_at_rest, no_load_slope)
"""Cells of the motor's own constants, which come from readings of the same instruments."""


@dataclass(frozen=True)
class Means:
    """The cells that hold the means of one group's readings, and how many there are."""

    thrust: Cell
    voltage: Cell
    current: Cell
    speed: Cell
    torque: Cell
    diameter: Cell
    shaft: Cell
    count: Cell

    def figures(self) -> dict[str, Node]:
        """Return the figures of the group as expressions over its means, by what they are called."""
        power, force = self.voltage * self.current, self.thrust * GRAM_FORCE
        ideal = force * (force / (math.pi / 2 * INCH**2) / (air_density * self.diameter**2)).sqrt()
        return {
            "thrust": self.thrust,
            "current": self.current,
            "power": power,
            "thrust per power": self.thrust / power,
            "thrust per current": self.thrust / self.current,
            "hover efficiency": ideal / power,
            "figure of merit": ideal / self.shaft,
        }

    def shaft_power(self) -> Node:
        """Return torque times speed where torque was read, else what the motor model gives."""
        measured = self.torque * self.speed * (math.pi / 30)
        modelled = (self.current - no_load_at(self.speed)) * self.speed / best_kv
        return self.torque.present().where(measured, modelled)


def _minus(cell: Cell) -> tuple[Cell, Node]:
    return cell, -cell


def instruments(*groups: Means) -> tuple[Input, ...]:
    """Return the errors that all groups share."""

    def each(part: str) -> tuple[tuple[Cell, Node], ...]:
        return tuple(shares(getattr(means, part)) for means in groups)

    thrusts = tuple((means.thrust, Constant(1.0)) for means in groups)
    modelled = tuple((means.shaft, means.torque.present().where(0.0, means.shaft)) for means in groups)
    return (
        Input("thrust_error", "Thrust stand", a.taken_thrust_accuracy * a.LIMIT_TO_DEVIATION, thrusts),
        Input(
            "voltage_error", "Voltmeter", a.relative(a.taken_voltage_accuracy),
            (*each("voltage"), _minus(best_kv), shares(line_resistance)),
        ),
        Input(
            "current_error", "Ammeter", a.relative(a.taken_current_accuracy),
            (*each("current"), _minus(line_resistance), shares(no_load_at_rest), shares(no_load_slope)),
        ),
        Input(
            "speed_error", "Speed reading", a.relative(a.taken_speed_accuracy),
            (*each("speed"), shares(best_kv), _minus(no_load_slope)),
        ),
        Input("torque_error", "Torque reading", a.relative(s.torque_accuracy), each("torque")),
        Input("diameter_error", "Propeller diameter", a.relative(s.diameter_accuracy), each("diameter")),
        Input("density_error", "Air density", a.relative(a.taken_density_accuracy), (shares(air_density),)),
        Input("model_error", "Motor model", a.relative(s.model_accuracy), modelled),
    )  # fmt: skip


def repeats_of(means: Means) -> Scatter:
    """Return the scatter of a group's means in thrust, voltage and current, which scatter together."""

    def one(name: str, cell: Cell, scatter: Node) -> Input:
        return Input(name, f"Scatter of {name}", scatter / 100 / means.count.sqrt(), (shares(cell),))

    inputs = (
        one("thrust", means.thrust, p.thrust_scatter), one("voltage", means.voltage, p.voltage_scatter),
        one("current", means.current, p.current_scatter),
    )  # fmt: skip
    pairs = (
        ("thrust", "voltage", p.thrust_voltage), ("thrust", "current", p.thrust_current),
        ("voltage", "current", p.voltage_current),
    )  # fmt: skip
    return Scatter(inputs, {frozenset((one, other)): r for one, other, r in pairs}, p.scatter_freedom)


def scatter_of(figure: Node, means: Means) -> Node:
    """Return the standard uncertainty that scatter gives a figure: from the repeats, or the default of Settings."""
    default = figure * (s.default_scatter / 100) / means.count.sqrt()
    return p.enough_repeats.where(scattered(figure, repeats_of(means)), default)


__all__ = ["FREE", "Means", "instruments", "repeats_of", "scatter_of", "standard_uncertainty"]
