"""Limits of the checks (a row by itself, rows against each other, the motor, the propellers), and of a motor's class."""

from xlsengine.bench.inputs.topics import Topic
from xlsengine.sources import FROM_MEMORY, GRUBBS, IGLEWICZ_HOAGLIN, Source, practice, published, worked_out

_ROWS = Topic("Flags: each reading on its own")
cell_voltage_high = _ROWS.setting("cell_voltage_high", "Volts per cell, highest plausible", "V", 4.25, (3, 6)).means(
    "Above this a reading of an ordinary lithium polymer pack is doubtful.", practice()
)
cell_voltage_most = _ROWS.setting("cell_voltage_most", "Volts per cell, highest possible", "V", 4.40, (3, 6)).means(
    "Above this no pack can be, high-voltage ones included.", practice()
)
cell_voltage_low = _ROWS.setting(
    "cell_voltage_low", "Volts per cell, lowest plausible under load", "V", 3.0, (0.5, 4)
).means("Below this the pack is flat or the cell count is wrong.", practice())
efficiency_high = _ROWS.setting(
    "efficiency_high", "Overall static efficiency, highest plausible", "", 0.70, (0.3, 1)
).means(
    "Ideal hover power over electrical power; 0.25 to 0.60 is usual.",
    worked_out("figure of merit below 0.8 times motor and ESC efficiency below 0.85"),
)
efficiency_low = _ROWS.setting(
    "efficiency_low", "Overall static efficiency, lowest plausible at full throttle", "", 0.15, (0, 0.6)
).means(
    "Below this a unit, a decimal or the diameter is usually wrong.",
    worked_out("half of the usual 0.25 to 0.60, rounded"),
)
efficiency_least = _ROWS.setting(
    "efficiency_least", "Overall static efficiency, lowest possible at full throttle", "", 0.03, (0, 0.3)
).means(
    "Below this nothing that turns can be: a propeller put on backwards still gives twice as much.",
    practice("thrust slipped by ten leaves 0.01 to 0.02, ounces taken for grams 0.002 to 0.004"),
)
speed_ratio_high = _ROWS.setting(
    "speed_ratio_high", "Speed ratio n/(Kv·V), highest plausible", "", 0.97, (0.5, 1.5)
).means("A loaded motor turns slower than Kv times volts.", practice("loaded motors run at 0.60 to 0.85"))
speed_ratio_low = _ROWS.setting(
    "speed_ratio_low", "Speed ratio n/(Kv·V), lowest plausible at full throttle", "", 0.50, (0, 1)
).means("Below this the motor is overloaded, or the poles, the label or the cells are wrong.", practice())
tip_mach_high = _ROWS.setting("tip_mach_high", "Tip Mach number, highest usual", "", 0.70, (0.3, 1.2)).means(
    "Above this drag and noise climb.", Source(practice().standing, "from memory")
)
case_temperature_high = _ROWS.setting(
    "case_temperature_high", "Motor temperature, highest usual", "°C", 80, (40, 200)
).means("Magnets weaken when hot and thrust reads low; the maker's limit takes precedence.", practice())
figure_of_merit_high = _ROWS.setting(
    "figure_of_merit_high", "Figure of merit, highest plausible", "", 0.80, (0.3, 1)
).means(
    "0.40 to 0.70 is usual for small propellers.",
    published(
        "UIUC Propeller Data Site, static rows of 12 propellers: medians 0.34 to 0.71, one row of 215 above 0.80"
    ),
)

_AGAINST = Topic("Flags: comparisons between readings")
score_limit = _AGAINST.setting("score_limit", "Modified z-score, largest usual", "", 3.5, (1, 20)).means(
    "Beyond this a reading is flagged against the robust line of its cell count.", IGLEWICZ_HOAGLIN
)
outlier_significance = _AGAINST.setting(
    "outlier_significance", "Significance of the repeat tests", "%", 5, (0.1, 50)
).means("For Grubbs' test on repeats and the generalized ESD test on larger groups.", GRUBBS)
slip_tolerance = _AGAINST.setting(
    "slip_tolerance", "Decimal slip: largest misfit after shifting by ten", "%", 30, (1, 90)
).means("A reading that fits its group within this after shifting by ten is called a slip.", practice())
ladder_tolerance = _AGAINST.setting(
    "ladder_tolerance", "Order of readings: smallest wrong step flagged", "%", 5, (0, 50)
).means(
    "Larger propellers draw more, peaks lie above steady readings: steps the other way beyond this are flagged.",
    practice(),
)
thrust_coefficient_limit = _AGAINST.setting(
    "thrust_coefficient_limit", "Thrust coefficient, farthest from the propeller's median", "%", 15, (1, 60)
).means(
    "At full throttle; there the coefficient moves by a few % with speed.",
    published("UIUC Propeller Data Site: 10x4.7 grows 23 % from 2,400 to 6,500 rpm"),
)

_MOTOR = Topic("Motor: Kv, resistance and line under load")
kv_tolerance = _MOTOR.setting("kv_tolerance", "Kv label tolerance", "%", 5, (0, 50)).means(
    "Allowance for the printed Kv.", practice()
)
resistance_spread_limit = _MOTOR.setting(
    "resistance_spread_limit", "Winding resistance spread between pairs, largest usual", "%", 5, (0, 100)
).means("More points to a bad joint or a lost strand.", Source(practice().standing, "from memory"))
diode_drop = _MOTOR.setting("diode_drop", "Voltage lost in one rectifier diode", "V", 0.6, (0, 1.5)).means(
    "A bridge has two in the path; for driven spins read behind a bridge.", practice("silicon at small currents")
)
line_load_range = _MOTOR.setting(
    "line_load_range",
    "Kv line (rpm/V against A/V at full throttle): largest load over smallest, at least",
    "",
    1.2,
    (1, 5),
).means("Load is amps over volts; no Kv is taken from readings that are all alike.", practice())
line_residual_limit = _MOTOR.setting("line_residual_limit", "Kv line: largest usual scatter", "%", 2, (0.1, 20)).means(
    "Residual standard deviation over Kv.", worked_out("0.5 % in volts, 1.5 % in amps, and warmth")
)
line_warmth = _MOTOR.setting(
    "line_warmth", "Kv line: winding warmer at the largest load than at the smallest, by up to", "K", 30, (0, 150)
).means(
    "Warm copper bends the line and makes its Kv high; this much of it is counted as uncertainty.",
    Source(practice().standing, "from memory"),
)
line_misfit_limit = _MOTOR.setting(
    "line_misfit_limit", "Kv line: farthest that one reading may lie off", "%", 6, (0.5, 30)
).means("Cold peaks lie a few % above the line of steady readings.", practice())
pole_tolerance = _MOTOR.setting("pole_tolerance", "Wrong pole count: nearness to 7/6 or 6/7", "%", 2.5, (0.1, 6)).means(
    "12 and 14 magnets are taken for each other.", worked_out("ratio of pole pairs")
)

_PROPELLERS = Topic("Propellers and supply")
grams_per_amp_limit = _PROPELLERS.setting(
    "grams_per_amp_limit", "Grams per amp of one propeller across cell counts, farthest apart", "%", 7, (1, 60)
).means("At full throttle it is nearly the same at every voltage.", worked_out("T/I = 2π·Kt·CT/(CP·D)"))
thrust_exponent_low = _PROPELLERS.setting(
    "thrust_exponent_low", "Thrust as a power of speed, lowest", "", 1.9, (1, 3)
).means("2.0 to 2.15 is usual.", published("UIUC Propeller Data Site, 9x6.75: 2.08"))
thrust_exponent_high = _PROPELLERS.setting(
    "thrust_exponent_high", "Thrust as a power of speed, highest", "", 2.3, (1, 4)
).means("2.0 to 2.15 is usual.", published("UIUC Propeller Data Site, 9x6.75: 2.08"))
power_exponent_low = _PROPELLERS.setting(
    "power_exponent_low", "Shaft power as a power of speed, lowest", "", 2.6, (1, 4)
).means("2.85 to 3.05 is usual.", published("UIUC Propeller Data Site, 9x6.75: 2.90"))
power_exponent_high = _PROPELLERS.setting(
    "power_exponent_high", "Shaft power as a power of speed, highest", "", 3.3, (1, 5)
).means("2.85 to 3.05 is usual.", published("UIUC Propeller Data Site, 9x6.75: 2.90"))
current_exponent_low = _PROPELLERS.setting(
    "current_exponent_low", "Current as a power of thrust, lowest", "", 1.15, (0.5, 3)
).means("1.25 to 1.65 is usual.", worked_out("ideal power goes as thrust to the power 1.5"))
current_exponent_high = _PROPELLERS.setting(
    "current_exponent_high", "Current as a power of thrust, highest", "", 1.8, (0.5, 3)
).means("1.25 to 1.65 is usual.", worked_out("ideal power goes as thrust to the power 1.5"))
supply_resistance_high = _PROPELLERS.setting(
    "supply_resistance_high", "Resistance of pack and leads, highest usual", "mΩ", 40, (1, 500)
).means("5 to 40 mΩ is usual.", practice())

_COMPARISON = Topic("Comparison with motors of its class")
class_size_band = _COMPARISON.setting(
    "class_size_band", "Class: stator diameter and height differ by at most", "mm", 0.5, (0, 10)
).means("Motors of the same stator size are compared; labels round it to whole or half millimetres.", practice())
class_kv_band = _COMPARISON.setting("class_kv_band", "Class: labelled Kv differs by at most", "%", 10, (0, 100)).means(
    "A motor of another Kv takes another propeller.", FROM_MEMORY
)
least_for_percentile = _COMPARISON.setting(
    "least_for_percentile", "Percentile from this many peers up", "", 8, (2, 1000)
).means("Below it the place is told as 3rd of 6.", FROM_MEMORY)
