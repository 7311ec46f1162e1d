"""Thrust, shaft power and current as powers of speed and thrust, over the steady readings of one group."""

from dataclasses import dataclass

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.declaring.grouped_line import GroupedLine, slope_deviation
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics import speed_rows as t
from xlsengine.bench.propagation.terms import coverage_factor
from xlsengine.expression import Column, Named, Node, call, join, say
from xlsengine.sources import GUM_FREEDOM, definition, worked_out

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


def _logarithm(name: str, label: str, value: Node, scale: float) -> Column:
    """Natural logarithm over a round scale, which keeps the sums small."""
    above = (value > 0).where((value / scale).ln())
    return t.SPEED_FIGURES.helper(name, f"ln {label}").derive(above, f"Over {scale:,.0f}.", _fit)


ln_speed = _logarithm("ln_speed", "speed", t.speed, 10000)
ln_thrust = _logarithm("ln_thrust", "thrust", t.force, 5)
ln_shaft = _logarithm("ln_shaft", "shaft power", t.masked(t.torque > 0, f.shaft_power), 100)
ln_current = _logarithm("ln_current", "current", t.current, 10)


def _group_of(name: str, label: str, x: Column, y: Column) -> Column:
    kept = t.STEADY_AND_SOUND.equals(1) & x.present() & y.present()
    return t.SPEED_FIGURES.helper(name, f"Group, {label}").derive(t.masked(kept, t.group), "Blank in rows left out.")


first_row = EXPONENTS.starts(r.group_first, "exponent", "the group")
prop = EXPONENTS.take(t.prop, "exponent_prop")
cells = EXPONENTS.take(t.cells, "exponent_cells")


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
    Power(
        "thrust_exponent",
        "Thrust as a power of speed",
        ln_speed,
        ln_thrust,
        s.thrust_exponent_low,
        s.thrust_exponent_high,
        "speed reading, recirculation, a flexing propeller or creep",
    ),
    Power(
        "power_exponent",
        "Shaft power as a power of speed",
        ln_speed,
        ln_shaft,
        s.power_exponent_low,
        s.power_exponent_high,
        "speed or torque reading, recirculation",
    ),
    Power(
        "current_exponent",
        "Current as a power of thrust",
        ln_thrust,
        ln_current,
        s.current_exponent_low,
        s.current_exponent_high,
        "offset of the amps, tare, or heat",
    ),
)


def _helper(name: str, label: str, expression: Node) -> Column:
    return EXPONENTS.helper(name, label, decimals=4).derive(expression, "Of the line in logarithms.")


def _exponent(power: Power) -> Column:
    """Derive an exponent and, beside it, its expanded uncertainty."""
    line = GroupedLine(power.x, power.y, _group_of(f"{power.name}_group", power.label, power.x, power.y), first_row)
    drawn = (line.count >= LEAST_ROWS) & (line.spread >= LEAST_SPREAD)
    exponent = EXPONENTS.column(power.name, power.label, decimals=2).derive(
        drawn.where(line.slope),
        "Over throttle steps; blank with fewer than four readings or where they lie close together.",
    )
    count = _helper(f"{power.name}_rows", f"{power.label}: readings", line.count)
    explained = _helper(f"{power.name}_explained", f"{power.label}: r²", line.explained(exponent))
    EXPONENTS.column(f"{power.name}_expanded", f"{power.label}, ±", decimals=2).derive(
        coverage_factor(count - 2) * slope_deviation(exponent, explained, count),
        "Expanded uncertainty by the scatter about the line; errors that are a share of every reading leave it alone.",
        GUM_FREEDOM,
    )
    return exponent


EXPONENT_COLUMNS: tuple[Column, ...] = tuple(_exponent(power) for power in _POWERS)


def _outside(column: Column, power: Power) -> Node:
    sentence = say("{} outside {:.2f} to {:.2f}{}", power.label, power.low, power.high, f": {power.causes}. ")
    return ((column < power.low) | (column > power.high)).where(sentence, "").otherwise("")


_outsides = [_outside(column, power) for column, power in zip(EXPONENT_COLUMNS, _POWERS, strict=True)]
_any = EXPONENT_COLUMNS[0].present() | EXPONENT_COLUMNS[1].present() | EXPONENT_COLUMNS[2].present()
exponent_verdict = EXPONENTS.column("exponent_verdict", "Verdict").derive(
    first_row.present().where(
        call("trim", join(*_outsides)).otherwise(_any.where("inside the usual bands", TOO_FEW)), ""
    ),
    "Against the bands on Settings.",
    definition(),
)
EXPONENTS.keep(
    EXPONENT_COLUMNS[-1], current_exponent_uncertainty=Column(EXPONENTS.name, f"{EXPONENT_COLUMNS[-1].name}_expanded")
)
