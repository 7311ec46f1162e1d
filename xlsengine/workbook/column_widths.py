"""How wide the columns of input tables are, in letters; those of Readings fill a printed page."""

from __future__ import annotations

from collections.abc import Sequence

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
    "flag_text": 14,
    "power": 7,
    "grams_per_watt": 7,
    "grams_per_amp": 7,
    "cell_voltage": 7,
    "flight_told": 8,
    "impossible_means": 32,
}
"""In letters; numbers that are typed have room for a mark before them. With speed and temperature they print at 8 points."""
_FLAG_WIDTH, _MOST_NAME = 21.0, 24.0
HEADERS_POINTS = 66
"""How high the headers of Readings are: four lines."""


def with_spare_room(flag: float, prop: float, names: Sequence[str | None], spare: float) -> tuple[float, float]:
    """Return the widths of flags and of propellers where a page has so many letters to spare: flags are widened first.

    >>> with_spare_room(14, 12.5, ["6x4", "5.1x4.6 Wren tri"], 20), with_spare_room(14, 12.5, ["6x4"], -3)
    ((21.0, 18.0), (14, 12.5))
    """
    wider = min(max(spare, 0), max(_FLAG_WIDTH - flag, 0))
    longest = max((len(name or "") for name in names), default=0)
    return flag + wider, prop + min(max(spare - wider, 0), max(min(longest + 2, _MOST_NAME) - prop, 0))
