"""Makes two to four tests a comparison side by side, with the same figures, limits and ranks as the sheet Comparison."""

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from xlsengine.bench.advice.esc_needs import held_size
from xlsengine.bench.comparison import compared as c
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.comparison_lines import ONE_SAMPLE
from xlsengine.bench.comparison.ranking import RANKED
from xlsengine.expression import Column
from xlsengine.library.kept import Kept, kept_of
from xlsengine.library.peers import Row, compared, motor_name
from xlsengine.study.assessment import Assessment
from xlsengine.study.comparison import compared_with
from xlsengine.study.evaluation import Scope
from xlsengine.study.sides import ESC_SIZE, NO_DIFFERENCE, NOT_COMPARED, Line, Part, Sides

_BEHIND = {"thrust": "full_thrust", "efficiency": "full_grams_per_watt", "at_thrust": "headline_efficiency"}
"""Kept figures whose ±, as a share, is that of what is compared."""
BEST = {
    "thrust": "most thrust",
    "efficiency": "best g/W at full throttle",
    "at_thrust": "best g/W at {:.0f} g",
}
NOISE_HERE = (
    "On the sheet Comparison of results a motor is held against its whole class, by the repeats of all of it: differences "
    "count there from other limits than here, where these motors alone are; the rule is the same."
)


def side_by_side(assessments: Sequence[Assessment]) -> Sides:
    """Compare tests, all brought to the voltage and air of the first; only what all of two or more were read with."""
    kept = [kept_of(each.test, each) for each in assessments]
    first = assessments[0]
    comparison = compared(first.scope, kept[0], kept[1:], ordered=False)
    scope = compared_with(first, comparison).scope
    names = _told_apart([motor_name(each.test) for each in kept], [str(each.test["test_id"] or "") for each in kept])
    groups = scope.used_rows(c.COMPARED.name)
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


def _motors(kept: Sequence[Kept], names: Sequence[str]) -> Part:
    def texts(label: str, name: str) -> Line:
        return Line(label, "", 0, [each.test[name] for each in kept])

    def numbers(label: str, unit: str, decimals: int, name: str, margin: str = "") -> Line:
        margins = [_number(each.test[margin]) for each in kept] if margin else ()
        return Line(label, unit, decimals, [_number(each.test[name]) for each in kept], margins)

    lines = [
        texts("Test id", "test_id"),
        texts("Test date", "test_date"),
        texts("Tester", "tester"),
        texts("ESC", "esc_used"),
        _mass("Mass as supplied", "mass_as_supplied", kept, names),
        _mass("Trimmed mass", "trimmed_mass", kept, names),
        numbers("Labelled Kv", "rpm/V", 0, "label_kv"),
        numbers("Kv measured", "rpm/V", 0, "best_kv", "best_kv_uncertainty"),
        numbers("Kv against its label", "%", 1, "kv_deviation"),
        numbers("Price", "", 2, "price"),
    ]
    return Part("The motors", [line for line in lines if any(value is not None for value in line.values)])


def _mass(label: str, name: str, kept: Sequence[Kept], names: Sequence[str]) -> Line:
    """Return masses of one kind: one with leads as supplied is no trimmed one, whatever stands in its place elsewhere."""
    own = [name != "trimmed_mass" or _is_trimmed(each) for each in kept]
    masses, margins = (
        [_number(each.test[kind]) if known else None for each, known in zip(kept, own, strict=True)]
        for kind in (name, f"{name}_uncertainty")
    )
    verdict, ahead, lead = _lightest(masses, margins, names)
    return Line(
        label, "g", 1, masses, margins, verdict, best="lightest" * (name != "trimmed_mass"), ahead=ahead, lead=lead
    )


def _is_trimmed(test: Kept) -> bool:
    return str(test.test["trimmed_mass_basis"] or "").startswith(("measured", "estimated"))


def _lightest(
    masses: Sequence[float | None], margins: Sequence[float | None], names: Sequence[str]
) -> tuple[str, str, float]:
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

    def best(title: tuple[str, str, int], name: str) -> Iterator[Line]:
        rows = [max(each.groups, key=lambda row: _number(row[name]) or 0.0, default=None) for each in kept]
        values = [None if row is None else _number(row[name]) for row in rows]
        shares = [None if row is None else _divided(row, name) for row in rows]
        yield Line(*title, values, _margins(values, shares))
        yield Line("with", "", 0, [None if row is None else f"{row['prop']} on {row['cells']:.0f}S" for row in rows])

    lines = (
        *best(("Highest thrust, full throttle", "g", 0), "full_thrust"),
        *best(("Best thrust per power, full throttle", "g/W", 2), "full_grams_per_watt"),
        *best(("Highest thrust to motor weight", "g/g", 1), "full_thrust_to_mass"),
    )
    found = [line for line in lines if any(value is not None for value in line.values)]
    return Part(
        "Each with its own propellers, as read",
        found,
        ["Of different propellers: none of the motors is ahead by these."],
    )


# --- a propeller and cell count --------------------------------------------------------------------------------


def _sizes(assessment: Assessment, test: Kept) -> dict[str, float | None]:
    """Return the ESC size for full throttle held of each propeller and cell count."""
    sizes = assessment.scope.this_row(held_size)[: len(test.groups)].tolist()
    return {_key(group): _number(size) for group, size in zip(test.groups, sizes, strict=True)}


def _key(group: Row) -> str:
    return f"{group['prop_key']} on {group['cells']:.0f}s"


def _combination(
    scope: Scope,
    kept: Sequence[Kept],
    names: Sequence[str],
    sizes: Sequence[dict[str, float | None]],
    place: int,
) -> Part:
    rows = np.flatnonzero(scope.this_row(p.group) == place + 1)
    of_motor = {int(scope.this_row(p.number)[row]): int(row) for row in rows}

    def column(cell: Column) -> list[Any]:
        values = scope.this_row(cell)
        return [values[of_motor[motor]] if motor in of_motor else None for motor in range(len(kept))]

    label = str(scope.this_row(c.label)[place])
    at = float(scope.this_row(c.at)[place])
    titles = {
        "thrust": ("Thrust, full throttle", "g", 0),
        "efficiency": ("Thrust per power, full throttle", "g/W", 2),
        "at_thrust": (f"Thrust per power at {at:.0f} g" if at == at else "Thrust per power at equal thrust", "g/W", 2),
    }
    lines = [_ranked(scope, kept, names, figure, titles[figure], place, column) for figure in c.FIGURES]
    current = [_number(value) for value in column(p.current.value)]
    shares = [_share(test, label, "static_current") for test in kept]
    lines.append(Line("Highest current, full throttle", "A", 1, current, _margins(current, shares)))
    lines.append(Line(ESC_SIZE, "A", 0, [held.get(label.lower()) for held in sizes]))
    lines.append(Line("Thrust, as read", "g", 0, [_number(value) for value in column(p.thrust.read)]))
    lines.append(Line("Voltage, as read", "V", 2, [_number(value) for value in column(p.voltage)]))
    lines.append(Line("Readings at full throttle", "", 0, column(p.what)))
    said = column(p.conditions)
    notes = [f"{names[motor]}: {said[motor]}" for motor in range(1, len(kept)) if said[motor]]
    return Part(label, [line for line in lines if any(value is not None for value in line.values)], notes)


def _ranked(
    scope: Scope,
    kept: Sequence[Kept],
    names: Sequence[str],
    figure: str,
    title: tuple[str, str, int],
    place: int,
    column: Any,
) -> Line:
    values = [_number(value) for value in column(p.VALUES[figure])]
    label = str(scope.this_row(c.label)[place])
    margins = _margins(values, [_share(test, label, _BEHIND[figure]) for test in kept])
    ranked = RANKED[figure]
    verdict, ahead, lead = _winner(names, *map(column, (ranked.key, ranked.best, ranked.worst)))
    least = _number(scope.this_row(RANKED[figure].band)[place])
    return Line(*title, values, margins, verdict, least, BEST[figure].format(scope.this_row(c.at)[place]), ahead, lead)


def _winner(
    names: Sequence[str], keys: Sequence[float | None], best: Sequence[float | None], worst: Sequence[float | None]
) -> tuple[str, str, float]:
    """Say who is ahead of all others by more than noise; return it, the name and the lead. Places are at best, at worst."""
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


def _share(test: Kept, label: str, name: str) -> float | None:
    """Return the ± of a kept figure as a share of it."""
    for group in test.groups:
        if _key(group) == label.lower():
            return _divided(group, name)
    return None


def _divided(group: Row, name: str) -> float | None:
    margin, value = group[f"{name}_uncertainty"], group[name]
    return None if margin is None or not value else float(margin) / float(value)


def _margins(values: Sequence[float | None], shares: Sequence[float | None]) -> list[float | None]:
    pairs = zip(values, shares, strict=True)
    return [None if value is None or share is None else value * share for value, share in pairs]


def _number(value: Any) -> float | None:
    return None if value is None or math.isnan(float(value)) else float(value)
