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
from xlsengine.bench.declare import Figures
from xlsengine.bench.readings import thrust
from xlsengine.bench.settings import (
    assumed_current_accuracy,
    assumed_density_accuracy,
    assumed_speed_accuracy,
    assumed_thrust_accuracy,
    assumed_voltage_accuracy,
    density_accuracy,
)
from xlsengine.expression import Named, Node, join, say
from xlsengine.sources import GUM_LIMITS, definition

ACCURACIES = Figures("Accuracies", "What is taken as the limit of each instrument's error.", source=GUM_LIMITS)
LIMIT_TO_DEVIATION = 1 / math.sqrt(3)

_largest_thrust = thrust.largest()
taken_thrust_accuracy = ACCURACIES.figure("taken_thrust_accuracy", "Thrust, ±", "g", decimals=1).derive(
    thrust_accuracy.otherwise(assumed_thrust_accuracy / 100 * _largest_thrust),
    "From Bench; else a share of the largest thrust, on Settings.",
)
taken_voltage_accuracy = ACCURACIES.figure("taken_voltage_accuracy", "Voltage, ±", "%", decimals=2).derive(
    voltage_accuracy.otherwise(assumed_voltage_accuracy), "From Bench; else as on Settings."
)
taken_current_accuracy = ACCURACIES.figure("taken_current_accuracy", "Current, ±", "%", decimals=2).derive(
    current_accuracy.otherwise(assumed_current_accuracy), "From Bench; else as on Settings."
)
taken_speed_accuracy = ACCURACIES.figure("taken_speed_accuracy", "Speed, ±", "%", decimals=2).derive(
    speed_accuracy.otherwise(assumed_speed_accuracy), "From Bench; else as on Settings."
)
taken_density_accuracy = ACCURACIES.figure("taken_density_accuracy", "Air density, ±", "%").derive(
    moist_density.present().where(density_accuracy, assumed_density_accuracy), "By whether the air was read."
)


def _assumed(cell: Named, word: str) -> Node:
    return cell.present().where("", say(" {}", word))


_missing = join(
    _assumed(thrust_accuracy, "thrust"),
    _assumed(voltage_accuracy, "voltage"),
    _assumed(current_accuracy, "current"),
    _assumed(speed_accuracy, "speed"),
)
accuracies_basis = ACCURACIES.figure("accuracies_basis", "Where they come from").derive(
    _missing.equals("").where(
        "all from Bench", say("blank on Bench, and taken from Settings as common practice:{}", _missing)
    ),
    "Accuracies that nobody stated are guesses, and the uncertainties with them.",
    definition(),
)


def relative(percent: Node) -> Node:
    """Return the relative standard uncertainty that belongs to a limit in percent."""
    return percent * (LIMIT_TO_DEVIATION / 100)


def by_voltmeter_and_tachometer(kv: Node) -> list[Node]:
    """Return the standard uncertainties that the accuracies of volts and of speed give a Kv."""
    return [kv * relative(taken_voltage_accuracy), kv * relative(taken_speed_accuracy)]
