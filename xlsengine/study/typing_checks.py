"""What was typed otherwise than meant: a propeller's name with a slip in it, throttles as shares of one.

Under two names the rows of one propeller stand apart.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.case import Case, IntArray, JudgedRows
from xlsengine.study.flags import Flag, typed
from xlsengine.study.lines import Lines
from xlsengine.study.outliers import FloatArray
from xlsengine.study.relations import Bench, along, at_speed, torque_at_speed, with_power

# --- names that one slip turns into one another ----------------------------------------------------------------

_WORDS = re.compile(r"[ -]?[^\W\d_]{4,}[ -]?")
"""Words in which a slip is likelier than a mark, and what parts them: A and B, CW and CCW differ on purpose."""

_TWO = re.compile(r"(?=(\d)([.x]?)(\d))"), re.compile(r"(?=\b([^\W\d_])()([^\W\d_])\b)")
"""Digits side by side, or about a point or an x; the letters of a mark of two."""

LONGEST = 60
"""Letters of a name up to which it is compared, so that time grows with the names."""


def rests(name: str) -> set[str]:
    """Return a name and what is left of it without one letter of a word: names that share one of these are a slip apart.

    Letters, spaces and hyphens are slips, figures never.

    >>> sorted(rests("a birch 5x3") & rests("a birhc 5x3"))
    ['a birc 5x3', 'a birh 5x3']
    >>> rests("birch cw") & rests("birch ccw"), rests("birch 5x4") & rests("birch 5x5")
    (set(), set())
    """
    letters = (at for word in _WORDS.finditer(name) for at in range(*word.span()))
    return {name, *(name[:at] + name[at + 1 :] for at in letters)} if len(name) <= LONGEST else set()


def exchanged(name: str) -> list[str]:
    """Return the names that two digits make of one, or the letters of a mark, when they change places.

    >>> exchanged("6x4.5"), exchanged("7 sf")
    (['4x6.5', '6x5.4'], ['7 fs'])
    """
    pairs = (two for pattern in _TWO for two in pattern.finditer(name[:LONGEST]))
    turned = (f"{name[: two.start()]}{two[3]}{two[2]}{two[1]}{name[two.end(3) :]}" for two in pairs)
    return [other for other in turned if other != name]


# --- names among the readings ----------------------------------------------------------------------------------

MOST_MISSPELT = 2
"""Rows up to which a name can be a slip: one typed more often was meant (common practice, no source)."""

ALIKE = 0.05
"""Misfit up to which thrust and current can be those of one propeller (common practice, no source: 3 % on one mount)."""

TELLING = (
    (partial(along, column="thrust"), partial(along, column="current")),
    (at_speed, torque_at_speed),
    (with_power,),
)
"""What is alike in the readings of one propeller: what tells best comes first."""

Places = dict[str, IntArray]


def misspelt(case: Case) -> list[Flag]:
    """Flag names that are one slip away from another of the same size, or two figures or letters that changed places.

    A name of one or two rows is taken for a slip of one that has more. So is the name with fewer rows, or the later
    one, where each of the two holds only cell counts that the other lacks: what somebody typed over with the pack.
    Digits or letters that changed places ("SF", "FS") count where the readings are alike.
    """
    rows, bench, flags = case.rows, Bench(case), list[Flag]()
    places, by_rest = _places_by_name(rows), defaultdict[str, list[str]](list)
    for name in places:
        for rest in rests(name):
            by_rest[rest].append(name)
    counts = np.unique(rows.cells).size
    for name, own in places.items():
        if own.size > MOST_MISSPELT and np.unique(rows.cells[own]).size == counts:
            continue  # no other name can hold only what this one lacks
        slips = {other for rest in rests(name) for other in by_rest[rest]}
        near = [places[other] for other in sorted(slips - {name}) if _same_size(rows, own, places[other])]
        near += [places[other] for other in exchanged(name) if other in places and _alike(bench, own, places[other])]
        meant = [other for other in near if _is_slip_of(rows, own, other)]
        if meant:
            flags += _misspelt(rows, own, max(meant, key=len))
    return flags


def _places_by_name(rows: JudgedRows) -> Places:
    """Return the places of each propeller by its key."""
    order = np.argsort(rows.prop, kind="stable")
    parts = np.split(order, np.flatnonzero(np.diff(rows.prop[order])) + 1) if rows.size else []
    return {str(rows.prop_key[own[0]]): own for own in parts}


def _is_slip_of(rows: JudgedRows, own: IntArray, other: IntArray) -> bool:
    """Tell whether the rows of one name can be a slip of the other by how many there are, and on which cell counts."""
    if own.size <= MOST_MISSPELT and other.size > max(own.size, 1):
        return True
    later = (own.size, -own[0]) < (other.size, -other[0])
    return later and not np.isin(rows.cells[own], rows.cells[other]).any()


def _same_size(rows: JudgedRows, own: IntArray, other: IntArray) -> bool:
    """Tell whether diameter, pitch and blades agree in some rows, or are blank."""
    for column in (rows.diameter, rows.pitch, rows.blades):
        here, there = column[own], column[other]
        here, there = here[~np.isnan(here)], there[~np.isnan(there)]
        if here.size and there.size and not np.isin(here, there).any():
            return False
    return True


def _alike(bench: Bench, own: IntArray, other: IntArray) -> bool:
    """Tell whether the readings under one name are those that the other propeller's lead to expect, by what tells first."""
    case = bench.case
    as_other = replace(case.rows.at(own), prop=case.rows.prop[other[:1]].repeat(own.size))
    for relations in TELLING:
        misfits = list[FloatArray]()
        for relation in relations:
            lines = Lines(relation(bench, case.rows), case.sound)
            lines.judged(ALIKE, case.limits.score)
            found = lines.against(relation(bench, as_other), np.arange(own.size), own)
            misfits.append(np.abs(found.misfit[found.spread <= ALIKE]))
        if any(each.size for each in misfits):
            return all(np.median(each) <= ALIKE for each in misfits if each.size)
    return False


def _misspelt(rows: JudgedRows, own: IntArray, likely: IntArray) -> Iterator[Flag]:
    """Yield one flag a row of a slip in a row or two; of a whole cell count one that speaks of all its rows."""
    name, whole = rows.prop_name[likely[0]], own.size > MOST_MISSPELT
    alike = "of the same size" if _same_size(rows, own, likely) else "with like figures"
    for place in own[:1] if whole else own:
        yield rows.flag(
            place,
            "Propeller's name misspelt",
            "prop",
            f'"{rows.prop_name[place]}"' + (f" in {own.size} readings" if whole else ""),
            f'"{name}", as {likely.size} other readings {alike} have it',
            "A slip in typing: under another name the reading stands apart from its propeller's others.",
            f'Type "{name}" if it is the same propeller; otherwise give the two names that differ more.',
            also=own[1:] if whole else likely[:1],
        )


# --- throttles moved by a row -----------------------------------------------------------------------------------

FEWEST_OF_A_SWEEP, FULL = 4, 100.0
"""Readings of a sweep from which on an order that one move puts right is no chance."""


def moved_throttles(case: Case) -> list[Flag]:
    """Flag sweeps whose throttles are in the order of thrust and amps once all stand a row up or down, the end one around.

    Not where one wrong throttle explains it: the end one cannot be above full throttle, nor the same as in another sweep.
    """
    rows = case.rows
    parts = np.split(np.arange(rows.size), 1 + np.flatnonzero((np.diff(rows.group) != 0) | (np.diff(rows.number) != 1)))
    sweeps = [part for part in parts if part.size >= FEWEST_OF_A_SWEEP]
    used = Counter(tuple(np.sort(rows.throttle[at]).tolist()) for at in sweeps)
    flags = list[Flag]()
    for at in sweeps:
        throttle, read = rows.throttle[at], (rows.thrust[at], rows.current[at])
        if np.unique(throttle).size < at.size or any(_in_order(throttle, each) for each in read):
            continue
        above_full = throttle.max() >= FULL and np.argmax(read[0]) == np.argmin(throttle)
        meant = [moved for step in (1, -1) if all(_in_order(moved := np.roll(throttle, step), each) for each in read)]
        if meant and (above_full or used[tuple(np.sort(throttle).tolist())] > 1):
            flags += _moved(rows, at, meant[0])
    return flags


def _moved(rows: JudgedRows, at: IntArray, meant: FloatArray) -> list[Flag]:
    was, due = (", ".join(f"{value:g}" for value in values) for values in (rows.throttle[at], meant))
    return rows.flags(
        at,
        "Throttles perhaps moved by a row",
        "throttle",
        f"{was} % in {rows.named(at)}, against thrust and current",
        f"{due} %, in the order of thrust and current",
        "The throttles of a sweep were typed a row too high or too low.",
        f"If your bench notes agree, type {due} % in {rows.named(at)}; otherwise repeat the points.",
        severity=Severity.DOUBTFUL,
    )


def _in_order(throttle: FloatArray, read: FloatArray) -> bool:
    return bool((np.diff(read[np.argsort(throttle)]) > 0).all())


# --- throttles as shares ---------------------------------------------------------------------------------------


def are_shares(throttle: FloatArray) -> bool:
    """Tell whether throttles meant as percent look like shares: some above 0, none above 1.

    Takes an array of shape (n,), NaN where blank.
    """
    highest = np.max(throttle, initial=0.0, where=~np.isnan(throttle))
    return bool(0 < highest <= 1)


def shares_of_throttle(case: Case) -> list[Flag]:
    """Flag throttles that all look like shares of one, the first for all; one among others contradicts its thrust."""
    rows = case.rows
    if not are_shares(rows.throttle_typed):
        return []
    shares = np.flatnonzero(rows.throttle_typed > 0)
    lowest, highest = (typed(end, "throttle") for end in np.sort(rows.throttle_typed[shares])[[0, -1]])
    return [
        rows.flag(
            shares[0],
            "Throttle looks like a share",
            "throttle",
            f"{lowest} to {highest} in {shares.size} readings, and none higher",
            "%: 50 for half throttle",
            "Throttle was typed as a share of one; read as %, 1 is not full throttle.",
            "Type 50 for half throttle, 100 or nothing for full throttle; leave it where these are idle readings.",
            also=shares[1:],
        )
    ]
