"""How a cell count is predicted from a propeller's others; and the same done to tested ones, as a trial.

The propeller's nearest tested cell counts below and above are both asked where there are both, the nearer one counting
more. Each goes by its own measured point: the motor's line where a speed was read, else the line that an assumed ratio
of speed to Kv times volts gives.
"""

from dataclasses import dataclass

from xlsengine.bench.declaring.declare import Figures, Table
from xlsengine.bench.groups import measured_points as m
from xlsengine.bench.inputs import settings as s
from xlsengine.expression import Column, Condition, Named, Node, Operand, call, greater, lesser, say
from xlsengine.sources import definition, worked_out

TRIAL = worked_out("each tested cell count is left out and predicted from the propeller's others")
PREDICTION = Figures("Prediction", "How far off predictions are where they could be tested.", source=TRIAL)
LINE = worked_out("motor's line through the measured point: A·m² + B·m = V − C; thrust as a power of speed")


@dataclass(frozen=True)
class Told:
    """What the measured points in two places make of another cell count of their propeller, at given volts.

    Where it has one neighbour alone, both places are that one's. `share` is how much the first counts.
    """

    volts: Node
    places: tuple[Column, Column]
    ratios: tuple[Column, Column]
    share: Column
    step: Column
    words: Node

    def weighed(self, one: Node, other: Node) -> Node:
        """Weigh what the two say."""
        return one * self.share + other * (1 - self.share)

    @property
    def thrust(self) -> Node:
        """Thrust (g): a power of the speed."""
        power = s.thrust_speed_power
        return self.weighed(*(m.thrust.at(p) * (power * n.ln()).exp() for p, n in self._each))

    @property
    def current(self) -> Node:
        """Current (A): what the volts beyond the back-EMF drive through the resistance; without a line, as speed squared."""
        return self.weighed(*(self._by_line(place, n).otherwise(m.current.at(place) * n**2) for place, n in self._each))

    @property
    def speed(self) -> Node:
        """Speed (rpm), where one was read; by the first alone where the other has none."""
        one, other = (m.speed.at(place) * n for place, n in self._each)
        return self.weighed(one, other).otherwise(one)

    def _by_line(self, place: Column, n: Column) -> Node:
        return (self.volts - m.back_emf.at(place) * n) / m.resistance.at(place)

    @property
    def _each(self) -> tuple[tuple[Column, Column], ...]:
        return tuple(zip(self.places, self.ratios, strict=True))


def told(make: Table, cells: Node, volts: Node, one: Column, other: Column, first: Node) -> Told:
    """Predict from the points in two places, of which the one has `first` cells.

    One that lies beyond it, as seen from the wanted count, has no say.
    """
    second = m.cells.at(other)
    share = make.helper("share", "How much the first counts").derive(
        lesser((second - cells) / (second - first), 1.0).otherwise(1.0)
    )
    step = make.helper("step", "How far off").derive(
        lesser(call("absolute", (cells / first).ln()), call("absolute", (cells / second).ln()))
    )
    both = say("{:.0f}S and {:.0f}S", lesser(first, second), greater(first, second))
    words = (share < 1).where(both, say("{:.0f}S", first))
    ratios = _ratio(make, "first", one, volts), _ratio(make, "other", other, volts)
    return Told(volts, (one, other), ratios, share, step, words)


def _ratio(make: Table, word: str, place: Column, volts: Node) -> Column:
    by_line = m.root(m.line_square.at(place), m.line_linear.at(place), volts - m.line_fixed.at(place))
    x, v = s.assumed_speed_ratio, volts / m.voltage.at(place)
    by_share = ((x**2 + 4 * (1 - x) * v).sqrt() - x) / (2 * (1 - x))
    return make.helper(f"{word}_ratio", f"Speed over measured, by {word}").derive(
        by_line.otherwise(by_share),
        "By the motor's line; where no speed was read, by the line that the x of Settings gives: (1 − x)·m² + x·m = v.",
    )


# --- the trial: every measured point from the propeller's others -------------------------------------------------

TRIED = m.MEASURED.part("tried_", LINE)
_OF_SAME = m.MOST_CELLS / 2
"""Codes that lie closer together are of one propeller and kind."""
_below = Condition(m.code, ">", m.code - _OF_SAME), Condition(m.code, "<", m.code)
_above = Condition(m.code, ">", m.code), Condition(m.code, "<", m.code + _OF_SAME)
_next_below, _next_above = m.code.largest(*_below), m.code.largest(*_above, place=m.code.count(*_above))
below = TRIED.helper("below", "Next below, else above").derive(
    m.code.position(_next_below.otherwise(_next_above)), "Place of the propeller's other point of that kind."
)
above = TRIED.helper("above", "Next above, else below").derive(
    m.code.position(_next_above.otherwise(_next_below)), "Place of the propeller's other point of that kind."
)
_told = told(TRIED, m.cells, m.voltage, below, above, m.cells.at(below))
tried_from = TRIED.column("from", "Left out, and predicted from").derive(
    _told.words, "The propeller's other cell counts nearest to it, of the same kind."
)
tried_thrust = TRIED.column("thrust", "Thrust, predicted", "g", symbol="T_p").derive(
    _told.thrust, "At the volts that were read."
)
tried_current = TRIED.column("current", "Current, predicted", "A", symbol="I_p").derive(
    _told.current, "At the volts that were read."
)


def _error(name: str, label: str, symbol: str, predicted: Node, measured: Node) -> Column:
    return TRIED.column(f"{name}_error", f"{label}, error", "%", symbol=symbol).derive(
        (predicted / measured - 1) * 100, "Predicted less measured.", definition()
    )


thrust_error = _error("thrust", "Thrust", "e_T", tried_thrust, m.thrust)
current_error = _error("current", "Current", "δ_I", tried_current, m.current)
ratio_error = _error("ratio", "Thrust per current", "e_T/I", tried_thrust / tried_current, m.thrust / m.current)

# --- how far they went wrong -----------------------------------------------------------------------------------

trials = PREDICTION.figure("trials", "Test predictions", symbol="N_p").derive(
    thrust_error.count(), "Tested cell counts of propellers with two or more."
)
trial_distance = PREDICTION.figure("trial_distance", "How far off they were, mean", decimals=3).derive(
    _told.step.mean()
)


def _went_wrong(name: str, label: str, symbol: str, error: Column) -> Named:
    return PREDICTION.figure(f"trial_{name}_error", f"Error in {label}, root mean square", "%", symbol=symbol).derive(
        (error.dot(error) / trials).sqrt()
    )


trial_thrust_error = _went_wrong("thrust", "thrust", "s_T", thrust_error)
trial_current_error = _went_wrong("current", "current", "s_I", current_error)
trial_ratio_error = _went_wrong("ratio", "thrust per current", "s_T/I", ratio_error)


def by_trials(scatter: Named, least: Named, times: Operand = 1.0) -> Node:
    """Return twice what trials were off by, so many times as far, in percent; not less than the least."""
    return greater(2 * scatter * times, least).otherwise(least)


def _predicted_range(name: str, label: str, scatter: Named, least: Named) -> Named:
    return PREDICTION.figure(
        f"predicted_{name}_range", f"Range on predicted {label} by the test predictions, ±", "%"
    ).derive(
        by_trials(scatter, least),
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
    )
)
