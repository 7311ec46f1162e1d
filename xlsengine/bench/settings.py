"""Every factor and limit the engine uses, each a named cell that the reader may change."""

from __future__ import annotations

from xlsengine.bench.declare import Field, Form, Table
from xlsengine.expression import Named
from xlsengine.sources import (
    FROM_MEMORY,
    GRUBBS,
    IGLEWICZ_HOAGLIN,
    MOMENTUM_THEORY,
    STANDARD_ATMOSPHERE,
    Source,
    definition,
    practice,
    published,
    worked_out,
)

SETTINGS = Form("Settings", "Factors and limits used in every formula; change one and the workbook follows.")


def _setting(
    name: str, label: str, unit: str, value: float, limits: tuple[float, float], meaning: str, source: Source
) -> Named:
    low, high = limits
    return SETTINGS.input(
        Field(name, label, unit, meaning, low=low, high=high, required=True, default=value, source=source)
    )


flight_share_low = _setting(
    "flight_share_low", "In-flight fall of current, least", "%", 25, (0, 90),
    "The smallest share by which current in forward flight stays below the static one.",
    practice("testers speak of 25 to 40 percent"),
)  # fmt: skip
flight_share_high = _setting(
    "flight_share_high", "In-flight fall of current, most", "%", 40, (0, 90),
    "The largest share by which current in forward flight stays below the static one.",
    practice("testers speak of 25 to 40 percent"),
)  # fmt: skip
pitch_ratio_limit = _setting(
    "pitch_ratio_limit", "Pitch over diameter without reduction above", "", 0.8, (0.3, 2),
    "A propeller above this is partly stalled when static and may draw as much or more in flight: no reduction.",
    practice(),
)  # fmt: skip
esc_steady_share = _setting(
    "esc_steady_share", "ESC: steady current within this share of the continuous rating", "%", 80, (30, 100),
    "Static steady current held on the bench or in hover should stay within this share.",
    practice("margins from none to double are in use"),
)  # fmt: skip
esc_burst_ratio = _setting(
    "esc_burst_ratio", "ESC: burst rating over continuous rating", "", 1.15, (1, 3),
    "Assumed where the maker's burst rating is not known; the maker's own figure goes before it.",
    practice("1.1 to 1.2 where none is stated"),
)  # fmt: skip
full_throttle_from = _setting(
    "full_throttle_from", "Full throttle from", "%", 98, (50, 100),
    "A row at or above this throttle, or without a throttle reading, counts as full throttle.", practice(),
)  # fmt: skip
cell_voltage_high = _setting(
    "cell_voltage_high", "Volts per cell, highest plausible", "V", 4.25, (3, 6),
    "4.25 for ordinary lithium polymer packs, 4.40 for high-voltage ones.", practice(),
)  # fmt: skip
cell_voltage_low = _setting(
    "cell_voltage_low", "Volts per cell, lowest plausible under load", "V", 3.0, (0.5, 4),
    "Below this the pack is flat or the cell count is wrong.", practice(),
)  # fmt: skip
efficiency_high = _setting(
    "efficiency_high", "Hover efficiency, highest plausible", "", 0.70, (0.3, 1),
    "Ideal hover power over electrical power; 0.25 to 0.60 is usual.",
    worked_out("figure of merit below 0.8 times motor and ESC efficiency below 0.85"),
)  # fmt: skip
efficiency_low = _setting(
    "efficiency_low", "Hover efficiency, lowest plausible at full throttle", "", 0.15, (0, 0.6),
    "Below this a unit, a decimal or the diameter is usually wrong.",
    worked_out("half of the usual 0.25 to 0.60, rounded"),
)  # fmt: skip
speed_ratio_high = _setting(
    "speed_ratio_high", "Speed over Kv times volts, highest plausible", "", 0.97, (0.5, 1.5),
    "A loaded motor turns slower than Kv times volts.", practice("loaded motors run at 0.60 to 0.85"),
)  # fmt: skip
speed_ratio_low = _setting(
    "speed_ratio_low", "Speed over Kv times volts, lowest plausible at full throttle", "", 0.50, (0, 1),
    "Below this the motor is overloaded, or the poles, the label or the cells are wrong.", practice(),
)  # fmt: skip
tip_mach_high = _setting(
    "tip_mach_high", "Tip Mach number, highest usual", "", 0.70, (0.3, 1.2),
    "Above this drag and noise climb.", Source(practice().standing, "from memory"),
)  # fmt: skip
case_temperature_high = _setting(
    "case_temperature_high", "Motor temperature, highest usual", "°C", 80, (40, 200),
    "A hotter motor has lost magnet strength for the moment and reads low; the maker's limit goes before this.",
    practice(),
)  # fmt: skip
reference_density = _setting(
    "reference_density", "Reference air density", "kg/m³", 1.225, (0.5, 1.6),
    "Full-throttle figures are brought to it on Propellers; and it stands in where the air was not read.",
    STANDARD_ATMOSPHERE,
)  # fmt: skip
assumed_humidity = _setting(
    "assumed_humidity", "Relative humidity where none was read", "%", 50, (0, 100),
    "Used when the humidity is blank on Bench.", practice("the middle of what is possible"),
)  # fmt: skip
reference_cell_voltage = _setting(
    "reference_cell_voltage", "Reference volts per cell, under load", "V", 3.7, (1, 5),
    "Full-throttle figures are brought to it: 14.8 V for four cells.",
    published("nominal voltage of a lithium polymer cell, as packs are labelled (ITWissen: 3.7 V)"),
)  # fmt: skip
volts_reach = _setting(
    "volts_reach", "Normalising: farthest in volts", "%", 10, (0, 50),
    "No normalised figure is given where the volts read are farther from the reference.", practice(),
)  # fmt: skip
density_reach = _setting(
    "density_reach", "Normalising: farthest in air density", "%", 8, (0, 50),
    "No normalised figure is given where the air is farther from the reference.", practice(),
)  # fmt: skip
assumed_speed_ratio = _setting(
    "assumed_speed_ratio", "Speed over Kv times volts where no speed was read", "", 0.75, (0.4, 0.95),
    "Gives the exponents of normalising; a measured one goes before it.", practice("loaded motors run at 0.60 to 0.85"),
)  # fmt: skip
supply_resistance_high = _setting(
    "supply_resistance_high", "Resistance of pack and leads, highest usual", "mΩ", 40, (1, 500),
    "5 to 40 mΩ is usual.", practice(),
)  # fmt: skip
diode_drop = _setting(
    "diode_drop", "Voltage lost in one rectifier diode", "V", 0.6, (0, 1.5),
    "A bridge has two in the path; for driven spins read behind a bridge.", practice("silicon at small currents"),
)  # fmt: skip
line_load_range = _setting(
    "line_load_range", "Loaded line: largest load over smallest, at least", "", 1.2, (1, 5),
    "Load is amps over volts; no Kv is read from rows that are all alike.", practice(),
)  # fmt: skip
line_residual_limit = _setting(
    "line_residual_limit", "Loaded line: largest usual scatter", "%", 2, (0.1, 20),
    "Residual standard deviation over Kv.", worked_out("0.5 % in volts, 1.5 % in amps, and warmth"),
)  # fmt: skip
line_warmth = _setting(
    "line_warmth", "Loaded line: winding warmer at the largest load than at the smallest, by up to", "K", 30, (0, 150),
    "Warm copper bends the line and makes its Kv high; this much of it is counted as uncertainty.",
    Source(practice().standing, "from memory"),
)  # fmt: skip
line_misfit_limit = _setting(
    "line_misfit_limit", "Loaded line: farthest that one row may lie off", "%", 6, (0.5, 30),
    "Cold peaks lie some percent above the line of steady rows.", practice(),
)  # fmt: skip
pole_tolerance = _setting(
    "pole_tolerance", "Wrong pole count: nearness to 7/6 or 6/7", "%", 2.5, (0.1, 6),
    "12 and 14 magnets are taken for each other.", worked_out("ratio of pole pairs"),
)  # fmt: skip
figure_of_merit_high = _setting(
    "figure_of_merit_high", "Figure of merit, highest plausible", "", 0.80, (0.3, 1),
    "0.40 to 0.70 is usual for small propellers.",
    published("UIUC Propeller Data Site, static rows of 25 propellers: 0.32 to 0.73"),
)  # fmt: skip
thrust_coefficient_limit = _setting(
    "thrust_coefficient_limit", "Thrust coefficient, farthest from the propeller's median", "%", 15, (1, 60),
    "At full throttle; there the coefficient moves by some percent with speed.",
    published("UIUC Propeller Data Site: 10x4.7 grows 23 % from 2,400 to 6,500 rpm"),
)  # fmt: skip
grams_per_amp_limit = _setting(
    "grams_per_amp_limit", "Grams per amp of one propeller across cell counts, farthest apart", "%", 7, (1, 60),
    "At full throttle it is nearly the same at every voltage.", worked_out("T/I = 2π·Kt·CT/(CP·D)"),
)  # fmt: skip
thrust_exponent_low = _setting(
    "thrust_exponent_low", "Thrust as a power of speed, lowest", "", 1.9, (1, 3), "2.0 to 2.15 is usual.",
    published("UIUC Propeller Data Site, 9x6.75: 2.08"),
)  # fmt: skip
thrust_exponent_high = _setting(
    "thrust_exponent_high", "Thrust as a power of speed, highest", "", 2.3, (1, 4), "2.0 to 2.15 is usual.",
    published("UIUC Propeller Data Site, 9x6.75: 2.08"),
)  # fmt: skip
power_exponent_low = _setting(
    "power_exponent_low", "Shaft power as a power of speed, lowest", "", 2.6, (1, 4), "2.85 to 3.05 is usual.",
    published("UIUC Propeller Data Site, 9x6.75: 2.90"),
)  # fmt: skip
power_exponent_high = _setting(
    "power_exponent_high", "Shaft power as a power of speed, highest", "", 3.3, (1, 5), "2.85 to 3.05 is usual.",
    published("UIUC Propeller Data Site, 9x6.75: 2.90"),
)  # fmt: skip
current_exponent_low = _setting(
    "current_exponent_low", "Current as a power of thrust, lowest", "", 1.15, (0.5, 3), "1.25 to 1.65 is usual.",
    worked_out("ideal power goes as thrust to the power 1.5"),
)  # fmt: skip
current_exponent_high = _setting(
    "current_exponent_high", "Current as a power of thrust, highest", "", 1.8, (0.5, 3), "1.25 to 1.65 is usual.",
    worked_out("ideal power goes as thrust to the power 1.5"),
)  # fmt: skip
kv_tolerance = _setting(
    "kv_tolerance", "Kv label tolerance", "%", 5, (0, 50), "Allowance for the printed Kv.", practice(),
)  # fmt: skip
resistance_spread_limit = _setting(
    "resistance_spread_limit", "Winding resistance spread between pairs, largest usual", "%", 5, (0, 100),
    "More points to a bad joint or a lost strand.", Source(practice().standing, "from memory"),
)  # fmt: skip
silicone_density = _setting(
    "silicone_density", "Density of silicone insulation", "g/cm³", 1.2, (0.8, 2),
    "For the estimate of lead mass.", Source(practice().standing, "1.15 to 1.35, from memory"),
)  # fmt: skip
lead_mass_tolerance = _setting(
    "lead_mass_tolerance", "Lead mass tolerance", "%", 15, (0, 60),
    "Wall thickness differs between makes of wire.", Source(practice().standing, "from memory"),
)  # fmt: skip
headline_thrust = _setting(
    "headline_thrust", "Thrust for the efficiency headline", "g", 500, (1, 100000),
    "Grams per watt are compared at equal thrust, since they fall with load by themselves.", MOMENTUM_THEORY,
)  # fmt: skip
widest_gap = _setting(
    "widest_gap", "Interpolation: largest thrust over smallest, between neighbours", "", 2.5, (1.05, 20),
    "No figure at a round thrust is given across a wider gap between readings.", practice(),
)  # fmt: skip
score_limit = _setting(
    "score_limit", "Modified z-score, largest usual", "", 3.5, (1, 20),
    "Beyond this a reading is flagged against the robust line of its cell count.", IGLEWICZ_HOAGLIN,
)  # fmt: skip
outlier_significance = _setting(
    "outlier_significance", "Significance of the repeat tests", "%", 5, (0.1, 50),
    "For Grubbs' test on repeats and the generalized ESD test on larger groups.", GRUBBS,
)  # fmt: skip
slip_tolerance = _setting(
    "slip_tolerance", "Decimal slip: largest misfit after shifting by ten", "%", 30, (1, 90),
    "A reading that fits its group within this after shifting by ten is called a slip.", practice(),
)  # fmt: skip
ladder_tolerance = _setting(
    "ladder_tolerance", "Order of readings: smallest wrong step flagged", "%", 5, (0, 50),
    "Larger propellers draw more, peaks lie above steady readings: steps the other way beyond this are flagged.",
    practice(),
)  # fmt: skip

thrust_speed_power = _setting(
    "thrust_speed_power", "Thrust goes with speed to the power", "", 2.05, (1.8, 2.4),
    "Carries a measured thrust to another speed of the same propeller.",
    published("UIUC Propeller Data Site, static rows of 12 propellers above 0.4 of their top speed: median 2.05"),
)  # fmt: skip
prediction_thrust_least = _setting(
    "prediction_thrust_least", "Prediction: least range on thrust, ±", "%", 3, (0, 50),
    "However well the trials went.", practice(),
)  # fmt: skip
prediction_current_least = _setting(
    "prediction_current_least", "Prediction: least range on current, ±", "%", 4, (0, 50),
    "However well the trials went.", practice(),
)  # fmt: skip
prediction_thrust_default = _setting(
    "prediction_thrust_default", "Prediction: range on thrust where nothing could be tried, ±", "%", 8, (0, 80),
    "No propeller was tested at two cell counts.", practice(),
)  # fmt: skip
prediction_current_default = _setting(
    "prediction_current_default", "Prediction: range on current where nothing could be tried, ±", "%", 10, (0, 80),
    "No propeller was tested at two cell counts.", practice(),
)  # fmt: skip
prediction_thrust_blind = _setting(
    "prediction_thrust_blind", "Prediction: least range on thrust where no speed was read, ±", "%", 10, (0, 80),
    "The exponents are then assumed, not measured.", worked_out("speed ratios of 0.60 to 0.85, a third more volts"),
)  # fmt: skip
prediction_current_blind = _setting(
    "prediction_current_blind", "Prediction: least range on current where no speed was read, ±", "%", 12, (0, 80),
    "The exponents are then assumed, not measured.", worked_out("speed ratios of 0.60 to 0.85, a third more volts"),
)  # fmt: skip
usable_capacity = _setting(
    "usable_capacity", "Usable share of a pack's capacity", "%", 80, (10, 100),
    "The rest stays in for the pack's sake.", practice(),
)  # fmt: skip
avionics_power = _setting(
    "avionics_power", "Power of everything but the motors", "W", 5, (0, 1000),
    "Receiver, controller, camera and links.", practice(),
)  # fmt: skip
hover_gap = _setting(
    "hover_gap", "Hover: largest thrust over smallest, between neighbours", "", 3, (1.05, 20),
    "No hover figure is given across a wider gap between readings.",
    worked_out("power goes nearly as a power of thrust; on a simulated motor within 4 % across such a gap"),
)  # fmt: skip
hover_range = _setting(
    "hover_range", "Hover throttle and current: range, ±", "%", 5, (0, 80), "Of reading off between two readings.",
    worked_out("4 % of interpolating across the widest gap, and the scatter of two readings"),
)  # fmt: skip
flight_time_range = _setting(
    "flight_time_range", "Flight time: range, ±", "%", 15, (0, 80),
    "A hover time from a static table is worse than from the craft itself.", FROM_MEMORY,
)  # fmt: skip


def _lift_ratio(place: int, value: float) -> Named:
    return _setting(
        f"lift_ratio_{place}", f"Thrust over weight, hovering craft, class {place}", "", value, (1, 30),
        "Static thrust at full throttle over the weight of the whole craft.", practice("2 to 12 are spoken of"),
    )  # fmt: skip


def _wing_ratio(place: int, value: float) -> Named:
    return _setting(
        f"wing_ratio_{place}", f"Thrust over weight, fixed wing, class {place}", "", value, (0.1, 5),
        "Static thrust at full throttle over the weight of the whole craft.", FROM_MEMORY,
    )  # fmt: skip


lift_ratios = tuple(_lift_ratio(place, value) for place, value in enumerate((2, 3, 5, 8, 12), start=1))
wing_ratios = tuple(_wing_ratio(place, value) for place, value in enumerate((0.5, 0.8, 1, 1.5), start=1))

# --- uncertainty -----------------------------------------------------------------------------------------

assumed_thrust_accuracy = _setting(
    "assumed_thrust_accuracy", "Thrust accuracy where Bench leaves it blank, ±", "%", 0.5, (0, 20),
    "Of the largest thrust read.", FROM_MEMORY,
)  # fmt: skip
assumed_voltage_accuracy = _setting(
    "assumed_voltage_accuracy", "Voltage accuracy where Bench leaves it blank, ±", "%", 0.5, (0, 20), "Of reading.",
    FROM_MEMORY,
)  # fmt: skip
assumed_current_accuracy = _setting(
    "assumed_current_accuracy", "Current accuracy where Bench leaves it blank, ±", "%", 1.5, (0, 20), "Of reading.",
    FROM_MEMORY,
)  # fmt: skip
assumed_speed_accuracy = _setting(
    "assumed_speed_accuracy", "Speed accuracy where Bench leaves it blank, ±", "%", 0.2, (0, 20), "Of reading.",
    FROM_MEMORY,
)  # fmt: skip
torque_accuracy = _setting(
    "torque_accuracy", "Torque accuracy, ±", "%", 2, (0, 50), "Of reading, arm and cross-talk included.", FROM_MEMORY
)  # fmt: skip
resistance_accuracy = _setting(
    "resistance_accuracy", "Resistance accuracy, ±", "%", 1, (0, 50), "Of a four-wire reading.", FROM_MEMORY
)  # fmt: skip
diameter_accuracy = _setting(
    "diameter_accuracy", "Propeller diameter, ±", "%", 0.5, (0, 20), "Moulded against named.", FROM_MEMORY
)  # fmt: skip
mass_accuracy = _setting("mass_accuracy", "Motor mass accuracy, ±", "g", 0.2, (0, 20), "Scale and leads.", FROM_MEMORY)
density_accuracy = _setting(
    "density_accuracy", "Air density, ±, where the air was read", "%", 0.5, (0, 20), "1 K, 1 hPa, 10 % humidity.",
    worked_out("1 K is 0.34 %, 1 hPa 0.1 %"),
)  # fmt: skip
assumed_density_accuracy = _setting(
    "assumed_density_accuracy", "Air density, ±, where the air was not read", "%", 8, (0, 50),
    "Low places from cold to hot days; an altitude of 1000 m alone takes 9 %.", FROM_MEMORY,
)  # fmt: skip
model_accuracy = _setting(
    "model_accuracy", "Shaft power from the motor model, ±", "%", 5, (0, 50),
    "How far the model itself may be off, beside what its inputs are.", practice("5 to 10 % is spoken of"),
)  # fmt: skip
default_scatter = _setting(
    "default_scatter", "Scatter of a repeat until enough were read", "%", 1.5, (0, 50),
    "Standard deviation of one reading, for every figure alike.", practice("0.5 to 1.5 % with the propeller remounted"),
)  # fmt: skip
default_freedom = _setting(
    "default_freedom", "Degrees of freedom of that scatter", "", 8, (1, 1000),
    "Eight for a scatter known to a quarter of itself.", published("GUM (JCGM 100:2008) G.4.2: ν = (Δu/u)^-2 / 2"),
)  # fmt: skip
least_repeats = _setting(
    "least_repeats", "Repeats that replace that scatter, at least", "", 6, (1, 1000),
    "A repeat is a reading beyond the first with the same propeller, cells, kind and throttle.", practice(),
)  # fmt: skip
coverage = _setting(
    "coverage", "Level of confidence of “±”", "%", 95, (50, 99.9), "Of expanded uncertainties and verdicts.",
    published("GUM (JCGM 100:2008) 6.2.2: as large a part of what could reasonably be attributed"),
)  # fmt: skip
zero_shift_limit = _setting(
    "zero_shift_limit", "Zero of the thrust stand: largest usual shift", "%", 0.2, (0.01, 10),
    "Of the largest thrust read, since the range of the cell is not known.", FROM_MEMORY,
)  # fmt: skip
_SHOWN = definition("a choice of what is shown")
budget_row = _setting(
    "budget_row", "Budget shown: row of Summary", "", 1, (1, 10000),
    "Propeller and cell count whose budget the sheet Uncertainty shows.", _SHOWN,
)  # fmt: skip
BUDGET_FIGURES = (
    "thrust", "current", "power", "thrust per power", "thrust per current", "hover efficiency", "figure of merit", "Kv",
    "resistance under load",
)  # fmt: skip
budget_figure = SETTINGS.input(
    Field(
        "budget_figure", "Budget shown: figure", "", "Figure whose budget the sheet Uncertainty shows.", kind="choice",
        choices=BUDGET_FIGURES, required=True, default="thrust per power", source=_SHOWN,
    )
)  # fmt: skip

ESC_SIZES = Table(
    "EscSizes", "Continuous ratings in which ESCs are sold.",
    rows=tuple(
        {"esc_size": float(size)}
        for size in (6, 10, 12, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 100, 120, 150)
    ),
)  # fmt: skip
esc_size = ESC_SIZES.input(
    Field("esc_size", "ESC size", "A", "Continuous rating.", low=1, high=1000, required=True, source=practice())
)

ROUND_THRUSTS = Table(
    "RoundThrusts", "Thrusts at which grams per watt are compared, six of them.",
    rows=tuple({"round_thrust": float(thrust)} for thrust in (100, 250, 500, 750, 1000, 1500)),
)  # fmt: skip
round_thrust = ROUND_THRUSTS.input(
    Field("round_thrust", "Round thrust", "g", "Compared at equal thrust.", low=1, high=100000, required=True,
          source=practice())
)  # fmt: skip
