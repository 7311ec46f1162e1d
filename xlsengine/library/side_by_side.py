"""Makes two to four tests a comparison side by side, with the same figures, limits and ranks as the sheet Comparison."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.ranking import ONE_SAMPLE, RANKED
from xlsengine.expression import Column
from xlsengine.library.kept import Kept, kept_of
from xlsengine.library.peers import Row, compared, motor_name
from xlsengine.study.assessment import Assessment
from xlsengine.study.comparison import compared_with
from xlsengine.study.evaluation import Scope
from xlsengine.study.sides import NO_DIFFERENCE, NOT_COMPARED, Line, Part, Sides

_BEHIND = {"thrust": "full_thrust", "efficiency": "full_grams_per_watt", "at_thrust": "headline_efficiency"}
"""Kept figures whose ±, as a share, is that of what is compared."""
NOISE_HERE = (
    "Differences count by one rule here and on the sheet Comparison of results; there a motor is held against its whole "
    "class, by the repeats of all of it, and so against another limit than here, where these motors alone are."
)


def side_by_side(assessments: Sequence[Assessment]) -> Sides:
    """Compare tests, all brought to the voltage and air of the first; only what all of two or more were read with."""
    kept = [kept_of(each.test, each) for each in assessments]
    first = assessments[0]
    comparison = compared(first.scope, kept[0], kept[1:], ordered=False)
    scope = compared_with(first, comparison).scope
    names = _told_apart([motor_name(each.test) for each in kept], [str(each.test["test_id"] or "") for each in kept])
    groups = scope.used_rows(k.COMPARED.name)
    parts = [_motors(kept, names), *(_combination(scope, kept, names, place) for place in range(groups))]
    parts += [] if groups else [_on_their_own(kept)]
    notes = [
        f"Thrust, current and grams per watt are brought to the voltage and air of {names[0]}: estimates.",
        "± is expanded uncertainty, with the confidence on Settings of each test. It holds parts that the motors share, so "
        "that two figures can differ by more than noise though their ± overlap.",
        NOISE_HERE,
        ONE_SAMPLE,
    ]
    if not groups:
        notes.insert(0, "No propeller and cell count was read with two of these motors: only mass and Kv are compared.")
    return Sides(names, parts, (*notes, *comparison.told))


def _told_apart(names: list[str], ids: list[str]) -> list[str]:
    """Return the motors' names, with the test's id where two are alike."""
    return [f"{name} ({id})" if names.count(name) > 1 and id else name for name, id in zip(names, ids, strict=True)]


# --- the motors ------------------------------------------------------------------------------------------------


_OF_EACH = (
    ("Test id", "", 0, "test_id"),
    ("Test date", "", 0, "test_date"),
    ("Tester", "", 0, "tester"),
    ("ESC", "", 0, "esc_used"),
    ("Mass as supplied", "g", 1, "mass_as_supplied"),
    ("Trimmed mass", "g", 1, "trimmed_mass"),
    ("Labelled Kv", "rpm/V", 0, "label_kv"),
    ("Kv measured", "rpm/V", 0, "best_kv"),
    ("Kv against its label", "%", 1, "kv_deviation"),
    ("Price", "", 2, "price"),
)


def _motors(kept: Sequence[Kept], names: Sequence[str]) -> Part:
    lines = []
    for label, unit, decimals, name in _OF_EACH:
        tests: list[Mapping[str, Any]] = [
            {} if name == "trimmed_mass" and not _is_trimmed(each) else each.test for each in kept
        ]
        values, margins = ([test.get(kind) for test in tests] for kind in (name, f"{name}_uncertainty"))
        verdict = _lightest(values, margins, names) if unit == "g" else ""
        lines.append(Line(label, unit, decimals, values, margins, verdict))
    return Part("The motors", _known(lines))


def _is_trimmed(test: Kept) -> bool:
    """Tell a trimmed mass from one with leads as supplied, whatever stands in its place elsewhere."""
    return str(test.test["trimmed_mass_basis"] or "").startswith(("measured", "estimated"))


def _known(lines: Iterable[Line]) -> list[Line]:
    """Return the lines in which a figure of one motor is known at least."""
    return [line for line in lines if any(value is not None for value in line.values)]


def _lightest(masses: Sequence[Any], margins: Sequence[Any], names: Sequence[str]) -> str:
    """Say which motor is lighter than all others by more than √2 times the largest ±."""
    known = sorted((mass, name) for mass, name in zip(masses, names, strict=True) if mass is not None)
    if len(known) < 2:
        return NOT_COMPARED
    (least, lightest), (following, _) = known[:2]
    lead = following - least
    band = math.sqrt(2) * max((margin for margin in margins if margin is not None), default=0.0)
    return f"{lightest} is lighter by {lead:.1f} g" if lead > band else NO_DIFFERENCE


def _on_their_own(kept: Sequence[Kept]) -> Part:
    """Return the best of each motor with its propeller and cell count, where no two were read with the same one."""

    def best(label: str, unit: str, decimals: int, name: str) -> Iterator[Line]:
        rows = [max(each.groups, key=lambda row: row[name] or 0.0, default={}) for each in kept]
        values = [row.get(name) for row in rows]
        yield Line(label, unit, decimals, values, _margins(values, [_share(row, name) for row in rows]))
        yield Line("with", "", 0, [f"{row['prop']} on {row['cells']:.0f}S" if row else None for row in rows])

    lines = (
        *best("Highest thrust, full throttle", "g", 0, "full_thrust"),
        *best("Best thrust per power, full throttle", "g/W", 2, "full_grams_per_watt"),
        *best("Highest thrust to motor weight", "g/g", 1, "full_thrust_to_mass"),
    )
    none_ahead = "Of different propellers: none of the motors is ahead by these."
    return Part("Each with its own propellers, as read", _known(lines), [none_ahead])


# --- a propeller and cell count --------------------------------------------------------------------------------


def _combination(scope: Scope, kept: Sequence[Kept], names: Sequence[str], place: int) -> Part:
    rows = np.flatnonzero(scope.this_row(p.group) == place + 1)
    of_motor = {int(scope.this_row(p.number)[row]): int(row) for row in rows}
    label = str(scope.this_row(k.label)[place])
    groups = [next((group for group in each.groups if _label(group) == label.lower()), {}) for each in kept]

    def column(cell: Column) -> list[Any]:
        values = scope.this_row(cell)
        found = (values[of_motor[motor]] if motor in of_motor else None for motor in range(len(kept)))
        return [None if value is None or value != value else value for value in found]

    def margins(values: Sequence[Any], name: str) -> list[float | None]:
        return _margins(values, [_share(group, name) for group in groups])

    def ranked(figure: str, title: str, unit: str, decimals: int) -> Line:
        values, its = column(p.VALUES[figure]), RANKED[figure]
        least = float(scope.this_row(its.band)[place])
        ahead = _winner(names, column(its.key), column(its.worst))
        sure = margins(values, _BEHIND[figure])
        return Line(title, unit, decimals, values, sure, ahead, None if math.isnan(least) else least)

    current = column(p.current.value)
    lines = (
        ranked("thrust", "Thrust, full throttle", "g", 0),
        ranked("efficiency", "Thrust per power, full throttle", "g/W", 2),
        ranked("at_thrust", f"Thrust per power at {scope.this_row(k.at)[place]:.0f} g", "g/W", 2),
        Line("Highest current, full throttle", "A", 1, current, margins(current, "static_current")),
        Line("Thrust, as read", "g", 0, column(p.thrust.read)),
        Line("Voltage, as read", "V", 2, column(p.voltage)),
        Line("Readings at full throttle", "", 0, column(p.what)),
    )
    said = column(p.conditions)
    notes = [f"{names[motor]}: {said[motor]}" for motor in range(1, len(kept)) if said[motor]]
    return Part(label, _known(lines), notes)


def _label(group: Row) -> str:
    return f"{group['prop_key']} on {group['cells']:.0f}s"


def _winner(names: Sequence[str], keys: Sequence[float | None], worst: Sequence[float | None]) -> str:
    """Say who is ahead of all others by more than noise, and by how much; `worst` are their places at worst."""
    ranked = sorted(((key, name) for key, name in zip(keys, names, strict=True) if key), reverse=True)
    if len(ranked) < 2:
        return NOT_COMPARED
    if 1.0 not in worst:
        return NO_DIFFERENCE if len(ranked) == 2 else f"{NO_DIFFERENCE} between the first"
    (best, name), (following, _) = ranked[:2]
    return f"{name} by {100 * (best / following - 1):.1f} %"


def _share(group: Row, name: str) -> float | None:
    """Return the ± of a kept figure as a share of it; None where either is not known."""
    margin, value = group.get(f"{name}_uncertainty"), group.get(name)
    return None if margin is None or not value else margin / value


def _margins(values: Sequence[Any], shares: Sequence[float | None]) -> list[float | None]:
    pairs = zip(values, shares, strict=True)
    return [None if value is None or share is None else value * share for value, share in pairs]
