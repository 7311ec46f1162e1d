"""What was typed otherwise than meant: a propeller's name with a slip in it, throttles as shares of one."""

from __future__ import annotations

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag, typed
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows
from xlsengine.study.outliers import FloatArray


def are_shares(throttle: FloatArray) -> bool:
    """Tell whether throttles meant as percent look like shares: some above 0, none above 1.

    Takes an array of shape (n,), NaN where blank.
    """
    highest = np.max(throttle, initial=0.0, where=~np.isnan(throttle))
    return bool(0 < highest <= 1)


def shares_of_throttle(case: Case) -> list[Flag]:
    """Flag throttles that look like shares of one: the first where all do, else each that outdoes a higher throttle."""
    rows = case.rows
    if are_shares(rows.throttle_typed):
        shares = np.flatnonzero(rows.throttle_typed > 0)
        lowest, highest = (typed(end, "throttle") for end in np.sort(rows.throttle_typed[shares])[[0, -1]])
        return [_share(rows, shares, f"{lowest} to {highest} in {shares.size} readings, and none higher")]
    return [
        _share(rows, np.array([at]), f"{typed(rows.throttle[at], 'throttle')} with {typed(rows.thrust[at], 'thrust')}")
        for at in np.flatnonzero(_outdoing(case)).tolist()
    ]


def _outdoing(case: Case) -> BoolArray:
    """Tell which throttles up to 1 % come with more thrust than a sound row of their group has above 1 %."""
    rows, higher = case.rows, case.sound & (case.rows.throttle > 1)
    least = np.full(int(rows.group.max(initial=-1)) + 1, np.inf)
    np.minimum.at(least, rows.group[higher], rows.thrust[higher])
    return np.asarray((rows.throttle > 0) & (rows.throttle <= 1) & (rows.thrust > least[rows.group]))


def _share(rows: JudgedRows, places: IntArray, found: str) -> Flag:
    return Flag(
        "Throttle looks like a share",
        int(rows.number[places[0]]),
        "throttle",
        found,
        "%: 50 for half throttle",
        "Throttle was typed as a share of one; read as %, 1 is not full throttle.",
        "Type 50 for half throttle, 100 or nothing for full throttle; leave it where these are idle readings.",
        Severity.DOUBTFUL,
        tuple(rows.number[places[1:]].tolist()),
    )
