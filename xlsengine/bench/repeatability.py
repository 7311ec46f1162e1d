"""How well the bench repeats itself: pooled scatter, drift over the runs, thirds, peaks, and the zero of the stand."""

from __future__ import annotations

from xlsengine.bench import peaks
from xlsengine.bench import repeats as p
from xlsengine.bench.conditions import CHECK_WEIGHTS, check_reading, check_weight
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.readings import thrust
from xlsengine.bench.settings import default_freedom, default_scatter, least_repeats, zero_shift_limit
from xlsengine.bench.uncertainty import coverage_factor
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Named, Node, call, greater, join
from xlsengine.sources import GUM_REPEATS, Source, definition, worked_out

REPEATABILITY = Figures("Repeatability", "How well the bench repeats itself, from readings taken more than once.")


def _figure(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str,
    source: Source = GUM_REPEATS,
) -> Named:  # fmt: skip
    return REPEATABILITY.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown))


def _say(name: str, label: str, expression: Node, meaning: str) -> Named:
    return _figure(name, label, "", "", 0, expression, meaning, definition())


def _count(column: Column, *conditions: Condition) -> Node:
    return Aggregate("count", (column,), conditions)


def _dot(one: Column, other: Column) -> Node:
    return Aggregate("dot", (one, other))


def _end(operation: str, column: Column) -> Node:
    return Aggregate(operation, (column,), (), Constant(1.0))


# --- scatter ---------------------------------------------------------------------------------------------

repeat_groups = _figure(
    "repeat_groups", "Groups of repeats", "", "", 0, _count(p.first),
    "Same propeller, cells, kind and throttle, read more than once.", definition(),
)  # fmt: skip
repeats = _figure(
    "repeats_read", "Repeats", "ν_s", "", 0, _count(p.thrust_off) - repeat_groups,
    "Readings beyond the first of each group: the degrees of freedom of the pooled scatter.",
)  # fmt: skip


def _pooled(name: str, label: str, symbol: str, off: Column) -> Named:
    return _figure(
        name, f"Scatter of {label}, pooled", symbol, "%", 2, (_dot(off, off) / repeats).sqrt(),
        "Standard deviation of one reading about the mean of its repeats, over all groups.",
    )  # fmt: skip


thrust_scatter = _pooled("thrust_scatter", "thrust", "s_T", p.thrust_off)
current_scatter = _pooled("current_scatter", "current", "s_I", p.current_off)
voltage_scatter = _pooled("voltage_scatter", "voltage", "s_V", p.voltage_off)


def _together(name: str, one: str, other: str, symbol: str, off: Column, other_off: Column) -> Named:
    found = _dot(off, other_off) / (_dot(off, off) * _dot(other_off, other_off)).sqrt()
    return _figure(
        name, f"Correlation of {one} and {other}", symbol, "", 2, found.otherwise(0.0),
        "How far repeats scatter together; 0 where they do not scatter.",
        Source(GUM_REPEATS.standing, "GUM (JCGM 100:2008) 5.2.3: estimate from paired repeats"),
    )  # fmt: skip


thrust_current = _together("thrust_current", "thrust", "current", "r(T,I)", p.thrust_off, p.current_off)
thrust_voltage = _together("thrust_voltage", "thrust", "voltage", "r(T,V)", p.thrust_off, p.voltage_off)
voltage_current = _together("voltage_current", "voltage", "current", "r(V,I)", p.voltage_off, p.current_off)
enough_repeats = repeats >= least_repeats
scatter_freedom = _figure(
    "scatter_freedom", "Scatter taken: degrees of freedom", "ν", "", 0,
    enough_repeats.where(repeats, default_freedom), "Those of the pooled scatter, or of the default on Settings.",
)  # fmt: skip
scatter_basis = _say(
    "scatter_basis", "Scatter is taken from",
    enough_repeats.where(
        join(repeats.fixed(0), " repeats in ", repeat_groups.fixed(0), " groups"),
        join(
            "common practice: ", default_scatter.fixed(1), " % for each figure, until there are ",
            least_repeats.fixed(0), " repeats; there are ", repeats.fixed(0),
        ),
    ),
    "What the uncertainties use.",
)  # fmt: skip

merits = _figure(
    "merits", "Repeats of the figure of merit", "", "", 0, _count(p.merit_off) - _count(p.mean_merit),
    "Readings with a speed beyond the first of each group.",
)  # fmt: skip
merit_scatter = _figure(
    "merit_scatter", "Scatter of the figure of merit, pooled", "s_FM", "%", 2,
    (_dot(p.merit_off, p.merit_off) / merits).sqrt(), "As those above.",
)  # fmt: skip
enough_merits = merits >= least_repeats
merit_freedom = _figure(
    "merit_freedom", "Scatter of the figure of merit taken: degrees of freedom", "", "", 0,
    enough_merits.where(merits, default_freedom), "As above.",
)  # fmt: skip

# --- peak against steady ---------------------------------------------------------------------------------

peaks_compared = _figure(
    "peaks_compared", "Peak against steady: groups with both", "", "", 0, _count(peaks.thrust_over),
    "Propellers and cell counts.", definition(),
)  # fmt: skip
mean_peak_thrust = _figure(
    "mean_peak_thrust", "Thrust, peak over steady, mean", "", "%", 1, Aggregate("mean", (peaks.thrust_over,)),
    "Of those groups.", definition(),
)  # fmt: skip
mean_peak_current = _figure(
    "mean_peak_current", "Current, peak over steady, mean", "", "%", 1, Aggregate("mean", (peaks.current_over,)),
    "Of those groups.", definition(),
)  # fmt: skip

# --- drift over the runs ---------------------------------------------------------------------------------

drift = _figure(
    "drift", "Drift of thrust over the runs", "b", "% a run", 3, Aggregate("slope", (p.thrust_off, p.run_off)),
    "Straight line through the repeats, each against its group's mean.", worked_out("least squares within groups"),
)  # fmt: skip
drift_freedom = _figure(
    "drift_freedom", "Drift: degrees of freedom", "", "", 0, repeats - 1, "Repeats less the slope.", definition()
)
_across = _dot(p.run_off, p.run_off)
drift_t = _figure(
    "drift_t", "Drift: t value", "t", "", 2,
    drift / (greater(_dot(p.thrust_off, p.thrust_off) - drift**2 * _across, 0.0) / drift_freedom / _across).sqrt(),
    "Slope over its standard uncertainty.", worked_out("least squares within groups"),
)  # fmt: skip
drifting = call("absolute", drift_t) > coverage_factor(drift_freedom)
drift_verdict = _say(
    "drift_verdict", "Drift over the runs is",
    drifting.where(
        "beyond the scatter: heat, a wearing propeller, a weakening pack or a moving zero", "within the scatter"
    ).otherwise("not known: it takes three repeats in different runs"),
    "|t| against Student's t at the level of confidence on Settings.",
)  # fmt: skip

# --- first against last third ----------------------------------------------------------------------------

_first_run, _last_run = _end("smallest", p.run_read), _end("largest", p.run_read)
third = p.REPEATS.derive(
    Quantity(
        "third", "Third of the runs",
        p.run_read.present().where(
            (p.run_read <= _first_run + (_last_run - _first_run) / 3).where(
                1.0, (p.run_read >= _last_run - (_last_run - _first_run) / 3).where(3.0, 2.0)
            ),
            0.0,
        ),
        "1 to 3; 0 where the row is out of use or in doubt.", definition(), shown=0, helper=True,
    )
)  # fmt: skip


def _in_third(number: float) -> tuple[Condition, ...]:
    return (p.OWN, Condition(third, "=", Constant(number)))


_early, _late = (Aggregate("count", (p.thrust,), _in_third(number)) for number in (1.0, 3.0))
third_change = p.GROUPS.derive(
    Quantity(
        "third_change", "Thrust, last third over first",
        (
            Aggregate("mean", (p.thrust,), _in_third(3.0)) / Aggregate("mean", (p.thrust,), _in_third(1.0)) - 1
        ) * 100,
        "Of the runs of the whole session; blank unless the group was read in both.", definition(), "", "%", 2,
    )
)  # fmt: skip
third_weight = p.GROUPS.derive(
    Quantity("third_weight", "Weight of thirds", third_change.present().where(1 / _early + 1 / _late, BLANK),
             "One over the readings of each.", definition(), helper=True)
)  # fmt: skip
mean_third_change = _figure(
    "mean_third_change", "Thrust, last third of the runs over the first", "", "%", 2,
    Aggregate("mean", (third_change,)), "Mean over the groups that were read in both.", definition(),
)  # fmt: skip
third_t = _figure(
    "third_t", "Thirds: t value", "t", "", 2,
    mean_third_change * _count(third_change) / (thrust_scatter * Aggregate("sum", (third_weight,)).sqrt()),
    "Change over its standard uncertainty by the pooled scatter.", worked_out("means of repeats"),
)  # fmt: skip
third_verdict = _say(
    "third_verdict", "Last third against the first",
    (call("absolute", third_t) > coverage_factor(repeats)).where("differs beyond the scatter", "cannot be told apart")
    .otherwise("not known: it takes repeats early and late"),
    "|t| against Student's t at the level of confidence on Settings.",
)  # fmt: skip

# --- the zero of the stand -------------------------------------------------------------------------------

zero_row = CHECK_WEIGHTS.derive(
    Quantity(
        "zero_row", "Row of a zero",
        (check_weight.present() & check_reading.present()).where(
            check_weight.equals(0).where(Aggregate("row", (check_weight,)), BLANK), BLANK
        ),
        "Set where the known weight is 0 and was read.", definition(), shown=0, helper=True,
    )
)  # fmt: skip


def _zero(place: str) -> Node:
    return Aggregate("at", (check_reading,), (), _end(place, zero_row))


zero_readings = _figure(
    "zero_readings", "Zero of the stand: readings", "", "", 0, _count(zero_row), "Check weights of 0 g.", definition()
)
zero_drift = _figure(
    "zero_drift", "Zero of the stand: last less first", "", "g", 1,
    (zero_readings > 1).where(_zero("largest") - _zero("smallest"), BLANK), "From the check weights.", definition(),
)  # fmt: skip
zero_share = _figure(
    "zero_share", "that over the largest thrust", "", "%", 2,
    call("absolute", zero_drift) / _end("largest", thrust) * 100, "The range of the cell is not known.", definition(),
)  # fmt: skip
zero_verdict = _say(
    "zero_verdict", "Zero of the stand",
    (zero_share > zero_shift_limit).where("moved: tare before every run and look for creep or a dragging lead", "stood")
    .otherwise("not known: it takes a zero among the check weights before and after"),
    "Against the limit on Settings.",
)  # fmt: skip
check_scale = _figure(
    "check_scale", "Scale of the stand by check weights", "", "%", 2,
    (Aggregate("slope", (check_reading, check_weight)) - 1) * 100, "Slope of reading on known weight, less one.",
    worked_out("least squares"),
)  # fmt: skip

REPEATABILITY.keep(
    repeats,
    thrust_scatter,
    current_scatter,
    voltage_scatter,
    thrust_current,
    thrust_voltage,
    voltage_current,
    scatter_freedom,
)
