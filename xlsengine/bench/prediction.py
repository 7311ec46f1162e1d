"""Cell counts that were not tested, predicted from those that were, each figure with its ± or none.

The ± holds the instruments, and what trials showed or what a step in volts leaves open, whichever is more. What a step
leaves open grows with it: propellers unlike the model, copper that warms, a supply that sags otherwise than taken, and
where no speed was read the motor's loading. Beyond the limit on Settings a figure is not given.
"""

from __future__ import annotations

import math

from xlsengine.bench import measured_points as m
from xlsengine.bench import readings as r
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
from xlsengine.bench.declare import Quantity, Table
from xlsengine.bench.grouped_line import GroupedLine
from xlsengine.bench.no_load import COPPER_PER_K
from xlsengine.bench.normalising import sag_cells
from xlsengine.bench.prediction_trials import (
    LINE,
    PREDICTION,
    TRIED,
    at,
    both,
    from_words,
    neighbour,
    side_of,
    step_to,
    trial_current_error,
    trial_distance,
    trial_ratio_error,
    trial_thrust_error,
)
from xlsengine.bench.settings import (
    assumed_speed_ratio,
    prediction_current_least,
    prediction_growth,
    prediction_limit,
    prediction_loading,
    prediction_thrust_least,
    prediction_warmth,
    thrust_speed_power,
)
from xlsengine.bench.table_maker import TableMaker
from xlsengine.bench.uncertainty import ENDLESS, expanded, sum_of_squares
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Named, Node, call, greater, join
from xlsengine.sources import FIRST_ORDER_MOTOR, GUM_PROPAGATION, IACS, definition, worked_out

FEWEST_CELLS, MOST_CELLS = 2, 14
BENCH_SUPPLY = "bench supply"
LEAST_CURRENT_SPREAD = 1.0
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
        of_kind, of_other = (
            Aggregate("count", (m.code,), (Condition(m.code, "=", each),)) for each in (code, code + other_kind)
        )
        return of_kind + of_other > 0

    twice = measured(wanted) if step > 0 else measured(wanted) | measured(wanted - 1)
    inside = m.cells <= MOST_CELLS - 1 if step > 0 else m.cells >= FEWEST_CELLS + 1
    return ((m.code > 0) & inside).where(twice.where(BLANK, wanted), BLANK)


_down = TRIED.helps("next_down", "Next cell count down", _untested(-1), "Blank where it was tested.", definition())
_up = TRIED.helps("next_up", "Next cell count up", _untested(1), "Blank where it was tested.", definition())

PREDICTED = Table(
    "Predictions", "Full throttle at cell counts next to those that were tested: estimates with a range.",
    spare=1, per=(_down, _up),
)  # fmt: skip
_make = TableMaker(PREDICTED, "predicted", LINE)
_place = _make.helps("place", "Place", Aggregate("row", (Column(PREDICTED.name, "predicted_place"),)), "Place.",
                     definition())  # fmt: skip
_code = _make.helps("code", "Code", Aggregate("smallest", (_down, _up), (), _place), "Propeller, kind and cells.",
                    definition())  # fmt: skip
_with_kind = _make.helps(
    "with_kind", "Propeller and kind", (_code / m.MOST_CELLS).whole_part(), "Number.", definition()
)
_number = _make.helps("number", "Propeller", (_with_kind / m.KINDS).whole_part(), "Number.", definition())
_kind_code = _make.helps("kind_code", "Kind, code", _with_kind - _number * m.KINDS, "As measured.", definition())
_first = Aggregate("position", (m.propeller,), (), _number)
prop = _make.shows(
    "prop", "Prop", "", "", 0, Aggregate("text at", (m.prop,), (), _first), "The propeller.", definition()
)
cells = _make.shows(
    "cells", "Cells", "cells", "", 0, _code - _with_kind * m.MOST_CELLS, "Cell count that was not tested.", definition()
)
kind = _make.shows(
    "kind", "Kind", "", "", 0, _kind_code.present().where(m.kind_word(_kind_code), ""),
    "Of the rows it is predicted from; peak where a propeller and cell count has peaks alone.", definition(),
)  # fmt: skip
_places = {word: neighbour(_make, word, _code) for word in ("below", "above")}
_near = _make.helps(
    "near_place", "Nearer, place", _places["below"][0].otherwise(_places["above"][0]), "Whose volts are taken.",
    definition(),
)  # fmt: skip
_near_volts, _near_current = (at(column, _near) for column in (m.voltage, m.current))
_near_count = _make.helps("near_cells", "Cells of the nearer", at(m.cells, _near), "Cell count.", definition())
_level = _make.helps("level", "Volts at the same per cell", cells * _near_volts / _near_count, "V.", definition())
_drawn = _make.helps(
    "drawn", "Current at these volts",
    _near_current * ((_level / _near_volts).ln() * 2 / (2 - assumed_speed_ratio)).exp(), "A.",
)  # fmt: skip
_drawn_line = GroupedLine(t.current, t.voltage, sag_cells, _near_count)
_spread = _make.helps("sag_spread", "Variance of the currents there", _drawn_line.spread, "A².")
_slope = _make.helps("sag_slope", "Slope of volts on amps there", _drawn_line.slope, "V/A; negative as a rule.")
_read_sag = _make.helps(
    "sag_read", "Resistance of the supply, read", (_spread > LEAST_CURRENT_SPREAD).where(greater(-_slope, 0.0), BLANK),
    "Ω, at the nearer cell count.",
)  # fmt: skip
_most_sag = greater(FULL_CELL - _near_volts / _near_count, 0.0) * _near_count / _near_current
_assumed = supply.equals(BENCH_SUPPLY).where(0.0, _most_sag / 2)
_sag = _make.helps(
    "sag", "Resistance of the supply", _read_sag.otherwise(_assumed) * cells / _near_count,
    "Ω, from volts against amps over the sound steady readings at the nearer cell count; where these are all of one "
    "current, half of what would take charged cells, of 4.2 V at rest, to the volts that were read; none for a bench "
    "supply.",
)  # fmt: skip
volts = _make.shows(
    "volts", "Voltage taken", "V", "V", 2,
    _level - _sag * (_drawn - _near_current) / (1 + 2 / (2 - assumed_speed_ratio) * _sag * _drawn / _level),
    "Volts per cell as at the nearer tested count, less what the higher current costs by the supply's line.",
    worked_out("V = V0 − I·R, one step of Newton's method"),
)  # fmt: skip
_low, _high = (side_of(_make, word, *_places[word], volts) for word in ("below", "above"))
predicted_from = _make.shows(
    "from", "From", "", "", 0, from_words(_low, _high), "The tested cell counts it is predicted from.", definition()
)

# --- what is predicted, wherever it lies ---------------------------------------------------------------------------


def _weighed(name: str, label: str, unit: str, low: Node, high: Node) -> Column:
    return _make.helps(f"{name}_found", f"{label}, found", both(cells, _low, _high, low, high), f"{unit}.")


_thrust = _weighed("thrust", "Thrust", "g", _low.thrust, _high.thrust)
_current = _weighed("current", "Current", "A", _low.current, _high.current)
_speed = _weighed("speed", "Speed", "rpm", at(m.speed, _low.place) * _low.ratio, at(m.speed, _high.place) * _high.ratio)

# --- what a step leaves open, each a share of thrust or current and a half-width of about 95 % ----------------------

_step = _make.helps("step", "How far off", step_to(cells, _low, _high), "ln of the ratio of cells.", definition())
_times = _make.helps(
    "times", "How many times as far as the trials", (_step / trial_distance).otherwise(1.0), "1 where none was tried.",
    definition(),
)  # fmt: skip
_growth = _make.helps(
    "growth", "Open: propellers unlike the model", prediction_growth / 100 * _step / math.log(2), "Share."
)
_loading = _make.helps(
    "loading", "Open: loading of the motor",
    _speed.present().where(0.0, 2 * prediction_loading / (2 - assumed_speed_ratio) ** 2 * _step),
    "Share; where no speed was read. The exponent 2/(2 − x) of volts moves by 2/(2 − x)² for one of x.",
    FIRST_ORDER_MOTOR,
)  # fmt: skip
_heating = COPPER_PER_K * prediction_warmth * call("absolute", (_current / _near_current) ** 2 - 1)
_warmth = _make.helps(
    "warmth", "Open: warmth of the copper",
    _kind_code.equals(r.AT_STEADY).where(
        2 * (1 - assumed_speed_ratio) / (2 - assumed_speed_ratio) * (1 + _heating).ln(), 0.0
    ),
    "Share; none for peaks, which are read cold. Copper warms with the square of the current; the square of the speed "
    "goes with resistance to the power −2·(1 − x)/(2 − x).",
    IACS,
)  # fmt: skip
_sagging = _make.helps(
    "sagging", "Open: sag of the supply",
    supply.equals(BENCH_SUPPLY).where(0.0, _read_sag.present().where(0.5, 1.0) * (1 - volts / _level)),
    "Share of the volts: of what the higher current costs all where it was assumed, half where it was read.",
)  # fmt: skip
_BY_VOLTS = 2 / (2 - assumed_speed_ratio)
_OPEN = [_growth, _loading, _warmth, _BY_VOLTS * _sagging]
_STAND = taken_thrust_accuracy * LIMIT_TO_DEVIATION / at(m.thrust, _near)
_VOLTMETER, _AMMETER = relative(taken_voltage_accuracy), relative(taken_current_accuracy)
_TACHOMETER = relative(taken_speed_accuracy)


def _by_trials(scatter: Named, least: Named) -> Node:
    """Return twice what trials were off by, at the distance of this step, in percent; not less than the least."""
    return greater(2 * scatter * _times, least).otherwise(least)


_THRUST_TRIED = _by_trials(trial_thrust_error, prediction_thrust_least)
_CURRENT_TRIED = _by_trials(trial_current_error, prediction_current_least)
_RATIO_TRIED = _by_trials(trial_ratio_error, prediction_thrust_least)


def _given(
    name: str, label: str, symbol: str, unit: str, shown: int, found: Node, tried: Node, left_open: list[Node],
    meters: list[Node], meaning: str = "Static.",
) -> Column:  # fmt: skip
    """Add a figure with its ±; both blank where the ± is beyond the limit on Settings."""
    of_meters = expanded(sum_of_squares(meters).sqrt(), Constant(ENDLESS))
    half = _make.helps(
        f"{name}_half", f"{label}, ± as a share",
        sum_of_squares([greater(tried / 100, sum_of_squares(left_open).sqrt()), of_meters]).sqrt(),
        "The range by the trials or what the step leaves open, whichever is more, and the expanded uncertainty of the "
        "instruments, which trials share.", GUM_PROPAGATION,
    )  # fmt: skip
    value = _make.shows(
        name, f"{label}, predicted", symbol, unit, shown, (half * 100 <= prediction_limit).where(found, BLANK),
        f"{meaning} Blank where its ± would be beyond the limit on Settings.",
    )  # fmt: skip
    _make.shows(
        f"{name}_expanded", f"{label}, ±", "", unit, shown, value * half,
        "By the trials or by what the step leaves open, whichever is more, and by the instruments.", GUM_PROPAGATION,
    )  # fmt: skip
    return value


_watts = volts * _current
thrust = _given("thrust", "Thrust", "T", "g", 0, _thrust, _THRUST_TRIED, _OPEN, [_STAND])
current = _given("current", "Current", "I", "A", 1, _current, _CURRENT_TRIED, _OPEN, [_AMMETER])
power = _given(
    "power", "Power", "P", "W", 0, _watts, _CURRENT_TRIED, [_growth, _loading, _warmth, (1 + _BY_VOLTS) * _sagging],
    [_AMMETER, _VOLTMETER], "At the voltage taken.",
)  # fmt: skip
efficiency = _given(
    "efficiency", "Thrust per power", "e_P", "g/W", 2, _thrust / _watts, _RATIO_TRIED, [_growth, _loading, _sagging],
    [_STAND, _AMMETER, _VOLTMETER], "Of the two.",
)  # fmt: skip
speed = _given(
    "speed", "Speed", "n", "rpm", 0, _speed, _THRUST_TRIED / thrust_speed_power, [part / 2 for part in _OPEN],
    [_TACHOMETER], "Blank where no speed was read.",
)  # fmt: skip


def _half(name: str) -> Column:
    return Column(PREDICTED.name, f"predicted_{name}_half")


def _too_far() -> Node:
    """Say why figures are missing: how wide the ± of thrust and current would be."""
    widest = greater(_half("thrust"), _half("current")) * 100
    return (widest > prediction_limit).where(
        join("; too far from ", predicted_from, " for every figure: up to ± ", widest.fixed(0), " %"), ""
    )


basis = _make.shows(
    "basis", "By", "", "", 0,
    cells.present().where(
        join(_speed.present().where("motor's line", "assumed loading: no speed read"), _too_far()), ""
    ),
    "What carried it over, and why a figure is not given.", definition(),
)  # fmt: skip
thin = PREDICTION.derive(
    Quantity(
        "prediction_thin", "What is predicted",
        (Aggregate("count", (m.code,), (Condition(m.code, ">", Constant(0.0)),)) > 0).where(
            join(
                Aggregate("count", (cells,)).fixed(0),
                " combinations next to tested ones are predicted, static at full throttle, "
                "at the voltage that stands beside them; a figure whose ± would be beyond ",
                prediction_limit.fixed(0), " % is not given.",
            ),
            "Nothing: no propeller has an unflagged full-throttle reading with volts, amps and thrust.",
        ),
        "Too thin data give no prediction.", definition(),
    )
)  # fmt: skip
