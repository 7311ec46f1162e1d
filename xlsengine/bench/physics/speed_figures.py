"""What a reading with a speed gives: propeller coefficients, shaft power, efficiencies, and where the watts went.

And one propeller's thrust coefficient across voltages, with each reading against it.
"""

import math

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs.conditions import air_density
from xlsengine.bench.inputs.no_load import no_load_at
from xlsengine.bench.inputs.readings import hover_efficiency as hover_efficiency_read
from xlsengine.bench.inputs.readings import tip_mach as tip_mach_read
from xlsengine.bench.judging.counting import IMPOSSIBLE, OVERRULED, SPEED_TOLD
from xlsengine.bench.physics import motor_model as m
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.physics.group_rows import first_row, own_place, prop, prop_first
from xlsengine.expression import Condition, Constant
from xlsengine.sources import FIRST_ORDER_MOTOR, MOMENTUM_THEORY, PROPELLER_COEFFICIENTS, definition, worked_out
from xlsengine.units import INCH

MEASURED, MODELLED = "measured", "modelled"
LEAST_ROWS_TO_JUDGE = 6

tip_speed = t.SPEED_FIGURES.column("tip_speed", "Tip speed", "m/s", symbol="v_tip").derive(
    math.pi * t.diameter * t.revolutions, "Of the blades.", definition()
)
tip_mach = t.SPEED_FIGURES.take(tip_mach_read, "row_tip_mach")
pitch_speed = t.SPEED_FIGURES.column("pitch_speed", "Pitch speed", "m/s", symbol="v_p", decimals=1).derive(
    t.pitch * INCH * t.revolutions, "Pitch times speed: a loose upper bound on flight speed.", definition()
)
own_speed_ratio = t.SPEED_FIGURES.column(
    "own_speed_ratio", "Speed ratio n/(Kv·V) with measured Kv", symbol="x_m", decimals=3
).derive(t.FULL.where(t.speed / (m.best_kv * t.voltage)), "At full throttle; 0.60 to 0.85 is usual.", definition())
thrust_coefficient = t.SPEED_FIGURES.column("thrust_coefficient", "Thrust coefficient", symbol="CT", decimals=4).derive(
    t.force / (air_density * t.revolutions**2 * t.diameter**4), "Static.", PROPELLER_COEFFICIENTS
)
shaft_power = t.SPEED_FIGURES.column("shaft_power", "Shaft power", "W", symbol="P_s", decimals=1).derive(
    (t.speed > 0).where(
        t.torque.present().where(
            t.torque * t.angular(t.speed), t.FULL.where((t.current - no_load_at(t.speed)) * t.speed / m.best_kv)
        )
    ),
    "Torque times speed where torque was read; else, at full throttle only, the current above the no-load current "
    "times the back-EMF n/Kv: an estimate, good to 5 or 10 %.",
    FIRST_ORDER_MOTOR,
)
shaft_basis = t.SPEED_FIGURES.column("shaft_basis", "Shaft power is").derive(
    shaft_power.present().where(t.torque.present().where(MEASURED, MODELLED), "")
)
power_coefficient = t.SPEED_FIGURES.column("power_coefficient", "Power coefficient", symbol="CP", decimals=4).derive(
    shaft_power / (air_density * t.revolutions**3 * t.diameter**5),
    "Static; of the shaft power.",
    PROPELLER_COEFFICIENTS,
)
figure_of_merit = t.SPEED_FIGURES.column("figure_of_merit", "Figure of merit", symbol="FM", decimals=3).derive(
    (t.force > 0).where(
        math.sqrt(2 / math.pi) * (thrust_coefficient**1.5 / (power_coefficient > 0).where(power_coefficient))
    ),
    "The propeller's own efficiency when static: ideal over shaft power, √(2/π)·CT^1.5/CP.",
    MOMENTUM_THEORY,
)
motor_efficiency = t.SPEED_FIGURES.column(
    "motor_efficiency", "Motor and ESC efficiency", symbol="η_m", decimals=3
).derive(shaft_power / t.power, "Shaft power over electrical power where volts were read.", definition())
hover_efficiency = t.SPEED_FIGURES.take(hover_efficiency_read, "row_hover_efficiency")

# --- where the watts went ----------------------------------------------------------------------------------

motor_current = t.SPEED_FIGURES.helper("motor_current", "Motor current", symbol="I_m").derive(
    t.FULL.where(t.current, t.torque * t.angular(m.best_kv) + no_load_at(t.speed))
)

copper_loss = t.SPEED_FIGURES.column("copper_loss", "Copper and ESC losses", "W", symbol="P_Cu", decimals=1).derive(
    (t.speed > 0).where(motor_current**2 * m.model_resistance / 1000),
    "Motor current squared times the resistance from loaded readings, or the winding's.",
    FIRST_ORDER_MOTOR,
)
iron_loss = t.SPEED_FIGURES.column("iron_loss", "Iron and friction losses", "W", symbol="P_Fe", decimals=1).derive(
    (t.speed > 0).where(no_load_at(t.speed) * t.speed / m.best_kv),
    "No-load current at this speed times the back-EMF.",
    FIRST_ORDER_MOTOR,
)
propeller_loss = t.SPEED_FIGURES.column("propeller_loss", "Propeller losses", "W", symbol="P_prop", decimals=1).derive(
    shaft_power * (1 - figure_of_merit), "Shaft power less the ideal power of the disk.", MOMENTUM_THEORY
)
ideal_power = t.SPEED_FIGURES.column("ideal_power", "Ideal power", "W", symbol="P_id", decimals=1).derive(
    shaft_power * figure_of_merit, "What the thrust needs of an ideal disk.", MOMENTUM_THEORY
)
unexplained = t.SPEED_FIGURES.column("unexplained", "Unaccounted for", "W", symbol="P_rest", decimals=1).derive(
    t.power - shaft_power - copper_loss - iron_loss,
    "Electrical power less shaft power, copper and iron: how well the split closes; at part throttle the ESC's share.",
    worked_out("sum of the parts"),
)

# --- against the motor's own line --------------------------------------------------------------------------


_load, _per_volt = t.current / t.voltage, t.speed / t.voltage
_expected = m.line_intercept + m.line_slope * _load
_leverage = 1 / m.line_rows + (_load - m.line_mean) ** 2 / m.line_spread
_by_others = m.line_speed.present().where(_per_volt - (_per_volt - _expected) / (1 - _leverage), _expected)
"""The line's speed per volt at this row's load, as the other rows give it."""
line_ratio = t.SPEED_FIGURES.column("line_ratio", "Speed over the Kv line", symbol="r_l", decimals=3).derive(
    (t.FULL & m.line_kv.present() & (m.line_rows >= LEAST_ROWS_TO_JUDGE)).where(t.speed / t.voltage / _by_others),
    "At full throttle, against the Kv line drawn without this reading; at least six readings.",
    FIRST_ORDER_MOTOR,
)

# --- one propeller's coefficient against its others --------------------------------------------------------

_SPEED_TOLD = t.standing.equals(SPEED_TOLD)
"""Where a speed is known to be wrong, the coefficient says nothing."""

prop_number = t.SPEED_FIGURES.helper("prop_number", "Propeller").derive(
    ((t.COUNTS | t.standing.equals(IMPOSSIBLE)) & (t.speed > 0)).where(own_place.at(first_row.position(t.group)))
)
"""Row of Summary where it begins, of used rows with a speed."""
full_coefficient = t.SPEED_FIGURES.helper("full_coefficient", "Thrust coefficient, full throttle").derive(
    (t.COUNTS & t.FULL & (t.speed > 0) & ~_SPEED_TOLD).where(thrust_coefficient, 0.0).otherwise(0.0)
)
PROPELLERS = Table(
    "PropellerFigures",
    "One row for each propeller: what should be the same at every voltage.",
    spare=1,
    per=(prop_first,),
)
LEAST_COEFFICIENTS = 3

propeller_first = PROPELLERS.starts(prop_first, "propeller")
propeller = PROPELLERS.take(prop, "propeller_name")
_OF_PROPELLER = Condition(prop_number, "=", propeller_first)
_WITH_SPEED = Condition(full_coefficient, ">", Constant(0.0))
coefficient_rows = PROPELLERS.column("coefficient_rows", "Full-throttle readings with speed").derive(
    prop_number.count(_OF_PROPELLER, _WITH_SPEED), "In the median."
)


_upper, _lower = (
    full_coefficient.largest(_OF_PROPELLER, place=((coefficient_rows + beside) / 2).whole_part()) for beside in (1, 2)
)
median_coefficient = PROPELLERS.column(
    "median_coefficient", "Thrust coefficient, median", symbol="CT_med", decimals=4
).derive(
    (coefficient_rows > 0).where((_upper + _lower) / 2),
    "Of the full-throttle readings at every voltage.",
    PROPELLER_COEFFICIENTS,
)
_SOUND = (_OF_PROPELLER, _WITH_SPEED, Condition(t.standing, ">=", Constant(OVERRULED)))
sound_coefficients = PROPELLERS.helper(
    "sound_coefficients", "Full-throttle readings with speed and without a flag of their own"
).derive(prop_number.count(*_SOUND))


_largest, _smallest = (full_coefficient.largest(*_SOUND, place=place) for place in (1.0, sound_coefficients))
coefficient_spread = PROPELLERS.column(
    "coefficient_spread", "Thrust coefficient, largest over smallest, less one", "%"
).derive(
    (sound_coefficients > 1).where((_largest / _smallest - 1) * 100),
    "Of the readings that no flag of their own explains.",
    PROPELLER_COEFFICIENTS,
)
judged_by = PROPELLERS.helper("judged_by", "Thrust coefficient, judged by", decimals=4).derive(
    (coefficient_rows >= LEAST_COEFFICIENTS).where(median_coefficient)
)
_own_median = judged_by.at(propeller_first.position(prop_number))
coefficient_off = t.SPEED_FIGURES.column(
    "coefficient_off", "Thrust coefficient off the others of its propeller", "%", symbol="ΔCT"
).derive(
    (t.FULL & ~_SPEED_TOLD & (thrust_coefficient > 0)).where((thrust_coefficient / _own_median - 1) * 100),
    "At full throttle, where the propeller has at least three such readings.",
    PROPELLER_COEFFICIENTS,
)
