"""Checks of readings that should differ and do not, or should agree and do not: copies and repeats."""

import math

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import Case, IntArray, JudgedRows, counts_by, display_step, labels_of, medians_by
from xlsengine.study.flags import Flag, about, label_of, typed
from xlsengine.study.outliers import FloatArray, generalized_esd

FEW_REPEATS = 14
"""Up to this many repeats Grubbs' test serves; from there on the generalized ESD test is fair, says its source."""

MOST_OUTLIERS = 20
"""Outliers sought in one set of repeats, so that time grows no faster than the rows."""

SPREAD, VOLTS_SPREAD = 0.02, 0.006
"""How far repeats of thrust and amps, and of volts, spread (common practice, no source: SD 0.3 to 1 %)."""

RARE, COMMON = 0.005, 0.02
"""Chances of the same figures below which they are doubtful, and from which on nothing is said of them."""

APART, APART_BY_HAND = math.log(1.12), math.log(1.3)
"""Repeats farther apart are no repeats (common practice, no source: 2 to 5 % on one bench), at full throttle; at throttle
steps, which are set by hand."""

VOLTS_APART = 0.05
"""Share by which a repeat's volts are below the others' that moves means and ranks (common practice, no source: a pack gives
2 to 3 % less from one run to the next)."""

REPEAT_SHARE = 0.02
"""Distance from the median never worth a look (common practice, no source: SD on one mount 0.3 to 1 %)."""


def copies(case: Case) -> list[Flag]:
    """Flag rows whose volts, amps and grams, and speed where both read it, are those of an earlier row.

    Under another propeller, cell count or throttle that is doubtful, and under the same where the kind and a speed, or
    its absence, are the same too; else it is a note. In long sets of repeats it is nothing at all, since a display comes
    back to the same figures by itself.
    """
    rows = case.rows
    repeats = counts_by(labels_of(rows.group, rows.throttle)) if rows.size else rows.number
    flags = []
    by_chance = _by_chance(rows)
    for here, earlier in _equal_readings(rows):
        same = rows.group[here] == rows.group[earlier] and rows.throttle[here] == rows.throttle[earlier]
        if not same or (repeats[here] <= FEW_REPEATS and by_chance[here] <= COMMON):
            flags.append(
                _repeat_or_copy(rows, here, earlier, by_chance[here] <= RARE) if same else _copied(rows, here, earlier)
            )
    return flags


def _equal_readings(rows: JudgedRows) -> list[tuple[int, int]]:
    """Return pairs of a row and the first of equal volts, amps and grams, their speeds being equal where both read them."""
    first: dict[tuple[float, ...], int] = {}
    read = zip(rows.voltage.tolist(), rows.current.tolist(), rows.thrust.tolist(), strict=True)
    pairs = ((here, first.setdefault(reading, here)) for here, reading in enumerate(read))
    speed = rows.speed
    return [(here, earlier) for here, earlier in pairs if earlier < here and not abs(speed[here] - speed[earlier]) > 0]


def _copied(rows: JudgedRows, here: int, earlier: int) -> Flag:
    other = f"{rows.prop_name[earlier]} on {rows.cells[earlier]:g} cells at {rows.throttle[earlier]:g} % throttle"
    return rows.flag(
        here,
        "Copied readings",
        "thrust",
        f"{_reading(rows, here)}, as in {rows.name(earlier)}: {other}",
        "other readings with another propeller, cell count or throttle",
        "A reading was copied and its figures never typed over, or they went into the wrong row.",
        f"Check your bench notes: is this one right, or {rows.name(earlier)}? Type the wrong one again.",
        also=(earlier,),
    )


def _by_chance(rows: JudgedRows) -> FloatArray:
    """Return how likely an honest repeat shows the same figures, by the steps of the displays."""
    parts = ((rows.voltage, VOLTS_SPREAD), (rows.current, SPREAD), (rows.thrust, SPREAD))
    likely = [np.minimum(1.0, display_step(values) / (spread * values)) for values, spread in parts]
    return np.asarray(likely[0] * likely[1] * likely[2])


def _repeat_or_copy(rows: JudgedRows, here: int, earlier: int, is_rare: bool) -> Flag:
    speeds = rows.speed[[here, earlier]]
    alike = rows.peak[here] == rows.peak[earlier] and np.array_equal(speeds[:1], speeds[1:], equal_nan=True)
    return rows.flag(
        here,
        "Same readings twice",
        "thrust",
        f"{_reading(rows, here)}, as in {rows.name(earlier)}",
        "a repeat that differs in its last digits",
        "The same reading typed or copied twice; or a repeat that happened to agree. It does not count as a repeat.",
        f"Compare with {rows.name(earlier)}; if this is no reading of its own, type it again or set Use to no.",
        severity=Severity.DOUBTFUL if alike and is_rare else Severity.NOTE,
        also=(earlier,),
    )


def _reading(rows: JudgedRows, place: int) -> str:
    columns = ("voltage", "current", "thrust")
    return ", ".join(typed(rows.reading(column)[place], column) for column in columns)


def repeats(case: Case) -> list[Flag]:
    """Flag rows that an outlier test sets apart from the others of their propeller, cells, kind and throttle.

    Grubbs' test up to 14 repeats, the generalized ESD test for more; both on thrust, current and speed.
    """
    rows = case.rows
    sound = np.flatnonzero(case.sound)
    labels = labels_of(rows.group[sound], rows.throttle[sound], rows.peak[sound])
    flags = []
    for column in ("thrust", "current", "speed"):
        values = rows.reading(column)[sound]
        for place, usual in _out_of_line(labels, values, case.limits.significance):
            flags.append(unrepeated(rows, int(sound[place]), column, usual))
    return flags


def _out_of_line(labels: IntArray, values: FloatArray, significance: float) -> list[tuple[int, float]]:
    """Return the places of outliers among rows of one label, each with the median of its fellows."""
    if not values.size:
        return []
    medians = medians_by(labels, values)
    far = np.abs(values - medians) > REPEAT_SHARE * medians + display_step(values[~np.isnan(values)])
    order = np.argsort(labels, kind="stable")
    ends = np.cumsum(np.bincount(labels))
    found = []
    for label in np.unique(labels[far]).tolist():
        members = order[ends[label - 1] if label else 0 : ends[label]]
        outliers = members[_outliers(values[members], significance)]
        found += [(int(place), float(medians[place])) for place in outliers if far[place]]
    return found


def _outliers(values: FloatArray, significance: float) -> list[int]:
    """Return the positions of outliers among the repeats of one point."""
    count = int(np.sum(~np.isnan(values)))
    most = 1 if count <= FEW_REPEATS else min(count // 10 + 1, MOST_OUTLIERS)
    return list(generalized_esd(values, most, significance).outliers)


def unrepeated(rows: JudgedRows, place: int, column: str, usual: float) -> Flag:
    """Say that a reading is out of line with its repeats, which usually read `usual`."""
    label = label_of(column)
    return rows.flag(
        place,
        f"{label.capitalize()} out of line with its repeats",
        column,
        typed(rows.reading(column)[place], column),
        f"{about(usual, column)}, as its repeats",
        "A misread display, a gust, a drifted zero, a weak pack, or a slip in typing.",
        "Check your bench notes; repeat the point, or set Use to no with a note why.",
    )


# --- repeats that are none ---------------------------------------------------------------------------------------


def repeats_apart(case: Case) -> list[Flag]:
    """Flag readings too far from their repeats, at equal volts: of two both, of more those far from the middle."""
    rows, sound = case.rows, np.flatnonzero(case.sound)
    if not sound.size:
        return []
    read = np.stack([rows.thrust[sound], rows.current[sound]])
    label = labels_of(rows.group[sound], rows.throttle[sound], rows.peak[sound])
    levels = np.log(read) - case.limits.volts_power * np.log(rows.voltage[sound])
    steps = np.array([[display_step(values)] for values in (rows.thrust, rows.current)])
    allowed = np.where(rows.point[sound] > 0, APART, APART_BY_HAND) + 2 * steps / read
    allowed = np.stack([_largest(label, values) for values in allowed])
    spread = np.stack([_largest(label, values) + _largest(label, -values) for values in levels])
    off = np.abs(levels - np.stack([medians_by(label, values) for values in levels])) / allowed
    two, column = counts_by(label) == 2, np.where(off[0] > off[1], "thrust", "current")
    other = np.bincount(label, sound)[label].astype(np.int64) - sound
    usual = {name: medians_by(label, rows.reading(name)[sound]) for name in ("thrust", "current")}
    return [
        _two(rows, int(sound[at]), int(other[at]), str(column[at]))
        if two[at]
        else unrepeated(rows, int(sound[at]), str(column[at]), float(usual[column[at]][at]))
        for at in np.flatnonzero((spread > allowed).any(axis=0) & (two | (off > 1).any(axis=0))).tolist()
    ]


def _largest(label: IntArray, values: FloatArray) -> FloatArray:
    """Return for each row the largest value under its label."""
    highest = np.full(int(label.max()) + 1, -np.inf)
    np.maximum.at(highest, label, values)
    return np.asarray(highest[label])


def _two(rows: JudgedRows, at: int, other: int, column: str) -> Flag:
    return rows.flag(
        at,
        "Repeats far apart",
        column,
        f"{rows.read(at)}; {rows.name(other)}: {rows.read(other)}",
        "repeats within a few percent, at equal volts",
        "One of the two has the propeller or a figure of another reading; or a propeller slipped, or throttle was not full.",
        "Compare both with your bench notes; repeat the point, or set Use of the wrong one to no with a note why.",
        also=(other,),
    )


# --- repeats at other volts ----------------------------------------------------------------------------------------


def repeats_at_low_volts(case: Case) -> list[Flag]:
    """Flag readings at full throttle whose volts are far below those of their repeats, which they agree with at equal volts.

    Means and ranks are of what was read: at such volts it is less, and not the propeller's fault.
    """
    rows = case.rows
    kept = np.flatnonzero(case.sound & (rows.point > 0))
    if not kept.size:
        return []
    label = labels_of(rows.group[kept], rows.throttle[kept], rows.peak[kept])
    order = kept[np.lexsort((rows.voltage[kept], label))]
    sizes = np.bincount(label)
    usual = order[(np.cumsum(sizes) - sizes + sizes // 2)[label]]  # of two the higher
    low = rows.voltage[kept] < (1 - VOLTS_APART) * rows.voltage[usual]
    return [_low_flag(rows, *pair) for pair in zip(kept[low].tolist(), usual[low].tolist(), strict=True)]


def _low_flag(rows: JudgedRows, at: int, other: int) -> Flag:
    least = rows.voltage[other] * (1 - VOLTS_APART)
    return rows.flag(
        at,
        "Volts far below those of its repeats",
        "voltage",
        f"{rows.entry(at, 'voltage')} with {rows.read(at)}; {rows.name(other)}: {rows.entry(other, 'voltage')} with "
        f"{rows.read(other)}",
        f"at least {least:.1f} V, within {100 * VOLTS_APART:.0f} % of its repeats",
        "A weaker or emptier pack: thrust and amps fall with the volts, and with them the means and ranks they count in.",
        "Charge the pack and repeat the point; or set Use to no with a note why.",
        also=(other,),
    )
