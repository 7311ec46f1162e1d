"""Uncertainty of Kv by spins and of the no-load current: scatter of the spins, and what else is not shared with Readings."""

from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.inputs import no_load as n
from xlsengine.bench.inputs.motor import label_kv
from xlsengine.bench.inputs.settings import default_freedom, default_scatter, diode_drop, kv_tolerance, speed_ratio_high
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import sum_of_squares
from xlsengine.expression import Column, Node, call, greater
from xlsengine.sources import GUM_PROPAGATION, GUM_REPEATS, definition, practice, worked_out

UNREAD_DROP = 0.01
"""Share of the volts that a winding of unread resistance may take in a free spin: 1 A through 100 mΩ at 10 V."""
LEAST_SPARE = 2
"""Degrees of freedom that replace the default scatter. With one, values agree by chance and pass for sure."""
DIODE_LIMIT = 0.1
"""V. Silicon at small currents drops 0.5 to 0.7 V: common practice, no source."""


# --- Kv --------------------------------------------------------------------------------------------------


def _off(table: Table, name: str, label: str, off: Node, unit: str) -> Column:
    """Derive how far each spin is off; programs differ in the last digits of values nearly alike, so these go."""
    rounded = call("round", off, 9.0)
    return table.helper(name, label, unit, decimals=2).derive(rounded)


def _kv_off(table: Table, name: str, reading: Column, mean: Node) -> Column:
    return _off(table, name, "Kv, off its mean", (reading / mean - 1) * 100, "%")


_offs = (
    _kv_off(n.FREE_SPINS, "free_off", n.kv_free, n.measured_kv),
    _kv_off(n.DRIVEN_SPINS, "driven_off", n.kv_driven, n.driven_kv),
)
_squares, _more = (
    _offs[0].dot(_offs[0]) + _offs[1].dot(_offs[1]),
    greater(n.kv_free.count() - 1, 0.0) + greater(n.kv_driven.count() - 1, 0.0),
)
spin_freedom = n.NO_LOAD.helper("spin_freedom", "Kv by spins: degrees of freedom of the scatter").derive(
    (_more >= LEAST_SPARE).where(_more, default_freedom),
    "Spins beyond the first of each method; those of the default on Settings below two.",
    definition(),
)
spin_scatter = n.NO_LOAD.figure("spin_scatter", "Kv by spins: scatter of one", "%", symbol="s_Kv", decimals=2).derive(
    (_more >= LEAST_SPARE).where((_squares / _more).sqrt(), default_scatter),
    "Free and driven spins about their own means, pooled; the default on Settings below two spins beyond the first.",
    GUM_REPEATS,
)
free_scatter = n.measured_kv * spin_scatter / 100 / n.kv_free.count().sqrt()
driven_scatter = n.driven_kv * spin_scatter / 100 / n.kv_driven.count().sqrt()

free_unread = n.winding_resistance.present().where(0.0, n.measured_kv * (UNREAD_DROP * a.LIMIT_TO_DEVIATION))
"""Standard uncertainty of Kv by free spin for want of the winding's resistance; an error in one read hardly matters."""
free_uncertainty = n.NO_LOAD.figure(
    "free_uncertainty", "Standard uncertainty of Kv by free spin", "rpm/V", symbol="u(Kv_free)", decimals=1
).derive(
    sum_of_squares([free_scatter, free_unread, n.measured_kv * a.VOLTMETER, n.measured_kv * a.TACHOMETER]).sqrt(),
    "Scatter of the spins over √number; the accuracies of volts and speed as half-widths over √3; and 1 % of the "
    "volts so where no winding resistance was read.",
    GUM_PROPAGATION,
)
_behind_bridge = n.driven_as.equals(n.BRIDGE)


def _mean_share(name: str, label: str, of_bridge: Node, of_others: float) -> Node:
    """Derive what the volts of each driven spin move with, and return its mean."""
    expression = n.kv_driven.present().where(_behind_bridge.where(of_bridge, of_others))
    return n.DRIVEN_SPINS.helper(name, label, decimals=3).derive(expression).mean()


_peak = n.driven_voltage + 2 * diode_drop
_of_meter = _mean_share("driven_meter", "Peak, share of the meter", n.driven_voltage / _peak, 1.0)
_of_diodes = _mean_share("driven_diodes", "Peak, uncertainty of two diodes", 2 * DIODE_LIMIT / _peak, 0.0)
"""By how much the peak goes with the volts shown, both relative; half-width of the two drops of a bridge over the volts."""
driven_meter = n.driven_kv * sum_of_squares([_of_meter * a.VOLTMETER, _of_diodes * a.LIMIT_TO_DEVIATION]).sqrt()
"""Standard uncertainty of Kv by driven spin from its volts, read by a meter that is not the bench's."""
driven_uncertainty = n.NO_LOAD.figure(
    "driven_uncertainty", "Standard uncertainty of Kv by driven spin", "rpm/V", symbol="u(Kv_driven)", decimals=1
).derive(
    sum_of_squares([driven_scatter, driven_meter, n.driven_kv * a.TACHOMETER]).sqrt(),
    "Scatter of the spins over √number; the accuracies of volts and speed, and 0.1 V for each diode of a bridge, as "
    "half-widths over √3.",
    GUM_PROPAGATION,
)

_most = greater(label_kv * (1 + kv_tolerance / 100), (n.measured_kv + 2 * free_uncertainty).otherwise(0.0))
speed_ratio_most = n.NO_LOAD.figure(
    "speed_ratio_most", "Speed ratio n/(Kv·V), most with this motor", decimals=3
).derive(
    speed_ratio_high * _most / label_kv,
    "The highest plausible on Settings times Kv over the label: the labelled Kv with its tolerance, or that of a free spin "
    "with two standard uncertainties where that is more.",
    practice(),
)

# --- no-load current -------------------------------------------------------------------------------------

_spins = n.free_current.count()
_sloped = n.no_load_slope.present() & ~n.no_load_slope.equals(0)
_spare = _sloped.where(_spins - 2, _spins - 1)
_current_off = _off(
    n.FREE_SPINS,
    "current_off",
    "Current, off the no-load line",
    n.free_current - _sloped.where(n.no_load_at(n.free_speed), n.no_load_at_rest),
    "A",
)
no_load_freedom = n.NO_LOAD.helper("no_load_freedom", "No-load current: degrees of freedom of its scatter").derive(
    (_spare >= 1).where(_spare, default_freedom),
    "Spins less two with a slope, else less one; those of the default on Settings where none is left.",
    definition(),
)
no_load_scatter = n.NO_LOAD.figure(
    "no_load_scatter", "No-load current: scatter of one spin", "A", symbol="s_0", decimals=3
).derive(
    (_spare >= 1).where((_current_off.dot(_current_off) / _spare).sqrt(), n.no_load_current * default_scatter / 100),
    "About the line, or the mean; the default on Settings where there are too few spins.",
    worked_out("least squares"),
)
no_load_level = n.NO_LOAD.figure(
    "no_load_level", "No-load current at the spins' mean speed: standard uncertainty", "A", symbol="u(Ī0)", decimals=3
).derive(no_load_scatter / _spins.sqrt(), "Scatter over √number.", worked_out("least squares"))
