"""Beside an ESC answer: the readings it passes over, or rests on in doubt, as a tester's mistakes leave them.

Three propellers on two cell counts, one peak each, as an invented park flyer would show them: 24.4 A is the most, on 3S.
What each mistake leaves is worked by hand; the size alone would not tell that anything is missing.
"""

from typing import Any

import pytest

from tests.bench.test_esc import judged
from xlsengine.bench.advice.unsettled import caveat
from xlsengine.bench.inputs.readings import READINGS
from xlsengine.expression import join
from xlsengine.study.assessment import Assessment

# propeller, inches, cells, volts, amps, grams
SESSION = (
    ("8x4", 8.0, 4.0, 2.0, 8.0, 5.2, 326.0),
    ("9x4.7", 9.0, 4.7, 2.0, 7.9, 8.6, 485.0),
    ("10x4.7", 10.0, 4.7, 2.0, 7.8, 12.7, 653.0),
    ("8x4", 8.0, 4.0, 3.0, 11.9, 10.5, 688.0),
    ("9x4.7", 9.0, 4.7, 3.0, 11.7, 17.0, 972.0),
    ("10x4.7", 10.0, 4.7, 3.0, 11.4, 24.4, 1267.0),
)
NAMES = ("prop", "diameter", "pitch", "cells", "voltage", "current", "thrust")
LAST = len(SESSION) - 1


def session(change: dict[str, Any] | None = None, at: int = LAST) -> list[dict[str, Any]]:
    rows = [dict(zip(NAMES, row, strict=True)) | {"kind": "peak"} for row in SESSION]
    rows[at] |= change or {}
    return rows


def assessed(change: dict[str, Any] | None = None, at: int = LAST, **fields: Any) -> Assessment:
    return judged(*session(change, at), **({"label_kv": 1000.0, "mass_as_supplied": 56.4} | fields))


def said(assessment: Assessment) -> str:
    return str(assessment.scope.any_value(caveat(lambda row, _: join("row ", row.fixed(0)))) or "")


def test_a_sound_session_says_nothing() -> None:
    assessment = assessed()
    assert assessment.figures()["esc_held_size"] == 35  # 24.4 · 1.037 / 0.80 = 31.6
    assert said(assessment) == ""


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"cells": 2.0}, "Not counted: 10x4.7 on 2S (row 6, impossible), 24.4 A as typed."),  # 5.7 V a cell
        ({"current": 2.44}, "Not counted: 10x4.7 on 3S (row 6, impossible), 2.44 A as typed."),
        ({"use": "no"}, "Not counted: 10x4.7 on 3S (row 6, left out by the tester), 24.4 A as typed."),
        ({"current": None}, "Not counted: 10x4.7 on 3S (row 6, cannot be read)."),
        ({"throttle": 60.0, "kind": "steady"}, "No full-throttle reading: 10x4.7 on 3S."),
    ],
)
def test_the_size_never_shrinks_in_silence(change: dict[str, Any], words: str) -> None:
    assessment = assessed(change)
    assert assessment.figures()["esc_held_size"] == 25  # 17.0 · 1.037 / 0.80 = 22.0
    assert said(assessment) == f"{words} The ESC may have to be larger or smaller: settle this before choosing."


def test_a_doubtful_current_that_its_thrust_speaks_against_is_named() -> None:
    """1,267 g at 14.4 A is 88 g/A; the fewest of the others is 51.4 g/A, which would be 24.6 A, above the 17.0 A counted."""
    assessment = assessed({"current": 14.4})
    assert assessment.figures()["esc_held_size"] == 25
    assert said(assessment).startswith("Counts, but doubtful: 10x4.7 on 3S (row 6), 14.4 A as typed.")


def test_a_reading_left_out_that_draws_less_than_what_counts_is_settled() -> None:
    """A repeat of 24.3 A beside the 24.4 A, then one of 30 A: 24.3 A is within what counts, 30 A is beyond its ±3.7 %."""
    again = session()[LAST] | {"use": "no"}
    less, more = (judged(*session(), again | {"current": amps}, label_kv=1000.0) for amps in (24.3, 30.0))
    assert said(less) == ""
    assert said(more).startswith("Not counted: 10x4.7 on 3S (row 7, left out by the tester), 30.0 A as typed.")


@pytest.mark.parametrize(
    ("craft", "told"),
    [
        ({"pack_cells": 3.0}, True),
        ({"pack_cells": 2.0}, False),
        ({"craft_propeller": "10x4.7"}, True),
        ({"craft_propeller": "8x4"}, False),
    ],
)
def test_only_what_could_be_flown_is_named(craft: dict[str, Any], told: bool) -> None:
    assert bool(said(assessed({"current": 2.44}, **craft))) == told


def test_wrong_cells_are_named_for_the_pack_they_may_belong_to() -> None:
    """The reading of 24.4 A says 2S and 5.7 V a cell: on a craft of 3S it may be the one that decides."""
    assert "24.4 A as typed" in said(assessed({"cells": 2.0}, pack_cells=3.0))
    again = judged(*session(), session({"cells": 2.0})[LAST], label_kv=1000.0, pack_cells=3.0)
    assert said(again) == ""  # its twin counts 24.4 A on 3S already


def test_the_largest_is_named_and_the_others_are_counted() -> None:
    rows = session({"use": "no"})
    rows[0]["use"] = "no"
    assert "10x4.7 on 3S (row 6, left out by the tester), 24.4 A as typed, and 1 more." in said(
        judged(*rows, label_kv=1000.0)
    )


@pytest.mark.parametrize(
    ("change", "column"), [({"current": 2.44}, "current"), ({"cells": 2.0}, "cells"), ({"use": "no"}, "current")]
)
def test_the_cell_that_is_doubted_is_named(change: dict[str, Any], column: str) -> None:
    """Left out by the tester no cell is to blame, and his amps are what the answer passes over."""
    place = 1.0 + list(READINGS.fields).index(column)
    named = assessed(change).scope.any_value(caveat(lambda row, where: join("row ", row.fixed(0), ":", where.fixed(0))))
    assert f"(row 6:{place:.0f}, " in str(named)


def test_grams_that_are_doubted_are_named_and_not_the_amps() -> None:
    """2,072 g typed where the twins say 1,772: the amps are right, and the cell of the grams is to be looked at."""
    steady = {"kind": "steady", "throttle": 100.0}
    rows = [dict(zip(NAMES, row, strict=True)) | steady for row in SESSION for _ in range(3)]
    rows[-1]["thrust"] = 1267.0 * 1.17
    scope = judged(*rows, label_kv=1000.0, mass_as_supplied=56.4).scope
    place = 1 + list(READINGS.fields).index("thrust")
    assert f"(18:{place})" in str(scope.any_value(caveat(lambda row, where: join(row.fixed(0), ":", where.fixed(0)))))
