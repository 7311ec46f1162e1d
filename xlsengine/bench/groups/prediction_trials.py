"""How a cell count is predicted from a propeller's others; and the same done to tested ones, as a trial.

The propeller's nearest tested cell counts below and above are both asked where there are both, the nearer one counting
more. Each goes by its own measured point: the motor's line where a speed was read, else the line that an assumed ratio
of speed to Kv times volts gives.
"""

from dataclasses import dataclass

from xlsengine.bench.declaring.declare import Figures, Table
from xlsengine.bench.groups import measured_points as m
from xlsengine.bench.inputs import settings as s
from xlsengine.expression import Column, Condition, Named, Node, call, greater, say
from xlsengine.sources import definition, worked_out

TRIAL = worked_out("each tested cell count is left out and predicted from the propeller's others")
PREDICTION = Figures("Prediction", "How far off predictions are where they could be tested.", source=TRIAL)
LINE = worked_out("motor's line through the measured point: A·m² + B·m = V − C; thrust as a power of speed")


@dataclass(frozen=True)
class Side:
    """What one neighbouring cell count says: where it stands, its cells, and speed share, thrust and current."""

    place: Column
    cells: Column
    ratio: Column
    thrust: Column
    current: Column


def neighbour(make: Table, word: str, code: Node) -> tuple[Column, Column]:
    """Find the measured point of the same propeller next below or above `code`; return its place and cells."""
    above = m.code.count(Condition(m.code, ">", code))
    not_below = m.code.count(Condition(m.code, ">=", code))
    found = make.helper(f"{word}_code", f"{word.capitalize()}, code").derive(
        m.code.largest(place=above if word == "above" else not_below + 1),
        "Next of all propellers and cell counts.",
        definition(),
    )
    same = ((found / m.MOST_CELLS).whole_part()).equals((code / m.MOST_CELLS).whole_part())
    place = make.helper(f"{word}_place", f"{word.capitalize()}, place").derive(
        same.where(m.code.position(found)), "Blank for another propeller.", definition()
    )
    cells = make.helper(f"{word}_cells", f"{word.capitalize()}, cells").derive(
        m.cells.at(place), "Cell count.", definition()
    )
    return place, cells


def side_of(make: Table, word: str, place: Column, cells: Column, volts: Node) -> Side:
    """Predict from one neighbour at `volts`."""
    name = word.capitalize()
    by_line = m.root(m.line_square.at(place), m.line_linear.at(place), volts - m.line_fixed.at(place))
    by_share = m.root(1 - s.assumed_speed_ratio, s.assumed_speed_ratio, volts / m.voltage.at(place))
    ratio = make.helper(f"{word}_ratio", f"{name}, speed over measured").derive(
        by_line.otherwise(by_share),
        "By the motor's line; where no speed was read, by the line that the x of Settings gives: (1 − x)·m² + x·m = v.",
    )
    thrust = make.helper(f"{word}_thrust", f"{name}, thrust").derive(
        m.thrust.at(place) * (s.thrust_speed_power * ratio.ln()).exp(), "g."
    )
    by_torque = m.idle_fixed.at(place) + m.idle_linear.at(place) * ratio + m.torque_current.at(place) * ratio**2
    current = make.helper(f"{word}_current", f"{name}, current").derive(
        by_torque.otherwise(m.current.at(place) * ratio**2),
        "A. No-load current, and the torque's part as the square of speed.",
    )
    return Side(place, cells, ratio, thrust, current)


def both(wanted: Node, below: Side, above: Side, low: Node, high: Node) -> Node:
    """Weigh two answers, the nearer cell count more; one alone where there is one."""
    share = (above.cells - wanted) / (above.cells - below.cells)
    return (low * share + high * (1 - share)).otherwise(low).otherwise(high)


def from_words(below: Side, above: Side) -> Node:
    """Say which cell counts a prediction is from."""
    one, other = (say("{:.0f}S", side.cells) for side in (below, above))
    return say("{} and {}", one, other).otherwise(one).otherwise(other)


# --- the trial: every measured point from the propeller's others -------------------------------------------------

TRIED = m.MEASURED.part("tried_", LINE)
_known = (m.code > 0).where(m.code)
_own_code = TRIED.helper("code", "Code").derive(_known, "Blank where nothing was measured.", definition())
_below, _above = (side_of(TRIED, word, *neighbour(TRIED, word, _own_code), m.voltage) for word in ("below", "above"))
tried_from = TRIED.column("from", "Left out, and predicted from").derive(
    from_words(_below, _above), "The propeller's other cell counts nearest to it, of the same kind.", definition()
)
tried_thrust = TRIED.column("thrust", "Thrust, predicted", "g", symbol="T_p").derive(
    both(m.cells, _below, _above, _below.thrust, _above.thrust), "At the volts that were read."
)
tried_current = TRIED.column("current", "Current, predicted", "A", symbol="I_p").derive(
    both(m.cells, _below, _above, _below.current, _above.current), "At the volts that were read."
)
thrust_error = TRIED.column("thrust_error", "Thrust, error", "%", symbol="e_T").derive(
    (tried_thrust / m.thrust - 1) * 100, "Predicted less measured.", definition()
)
current_error = TRIED.column("current_error", "Current, error", "%", symbol="e_I").derive(
    (tried_current / m.current - 1) * 100, "Predicted less measured.", definition()
)

ratio_error = TRIED.helper("ratio_error", "Thrust per current, error").derive(
    ((tried_thrust / tried_current) / (m.thrust / m.current) - 1) * 100, "Predicted less measured.", definition()
)


def step_to(wanted: Node, below: Side, above: Side) -> Node:
    """Return how far, in ln(cells), the nearer neighbour stands off."""
    low, high = (wanted / below.cells).ln(), (above.cells / wanted).ln()
    return call("lesser", low, high).otherwise(low).otherwise(high)


tried_step = TRIED.helper("step", "How far off").derive(
    (thrust_error.present()).where(step_to(m.cells, _below, _above)), "ln of the ratio of cells.", definition()
)

# --- how far they went wrong -----------------------------------------------------------------------------------

trials = PREDICTION.figure("trials", "Test predictions", symbol="N_p").derive(
    thrust_error.count(), "Tested cell counts of propellers with two or more."
)
trial_distance = PREDICTION.figure("trial_distance", "How far off they were, mean", decimals=3).derive(
    tried_step.mean(), "ln of the ratio of cells."
)


def _scatter(error: Column) -> Node:
    return (trials > 0).where((error.dot(error) / trials).sqrt())


def _went_wrong(name: str, label: str, symbol: str, error: Column) -> Named:
    return PREDICTION.figure(f"trial_{name}_error", f"Error in {label}, root mean square", "%", symbol=symbol).derive(
        _scatter(error), "Over the test predictions."
    )


trial_thrust_error = _went_wrong("thrust", "thrust", "s_T", thrust_error)
trial_current_error = _went_wrong("current", "current", "s_I", current_error)
trial_ratio_error = _went_wrong("ratio", "thrust per current", "s_T/I", ratio_error)


def _predicted_range(name: str, label: str, scatter: Named, least: Named) -> Named:
    return PREDICTION.figure(
        f"predicted_{name}_range", f"Range on predicted {label} by the test predictions, ±", "%"
    ).derive(
        greater(2 * scatter, least).otherwise(least),
        "Twice that error, but not less than the least on Settings, which stands alone where nothing could be tested.",
    )


predicted_thrust_range = _predicted_range("thrust", "thrust", trial_thrust_error, s.prediction_thrust_least)
predicted_current_range = _predicted_range("current", "current", trial_current_error, s.prediction_current_least)
honesty = PREDICTION.figure("prediction_honesty", "How predictions fared").derive(
    (trials > 0).where(
        say(
            "Tested on what was measured: {:.0f} times a cell count was left out and predicted from the propeller's "
            "others; thrust was off by {:.1f} % and current by {:.1f} % (root mean square).",
            trials,
            trial_thrust_error,
            trial_current_error,
        ).otherwise(""),
        "Not tested: no propeller has unflagged full-throttle readings of one kind, steady or peak, at two cell "
        "counts; the ranges are the least on Settings and what physics leaves open.",
    ),
    "What the ranges are built from.",
)
