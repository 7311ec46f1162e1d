"""How a cell count is predicted from a propeller's others; and the same done to tested ones, as a trial.

The propeller's nearest tested cell counts below and above are both asked where there are both, the nearer one counting
more. Each goes by its own measured point: the motor's line where a speed was read, else the line that an assumed ratio
of speed to Kv times volts gives.
"""

from __future__ import annotations

from dataclasses import dataclass

from xlsengine.bench import measured_points as m
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.settings import (
    assumed_speed_ratio,
    prediction_current_least,
    prediction_thrust_least,
    thrust_speed_power,
)
from xlsengine.bench.table_maker import TableMaker
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Named, Node, call, greater, join
from xlsengine.sources import Source, definition, worked_out

PREDICTION = Figures("Prediction", "How far predictions went wrong where they could be tried.")
LINE = worked_out("motor's line through the measured point: A·m² + B·m = V − C; thrust as a power of speed")
TRIAL = worked_out("each tested cell count is left out and predicted from the propeller's others")


@dataclass(frozen=True)
class Side:
    """What one neighbouring cell count says: where it stands, its cells, and speed share, thrust and current."""

    place: Column
    cells: Column
    ratio: Column
    thrust: Column
    current: Column


def neighbour(make: TableMaker, word: str, code: Node) -> tuple[Column, Column]:
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
    cells = make.helps(f"{word}_cells", f"{word.capitalize()}, cells", at(m.cells, place), "Cell count.", definition())
    return place, cells


def at(column: Column, place: Node) -> Node:
    """Return the value of a measured point."""
    return Aggregate("at", (column,), (), place)


def side_of(make: TableMaker, word: str, place: Column, cells: Column, volts: Node) -> Side:
    """Predict from one neighbour at `volts`."""
    name = word.capitalize()

    def fetch(column: Column) -> Node:
        return at(column, place)

    by_line = m.root(fetch(m.line_square), fetch(m.line_linear), volts - fetch(m.line_fixed))
    by_share = m.root(1 - assumed_speed_ratio, assumed_speed_ratio, volts / fetch(m.voltage))
    ratio = make.helps(
        f"{word}_ratio", f"{name}, speed over measured", by_line.otherwise(by_share),
        "By the motor's line; where no speed was read, by the line that the x of Settings gives: (1 − x)·m² + x·m = v.",
    )  # fmt: skip
    thrust = make.helps(
        f"{word}_thrust", f"{name}, thrust", fetch(m.thrust) * (thrust_speed_power * ratio.ln()).exp(), "g."
    )
    by_torque = fetch(m.idle_fixed) + fetch(m.idle_linear) * ratio + fetch(m.torque_current) * ratio**2
    current = make.helps(
        f"{word}_current", f"{name}, current", by_torque.otherwise(fetch(m.current) * ratio**2),
        "A. No-load current, and the torque's part as the square of speed.",
    )  # fmt: skip
    return Side(place, cells, ratio, thrust, current)


def both(wanted: Node, below: Side, above: Side, low: Node, high: Node) -> Node:
    """Weigh two answers, the nearer cell count more; one alone where there is one."""
    share = (above.cells - wanted) / (above.cells - below.cells)
    return (low * share + high * (1 - share)).otherwise(low).otherwise(high)


def from_words(below: Side, above: Side) -> Node:
    """Say which cell counts a prediction is from."""
    one, other = (join(side.cells.fixed(0), "S") for side in (below, above))
    return join(one, " and ", other).otherwise(one).otherwise(other)


# --- the trial: every measured point from the propeller's others -------------------------------------------------

TRIED = TableMaker(m.MEASURED, "tried", LINE)
_known = (m.code > 0).where(m.code, BLANK)
_own_code = TRIED.helps("code", "Code", _known, "Blank where nothing was measured.", definition())
_below, _above = (side_of(TRIED, word, *neighbour(TRIED, word, _own_code), m.voltage) for word in ("below", "above"))
tried_from = TRIED.shows(
    "from", "Left out, and predicted from", "", "", 0, from_words(_below, _above),
    "The propeller's other cell counts nearest to it, of the same kind.", definition(),
)  # fmt: skip
tried_thrust = TRIED.shows(
    "thrust", "Thrust, predicted", "T_p", "g", 0, both(m.cells, _below, _above, _below.thrust, _above.thrust),
    "At the volts that were read.",
)  # fmt: skip
tried_current = TRIED.shows(
    "current", "Current, predicted", "I_p", "A", 1, both(m.cells, _below, _above, _below.current, _above.current),
    "At the volts that were read.",
)  # fmt: skip
thrust_error = TRIED.shows(
    "thrust_error", "Thrust, error", "e_T", "%", 1, (tried_thrust / m.thrust - 1) * 100, "Predicted less measured.",
    definition(),
)  # fmt: skip
current_error = TRIED.shows(
    "current_error", "Current, error", "e_I", "%", 1, (tried_current / m.current - 1) * 100,
    "Predicted less measured.", definition(),
)  # fmt: skip

ratio_error = TRIED.helps(
    "ratio_error", "Thrust per current, error",
    ((tried_thrust / tried_current) / (m.thrust / m.current) - 1) * 100, "Predicted less measured.", definition(),
)  # fmt: skip


def step_to(wanted: Node, below: Side, above: Side) -> Node:
    """Return how far, in ln(cells), the nearer neighbour stands off."""
    low, high = (wanted / below.cells).ln(), (above.cells / wanted).ln()
    return call("lesser", low, high).otherwise(low).otherwise(high)


tried_step = TRIED.helps(
    "step", "How far off", (thrust_error.present()).where(step_to(m.cells, _below, _above), BLANK),
    "ln of the ratio of cells.", definition(),
)  # fmt: skip

# --- how far they went wrong -----------------------------------------------------------------------------------


def _figure(
    name: str, label: str, symbol: str, unit: str, shown: int, expression: Node, meaning: str, source: Source = TRIAL
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


def _predicted_range(name: str, label: str, scatter: Named, least: Named) -> Named:
    return _figure(
        f"predicted_{name}_range", f"Range on predicted {label} by the trials, ±", "", "%", 1,
        greater(2 * scatter, least).otherwise(least),
        "Twice that error, but not less than the least on Settings, which stands alone where nothing could be tried.",
    )  # fmt: skip


predicted_thrust_range = _predicted_range("thrust", "thrust", trial_thrust_error, prediction_thrust_least)
predicted_current_range = _predicted_range("current", "current", trial_current_error, prediction_current_least)
honesty = _figure(
    "prediction_honesty", "How predictions fared", "", "", 0,
    (trials > 0).where(
        join(
            "Tried on what was measured: ", trials.fixed(0),
            " times a cell count was left out and predicted from the propeller's others; thrust was off by ",
            trial_thrust_error.fixed(1), " % and current by ", trial_current_error.fixed(1), " % (root mean square).",
        ).otherwise(""),
        "Not tried: no propeller has unflagged full-throttle readings of one kind, steady or peak, at two cell counts; "
        "the ranges are the least on Settings and what physics leaves open.",
    ),
    "What the ranges are built from.",
)  # fmt: skip
