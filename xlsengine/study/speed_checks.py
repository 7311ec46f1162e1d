"""Speeds that Kv and volts do not allow, and one factor puts right: eRPM, thousands, turns a second, a wrong pole count.

A motor at full throttle turns at 0.5 to 0.97 of Kv times volts, below it slower, and a propeller's thrust goes
with the square of its speed. A speed that neither allows is the wrong one, not the thrust beside it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import BoolArray, Case, IntArray, medians_by
from xlsengine.study.flags import Flag, to_type
from xlsengine.study.outliers import FloatArray
from xlsengine.study.relations import USUAL_SPEED_RATIO

NEAR, NEAR_OTHERS, NEAR_KNOWN = 0.15, 0.3, 0.6
"""Misfit to the propeller's own speeds at full throttle; to those of others, or at other throttles; and at these where a
factor is known: as logarithms."""

FEWEST = 3
"""Readings from which on a factor of ten is none of one slipped digit, and one of poles no chance."""

IDLING = 0.1
"""Share of Kv times volts below which no motor turns a propeller steadily (common practice, no source)."""

TWELVE_FOR_FOURTEEN = 7 / 6
USUAL_PAIRS = 7


class Factor(NamedTuple):
    """What a speed was multiplied by, what it was then, and how that is undone."""

    size: float
    words: str
    undo: str
    fewest: int = 1


POLES_SET = Factor(TWELVE_FOR_FOURTEEN, "read with 12 magnets set for 14", "type six sevenths of {}", FEWEST)
UNITS = (
    Factor(1e-3, "in thousands", "type 1000 times {}"),
    Factor(1e-2, "in hundreds", "type 100 times {}"),
    Factor(1 / 60, "in turns a second", "type 60 times {}"),
    Factor(0.1, "in tens", "type 10 times {}", FEWEST),
    Factor(10.0, "with a digit too many", "type a tenth of {}", FEWEST),
)


def _factors(pairs: float) -> tuple[Factor, ...]:
    """Return what is tried: the pole pairs first."""
    known = USUAL_PAIRS if np.isnan(pairs) else pairs
    beside = " with 14 magnets" * bool(np.isnan(pairs))
    electrical = Factor(known, "electrical (eRPM)", f"divide {{}} by the pole pairs, {known:g}{beside}")
    return (electrical, *UNITS) if known > 1 else UNITS


class _Speeds:
    """The speeds of a table by what Kv and volts allow, and by each propeller's thrust."""

    def __init__(self, case: Case) -> None:
        rows, limits = case.rows, case.limits
        self.rows, self.limits = rows, limits
        self.full = rows.point > 0
        self.ratio = rows.speed / (limits.kv * rows.voltage)
        self.by_thrust = np.log(rows.speed) - np.log(rows.thrust) / 2

    def allowed(self, factor: float = 1.0) -> BoolArray:
        """Tell which speeds, over a factor, Kv and volts allow; at less throttle all up to the most."""
        ratio = self.ratio / factor
        return (ratio <= self.limits.speed_most) & (~self.full | (ratio >= self.limits.speed_least))

    def can_be(self) -> BoolArray:
        """Tell which speeds, as read, a motor that turns a propeller can have, at any throttle."""
        return self.allowed() & (self.full | (self.ratio >= IDLING))

    def share_allowed(self, factor: float = 1.0) -> float:
        """Return the share of the speeds at full throttle that are allowed over a factor."""
        read = self.full & ~np.isnan(self.ratio)
        return float(np.mean(self.allowed(factor)[read])) if read.any() else 1.0

    def misfits(self, of_all: float) -> tuple[FloatArray, FloatArray]:
        """Return each speed over what its thrust asks for, as a logarithm, and how near that is to be.

        By the propeller's own speeds that may be right, else by those of all; `of_all` is a factor on all of them.
        """
        right = self.full & self.allowed(of_all)
        y = self.by_thrust - math.log(of_all)
        own = medians_by(self.rows.prop, np.where(right, y, np.nan))
        sized = y + 2 * np.log(self.rows.diameter)
        others = (
            sized - np.nanmedian(sized[right]) if right.any() and not np.isnan(sized[right]).all() else sized * np.nan
        )
        near = np.where(np.isnan(own) | ~self.full, NEAR_OTHERS, NEAR)
        return np.where(np.isnan(own), others, y - own) + math.log(of_all), near


def wrong_speeds(case: Case) -> list[Flag]:
    """Flag speeds that one factor puts right, all rows of a factor in the same words."""
    read = ~np.isnan(case.rows.speed)
    if np.isnan(case.limits.kv) or not read.any():
        return []
    speeds = _Speeds(case)
    factors, of_all = _factors(case.limits.pole_pairs), 1.0
    if speeds.share_allowed() == 0:
        of_all = _of_all(speeds, factors)
    misfits, near = speeds.misfits(of_all)
    flags, left = list[Flag](), read.copy()
    hits = [np.abs(misfits - math.log(each.size)) <= near for each in factors]
    for place in np.argsort([-np.count_nonzero(hit) for hit in hits], kind="stable").tolist():
        factor = factors[place]
        hit = hits[place] & speeds.allowed(factor.size) & ~speeds.can_be() & left
        if np.count_nonzero(hit) >= FEWEST:  # idling readings go along
            hit |= left & ~speeds.full & (np.abs(misfits - math.log(factor.size)) <= NEAR_KNOWN)
        if np.count_nonzero(hit) >= factor.fewest:
            left &= ~hit
            flags += _flags(speeds, np.flatnonzero(hit), factor)
    if not flags and _poles_were_set_wrong(speeds):
        flags = _flags(speeds, np.flatnonzero(read), POLES_SET)
    return flags


def _of_all(speeds: _Speeds, factors: tuple[Factor, ...]) -> float:
    """Return the factor on all speeds: of pole pairs where they can be, else what brings them nearest to usual ones."""
    if factors[0] not in UNITS and speeds.share_allowed(factors[0].size) == 1:
        return factors[0].size
    middle = float(np.nanmedian(speeds.ratio[speeds.full]))
    return min((each.size for each in factors), key=lambda size: abs(math.log(middle / size / USUAL_SPEED_RATIO)))


def _poles_were_set_wrong(speeds: _Speeds) -> bool:
    """Tell whether most speeds at full throttle are too fast, and none is with the other count of magnets."""
    enough = np.count_nonzero(speeds.full & ~np.isnan(speeds.ratio)) >= FEWEST
    return bool(enough) and 2 * speeds.share_allowed() <= 1 and speeds.share_allowed(TWELVE_FOR_FOURTEEN) == 1


def _flags(speeds: _Speeds, at: IntArray, factor: Factor) -> list[Flag]:
    rows, first, several = speeds.rows, int(at[0]), at.size > 1
    read, meant = rows.entry(first, "speed"), _as_typed(rows.speed[first] / factor.size)
    ratios = np.sort(speeds.ratio[at])
    of_first = f" in {rows.name(first)}" * several
    label = " Or Labelled Kv on Motor is too low." * (factor is POLES_SET)
    told = rows.flags(
        at,
        f"Speed{'s' * several} perhaps {factor.words}",
        "speed",
        f"{rows.named(at) if several else read}: {_span(ratios)} of Kv times volts",
        f"{_span(ratios / factor.size)} of Kv times volts, as thrust and volts lead to expect",
        "The speed reading counts poles otherwise, or has another unit.",
        f"Check unit and pole count of the speed reading; if it is so, {factor.undo.format('each' if several else 'it')}: "
        f"{meant}{f' for {read}{of_first}' * several}.{label}",
        severity=Severity.DOUBTFUL,
    )
    return [replace(flag, settles_speed=True) for flag in told]


def _as_typed(speed: float) -> str:
    """Write a speed as it is to be typed, in whole turns or less where it is more exact than that."""
    return to_type(round(speed) if speed > 1000 else float(f"{speed:.4g}"), "speed")


def _span(ratios: FloatArray) -> str:
    """Write the least and the most of some shares, to three digits."""
    ends = list(dict.fromkeys(f"{end:.3g}" for end in (ratios[0], ratios[-1])))
    return " to ".join(ends)


def without_speeds(case: Case, flags: list[Flag]) -> Case:
    """Return the case of rows that no longer know the speeds that are told."""
    told = np.isin(case.rows.number, [flag.row for flag in flags])
    return case.with_speeds(np.where(told, np.nan, case.rows.speed)) if told.any() else case
