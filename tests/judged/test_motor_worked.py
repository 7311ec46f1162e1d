"""The motor by itself, worked by hand: Kv by three methods, resistance, no-load current, leads, mass, air."""

import csv
import math
from pathlib import Path
from typing import Any

import pytest

from tests.judged.labels import MOTOR_FIGURES
from tests.judged.test_row_limits import CELLS, KV, on_the_line
from tests.judged.workbook_by_labels import Workbook, format_of, written
from tests.judged.worked_benches import Row, assessed, column
from xlsengine import Assessment

AWG = Path(__file__).parent.parent / "published" / "data" / "awg.csv"
FREE = [
    {"free_voltage": 8.0, "free_current": 0.80, "free_speed": 8_000.0},
    {"free_voltage": 12.0, "free_current": 1.00, "free_speed": 12_000.0},
    {"free_voltage": 16.0, "free_current": 1.20, "free_speed": 16_000.0},
]
DRIVEN = [
    {"driven_speed": 3_000.0, "driven_voltage": 2.10, "driven_as": "line to line true rms"},
    {"driven_speed": 3_000.0, "driven_voltage": 5.94, "driven_as": "line to line peak to peak"},
    {"driven_speed": 3_000.0, "driven_voltage": 1.64, "driven_as": "bridge rectified mean"},
]
WINDING = [{"pair": pair, "resistance": value} for pair, value in (("1-2", 50.0), ("2-3", 51.0), ("3-1", 49.0))]
FIELDS: Row = {
    "label_kv": 980.0,
    "lead_gauge": 20.0,
    "lead_length_as_supplied": 150.0,
    "trimmed_lead_length": 50.0,
    "mass_as_supplied": 34.0,
    "trimmed_mass_measured": 31.9,
    "winding_temperature": 30.0,
    "air_temperature": 20.0,
    "air_pressure": 1013.25,
    "air_humidity": 50.0,
}
# Wire of ASTM B258: d = 0.127 mm · 92^((36 − n)/39); copper of 8.89 g/cm³ and 1/58 Ω·mm²/m (IEC 60028, IACS);
# silicone of 1.2 g/cm³ over it to 1.8 mm (common practice)
AREA = math.pi / 4 * (0.127 * 92 ** ((36 - 20) / 39)) ** 2  # 0.5176 mm²
PER_METRE = 8.89 * AREA + 1.2 * (math.pi / 4 * 1.8**2 - AREA)  # 7.03 g/m
OHM = 1000 / 58 / AREA  # 33.31 mΩ/m
CUT = 3 * 0.100 * PER_METRE  # three leads, 100 mm each: 2.11 g
FREE_KV = [row["free_speed"] / (row["free_voltage"] - row["free_current"] * 0.050) for row in FREE]
# Mean of a three-phase bridge: 3√2/π = 1.3505 times the rms line to line (The Electric Power Engineering Handbook, 22.2.5,
# equation 22.4), so 3/π = 0.9549 of the peak; an ESC of six steps works against that mean
DRIVEN_KV = [3000 / (2.10 * 1.3504745), 3000 / (5.94 / 2 * 0.95492966), 3000 / (1.64 + 2 * 0.6)]
ROWS = [on_the_line(cells) for cells in CELLS]
MEAN_DRIVEN = sum(DRIVEN_KV) / 3


def mean(values: list[float]) -> float:
    return sum(values) / len(values)


WORKED: dict[str, Any] = {
    "measured_kv": mean(FREE_KV),
    "driven_kv": MEAN_DRIVEN,
    "line_kv": KV,
    "line_resistance": 50.0,  # the readings were made of n = 1000·(V − 0.050·I)
    "best_kv": MEAN_DRIVEN,
    "best_kv_basis": "driven spin",
    "kv_deviation": (MEAN_DRIVEN / 980 - 1) * 100,
    "winding_resistance": 50.0,
    "resistance_spread": 4.0,
    "resistance_at_20": 50.0 / (1 + 0.00393 * 10),
    "resistance_uncertainty": 1.0 / math.sqrt(3),  # 49, 50 and 51 have a standard deviation of 1
    "loaded_resistance": mean([(row["voltage"] - row["speed"] / MEAN_DRIVEN) / row["current"] * 1000 for row in ROWS]),
    "no_load_current": 1.00,
    "no_load_voltage": 12.0,
    "no_load_slope": 0.05,
    "no_load_at_rest": 0.40,  # 0.2 A more for 4,000 rpm more
    "lead_mass_per_metre": PER_METRE,
    "lead_resistance_per_metre": OHM,
    "lead_mass_removed": CUT,
    "lead_mass_uncertain": 0.15 * CUT,
    "trimmed_mass": 31.9,
    "trimmed_mass_basis": "measured",
    "trim_mismatch": 31.9 - (34.0 - CUT),
    "leads_full_resistance": 2 * 0.150 * OHM,
    "leads_trimmed_resistance": 2 * 0.050 * OHM,
    "stator_volume": math.pi / 4 * 2.2**2 * 0.7,
    "station_pressure": 1013.25,
    "air_density": 1.199314,  # CIPM-2007 worked example, see data/moist_air.csv
    "sound_speed": math.sqrt(1.4 * 287.05287 * 293.15),
}
WORKED["model_resistance"] = WORKED["loaded_resistance"]


@pytest.fixture(scope="module")
def motor() -> Assessment:
    return assessed(ROWS, FIELDS, FreeSpins=FREE, DrivenSpins=DRIVEN, WindingResistances=WINDING)


@pytest.fixture(scope="module")
def workbook(motor: Assessment, tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    return written(motor, tmp_path_factory.mktemp("judged") / "motor.xlsx")


@pytest.mark.parametrize("name", WORKED)
def test_by_label(workbook: Workbook, name: str) -> None:
    (value, unit, shown), worked = workbook.figure(MOTOR_FIGURES, name), WORKED[name]
    _, wanted_unit, decimals = MOTOR_FIGURES.lines[name]
    assert value == (worked if isinstance(worked, str) else pytest.approx(worked, rel=1e-6))
    assert unit == wanted_unit
    if decimals is not None:
        assert shown == format_of(decimals)


def wires() -> list[dict[str, float]]:
    with AWG.open() as lines:
        next(lines)
        return [{name: float(value) for name, value in row.items()} for row in csv.DictReader(lines)]


@pytest.mark.parametrize("wire", wires(), ids=lambda wire: f"{wire['awg']:.0f} AWG")
def test_wire_against_published_tables(motor: Assessment, wire: dict[str, float]) -> None:
    """Area to the printed digits; resistance within 0.1 % of printed tables, which differ by as much."""
    place = column(motor, "Wires", "gauge").tolist().index(wire["awg"])
    assert column(motor, "Wires", "copper_area")[place] == pytest.approx(wire["area_mm2"], abs=5.1e-5)
    assert column(motor, "Wires", "wire_resistance")[place] == pytest.approx(wire["ohm_per_km"], rel=1e-3)


def test_each_driven_spin_by_its_own_factor(motor: Assessment) -> None:
    """A sine of peak 1 has an rms of 1/√2 and 2 from peak to peak; three rectified phases have a mean of 3/π."""
    assert column(motor, "DrivenSpins", "kv_driven")[:3] == pytest.approx(DRIVEN_KV, rel=1e-6)
    assert column(motor, "FreeSpins", "kv_free")[:3] == pytest.approx(FREE_KV)


@pytest.mark.parametrize(
    ("tables", "basis", "kv"),
    [
        ({"FreeSpins": FREE}, "free spin", mean([row["free_speed"] / row["free_voltage"] for row in FREE])),
        ({}, "loaded readings", KV),
        ({"DrivenSpins": DRIVEN[1:2]}, "driven spin", 3000 / (2.97 * 0.95492966)),
    ],
)
def test_the_method_that_is_taken(tables: dict[str, list[Row]], basis: str, kv: float) -> None:
    figures = assessed(ROWS, FIELDS, **tables).figures()
    assert figures["best_kv_basis"] == basis
    assert figures["best_kv"] == pytest.approx(kv)


@pytest.mark.parametrize(("apart", "slope"), [(1.09, 0.0), (1.11, 0.05)])
def test_free_spins_10_percent_apart_give_the_no_load_current_a_slope(apart: float, slope: float) -> None:
    spins = [
        {"free_voltage": 10.0, "free_current": 0.5 + 0.05 * speed / 1000, "free_speed": speed}
        for speed in (10_000.0, 10_000.0 * apart)
    ]
    assert assessed([], FreeSpins=spins).figures()["no_load_slope"] == pytest.approx(slope, abs=1e-9)


def test_pressure_that_was_read_goes_before_that_of_the_altitude() -> None:
    figures = assessed([], {"air_pressure": 987.0, "altitude": 1000.0}).figures()
    assert figures["station_pressure"] == 987.0
    assert assessed([], {"altitude": 1000.0}).figures()["station_pressure"] == pytest.approx(898.76, abs=5e-3)


def test_the_temperature_of_the_winding_is_the_airs_where_it_was_not_read() -> None:
    figures = assessed([], FIELDS | {"winding_temperature": None, "air_temperature": 10.0}, WindingResistances=WINDING)
    assert figures.figures()["resistance_at_20"] == pytest.approx(50.0 / (1 - 0.0393))


@pytest.mark.parametrize(("largest", "verdict"), [(52.4, "even"), (52.7, "uneven")])
def test_pairs_of_a_winding_within_5_percent(largest: float, verdict: str) -> None:
    """Over the mean of 50, 50 and this; common practice, from memory."""
    rows = [{"resistance": value} for value in (50.0, 50.0, largest)]
    spread = (largest - 50) / ((100 + largest) / 3) * 100
    figures = assessed([], WindingResistances=rows).figures()
    assert figures["resistance_spread"] == pytest.approx(spread)
    assert str(figures["resistance_verdict"]).startswith(verdict)


@pytest.mark.parametrize(("label", "within"), [(953.0, True), (952.0, False), (1052.0, True), (1053.5, False)])
def test_label_within_5_percent(label: float, within: bool) -> None:
    """Kv by the loaded line is 1000 rpm/V; common practice, no source."""
    exact = {f"{name}_accuracy": 0.0 for name in ("voltage", "speed")} | {"line_warmth": 0.0}
    figures = assessed(ROWS, {"label_kv": label, **exact}).figures()
    assert str(figures["kv_verdict"]).startswith("within" if within else "outside")
    assert figures["whole_label_doubt"] == (0.0 if within else 1.0)


@pytest.mark.parametrize(
    ("fields", "mass", "basis"),
    [
        ({}, 32.0, "measured"),
        ({"trimmed_mass_measured": None}, 34.0, "the mass as supplied: gauge or lengths are blank"),
        (
            {
                "trimmed_mass_measured": None,
                "lead_gauge": 20.0,
                "lead_length_as_supplied": 150.0,
                "trimmed_lead_length": 50.0,
            },
            34.0 - CUT,
            "estimated from gauge and length",
        ),
    ],
)
def test_where_the_trimmed_mass_comes_from(fields: Row, mass: float, basis: str) -> None:
    figures = assessed([], fields).figures()
    assert figures["trimmed_mass"] == pytest.approx(mass)
    assert figures["trimmed_mass_basis"] == basis


@pytest.mark.parametrize(
    ("fields", "density"),
    [
        ({}, 1.225),
        ({"air_temperature": 20.0}, 1.225),
        ({"air_pressure": 1013.25}, 1.225),
        ({"air_temperature": 20.0, "air_pressure": 1013.25}, 1.199314),  # 50 % is taken where none was read
        # at 1000 m the standard atmosphere has 898.76 hPa: data/standard_atmosphere.csv
        ({"air_temperature": 20.0, "altitude": 1000.0, "air_humidity": 0.0}, 89876 / (287.05287 * 293.15)),
    ],
)
def test_which_air_is_taken(fields: Row, density: float) -> None:
    near = 5e-4 if "altitude" in fields else 1e-6  # air is no ideal gas: Z is 0.9996
    assert assessed([], fields).figures()["air_density"] == pytest.approx(density, rel=near)


def test_line_of_rows_that_scatter_by_hand() -> None:
    """Least squares of n/V on I/V over the rows: slope, intercept and residual standard deviation by their sums."""
    rows = [row | {"speed": row["speed"] * (1 + 0.01 * (-1) ** place)} for place, row in enumerate(ROWS)]
    x = [row["current"] / row["voltage"] for row in rows]
    y = [row["speed"] / row["voltage"] for row in rows]
    spread = sum((each - mean(x)) ** 2 for each in x)
    slope = sum((a - mean(x)) * (b - mean(y)) for a, b in zip(x, y, strict=True)) / spread
    intercept = mean(y) - slope * mean(x)
    left = sum((b - intercept - slope * a) ** 2 for a, b in zip(x, y, strict=True))
    figures = assessed(rows, {"label_kv": 1000.0}).figures()
    assert figures["line_kv"] == pytest.approx(intercept)
    assert figures["line_resistance"] == pytest.approx(-1000 * slope / intercept)
    assert figures["line_residual"] == pytest.approx(100 * math.sqrt(left / 5) / intercept)


@pytest.mark.parametrize(("scatter", "doubtful"), [(0.0194, False), (0.0199, True)])
def test_scatter_of_the_line_up_to_2_percent(scatter: float, doubtful: bool) -> None:
    """0.5 % in volts, 1.5 % in amps and warmth make 2 %."""
    rows = [row | {"speed": row["speed"] * (1 + scatter * (-1) ** place)} for place, row in enumerate(ROWS)]
    figures = assessed(rows, {"label_kv": 1000.0}).figures()
    assert (figures["line_residual"] > 2.0) == doubtful  # type: ignore[operator]
    assert figures["whole_line_doubt"] == float(doubtful)
    assert str(figures["line_verdict"]).startswith("scattered" if doubtful else "straight")
