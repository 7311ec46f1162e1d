"""What stands where in a results workbook: sheets, titles, headers, decimals, axes, colours. A new layout changes this
file and no other of the folder.
"""

from __future__ import annotations

from tests.judged.workbook_by_labels import ChartAxes, Figures, Listed

READINGS = Listed("Readings", {
    "power": ("Power (W)", 1), "grams_per_watt": ("Thrust per power (g/W)", 2),
    "grams_per_amp": ("Thrust per current (g/A)", 2), "thrust_newton": ("Thrust force (N)", 3),
    "thrust_to_mass": ("Thrust to motor mass (g/g)", 1), "power_to_mass": ("Power per motor mass (W/g)", 2),
    "thrust_to_volume": ("Thrust per stator volume (g/cm³)", 0), "cell_voltage": ("Voltage per cell (V)", 2),
    "disk_loading": ("Disk loading (N/m²)", 0), "hover_efficiency": ("Hover efficiency", 3),
    "pitch_ratio": ("Pitch over diameter", 2), "speed_ratio": ("Speed over Kv times volts", 3),
    "electrical_speed": ("Electrical speed (rpm)", 0), "tip_mach": ("Tip Mach number", 2),
})  # fmt: skip
SPEED_FIGURES = Listed("Speed figures", {
    "tip_speed": ("Tip speed (m/s)", 0), "pitch_speed": ("Pitch speed (m/s)", 1),
    "own_speed_ratio": ("Speed over measured Kv times volts", 3), "thrust_coefficient": ("Thrust coefficient", 4),
    "shaft_power": ("Shaft power (W)", 1), "power_coefficient": ("Power coefficient", 4),
    "figure_of_merit": ("Figure of merit", 3), "motor_efficiency": ("Motor and ESC efficiency", 3),
    "row_hover_efficiency": ("Hover efficiency", 3), "copper_loss": ("Lost in copper and ESC (W)", 1),
    "iron_loss": ("Lost in iron and friction (W)", 1), "propeller_loss": ("Lost by the propeller (W)", 1),
    "ideal_power": ("Ideal power (W)", 1), "unexplained": ("Unexplained (W)", 1),
})  # fmt: skip

_MEANS = {
    "voltage": ("Voltage", "V", 2), "current": ("Current", "A", 1), "power": ("Power", "W", 0),
    "thrust": ("Thrust", "g", 0), "grams_per_watt": ("Thrust per power", "g/W", 2),
    "grams_per_amp": ("Thrust per current", "g/A", 1), "top_current": ("Highest current", "A", 1),
}  # fmt: skip
SUMMARY = Listed("Summary", {
    "summary_prop": ("Prop", None), "summary_cells": ("Cells", 0),
    "peak_count": ("Readings, peak", 0), "steady_count": ("Readings, steady", 0),
    **{f"{kind}_{name}": (f"{label}, {kind} ({unit})", decimals)
       for kind in ("peak", "steady") for name, (label, unit, decimals) in _MEANS.items()},
    "steady_speed": ("Speed, steady (rpm)", 0), "full_thrust_to_mass": ("Thrust to motor mass (g/g)", 1),
    "headline_efficiency": ("Thrust per power at headline thrust (g/W)", 2),
    **{f"round_efficiency_{place}": (f"Thrust per power at round thrust {place} (g/W)", 2) for place in range(1, 7)},
    "flagged_points": ("Flagged readings", 0),
})  # fmt: skip
NORMALISED = Listed("Propellers", {
    "raw_voltage": ("Voltage, read (V)", 2), "raw_thrust": ("Thrust, read (g)", 0),
    "raw_current": ("Current, read (A)", 1), "raw_power": ("Power, read (W)", 0), "normal_ratio": ("Speed ratio", 3),
    "volts_exponent": ("Thrust and current go with volts to the power", 2),
    "density_exponent": ("and with air density to the power", 2), "normal_thrust": ("Thrust, estimated (g)", 0),
    "normal_current": ("Current, estimated (A)", 1), "normal_power": ("Power, estimated (W)", 0),
    "normal_efficiency": ("Thrust per power, estimated (g/W)", 2),
})  # fmt: skip
HOVERING = Listed("Prediction", {
    "hover_thrust": ("Thrust a motor (g)", 0), "hover_throttle": ("Hover throttle (%)", 0),
    "hover_current": ("Current a motor (A)", 1), "hover_power": ("Power a motor (W)", 0),
    "hover_grams_per_watt": ("Thrust per power (g/W)", 2), "hover_total": ("Power of the craft (W)", 0),
    "hover_time": ("Hover time (min)", 1),
}, title="Hovering the craft")  # fmt: skip
LIFT = Listed("Prediction", {
    "lift_ratio": ("Thrust over weight", 1), "lift_thrust": ("All-up mass, 1 motor (g)", 0),
    "lift_mass_4": ("All-up mass, 4 motors (g)", 0), "lift_mass_6": ("All-up mass, 6 motors (g)", 0),
    "lift_mass_8": ("All-up mass, 8 motors (g)", 0), "lift_throttle": ("Hover throttle (%)", 0),
    "lift_power": ("Hover power a motor (W)", 0), "lift_grams_per_watt": ("Thrust per power in hover (g/W)", 2),
}, title="Hovering craft by thrust over weight")  # fmt: skip
WINGS = Listed(
    "Prediction", {f"wing_mass_{place}": (f"All-up mass, class {place} (g)", 0) for place in range(1, 5)},
    title="Fixed wing",
)  # fmt: skip
PREDICTED = Listed("Prediction", {
    "predicted_cells": ("Cells", 0), "predicted_volts": ("Voltage taken (V)", 2),
    "predicted_thrust": ("Thrust, predicted (g)", 0), "predicted_current": ("Current, predicted (A)", 1),
    "predicted_power": ("Power, predicted (W)", 0), "predicted_efficiency": ("Thrust per power, predicted (g/W)", 2),
}, title="Cell counts that were not tested")  # fmt: skip
PEAKS = Listed("Repeatability", {
    "peak_over_thrust": ("Thrust, peak over steady (%)", 1), "peak_over_current": ("Current, peak over steady (%)", 1),
    "peak_over_voltage": ("Voltage, peak over steady (%)", 1),
}, title="Peak against steady")  # fmt: skip
REPEATS = Listed("Repeatability", {
    "repeat_kind": ("Kind", None), "repeat_count": ("Readings", 0), "repeat_thrust": ("Thrust, mean (g)", 0),
    "repeat_current": ("Current, mean (A)", 1), "repeat_voltage": ("Voltage, mean (V)", 2),
    "repeat_thrust_scatter": ("Thrust, scatter (%)", 2), "repeat_current_scatter": ("Current, scatter (%)", 2),
    "repeat_voltage_scatter": ("Voltage, scatter (%)", 2),
}, title="Scatter by group")  # fmt: skip
SAG = Listed("Propellers", {
    "sag_line_cells": ("Cells", 0), "sag_rows": ("Readings", 0), "sag_rest": ("Voltage at no current (V)", 2),
    "supply_resistance": ("Resistance of pack and leads (mΩ)", 1),
}, title="Sag of the supply")  # fmt: skip
PROPELLERS = Listed("Propellers", {
    "amp_groups": ("Cell counts", 0), "most_grams": ("Thrust per current, most (g/A)", 1),
    "least_grams": ("Thrust per current, least (g/A)", 1),
}, title="Each propeller across voltages")  # fmt: skip
EXPONENTS = Listed("Propellers", {"current_exponent": ("Current as a power of thrust", 2)},
                   title="Powers over the throttle steps")  # fmt: skip
