"""Straight lines by least squares through steady readings, written with sums that every program has.

Thrust, shaft power and current as powers of speed and thrust, in logarithms; and the sag of the supply.
"""

from dataclasses import dataclass

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.judging.counting import SOUND_ROWS, sound
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.physics.group_rows import cells_first
from xlsengine.bench.propagation.accuracies import AMMETER, VOLTMETER
from xlsengine.bench.propagation.terms import coverage_factor, expanded_by, sum_of_squares
from xlsengine.expression import Column, Condition, Constant, Named, Node, call, first_holding, join, say
from xlsengine.sources import GUM_FREEDOM, worked_out

STRAIGHT = 1e-6
"""Share of the variance of y beside the line below which it counts as none."""


def slope_deviation(slope: Node, explained: Node, count: Node) -> Node:
    """Return the standard uncertainty of a line's slope, |b|·√((1 − r²)/(r²·(n − 2))), with n − 2 degrees of freedom.

    Readings within a thousandth of the line count as on it, where programs would only disagree about rounding.
    """
    beside = (1 - explained > STRAIGHT).where(1 - explained, 0.0)
    return call("absolute", slope) * (beside / explained / (count - 2)).sqrt()


@dataclass(frozen=True)
class GroupedLine:
    """The line of `y` against `x`, two columns of a table, over the `rows` where both hold numbers, or neither does."""

    x: Column
    y: Column
    rows: tuple[Condition, ...]

    @property
    def count(self) -> Node:
        """Number of rows."""
        return self.x.count(*self.rows)

    @property
    def spread(self) -> Node:
        """Variance of x, with the number of rows as divisor."""
        return self._about_mean(self.x) / self.count

    @property
    def slope(self) -> Node:
        """Slope; blank where x does not vary."""
        shared = self._dot(self.x, self.y) - self.x.sum(*self.rows) * self._mean(self.y)
        return shared / self._about_mean(self.x)

    def intercept(self, slope: Node) -> Node:
        """Value at x = 0 of the line with this slope."""
        return self._mean(self.y) - slope * self._mean(self.x)

    def explained(self, slope: Node) -> Node:
        """Share of the variance of y that the line of this slope explains: r²."""
        return slope**2 * self._about_mean(self.x) / self._about_mean(self.y)

    def _about_mean(self, column: Column) -> Node:
        """Sum of squares about the mean."""
        return self._dot(column, column) - column.sum(*self.rows) * self._mean(column)

    def _mean(self, column: Column) -> Node:
        return column.mean(*self.rows)

    def _dot(self, one: Column, other: Column) -> Node:
        return one.dot(other, *self.rows)


# --- exponents over the throttle steps of one propeller and cell count --------------------------------------------

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
    sound.where(r.kind_taken.equals(r.STEADY).where((r.current > 0).where((r.thrust / 500).ln())))
)
ln_current = r.READINGS.helper("ln_current", "ln current, unflagged steady readings").derive(
    ln_thrust.present().where((r.current / 10).ln())
)
ln_speed = t.SPEED_FIGURES.helper("ln_speed", "ln speed").derive(_logarithm(t.speed, 10000))
ln_force = t.SPEED_FIGURES.helper("ln_force", "ln thrust").derive(_logarithm(t.force, 5))
ln_shaft = t.SPEED_FIGURES.helper("ln_shaft", "ln shaft power").derive(
    _logarithm((t.torque > 0).where(f.shaft_power), 100)
)


def _with_speed(name: str, label: str, y: Column) -> Column:
    kept = t.STEADY_AND_SOUND.equals(1) & ln_speed.present() & y.present()
    return t.SPEED_FIGURES.helper(name, f"Group, {label}").derive(kept.where(t.group))


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

# --- the supply's sag --------------------------------------------------------------------------------------

SAG = Table(
    "SagLines",
    "Volts against amps over the unflagged steady readings of each cell count.",
    spare=1,
    per=(cells_first,),
    source=worked_out("V = V0 − I·R"),
)
SAG.starts(cells_first, "sag")
sag_count_of = SAG.take(g.cells, "sag_line_cells")
_line = GroupedLine(
    r.current,
    r.voltage,
    (Condition(r.cells, "=", sag_count_of), SOUND_ROWS, Condition(r.kind_taken, "=", Constant(r.STEADY))),
)
LEAST_SAG_ROWS = 4
sag_rows = SAG.column("sag_rows", "Readings").derive(sag_count_of.present().where(_line.count), "In the line.")
volts_per_amp = SAG.helper("volts_per_amp", "Slope, of however few readings", decimals=5).derive(
    (_line.spread > 1).where(_line.slope)
)
"""Blank where the currents lie within an ampere."""
sag_slope = SAG.helper("sag_slope", "Slope", symbol="ΔV/ΔI", decimals=5).derive(
    (sag_rows >= LEAST_SAG_ROWS).where(volts_per_amp)
)
rest_voltage = SAG.column("sag_rest", "Voltage at no current", "V", symbol="V_r").derive(
    _line.intercept(sag_slope), "Of the line, midway through the runs."
)
sag_explained = SAG.helper("sag_explained", "r²", symbol="r²", decimals=4).derive(_line.explained(sag_slope))
SAG.column("sag_rest_cell", "Voltage at no current per cell", "V", symbol="V0_c", decimals=3).derive(
    rest_voltage / sag_count_of, "Per cell."
)
_supply = SAG.column("supply_resistance", "Resistance of pack and leads", "mΩ", symbol="R_sup")
supply_resistance = _supply.derive(
    -1000.0 * sag_slope, "Everything between the cells and the place where volts were read."
)
SAG.column("resistance_per_cell", "Resistance of pack and leads per cell", "mΩ", symbol="R_c", decimals=2).derive(
    supply_resistance / sag_count_of, "Per cell."
)
_fitted = 1000 * slope_deviation(sag_slope, sag_explained, sag_rows)
supply_expanded = _supply.expanded.derive(
    expanded_by(
        sum_of_squares([_fitted, supply_resistance * VOLTMETER, supply_resistance * AMMETER]).sqrt(),
        (_fitted, sag_rows - 2),
    ),
    "Expanded uncertainty: scatter about the line, and the instruments.",
)
sag_verdict = SAG.column("sag_verdict", "Verdict").derive(
    sag_count_of.present().where(
        sag_slope.present().where(
            first_holding(
                (
                    (supply_resistance < 0, "volts rise with current: another pack, a supply's limit, or a wrong sign"),
                    (supply_resistance > s.supply_resistance_high, "soft: a weak or cold pack, or thin leads"),
                ),
                "normal",
            ),
            "no line: it takes four steady readings of differing current",
        ),
        "",
    )
)
