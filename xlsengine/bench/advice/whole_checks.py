"""Checks of the motor and the bench as a whole: what many rows say together, each a live figure with cause and fix."""

from collections.abc import Callable
from dataclasses import dataclass

from xlsengine.bench.advice.esc import own_row, tested_names
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import in_thousands
from xlsengine.bench.groups import lines
from xlsengine.bench.groups import repeatability as p
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import conditions as b
from xlsengine.bench.inputs import motor as o
from xlsengine.bench.inputs import no_load as spins
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.craft import all_up_mass, craft_propeller, motor_count
from xlsengine.bench.judging import counting
from xlsengine.bench.judging.plain_checks import at_most
from xlsengine.bench.physics import motor_model as m
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.propagation.terms import coverage_factor
from xlsengine.bench.uncertainty import motor_uncertainty as u
from xlsengine.expression import (
    BLANK,
    ONE,
    ZERO,
    Column,
    Condition,
    Constant,
    Named,
    Node,
    Operand,
    as_node,
    call,
    first_holding,
    flag,
    greater,
    join,
    lesser,
    say,
)
from xlsengine.units import convert

WHOLE_CHECKS = Figures(
    "Whole checks", "What many readings together say of the motor and the bench; each counts as one doubtful flag."
)

MOST = 1e6


@dataclass(frozen=True)
class WholeCheck:
    """One live check of the motor or the bench.

    `doubt` is 1 where it is raised, else 0; `found` is then what was found, and blank text otherwise. `look_at` is the
    input to look at first: a field, or a column of an input table in the `row` that counts from 1.
    """

    title: str
    look_at: Named | Column
    row: Node
    doubt: Named
    found: Named
    expected: Node
    cause: str
    fix: str


def _check(
    name: str, title: str, look_at: Named | Column, row: Node = ONE
) -> Callable[[Node, Node, Operand, str, str], WholeCheck]:
    """Name a check; called with condition, what was found, what was expected, cause and fix it is declared."""

    def raised(condition: Node, found: Node, expected: Operand, cause: str, fix: str) -> WholeCheck:
        doubt = WHOLE_CHECKS.figure(f"whole_{name}_doubt", title).derive(flag(condition).otherwise(0.0))
        said = WHOLE_CHECKS.figure(f"whole_{name}_found", f"{title}: found").derive(doubt.equals(1).where(found, ""))
        return WholeCheck(title, look_at, row, doubt, said, as_node(expected), cause, fix)

    return raised


def _beside(column: Column, held: Column, value: Node) -> Node:
    """Fetch a column from the row in which another holds a value."""
    return column.at(held.position(value))


def _shown(value: Node, decimals: int) -> Node:
    """Write a number, one of senseless size as the largest that makes sense."""
    return lesser(greater(value, -MOST), MOST).fixed(decimals)


LEAST_TO_MASS, MOST_TO_MASS = 4.0, 100.0
"""Full thrust over motor weight beyond which the mass is wrong; common practice, no source."""
MOST_WARMTH = 45.0
"""°C of air in which hardly anybody tests; common practice, no source."""
LEAST_DRIFT, MOST_SPINS = 2.0, 5.0
"""Percent of thrust between repeats, and of Kv between free spins, that are worth a look; common practice, no source."""
BELOW, ABOVE = 0.95, 1.025
"""Shares of the standard atmosphere's pressure that weather rarely passes (common practice, no source): storms go farther
down than fine days go up, and a pressure at sea level in place of the bench's lies above."""
_kv_ratio = m.line_kv / m.best_kv
_kv_said = in_thousands(m.best_kv), m.best_kv_basis, in_thousands(o.label_kv)
_thrust_to_mass = g.full_thrust_to_mass.largest()
_rise = lines.supply_resistance.smallest()
_beyond = _rise + _beside(lines.supply_expanded, lines.supply_resistance, _rise)
_widest = f.coefficient_spread.largest()
_widest_row = f.coefficient_spread.position(_widest)
_slowest, _fastest = spins.kv_free.smallest(), spins.kv_free.largest()
_mean = spins.kv_free.mean()
_odd_spin = spins.kv_free.position((_fastest - _mean > (_mean - _slowest) * 1.01).where(_fastest, _slowest))
_longer = flag(o.trimmed_lead_length > o.lead_length_as_supplied).otherwise(0.0)
_heavier = flag(o.trimmed_mass_measured > o.mass_as_supplied * 1.005).otherwise(0.0)
_lengths = say("leads {:.0f} mm trimmed, {:.0f} mm as supplied", o.trimmed_lead_length, o.lead_length_as_supplied)
_masses = say("{:.1f} g trimmed, {:.1f} g as supplied", o.trimmed_mass_measured, o.mass_as_supplied)
_drift = (call("absolute", p.drift) < 0.1).where(_shown(p.drift, 3), _shown(p.drift, 2))
_by_scatter = call("absolute", p.drift / p.drift_t) * coverage_factor(p.drift_freedom)
_drift_limit = (_by_scatter < 0.1).where(_shown(_by_scatter, 3), _shown(_by_scatter, 2))
_steady, _peak = (
    counting.full_current.largest(Condition(counting.point, "=", Constant(kind))).otherwise(0.0)
    for kind in (r.AT_STEADY, r.AT_PEAK)
)
_steady_said, _peak_said = say("{} A steady", _shown(_steady, 1)), say("{} A at the peak", _shown(_peak, 1))
_both_said = (_peak > 0).where(join(_steady_said, " and ", _peak_said), _steady_said)
_standard = b.pressure_at(b.altitude)


def _weather(pressure: Node, standard: Node) -> Node:
    return (pressure >= BELOW * standard) & (pressure <= ABOVE * standard)


_metres, _in_hpa = convert(1.0, "ft", "m") * b.altitude, convert(1.0, "mmHg", "hPa") * b.air_pressure
_other_unit = (
    (_weather(b.air_pressure, b.pressure_at(Constant(0.0))), "; it fits sea level"),
    (
        _weather(b.air_pressure, b.pressure_at(_metres)),
        say("; if {:.0f} are feet, {:.0f} m fit it", b.altitude, _metres),
    ),
    (_weather(_in_hpa, _standard), say("; if {:.0f} are mmHg, {:.0f} hPa fit it", b.air_pressure, _in_hpa)),
)
"""Which height or unit makes pressure and altitude fit, and what to type then."""
CHECKS_OF_THE_WHOLE: tuple[WholeCheck, ...] = (
    _check("poles", "Wrong pole count in the speeds", o.poles)(
        u.pole_doubtful,
        say("Kv from loaded readings over Kv by {} is {}", m.best_kv_basis, _shown(_kv_ratio, 3)),
        "1, not 7/6 or 6/7",
        "The speeds of Readings were worked out for 12 magnets instead of 14, or for 14 instead of 12.",
        "Count the magnets; check the pole count that was set when the speeds were read, for Readings and No load.",
    ),
    _check("methods", "Kv by different methods differs", o.poles)(
        u.kv_methods_differ,
        u.kv_agreement,
        say("agreement within {:.0f} %", s.kv_tolerance),
        "A wrong pole count in one of them, ESC timing, or volts read at another place.",
        "Check the speeds and volts on No load and Readings; ESC timing does not touch a driven spin.",
    ),
    _check("resistance", "Resistance under load below the winding's", spins.resistance)(
        m.below_winding,
        say("{} mΩ under load, winding {} mΩ", _shown(m.under_load, 1), _shown(spins.winding_resistance, 1)),
        "more under load: ESC and leads come on top, and copper gets warm",
        "Kv from spins is too low, or volts and speed were read at different moments; or leads were read with the winding.",
        "Check the winding's readings and the spins on No load; until then losses are computed with the winding's.",
    ),
    _check("label", "Kv is not what the label says", o.label_kv)(
        u.label_doubtful,
        say("{} rpm/V by {}, label {}: {}", *_kv_said, u.kv_verdict),
        say("within ±{:.0f} %", s.kv_tolerance),
        "A generous label, ESC timing, or a wrong pole count, which is near 7/6 or 6/7.",
        "Check Labelled Kv, and the pole count set in the speed reading.",
    ),
    _check("line", "Kv line from loaded readings is not straight", r.speed)(
        m.line_doubtful,
        (m.line_slope < 0).where(
            say("scatter {} %", _shown(m.line_residual, 2)),
            say("slope +{} rpm/V for each A/V", _shown(m.line_slope, 1)),
        ),
        say("a falling line, scatter {}", at_most(s.line_residual_limit, 1, " %")),
        "Wrong speeds or volts in some readings, or a slipping propeller.",
        "Check Speed and Voltage of the full-throttle readings; the line stands on Motor figures.",
    ),
    _check("sag", "Voltage rises with current", b.supply)(
        _beyond < 0,
        say(
            "on {:.0f} cells: resistance of pack and leads {} mΩ, beyond its ±",
            _beside(lines.sag_count_of, lines.supply_resistance, _rise),
            _shown(_rise, 1),
        ),
        "volts that fall as current grows",
        "Another or a fuller pack for the larger propellers, a supply at its limit, or swapped volts.",
        "Check Voltage of these readings and which pack was used; the line stands on Propellers.",
    ),
    _check("coefficients", "Thrust coefficients of one propeller differ", r.speed, f.propeller_first.at(_widest_row))(
        _widest > s.thrust_coefficient_limit,
        say("{}: farthest apart {} %", f.propeller.at(_widest_row), _shown(_widest, 1)),
        at_most(s.thrust_coefficient_limit, 0, " %"),
        "A speed or thrust reading, or the pole count.",
        "Compare the propeller's readings at each cell count; its figures stand on Propellers.",
    ),
    _check("esc", "ESC of the bench beyond its rating", b.esc_rating)(
        (_steady > b.esc_rating) | (_peak > b.esc_rating * s.esc_burst_ratio),
        (_steady > 0).where(_both_said, _peak_said),
        say("at most {:.0f} A steady, {:.1f} A for a peak", b.esc_rating, b.esc_rating * s.esc_burst_ratio),
        "The ESC may limit the current, heat up or fail; readings near the top may be low.",
        "Stop; go on with an ESC rated for the current. Its maker's ratings and cooling notes come first.",
    ),
    _check("mass", "Motor mass does not fit the thrust", o.mass_as_supplied)(
        (_thrust_to_mass > MOST_TO_MASS) | (_thrust_to_mass < LEAST_TO_MASS),
        say("highest thrust to motor weight {} : 1", _shown(_thrust_to_mass, 1)),
        f"{LEAST_TO_MASS:.0f} to {MOST_TO_MASS:.0f} : 1, most motors 10 to 60",
        "A slipped digit or another unit in the motor's mass.",
        "Weigh the motor again; check Mass as supplied and Trimmed mass on Motor.",
    ),
    _check("trim", "Trimmed is more than as supplied", o.trimmed_lead_length)(
        (_longer + _heavier) > 0,
        (_longer > 0).where(_lengths, _masses),
        "shorter leads, and less mass",
        "The two were typed into each other's cells, or the trimmed motor was weighed with something on it (connectors).",
        "Check both leads and both masses on Motor; leads that were made longer are no fault.",
    ),
    _check("spins", "Free spins disagree on Kv", spins.free_speed, _odd_spin)(
        (_fastest / _slowest - 1) * 100 > MOST_SPINS,
        say("{} to {} rpm/V", in_thousands(_slowest), in_thousands(_fastest)),
        f"within {MOST_SPINS:.0f} %",
        "A slipped digit, volts read at rest or from the charger, or throttle that was not full.",
        "Check Voltage, Current and Speed of each free spin on No load: volts under load, at the ESC input.",
    ),
    _check("pressure", "Pressure does not fit the altitude", b.air_pressure)(
        ~_weather(b.air_pressure, _standard),
        join(say("{:.0f} hPa at {:.0f} m", b.air_pressure, b.altitude), first_holding(_other_unit, "")),
        say("{:.0f} to {:.0f} hPa, as weather has it", BELOW * _standard, ABOVE * _standard),
        "Weather reports give the pressure at sea level; or the altitude is in feet, or the pressure in another unit.",
        "If another unit fits, type the altitude in m, or the pressure in hPa. Else check the altitude, then type what a "
        "barometer at the bench shows.",
    ),
    _check("air", "Air warmer than where people test", b.air_temperature)(
        b.air_temperature > MOST_WARMTH,
        say("{:.0f} °C; {:.0f} °F are {:.0f} °C", b.air_temperature, b.air_temperature, (b.air_temperature - 32) / 1.8),
        f"at most {MOST_WARMTH:.0f} °C",
        "A temperature in °F, or a thermometer in the sun or beside the motor; air density goes by it.",
        "If it was read in °F, type the °C found; else read it in the shade, where the propeller draws its air.",
    ),
    _check("zero", "Stand zero drifted", b.check_reading)(
        p.zero_share > s.zero_shift_limit,
        say("it moved by {} g, {} % of the largest thrust", _shown(p.zero_drift, 1), _shown(p.zero_share, 2)),
        at_most(s.zero_shift_limit, 1, " %"),
        "Creep, a warming load cell, or a lead that drags on the stand.",
        "Tare before every run and repeat the small readings; the zeros stand among the check weights on Bench.",
    ),
    _check("drift", "Thrust drifts over the runs", r.run)(
        p.drifting & (p.drift_for_sure > LEAST_DRIFT),
        say("{} % a run, {} % between repeats", _drift, _shown(p.drift_shown, 1)),
        say("within ±{} % a run, which scatter explains", _drift_limit),
        "Heat, a wearing propeller or a moving zero; what falling volts account for is taken off.",
        "Let all cool, tare, and repeat an early point; the repeats stand on Repeatability.",
    ),
    _check("all_up", "All-up mass below that of its motors", all_up_mass)(
        all_up_mass < motor_count * o.trimmed_mass,
        say("{} g all-up, {:.0f} motors of {:.1f} g", _shown(all_up_mass, 0), motor_count, o.trimmed_mass),
        say("more than {:.0f} g", motor_count * o.trimmed_mass),
        "A slipped digit, or the mass of something else; thrust to weight and minutes go by it.",
        "Weigh the craft with its pack; check All-up mass and Number of motors on Craft.",
    ),
    _check("craft_prop", "The propeller on Craft was not tested", craft_propeller)(
        craft_propeller.present() & (flag(own_row >= 1).otherwise(0.0) < 1),
        craft_propeller,
        say("one that was tested: {}", tested_names),
        "Another spelling of its name, or a propeller without readings; no ESC is named for it.",
        "Type it on Craft as it stands on Readings.",
    ),
)


_NUMBERED = tuple((float(number), check) for number, check in enumerate(CHECKS_OF_THE_WHOLE, start=1))


raised_count: Node = sum((check.doubt for check in CHECKS_OF_THE_WHOLE), start=ZERO)
"""How many of these checks are raised; every one is doubtful."""
WHOLE_LINES: list[Named] = []
"""The checks that are raised, one after another, by their numbers from 1."""
for _place in range(1, len(CHECKS_OF_THE_WHOLE) + 1):
    _before = WHOLE_LINES[-1] if WHOLE_LINES else ZERO
    _raised = ((check.doubt.equals(1) & (_before < number), number) for number, check in _NUMBERED)
    _next = WHOLE_CHECKS.figure(f"whole_line_{_place}", f"Raised, {_place}").derive(first_holding(_raised, BLANK))
    WHOLE_LINES.append(_next)


def others(lines: int) -> Node:
    """Name the checks that the first few lines do not show: those that are raised as well, and those that are not.

    Of the latter not the last two: a craft that is not named wrongly needs no words.
    """
    last, bench = WHOLE_LINES[lines - 1], CHECKS_OF_THE_WHOLE[:-2]
    further = ((check.doubt.equals(1) & (last < number)).where(f" – {check.title}", "") for number, check in _NUMBERED)
    raised = (raised_count > float(lines)).where(join("Raised as well", *further, "."), "")
    named = join("", *(check.doubt.equals(0).where(f" – {check.title}", "") for check in bench))
    some = sum((check.doubt for check in bench), start=ZERO) < float(len(bench))
    found = some.where(join("Looked at, and nothing found or not enough read", named, "."), "")
    return call("trim", join(raised, " ", found))
