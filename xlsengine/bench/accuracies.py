"""The accuracies of the instruments, as read from Bench or else as on Settings, and their standard uncertainties.

An accuracy is a limit that an error is as likely to be near as far from: a rectangular distribution, of which the
standard deviation is the limit over √3 (GUM 4.3.7), known without doubt: infinite degrees of freedom.
"""

from __future__ import annotations

import math

from xlsengine.bench.conditions import (
    current_accuracy,
    moist_density,
    speed_accuracy,
    thrust_accuracy,
    voltage_accuracy,
)
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.readings import thrust
from xlsengine.bench.settings import (
    assumed_current_accuracy,
    assumed_density_accuracy,
    assumed_speed_accuracy,
    assumed_thrust_accuracy,
    assumed_voltage_accuracy,
    density_accuracy,
)
from xlsengine.expression import Aggregate, Constant, Named, Node, join
from xlsengine.sources import GUM_LIMITS, definition

ACCURACIES = Figures("Accuracies", "What is taken as the limit of each instrument's error.")
LIMIT_TO_DEVIATION = 1 / math.sqrt(3)


def _taken(name: str, label: str, unit: str, shown: int, expression: Node, meaning: str) -> Named:
    return ACCURACIES.derive(Quantity(name, label, expression, meaning, GUM_LIMITS, "", unit, shown))


_largest_thrust = Aggregate("largest", (thrust,), (), Constant(1.0))
taken_thrust_accuracy = _taken(
    "taken_thrust_accuracy", "Thrust, ±", "g", 1,
    thrust_accuracy.otherwise(assumed_thrust_accuracy / 100 * _largest_thrust),
    "From Bench; else a share of the largest thrust, on Settings.",
)  # fmt: skip
taken_voltage_accuracy = _taken(
    "taken_voltage_accuracy", "Voltage, ±", "%", 2, voltage_accuracy.otherwise(assumed_voltage_accuracy),
    "From Bench; else as on Settings.",
)  # fmt: skip
taken_current_accuracy = _taken(
    "taken_current_accuracy", "Current, ±", "%", 2, current_accuracy.otherwise(assumed_current_accuracy),
    "From Bench; else as on Settings.",
)  # fmt: skip
taken_speed_accuracy = _taken(
    "taken_speed_accuracy", "Speed, ±", "%", 2, speed_accuracy.otherwise(assumed_speed_accuracy),
    "From Bench; else as on Settings.",
)  # fmt: skip
taken_density_accuracy = _taken(
    "taken_density_accuracy", "Air density, ±", "%", 1,
    moist_density.present().where(density_accuracy, assumed_density_accuracy), "By whether the air was read.",
)  # fmt: skip


def _assumed(cell: Named, word: str) -> Node:
    return cell.present().where("", join(" ", word))


_missing = join(
    _assumed(thrust_accuracy, "thrust"), _assumed(voltage_accuracy, "voltage"), _assumed(current_accuracy, "current"),
    _assumed(speed_accuracy, "speed"),
)  # fmt: skip
accuracies_basis = ACCURACIES.derive(
    Quantity(
        "accuracies_basis", "Where they come from",
        _missing.equals("").where(
            "all from Bench", join("blank on Bench, and taken from Settings as common practice:", _missing)
        ),
        "Accuracies that nobody stated are guesses, and the uncertainties with them.", definition(),
    )
)  # fmt: skip


def relative(percent: Node) -> Node:
    """Return the relative standard uncertainty that belongs to a limit in percent."""
    return percent * (LIMIT_TO_DEVIATION / 100)


def by_voltmeter_and_tachometer(kv: Node) -> list[Node]:
    """Return the standard uncertainties that the accuracies of volts and of speed give a Kv."""
    return [kv * relative(taken_voltage_accuracy), kv * relative(taken_speed_accuracy)]


ACCURACIES.keep(taken_thrust_accuracy, taken_voltage_accuracy, taken_current_accuracy, taken_speed_accuracy)
