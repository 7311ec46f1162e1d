"""Which motor and propeller of a library fits a need: every pair is judged by `bench/advice/pair_answers.py`, from kept
figures alone; the readings below full throttle are fetched for those that are worth ranking.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from sqlalchemy import BigInteger, Connection, cast, func, select

from xlsengine.bench.advice import pair_answers as a
from xlsengine.bench.advice import pairs as p
from xlsengine.bench.advice.pairs import OF_THE_BENCH, PAIRS, STEPS
from xlsengine.bench.advice.suitability import ESTIMATE
from xlsengine.bench.inputs.bench_test import Array, Value
from xlsengine.errors import LibraryError
from xlsengine.expression import Column
from xlsengine.library.opening import telling
from xlsengine.library.store import Library, fetched
from xlsengine.library.tables import group, step, test
from xlsengine.study.evaluation import Scope
from xlsengine.study.need_pairs import PAIR, Columns, judged, listed, no_steps, scope_of, taken, to_rank
from xlsengine.text_operations import fixed_text

MOST_NAMED = 1000
"""Pairs that are not listed and named with their first reason; more are counted."""
_PLACES = 100_000
_PAIR = cast(group.c.test, BigInteger) * _PLACES + group.c.place
"""The number of a pair: of its test, and of its propeller and cell count there."""
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


def find(need: Mapping[str, Value], library: Library) -> Finding:
    """Return the pairs of a library for a need.

    Raises `LibraryError` as `Library` does, and where no pair can be judged.
    """
    with telling(library.place), library.engine.connect() as connection:
        tests = connection.execute(select(func.count()).select_from(test)).scalar_one()
        every = judged(need, _pairs(connection))
        if not every.size:
            raise LibraryError(_nothing_to_judge(library.shown, tests))
        ranked = to_rank(need, every)
        scope = listed(need, ranked, _steps(connection, ranked.pairs[PAIR]), every.size, every.rejected())
        blank = select(func.count()).select_from(group).where(group.c.full_thrust.is_(None))
        unjudged = connection.execute(blank).scalar_one()
    fitting, borderline = (int(np.sum(every.codes == code)) for code in (a.HOLDS, a.BORDERLINE))
    named = _unlisted(need, scope, every.pairs)
    return Finding(scope, tests, every.size, unjudged, fitting, borderline, tuple(every.rejected()), named)


def _nothing_to_judge(library: str, tests: int) -> str:
    if not tests:
        return f"{library} holds no tests yet; add some with xlsengine library add FOLDER --library LIB"
    return (
        f"{library} holds {tests} tests and no reading at full throttle that counts, so that no pair can be judged; "
        "xlsengine check says what stands against their readings"
    )


def _pairs(connection: Connection) -> dict[str, Array]:
    """Return the kept figures of the pairs that can be judged, as columns of the table Pairs with one value a pair."""
    columns = {**_OF_GROUP, **_OF_TEST, "maker": test.c.maker, "model": test.c.model}
    query = (
        select(_PAIR, *columns.values())
        .join(test, test.c.id == group.c.test)
        .where(group.c.full_thrust.is_not(None))
        .order_by(group.c.test, group.c.place)
    )
    rows = np.array(fetched(connection, query), dtype=object).reshape(-1, 1 + len(columns)).T
    held: dict[str, Any] = dict(zip((PAIR, *columns), rows, strict=True))
    both = zip(held["maker"], held["model"], held["test"], strict=True)
    held["motor"] = np.array([_motor(*named) for named in both], dtype=object)
    return {name: held[name].astype(object if each.is_text else float) for name, each in PAIRS.fields.items()}


def _motor(maker: str | None, model: str | None, test_id: str | None) -> str:
    """Name a motor by maker and model, or, where its test has neither, by the test."""
    return " ".join(part for part in (maker, model) if part) or f"motor of {test_id or 'a test without a name'}"


def _steps(connection: Connection, pairs: Array) -> dict[str, Array]:
    """Return the steady steps that nothing doubts of the tests of some pairs, as columns of the table Steps."""
    tests = set((pairs.astype(int) // _PLACES).tolist())
    groups = select(_PAIR, group.c.test, group.c.prop_key, group.c.cells).where(group.c.test.in_(tests))
    number_of = {tuple(which): number for number, *which in fetched(connection, groups)}
    query = (
        select(step.c.test, step.c.prop_key, step.c.cells, func.coalesce(step.c.throttle, 100.0))
        .add_columns(step.c.sweep_clean, step.c.current, step.c.power)
        .where(step.c.test.in_(tests), step.c.sweep_clean > 0)
        .order_by(step.c.test, step.c.place)
    )
    rows = [(number_of[tuple(row[:3])], *row[3:]) for row in fetched(connection, query)]
    columns = np.array(rows, dtype=float).reshape(-1, len(STEPS.fields)).T
    return dict(zip(STEPS.fields, columns, strict=True))


def _unlisted(need: Mapping[str, Value], scope: Scope, pairs: Columns) -> tuple[Unlisted, ...]:
    """Name pairs that are not listed, out of all there are, with the first reason of each."""
    pairs = taken(pairs, np.flatnonzero(~np.isin(pairs[PAIR], scope.test.tables[PAIRS.name][PAIR]))[:MOST_NAMED])
    if not len(pairs[PAIR]):
        return ()
    said = scope_of(need, pairs, no_steps()).column(PAIRS.name, a.first_reason.name)
    reasons = ["fits, further behind" if reason in (None, "") else str(reason) for reason in said.tolist()]
    named = zip(pairs["motor"].tolist(), pairs["prop"].tolist(), pairs["cells"].tolist(), reasons, strict=True)
    return tuple(Unlisted(*each) for each in named)


# --- what is told of the first pairs -----------------------------------------------------------------------------


class _Figure(NamedTuple):
    """What is shown of a pair: how it is headed, the figure, its ±, decimals and unit."""

    head: str
    column: Column
    doubt: Column | None
    decimals: int
    unit: str


_RATIO = _Figure("Thrust to weight at bench volts", a.ratio, a.ratio_doubt, 2, " : 1")
_HOVERING = (
    _RATIO,
    _Figure("Hover time", a.minutes, a.minutes_doubt, 1, " min"),
    _Figure("Hover current", a.hover_current, a.hover_current_doubt, 1, " A"),
    _Figure("Hover throttle", a.hover_throttle, None, 0, " %"),
)
_ON_A_WING = (
    _RATIO,
    _Figure("Thrust per power, full throttle", p.grams_per_watt, p.grams_per_watt_doubt, 2, " g/W"),
    _Figure("In flight, at most (estimate)", a.flight_high, None, 0, " A"),
    _Figure("Motor mass", p.motor_mass, p.mass_doubt, 1, " g"),
)


def first_pairs(finding: Finding, most: int) -> tuple[list[str], list[list[str]]]:
    """Return the first pairs as texts under their heads: verdict, motor, propeller, figures with their ±, first reason."""

    def column(of: Column) -> list[Any]:
        return list(finding.scope.column(of.table, of.name).tolist()[:most])

    def shown(figure: _Figure) -> list[str]:
        values = column(figure.column)
        doubts = [math.nan] * len(values) if figure.doubt is None else column(figure.doubt)
        by_hover = figure.column in (a.minutes, a.hover_current)
        bases = column(a.hover_basis) if by_hover else [""] * len(values)
        return [
            _shown(figure, value, doubt) + f" ({basis})" * (str(basis).endswith(ESTIMATE) and value == value)
            for value, doubt, basis in zip(values, doubts, bases, strict=True)
        ]

    figures = _HOVERING if finding.hovers else _ON_A_WING
    pairs = [f"{prop} on {cells:.0f}S" for prop, cells in zip(column(p.prop), column(p.cells), strict=True)]
    columns = (column(a.verdict), column(p.motor), pairs, *map(shown, figures), column(a.first_reason))
    heads = ["Verdict", "Motor", "Propeller", *(figure.head for figure in figures), "First reason"]
    return heads, [list(row) for row in zip(*columns, strict=True)]


def _shown(figure: _Figure, value: float, doubt: float) -> str:
    if value != value:
        return "–"
    sure = f" ± {fixed_text(doubt, figure.decimals)}" if doubt == doubt else ""
    return f"{fixed_text(value, figure.decimals)}{sure}{figure.unit}"
