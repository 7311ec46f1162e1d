"""Write the demo input workbooks of the invented scenario beside this script.

Run from the project root: ``python -m demo_inputs.make_demo_inputs``. The same script gives the same bytes.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from pathlib import Path

import xlsengine
from demo_inputs.planted_faults import Row
from demo_inputs.scenario import DEMO_TESTS, DemoTest

_FIELDS = {
    "stator_diameter_mm": "stator_diameter",
    "stator_height_mm": "stator_height",
    "mass_as_supplied_g": "mass_as_supplied",
    "lead_length_as_supplied_mm": "lead_length_as_supplied",
    "lead_gauge_awg": "lead_gauge",
    "trimmed_lead_length_mm": "trimmed_lead_length",
    "trimmed_mass_g": "trimmed_mass_measured",
    "supply_capacity_mah": "supply_capacity",
    "esc_rating_a": "esc_rating",
    "esc_timing_deg": "esc_timing",
    "place_altitude_m": "altitude",
    "air_temperature_c": "air_temperature",
    "air_pressure_hpa": "air_pressure",
    "air_humidity_percent": "air_humidity",
    "winding_temperature_c": "winding_temperature",
    "averaging_window_s": "averaging_window",
    "thrust_accuracy_g": "thrust_accuracy",
    "voltage_accuracy_percent": "voltage_accuracy",
    "current_accuracy_percent": "current_accuracy",
    "speed_accuracy_percent": "speed_accuracy",
    "all_up_mass_g": "all_up_mass",
    "pack_capacity_mah": "pack_capacity",
    "airspeed_m_s": "airspeed",
}
_TABLES = {
    "readings": (
        "Readings",
        {
            "diameter_in": "diameter",
            "pitch_in": "pitch",
            "throttle_percent": "throttle",
            "voltage_v": "voltage",
            "current_a": "current",
            "thrust_g": "thrust",
            "speed_rpm": "speed",
            "torque_n_m": "torque",
            "motor_temperature_c": "motor_temperature",
        },
    ),
    "free_spins": (
        "FreeSpins",
        {
            "voltage_v": "free_voltage",
            "current_a": "free_current",
            "speed_rpm": "free_speed",
        },
    ),
    "driven_spins": (
        "DrivenSpins",
        {
            "speed_rpm": "driven_speed",
            "voltage_v": "driven_voltage",
            "measured_as": "driven_as",
        },
    ),
    "winding_resistances": ("WindingResistances", {"resistance_mohm": "resistance"}),
    "inspection": ("Inspection", {"item": "inspected", "remark": "inspection_remark"}),
    "check_weights": ("CheckWeights", {"weight_g": "check_weight", "reading_g": "check_reading"}),
}


def bench_test_of(demo: DemoTest) -> xlsengine.BenchTest:
    """Return a demo test as the engine takes it."""
    typed = {**demo.motor, **demo.bench, **demo.craft}
    return xlsengine.bench_test(_renamed(typed, _FIELDS), renamed_rows(demo.tables))


def renamed_rows(tables: Mapping[str, list[Row]]) -> dict[str, list[dict[str, float | str | datetime.date | None]]]:
    """Return the rows of a scenario's tables under the names that the engine has for them."""
    return {name: [_renamed(row, names) for row in tables[key]] for key, (name, names) in _TABLES.items()}


def _renamed(row: Mapping[str, object], names: Mapping[str, str]) -> dict[str, float | str | datetime.date | None]:
    return {names.get(key, key): value for key, value in row.items()}  # type: ignore[misc]


def main() -> None:
    """Write one workbook for each demo test."""
    for demo in DEMO_TESTS:
        path = Path(__file__).parent / f"{demo.file_name}.xlsx"
        xlsengine.write_input_workbook(bench_test_of(demo), path, overwrite=True)
        print(path.name)


if __name__ == "__main__":
    main()
