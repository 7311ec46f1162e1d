"""What goes with what in a table of readings: the relations that every check of single readings goes by.

At a speed n a propeller makes a thrust that goes with n² and takes a torque that goes with n², both changed a little by
the speed; its torque is told by the motor's current, which the power read at the supply leads to at any throttle. Thrust and
current at equal volts go with throttle, and nearly alike on all cell counts.
Source: first-order motor model (M. Drela, 2007); CT and CP of propellers at rest (UIUC Propeller Data Site).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cached_property, partial
from typing import NamedTuple

import numpy as np

from xlsengine.study.case import IDEAL_SLOPE, BoolArray, Case, IntArray, JudgedRows, display_step, medians_by
from xlsengine.study.lines import Relation, Term
from xlsengine.study.outliers import FloatArray

ALLOWED = 0.07
"""Misfit that is never worth a look: 3 to 5 % is the scatter of a bench (tests/study/found_rates.py)."""

STRANGER = math.log(1.3)
"""The same among several propellers, their diameters being allowed for."""

COARSE = math.log(3)
"""Other propellers at the same throttle stay within a factor of three: enough to tell a slip by ten."""

VAGUE = 0.3
"""Misfit beyond which what is allowed a row says nothing: other propellers judge it then."""

SCATTER = 0.006
"""Usual scatter of a reading (common practice, no source: standard deviation on one mount 0.3 to 1 %)."""

AT_FULL, BY_HAND = 0.012, 0.06
"""Scatter of thrust and current at full throttle, and at one that is set by hand (common practice, no source)."""

STEPS_OFF = 0.75
"""Standard deviation of a display's last digit, in steps, rounding and flicker together."""

IDLE = 0.035
"""Share of the usual current that motor and ESC take for themselves (common practice, no source)."""

LEAST_LOAD = 1 / 16
"""Share of a propeller's highest thrust, at a quarter of the speed, below which idle currents hide what it takes."""

STANDS_OUT = 4.0
"""A highest reading is at most this many times the next: a slipped one is not what the others are a share of."""

ALONG = {"thrust": (1.7, 0.05, 2.5, 0.3), "current": (2.4, 0.01, 3.5, 1.0)}
"""Power of the throttle that thrust and current at equal volts go with, how they step up from one cell count to the next, and
the powers of diameter and pitch (common practice, no source)."""

OF_ALL = 0.25
"""Scatter of the same among propellers, their sizes being allowed for (common practice, no source)."""

USUAL_OHMS = 0.004
"""Resistance of pack and leads, for each cell (common practice, no source: 2 to 8 mΩ)."""

PACK_SCATTER = 0.006
"""Scatter of a pack's volts under load, with its charge (common practice, no source)."""

FEWEST = 4
"""Propellers on two cell counts from which on their middle step is the motor's, the volts' or the stand's, and no chance."""

USUAL_SPEED_RATIO = 0.75
"""Speed over Kv times volts of a loaded motor at full throttle, 0.60 to 0.85 (common practice, no source)."""


class Bench:
    """What relations take from a whole table: its displays, each propeller's highest readings, the winding's resistance."""

    def __init__(self, case: Case) -> None:
        """Take the sound rows of a case."""
        self.case, self.rows, self.limits = case, case.rows, case.limits
        self.counts = np.unique(case.rows.cells)
        self.steps = {
            name: display_step(values[~np.isnan(values)])
            for name, values in (("thrust", case.rows.thrust), ("current", case.rows.current))
        }
        self._tops = {name: self._highest(name) for name in ("thrust", "speed", "power")}

    def _highest(self, name: str) -> FloatArray:
        """Return the highest of each propeller's sound readings."""
        values = _read(self.rows, name)
        kept = np.flatnonzero(self.case.sound & ~np.isnan(values))
        order = kept[np.lexsort((values[kept], self.rows.prop[kept]))]
        prop, found = self.rows.prop[order], np.zeros(int(self.rows.prop.max(initial=-1)) + 1)
        next_to = np.append(np.inf, np.where(np.diff(prop) == 0, STANDS_OUT * values[order[:-1]], np.inf))[: order.size]
        found[prop] = np.minimum(
            values[order], next_to
        )  # of several under one label the last, which is the highest, stays
        return found

    def from_top(self, rows: JudgedRows, name: str) -> FloatArray:
        """Return the logarithm of each value over the highest of its propeller's sound rows."""
        return np.asarray(np.log(_read(rows, name) / self._tops[name][rows.prop]))

    def flicker(self, rows: JudgedRows, name: str) -> FloatArray:
        """Return the standard deviation that a column's display adds, as a share of the values."""
        return np.asarray(STEPS_OFF * self.steps[name] / rows.reading(name))

    def noise(self, rows: JudgedRows, name: str) -> FloatArray:
        """Return the standard deviation of a column, as a share of the values."""
        return np.hypot(SCATTER, self.flicker(rows, name))

    @cached_property
    def ohms(self) -> float:
        """Return the resistance that volts, speeds and currents at full throttle tell of."""
        rows = self.rows
        back = rows.speed / self.limits.kv
        full = self.case.sound & (rows.point > 0) & ~np.isnan(back)
        return float(np.median(((rows.voltage - back) / rows.current)[full])) if full.any() else 0.0

    @cached_property
    def across(self) -> dict[str, float]:
        """Return how thrust and current at equal volts, and the power for the thrust, step up from count to count."""
        levels = {column: _level(self, self.rows, column) for column in ALONG} | {"power": _power_for_thrust(self.rows)}
        return {
            name: self._middle_step(level, ALONG[name][1] if name in ALONG else 0.0) for name, level in levels.items()
        }

    def _middle_step(self, level: FloatArray, usual: float) -> float:
        """Return the middle step of the propellers, the usual one where these are few: what all share is no reading's own."""
        rows = self.rows
        level = medians_by(rows.group, np.where(self.case.sound & (rows.point > 0), level, np.nan))
        first = np.unique(rows.group, return_index=True)[1]
        first = first[np.lexsort((rows.cells[first], rows.prop[first]))]
        same = np.diff(rows.prop[first]) == 0
        found = np.diff(level[first])[same] / np.diff(np.searchsorted(self.counts, rows.cells[first]))[same]
        found = found[~np.isnan(found)]
        return float(np.median(found)) if found.size >= FEWEST else usual

    @cached_property
    def diameter(self) -> float:
        """Return the usual diameter, 1 where none is known."""
        return _usual(self.rows.diameter)

    @cached_property
    def pitch(self) -> float:
        """Return the usual pitch, 1 where none is known."""
        return _usual(self.rows.pitch)

    def is_telling(self) -> BoolArray:
        """Tell in which rows current goes with thrust, and displays tell both."""
        rows = self.rows
        flicker = np.hypot(self.flicker(rows, "current"), IDEAL_SLOPE * self.flicker(rows, "thrust"))
        load = np.maximum(self.from_top(rows, "thrust"), self.from_top(rows, "power"))
        return np.asarray((self.limits.score * flicker <= VAGUE) & (load >= np.log(LEAST_LOAD)))


def _usual(values: FloatArray) -> float:
    known = values[values > 0]
    return float(np.median(known)) if known.size else 1.0


def _read(rows: JudgedRows, name: str) -> FloatArray:
    return rows.voltage * rows.current if name == "power" else rows.reading(name)


def _whole(rows: JudgedRows) -> IntArray:
    return np.zeros(rows.size, dtype=np.int64)


def _counts(bench: Bench, rows: JudgedRows, spread: float, step: float = 0.0) -> list[Term]:
    return [Term((rows.cells == count).astype(float), step * at, spread) for at, count in enumerate(bench.counts)]


def _level(bench: Bench, rows: JudgedRows, column: str) -> FloatArray:
    return np.asarray(np.log(rows.reading(column)) - bench.limits.volts_power * np.log(rows.voltage))


def _power_for_thrust(rows: JudgedRows) -> FloatArray:
    return np.asarray(np.log(rows.voltage * rows.current / rows.thrust**IDEAL_SLOPE))


def at_speed(bench: Bench, rows: JudgedRows) -> Relation:
    """Return thrust over speed squared."""
    y = np.log(rows.thrust / rows.speed**2)
    return Relation(y, bench.noise(rows, "thrust"), _speed_terms(bench, rows, 0.1, 0.07), rows.prop, 1.0)


def torque_at_speed(bench: Bench, rows: JudgedRows) -> Relation:
    """Return the motor's current over speed squared, by the power that the supply gives."""
    back, ohms, power = rows.speed / bench.limits.kv, bench.ohms, rows.voltage * rows.current
    motor = power / back if ohms <= 0 else (np.sqrt(back**2 + 4 * ohms * power) - back) / (2 * ohms)
    terms = [*_speed_terms(bench, rows, 0.0, 0.1), *_supply_terms(bench, rows, "speed", 2)]
    return Relation(np.log(motor / rows.speed**2), bench.noise(rows, "current"), terms, rows.prop)


def with_power(bench: Bench, rows: JudgedRows) -> Relation:
    """Return the power for the thrust."""
    noise = np.hypot(bench.noise(rows, "current"), IDEAL_SLOPE * bench.noise(rows, "thrust"))
    terms = [
        Term(bench.from_top(rows, "thrust"), 0.0, 0.08),
        *_supply_terms(bench, rows, "thrust", 1, bench.across["power"]),
    ]
    return Relation(_power_for_thrust(rows), noise, terms, rows.prop, -IDEAL_SLOPE)


def power_of_all(bench: Bench, rows: JudgedRows) -> Relation:
    """Return the same times the diameter, among all propellers: an ideal one takes a power that goes as one over it."""
    own, load = with_power(bench, rows), bench.from_top(rows, "thrust")
    diameter = np.where(np.isnan(rows.diameter), bench.diameter, rows.diameter)
    noise = np.hypot(np.hypot(own.noise, STRANGER / 3), IDLE * np.exp(-load))
    return Relation(
        own.y + np.log(diameter), noise, [own.terms[0], *_counts(bench, rows, 0.1)], _whole(rows), settled=True
    )


def _speed_terms(bench: Bench, rows: JudgedRows, usual: float, spread: float) -> list[Term]:
    """Return how a coefficient goes with speed: as a power of it (open data: CT 0.0 to 0.2), a little bent."""
    speed = bench.from_top(rows, "speed")
    return [Term(speed, usual, spread), Term(speed**2, 0.0, 0.02)]


def _supply_terms(bench: Bench, rows: JudgedRows, load: str, power: int, step: float = 0.0) -> list[Term]:
    """Return what else moves a current: what motor and ESC take for themselves, a cold winding, the cell count."""
    top = power * bench.from_top(rows, load)
    idle = np.where(top >= np.log(LEAST_LOAD), np.exp(-top), np.nan)
    return [Term(idle, IDLE, 0.025), Term(rows.peak.astype(float), 0.0, 0.02), *_counts(bench, rows, 0.02, step)]


def along(bench: Bench, rows: JudgedRows, column: str, of_all: bool = False) -> Relation:
    """Return thrust or current at equal volts, along the throttle and across cell counts, of a propeller or of all."""
    throttle = np.log(np.where(rows.throttle > 0, rows.throttle, np.nan) / 100)
    slope, _, *by_size = ALONG[column]
    terms = [
        Term(throttle, slope, 0.5),
        Term(throttle**2, 0.0, 0.3),
        Term(np.searchsorted(bench.counts, rows.cells).astype(float), bench.across[column], 0.06),
        Term(rows.peak.astype(float), 0.0, 0.05),
        *_counts(bench, rows, 0.04),
    ]
    if of_all:
        sizes = ((rows.diameter, bench.diameter), (rows.pitch, bench.pitch))
        for (values, usual_size), power in zip(sizes, by_size, strict=True):
            terms.append(Term(np.log(np.where(values > 0, values, usual_size) / usual_size), power, 0.7))
    label = _whole(rows) if of_all else rows.prop
    scatter = OF_ALL if of_all else np.where(rows.point > 0, AT_FULL, BY_HAND)
    noise = np.hypot(scatter, bench.flicker(rows, column))
    return Relation(_level(bench, rows, column), noise, terms, label, settled=True)


def volts(bench: Bench, rows: JudgedRows) -> Relation:
    """Return the volts of a cell, in the whole table and on each cell count."""
    return Relation(
        np.log(rows.voltage / rows.cells), np.full(rows.size, 0.03), _counts(bench, rows, 0.1), _whole(rows)
    )


def pack_volts(bench: Bench, rows: JudgedRows) -> Relation:
    """Return the volts of a cell under load, of readings of one cell count, peaks apart: they fall with the amps."""
    label = 2 * np.searchsorted(bench.counts, rows.cells) + rows.peak
    terms = [Term(rows.current * rows.cells / rows.voltage, -USUAL_OHMS, USUAL_OHMS / 2)]
    return Relation(np.log(rows.voltage / rows.cells), np.full(rows.size, PACK_SCATTER), terms, label.astype(np.int64))


def speed_of_all(bench: Bench, rows: JudgedRows) -> Relation:
    """Return speed for thrust among all propellers, their diameters allowed for."""
    y = np.log(rows.speed * rows.diameter**2) - np.log(rows.thrust) / 2
    return Relation(y, np.full(rows.size, 0.1), [], _whole(rows), settled=True)


def speed_by_kv(bench: Bench, rows: JudgedRows) -> Relation:
    """Return speed over Kv times volts at full throttle, of a propeller; what is usual where nothing else tells."""
    y = np.where(rows.point > 0, np.log(rows.speed / (USUAL_SPEED_RATIO * bench.limits.kv * rows.voltage)), np.nan)
    return Relation(y, np.full(rows.size, 0.1), [], rows.prop)


# --- all of them ------------------------------------------------------------------------------------------------


class Tie(NamedTuple):
    """A relation as it tells of mistakes: what it goes by (thrust, current, volts, speed), and the misfit that is none.

    By the slip tolerance on Settings where `allowed` is 0. A slip may hide in one that `bends`.
    """

    relation: Callable[[Bench, JudgedRows], Relation]
    goes_by: str
    allowed: float
    bends: bool = False
    backs: bool = True
    fewest: int = 1


TIES = (
    Tie(at_speed, "TS", ALLOWED, bends=True),
    Tie(torque_at_speed, "IVS", ALLOWED, bends=True),
    Tie(with_power, "TIV", ALLOWED, bends=True),
    Tie(power_of_all, "TIV", STRANGER, bends=True, backs=False),
    Tie(partial(along, column="thrust"), "T", 0.0),
    Tie(partial(along, column="current"), "I", 0.0),
    Tie(partial(along, column="thrust", of_all=True), "T", COARSE),
    Tie(partial(along, column="current", of_all=True), "I", COARSE),
    Tie(volts, "V", 0.0, backs=False, fewest=2),
    Tie(speed_of_all, "ST", 0.0, backs=False, fewest=2),
)
