"""How well the bench repeats itself: pooled scatter, drift over the runs, peaks, and the zero of the stand."""

from collections.abc import Mapping

from xlsengine.bench.declaring.declare import Figures, Table
from xlsengine.bench.groups import repeats as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs.conditions import CHECK_WEIGHTS, check_reading, check_weight
from xlsengine.bench.inputs.settings import default_freedom, default_scatter, least_repeats, zero_shift_limit
from xlsengine.bench.judging.round_thrusts import highest_thrust
from xlsengine.bench.propagation.terms import coverage_factor, together
from xlsengine.expression import Aggregate, Column, Constant, Named, Node, call, greater, say
from xlsengine.sources import GUM_REPEATS, Source, definition, practice, worked_out

REPEATABILITY = Figures("Repeatability", "How well the bench repeats itself, from repeat readings.", source=GUM_REPEATS)


# --- scatter ---------------------------------------------------------------------------------------------

repeat_groups = REPEATABILITY.figure("repeat_groups", "Groups of repeats").derive(
    p.group_key.count(), "Same propeller, cells, kind and throttle, read more than once.", definition()
)
repeats = REPEATABILITY.figure("repeats_read", "Repeats", symbol="ν_s").derive(
    p.thrust_at_volts.count() - repeat_groups,
    "Readings beyond the first of each group: the degrees of freedom of the pooled scatter.",
)


def _pooled(name: str, label: str, symbol: str, off: Column) -> Named:
    return REPEATABILITY.figure(name, f"Scatter of {label}, pooled", "%", symbol=symbol, decimals=2).derive(
        (off.dot(off) / repeats).sqrt(),
        "Standard deviation of one reading about the mean of its repeats at equal volts, over all groups.",
    )


_thrust, _current = p.thrust_at_volts, p.current_at_volts
thrust_scatter = _pooled("thrust_scatter", "thrust", "s_T", _thrust)
current_scatter = _pooled("current_scatter", "current", "s_I", _current)
thrust_current = REPEATABILITY.figure(
    "thrust_current", "Correlation of thrust and current", symbol="r(T,I)", decimals=2
).derive(
    (_thrust.dot(_current) / (_thrust.dot(_thrust) * _current.dot(_current)).sqrt()).otherwise(0.0),
    "How far repeats scatter together at equal volts; 0 where they do not scatter.",
    Source(GUM_REPEATS.standing, "GUM (JCGM 100:2008) 5.2.3: estimate from paired repeats"),
)
enough_repeats = repeats >= least_repeats
scatter_freedom = REPEATABILITY.figure("scatter_freedom", "Scatter taken: degrees of freedom", symbol="ν").derive(
    enough_repeats.where(repeats, default_freedom), "Those of the pooled scatter, or of the default on Settings."
)
scatter_basis = REPEATABILITY.figure("scatter_basis", "Scatter is taken from").derive(
    enough_repeats.where(
        say("{:.0f} repeats in {:.0f} groups", repeats, repeat_groups),
        say(
            "common practice: {:.1f} % for each figure, until there are {:.0f} repeats; there are {:.0f}",
            default_scatter,
            least_repeats,
            repeats,
        ),
    ),
    "What the uncertainties use.",
    definition(),
)

# --- what it adds to each figure -------------------------------------------------------------------------

SCATTERS = {"thrust": thrust_scatter, "current": current_scatter}
_TOGETHER = {frozenset(("thrust", "current")): thrust_current}


def scatter_by(powers: Mapping[str, Node]) -> Node:
    """Return the scatter, in percent, of a figure that goes with these powers of thrust and amps at equal volts."""
    match list(powers.items()):
        case [(name, Constant(1.0))]:
            measured: Node = SCATTERS[name]
        case _:
            measured = together({name: SCATTERS[name] * power for name, power in powers.items()}, _TOGETHER)
    return enough_repeats.where(measured, default_scatter)


def _of_repeats(figure: str, **powers: float) -> Named:
    return REPEATABILITY.figure(
        f"scatter_of_{figure.replace(' ', '_')}", f"Scatter taken of {figure}", "%", decimals=2
    ).derive(
        scatter_by({name: Constant(power) for name, power in powers.items()}),
        "Of one reading: of the repeats and how they scatter together, or the default on Settings.",
    )


_of_current = _of_repeats("current", current=1.0)
_of_ratio = _of_repeats("thrust per current", thrust=1.0, current=-1.0)
_of_efficiency = _of_repeats("overall static efficiency", thrust=1.5, current=-1.0)
SCATTER_TAKEN = {
    "thrust": _of_repeats("thrust", thrust=1.0),
    "current": _of_current,
    "power": _of_current,
    "thrust per power": _of_ratio,
    "thrust per current": _of_ratio,
    "overall static efficiency": _of_efficiency,
    "figure of merit": _of_efficiency,
}
"""The scatter of each figure; at equal volts power, electrical or of the shaft, scatters as current does."""

# --- peak against steady ---------------------------------------------------------------------------------

PEAKS = Table.beside(
    g.SUMMARY,
    "Peaks",
    "How far peaks lie above steady readings: 3 to 10 % in thrust is usual on a pack, 1 to 4 % on a supply.",
    row="peak_row",
    source=definition("as on Summary"),
)
PEAKS.take(g.prop, "peak_prop")
PEAKS.take(g.cells, "peak_cells")
PEAKS.take(g.peak["count"], "peak_readings", "Peaks")
PEAKS.take(g.steady["count"], "steady_readings", "Steady readings")


def _over(part: str, label: str) -> Column:
    return PEAKS.column(f"peak_over_{part}", f"{label}, peak over steady", "%").derive(
        (g.peak[part].at(PEAKS.row) / g.steady[part].at(PEAKS.row) - 1) * 100,
        "Of the means; blank without both.",
        practice("a peak has a full pack, cold copper and strong magnets"),
    )


_thrust_over, _current_over = _over("thrust", "Thrust"), _over("current", "Current")
_over("voltage", "Voltage")
peaks_compared = REPEATABILITY.helper("peaks_compared", "Peak against steady: groups with both").derive(
    _thrust_over.count(), "Propellers and cell counts.", definition()
)
for _part, _of in (("thrust", _thrust_over), ("current", _current_over)):
    REPEATABILITY.figure(f"mean_peak_{_part}", f"{_part.capitalize()}, peak over steady, mean", "%").derive(
        _of.mean(), "Of those groups.", definition()
    )

# --- drift over the runs ---------------------------------------------------------------------------------

drift = REPEATABILITY.figure("drift", "Drift of thrust over the runs", "% a run", symbol="b", decimals=3).derive(
    Aggregate("slope", (p.thrust_at_volts, p.run_off)),
    "Straight line through the repeats, each against its group's mean, at equal volts.",
    worked_out("least squares within groups"),
)
drift_freedom = REPEATABILITY.helper("drift_freedom", "Drift: degrees of freedom").derive(
    repeats - 1, "Repeats less the slope.", definition()
)
_across = p.run_off.dot(p.run_off)
drift_t = REPEATABILITY.figure("drift_t", "Drift: t value", symbol="t", decimals=2).derive(
    drift
    / (greater(p.thrust_at_volts.dot(p.thrust_at_volts) - drift**2 * _across, 0.0) / drift_freedom / _across).sqrt(),
    "Slope over its standard uncertainty.",
    worked_out("least squares within groups"),
)
drifting = call("absolute", drift_t) > coverage_factor(drift_freedom)
_between = p.run_off.largest() - p.run_off.smallest()
_volts_drift = Aggregate("slope", (p.voltage_off, p.run_off))
VOLTS_POWERS_APART = 0.4
"""How far the power of the volts that thrust goes with may be off: worked out, 2/(1 + I·R/V), 1.6 to 2.0 from soft motors to
stiff ones."""
drift_shown = call("absolute", drift) * _between
drift_for_sure = (call("absolute", drift) - VOLTS_POWERS_APART * call("absolute", _volts_drift)) * _between
"""Drift of thrust between the first and the last repeats, in percent; and what volts cannot account for at any power."""
drift_verdict = REPEATABILITY.figure("drift_verdict", "Drift over the runs is").derive(
    drift_t.present().where(
        drifting.where("beyond the scatter: heat, a wearing propeller or a moving zero", "within the scatter"),
        "not known: it takes three repeats in different runs",
    ),
    "|t| against Student's t at the level of confidence on Settings.",
    definition(),
)

# --- the zero of the stand -------------------------------------------------------------------------------

zero_row = CHECK_WEIGHTS.helper("zero_row", "Row of a zero").derive(
    (check_weight.present() & check_reading.present()).where(
        check_weight.equals(0).where(Aggregate("row", (check_weight,)))
    )
)
zero_readings = REPEATABILITY.figure("zero_readings", "Zero of the stand: readings").derive(
    zero_row.count(), "Check weights of 0 g.", definition()
)
zero_drift = REPEATABILITY.figure("zero_drift", "Zero of the stand: last less first", "g", decimals=1).derive(
    (zero_readings > 1).where(check_reading.at(zero_row.largest()) - check_reading.at(zero_row.smallest())),
    "From the check weights.",
    definition(),
)
zero_share = REPEATABILITY.figure("zero_share", "that over the largest thrust that counts", "%", decimals=2).derive(
    call("absolute", zero_drift) / highest_thrust * 100, "The range of the cell is not known.", definition()
)
zero_verdict = REPEATABILITY.figure("zero_verdict", "Zero of the stand").derive(
    zero_share.present().where(
        (zero_share > zero_shift_limit).where(
            "moved: tare before every run and look for creep or a dragging lead", "stood"
        ),
        "not known: it takes a zero among the check weights before and after",
    ),
    "Against the limit on Settings.",
    definition(),
)
check_scale = REPEATABILITY.figure("check_scale", "Scale of the stand by check weights", "%", decimals=2).derive(
    (Aggregate("slope", (check_reading, check_weight)) - 1) * 100,
    "Slope of reading on known weight, less one.",
    worked_out("least squares"),
)

REPEATABILITY.keep(repeats, thrust_scatter, current_scatter, thrust_current, scatter_freedom)
