"""One whole reading, worked by hand from definitions, through the Python functions and by the labels of a workbook.

5 in, 3 cells, 11.10 V, 30.0 A, 900 g, a 32.0 g motor with a stator of 22 x 7 mm and 14 poles, 24,000 rpm in air of
1.225 kg/m³. Each value is plain arithmetic; the rounded one beside it was worked on paper.
"""

import math

import pytest

from tests.judged.labels import READINGS, SPEED_FIGURES
from tests.judged.workbook_by_labels import Workbook, written
from tests.judged.worked_benches import READING, Row, assessed, first
from xlsengine import Assessment

READ: dict[str, tuple[float, float, float]] = {
    # name: arithmetic, rounded on paper, tolerance of that rounding
    "power": (11.10 * 30.0, 333.0, 0.05),  # P = V·I
    "grams_per_watt": (900 / (11.10 * 30.0), 2.703, 5e-4),  # T/P
    "grams_per_amp": (900 / 30.0, 30.0, 0.05),  # T/I
    "cell_voltage": (11.10 / 3, 3.70, 5e-3),
    # ideal power over electrical power, F·√(F/(2·ρ·A))/P: momentum theory
    "hover_efficiency": (8.825985 * math.sqrt(696.7322 / (2 * 1.225)) / 333.0, 0.447, 5e-4),
    "pitch_ratio": (3.5 / 5.0, 0.70, 5e-3),
    "speed_ratio": (24_000 / (2800 * 11.10), 0.772, 5e-4),  # n/(Kv·V)
    "electrical_speed": (24_000 * 14 / 2, 168_000, 0.5),  # times pole pairs
    # π·D·n/60 over √(1.4·287.05287·288.15) = 340.294 m/s (ISO 2533 at 15 °C)
    "tip_mach": (math.pi * 0.127 * 24_000 / 60 / 340.294, 0.469, 5e-4),
}
BY_PROPELLER: dict[str, tuple[float, float, float]] = {
    "full_thrust_to_mass": (900 / 32.0, 28.13, 6e-3),
    "full_power_to_mass": (333.0 / 32.0, 10.41, 5e-3),
    "full_thrust_to_volume": (900 / (math.pi / 4 * 2.2**2 * 0.7), 338.0, 0.5),  # cylinder of the stator, cm
    # F/A; F = m·g, standard gravity (SI brochure)
    "full_disk_loading": (900 * 9.80665 / 1000 / (math.pi / 4 * 0.127**2), 696.7, 0.05),
}
TORQUE, SPIN = 0.1000, {"free_voltage": 10.0, "free_current": 1.0, "free_speed": 27_000.0}
KV = 27_000 / (10.0 - 1.0 * 0.050)  # speed over the volts left behind 50 mΩ: 2713.6 rpm/V
OMEGA = 24_000 * 2 * math.pi / 60
CT = 8.825985 / (1.225 * 400**2 * 0.127**4)  # T/(ρ·n²·D⁴), n in rev/s (AIAA 2014-2151, eq. 3)
CP = TORQUE * OMEGA / (1.225 * 400**3 * 0.127**5)  # P/(ρ·n³·D⁵) (the same, eq. 4)
SHAFT, IDEAL = TORQUE * OMEGA, 8.825985 * math.sqrt(8.825985 / (math.pi / 4 * 0.127**2) / (2 * 1.225))
RESISTANCE = (11.10 - 24_000 / KV) / 30.0  # what Kv does not explain of the volts, over the current
AT_SPEED: dict[str, tuple[float, float, float]] = {
    "tip_speed": (math.pi * 0.127 * 400, 160.0, 0.5),
    "pitch_speed": (3.5 * 0.0254 * 400, 35.6, 0.05),
    "own_speed_ratio": (24_000 / (KV * 11.10), 0.797, 5e-4),
    "thrust_coefficient": (CT, 0.1731, 5e-5),
    "shaft_power": (SHAFT, 251.3, 0.05),
    "power_coefficient": (CP, 0.0970, 5e-5),
    "figure_of_merit": (IDEAL / SHAFT, 0.592, 5e-4),
    "motor_efficiency": (SHAFT / 333.0, 0.755, 5e-4),
    "row_hover_efficiency": (IDEAL / 333.0, 0.447, 5e-4),
    "copper_loss": (30.0**2 * RESISTANCE, 67.7, 0.05),
    "iron_loss": (1.0 * 24_000 / KV, 8.8, 0.05),  # no-load current times back-EMF
    "propeller_loss": (SHAFT - IDEAL, 102.5, 0.05),
    "ideal_power": (IDEAL, 148.8, 0.05),
    "unexplained": (333.0 - SHAFT - 30.0**2 * RESISTANCE - 24_000 / KV, 5.2, 0.05),
}
WINDING = {"resistance": 50.0}


def reading_with_torque(**more: float | None) -> Row:
    return READING | {"torque": TORQUE, **more}


@pytest.fixture(scope="module")
def bare() -> Assessment:
    return assessed([READING])


@pytest.fixture(scope="module")
def whole() -> Assessment:
    return assessed([reading_with_torque()], FreeSpins=[SPIN], WindingResistances=[WINDING])


@pytest.fixture(scope="module")
def workbook(whole: Assessment, tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    return written(whole, tmp_path_factory.mktemp("judged") / "one reading.xlsx")


@pytest.mark.parametrize("name", BY_PROPELLER)
def test_the_figures_of_its_propeller(bare: Assessment, name: str) -> None:
    worked, rounded, near = BY_PROPELLER[name]
    assert worked == pytest.approx(rounded, abs=near)
    assert first(bare, "Summary", name) == pytest.approx(worked, rel=1e-6)


def test_without_torque_the_shaft_power_is_that_of_the_model() -> None:
    """(I − I0)·n/Kv = 29.0 A · 8.844 V = 256.5 W."""
    whole = assessed([READING], FreeSpins=[SPIN], WindingResistances=[WINDING])
    assert first(whole, "SpeedFigures", "shaft_power") == pytest.approx(29.0 * 24_000 / KV)
    assert first(whole, "SpeedFigures", "shaft_basis") == "modelled"
    assert first(assessed([reading_with_torque()]), "SpeedFigures", "shaft_basis") == "measured"


def test_part_throttle_motor_current_is_what_the_torque_needs() -> None:
    """At part throttle battery amps are not motor amps: Q·ω(Kv) + I0 = 0.1·284.2 + 1.0 = 29.4 A through 50 mΩ."""
    part = assessed([reading_with_torque(throttle=60.0)], FreeSpins=[SPIN], WindingResistances=[WINDING])
    amps = TORQUE * KV * 2 * math.pi / 60 + 1.0
    assert first(part, "SpeedFigures", "copper_loss") == pytest.approx(amps**2 * 0.050)
    no_torque = assessed([READING | {"throttle": 60.0}], FreeSpins=[SPIN], WindingResistances=[WINDING])
    assert math.isnan(first(no_torque, "SpeedFigures", "shaft_power"))


@pytest.mark.parametrize("name", READ)
def test_the_reading_by_the_labels_of_its_sheet(workbook: Workbook, name: str) -> None:
    worked, rounded, near = READ[name]
    cell = workbook.rows(READINGS)[0][name]
    assert worked == pytest.approx(rounded, abs=near)
    assert cell.value == pytest.approx(worked, rel=1e-6)
    coarse = "[>=99.95]#,##0_);0.0_)"  # no decimals from 100 W on
    assert cell.number_format == (coarse if name == "power" else READINGS.shown(name))


@pytest.mark.parametrize("name", AT_SPEED)
def test_speed_figures_by_the_labels_of_their_sheet(workbook: Workbook, name: str) -> None:
    worked, rounded, near = AT_SPEED[name]
    cell = workbook.rows(SPEED_FIGURES)[0][name]
    assert worked == pytest.approx(rounded, abs=near)
    assert cell.value == pytest.approx(worked, rel=1e-6)
    assert cell.number_format == SPEED_FIGURES.shown(name)


def test_a_can_size_gives_no_thrust_per_stator_volume() -> None:
    assert math.isnan(first(assessed([READING], {"size_code_means": "can"}), "Summary", "full_thrust_to_volume"))
