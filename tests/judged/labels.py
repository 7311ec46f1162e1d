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
