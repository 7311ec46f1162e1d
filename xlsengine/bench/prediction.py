"""Cell counts that were not tested, predicted from those that were; and the same done to tested ones, as a trial.

The propeller's nearest tested cell counts below and above are both asked where there are both, the nearer one counting
more. Each goes by its own measured point: the motor's line where a speed was read, else the exponents of the settings.
"""

from __future__ import annotations

from dataclasses import dataclass

from xlsengine.bench import measured_points as m
from xlsengine.bench import speed_rows as t
from xlsengine.bench.accuracies import (
    LIMIT_TO_DEVIATION,
    relative,
    taken_current_accuracy,
    taken_speed_accuracy,
    taken_thrust_accuracy,
    taken_voltage_accuracy,
)
from xlsengine.bench.conditions import supply
from xlsengine.bench.declare import Figures, Quantity, Table
from xlsengine.bench.grouped_line import GroupedLine
from xlsengine.bench.normalising import sag_cells
from xlsengine.bench.settings import (
    assumed_speed_ratio,
    prediction_current_blind,
    prediction_current_default,
    prediction_current_least,
    prediction_thrust_blind,
    prediction_thrust_default,
    prediction_thrust_least,
    thrust_speed_power,
)
from xlsengine.bench.table_maker import TableMaker
from xlsengine.bench.uncertainty import ENDLESS, expanded, sum_of_squares
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Named, Node, call, greater, join
from xlsengine.sources import GUM_PROPAGATION, Source, definition, worked_out

PREDICTION = Figures("Prediction", "How far predictions went wrong where they could be tried.")
FEWEST_CELLS, MOST_CELLS = 2, 14
BENCH_SUPPLY = "bench supply"
LEAST_CURRENT_SPREAD = 1.0
"""A²: variance of the currents that draw the supply's line."""
ASSUMED_SAG_PER_CELL = 0.0175 / 4
"""Ω. A pack of four cells has 10 to 25 mΩ with its leads: from memory."""
_line = worked_out("motor's line through the measured point: A·m² + B·m = V − C; thrust as a power of speed")
_trial = worked_out("each tested cell count is left out and predicted from the propeller's others")


@dataclass(frozen=True)
class _Side:
    """What one neighbouring cell count says: where it stands, its cells, and speed share, thrust and current."""

    place: Column
    cells: Column
    ratio: Column
    thrust: Column
    current: Column


def _neighbour(make: TableMaker, word: str, code: Node) -> tuple[Column, Column]:
    """Find the measured point of the same propeller next below or above `code`; return its place and cells."""
    above = Aggregate("count", (m.code,), (Condition(m.code, ">", code),))
    not_below = Aggregate("count", (m.code,), (Condition(m.code, ">=", code),))
    found = make.helps(
        f"{word}_code", f"{word.capitalize()}, code",
        Aggregate("largest", (m.code,), (), above if word == "above" else not_below + 1),
        "Next of all propellers and cell counts.", definition(),
    )  # fmt: skip
    same = ((found / m.MOST_CELLS).whole_part()).equals((code / m.MOST_CELLS).whole_part())
    place = make.helps(
        f"{word}_place", f"{word.capitalize()}, place",
        same.where(Aggregate("position", (m.code,), (), found), BLANK), "Blank for another propeller.", definition(),
    )  # fmt: skip
    cells = make.helps(f"{word}_cells", f"{word.capitalize()}, cells", _at(m.cells, place), "Cell count.", definition())
    return place, cells


def _at(column: Column, place: Node) -> Node:
    return Aggregate("at", (column,), (), place)


def _side(make: TableMaker, word: str, place: Column, cells: Column, volts: Node) -> _Side:
    """Predict from one neighbour at `volts`."""
    name = word.capitalize()

    def fetch(column: Column) -> Node:
        return _at(column, place)

    by_line = m.root(fetch(m.line_square), fetch(m.line_linear), volts - fetch(m.line_fixed))
    by_exponent = ((volts / fetch(m.voltage)).ln() / (2 - assumed_speed_ratio)).exp()
    ratio = make.helps(
        f"{word}_ratio", f"{name}, speed over measured", by_line.otherwise(by_exponent),
        "By the motor's line; where no speed was read, volts to the power 1/(2 − x).",
    )  # fmt: skip
    thrust = make.helps(
        f"{word}_thrust", f"{name}, thrust", fetch(m.thrust) * (thrust_speed_power * ratio.ln()).exp(), "g."
    )
    by_torque = fetch(m.idle_fixed) + fetch(m.idle_linear) * ratio + fetch(m.torque_current) * ratio**2
    current = make.helps(
        f"{word}_current", f"{name}, current", by_torque.otherwise(fetch(m.current) * ratio**2),
        "A. No-load current, and the torque's part as the square of speed.",
    )  # fmt: skip
    return _Side(place, cells, ratio, thrust, current)


def _both(wanted: Node, below: _Side, above: _Side, low: Node, high: Node) -> Node:
    """Weigh two answers, the nearer cell count more; one alone where there is one."""
    share = (above.cells - wanted) / (above.cells - below.cells)
    return (low * share + high * (1 - share)).otherwise(low).otherwise(high)


def _from_words(below: _Side, above: _Side) -> Node:
    one, other = (join(side.cells.fixed(0), "S") for side in (below, above))
    return join(one, " and ", other).otherwise(one).otherwise(other)


# --- the trial: every measured point from the propeller's others -------------------------------------------------

_tried = TableMaker(m.MEASURED, "tried", _line)
_known = (m.code > 0).where(m.code, BLANK)
_own_code = _tried.helps("code", "Code", _known, "Blank where nothing was measured.", definition())
_below, _above = (_side(_tried, word, *_neighbour(_tried, word, _own_code), m.voltage) for word in ("below", "above"))
tried_from = _tried.shows(
    "from", "Left out, and predicted from", "", "", 0, _from_words(_below, _above),
    "The propeller's other cell counts nearest to it.", definition(),
)  # fmt: skip
tried_thrust = _tried.shows(
    "thrust", "Thrust, predicted", "T_p", "g", 0, _both(m.cells, _below, _above, _below.thrust, _above.thrust),
    "At the volts that were read.",
)  # fmt: skip
tried_current = _tried.shows(
    "current", "Current, predicted", "I_p", "A", 1, _both(m.cells, _below, _above, _below.current, _above.current),
    "At the volts that were read.",
)  # fmt: skip
thrust_error = _tried.shows(
    "thrust_error", "Thrust, error", "e_T", "%", 1, (tried_thrust / m.thrust - 1) * 100, "Predicted less measured.",
    definition(),
)  # fmt: skip
current_error = _tried.shows(
    "current_error", "Current, error", "e_I", "%", 1, (tried_current / m.current - 1) * 100,
    "Predicted less measured.", definition(),
)  # fmt: skip

ratio_error = _tried.helps(
    "ratio_error", "Thrust per current, error",
    ((tried_thrust / tried_current) / (m.thrust / m.current) - 1) * 100, "Predicted less measured.", definition(),
)  # fmt: skip


def _step(wanted: Node, below: _Side, above: _Side) -> Node:
    """Return how far, in ln(cells), the nearer neighbour stands off."""
    low, high = (wanted / below.cells).ln(), (above.cells / wanted).ln()
    return call("lesser", low, high).otherwise(low).otherwise(high)


tried_step = _tried.helps(
    "step", "How far off", (thrust_error.present()).where(_step(m.cells, _below, _above), BLANK),
    "ln of the ratio of cells.", definition(),
)  # fmt: skip

# --- how far they went wrong -----------------------------------------------------------------------------------


def _figure(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str, source: Source = _trial
) -> Named:
    return PREDICTION.derive(Quantity(name, label, expression, meaning, source, symbol, unit, shown))


trials = _figure(
    "trials", "Predictions that could be tried", "N_p", "", 0, Aggregate("count", (thrust_error,)),
    "Tested cell counts of propellers with two or more.",
)  # fmt: skip
trial_distance = _figure(
    "trial_distance", "How far off they were, mean", "", "", 3, Aggregate("mean", (tried_step,)),
    "ln of the ratio of cells.",
)  # fmt: skip


def _scatter(error: Column) -> Node:
    return (trials > 0).where((Aggregate("dot", (error, error)) / trials).sqrt(), BLANK)


def _went_wrong(name: str, label: str, symbol: str, error: Column) -> Named:
    return _figure(
        f"trial_{name}_error",
        f"Error in {label}, root mean square",
        symbol,
        "%",
        1,
        _scatter(error),
        "Over the trials.",
    )


trial_thrust_error = _went_wrong("thrust", "thrust", "s_T", thrust_error)
trial_current_error = _went_wrong("current", "current", "s_I", current_error)
trial_ratio_error = _went_wrong("ratio", "thrust per current", "s_T/I", ratio_error)


def _range(scatter: Named, least: Named, default: Named) -> Node:
    return greater(2 * scatter, least).otherwise(default)


def _predicted_range(name: str, label: str, scatter: Named, least: Named, default: Named) -> Named:
    return _figure(
        f"predicted_{name}_range", f"Range on predicted {label}, ±", "", "%", 1, _range(scatter, least, default),
        "Twice that error, but not less than the least on Settings; the default there where nothing could be tried.",
    )  # fmt: skip


predicted_thrust_range = _predicted_range(
    "thrust", "thrust", trial_thrust_error, prediction_thrust_least, prediction_thrust_default
)
predicted_current_range = _predicted_range(
    "current", "current", trial_current_error, prediction_current_least, prediction_current_default
)
predicted_ratio_range = _predicted_range(
    "ratio", "thrust per current", trial_ratio_error, prediction_thrust_least, prediction_thrust_default
)
honesty = _figure(
    "prediction_honesty", "How predictions fared", "", "", 0,
    (trials > 0).where(
        join(
            "Tried on what was measured: ", trials.fixed(0),
            " times a cell count was left out and predicted from the propeller's others; thrust was off by ",
            trial_thrust_error.fixed(1), " % and current by ", trial_current_error.fixed(1), " % (root mean square).",
        ).otherwise(""),
        "Not tried: no propeller has unflagged steady full-throttle readings at two cell counts; "
        "the ranges are the defaults on Settings.",
    ),
    "What the ranges are built from.",
)  # fmt: skip

# --- what was not tested -----------------------------------------------------------------------------------------


def _untested(step: int) -> Node:
    """Return the code of the next cell count down or up, where the propeller has no measured point there.

    One that the point two counts lower already asks for is not asked for again.
    """
    wanted = m.code + float(step)

    def measured(code: Node) -> Node:
        return Aggregate("count", (m.code,), (Condition(m.code, "=", code),)) > 0

    twice = measured(wanted) if step > 0 else measured(wanted) | measured(wanted - 1)
    inside = m.cells <= MOST_CELLS - 1 if step > 0 else m.cells >= FEWEST_CELLS + 1
    return ((m.code > 0) & inside).where(twice.where(BLANK, wanted), BLANK)


_down = _tried.helps("next_down", "Next cell count down", _untested(-1), "Blank where it was tested.", definition())
_up = _tried.helps("next_up", "Next cell count up", _untested(1), "Blank where it was tested.", definition())

PREDICTED = Table(
    "Predictions", "Full throttle, steady, at cell counts next to those that were tested: estimates with a range.",
    spare=4, per=(_down, _up),
)  # fmt: skip
_make = TableMaker(PREDICTED, "predicted", _line)
_place = _make.helps("place", "Place", Aggregate("row", (Column(PREDICTED.name, "predicted_place"),)), "Place.",
                     definition())  # fmt: skip
_code = _make.helps("code", "Code", Aggregate("smallest", (_down, _up), (), _place), "Propeller and cells.",
                    definition())  # fmt: skip
_number = _make.helps("number", "Propeller", (_code / m.MOST_CELLS).whole_part(), "Number.", definition())
_first = Aggregate("position", (m.propeller,), (), _number)
prop = _make.shows(
    "prop", "Prop", "", "", 0, Aggregate("text at", (m.prop,), (), _first), "The propeller.", definition()
)
cells = _make.shows(
    "cells", "Cells", "cells", "", 0, _code - _number * m.MOST_CELLS, "Cell count that was not tested.", definition()
)
_places = {word: _neighbour(_make, word, _code) for word in ("below", "above")}
_near = _make.helps(
    "near_place", "Nearer, place", _places["below"][0].otherwise(_places["above"][0]), "Whose volts are taken.",
    definition(),
)  # fmt: skip
_near_cells, _near_volts, _near_current = (_at(column, _near) for column in (m.cells, m.voltage, m.current))
_level = _make.helps("level", "Volts at the same per cell", cells * _near_volts / _near_cells, "V.", definition())
_drawn = _make.helps(
    "drawn", "Current at these volts",
    _near_current * ((_level / _near_volts).ln() * 2 / (2 - assumed_speed_ratio)).exp(), "A.",
)  # fmt: skip
_near_count = _make.helps("near_cells", "Cells of the nearer", _near_cells, "Cell count.", definition())
_drawn_line = GroupedLine(t.current, t.voltage, sag_cells, _near_count)
_spread = _make.helps("sag_spread", "Variance of the currents there", _drawn_line.spread, "A².")
_slope = _make.helps("sag_slope", "Slope of volts on amps there", _drawn_line.slope, "V/A; negative as a rule.")
_found = (_spread > LEAST_CURRENT_SPREAD).where(greater(-_slope, 0.0), BLANK)
_assumed = supply.equals(BENCH_SUPPLY).where(0.0, ASSUMED_SAG_PER_CELL * _near_count)
_sag = _make.helps(
    "sag", "Resistance of the supply", _found.otherwise(_assumed) * cells / _near_count,
    "Ω, from volts against amps over the steady readings at the nearer cell count; where these are all of one current, "
    "that of an ordinary pack, or none for a bench supply.",
)  # fmt: skip
volts = _make.shows(
    "volts", "Voltage taken", "V", "V", 2,
    _level - _sag * (_drawn - _near_current) / (1 + 2 / (2 - assumed_speed_ratio) * _sag * _drawn / _level),
    "Volts per cell as at the nearer tested count, less what the higher current costs by the supply's line.",
    worked_out("V = V0 − I·R, one step of Newton's method"),
)  # fmt: skip
_low, _high = (_side(_make, word, *_places[word], volts) for word in ("below", "above"))
predicted_from = _make.shows(
    "from", "From", "", "", 0, _from_words(_low, _high), "The tested cell counts it is predicted from.", definition()
)
thrust = _make.shows(
    "thrust", "Thrust, predicted", "T", "g", 0, _both(cells, _low, _high, _low.thrust, _high.thrust), "Static, steady."
)
current = _make.shows(
    "current", "Current, predicted", "I", "A", 1, _both(cells, _low, _high, _low.current, _high.current),
    "Static, steady.",
)  # fmt: skip
_farther = _make.helps(
    "farther", "How many times as far as the trials",
    greater(_step(cells, _low, _high) / trial_distance, 1.0).otherwise(1.0), "1 where it is not farther.",
)  # fmt: skip


_measured_speed = _at(m.speed, _low.place) * _low.ratio, _at(m.speed, _high.place) * _high.ratio
speed = _make.shows(
    "speed", "Speed, predicted", "n", "rpm", 0, _both(cells, _low, _high, *_measured_speed),
    "Blank where no speed was read.",
)  # fmt: skip


power = _make.shows("power", "Power, predicted", "P", "W", 0, volts * current, "At the voltage taken.", definition())
efficiency = _make.shows(
    "efficiency", "Thrust per power, predicted", "T/P", "g/W", 2, thrust / power, "Of the two.", definition()
)

_STAND = taken_thrust_accuracy * LIMIT_TO_DEVIATION / _at(m.thrust, _near)
_VOLTMETER, _AMMETER = relative(taken_voltage_accuracy), relative(taken_current_accuracy)
_TACHOMETER = relative(taken_speed_accuracy)


def _margin(
    name: str, label: str, unit: str, shown: int, value: Column, went: Node, blind: Named, meters: list[Node]
) -> Column:
    """Add the ± of a value: how far the trials went wrong, and what their errors cannot show, the instruments'."""
    of_trials = _make.helps(
        f"{name}_half", f"{label}, by the trials",
        speed.present().where(went, greater(went, blind)) * _farther / 100,
        "Share of the value; wider for a farther step than those tried, and where no speed was read.", _trial,
    )  # fmt: skip
    of_meters = expanded(sum_of_squares(meters).sqrt(), Constant(ENDLESS))
    return _make.shows(
        f"{name}_expanded", f"{label}, ±", "", unit, shown, value * sum_of_squares([of_trials, of_meters]).sqrt(),
        "Twice the error of the trials, and the expanded uncertainty of the instruments, which trials share.",
        GUM_PROPAGATION,
    )  # fmt: skip


_margin("thrust", "Thrust", "g", 0, thrust, predicted_thrust_range, prediction_thrust_blind, [_STAND])
_margin("current", "Current", "A", 1, current, predicted_current_range, prediction_current_blind, [_AMMETER])
_margin("power", "Power", "W", 0, power, predicted_current_range, prediction_current_blind, [_AMMETER, _VOLTMETER])
_margin(
    "efficiency", "Thrust per power", "g/W", 2, efficiency, predicted_ratio_range, prediction_thrust_blind,
    [_STAND, _AMMETER, _VOLTMETER],
)  # fmt: skip
_margin("speed", "Speed", "rpm", 0, speed, predicted_thrust_range / thrust_speed_power, prediction_thrust_blind,
        [_TACHOMETER])  # fmt: skip
basis = _make.shows(
    "basis", "By", "", "", 0,
    cells.present().where(speed.present().where("motor's line", "exponents of Settings: no speed read"), ""),
    "What carried it over.", definition(),
)  # fmt: skip
thin = PREDICTION.derive(
    Quantity(
        "prediction_thin", "What is predicted",
        (Aggregate("count", (m.code,), (Condition(m.code, ">", Constant(0.0)),)) > 0).where(
            join(
                Aggregate("count", (thrust,)).fixed(0),
                " combinations next to tested ones are predicted, static and steady at full throttle, "
                "at the voltage that stands beside them.",
            ),
            "Nothing: no propeller has an unflagged steady full-throttle reading with volts, amps and thrust.",
        ),
        "Too thin data give no prediction.", definition(),
    )
)  # fmt: skip
