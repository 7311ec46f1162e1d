"""How wide the columns of input tables are, in letters; those of Readings fill a printed page."""

from __future__ import annotations

COLUMN_WIDTHS = {"text": 17, "choice": 9, "date": 12, "number": 9.5, "whole": 8}
OWN_WIDTHS: dict[str, float] = {
    "run": 4.5,
    "prop": 12.5,
    "diameter": 8.2,
    "pitch": 5.5,
    "blades": 6.5,
    "cells": 5.5,
    "throttle": 8,
    "kind": 7.2,
    "voltage": 8.2,
    "current": 8.2,
    "thrust": 9,
    "speed": 8.7,
    "torque": 8,
    "motor_temperature": 11,
    "use": 4.7,
    "note": 9.2,
    "flag_text": 21,
    "power": 7,
    "grams_per_watt": 7,
    "grams_per_amp": 7.5,
    "cell_voltage": 7.5,
    "flight_current_low": 7.7,
    "flight_current_high": 7.7,
    "flight_row_basis": 14.3,
    "impossible_means": 32,
}
"""In letters; numbers that are typed have room for a mark before them. Without a speed they print at 8 points."""
FLAG_LETTERS = 22
"""How many of its type a line of the column of flags holds."""
HEADERS_POINTS = 66
"""How high the headers of Readings are: four lines."""
