"""Thrust, shaft power and current as powers of speed and thrust, over the steady readings of one group."""

from __future__ import annotations

from dataclasses import dataclass

from xlsengine.bench import readings as r
from xlsengine.bench import speed_figures as f
from xlsengine.bench import speed_rows as t
from xlsengine.bench import summary as g
from xlsengine.bench.declare import Table
from xlsengine.bench.first_rows import FirstRows
from xlsengine.bench.grouped_line import GroupedLine, slope_deviation
from xlsengine.bench.settings import (
    current_exponent_high,
    current_exponent_low,
    power_exponent_high,
    power_exponent_low,
    thrust_exponent_high,
    thrust_exponent_low,
)
from xlsengine.bench.uncertainty import coverage_factor
from xlsengine.expression import BLANK, Aggregate, Column, Named, Node, call, join
from xlsengine.sources import GUM_FREEDOM, definition, worked_out

EXPONENTS = Table(
    "Exponents", "One row for each propeller and cell count: powers over its sound steady readings.",
    spare=g.SUMMARY.spare, per=(r.group_first,),
)  # fmt: skip
LEAST_ROWS = 4
LEAST_SPREAD = 0.1**2
"""Variance of the logarithms below which readings (a factor of about 1.3 from end to end) give no exponent."""
TOO_FEW = "not judged: fewer than four sound steady readings, or loads too close together"
_fit = worked_out("least squares in logarithms")


def _logarithm(name: str, label: str, value: Node, scale: float) -> Column:
    """Natural logarithm over a round scale, which keeps the sums small."""
    above = (value > 0).where((value / scale).ln(), BLANK)
    return t.helps(name, f"ln {label}", above, f"Over {scale:,.0f}.", _fit)


ln_speed = _logarithm("ln_speed", "speed", t.speed, 10000)
ln_thrust = _logarithm("ln_thrust", "thrust", t.force, 5)
ln_shaft = _logarithm("ln_shaft", "shaft power", t.masked(t.torque > 0, f.shaft_power), 100)
ln_current = _logarithm("ln_current", "current", t.current, 10)


def _group_of(name: str, label: str, x: Column, y: Column) -> Column:
    kept = t.STEADY_AND_SOUND.equals(1) & x.present() & y.present()
    return t.helps(name, f"Group, {label}", t.masked(kept, t.group), "Blank in rows left out.")


_rows = FirstRows(EXPONENTS, r.group_first)
first_row = _rows.first_row("exponent", "the group")
prop = _rows.derive(
    "exponent_prop", "Prop", "", 0, Aggregate("text at", (t.prop,), (), first_row), "The propeller.", definition()
)
cells = _rows.derive(
    "exponent_cells", "Cells", "", 0, Aggregate("at", (t.cells,), (), first_row), "Cell count.", definition()
)


@dataclass(frozen=True)
class Power:
    """An exponent with its band, and what usually puts it outside."""

    name: str
    label: str
    x: Column
    y: Column
    low: Named
    high: Named
    causes: str


_POWERS = (
    Power("thrust_exponent", "Thrust as a power of speed", ln_speed, ln_thrust, thrust_exponent_low,
          thrust_exponent_high, "speed reading, recirculation, a flexing propeller or creep"),
    Power("power_exponent", "Shaft power as a power of speed", ln_speed, ln_shaft, power_exponent_low,
          power_exponent_high, "speed or torque reading, recirculation"),
    Power("current_exponent", "Current as a power of thrust", ln_thrust, ln_current, current_exponent_low,
          current_exponent_high, "offset of the amps, tare, or heat"),
)  # fmt: skip


def _helper(name: str, label: str, expression: Node) -> Column:
    return _rows.derive(name, label, "", 4, expression, "Of the line in logarithms.", _fit, helper=True)


def _exponent(power: Power) -> Column:
    """Derive an exponent and, beside it, its margin."""
    line = GroupedLine(power.x, power.y, _group_of(f"{power.name}_group", power.label, power.x, power.y), first_row)
    drawn = (line.count >= LEAST_ROWS) & (line.spread >= LEAST_SPREAD)
    exponent = _rows.derive(
        power.name, power.label, "", 2, drawn.where(line.slope, BLANK),
        "Over throttle steps; blank with fewer than four readings or where they lie close together.", _fit,
    )  # fmt: skip
    count = _helper(f"{power.name}_rows", f"{power.label}: readings", line.count)
    explained = _helper(f"{power.name}_explained", f"{power.label}: r²", line.explained(exponent))
    _rows.derive(
        f"{power.name}_expanded", f"{power.label}, ±", "", 2,
        coverage_factor(count - 2) * slope_deviation(exponent, explained, count),
        "Expanded uncertainty by the scatter about the line; errors that are a share of every reading leave it alone.",
        GUM_FREEDOM,
    )  # fmt: skip
    return exponent


EXPONENT_COLUMNS: tuple[Column, ...] = tuple(_exponent(power) for power in _POWERS)


def _outside(column: Column, power: Power) -> Node:
    sentence = join(power.label, " outside ", power.low.fixed(2), " to ", power.high.fixed(2), f": {power.causes}. ")
    return ((column < power.low) | (column > power.high)).where(sentence, "").otherwise("")


_outsides = [_outside(column, power) for column, power in zip(EXPONENT_COLUMNS, _POWERS, strict=True)]
_any = EXPONENT_COLUMNS[0].present() | EXPONENT_COLUMNS[1].present() | EXPONENT_COLUMNS[2].present()
exponent_verdict = _rows.derive(
    "exponent_verdict", "Verdict", "", 0,
    first_row.present().where(
        call("trim", join(*_outsides)).otherwise(_any.where("inside the usual bands", TOO_FEW)),
        "",
    ),
    "Against the bands on Settings.", definition(),
)  # fmt: skip
EXPONENTS.keep(
    EXPONENT_COLUMNS[-1], current_exponent_uncertainty=Column(EXPONENTS.name, f"{EXPONENT_COLUMNS[-1].name}_expanded")
)
