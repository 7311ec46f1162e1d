"""What a reading with a speed gives: propeller coefficients, shaft power, efficiencies, and where the watts went."""

from __future__ import annotations

import math

from xlsengine.bench import speed_rows as t
from xlsengine.bench.conditions import air_density
from xlsengine.bench.motor_model import (
    best_kv,
    line_intercept,
    line_kv,
    line_mean,
    line_rows,
    line_slope,
    line_speed,
    line_spread,
    model_resistance,
)
from xlsengine.bench.no_load import no_load_at
from xlsengine.bench.readings import hover_efficiency as hover_efficiency_read
from xlsengine.bench.readings import propeller_key
from xlsengine.bench.readings import tip_mach as tip_mach_read
from xlsengine.expression import BLANK, Aggregate, Column, Node
from xlsengine.sources import (
    FIRST_ORDER_MOTOR,
    MOMENTUM_THEORY,
    PROPELLER_COEFFICIENTS,
    Source,
    definition,
    worked_out,
)
from xlsengine.units import INCH

MEASURED, MODELLED = "measured", "modelled"
LEAST_ROWS_TO_JUDGE = 6
_derive = t.derive


tip_speed = _derive(
    "tip_speed", "Tip speed", "v_tip", "m/s", 0, math.pi * t.diameter * t.revolutions, "Of the blades.", definition()
)
tip_mach = t.taken(tip_mach_read)
pitch_speed = _derive(
    "pitch_speed", "Pitch speed", "v_p", "m/s", 1, t.pitch * INCH * t.revolutions,
    "Pitch times speed: a loose upper bound on flight speed.", definition(),
)  # fmt: skip
own_speed_ratio = _derive(
    "own_speed_ratio", "Speed over measured Kv times volts", "x_m", "", 3,
    t.masked(t.FULL, t.speed / (best_kv * t.voltage)), "At full throttle; 0.60 to 0.85 is usual.", definition(),
)  # fmt: skip
thrust_coefficient = _derive(
    "thrust_coefficient", "Thrust coefficient", "CT", "", 4,
    t.force / (air_density * t.revolutions**2 * t.diameter**4), "Static.", PROPELLER_COEFFICIENTS,
)  # fmt: skip
shaft_power = _derive(
    "shaft_power", "Shaft power", "P_s", "W", 1,
    t.masked(
        t.speed > 0,
        t.torque.present().where(
            t.torque * t.angular(t.speed),
            t.masked(t.FULL, (t.current - no_load_at(t.speed)) * t.speed / best_kv),
        ),
    ),
    "Torque times speed where torque was read; else, at full throttle only, the current above the no-load current "
    "times the back-EMF n/Kv: an estimate, good to 5 or 10 %.", FIRST_ORDER_MOTOR,
)  # fmt: skip
shaft_basis = _derive(
    "shaft_basis", "Shaft power is", "", "", 0,
    shaft_power.present().where(t.torque.present().where(MEASURED, MODELLED), ""),
    "Measured by torque, or modelled from the motor's constants.", definition(),
)  # fmt: skip
power_coefficient = _derive(
    "power_coefficient", "Power coefficient", "CP", "", 4,
    shaft_power / (air_density * t.revolutions**3 * t.diameter**5), "Static; of the shaft power.",
    PROPELLER_COEFFICIENTS,
)  # fmt: skip
figure_of_merit = _derive(
    "figure_of_merit", "Figure of merit", "FM", "", 3,
    (t.force > 0).where(
        math.sqrt(2 / math.pi) * (thrust_coefficient**1.5 / (power_coefficient > 0).where(power_coefficient, BLANK)),
        BLANK,
    ),
    "The propeller's own efficiency when static: ideal over shaft power, √(2/π)·CT^1.5/CP.", MOMENTUM_THEORY,
)  # fmt: skip
motor_efficiency = _derive(
    "motor_efficiency", "Motor and ESC efficiency", "η_m", "", 3, shaft_power / t.power,
    "Shaft power over electrical power where volts were read.", definition(),
)  # fmt: skip
hover_efficiency = t.taken(hover_efficiency_read)

# --- where the watts went ----------------------------------------------------------------------------------

motor_current = t.helps(
    "motor_current", "Motor current",
    t.FULL.where(t.current, t.torque * t.angular(best_kv) + no_load_at(t.speed)),
    "Battery current at full throttle; else what the torque needs, and the no-load current.", FIRST_ORDER_MOTOR, "I_m",
)  # fmt: skip


def _watts(name: str, label: str, symbol: str, expression: Node, meaning: str, source: Source) -> Column:
    return _derive(name, label, symbol, "W", 1, expression, meaning, source)


copper_loss = _watts(
    "copper_loss", "Lost in copper and ESC", "P_Cu", motor_current**2 * model_resistance / 1000,
    "Motor current squared times the resistance from loaded readings, or the winding's.", FIRST_ORDER_MOTOR,
)  # fmt: skip
iron_loss = _watts(
    "iron_loss", "Lost in iron and friction", "P_Fe",
    t.masked(t.speed > 0, no_load_at(t.speed) * t.speed / best_kv),
    "No-load current at this speed times the back-EMF.", FIRST_ORDER_MOTOR,
)  # fmt: skip
propeller_loss = _watts(
    "propeller_loss", "Lost by the propeller", "P_prop", shaft_power * (1 - figure_of_merit),
    "Shaft power less the ideal power of the disk.", MOMENTUM_THEORY,
)  # fmt: skip
ideal_power = _watts(
    "ideal_power", "Ideal power", "P_id", shaft_power * figure_of_merit, "What the thrust needs of an ideal disk.",
    MOMENTUM_THEORY,
)  # fmt: skip
unexplained = _watts(
    "unexplained", "Unexplained", "P_rest", t.power - shaft_power - copper_loss - iron_loss,
    "Electrical power less shaft power, copper and iron: how well the split closes; at part throttle the ESC's share.",
    worked_out("sum of the parts"),
)  # fmt: skip

# --- against the motor's own line --------------------------------------------------------------------------


def _left_out() -> Node:
    """Return the line's speed per volt at this row's load, as the other rows give it."""
    load = t.current / t.voltage
    expected = line_intercept + line_slope * load
    leverage = 1 / line_rows + (load - line_mean) ** 2 / line_spread
    residual = t.speed / t.voltage - expected
    own = t.speed / t.voltage - residual / (1 - leverage)
    return line_speed.present().where(own, expected)


line_ratio = _derive(
    "line_ratio", "Speed over the loaded line", "r_l", "", 3,
    t.masked(
        t.FULL & line_kv.present() & (line_rows >= LEAST_ROWS_TO_JUDGE), t.speed / t.voltage / _left_out()
    ),
    "At full throttle, against the loaded line drawn without this row; at least six rows.", FIRST_ORDER_MOTOR,
)  # fmt: skip

# --- one propeller's coefficient against its others --------------------------------------------------------

prop_key = t.helps("own_prop_key", "Propeller key", t.used.equals(1).where(propeller_key(t.prop), ""), "Of used rows.")
prop_number = t.helps(
    "prop_number", "Propeller", prop_key.present().where(Aggregate("text position", (prop_key,), (), prop_key), BLANK),
    "First used row with the same propeller.",
)  # fmt: skip
prop_first = t.helps(
    "prop_first", "First of propeller", prop_number.equals(t.row).where(t.row, BLANK),
    "Set in the first used row of a propeller.",
)  # fmt: skip
full_coefficient = t.helps(
    "full_coefficient", "Thrust coefficient, full throttle",
    ((t.point > 0) & (t.speed > 0)).where(thrust_coefficient, 0.0).otherwise(0.0),
    "Of rows that count; 0 in others.", PROPELLER_COEFFICIENTS,
)  # fmt: skip
