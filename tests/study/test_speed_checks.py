"""Speeds in another unit, or by a wrong count of poles: told in one line with one factor, and nobody else is blamed.

The factors are what the units are: pole pairs of 14 magnets, thousands, hundreds, turns a second (60 in a minute).
"""

from typing import Any

import numpy as np
import pytest

from tests.study.planted_benches import Bench, bench
from xlsengine import evaluate
from xlsengine.bench.checks.row_checks import Severity
from xlsengine.study.evaluation import Scope
from xlsengine.study.flags import Flag
from xlsengine.study.group_checks import group_checks

FACTORS = {7.0: "electrical (eRPM)", 1e-3: "in thousands", 1e-2: "in hundreds", 1 / 60: "in turns a second"}
Row = dict[str, Any]


def _planted(made: Bench, at: list[int], factor: float) -> list[Row]:
    rows: list[Row] = [dict(row) for row in made.rows]
    for place in at:
        rows[place]["speed"] = float(f"{rows[place]['speed'] * factor:.5g}")
    return rows


def _parts(made: Bench) -> dict[str, list[int]]:
    """Return all rows, those of a cell count, of a propeller on it, and the first at full throttle alone."""
    rows: list[Any] = [*made.rows]
    first = next(at for at, row in enumerate(rows) if row["throttle"] == 100)
    cells = [at for at, row in enumerate(rows) if row["cells"] == rows[first]["cells"]]
    own = [at for at in cells if rows[at]["prop"] == rows[first]["prop"]]
    return {"all": [*range(len(rows))], "a cell count": cells, "a propeller on it": own, "one": [first]}


def _doubts(made: Bench, rows: list[Row]) -> list[Flag]:
    fields = {"poles": 14.0, **made.fields}
    test = made.test(rows)
    flags = group_checks(Scope(type(test)({**test.fields, **fields}, test.tables)))
    return [flag for flag in flags if flag.severity >= Severity.DOUBTFUL]


@pytest.mark.parametrize("factor", FACTORS)
@pytest.mark.parametrize("part", ["all", "a cell count", "a propeller on it", "one"])
def test_one_factor_is_told_of_just_its_rows(part: str, factor: float) -> None:
    for seed in range(8):
        made = bench(seed)
        at = _parts(made)[part]
        sound = {flag.row for flag in _doubts(made, [dict(row) for row in made.rows])}
        found = [flag for flag in _doubts(made, _planted(made, at, factor)) if flag.row not in sound]
        assert {flag.row - 1 for flag in found} == set(at), (seed, part)
        assert len({(flag.title, flag.fix) for flag in found}) == 1
        assert found[0].title.split(" perhaps ")[1] == FACTORS[factor]
        assert {flag.column for flag in found} == {"speed"}


def test_sound_speeds_are_left_alone() -> None:
    for seed in range(30):
        made = bench(seed)
        assert not [flag for flag in _doubts(made, [*made.rows]) if "perhaps" in flag.title and flag.column == "speed"]


def test_twelve_magnets_set_for_fourteen_make_all_speeds_too_high() -> None:
    made = bench(0)
    rows = _planted(made, [*range(len(made.rows))], 7 / 6)
    told = {flag.fix for flag in _doubts(made, rows) if "12 magnets" in flag.title}
    assert len(told) <= 1
    assert all("six sevenths" in fix for fix in told)


def test_thrust_and_amps_stay_sound_beside_a_wrong_speed() -> None:
    """The highest thrust without what is flagged is what was read: no figure but those of speed knows of it."""
    made = bench(0)
    rows = _planted(made, _parts(made)["all"], 1e-2)
    before, after = (evaluate(made.test(each)).headlines() for each in ([*made.rows], rows))
    for was, now in zip(before, after, strict=True):
        assert (now["shown"], now["note"]) == (was["shown"], was["note"])
    assert np.isfinite(after[0]["value"])
