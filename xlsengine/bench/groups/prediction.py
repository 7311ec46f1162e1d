"""Cell counts that were not tested, predicted from those that were, each figure with its ± or none.

The ± holds the instruments, and what trials showed or what a step in volts leaves open, whichever is more. What a step
leaves open grows with it: propellers unlike the model, copper that warms, a supply that sags otherwise than taken, and
where no speed was read the motor's loading. Beyond the limit on Settings a figure is not given.
"""

import math
from dataclasses import replace

from xlsengine.bench.declaring.declare import Heading, Table
from xlsengine.bench.groups import measured_points as m
from xlsengine.bench.groups import prediction_trials as k
from xlsengine.bench.groups.normalising import sag_count_of, volts_per_amp
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import supply
from xlsengine.bench.inputs.no_load import COPPER_PER_K
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import INFINITE, expanded, sum_of_squares
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Named, Node, call, greater, join, say
from xlsengine.sources import FIRST_ORDER_MOTOR, GUM_PROPAGATION, IACS, definition, worked_out

FEWEST_CELLS, MOST_CELLS = 2, 14
BENCH_SUPPLY = "bench supply"
"""A²: variance of the currents that draw the supply's line."""
FULL_CELL = 4.2
"""V. A charged lithium cell at rest; what a pack reads less under load bounds its resistance."""

# --- which cell counts, and at which volts -----------------------------------------------------------------------


def _untested(step: int) -> Node:
    """Return the code of the next cell count down or up, where the propeller has no measured point there.

    One that the point two counts lower already asks for is not asked for again.
    """
    wanted = m.code + float(step)
    other_kind = (r.AT_PEAK + r.AT_STEADY - 2 * m.kind_code) * m.MOST_CELLS

    def measured(code: Node) -> Node:
        of_kind, of_other = (m.code.count(Condition(m.code, "=", each)) for each in (code, code + other_kind))
        return of_kind + of_other > 0

    twice = measured(wanted) if step > 0 else measured(wanted) | measured(wanted - 1)
    inside = m.cells <= MOST_CELLS - 1 if step > 0 else m.cells >= FEWEST_CELLS + 1
    return ((m.code > 0) & inside).where(twice.where(BLANK, wanted))


_down = k.TRIED.helper("next_down", "Next cell count down").derive(
    _untested(-1), "Blank where it was tested.", definition()
)
_up = k.TRIED.helper("next_up", "Next cell count up").derive(_untested(1), "Blank where it was tested.", definition())

PREDICTED = Table(
    "Predictions",
    "Full throttle at cell counts next to those that were tested: estimates with a range.",
    spare=1,
    per=(_down, _up),
    prefix="predicted_",
    source=k.LINE,
)
_place = PREDICTED.helper("place", "Place").derive(
    Aggregate("row", (Column(PREDICTED.name, "predicted_place"),)), "Place.", definition()
)
_code = PREDICTED.helper("code", "Code").derive(
    Aggregate("smallest", (_down, _up), (), _place), "Propeller, kind and cells.", definition()
)
_with_kind = PREDICTED.helper("with_kind", "Propeller and kind").derive(
    (_code / m.MOST_CELLS).whole_part(), "Number.", definition()
)
_number = PREDICTED.helper("number", "Propeller").derive((_with_kind / m.KINDS).whole_part(), "Number.", definition())
_kind_code = PREDICTED.helper("kind_code", "Kind, code").derive(
    _with_kind - _number * m.KINDS, "As measured.", definition()
)
_first = m.propeller.position(_number)
prop = PREDICTED.column("prop", "Prop").derive(m.prop.at(_first), "The propeller.", definition())
cells = PREDICTED.column("cells", "Cells", symbol="cells").derive(
    _code - _with_kind * m.MOST_CELLS, "Cell count that was not tested.", definition()
)
kind = PREDICTED.column("kind", "Kind").derive(
    _kind_code.present().where(m.kind_word(_kind_code), ""),
    "Of the rows it is predicted from; peak where a propeller and cell count has peaks alone.",
    definition(),
)
_places = {word: k.neighbour(PREDICTED, word, _code) for word in ("below", "above")}
_near = PREDICTED.helper("near_place", "Nearer, place").derive(
    _places["below"][0].otherwise(_places["above"][0]), "Whose volts are taken.", definition()
)
_near_volts, _near_current = (column.at(_near) for column in (m.voltage, m.current))
_near_count = PREDICTED.helper("near_cells", "Cells of the nearer").derive(
    m.cells.at(_near), "Cell count.", definition()
)
_level = PREDICTED.helper("level", "Volts at the same per cell").derive(
    cells * _near_volts / _near_count, "V.", definition()
)
_drawn = PREDICTED.helper("drawn", "Current at these volts").derive(
    _near_current * ((_level / _near_volts).ln() * 2 / (2 - s.assumed_speed_ratio)).exp(), "A."
)
_slope = volts_per_amp.at(sag_count_of.position(_near_count))
_read_sag = PREDICTED.helper("sag_read", "Resistance of the supply, read").derive(
    greater(-_slope, 0.0), "Ω, at the nearer cell count."
)
_most_sag = greater(FULL_CELL - _near_volts / _near_count, 0.0) * _near_count / _near_current
_assumed = supply.equals(BENCH_SUPPLY).where(0.0, _most_sag / 2)
_sag = PREDICTED.helper("sag", "Resistance of the supply").derive(
    _read_sag.otherwise(_assumed) * cells / _near_count,
    "Ω, from volts against amps over the unflagged steady readings at the nearer cell count; where these are all of "
    "one current, half of what would take charged cells, of 4.2 V at rest, to the volts that were read; none for a "
    "bench supply.",
)
volts = PREDICTED.column("volts", "Voltage taken", "V", symbol="V").derive(
    _level - _sag * (_drawn - _near_current) / (1 + 2 / (2 - s.assumed_speed_ratio) * _sag * _drawn / _level),
    "Volts per cell as at the nearer tested count, less what the higher current costs by the supply's line.",
    worked_out("V = V0 − I·R, one step of Newton's method"),
)
_low, _high = (k.side_of(PREDICTED, word, *_places[word], volts) for word in ("below", "above"))
predicted_from = PREDICTED.column("from", "From").derive(
    k.from_words(_low, _high), "The tested cell counts it is predicted from.", definition()
)

# --- what is predicted, wherever it lies ---------------------------------------------------------------------------


def _weighed(name: str, label: str, unit: str, low: Node, high: Node) -> Column:
    return PREDICTED.helper(f"{name}_found", f"{label}, found").derive(
        k.both(cells, _low, _high, low, high), f"{unit}."
    )


_thrust = _weighed("thrust", "Thrust", "g", _low.thrust, _high.thrust)
_current = _weighed("current", "Current", "A", _low.current, _high.current)
_speed = _weighed("speed", "Speed", "rpm", m.speed.at(_low.place) * _low.ratio, m.speed.at(_high.place) * _high.ratio)

# --- what a step leaves open, each a share of thrust or current and a half-width of about 95 % ----------------------

_step = PREDICTED.helper("step", "How far off").derive(
    k.step_to(cells, _low, _high), "ln of the ratio of cells.", definition()
)
_times = PREDICTED.helper("times", "How many times as far as the test predictions").derive(
    (_step / k.trial_distance).otherwise(1.0), "1 where none was tested.", definition()
)
_growth = PREDICTED.helper("growth", "Open: propellers unlike the model").derive(
    s.prediction_growth / 100 * _step / math.log(2), "Share."
)
_loading = PREDICTED.helper("loading", "Open: loading of the motor").derive(
    _speed.present().where(0.0, 2 * s.prediction_loading / (2 - s.assumed_speed_ratio) ** 2 * _step),
    "Share; where no speed was read. The exponent 2/(2 − x) of volts moves by 2/(2 − x)² for one of x.",
    FIRST_ORDER_MOTOR,
)
_heating = COPPER_PER_K * s.prediction_warmth * call("absolute", (_current / _near_current) ** 2 - 1)
_warmth = PREDICTED.helper("warmth", "Open: warmth of the copper").derive(
    _kind_code.equals(r.AT_STEADY).where(
        2 * (1 - s.assumed_speed_ratio) / (2 - s.assumed_speed_ratio) * (1 + _heating).ln(), 0.0
    ),
    "Share; none for peaks, which are read cold. Copper warms with the square of the current; the square of the speed "
    "goes with resistance to the power −2·(1 − x)/(2 − x).",
    IACS,
)
_sagging = PREDICTED.helper("sagging", "Open: sag of the supply").derive(
    supply.equals(BENCH_SUPPLY).where(0.0, _read_sag.present().where(0.5, 1.0) * (1 - volts / _level)),
    "Share of the volts: of what the higher current costs all where it was assumed, half where it was read.",
)
_BY_VOLTS = 2 / (2 - s.assumed_speed_ratio)
_OPEN = [_growth, _loading, _warmth, _BY_VOLTS * _sagging]
_STAND = a.taken_thrust_accuracy * a.LIMIT_TO_DEVIATION / m.thrust.at(_near)
_VOLTMETER, _AMMETER = a.relative(a.taken_voltage_accuracy), a.relative(a.taken_current_accuracy)
_TACHOMETER = a.relative(a.taken_speed_accuracy)


def _by_trials(scatter: Named, least: Named) -> Node:
    """Return twice what trials were off by, at the distance of this step, in percent; not less than the least."""
    return greater(2 * scatter * _times, least).otherwise(least)


_THRUST_TRIED = _by_trials(k.trial_thrust_error, s.prediction_thrust_least)
_CURRENT_TRIED = _by_trials(k.trial_current_error, s.prediction_current_least)
_RATIO_TRIED = _by_trials(k.trial_ratio_error, s.prediction_thrust_least)


def _given(
    heading: Heading[Column],
    found: Node,
    tried: Node,
    left_open: list[Node],
    meters: list[Node],
    meaning: str = "Static.",
) -> Column:
    """Add a figure with its ±; both blank where the ± is beyond the limit on Settings."""
    of_meters = expanded(sum_of_squares(meters).sqrt(), Constant(INFINITE))
    half = heading.part("half", "± as a share").derive(
        sum_of_squares([greater(tried / 100, sum_of_squares(left_open).sqrt()), of_meters]).sqrt(),
        "The range by the test predictions or what the step leaves open, whichever is more, and the expanded "
        "uncertainty of the instruments, which they share.",
        GUM_PROPAGATION,
    )
    value = replace(heading, label=f"{heading.label}, predicted").derive(
        (half * 100 <= s.prediction_limit).where(found),
        f"{meaning} Blank where its ± would be beyond the limit on Settings.",
    )
    heading.expanded.derive(
        value * half,
        "By the test predictions or by what the step leaves open, whichever is more, and by the instruments.",
        GUM_PROPAGATION,
    )
    return value


_watts = volts * _current
_OPEN_IN_POWER = [_growth, _loading, _warmth, (1 + _BY_VOLTS) * _sagging]
thrust = _given(PREDICTED.column("thrust", "Thrust", "g", symbol="T"), _thrust, _THRUST_TRIED, _OPEN, [_STAND])
current = _given(PREDICTED.column("current", "Current", "A", symbol="I"), _current, _CURRENT_TRIED, _OPEN, [_AMMETER])
_power = PREDICTED.column("power", "Power", "W", symbol="P")
power = _given(_power, _watts, _CURRENT_TRIED, _OPEN_IN_POWER, [_AMMETER, _VOLTMETER], "At the voltage taken.")
efficiency = _given(
    PREDICTED.column("efficiency", "Thrust per power", "g/W", symbol="e_P"),
    _thrust / _watts,
    _RATIO_TRIED,
    [_growth, _loading, _sagging],
    [_STAND, _AMMETER, _VOLTMETER],
    "Of the two.",
)
speed = _given(
    PREDICTED.column("speed", "Speed", "rpm", symbol="n"),
    _speed,
    _THRUST_TRIED / s.thrust_speed_power,
    [part / 2 for part in _OPEN],
    [_TACHOMETER],
    "Blank where no speed was read.",
)


def _half(name: str) -> Column:
    return Column(PREDICTED.name, f"predicted_{name}_half")


def _too_far() -> Node:
    """Say why figures are missing: how wide the ± of thrust and current would be."""
    widest = greater(_half("thrust"), _half("current")) * 100
    return (widest > s.prediction_limit).where(
        say("; too far from {} for every figure: up to ± {:.0f} %", predicted_from, widest), ""
    )


basis = PREDICTED.column("basis", "By").derive(
    cells.present().where(
        join(_speed.present().where("motor's line", "assumed loading: no speed read"), _too_far()), ""
    ),
    "What carried it over, and why a figure is not given.",
    definition(),
)
thin = k.PREDICTION.figure("prediction_thin", "What is predicted").derive(
    (m.code.count(Condition(m.code, ">", Constant(0.0))) > 0).where(
        say(
            "{:.0f} combinations next to tested ones are predicted, static at full throttle, at the voltage that "
            "stands beside them; a figure whose ± would be beyond {:.0f} % is not given.",
            cells.count(),
            s.prediction_limit,
        ),
        "Nothing: no propeller has an unflagged full-throttle reading with volts, amps and thrust.",
    ),
    "Too thin data give no prediction.",
    definition(),
)
