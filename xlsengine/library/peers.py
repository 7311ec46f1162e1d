"""The peers of a motor, those of its stator size and about its Kv, and what is written of each for a live comparison.

Only what two motors were both tested with is compared, propeller by propeller and cell count by cell count: no figure is a
mean over propellers that another motor was not tested with.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from xlsengine.bench.comparison import class_motors as k
from xlsengine.bench.comparison import peers as p
from xlsengine.bench.comparison.class_motors import CLASS_MOTORS, COMPARED
from xlsengine.bench.comparison.peers import PEERS
from xlsengine.bench.declaring.declare import Field
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import motor as m
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.bench_test import array_of
from xlsengine.bench.inputs.settings import class_kv_band, class_size_band
from xlsengine.bench.judging.round_thrusts import compared_thrust
from xlsengine.library.kept import Kept, kept_of
from xlsengine.study.assessment import Assessment
from xlsengine.study.comparison import Comparison, with_peers
from xlsengine.study.evaluation import Scope
from xlsengine.workbook.reading.findings import key

if TYPE_CHECKING:
    from xlsengine.library.store import Library

MOST_COMBINATIONS = 12
"""Propellers and cell counts that are compared; those with most peers come first."""
MOST_PEERS = 30
"""Motors that are compared; of a larger class those nearest in Kv."""
_NOT_SAID = "not compared with the library: Motor does not say {}, which the class of a motor goes by"
_ALONE = "not compared: the library has no other motor of its class (stator {} by {} mm, Kv {} to {} rpm/V)"
_BY_SIZE = (m.stator_diameter.name, m.stator_height.name, m.label_kv.name)
_HAIR = 1e-9
"""So that a figure on the limit of a class is inside, whatever rounding does."""
_GEOMETRY = ("diameter", "pitch", "blades")
Row = Mapping[str, Any]


def against_class(library: Library, assessment: Assessment) -> Comparison:
    """Return the comparison of a test with its class in a library; without peers, where there are none, and it says why.

    Raises `LibraryError` where the library cannot be read.
    """
    scope, own = assessment.scope, kept_of(assessment.test, assessment)
    limits = _limits(scope)
    missing = [m.MOTOR.fields[name].label.lower() for name in _BY_SIZE if limits[name] is None]
    if missing:
        return Comparison({}, 0, (_NOT_SAID.format(", ".join(missing)),))
    found = [row for row in library.tests(**limits) if not _same(own.test, row)]
    if not found:
        return Comparison({}, 0, (_alone(limits),))
    kv = scope.named(m.label_kv.name)
    found.sort(key=lambda row: (abs(math.log(row["label_kv"] / kv)), row["id"]))
    more = f"of {len(found)} motors of its class in the library the {MOST_PEERS} nearest in Kv are compared"
    return compared(scope, own, library.kept(found[:MOST_PEERS]), [more] * (len(found) > MOST_PEERS))


def _limits(scope: Scope) -> dict[str, Any]:
    """Return within which limits each figure of a peer must lie; None where this motor's is not known."""
    size, kv = scope.named(class_size_band.name), scope.named(class_kv_band.name) / 100
    bands: dict[str, Any] = {m.size_code_means.name: scope.named(m.size_code_means.name)}
    for name in _BY_SIZE:
        value = scope.named(name)
        wide = value * kv if name == m.label_kv.name else size
        bands[name] = None if value != value else (value - wide - _HAIR, value + wide + _HAIR)
    return bands


def _alone(limits: dict[str, Any]) -> str:
    diameter, height, (low, high) = (limits[name] for name in _BY_SIZE)
    return _ALONE.format(*(f"{sum(each) / 2:g}" for each in (diameter, height)), f"{low:.0f}", f"{high:.0f}")


def _same(own: Row, row: Row) -> bool:
    """Tell whether a row is an earlier version of this test: of the same id and model."""
    return all(key(str(own[name] or "")) == key(str(row[name] or "")) for name in ("test_id", "model"))


@dataclass(frozen=True)
class _Combination:
    """A propeller and cell count of this motor, and the peers that have it: each with its number and its figures there."""

    label: str
    own: Row
    peers: Sequence[tuple[int, Kept, Row]]


def compared(
    scope: Scope, own: Kept, peers: Sequence[Kept], told: Sequence[str] = (), ordered: bool = True
) -> Comparison:
    """Return the comparison of a test with its peers; `scope` holds the test's values, `own` its kept figures.

    Motors are `ordered` by thrust and by mass; else this motor is followed by its peers as they are given.
    """
    combinations = _combinations(scope, own, peers)
    left = len(combinations) - MOST_COMBINATIONS
    more = [
        f"{left} of {len(combinations)} propellers and cell counts in common have fewest peers, and are not compared"
    ]
    combinations = combinations[:MOST_COMBINATIONS]
    thrusts = [_thrust_compared(scope, own, each) for each in combinations]
    rows = [
        row for number, each in enumerate(combinations, 1) for row in _rows(scope, number, each, thrusts[number - 1])
    ]
    motors = [{"kept_own": 1.0}, *map(_motor, peers)]
    written = {
        **_columns(
            COMPARED.name,
            COMPARED.written,
            [{"compared_label": each.label, "compared_at": at} for each, at in zip(combinations, thrusts, strict=True)],
        ),
        **_columns(PEERS.name, PEERS.written, rows),
        **_columns(CLASS_MOTORS.name, CLASS_MOTORS.written, motors),
    }
    return Comparison(_sorted(scope, written) if ordered else written, len(peers), (*told, *(more if left > 0 else ())))


def _sorted(scope: Scope, written: Mapping[tuple[str, str], Any]) -> dict[tuple[str, str], Any]:
    """Put the peers' rows in the order of thrust, the highest first, and the motors' in that of mass, this one among them."""
    whole = with_peers(scope, written)
    thrust, mass = (np.nan_to_num(whole.this_row(column), nan=0.0) for column in (p.thrust.value, k.mass))
    group = written[PEERS.name, "kept_group"]
    order = {PEERS.name: np.lexsort((-thrust[: group.size], group)), CLASS_MOTORS.name: np.argsort(mass, kind="stable")}
    return {(table, name): held[order[table]] if table in order else held for (table, name), held in written.items()}


# --- what is in common ------------------------------------------------------------------------------------------


def _combinations(scope: Scope, own: Kept, peers: Sequence[Kept]) -> list[_Combination]:
    """Return what this motor shares with peers, most peers first, then in the order of its readings."""
    labels = scope.this_row(g.label)[: len(own.groups)].tolist()
    found = []
    for label, group in zip(labels, own.groups, strict=True):
        shared = [
            (number, peer, other)
            for number, peer in enumerate(peers, start=1)
            for other in peer.groups
            if _alike(group, other)
        ]
        if shared:
            found.append(_Combination(label, group, shared))
    return sorted(found, key=lambda each: -len(each.peers))


def _alike(one: Row, other: Row) -> bool:
    """Tell whether two rows are of one propeller and cell count: by name, and by geometry where both have it."""
    if (one["prop_key"], one["cells"]) != (other["prop_key"], other["cells"]):
        return False
    both = [(one[name], other[name]) for name in _GEOMETRY]
    return all(mine == theirs for mine, theirs in both if mine is not None and theirs is not None)


def _steps(test: Kept, group: Row) -> tuple[Any, Any]:
    """Return thrusts and powers of the steady readings of a propeller and cell count."""
    here = [step for step in test.steps if (step["prop_key"], step["cells"]) == (group["prop_key"], group["cells"])]
    return np.array([step["thrust"] for step in here], dtype=float), np.array(
        [step["power"] for step in here], dtype=float
    )


def _at(scope: Scope, test: Kept, group: Row, thrust: float) -> float:
    return grams_per_watt_at(*_steps(test, group), thrust, scope.named(s.widest_gap.name))


def _thrust_compared(scope: Scope, own: Kept, each: _Combination) -> float:
    """Return the round thrust of Settings that most of the motors were read at; NaN where none was.

    Of several, the one nearest to the thrust of this motor's headline, as a ratio.
    """
    headline, best = scope.named(compared_thrust.name), (0, float("-inf"), float("nan"))
    for thrust in scope.this_row(s.round_thrust).tolist():
        if thrust != thrust or np.isnan(_at(scope, own, each.own, thrust)):
            continue
        read = sum(not np.isnan(_at(scope, peer, group, thrust)) for _, peer, group in each.peers)
        best = max(best, (read, -abs(np.log(thrust / headline)), thrust))
    return best[2] if best[0] else float("nan")


def grams_per_watt_at(thrust: Any, power: Any, wanted: float, widest_gap: float) -> float:
    """Return g/W at `wanted` grams, straight in logarithms between the readings next above and below; NaN outside them.

    `thrust` [g] and `power` [W] are arrays of one value a steady reading; readings of one thrust count with their mean
    power. NaN too where the thrust above is more than `widest_gap` times the one below.

    >>> round(grams_per_watt_at(np.array([100.0, 400.0]), np.array([10.0, 80.0]), 200.0, 5.0), 3)
    7.071
    """
    known, places = np.unique(thrust, return_inverse=True)
    powers = np.bincount(places, power) / np.bincount(places)
    above = int(np.searchsorted(known, wanted))
    if above == known.size or (known[above] > wanted and (not above or known[above] > known[above - 1] * widest_gap)):
        return float("nan")
    return float(wanted / np.exp(np.interp(np.log(wanted), np.log(known), np.log(powers))))


# --- what is written of each ----------------------------------------------------------------------------------


def _rows(scope: Scope, number: int, each: _Combination, thrust: float) -> list[Row]:
    """Return the rows of a propeller and cell count: this motor's and its peers'."""
    rows = [{"kept_own": 1.0, "kept_number": 0.0}]
    rows += [{**_peer(scope, peer, group, thrust), "kept_number": float(at)} for at, peer, group in each.peers]
    return [{"kept_group": float(number), **row} for row in rows]


def _peer(scope: Scope, peer: Kept, group: Row, thrust: float) -> dict[str, Any]:
    test = peer.test
    return {
        "kept_own": 0.0,
        "kept_name": motor_name(test),
        "kept_test": test["test_id"],
        "kept_readings": group["full_count"],
        "kept_kind": group["kind"],
        "kept_voltage": group["full_voltage"],
        "kept_density": test["air_density"],
        "kept_air_read": float(str(test["air_density_basis"]).startswith("from")),
        "kept_ratio": _ratio(group["volts_exponent"]),
        "kept_stand": test["tester"],
        "kept_esc": test["esc_used"],
        "kept_mass": test["trimmed_mass"],
        "kept_mass_margin": test["trimmed_mass_uncertainty"],
        "kept_thrust_read": group["full_thrust"],
        "kept_power_read": group["full_power"],
        "kept_current_read": group["static_current"],
        "kept_at_read": float("nan") if thrust != thrust else _at(scope, peer, group, thrust),
        "kept_thrust_sure": _percent(group["full_thrust_uncertainty"], group["full_thrust"]),
        "kept_efficiency_sure": _percent(group["full_grams_per_watt_uncertainty"], group["full_grams_per_watt"]),
    }


def _motor(peer: Kept) -> dict[str, Any]:
    names = {
        "mass_full": "mass_as_supplied",
        "mass": "trimmed_mass",
        "mass_margin": "trimmed_mass_uncertainty",
        "label_kv": "label_kv",
        "kv": "best_kv",
        "kv_expanded": "best_kv_uncertainty",
        "price": "price",
        "test": "test_id",
        "stand": "tester",
        "repeats": "repeats_read",
        "thrust_scatter": "thrust_scatter",
    }
    figures = {f"kept_{name}": peer.test[kept] for name, kept in names.items()}
    own = {"kept_own": 0.0, "kept_name": motor_name(peer.test)}
    return {**figures, **own, "kept_efficiency_scatter": _efficiency_scatter(peer.test)}


def _efficiency_scatter(test: Row) -> float:
    """Return the scatter of one reading of g/W in percent: of thrust and current together, as `class_motors` says."""
    return math.hypot(_number(test["thrust_scatter"]), _number(test["current_scatter"]))


def motor_name(test: Row) -> str:
    """Return a motor's maker and model, else the test's id."""
    named = " ".join(str(test[part]) for part in ("maker", "model") if test[part])
    return named or str(test["test_id"] or "motor not named")


def _ratio(volts_power: Any) -> float:
    """Return the speed ratio x from the power of the volts that it gives, 2/(2 − x)."""
    return 2 - 2 / float(volts_power) if volts_power else float("nan")


def _percent(part: Any, whole: Any) -> float:
    return float("nan") if part is None or not whole else 100 * float(part) / float(whole)


def _number(value: Any) -> float:
    return float("nan") if value is None else float(value)


def _columns(table: str, declared: Mapping[str, Field], rows: Sequence[Row]) -> dict[tuple[str, str], Any]:
    """Turn rows of name to value into one array a column; what is not said is blank."""
    return {(table, name): array_of(each, [row.get(name) for row in rows]) for name, each in declared.items()}
