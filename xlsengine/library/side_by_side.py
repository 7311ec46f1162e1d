"""Makes two to four tests a comparison side by side, with the same figures, limits and ranks as the sheet Comparison."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from xlsengine.bench.advice.esc_needs import held_size
from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.ranking import ONE_SAMPLE, RANKED
from xlsengine.expression import Column
from xlsengine.library.kept import Kept, kept_of
from xlsengine.library.peers import Row, compared, motor_name
from xlsengine.study.assessment import Assessment
from xlsengine.study.comparison import ESC_SIZE, NO_DIFFERENCE, NOT_COMPARED, Line, Part, Sides, compared_with
from xlsengine.study.evaluation import Scope

_BEHIND = {"thrust": "full_thrust", "efficiency": "full_grams_per_watt", "at_thrust": "headline_efficiency"}
"""Kept figures whose ±, as a share, is that of what is compared."""
NOISE_HERE = (
    "On the sheet Comparison of results a motor is held against its whole class, by the repeats of all of it: differences "
    "count there from other limits than here, where these motors alone are; the rule is the same."
)
_Led = tuple[str, str, float]
"""Who is ahead in words, the name alone, "" where nobody is, and by how much."""


def side_by_side(assessments: Sequence[Assessment]) -> Sides:
    """Compare tests, all brought to the voltage and air of the first; only what all of two or more were read with."""
    kept = [kept_of(each.test, each) for each in assessments]
    first = assessments[0]
    comparison = compared(first.scope, kept[0], kept[1:], ordered=False)
    scope = compared_with(first, comparison).scope
    names = _told_apart([motor_name(each.test) for each in kept], [str(each.test["test_id"] or "") for each in kept])
    groups = scope.used_rows(k.COMPARED.name)
    sizes = [_sizes(each, test) for each, test in zip(assessments, kept, strict=True)]
    parts = [_motors(kept, names), *(_combination(scope, kept, names, sizes, place) for place in range(groups))]
    parts += [] if groups else [_on_their_own(kept)]
    notes = [
        f"Thrust, current and grams per watt are brought to the voltage and air of {names[0]}: estimates.",
        "± is expanded uncertainty, with the confidence on Settings of each test. It holds parts that the motors share, so "
        "that two figures can differ by more than noise though their ± overlap.",
        NOISE_HERE,
        ONE_SAMPLE,
    ]
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
        verdict, ahead, lead = _lightest(values, margins, names) if unit == "g" else ("", "", 0.0)
        best = "lightest" if name == "mass_as_supplied" else ""
        lines.append(Line(label, unit, decimals, values, margins, verdict, None, best, ahead, lead))
    return Part("The motors", _known(lines))


def _is_trimmed(test: Kept) -> bool:
    """Tell a trimmed mass from one with leads as supplied, whatever stands in its place elsewhere."""
    return str(test.test["trimmed_mass_basis"] or "").startswith(("measured", "estimated"))


def _known(lines: Iterable[Line]) -> list[Line]:
    """Return the lines in which a figure of one motor is known at least."""
    return [line for line in lines if any(value is not None for value in line.values)]


def _lightest(masses: Sequence[Any], margins: Sequence[Any], names: Sequence[str]) -> _Led:
    """Say which motor is lighter than all others by more than √2 times the largest ±."""
    known = sorted((mass, name) for mass, name in zip(masses, names, strict=True) if mass is not None)
    if len(known) < 2:
        return NOT_COMPARED, "", 0.0
    (least, lightest), (following, _) = known[:2]
    lead = following - least
    band = math.sqrt(2) * max((margin for margin in margins if margin is not None), default=0.0)
    return (f"{lightest} is lighter by {lead:.1f} g", lightest, lead) if lead > band else (NO_DIFFERENCE, "", 0.0)


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


def _sizes(assessment: Assessment, test: Kept) -> dict[str, float | None]:
    """Return the ESC size for full throttle held of each propeller and cell count."""
    sizes = assessment.scope.this_row(held_size)[: len(test.groups)].tolist()
    return {_label(group): size if size == size else None for group, size in zip(test.groups, sizes, strict=True)}


def _combination(
    scope: Scope, kept: Sequence[Kept], names: Sequence[str], sizes: Sequence[Mapping[str, float | None]], place: int
) -> Part:
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

    def ranked(figure: str, best: str, title: str, unit: str, decimals: int) -> Line:
        values, its = column(p.VALUES[figure]), RANKED[figure]
        least = float(scope.this_row(its.band)[place])
        verdict, ahead, lead = _winner(names, column(its.key), column(its.best), column(its.worst))
        sure = margins(values, _BEHIND[figure])
        return Line(
            title, unit, decimals, values, sure, verdict, None if math.isnan(least) else least, best, ahead, lead
        )

    current, at = column(p.current.value), f"{scope.this_row(k.at)[place]:.0f} g".replace("nan g", "equal thrust")
    lines = (
        ranked("thrust", "most thrust", "Thrust, full throttle", "g", 0),
        ranked("efficiency", "best g/W at full throttle", "Thrust per power, full throttle", "g/W", 2),
        ranked("at_thrust", f"best g/W at {at}", f"Thrust per power at {at}", "g/W", 2),
        Line("Highest current, full throttle", "A", 1, current, margins(current, "static_current")),
        Line(ESC_SIZE, "A", 0, [held.get(label.lower()) for held in sizes]),
        Line("Thrust, as read", "g", 0, column(p.thrust.read)),
        Line("Voltage, as read", "V", 2, column(p.voltage)),
        Line("Readings at full throttle", "", 0, column(p.what)),
    )
    said = column(p.conditions)
    notes = [f"{names[motor]}: {said[motor]}" for motor in range(1, len(kept)) if said[motor]]
    return Part(label, _known(lines), notes)


def _label(group: Row) -> str:
    return f"{group['prop_key']} on {group['cells']:.0f}s"


def _winner(
    names: Sequence[str], keys: Sequence[float | None], best: Sequence[float | None], worst: Sequence[float | None]
) -> _Led:
    """Say who is ahead of all others by more than noise, and by how much; `best` and `worst` are their places."""
    ranked = sorted(((key, name) for key, name in zip(keys, names, strict=True) if key), reverse=True)
    if len(ranked) < 2:
        return NOT_COMPARED if ranked else f"{NOT_COMPARED}, or of none", "", 0.0
    left = [name for key, name in zip(keys, names, strict=True) if not key]
    without = f" ({', '.join(left)} not compared)" if left else ""
    if 1.0 not in worst:
        first = [name for place, name in zip(best, names, strict=True) if place == 1.0]
        among = "" if len(first) == len(ranked) else f" between {', '.join(first[:-1])} and {first[-1]}"
        return f"{NO_DIFFERENCE}{among}{without}", "", 0.0
    (top, name), (following, _) = ranked[:2]
    lead = 100 * (top / following - 1)
    return f"{name} by {lead:.1f} %{without}", name, lead


def _share(group: Row, name: str) -> float | None:
    """Return the ± of a kept figure as a share of it; None where either is not known."""
    margin, value = group.get(f"{name}_uncertainty"), group.get(name)
    return None if margin is None or not value else margin / value


def _margins(values: Sequence[Any], shares: Sequence[float | None]) -> list[float | None]:
    pairs = zip(values, shares, strict=True)
    return [None if value is None or share is None else value * share for value, share in pairs]
