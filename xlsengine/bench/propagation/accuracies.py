"""The accuracies of the instruments, as read from Bench or else as on Settings, and their standard uncertainties.

An accuracy is a limit that an error is as likely to be near as far from: a rectangular distribution, of which the
standard deviation is the limit over √3 (GUM 4.3.7), known without doubt: infinite degrees of freedom.
"""

import math

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.inputs import conditions as b
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.judging.round_thrusts import highest_thrust
from xlsengine.expression import Node, join, say
from xlsengine.sources import GUM_LIMITS, definition

ACCURACIES = Figures("Accuracies", "What is taken as the limit of each instrument's error.", source=GUM_LIMITS)
LIMIT_TO_DEVIATION = 1 / math.sqrt(3)

taken_thrust_accuracy = ACCURACIES.figure("taken_thrust_accuracy", "Thrust, ±", "g", decimals=1).derive(
    b.thrust_accuracy.otherwise((highest_thrust > 0).where(s.assumed_thrust_accuracy / 100 * highest_thrust)),
    "From Bench; else a share, on Settings, of the largest thrust that counts.",
)
taken_voltage_accuracy, taken_current_accuracy, taken_speed_accuracy = (
    ACCURACIES.figure(f"taken_{word}_accuracy", f"{word.capitalize()}, ±", "%", decimals=2).derive(
        b.BENCH.typed(f"{word}_accuracy").otherwise(s.SETTINGS.typed(f"assumed_{word}_accuracy")),
        "From Bench; else as on Settings.",
    )
    for word in ("voltage", "current", "speed")
)
taken_density_accuracy = ACCURACIES.figure("taken_density_accuracy", "Air density, ±", "%").derive(
    b.moist_density.present().where(s.density_accuracy, s.assumed_density_accuracy), "By whether the air was read."
)


_missing = join(
    *(
        b.BENCH.typed(f"{word}_accuracy").present().where("", say(" {}", word))
        for word in ("thrust", "voltage", "current", "speed")
    )
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


STAND = taken_thrust_accuracy * LIMIT_TO_DEVIATION
"""Standard uncertainty of the thrust stand, g."""
VOLTMETER, AMMETER, TACHOMETER, DENSITY = (
    relative(each)
    for each in (taken_voltage_accuracy, taken_current_accuracy, taken_speed_accuracy, taken_density_accuracy)
)
"""Relative standard uncertainties by the other instruments."""

ACCURACIES.keep(taken_thrust_accuracy, taken_voltage_accuracy, taken_current_accuracy, taken_speed_accuracy)
