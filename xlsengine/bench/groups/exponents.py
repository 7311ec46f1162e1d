"""Thrust, shaft power and current as powers of speed and thrust, over the steady readings of one group."""

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.declaring.grouped_line import GroupedLine, slope_deviation
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.judging.counting import sound
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.propagation.terms import coverage_factor
from xlsengine.expression import Column, Condition, Named, Node, call, join, say
from xlsengine.sources import GUM_FREEDOM, worked_out

_fit = worked_out("least squares in logarithms")

EXPONENTS = Table(
    "Exponents",
    "One row for each propeller and cell count: exponents over its unflagged steady readings.",
    spare=g.SUMMARY.spare,
    per=(r.group_first,),
    source=_fit,
)
LEAST_ROWS = 4
LEAST_SPREAD = 0.1**2
"""Variance of the logarithms below which readings (a factor of about 1.3 from end to end) give no exponent."""
TOO_FEW = "not judged: fewer than four unflagged steady readings, or loads too close together"


def _logarithm(value: Node, scale: float) -> Node:
    """Take the natural logarithm over a round scale, which keeps the sums small."""
    return (value > 0).where((value / scale).ln())


ln_thrust = r.READINGS.helper("ln_thrust", "ln thrust, unflagged steady readings").derive(
    sound.where(r.kind_taken.equals(r.STEADY).where((r.current > 0).where((r.thrust / 500).ln()))), "Over 500 g."
)
ln_current = r.READINGS.helper("ln_current", "ln current, unflagged steady readings").derive(
    ln_thrust.present().where((r.current / 10).ln())
)
ln_speed = t.SPEED_FIGURES.helper("ln_speed", "ln speed").derive(_logarithm(t.speed, 10000))
ln_force = t.SPEED_FIGURES.helper("ln_force", "ln thrust").derive(_logarithm(t.force, 5), "Over 5 N.")
ln_shaft = t.SPEED_FIGURES.helper("ln_shaft", "ln shaft power").derive(
    _logarithm((t.torque > 0).where(f.shaft_power), 100), "Over 100 W."
)


def _with_speed(name: str, label: str, y: Column) -> Column:
    kept = t.STEADY_AND_SOUND.equals(1) & ln_speed.present() & y.present()
    return t.SPEED_FIGURES.helper(name, f"Group, {label}").derive(kept.where(t.group), "Blank in rows left out.")


first_row = EXPONENTS.starts(r.group_first, "exponent")
prop = EXPONENTS.take(r.prop, "exponent_prop")
cells = EXPONENTS.take(r.cells, "exponent_cells")


def _exponent(
    name: str, label: str, line: tuple[Column, Column, Column], band: tuple[Named, Named], causes: str
) -> tuple[Column, Node]:
    """Derive an exponent and its expanded uncertainty, of y against x in the rows of a group.

    Return it, and what is said where it lies outside its band: nothing where it does not.
    """
    x, y, group = line
    fitted = GroupedLine(x, y, (Condition(group, "=", first_row),))
    drawn = (fitted.count >= LEAST_ROWS) & (fitted.spread >= LEAST_SPREAD)
    exponent = EXPONENTS.column(name, label, decimals=2).derive(
        drawn.where(fitted.slope),
        "Over throttle steps; blank with fewer than four readings or where they lie close together.",
    )
    count = EXPONENTS.helper(f"{name}_rows", f"{label}: readings", decimals=4).derive(fitted.count)
    explained = EXPONENTS.helper(f"{name}_explained", f"{label}: r²", decimals=4).derive(fitted.explained(exponent))
    EXPONENTS.column(f"{name}_expanded", f"{label}, ±", decimals=2).derive(
        coverage_factor(count - 2) * slope_deviation(exponent, explained, count),
        "Expanded uncertainty by the scatter about the line; errors that are a share of every reading leave it alone.",
        GUM_FREEDOM,
    )
    low, high = band
    sentence = say("{} outside {:.2f} to {:.2f}{}", label, low, high, f": {causes}. ")
    return exponent, ((exponent < low) | (exponent > high)).where(sentence, "").otherwise("")


_of_thrust, _thrust_said = _exponent(
    *("thrust_exponent", "Thrust as a power of speed"),
    (ln_speed, ln_force, _with_speed("thrust_exponent_group", "thrust as a power of speed", ln_force)),
    (s.thrust_exponent_low, s.thrust_exponent_high),
    "speed reading, recirculation, a flexing propeller or creep",
)
_of_power, _power_said = _exponent(
    *("power_exponent", "Shaft power as a power of speed"),
    (ln_speed, ln_shaft, _with_speed("power_exponent_group", "shaft power as a power of speed", ln_shaft)),
    (s.power_exponent_low, s.power_exponent_high),
    "speed or torque reading, recirculation",
)
CURRENT_EXPONENT, _current_said = _exponent(
    *("current_exponent", "Current as a power of thrust"),
    (ln_thrust, ln_current, r.group),
    (s.current_exponent_low, s.current_exponent_high),
    "offset of the amps, tare, or heat",
)
_any = _of_thrust.present() | _of_power.present() | CURRENT_EXPONENT.present()
_said = call("trim", join(_thrust_said, _power_said, _current_said))
exponent_verdict = EXPONENTS.column("exponent_verdict", "Verdict").derive(
    first_row.present().where(_said.otherwise(_any.where("inside the usual bands", TOO_FEW)), "")
)
CURRENT_EXPONENT_EXPANDED = Column(EXPONENTS.name, f"{CURRENT_EXPONENT.name}_expanded")
EXPONENTS.keep(CURRENT_EXPONENT, current_exponent_uncertainty=CURRENT_EXPONENT_EXPANDED)
