"""Pairs of motor and propeller judged for a need: which are listed, in which order, and how many each limit rejects."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from xlsengine.bench.advice import pair_answers as a
from xlsengine.bench.advice.pairs import PAIRS, STEPS, pair, step_pair
from xlsengine.bench.inputs.bench_test import Array, BenchTest, Value
from xlsengine.bench.inputs.need import NEED_FIELDS
from xlsengine.expression import Column
from xlsengine.study.evaluation import Declared, Scope

MOST_LISTED, MOST_RANKED = 200, 600
PAIR, STEP = pair.name, step_pair.name
OF_A_NEED = Declared({table.name: table for table in (PAIRS, STEPS)}, NEED_FIELDS, a.FOUND.quantities, a.FOUND.written)
Columns = Mapping[str, Array]


@dataclass(frozen=True)
class Judged:
    """Every candidate of a library, judged: `codes` and `limits` are its verdict and the first limit not held.

    Columns are arrays with one value a pair, in the order of `pairs`; limits count from 1, 0 where all hold.
    """

    pairs: Columns
    codes: Array
    limits: Array

    @property
    def size(self) -> int:
        """Return how many pairs there are."""
        return len(self.codes)

    def rejected(self) -> list[int]:
        """Return how many pairs each limit rejects first, in the order of the limits."""
        fails = self.limits[self.codes == a.FAILS]
        return [int(np.sum(fails == place)) for place in range(1, len(a.LIMITS) + 1)]


def need_values(given: Mapping[str, Value]) -> dict[str, Value]:
    """Return all fields of a need: those given, defaults for those that are not."""
    return {name: given.get(name, declared.default) for name, declared in NEED_FIELDS.items()}


def judged(need: Mapping[str, Value], pairs: Columns) -> Judged:
    """Judge pairs limit by limit; no limit asks for throttle steps."""
    scope = scope_of(need, pairs, no_steps())
    if not scope.test.rows(PAIRS.name):
        return Judged(pairs, np.array([]), np.array([]))
    return Judged(pairs, *(scope.column(PAIRS.name, column.name) for column in (a.verdict_code, a.first_limit)))


def no_steps() -> dict[str, Array]:
    """Return the columns of no steps."""
    return {name: np.array([]) for name in STEPS.fields}


def scope_of(
    need: Mapping[str, Value],
    pairs: Columns,
    steps: Columns,
    searched: int | None = None,
    rejected: Sequence[int] | None = None,
) -> Scope:
    """Return the values of a need and its pairs; `searched` and `rejected` are counts of the whole library.

    Columns are arrays with one value a row of the tables Pairs and Steps.
    """
    fields = need_values(need)
    written: dict[tuple[str, str], Any] = {("", a.searched.name): float(searched or 0)}
    for figure, count in zip(a.REJECTED_IN_ALL, rejected or [], strict=False):
        written["", figure.name] = float(count)
    for name, figure in a.AS_WRITTEN.items():
        value = fields[name]
        blank = None if figure.text else np.nan
        written["", figure.name] = blank if value is None else value
    tables = {PAIRS.name: dict(pairs), STEPS.name: dict(steps)}
    return Scope(BenchTest(fields, tables), written, known=OF_A_NEED)


def best_places(scope: Scope) -> Array:
    """Return the places of the pairs that are listed, from the first: by how they stand, how far short of the wanted thrust
    they are, then by what is sure of them.

    An array with one number a pair, counted from 0, at most `MOST_LISTED`.
    """
    return _sorted(scope, a.standing, a.nearness, a.merit_low)[:MOST_LISTED]


def to_rank(need: Mapping[str, Value], candidates: Judged) -> Judged:
    """Return the candidates that are worth ranking by their steps: at most `MOST_RANKED`.

    Those that fit come first; where they are enough, no others are taken, and of more than can be ranked those that stay
    in the air longest as estimated from full throttle.
    """
    for most in (a.HOLDS, a.BORDERLINE):
        places = np.flatnonzero(candidates.codes <= most)
        if len(places) >= MOST_LISTED:
            break
    else:
        places = np.arange(candidates.size)
    if len(places) > MOST_RANKED:
        scope = scope_of(need, taken(candidates.pairs, places), no_steps())
        places = places[_sorted(scope, a.standing, a.nearness, a.estimated_merit)[:MOST_RANKED]]
    return Judged(taken(candidates.pairs, places), candidates.codes[places], candidates.limits[places])


def listed(
    need: Mapping[str, Value],
    candidates: Judged,
    steps: Columns,
    searched: int | None = None,
    rejected: Sequence[int] | None = None,
) -> Scope:
    """Return the values of a need and of the pairs that are listed for it, in their order.

    Columns of `steps` are arrays with one value a step, of any pairs. `searched` and `rejected` count the whole library
    where it holds more than the candidates.
    """
    counts = searched or candidates.size, rejected or candidates.rejected()
    pairs = candidates.pairs
    pairs = taken(pairs, best_places(scope_of(need, pairs, steps)))
    pairs = taken(pairs, by_rank(scope_of(need, pairs, steps)))
    kept = np.isin(steps[STEP], pairs[PAIR])
    return scope_of(need, pairs, taken(steps, kept), *counts)


def by_rank(scope: Scope) -> Array:
    """Return the places of the pairs by their rank, those of one rank by what ranks, as shown: an array, from 0."""
    return _sorted(scope, a.order, a.merit)


def _sorted(scope: Scope, first: Column, *most: Column) -> Array:
    """Return the places of the pairs, the smallest of one column first, of equals those with most in the others."""
    then = [-np.nan_to_num(scope.column(PAIRS.name, column.name), nan=-1.0) for column in most]
    return np.lexsort((*then[::-1], scope.column(PAIRS.name, first.name)))[: scope.test.rows(PAIRS.name)]


def taken(columns: Columns, places: Any) -> dict[str, Array]:
    """Return some rows of columns, by their places: an array, a mask or a slice."""
    return {name: column[places] for name, column in columns.items()}
