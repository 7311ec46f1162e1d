"""How well the bench repeats itself: pooled scatter, drift over the runs, thirds, peaks, and the zero of the stand."""

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import peaks
from xlsengine.bench.groups import repeats as p
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.conditions import CHECK_WEIGHTS, check_reading, check_weight
from xlsengine.bench.inputs.settings import default_freedom, default_scatter, least_repeats, zero_shift_limit
from xlsengine.bench.judging.round_thrusts import highest_thrust
from xlsengine.bench.propagation.terms import Scatter, coverage_factor, together
from xlsengine.expression import Aggregate, Column, Condition, Named, Node, call, greater, say
from xlsengine.sources import GUM_REPEATS, Source, definition, worked_out

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

merits = REPEATABILITY.figure("merits", "Repeats of the figure of merit").derive(
    p.merit_off.count() - p.merit_group.count(), "Readings with a speed beyond the first of each group."
)
merit_scatter = REPEATABILITY.figure(
    "merit_scatter", "Scatter of the figure of merit, pooled", "%", symbol="s_FM", decimals=2
).derive((p.merit_off.dot(p.merit_off) / merits).sqrt(), "As those above.")
enough_merits = merits >= least_repeats
merit_freedom = REPEATABILITY.figure(
    "merit_freedom", "Scatter of the figure of merit taken: degrees of freedom"
).derive(enough_merits.where(merits, default_freedom), "As above.")

# --- what it adds to each figure -------------------------------------------------------------------------

SCATTERS = {"thrust": thrust_scatter, "current": current_scatter}
TOGETHER = Scatter((), {frozenset(("thrust", "current")): thrust_current}, scatter_freedom)
MERIT = "figure of merit"


def _taken(figure: str, measured: Node) -> Named:
    return REPEATABILITY.figure(
        f"scatter_of_{figure.replace(' ', '_')}", f"Scatter taken of {figure}", "%", decimals=2
    ).derive(measured, "Of one reading: of the repeats and how they scatter together, or the default on Settings.")


def _of_repeats(figure: str, **powers: float) -> Named:
    """Derive the scatter of a figure that is made of these powers of thrust and amps, at equal volts."""
    moved = {name: SCATTERS[name] * power for name, power in powers.items()}
    measured = together(moved, TOGETHER) if len(moved) > 1 else SCATTERS[figure]
    return _taken(figure, enough_repeats.where(measured, default_scatter))


_of_current = _of_repeats("current", current=1.0)
_of_ratio = _of_repeats("thrust per current", thrust=1.0, current=-1.0)
SCATTER_TAKEN = {
    "thrust": _of_repeats("thrust", thrust=1.0),
    "current": _of_current,
    "power": _of_current,
    "thrust per power": _of_ratio,
    "thrust per current": _of_ratio,
    "overall static efficiency": _of_repeats("overall static efficiency", thrust=1.5, current=-1.0),
    MERIT: _taken(MERIT, enough_merits.where(merit_scatter, default_scatter)),
}
"""The scatter of each figure; at equal volts power scatters as current does, thrust per power as thrust per current."""

# --- peak against steady ---------------------------------------------------------------------------------

peaks_compared = REPEATABILITY.figure("peaks_compared", "Peak against steady: groups with both").derive(
    peaks.thrust_over.count(), "Propellers and cell counts.", definition()
)
mean_peak_thrust = REPEATABILITY.figure("mean_peak_thrust", "Thrust, peak over steady, mean", "%").derive(
    peaks.thrust_over.mean(), "Of those groups.", definition()
)
mean_peak_current = REPEATABILITY.figure("mean_peak_current", "Current, peak over steady, mean", "%").derive(
    peaks.current_over.mean(), "Of those groups.", definition()
)

# --- drift over the runs ---------------------------------------------------------------------------------

drift = REPEATABILITY.figure("drift", "Drift of thrust over the runs", "% a run", symbol="b", decimals=3).derive(
    Aggregate("slope", (p.thrust_at_volts, p.run_off)),
    "Straight line through the repeats, each against its group's mean, at equal volts.",
    worked_out("least squares within groups"),
)
drift_freedom = REPEATABILITY.figure("drift_freedom", "Drift: degrees of freedom").derive(
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
_first_run = r.run.smallest().otherwise(1.0)
_last_run = r.run.largest().otherwise(r.group.count())
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

# --- first against last third ----------------------------------------------------------------------------

early_end = REPEATABILITY.figure("early_end", "First third of the runs ends at", decimals=1).derive(
    _first_run + (_last_run - _first_run) / 3, "Of the whole session, by the numbers of the runs.", definition()
)
late_start = REPEATABILITY.figure("late_start", "Last third of the runs begins at", decimals=1).derive(
    (_last_run > _first_run).where(_last_run - (_last_run - _first_run) / 3),
    "As above; blank within one run.",
    definition(),
)
_early, _late = (p.OWN, Condition(p.run, "<=", early_end)), (p.OWN, Condition(p.run, ">=", late_start))
third_change = p.GROUPS.column("third_change", "Thrust at equal volts, last third over first", "%", decimals=2).derive(
    ((1 + p.thrust_at_volts.mean(*_late) / 100) / (1 + p.thrust_at_volts.mean(*_early) / 100) - 1) * 100,
    "Blank unless the group was read in both.",
    definition(),
)
third_weight = p.GROUPS.helper("third_weight", "Weight of thirds", decimals=2).derive(
    third_change.present().where(1 / p.run.count(*_early) + 1 / p.run.count(*_late))
)
mean_third_change = REPEATABILITY.figure(
    "mean_third_change", "Thrust at equal volts, last third of the runs over the first", "%", decimals=2
).derive(third_change.mean(), "Mean over the groups that were read in both.", definition())
third_t = REPEATABILITY.figure("third_t", "Thirds: t value", symbol="t", decimals=2).derive(
    mean_third_change * third_change.count() / (thrust_scatter * third_weight.sum().sqrt()),
    "Change over its standard uncertainty by the pooled scatter.",
    worked_out("means of repeats"),
)
third_verdict = REPEATABILITY.figure("third_verdict", "Last third against the first").derive(
    third_t.present().where(
        (call("absolute", third_t) > coverage_factor(repeats)).where(
            "differs beyond the scatter", "cannot be told apart"
        ),
        "not known: it takes repeats early and late",
    ),
    "|t| against Student's t at the level of confidence on Settings.",
    definition(),
)

# --- the zero of the stand -------------------------------------------------------------------------------

zero_row = CHECK_WEIGHTS.helper("zero_row", "Row of a zero").derive(
    (check_weight.present() & check_reading.present()).where(
        check_weight.equals(0).where(Aggregate("row", (check_weight,)))
    ),
    "Set where the known weight is 0 and was read.",
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

REPEATABILITY.keep(
    repeats,
    thrust_scatter,
    current_scatter,
    thrust_current,
    scatter_freedom,
)
