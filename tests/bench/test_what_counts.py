"""What counts in the figures: blank is judged, “yes” counts whatever the checks say, “no” is left out."""

from typing import Any

import numpy as np
import pytest

from tests.bench.test_esc import judged, row
from xlsengine import bench_test
from xlsengine.bench.judging import judgements
from xlsengine.expression import Node
from xlsengine.study.assessment import Assessment, assess
from xlsengine.study.evaluation import Scope

IMPOSSIBLE = {"thrust": 8870.0}
"""At 14.8 V and 30 A a six-inch propeller that lost nothing would hold 1,980 g (momentum theory, 1.225 kg/m³)."""


def column(assessment: Assessment, table: str, name: str, rows: int = 1) -> list[Any]:
    found: list[Any] = assessment.scope.column(table, name)[:rows].tolist()
    return found


def headline(assessment: Assessment, label: str) -> dict[str, Any]:
    (line,) = (line for line in assessment.headlines() if line["label"].startswith(label))
    return line


SOUND = row("steady", 30.0)
GRAMS = SOUND["thrust"]


@pytest.mark.parametrize(("use", "counts"), [(None, 0.0), ("yes", 1.0), ("no", 0.0)])
def test_an_impossible_reading_counts_only_where_use_says_yes(use: str | None, counts: float) -> None:
    odd = SOUND | IMPOSSIBLE | {"prop": "6x4 odd", "use": use}
    assessment = judged(SOUND, odd)
    assert [standing > 0 for standing in column(assessment, "Readings", "standing", 2)] == [True, counts == 1]
    assert headline(assessment, "Highest static thrust")["value"] == (8870.0 if counts else GRAMS)
    assert headline(assessment, "Highest thrust to motor weight")["value"] == pytest.approx(
        (8870.0 if counts else GRAMS) / 36.0
    )
    assert assessment.figures()["esc_uncovered"] == (
        None if counts else "No size for 6x4 odd on 4S: its reading is left out."
    )


def test_it_takes_no_part_in_a_mean_beside_one_that_counts() -> None:
    assessment = judged(SOUND, SOUND | IMPOSSIBLE)
    assert column(assessment, "Summary", "full_thrust") == [GRAMS]
    assert column(assessment, "Summary", "full_count") == [1.0]
    assert column(assessment, "Summary", "full_grams_per_watt") == pytest.approx([GRAMS / (14.8 * 30.0)])


def test_the_figure_it_would_give_stands_beside() -> None:
    """Twice the figure and more is a slip that nobody takes for true, and is told among the readings left out."""
    line = headline(judged(SOUND, SOUND | {"thrust": 1700.0, "prop": "6x4 odd", "use": "no"}), "Highest static thrust")
    assert line["value"] == GRAMS
    assert line["note"] == "Counting what is left out: 1,700 g, 6x4 odd on 4S."
    less = headline(judged(SOUND, SOUND | {"thrust": 700.0, "use": "no"}), "Highest static thrust")
    assert (less["value"], less["note"]) == (GRAMS, None)  # the mean with it would be less
    slip = headline(judged(SOUND, SOUND | IMPOSSIBLE | {"prop": "6x4 odd"}), "Highest static thrust")
    assert (slip["value"], slip["note"]) == (GRAMS, None)
    assert headline(judged(SOUND), "Highest static thrust")["note"] is None


def test_how_many_are_left_out_and_why() -> None:
    figures = judged(SOUND, SOUND | IMPOSSIBLE, SOUND | {"use": "no"}, SOUND | {"current": 31.0}).figures()
    names = ("typed_readings", "left_out_count", "left_out_impossible", "left_out_by_tester", "left_out_unreadable")
    assert [figures[name] for name in names] == [4.0, 2.0, 1.0, 1.0, 0.0]


# --- a judgement holds while its reading stands ------------------------------------------------------------------


def slipped() -> list[dict[str, Any]]:
    """Return a session of which the fifth current has a slipped digit, which only the other rows can tell."""
    currents = (22.0, 25.0, 28.0, 31.0, 34.0, 37.0, 40.0, 43.0)
    rows = [
        row("steady", amps, prop=f"6x{3 + n / 4:g}", pitch=3 + n / 4, run=float(n + 1))
        for n, amps in enumerate(currents)
    ]
    rows[4]["thrust"] = round(rows[4]["thrust"] * 10)
    return rows


def after(assessment: Assessment, rows: list[dict[str, Any]]) -> Scope:
    """Return the values of other rows with what was written for the assessed ones, as a spreadsheet program has them."""
    return Scope(judged(*rows).test, dict(assessment.scope.written))


def held(scope: Scope, node: Node = judgements.severity) -> list[Any]:
    found: list[Any] = scope.any_value(node)[:8].tolist()
    return found


def test_a_judgement_moves_with_its_reading() -> None:
    written = judged(*slipped())
    assert held(written.scope) == [0, 0, 0, 0, 3, 0, 0, 0]
    moved = slipped()
    moved.insert(0, moved.pop(4))
    assert held(after(written, moved)) == [3, 0, 0, 0, 0, 0, 0, 0]
    assert str(held(after(written, moved), judgements.flags)[0]).startswith("Decimal slip in thrust")


def test_a_corrected_reading_counts_at_once_and_loses_its_mark() -> None:
    written, fixed = judged(*slipped()), slipped()
    fixed[4]["thrust"] = fixed[4]["thrust"] / 10
    scope = after(written, fixed)
    assert held(scope)[4] == 0
    assert not held(scope, judgements.flags)[4]
    assert scope.column("Readings", "standing")[4] > 0
    assert scope.column("Readings", "entry_severity")[4] == 0
    assert scope.column("Summary", "full_thrust")[4] == fixed[4]["thrust"]


USED: dict[str, Any] = {"voltage": 14.9, "current": 34.1, "prop": "6x4 B", "diameter": 6.1, "pitch": 4.1, "blades": 3.0}
USED |= {"cells": 3.0, "throttle": 100.0, "kind": "peak", "speed": 20000.0}
UNUSED = {"note": "looked at", "run": 99.0, "motor_temperature": 40.0, "torque": 0.1}


def test_any_value_it_used_lifts_it_and_nothing_else_does() -> None:
    written = judged(*slipped())
    for name, value in {**USED, **UNUSED}.items():
        rows = slipped()
        rows[4][name] = value
        assert held(after(written, rows))[4] == (0 if name in USED else 3), name


def test_two_corrections_do_not_cancel() -> None:
    """Every pair of small changes of volts and amps gives another text: none is taken for the reading as judged."""
    judged_row = slipped()[4]
    changed = [
        judged_row | {"voltage": 14.8 + volts, "current": 34.0 + amps}
        for volts in np.arange(-20, 21) / 100
        for amps in np.arange(-20, 21) / 10
    ]
    column = Scope(bench_test({}, {"Readings": changed})).column("Readings", "row_print")
    prints = set(column[: len(changed)].tolist())
    assert len(prints) == 41 * 41
    written = after(judged(*slipped()), slipped()).column("Readings", "row_print")[4]
    assert written in prints


# --- the thrusts compared ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("grams", "compared", "round_thrusts"),
    [
        (34.0, 10, (5, 10, 15, 20, 30)),
        (1318.0, 300, (100, 150, 200, 300, 500, 750, 1000)[1:]),
        (1963.0, 500, (200, 300, 500, 750, 1000, 1500)),
        (9000.0, 3000, (750, 1000, 1500, 2000, 3000, 5000, 7500)[1:]),
    ],
)
def test_thrusts_compared_follow_the_motor(grams: float, compared: float, round_thrusts: tuple[float, ...]) -> None:
    figures = judged(row("peak", 30.0, thrust=grams, diameter=12.0, use="yes")).figures()
    assert figures["compared_thrust"] == compared
    found = [figures[f"round_thrust_{place}"] for place in range(1, 7)]
    assert [each for each in found if each is not None] == list(round_thrusts)
    assert judged(row("peak", 30.0), headline_thrust=450.0).figures()["compared_thrust"] == 450.0


def test_a_headline_at_equal_thrust_says_of_how_many_it_is_the_best() -> None:
    steps = [row("steady", amps, throttle=step) for amps, step in ((30.0, 100.0), (12.0, 60.0))]
    near = [step | {"prop": prop} for prop in ("6x4 A", "6x4 B") for step in steps]
    far = [row("steady", 2.0, prop="3x2", diameter=3.0, thrust=90.0)]
    assessment = judged(*near, *far, headline_thrust=700.0)
    said = headline(assessment, "Best efficiency at 700 g")["note"]
    assert said == "Best of the 2 (of 3) propellers and cell counts read near it."


# --- peaks only ---------------------------------------------------------------------------------------------------


def test_a_session_of_peaks_has_every_figure() -> None:
    assessment = judged(row("peak", 30.0, thrust=900.0), row("peak", 41.0, prop="6x5", thrust=1100.0))
    assert column(assessment, "Summary", "summary_kind", 2) == ["peak", "peak"]
    assert column(assessment, "Summary", "full_grams_per_watt") == pytest.approx([900 / (14.8 * 30)])
    assert column(assessment, "Summary", "full_grams_per_amp") == [30.0]
    assert column(assessment, "Summary", "full_power") == pytest.approx([444.0])
    line = headline(assessment, "Best efficiency at full throttle")
    assert (line["shown"], line["place"]) == ("2.03 g/W", "6x4 on 4S, peak")


def test_steady_where_there_is_one_and_the_kind_is_said() -> None:
    assessment = judged(
        row("steady", 30.0, thrust=900.0), row("peak", 33.0, thrust=990.0), row("peak", 20.0, prop="6x3")
    )
    assert column(assessment, "Summary", "summary_kind", 2) == ["steady", "peak"]
    assert column(assessment, "Summary", "full_thrust") == [900.0]
    assert column(assessment, "Summary", "static_current") == [33.0]
    assert headline(assessment, "Highest static thrust")["place"] == "6x4 on 4S, steady (peak 990 g)"
    assert headline(assessment, "Highest static current")["place"] == "6x4 on 4S, peak"
    said = str(assess(assessment.test).figures()["thrust_apart"])
    assert said.startswith("Highest thrust on 4S: 6x4 (steady)")
    assert "6x3 (peak)" in said
