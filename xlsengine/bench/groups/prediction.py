"""Cell counts that were not tested, predicted from those that were, each figure with its ± or none.

The ± holds the instruments, and what trials showed or what a step in volts leaves open, whichever is more. What a step
leaves open grows with it: propellers unlike the model, copper that warms, a supply that sags otherwise than taken, and
where no speed was read the motor's loading. Beyond the limit on Settings a figure is not given.
"""

import math
from dataclasses import replace

from xlsengine.bench.declaring.declare import Heading, Table
from xlsengine.bench.groups import measured_points as m
from xlsengine.bench.groups import normalising as n
from xlsengine.bench.groups import prediction_trials as k
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import BENCH_SUPPLY, supply
from xlsengine.bench.inputs.no_load import COPPER_PER_K
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import INFINITE, coverage_factor, sum_of_squares
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node, call, greater, join, say
from xlsengine.sources import FIRST_ORDER_MOTOR, GUM_PROPAGATION, definition, worked_out

FEWEST_CELLS, MOST_CELLS = 2, 14
FULL_CELL = 4.2
"""V. A charged lithium cell at rest; what a pack reads less under load bounds its resistance."""
_SHIFT = 0.25
"""What a step up or down adds to the code of the measured point that it is from."""

# --- which cell count, beside which measured point ------------------------------------------------------------------


def _untested(step: int) -> Node:
    """Return the measured point's code, shifted down or up, where the propeller has no point there.

    What the point two counts lower already asks for is not asked for again.
    """
    other_kind = (r.AT_PEAK + r.AT_STEADY - 2 * m.kind_code) * m.MOST_CELLS

    def measured(code: Node) -> Node:
        of_kind, of_other = (m.code.count(Condition(m.code, "=", each)) for each in (code, code + other_kind))
        return of_kind + of_other

    found = measured(m.code + 1) if step > 0 else measured(m.code - 1) + measured(m.code - 2)
    inside = m.cells <= MOST_CELLS - 1 if step > 0 else m.cells >= FEWEST_CELLS + 1
    return ((m.code > 0) & inside).where((found > 0).where(BLANK, m.code + _SHIFT * step))


_down = k.TRIED.helper("next_down", "Next cell count down").derive(_untested(-1), "Blank where it was tested.")
_up = k.TRIED.helper("next_up", "Next cell count up").derive(_untested(1), "Blank where it was tested.")

PREDICTED = Table(
    "Predictions",
    "Full throttle at cell counts next to those that were tested: estimates with a range.",
    spare=2,  # a new propeller and cell count is predicted one down and one up
    per=(_down, _up),
    prefix="predicted_",
    source=k.LINE,
)
_place = PREDICTED.numbered("place")
_asked = PREDICTED.helper("asked", "Code and step").derive(
    Aggregate("smallest", (_down, _up), (), _place), "Of the measured point, by propeller and cells."
)
_code = (_asked + 0.5).whole_part()
_near = PREDICTED.row = PREDICTED.helper("near", "Measured point beside").derive(m.code.position(_code))
_step = (_asked - _code) / _SHIFT
prop = PREDICTED.take(m.prop, "prop")
cells = PREDICTED.column("cells", "Cells", symbol="cells").derive(
    m.cells.at(_near) + _step, "Cell count that was not tested.", definition()
)
kind = PREDICTED.take(m.kind, "kind")
_other = PREDICTED.helper("other", "Point beyond").derive(
    (_step > 0).where(k.above.at(_near), k.below.at(_near)).otherwise(_near)
)

# --- at which volts ------------------------------------------------------------------------------------------------

_near_cells, _near_volts, _near_current = cells - _step, m.voltage.at(_near), m.current.at(_near)
_BY_VOLTS = n.volts_power(s.assumed_speed_ratio)
_fall = PREDICTED.helper("sag_read", "Sag of the supply, read").derive(
    greater(-n.volts_per_amp.at(n.sag_count_of.position(_near_cells)), 0.0) * _near_current / _near_volts,
    "Share of the volts, from volts against amps over the unflagged steady readings at that cell count.",
)
_most_sag = greater(FULL_CELL * _near_cells / _near_volts - 1, 0.0)
_sag = _fall.otherwise(supply.equals(BENCH_SUPPLY).where(0.0, _most_sag / 2))
"""Share of the volts; where the steady readings are all of one current, half of what would take charged cells, of 4.2 V at
rest, to the volts that were read; none for a bench supply."""
_growth = ((cells / _near_cells).ln() * _BY_VOLTS).exp()
"""Current at the same volts per cell, over the measured one."""
_lost = PREDICTED.helper("lost", "Volts that the change of current costs").derive(
    _sag * (_growth - 1) / (1 + _BY_VOLTS * _sag * _growth), "Share; less than 0 for fewer cells."
)
volts = PREDICTED.column("volts", "Voltage taken", "V", symbol="V_new").derive(
    cells * _near_volts / _near_cells * (1 - _lost),
    "Volts per cell as at the nearer tested count, less what the higher current costs by the supply's line.",
    worked_out("V = V0 − I·R, one step of Newton's method"),
)
_told = k.told(PREDICTED, cells, volts, _near, _other, _near_cells)
predicted_from = PREDICTED.column("from", "From").derive(_told.words)

# --- what is predicted, wherever it lies ---------------------------------------------------------------------------

_thrust = PREDICTED.helper("thrust_found", "Thrust, found").derive(_told.thrust, "g.")
_current = PREDICTED.helper("current_found", "Current, found").derive(_told.current)
_speed = PREDICTED.helper("speed_found", "Speed, found").derive(_told.speed)

# --- what a step leaves open, each a share of thrust or current and a half-width of about 95 % ----------------------

_line = PREDICTED.helper("line", "Back-EMF of the line").derive(m.back_emf.at(_near))
_loading = _line.present().where(0.0, s.prediction_loading / 2 * _BY_VOLTS**2)
_unlike = PREDICTED.helper("unlike", "Open: propellers unlike the model, and loading of the motor").derive(
    _told.step * ((s.prediction_growth / (100 * math.log(2))) ** 2 + _loading**2).sqrt(),
    "Share; the loading where no line is known: the exponent 2/(2 − x) of volts moves by 2/(2 − x)² for one of x.",
    FIRST_ORDER_MOTOR,
)
_heating = COPPER_PER_K * s.prediction_warmth * call("absolute", (_current / _near_current) ** 2 - 1)
_warmth = kind.equals(r.STEADY).where((2 - _BY_VOLTS) * (1 + _heating).ln(), 0.0)
"""None for peaks, which are read cold. Copper warms with the square of the current (IACS); the square of the speed goes with
resistance to the power −2·(1 − x)/(2 − x)."""
_sagging = PREDICTED.helper("sagging", "Open: sag of the supply").derive(
    supply.equals(BENCH_SUPPLY).where(0.0, _fall.present().where(0.5, 1.0) * _lost),
    "Share of the volts: of what the higher current costs all where it was assumed, half where it was read.",
)
_OPEN = [_unlike, _warmth, _BY_VOLTS * _sagging]
_STAND = a.taken_thrust_accuracy * a.LIMIT_TO_DEVIATION / m.thrust.at(_near)
_VOLTMETER, _AMMETER = a.relative(a.taken_voltage_accuracy), a.relative(a.taken_current_accuracy)
_TACHOMETER = a.relative(a.taken_speed_accuracy)
_times = _told.step / k.trial_distance
_THRUST_TRIED = k.by_trials(k.trial_thrust_error, s.prediction_thrust_least, _times)
_CURRENT_TRIED = k.by_trials(k.trial_current_error, s.prediction_current_least, _times)
_RATIO_TRIED = k.by_trials(k.trial_ratio_error, s.prediction_thrust_least, _times)
_of_instruments = k.PREDICTION.figure("prediction_coverage", "Coverage factor of the instruments", symbol="k").derive(
    coverage_factor(Constant(INFINITE)), source=GUM_PROPAGATION
)


def _given(
    heading: Heading[Column],
    found: Node,
    tried: Node,
    left_open: list[Node],
    meters: list[Node],
    meaning: str = "Static.",
) -> Column:
    """Add a figure with its ±; both blank where the ± is beyond the limit on Settings."""
    of_meters = _of_instruments**2 * sum_of_squares(meters)
    half = heading.part("half", "± as a share").derive(
        (greater((tried / 100) ** 2, sum_of_squares(left_open)) + of_meters).sqrt(),
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
_OPEN_IN_POWER = [_unlike, _warmth, (1 + _BY_VOLTS) * _sagging]
thrust = _given(PREDICTED.column("thrust", "Thrust", "g", symbol="T_new"), _thrust, _THRUST_TRIED, _OPEN, [_STAND])
current = _given(
    PREDICTED.column("current", "Current", "A", symbol="I_new"), _current, _CURRENT_TRIED, _OPEN, [_AMMETER]
)
_power = PREDICTED.column("power", "Power", "W", symbol="P_new")
power = _given(_power, _watts, _CURRENT_TRIED, _OPEN_IN_POWER, [_AMMETER, _VOLTMETER], "At the voltage taken.")
efficiency = _given(
    PREDICTED.column("efficiency", "Thrust per power", "g/W", symbol="e_new"),
    _thrust / _watts,
    _RATIO_TRIED,
    [_unlike, _sagging],
    [_STAND, _AMMETER, _VOLTMETER],
    "Of the two.",
)
speed = _given(
    PREDICTED.column("speed", "Speed", "rpm", symbol="n_new"),
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


_assumed = join("assumed loading: ", _speed.present().where("no Kv that fits the speed", "no speed read"))
basis = PREDICTED.column("basis", "By").derive(
    cells.present().where(join(_line.present().where("motor's line", _assumed), _too_far()), ""),
    "What carried it over, and why a figure is not given.",
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
    )
)
