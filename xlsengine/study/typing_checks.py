"""What was typed otherwise than meant: a propeller's name with a slip of one letter, throttles as shares of one."""

from __future__ import annotations

import numpy as np

from xlsengine.bench.row_checks import Severity
from xlsengine.study.case import Case
from xlsengine.study.flags import Flag, typed
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows
from xlsengine.study.outliers import FloatArray
from xlsengine.study.spelling import Names

MOST_MISSPELT = 2
"""Rows up to which a name can be a slip: one typed more often was meant (common practice, no source)."""


def misspelt(case: Case) -> list[Flag]:
    """Flag rows whose propeller's name is one slip away from another of the same size that has more rows."""
    rows, places = case.rows, _places_by_name(case.rows)
    names = Names(name for name, own in places.items() if own.size > 1)
    flags: list[Flag] = []
    for name, own in places.items():
        near = [places[other] for other in names.one_slip_from(name)] if own.size <= MOST_MISSPELT else []
        meant = [other for other in near if other.size > own.size and _same_size(rows, own, other)]
        if meant:
            likely = max(meant, key=len)
            flags += [_misspelt(rows, place, likely) for place in own.tolist()]
    return flags


def _places_by_name(rows: JudgedRows) -> dict[str, IntArray]:
    """Return the places of each propeller by its key."""
    order = np.argsort(rows.prop, kind="stable")
    parts = np.split(order, np.flatnonzero(np.diff(rows.prop[order])) + 1) if rows.size else []
    return {str(rows.prop_key[own[0]]): own for own in parts}


def _same_size(rows: JudgedRows, own: IntArray, other: IntArray) -> bool:
    """Tell whether diameter, pitch and blades agree in some rows, or are blank."""
    for column in (rows.diameter, rows.pitch, rows.blades):
        here, there = column[own], column[other]
        here, there = here[~np.isnan(here)], there[~np.isnan(there)]
        if here.size and there.size and not np.isin(here, there).any():
            return False
    return True


def _misspelt(rows: JudgedRows, place: int, likely: IntArray) -> Flag:
    name = rows.prop_name[likely[0]]
    return Flag(
        "Propeller's name misspelt",
        int(rows.number[place]),
        "prop",
        f'"{rows.prop_name[place]}"',
        f'"{name}", as {likely.size} other rows of the same size have it',
        "A slip of one letter: under another name the row stands apart from its propeller's other rows.",
        f'Type "{name}" if it is the same propeller; otherwise give the two names that differ more.',
        Severity.DOUBTFUL,
        (int(rows.number[likely[0]]),),
    )


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
        return [_share(rows, shares, f"{lowest} to {highest} in {shares.size} rows, and none higher")]
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
        "percent: 50 % for half throttle",
        "Throttle was typed as a share of one, and read as percent: 1 % is not taken for full throttle.",
        "Type 50 for half throttle, 100 or nothing for full throttle; leave it where these are idle readings.",
        Severity.DOUBTFUL,
        tuple(rows.number[places[1:]].tolist()),
    )
