"""What stands where in a results workbook: sheets, titles, headers, decimals, axes, colours. A new layout changes this
file and no other of the folder.
"""

from tests.judged.workbook_by_labels import ChartAxes, Figures, Listed

READINGS = Listed("Readings", {
    "power": ("Power (W)", 1), "grams_per_watt": ("Thrust per power (g/W)", 2),
    "grams_per_amp": ("Thrust per current (g/A)", 1), "cell_voltage": ("Voltage per cell (V)", 2),
    "hover_efficiency": ("Overall static efficiency", 3),
    "pitch_ratio": ("Pitch over diameter", 2), "speed_ratio": ("Speed ratio n/(Kv·V)", 3),
    "electrical_speed": ("Electrical speed, eRPM (rpm)", 0), "tip_mach": ("Tip Mach number", 2),
})  # fmt: skip
SPEED_FIGURES = Listed("Speed figures", {
    "tip_speed": ("Tip speed (m/s)", 0), "pitch_speed": ("Pitch speed (m/s)", 1),
    "own_speed_ratio": ("Speed ratio n/(Kv·V) with measured Kv", 3), "thrust_coefficient": ("Thrust coefficient", 4),
    "shaft_power": ("Shaft power (W)", 1), "power_coefficient": ("Power coefficient", 4),
    "figure_of_merit": ("Figure of merit", 3), "motor_efficiency": ("Motor and ESC efficiency", 3),
    "row_hover_efficiency": ("Overall static efficiency", 3), "copper_loss": ("Copper and ESC losses (W)", 1),
    "iron_loss": ("Iron and friction losses (W)", 1), "propeller_loss": ("Propeller losses (W)", 1),
    "ideal_power": ("Ideal power (W)", 1), "unexplained": ("Unaccounted for (W)", 1),
})  # fmt: skip

_MEANS = {"voltage": ("Voltage", "V", 2), "current": ("Current", "A", 1), "power": ("Power", "W", 0),
          "thrust": ("Thrust", "g", 0)}  # fmt: skip
SUMMARY = Listed("Summary", {
    "summary_prop": ("Prop", None), "summary_cells": ("Cells", 0), "summary_kind": ("Kind", None),
    "full_count": ("Readings", 0),
    **{f"full_{name}": (f"{label}, full throttle ({unit})", shown) for name, (label, unit, shown) in _MEANS.items()},
    "full_grams_per_watt": ("Thrust per power, full throttle (g/W)", 2),
    "full_grams_per_amp": ("Thrust per current, full throttle (g/A)", 1),
    "peak_top_current": ("Highest current, peak (A)", 1), "steady_top_current": ("Highest current, steady (A)", 1),
    "static_current": ("Highest static current (A)", 1), "full_thrust_to_mass": ("Thrust per motor mass (g/g)", 1),
    "full_power_to_mass": ("Power per motor mass (W/g)", 2),
    "full_thrust_to_volume": ("Thrust per stator volume (g/cm³)", 0), "full_disk_loading": ("Disk loading (N/m²)", 0),
    "flight_low": ("In-flight current, low, estimate (A)", 1), "flight_high": ("In-flight current, high, estimate (A)", 1),
    "flight_basis": ("In flight by", None), "held_size": ("ESC size, full throttle held (A)", 0),
    "flight_size": ("ESC size, short bursts in flight (A)", 0),
    "headline_efficiency": ("Thrust per power at headline thrust (g/W)", 2),
    **{f"round_efficiency_{place}": (f"Thrust per power at round thrust {place} (g/W)", 2) for place in range(1, 7)},
    "flagged_points": ("Flagged readings", 0),
    **{f"{kind}_{name}": (f"{label}, {kind} ({unit})", decimals)
       for kind in ("peak", "steady") for name, (label, unit, decimals) in _MEANS.items()},
})  # fmt: skip
ESC_LEFT = {"prop": "Propeller", "cells": "Cells", "steady": "Steady", "peak": "Peak", "current": "Current"}
ESC_BANDS = {
    "held": "Full throttle held (bench, hover, 3D, ducted)",
    "bursts": "Short bursts in forward flight: at launch, and at speed by estimate",
}
ESC_NO_BURSTS = "No burst answer: hover, 3D, ducted and full throttle held draw in full"
ESC_LIKELY, REPORT_LIKELY = "enough (est.)", "enough"
"""The verdict at speed on ESC and on Report, whose row names the estimate."""
ESC_OPTIONS = ("next smaller", "smallest that will do", "next larger")
ESC_HEADS = 3
"""Rows of headings; below them each propeller and cell count has two rows."""
ESC_SIZES = (6, 10, 12, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 100, 120, 150)
ESC_SENTENCES = {"esc_advice": "For the type of flying on Craft", "esc_advice_other": "If flown the other way",
                 "esc_precedence": "What overrules this"}  # fmt: skip
REPORT = Listed("Report", {
    "summary_prop": ("Propeller", None), "summary_kind": ("Kind", None),
    "full_thrust": ("Thrust (g)", 0), "full_current": ("Current (A)", 1), "full_voltage": ("Voltage (V)", 2),
    "full_power": ("Power (W)", 0), "full_grams_per_watt": ("g/W", 2), "full_grams_per_amp": ("g/A", 1),
    "peak_top_current": ("Highest (A)", 1), "flight": ("In flight* (A)", None), "held_size": ("ESC held (A)", 0),
    "flight_size": ("ESC burst (A)", 0),
})  # fmt: skip
"""The Report's table of a test on one cell count."""
REPORT_BY_CELLS = {
    cells: Listed("Report", {
        "prop": ("Propeller", None), "thrust": ("Thrust (g)", 0), "current": ("Current (A)", 1), "volts": ("Voltage (V)", 2),
        "per_watt": ("g/W", 2), "flight": ("In flight* (A)", None), "held": ("ESC held (A)", 0),
    }, groups=dict.fromkeys(("thrust", "current", "volts", "per_watt", "flight", "held"), f"{cells} cells"))
    for cells in (3, 4, 5, 6)
}  # fmt: skip
"""Its columns where there are more, each in the group of its cell count."""
REPORT_CARDS = ("Highest thrust", "Highest current", "Best g/W at 500 g", "Best g/W at full throttle",
                "Thrust to motor weight")  # fmt: skip
REPORT_ANSWERS = (
    "ESC for full throttle held (bench, hover)",
    "ESC for short bursts in forward flight",
    "Your craft",
)
REPORT_QUESTIONS = ("Full throttle held", "Bursts: at launch", "Bursts: at speed (estimate)")
REPORT_SIZES = "ESC at the three sizes that matter, with the amps to spare"
HEADLINE_TITLES = ("Highest static thrust", "Highest static current", "Best efficiency at 500 g",
                   "Best efficiency at full throttle", "Highest thrust to motor weight")  # fmt: skip
HEADLINES = Listed("Summary", {
    "headline": ("Headline", None), "value": ("Value", None), "unit": ("Unit", None), "place": ("Seen with", None),
    "clean": ("Without flagged readings", None), "whole": ("With readings left out", None), "note": ("Note", None),
})  # fmt: skip
NORMALISED = Listed("Propellers", {
    "raw_voltage": ("Voltage, read (V)", 2), "raw_thrust": ("Thrust, read (g)", 0),
    "raw_current": ("Current, read (A)", 1), "raw_power": ("Power, read (W)", 0), "normal_ratio": ("Speed ratio", 3),
    "volts_exponent": ("Thrust and current go with volts to the power", 2),
    "density_exponent": ("and with air density to the power", 2), "normal_thrust": ("Thrust, estimated (g)", 0),
    "normal_current": ("Current, estimated (A)", 1), "normal_power": ("Power, estimated (W)", 0),
    "normal_efficiency": ("Thrust per power, estimated (g/W)", 2),
})  # fmt: skip
_FLOWN: dict[str, tuple[str, int | None]] = {
    "prop": ("Propeller", None), "ratio": ("Thrust to weight", None), "thrust": ("Thrust each (g)", None),
    "in_flight": ("In flight, each motor (A)", None), "pack_amps": ("Pack, all motors (A)", None),
    "pack_rate": ("C of the pack", None),
}  # fmt: skip
HOVERED = Listed("Craft", _FLOWN | {
    "throttle": ("Hover throttle (%)", None), "current": ("Hover, each motor (A)", None),
    "minutes": ("Minutes hovering", None), "by": ("Hover by", None),
}, title="Which propeller for your craft on 4S?")  # fmt: skip
WINGED = Listed("Craft", _FLOWN | {
    "per_watt": ("g/W at full throttle", None), "static": ("Static, each motor (A)", None),
    "static_minutes": ("Minutes at full throttle, static", None),
    "flight_minutes": ("Minutes at full throttle, in flight", None),
}, title="Which propeller for your craft on 4S?")  # fmt: skip
FLOWN_ESC = {"bursts": "ESC, bursts (A)", "held": "ESC, held (A)"}
"""Which propeller for the craft: of one that hovers, and of one on a wing."""
LIFT = Listed("Prediction", {
    "lift_thrust": ("Thrust at full throttle (g)", 0),
    **{f"lift_wing_{place}": (f"All-up mass, fixed wing class {place} (g)", 0) for place in range(1, 5)},
    **{f"lift_hovering_{place}": (f"All-up mass, hovering class {place} (g)", 0) for place in range(1, 6)},
    "lift_throttle": ("Hover throttle (%)", 0), "lift_power": ("Hover power per motor (W)", 0),
    "lift_grams_per_watt": ("Thrust per power in hover (g/W)", 2),
}, title="What each motor lifts, by thrust over weight")  # fmt: skip
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
    "repeat_thrust_scatter": ("Thrust at equal volts, scatter (%)", 2),
    "repeat_current_scatter": ("Current at equal volts, scatter (%)", 2),
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
                   title="Exponents over the throttle steps")  # fmt: skip
MOTOR_FIGURES = Figures("Motor figures", {
    "measured_kv": ("Kv from free spin", "rpm/V", 0), "driven_kv": ("Kv from driven spin", "rpm/V", 0),
    "line_kv": ("Kv from loaded readings", "rpm/V", 0), "line_resistance": ("Resistance from loaded readings", "mΩ", 1),
    "best_kv": ("Kv measured", "rpm/V", 0), "best_kv_basis": ("Kv was measured by", "", None),
    "kv_deviation": ("Measured Kv against label", "%", 1),
    "winding_resistance": ("Winding resistance, line to line", "mΩ", 1),
    "resistance_spread": ("Spread between pairs", "%", 1),
    "resistance_at_20": ("Winding resistance at 20 °C", "mΩ", 1),
    "resistance_uncertainty": ("Standard uncertainty of the resistance, from the pairs", "mΩ", 2),
    "loaded_resistance": ("Resistance under load, with Kv from spins", "mΩ", 1),
    "model_resistance": ("Resistance that the losses are computed with", "mΩ", 1),
    "no_load_current": ("No-load current", "A", 2), "no_load_voltage": ("No-load current read at", "V", 1),
    "no_load_slope": ("No-load current, growth with speed", "mA/rpm", 4),
    "no_load_at_rest": ("No-load current, line's value at no speed", "A", 3),
    "lead_mass_per_metre": ("Lead wire mass", "g/m", 2), "lead_resistance_per_metre": ("Lead wire resistance", "mΩ/m", 2),
    "lead_mass_removed": ("Lead mass cut away, estimated", "g", 2),
    "lead_mass_uncertain": ("Uncertainty of that estimate, ±", "g", 2), "trimmed_mass": ("Trimmed mass", "g", 1),
    "trimmed_mass_basis": ("Trimmed mass is", "", None),
    "trim_mismatch": ("Measured less estimated trimmed mass", "g", 2),
    "leads_full_resistance": ("Lead resistance as supplied, line to line", "mΩ", 2),
    "leads_trimmed_resistance": ("Lead resistance trimmed, line to line", "mΩ", 2),
    "stator_volume": ("Stator volume", "cm³", 2), "station_pressure": ("Station pressure taken", "hPa", 1),
    "air_density": ("Air density", "kg/m³", 3), "sound_speed": ("Speed of sound", "m/s", 1),
})  # fmt: skip

# --- charts ------------------------------------------------------------------------------------------------------

CHART_SHEET = "Charts"
REPORT_BARS = {"Thrust at full throttle (g)": ("Summary", "Thrust, full throttle (g)"),
        "Highest current (A), and ESC size by cells": ("Summary", "Highest static current (A)")}  # fmt: skip
PER_WATT = "Grams per watt against thrust"
ON_REPORT = (PER_WATT, *reversed(REPORT_BARS))  # of one propeller with throttle steps
_THRUST = ("Readings", "Thrust (g)")
_POWER, _SPEED = ("Readings", "Power (W)"), ("Readings", "Speed (rpm)")
_AT_SPEED = ("Speed figures", "Speed (rpm)")
BY_CELLS: dict[str, ChartAxes] = {
    "Thrust against power": ChartAxes("Power (W)", "Thrust (g)", _POWER, (_THRUST,)),
    "Overall static efficiency against thrust": ChartAxes(
        "Thrust (g)", "Ideal over electrical power", _THRUST, (("Readings", "Overall static efficiency"),)
    ),
    "Thrust against speed": ChartAxes("Speed (rpm)", "Thrust (g)", _SPEED, (_THRUST,)),
    "Speed ratio n/(Kv·V) against speed": ChartAxes(
        "Speed (rpm)", "Speed ratio n/(Kv·V)", _SPEED, (("Readings", "Speed ratio n/(Kv·V)"),)
    ),
}  # fmt: skip
"""Charts with a series for each cell count."""
BY_FIGURE: dict[str, ChartAxes] = {
    "Efficiency of propeller and motor against speed": ChartAxes(
        "Speed (rpm)", "Efficiency", _AT_SPEED,
        (("Speed figures", "Figure of merit"), ("Speed figures", "Motor and ESC efficiency"),
         ("Speed figures", "Overall static efficiency")), bars=True,
    ),
    "Thrust and power coefficient against speed": ChartAxes(
        "Speed (rpm)", "Coefficient", _AT_SPEED,
        (("Speed figures", "Thrust coefficient"), ("Speed figures", "Power coefficient")), bars=True,
    ),
}  # fmt: skip
"""Charts with a series for each figure, named as the figure, with its ± as bars."""
BARS = {
    "Thrust at full throttle, by propeller": ("Thrust (g)", "thrust"),
    "Current at full throttle, by propeller": ("Current (A)", "current"),
}
BARS_OF_PEAKS = BARS | {"Grams per watt at full throttle, by propeller": ("Thrust per power (g/W)", "grams_per_watt")}
"""Charts by propeller with a bar for each cell count: the axis, and the name that tests use for what is drawn."""
LINES = {
    "Thrust against throttle": ("Throttle (%)", "Thrust (g)", "throttle", "thrust"),
    "Current against throttle": ("Throttle (%)", "Current (A)", "throttle", "current"),
    "Grams per watt against thrust": ("Thrust (g)", "Thrust per power (g/W)", "thrust", "grams_per_watt"),
}
"""Charts with a line for each propeller and cell count: the axes, and the tests' names for what is drawn."""
PRINTED_OF_STEPS = ("Thrust against throttle", "Current against throttle")
PRINTED_OF_PEAKS = ("Grams per watt at full throttle, by propeller",)
"""What the sheet Charts prints: two a page, without what the Report draws."""

# --- colours by word, links, print, validation ---------------------------------------------------------------------

VERDICTS = {"covers": "green", "borderline": "amber", "falls short": "red"}
SEVERITIES = {"impossible": "red", "doubtful": "amber"}
SHADED_WORDS = {"ESC": VERDICTS, "Checks": SEVERITIES}
MARKS = {3: ("▲", "red"), 2: ("●", "amber")}
"""By severity: the sign and the colour of a flag on Readings and of the typed cell that it is about."""
CHECK_LIST = Listed("Checks", {
    "place": ("Place", None), "run": ("Run", None), "severity": ("Severity", None), "what": ("What", None),
    "found": ("Found", None), "expected": ("Expected", None), "cause": ("Likely cause", None), "fix": ("What to do", None),
})  # fmt: skip
READINGS_TYPED = Listed("Readings", {
    "prop": ("Prop", None), "cells": ("Cells", None), "voltage": ("Voltage (V)", None), "current": ("Current (A)", None),
    "thrust": ("Thrust (g)", None), "speed": ("Speed (rpm)", None), "kind": ("Kind", None), "flight": ("In flight (A)", None),
})  # fmt: skip
PRINTED: dict[str, tuple[str, ...]] = {
    # sheet: headers or texts that must lie in the print area
    "Report": ("Cautions", "ESC held (A)", "Highest thrust"),
    "Readings": ("Prop", "Thrust (g)", "Flag", "Power (W)", "Voltage per cell (V)", "In flight (A)"),
    "ESC": (*ESC_BANDS.values(), "For the type of flying on Craft", "What overrules this"),
    "Craft": ("Type of flying", "Thrust to weight", "ESC, full throttle held"),
    "Checks": ("Severity", "What to do"),
}  # fmt: skip
NOT_PRINTED = {
    "Readings": ("Group key", "Overall static efficiency"),
    "Steps": ("Fingerprint of values, now",),
    "Charts": ("4S", "For engineers: figures by speed (not printed)"),
    "Method": ("Equation", "Each reading", "Where"),
    # workings, and what is typed once
    "Summary": ("Headline", "Flagged readings"), "Prediction": ("Cell counts that were not tested",),
    "Speed figures": ("Thrust coefficient",), "Uncertainty": ("Source of error",),
    "Repeatability": ("Scatter by group",), "Motor": ("Labelled Kv",), "Settings": ("Full throttle from *",),
}  # fmt: skip
REPEATED_ROWS = {"ESC": "Propeller", "Readings": "Prop"}
"""Sheets whose header row, which holds this header, stands on every page."""
REPEATED_COLUMNS: dict[str, tuple[str, str | None]] = {
    "Readings": ("Prop", "Diameter (in)"),
}  # fmt: skip
"""Sheets whose first columns stand on every page: the last of them, and the first that does not (None: not asked)."""
VALIDATED: dict[tuple[str, str], tuple[str, str, str]] = {
    # sheet, header: kind, smallest, largest
    ("Readings", "Diameter (in)"): ("decimal", "0.5", "40"), ("Readings", "Cells"): ("whole", "1", "14"),
    ("Readings", "Throttle (%)"): ("decimal", "0", "100"), ("Readings", "Voltage (V)"): ("decimal", "0", "100"),
    ("Readings", "Current (A)"): ("decimal", "0", "500"), ("Readings", "Thrust (g)"): ("decimal", "0", "50000"),
    ("Readings", "Speed (rpm)"): ("decimal", "0", "150000"), ("Readings", "Torque (N·m)"): ("decimal", "0", "50"),
    ("Readings", "Motor temperature (°C)"): ("decimal", "-30", "250"), ("Readings", "Blades"): ("whole", "1", "12"),
    ("Readings", "Pitch (in)"): ("decimal", "0", "40"),
    ("Readings", "Kind"): ("list", '"peak,steady"', ""), ("Readings", "Use"): ("list", '"yes,no"', ""),
}  # fmt: skip
VALIDATED_FIELDS: dict[tuple[str, str], tuple[str, str, str]] = {
    ("Motor", "Labelled Kv"): ("decimal", "50", "30000"), ("Motor", "Magnet poles"): ("whole", "2", "60"),
    ("Motor", "Mass as supplied"): ("decimal", "0.5", "3000"), ("Bench", "Air temperature"): ("decimal", "-30", "55"),
    ("Bench", "Station pressure"): ("decimal", "500", "1100"), ("Bench", "Relative humidity"): ("decimal", "0", "100"),
    ("Craft", "Number of motors"): ("whole", "1", "16"), ("Craft", "All-up mass"): ("decimal", "5", "100000"),
    ("Craft", "Airspeed"): ("decimal", "0", "120"),
}  # fmt: skip
ROW_MARGINS = Listed("Speed figures", {
    "thrust_coefficient": ("± Thrust coefficient", 5), "power_coefficient": ("± Power coefficient", 5),
    "figure_of_merit": ("± Figure of merit", 4), "motor_efficiency": ("± Motor and ESC efficiency", 4),
    "hover_efficiency": ("± Overall static efficiency", 4),
})  # fmt: skip
FOUND = Listed("Pairs", {
    "rank": ("Rank", 0), "verdict": ("Verdict", None), "cells": ("Cells", 0), "low": ("In flight, low (A)", 0),
    "high": ("In flight, high (A)", 0),
})  # fmt: skip
"""Pairs of motor and propeller that `find` writes."""
SINGLE_READING = Listed("Uncertainty", {
    "figure": ("Figure", None), "expanded": ("± at highest thrust", None), "share": ("Share", None),
    "power": ("Power of thrust p", 2), "freedom": ("Degrees of freedom", 0), "factor": ("Coverage factor k", 2),
}, title="± of a single reading")  # fmt: skip
_SHAFT = ("shaft_power", "power_coefficient", "figure_of_merit", "motor_efficiency")
SINGLE_LINES = {
    name: f"{header.partition(' (')[0]}{', by torque' if name in _SHAFT else ''}"
    for name, (header, _) in (READINGS.headers | SPEED_FIGURES.headers).items()
}
"""What the line of a figure is called; those of the shaft power as torque gives it."""
UNCERTAINTIES = Listed("Uncertainty", {
    "sure_thrust": ("Thrust (g)", 0), "sure_thrust_expanded": ("± Thrust (g)", 0),
    "sure_current": ("Current (A)", 1), "sure_current_expanded": ("± Current (A)", 2),
    "sure_power": ("Power (W)", 0), "sure_power_expanded": ("± Power (W)", 0),
    "sure_thrust_per_power": ("Thrust per power (g/W)", 2), "sure_thrust_per_power_expanded": ("± Thrust per power (g/W)", 3),
    "sure_thrust_per_current": ("Thrust per current (g/A)", 1),
    "sure_thrust_per_current_expanded": ("± Thrust per current (g/A)", 2),
    "sure_hover_efficiency": ("Overall static efficiency", 3),
    "sure_hover_efficiency_expanded": ("± Overall static efficiency", 4),
}, title="Figures by propeller and cell count")  # fmt: skip
BUDGET = Listed("Uncertainty", {
    "source": ("Source of error", None), "size": ("u(x)", None), "part": ("Contribution c·u", None),
    "share": ("Share (%)", None), "freedom": ("Degrees of freedom", None),
})  # fmt: skip
METHOD = Listed("Method", {
    "where": ("Where", None), "quantity": ("Quantity", None), "symbol": ("Symbol", None), "unit": ("Unit", None),
    "equation": ("Equation", None), "meaning": ("Meaning", None), "source": ("Source", None),
})  # fmt: skip

# --- what follows on Craft -----------------------------------------------------------------------------------------

CRAFT_TILES = {
    "thrust_to_weight": "Thrust to weight", "hover_throttle": "Hover throttle",
    "hover_current": "Hover current, a motor", "minutes": "Minutes hovering",
    "flight": "In flight, full throttle, a motor", "bursts": "ESC, short bursts", "held": "ESC, full throttle held",
    "lift": "Craft lifts at 2:1 / 4:1", "stand_minutes": "Minutes at full throttle, static",
    "flight_minutes": "Minutes at full throttle in flight", "from_pack": "From the pack, full throttle",
}  # fmt: skip
"""Titles; the figure stands one row below, and what it rests on three rows below."""
