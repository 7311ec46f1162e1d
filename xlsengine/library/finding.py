"""Which motor and propeller of a library fits a need: what cannot is left out by the database, the rest is judged.

The database asks the limits that need no more than kept figures, in the order of the need; it leaves out what is beyond
one of them and its ±, and counts it. What stays is judged by the declarations in `bench/advice/pair_answers.py`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from sqlalchemy import Case, ColumnElement, Connection, Integer, case, func, literal, select

from xlsengine.bench.advice import pair_answers as a
from xlsengine.bench.advice.pairs import OF_THE_BENCH, PAIRS, STEPS
from xlsengine.bench.inputs.bench_test import Array, Value
from xlsengine.library.opening import telling
from xlsengine.library.store import Library, fetched
from xlsengine.library.tables import group, step, test
from xlsengine.study.evaluation import Scope
from xlsengine.study.need_pairs import PAIR, Columns, Judged, joined, judged, listed, no_steps, scope_of, taken, to_rank

MOST_NAMED, MOST_ASKED = 1000, 400
"""Pairs that are left out and named with their first reason; more are counted."""
NEAREST = 40
"""Pairs that are listed at least, where the library holds as many."""
_MOST_PLACES = 100_000
_BY_DATABASE = 4
"""Limits that the database asks: the first of `LIMITS`."""
_OF_GROUP = {
    "prop": group.c.prop,
    "cells": group.c.cells,
    "full_kind": group.c.kind,
    "diameter": group.c.diameter,
    "pitch_ratio": group.c.pitch_ratio,
    "voltage": group.c.full_voltage,
    "current": group.c.full_current,
    "thrust": group.c.full_thrust,
    "thrust_doubt": group.c.full_thrust_uncertainty,
    "grams_per_watt": group.c.full_grams_per_watt,
    "grams_per_watt_doubt": group.c.full_grams_per_watt_uncertainty,
    "static_current": group.c.static_current,
    "peak_current": group.c.peak_top_current,
    "held_steady": group.c.held_steady,
    "launch": group.c.launch_current,
    "room": group.c.current_room,
    "exponent": group.c.current_exponent,
    "exponent_doubt": group.c.current_exponent_uncertainty,
}
_OF_TEST = {
    "test": test.c.test_id,
    "motor_mass": test.c.trimmed_mass,
    "mass_doubt": test.c.trimmed_mass_uncertainty,
    **{column.name: test.c[figure.name] for figure, column in OF_THE_BENCH.items()},
}
_STEPS = {
    "step_throttle": step.c.throttle,
    "step_thrust": step.c.sweep_clean,
    "step_current": step.c.current,
    "step_power": step.c.power,
}


class Unlisted(NamedTuple):
    """A pair that is not listed, and the first reason."""

    motor: str
    prop: str
    cells: float
    reason: str


@dataclass(frozen=True)
class Finding:
    """What a library holds for a need: the listed pairs, how many tests and pairs were searched, and what rejects.

    `scope` holds the need and the listed pairs in their order; `fitting` and `near` count those of the whole library that
    fit and that are borderline, and `rejected` counts all others by the
    first limit that they do not hold, in the order of `LIMITS`; `unlisted` names some that are not listed. `unjudged`
    are pairs without a full-throttle reading that counts.
    """

    scope: Scope
    tests: int
    pairs: int
    unjudged: int
    fitting: int
    near: int
    rejected: tuple[int, ...]
    unlisted: tuple[Unlisted, ...]

    @property
    def hovers(self) -> bool:
        """Return whether the craft hovers: else it flies on a wing, and hover figures say nothing of it."""
        return bool(self.scope.named(a.hovers.name))

    def nothing_to_judge(self, library: str) -> str:
        """Say why a library holds no pair that can be judged."""
        if not self.tests:
            return f"{library} holds no tests yet; add some with xlsengine library add FOLDER --library LIB"
        return (
            f"{library} holds {self.tests} tests and no reading at full throttle that counts, so that no pair can be "
            "judged; xlsengine check says what stands against their readings"
        )


def find(need: Mapping[str, Value], library: Library) -> Finding:
    """Return the pairs of a library for a need; raises `LibraryError` as `Library` does."""
    with telling(library.place), library.engine.connect() as connection:
        beyond = _beyond(need)
        counts = _counts(connection, beyond)
        candidates = judged(need, _pairs(connection, beyond == 0))
        out = _pairs(connection, beyond > 0, [beyond.desc(), group.c.full_thrust.desc()], MOST_NAMED)
        tests = connection.execute(select(func.count()).select_from(test)).scalar_one()
        ranked = to_rank(need, _with_nearest(need, candidates, out))
        pairs, unjudged = sum(counts.values()), counts.get(-1, 0)
        rejected = [counts.get(place, 0) + here for place, here in enumerate(candidates.rejected(), start=1)]
        steps = _steps(connection, ranked.pairs[PAIR])
        scope = listed(need, ranked, steps, pairs - unjudged, rejected)
        unlisted = _unlisted(need, scope, joined(candidates.pairs, out))
    fitting, borderline = (int(np.sum(candidates.codes == code)) for code in (a.HOLDS, a.BORDERLINE))
    return Finding(scope, tests, pairs - unjudged, unjudged, fitting, borderline, tuple(rejected), unlisted)


# --- what the database asks --------------------------------------------------------------------------------------


def _beyond(need: Mapping[str, Value]) -> Case[Any]:
    """Return which limit a pair is beyond: its place from 1, 0 where none that is asked here, -1 where none can be."""
    share = float(str(need["motor_count"])) / float(str(need["all_up_mass"]))
    most_thrust = group.c.full_thrust + func.coalesce(group.c.full_thrust_uncertainty, 0.0)
    asked: list[tuple[ColumnElement[bool], int]] = [(group.c.full_thrust.is_(None), -1)]
    if need["pack_cells"] is not None:
        asked.append((group.c.cells != need["pack_cells"], 1))
    if need["largest_propeller"] is not None:
        asked.append((group.c.diameter > need["largest_propeller"], 2))
    asked.append((most_thrust * share < need["wanted_ratio"], 3))
    if need["largest_motor_mass"] is not None:
        least = test.c.trimmed_mass - func.coalesce(test.c.trimmed_mass_uncertainty, 0.0)
        asked.append((least > need["largest_motor_mass"], _BY_DATABASE))
    return case(*((condition, literal(place, Integer)) for condition, place in asked), else_=0)


def _counts(connection: Connection, beyond: Case[Any]) -> dict[int, int]:
    """Return how many pairs there are by the limit that they are beyond."""
    query = select(beyond, func.count()).select_from(group.join(test, test.c.id == group.c.test)).group_by(beyond)
    return {int(place): int(count) for place, count in connection.execute(query)}


def _pairs(
    connection: Connection,
    condition: ColumnElement[bool],
    order: Sequence[ColumnElement[Any]] = (),
    most: int | None = None,
) -> dict[str, Array]:
    """Return kept figures of some pairs as columns of the table Pairs, arrays with one value a pair."""
    columns = {**_OF_GROUP, **_OF_TEST, "maker": test.c.maker, "model": test.c.model}
    query = (
        select(group.c.test, group.c.place, *columns.values())
        .join(test, test.c.id == group.c.test)
        .where(condition)
        .order_by(*order, group.c.test, group.c.place)
        .limit(most)
    )
    rows = np.array(fetched(connection, query), dtype=object).reshape(-1, 2 + len(columns)).T
    held: dict[str, Any] = dict(zip(columns, rows[2:], strict=True))
    held[PAIR] = _numbered(rows[0], rows[1])
    both = zip(held["maker"], held["model"], strict=True)
    held["motor"] = np.array([" ".join(part for part in named if part) for named in both], dtype=object)
    return {name: held[name].astype(object if each.is_text else float) for name, each in PAIRS.fields.items()}


def _tests_of(numbers: Array) -> Iterator[list[int]]:
    """Yield the tests of pairs by their numbers, as many at once as are asked for one by one."""
    tests = sorted({int(number) // _MOST_PLACES for number in numbers.tolist()})
    for first in range(0, len(tests), MOST_ASKED):
        yield tests[first : first + MOST_ASKED]


def _numbered(number: Any, place: Any) -> Any:
    """Return one number for a test and a propeller and cell count of it, or for each in arrays of them."""
    return number * _MOST_PLACES + place


def _steps(connection: Connection, pairs: Array) -> dict[str, Array]:
    """Return the steady steps that nothing doubts, of pairs by their numbers, as columns of the table Steps."""
    wanted = set(pairs.astype(int).tolist())
    kept = []
    for some in _tests_of(pairs):
        named = select(group.c.test, group.c.place, group.c.prop_key, group.c.cells).where(group.c.test.in_(some))
        number_of = {(test, *which): _numbered(test, place) for test, place, *which in connection.execute(named)}
        read = select(step.c.test, step.c.prop_key, step.c.cells, *_STEPS.values())
        read = read.where(step.c.test.in_(some), step.c.sweep_clean > 0).order_by(step.c.test, step.c.place)
        kept += [
            (number, 100.0 if throttle is None else throttle, *values)
            for *which, throttle, thrust, current, power in connection.execute(read)
            if (number := number_of.get(tuple(which))) in wanted and (values := (thrust, current, power))
        ]
    columns = zip(*kept, strict=True) if kept else [()] * len(STEPS.fields)
    return {name: np.array(held, dtype=float) for name, held in zip(STEPS.fields, columns, strict=True)}


# --- what is not listed ------------------------------------------------------------------------------------------


def _with_nearest(need: Mapping[str, Value], candidates: Judged, out: Mapping[str, Array]) -> Judged:
    """Add the nearest of those that were left out, so that there is something to look at, and to loosen the need for."""
    room = NEAREST - candidates.size
    if room <= 0:
        return candidates
    return judged(need, joined(candidates.pairs, taken(out, slice(room))))


def _unlisted(need: Mapping[str, Value], scope: Scope, pairs: Columns) -> tuple[Unlisted, ...]:
    """Name pairs that are not listed, out of all there are, with the first reason of each."""
    pairs = taken(pairs, np.flatnonzero(~np.isin(pairs[PAIR], scope.test.tables[PAIRS.name][PAIR]))[:MOST_NAMED])
    if not len(pairs[PAIR]):
        return ()
    said = scope_of(need, pairs, no_steps()).column(PAIRS.name, a.first_reason.name)
    reasons = ["fits, further behind" if reason in (None, "") else str(reason) for reason in said.tolist()]
    named = zip(pairs["motor"].tolist(), pairs["prop"].tolist(), pairs["cells"].tolist(), reasons, strict=True)
    return tuple(Unlisted(*each) for each in named)
