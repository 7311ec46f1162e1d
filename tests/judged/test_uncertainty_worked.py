"""What stands behind “±”, worked by the GUM (JCGM 100:2008): products of powers, limits as half-widths over √3.

A figure that is a product of powers of its readings has a relative variance of the sum of (power · u)² (5.1.6); the
degrees of freedom follow by Welch-Satterthwaite (G.4.1), and the factor is Student's t at 95 %.
"""

import math
from pathlib import Path

import pytest
from scipy.stats import t as student

from tests.judged import labels
from tests.judged.test_whole_reading import AT_SPEED, READ, SPIN, WINDING, reading_with_torque
from tests.judged.workbook_by_labels import Listed, Workbook, format_of, written
from tests.judged.worked_benches import CRAFT, SESSION, Row, assessed, column, first, ideal_power
from xlsengine import Assessment

LIMITS = {
    # ± of the defaults on Settings, as shares: thrust 0.5 % of the largest read, air not read 8 %, a scale of 0.2 g
    "thrust": 0.005,
    "voltage": 0.005,
    "current": 0.015,
    "speed": 0.002,
    "torque": 0.02,
    "diameter": 0.005,
    "density": 0.08,
    "mass": 0.2 / 32.0,
}
SCATTER, FREEDOM = 0.015, 8
POWERS: dict[str, dict[str, float]] = {
    "power": {"voltage": 1, "current": 1},
    "grams_per_watt": {"thrust": 1, "voltage": -1, "current": -1},
    "grams_per_amp": {"thrust": 1, "current": -1},
    "cell_voltage": {"voltage": 1},
    "hover_efficiency": {"thrust": 1.5, "diameter": -1, "density": -0.5, "voltage": -1, "current": -1},
    "speed_ratio": {"speed": 1, "voltage": -1},
    "electrical_speed": {"speed": 1},
    "tip_mach": {"speed": 1, "diameter": 1},
    "tip_speed": {"speed": 1, "diameter": 1},
    "pitch_speed": {"speed": 1},
    "thrust_coefficient": {"thrust": 1, "density": -1, "speed": -2, "diameter": -4},
    "shaft_power": {"torque": 1, "speed": 1},
    "power_coefficient": {"torque": 1, "density": -1, "speed": -2, "diameter": -5},
    "figure_of_merit": {"thrust": 1.5, "diameter": -1, "density": -0.5, "torque": -1, "speed": -1},
    "motor_efficiency": {"torque": 1, "speed": 1, "voltage": -1, "current": -1},
    "ideal_power": {"thrust": 1.5, "diameter": -1, "density": -0.5},
}
SCATTERED = {"thrust", "current", "torque"}
"""Readings that scatter at equal volts: a figure of any of them has the default scatter, once."""


def relative(powers: dict[str, float], limits: dict[str, float], readings: int = 1) -> tuple[float, float]:
    """Return relative standard uncertainty and degrees of freedom of a figure of so many readings' means."""
    meters = math.sqrt(sum((power * limits[name]) ** 2 for name, power in powers.items()) / 3)
    scatter = SCATTER / math.sqrt(readings) if SCATTERED & set(powers) else 0.0
    u = math.hypot(meters, scatter)
    return u, min(u**4 / (scatter**4 / FREEDOM), 10_000) if scatter else 10_000


def margin(powers: dict[str, float], limits: dict[str, float], readings: int = 1) -> float:
    """Return the expanded relative uncertainty of a figure of so many readings' means."""
    u, freedom = relative(powers, limits, readings)
    return u * float(student.ppf(0.975, math.floor(freedom)))


def without_stand(powers: dict[str, float], limits: dict[str, float]) -> tuple[float, float]:
    """Return share and degrees of freedom of a figure: all but the thrust stand's part."""
    return relative(powers, limits | {"thrust": 0.0})


NAMED = {"voltage_accuracy": 0.5}
"""As large as it is taken for where it is not named; with it, the sheet is written."""


@pytest.fixture(scope="module")
def whole() -> Assessment:
    return assessed([reading_with_torque()], NAMED, FreeSpins=[SPIN], WindingResistances=[WINDING])


@pytest.fixture(scope="module")
def workbook(whole: Assessment, tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    return written(whole, tmp_path_factory.mktemp("judged") / "sure.xlsx")


@pytest.mark.parametrize("name", POWERS)
def test_line_of_a_figure_by_its_label(workbook: Workbook, name: str) -> None:
    """The only reading has the highest thrust, 900 g, of which the stand's limit is 0.5 %."""
    lines = {row["figure"].value: row for row in workbook.rows(labels.SINGLE_READING)}
    line = lines[labels.SINGLE_LINES[name]]
    share, freedom = without_stand(POWERS[name], LIMITS)
    assert line["share"].value == pytest.approx(share, rel=1e-4)
    assert line["power"].value == POWERS[name].get("thrust", 0)
    assert line["freedom"].value == pytest.approx(freedom, rel=1e-4)
    assert line["factor"].value == pytest.approx(float(student.ppf(0.975, math.floor(freedom))), rel=1e-4)
    assert line["expanded"].value == pytest.approx(margin(POWERS[name], LIMITS), rel=1e-4)
    assert (line["share"].number_format, line["expanded"].number_format) == ("0.00%", "0.00%")


ROW_MARGINS = ("thrust_coefficient", "power_coefficient", "figure_of_merit", "motor_efficiency", "hover_efficiency")


@pytest.mark.parametrize("name", ROW_MARGINS)
def test_margin_beside_its_figure(workbook: Workbook, name: str) -> None:
    cell = workbook.rows(labels.ROW_MARGINS)[0][name]
    assert cell.value == pytest.approx((READ | AT_SPEED)[name][0] * margin(POWERS[name], LIMITS), rel=1e-4)
    assert cell.number_format == labels.ROW_MARGINS.shown(name)


def test_the_stand_weighs_more_at_little_thrust() -> None:
    """Half the thrust: twice the stand's share, with 900 g still the largest thrust that counts."""
    half = reading_with_torque() | {"run": 2.0, "thrust": 450.0, "throttle": 60.0}
    found = assessed([reading_with_torque(), half], FreeSpins=[SPIN], WindingResistances=[WINDING])
    for row, stand in enumerate((0.005, 0.01)):
        value = column(found, "SpeedFigures", "thrust_coefficient")[row]
        worked = value * margin(POWERS["thrust_coefficient"], LIMITS | {"thrust": stand})
        assert column(found, "SpeedFigures", "thrust_coefficient_margin")[row] == pytest.approx(worked, rel=1e-4)


ZEROS = [{"check_weight": 0.0, "check_reading": reading} for reading in (0.0, 2.7)]


@pytest.mark.parametrize(
    ("more", "largest"),
    [({"thrust": 5200.0}, 900.0), ({"thrust": 5200.0, "use": "yes"}, 5200.0), ({"thrust": 910.0, "use": "no"}, 900.0)],
    ids=["impossible", "counted all the same", "left out"],
)
def test_a_reading_left_out_does_not_widen_the_margin(more: dict[str, object], largest: float) -> None:
    """By hand: 0.5 % of 900 g are 4.5 g, of 5,200 g 26 g; a zero 2.7 g off is 0.3 % of 900 g, 0.052 % of 5,200 g."""
    other = reading_with_torque() | {"run": 2.0} | more
    figures = assessed([reading_with_torque(), other], FreeSpins=[SPIN], CheckWeights=ZEROS).figures()
    assert figures["taken_thrust_accuracy"] == pytest.approx({900.0: 4.5, 5200.0: 26.0}[largest])
    assert figures["zero_share"] == pytest.approx({900.0: 0.3, 5200.0: 0.0519}[largest], rel=1e-3)


def test_no_margin_of_thrust_where_no_thrust_counts() -> None:
    figures = assessed([reading_with_torque() | {"use": "no"}], FreeSpins=[SPIN]).figures()
    assert figures["taken_thrust_accuracy"] is None


STATED = {
    "thrust_accuracy": 4.5,
    "voltage_accuracy": 0.3,
    "current_accuracy": 0.8,
    "speed_accuracy": 0.1,
    "air_temperature": 15.0,
    "air_pressure": 1013.25,
}


@pytest.mark.parametrize("name", ["power", "grams_per_watt", "hover_efficiency", "thrust_coefficient", "speed_ratio"])
def test_what_bench_states_goes_before_the_defaults(name: str) -> None:
    found = assessed([reading_with_torque()], STATED, FreeSpins=[SPIN])
    limits = LIMITS | {"thrust": 4.5 / 900, "voltage": 0.003, "current": 0.008, "speed": 0.001, "density": 0.005}
    share, freedom = without_stand(POWERS[name], limits)
    assert found.figures()[f"single_{name}_share"] == pytest.approx(share, rel=1e-4)
    assert found.figures()[f"single_{name}_freedom"] == pytest.approx(freedom, rel=1e-4)
    assert found.figures()["taken_thrust_accuracy"] == 4.5
    assert found.figures()["accuracies_basis"] == "all from Bench"


def test_level_of_confidence(tmp_path: Path) -> None:
    """At 90 % the factor of power is t(0.95, 15): ν = u⁴/(s⁴/8) is 15.0 and more."""
    workbook = written(assessed([reading_with_torque()], NAMED | {"coverage": 90.0}), tmp_path / "less sure.xlsx")
    u = math.sqrt((0.005**2 + 0.015**2) / 3 + SCATTER**2)
    factor = float(student.ppf(0.95, math.floor(u**4 / (SCATTER**4 / FREEDOM))))
    (line,) = (row for row in workbook.rows(labels.SINGLE_READING) if row["figure"].value == "Power")
    assert line["factor"].value == pytest.approx(factor, rel=1e-4)
    assert line["expanded"].value == pytest.approx(u * factor, rel=1e-4)


# --- means of a session --------------------------------------------------------------------------------------------

MEAN_POWER = 14.7 * 37.0  # of the means
OF_MEANS: dict[str, tuple[float, dict[str, float]]] = {
    "sure_thrust": (1420.0, {"thrust": 1}),
    "sure_current": (37.0, {"current": 1}),
    "sure_power": (MEAN_POWER, {"voltage": 1, "current": 1}),
    "sure_thrust_per_power": (1420 / MEAN_POWER, {"thrust": 1, "voltage": -1, "current": -1}),
    "sure_thrust_per_current": (1420 / 37, {"thrust": 1, "current": -1}),
    "sure_hover_efficiency": (ideal_power(1420, 6.0) / MEAN_POWER, POWERS["hover_efficiency"]),
}
SESSION_LIMITS = LIMITS | {"thrust": 0.005 * 1540 / 1420}  # of the largest thrust, 1540 g: 7.7 g


@pytest.fixture(scope="module")
def session() -> Assessment:
    return assessed(SESSION, CRAFT)


@pytest.fixture(scope="module")
def session_workbook(session: Assessment, tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    return written(session, tmp_path_factory.mktemp("judged") / "sure session.xlsx")


@pytest.mark.parametrize("name", OF_MEANS)
def test_means_and_their_margins(session: Assessment, name: str) -> None:
    value, powers = OF_MEANS[name]
    assert first(session, "Uncertainties", name) == pytest.approx(value)
    worked = value * margin(powers, SESSION_LIMITS, readings=2)
    assert first(session, "Uncertainties", f"{name}_expanded") == pytest.approx(worked, rel=1e-4)


@pytest.mark.parametrize("name", OF_MEANS)
def test_means_and_their_margins_by_label(session_workbook: Workbook, name: str) -> None:
    listed: Listed = labels.UNCERTAINTIES
    (row,) = session_workbook.rows(listed)[:1]
    value, powers = OF_MEANS[name]
    assert row[name].value == pytest.approx(value)
    assert row[f"{name}_expanded"].value == pytest.approx(value * margin(powers, SESSION_LIMITS, 2), rel=1e-4)
    for each in (name, f"{name}_expanded"):
        assert row[each].number_format == format_of(listed.headers[each][1])


def test_the_budget_of_thrust_per_power(session_workbook: Workbook) -> None:
    """Thrust stand, voltmeter and ammeter as half-widths over √3, and the scatter of two readings."""
    y = 1420 / MEAN_POWER
    parts = {
        "Thrust stand": y * 7.7 / 1420 / math.sqrt(3),
        "Voltmeter": -y * 0.005 / math.sqrt(3),
        "Ammeter": -y * 0.015 / math.sqrt(3),
        "Scatter of the readings": y * SCATTER / math.sqrt(2),
    }
    whole = sum(part**2 for part in parts.values())
    rows = {row["source"].value: row for row in session_workbook.rows(labels.BUDGET)}
    for source, part in parts.items():
        assert rows[source]["part"].value == pytest.approx(part, rel=1e-3), source
        assert rows[source]["share"].value == pytest.approx(100 * part**2 / whole, rel=1e-3)
    assert rows["Voltmeter"]["size"].value == "0.29 %"
    assert rows["Thrust stand"]["size"].value == "4.45 g"
    assert rows["Scatter of the readings"]["freedom"].value == "8"
    assert rows["Ammeter"]["freedom"].value == "infinite"


UNITS = {
    "thrust": "g",
    "current": "A",
    "power": "W",
    "thrust per power": "g/W",
    "thrust per current": "g/A",
    "overall static efficiency": None,
}


@pytest.mark.parametrize("figure", UNITS)
def test_any_figure_may_be_chosen_for_the_budget(figure: str) -> None:
    value, powers = OF_MEANS["sure_" + figure.replace("overall static", "hover").replace(" ", "_")]
    figures = assessed(SESSION, {"budget_figure": figure}).figures()
    assert figures["budget_value"] == pytest.approx(value)
    assert (figures["budget_unit"] or None) == UNITS[figure]
    assert figures["budget_expanded"] == pytest.approx(value * margin(powers, SESSION_LIMITS, 2), rel=1e-4)


def two_groups(factor: float) -> list[Row]:
    """Return the session and another propeller whose steady thrust is this many times the first one's."""
    other = [
        row | {"prop": "6x3.5", "pitch": 3.5, "thrust": 1420 * factor, "voltage": 14.7, "current": 37.0}
        for row in SESSION[2:4]
    ]
    same = [row | {"thrust": 1420.0, "voltage": 14.7, "current": 37.0} for row in SESSION[2:4]]
    return [*same, *other]


@pytest.mark.parametrize(("factor", "differ"), [(1.01, False), (1.03, False), (1.04, True), (1.08, True)])
def test_two_groups_are_told_apart_beyond_the_scatter_of_their_ratio(factor: float, differ: bool) -> None:
    """Instruments are shared: 1.5 % over √2 of each makes u = 1.5 %, 8 degrees of freedom t = 2.306, in all 3.46 %."""
    found = assessed(two_groups(factor), {"thrust_accuracy": 0.0}).figures()
    assert found["thrust_lead"] == pytest.approx((factor - 1) * 100)
    assert found["thrust_lead_expanded"] == pytest.approx(1.5 * 2.306, rel=1e-3)
    said = str(found["thrust_apart"])
    lead = f"{(factor - 1) * 100:.1f} %"
    real = f"Highest thrust on 4S: 6x3.5, {lead} above the next, 6x4; the difference is real (uncertainty ±3.5 %)."
    tie = f"Highest thrust on 4S: 6x3.5 and 6x4, a tie: {lead} is within ±3.5 %."
    assert said == (real if differ else tie)


@pytest.mark.parametrize(
    ("factors", "more"),
    [
        ((0.98, 0.96, 0.9), ""),
        ((0.98, 0.97, 0.96), ", and 1 more is within it"),
        ((0.98, 0.97, 0.968, 0.96), ", and 2 more are within it"),
    ],
)
def test_a_tie_counts_the_others_as_near(factors: tuple[float, ...], more: str) -> None:
    """Within ±3.46 %: 1/0.98 - 1 = 2.04 %, 1/0.97 - 1 = 3.09 %, 1/0.968 - 1 = 3.31 %; not 1/0.96 - 1 = 4.17 %."""
    same = {"voltage": 14.7, "current": 37.0}
    rows = [
        row | same | {"prop": f"6x{place}", "thrust": 1420 * factor}
        for place, factor in enumerate((1.0, *factors), start=3)
        for row in SESSION[2:4]
    ]
    other_cells = [row | {"prop": "5x3", "cells": 6.0, "voltage": 22.0, "thrust": 1410.0} for row in SESSION[2:4]]
    said = str(assessed([*rows, *other_cells], {"thrust_accuracy": 0.0}).figures()["thrust_apart"])
    assert said == f"Highest thrust on 4S: 6x3 and 6x4, a tie: 2.0 % is within ±3.5 %{more}."


def test_the_two_best_are_of_the_same_cell_count() -> None:
    """1500 g on 4S is the best; 1400 g on 6S would be the next of all, and 1000 g is the next on 4S."""
    rows = [
        SESSION[2] | {"prop": prop, "cells": cells, "thrust": grams}
        for prop, cells, grams in (("6x4", 4.0, 1500.0), ("7x3", 6.0, 1400.0), ("5x4", 4.0, 1000.0))
    ]
    said = str(assessed(rows).figures()["thrust_apart"])
    assert said.startswith("Highest thrust on 4S: 6x4, 50.0 % above the next, 5x4; the difference is real")
