"""Cell counts that were not tested, each predicted from a tested one beside it, with its ± or none.

A prediction goes by the measured point: the motor's line where a speed was read, else the line that an assumed ratio of
speed to Kv times volts gives. The ± holds the instruments and what a step in volts leaves open, which grows with it:
propellers unlike the model, copper that warms, a supply that sags otherwise than taken, and where no speed was read the
motor's loading. Beyond the limit on Settings a figure is not given.
"""

import math
from dataclasses import replace

from xlsengine.bench.declaring.declare import Figures, Heading, Table
from xlsengine.bench.groups import measured_points as m
from xlsengine.bench.groups import normalising as n
from xlsengine.bench.groups.lines import sag_count_of, volts_per_amp
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import BENCH_SUPPLY, supply
from xlsengine.bench.inputs.no_load import COPPER_PER_K
from xlsengine.bench.propagation import accuracies as a
from xlsengine.bench.propagation.terms import INFINITE, coverage_factor, sum_of_squares
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node, call, greater, join, say
from xlsengine.sources import GUM_PROPAGATION, definition, worked_out

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


_down = m.MEASURED.helper("next_down", "Next cell count down").derive(_untested(-1))
_up = m.MEASURED.helper("next_up", "Next cell count up").derive(_untested(1))

PREDICTION = Figures("Prediction", "What is predicted, and how surely.")
PREDICTED = Table(
    "Predictions",
    "Full throttle at cell counts next to those that were tested: estimates with a range.",
    spare=2,  # a new propeller and cell count is predicted one down and one up
    per=(_down, _up),
    prefix="predicted_",
    source=worked_out("motor's line through the measured point: A·m² + B·m = V − C; thrust as a power of speed"),
)
_place = PREDICTED.numbered("place")
_asked = PREDICTED.helper("asked", "Code and step").derive(Aggregate("smallest", (_down, _up), (), _place))
_code = (_asked + 0.5).whole_part()
_near = PREDICTED.row = PREDICTED.helper("near", "Measured point beside").derive(m.code.position(_code))
_step = (_asked - _code) / _SHIFT
prop = PREDICTED.take(m.prop, "prop")
cells = PREDICTED.column("cells", "Cells", symbol="cells").derive(
    m.cells.at(_near) + _step, "Cell count that was not tested.", definition()
)
kind = PREDICTED.take(m.kind, "kind")

# --- at which volts ------------------------------------------------------------------------------------------------

_near_cells, _near_volts, _near_current = cells - _step, m.voltage.at(_near), m.current.at(_near)
BY_VOLTS = n.volts_power(s.assumed_speed_ratio)
_fall = PREDICTED.helper("sag_read", "Sag of the supply, read").derive(
    greater(-volts_per_amp.at(sag_count_of.position(_near_cells)), 0.0) * _near_current / _near_volts
)
_most_sag = greater(FULL_CELL * _near_cells / _near_volts - 1, 0.0)
_sag = _fall.otherwise(supply.equals(BENCH_SUPPLY).where(0.0, _most_sag / 2))
"""Share of the volts; where the steady readings are all of one current, half of what would take charged cells, of 4.2 V at
rest, to the volts that were read; none for a bench supply."""
_growth = ((cells / _near_cells).ln() * BY_VOLTS).exp()
"""Current at the same volts per cell, over the measured one."""


def lost(sag: Node, growth: Node) -> Node:
    """Return the share of the volts that so many times the current costs, `sag` being what the current read cost."""
    return sag * (growth - 1) / (1 + BY_VOLTS * sag * growth)


_lost = PREDICTED.helper("lost", "Volts that the change of current costs").derive(lost(_sag, _growth))
volts = PREDICTED.column("volts", "Voltage taken", "V", symbol="V_new").derive(
    cells * _near_volts / _near_cells * (1 - _lost),
    "Volts per cell as at the tested count, less what the higher current costs by the supply's line.",
    worked_out("V = V0 − I·R, one step of Newton's method"),
)
predicted_from = PREDICTED.column("from", "From").derive(say("{:.0f}S", _near_cells))

# --- what is predicted, wherever it lies ---------------------------------------------------------------------------

_by_line = m.root(m.line_square.at(_near), m.line_linear.at(_near), volts - m.line_fixed.at(_near))
_x, _v = s.assumed_speed_ratio, volts / _near_volts
_by_share = ((_x**2 + 4 * (1 - _x) * _v).sqrt() - _x) / (2 * (1 - _x))
_ratio = PREDICTED.helper("ratio", "Speed over measured").derive(_by_line.otherwise(_by_share))
_line = PREDICTED.helper("line", "Back-EMF of the line").derive(m.back_emf.at(_near))
_thrust = PREDICTED.helper("thrust_found", "Thrust, found").derive(
    m.thrust.at(_near) * (s.thrust_speed_power * _ratio.ln()).exp()
)
_current = PREDICTED.helper("current_found", "Current, found").derive(
    ((volts - _line * _ratio) / m.resistance.at(_near)).otherwise(_near_current * _ratio**2)
)
_speed = PREDICTED.helper("speed_found", "Speed, found").derive(m.speed.at(_near) * _ratio)

# --- what a step leaves open, each a share of thrust or current and a half-width of about 95 % ----------------------

_far = call("absolute", (cells / _near_cells).ln())
_unlike = PREDICTED.helper("unlike", "Open: propellers unlike the model").derive(
    _far * s.prediction_growth / (100 * math.log(2))
)
_loading = PREDICTED.helper("loading", "Open: loading of the motor").derive(
    _line.present().where(0.0, _far * s.prediction_loading / 2 * BY_VOLTS**2)
)
_heating = COPPER_PER_K * s.prediction_warmth * call("absolute", (_current / _near_current) ** 2 - 1)
_warmth = kind.equals(r.STEADY).where((2 - BY_VOLTS) * (1 + _heating).ln(), 0.0)
"""None for peaks, which are read cold. Copper warms with the square of the current (IACS); the square of the speed goes with
resistance to the power −2·(1 − x)/(2 − x)."""
_sagging = PREDICTED.helper("sagging", "Open: sag of the supply").derive(
    supply.equals(BENCH_SUPPLY).where(0.0, _fall.present().where(0.5, 1.0) * _lost)
)
# A motor that is loaded more than taken also warms more: these two add.
_OPEN = [_unlike, _loading + _warmth, BY_VOLTS * _sagging]
_STAND = a.STAND / m.thrust.at(_near)
_VOLTMETER, _AMMETER = a.VOLTMETER, a.AMMETER
_of_instruments = PREDICTION.figure("prediction_coverage", "Coverage factor of the instruments", symbol="k").derive(
    coverage_factor(Constant(INFINITE)), source=GUM_PROPAGATION
)


def _given(
    heading: Heading[Column],
    found: Node,
    least: Node,
    left_open: list[Node],
    meters: list[Node],
    meaning: str = "Static.",
) -> Column:
    """Add a figure with its ±, both blank where the ± is beyond the limit on Settings; return the ± as a share."""
    of_meters = _of_instruments**2 * sum_of_squares(meters)
    half = heading.part("half", "± as a share").derive(
        (greater((least / 100) ** 2, sum_of_squares(left_open)) + of_meters).sqrt()
    )
    value = replace(heading, label=f"{heading.label}, predicted").derive(
        (half * 100 <= s.prediction_limit).where(found),
        f"{meaning} Blank where its ± would be beyond the limit on Settings.",
    )
    heading.expanded.derive(value * half, "By what the step leaves open, and by the instruments.", GUM_PROPAGATION)
    return half


_watts, _least_thrust, _least_current = volts * _current, s.prediction_thrust_least, s.prediction_current_least
_column, _meters = PREDICTED.column, [_AMMETER, _VOLTMETER]
_thrust_half = _given(_column("thrust", "Thrust", "g", "T_new"), _thrust, _least_thrust, _OPEN, [_STAND])
_current_half = _given(_column("current", "Current", "A", "I_new"), _current, _least_current, _OPEN, [_AMMETER])
_OPEN_IN_POWER = [_unlike, _loading + _warmth, (1 + BY_VOLTS) * _sagging]
_power = _column("power", "Power", "W", "P_new")
_given(_power, _watts, _least_current, _OPEN_IN_POWER, _meters, "At the voltage taken.")
_efficiency = _column("efficiency", "Thrust per power", "g/W", "e_new")
_given(_efficiency, _thrust / _watts, _least_thrust, [_unlike, _loading, _sagging], [_STAND, *_meters], "Of the two.")
_given(
    _column("speed", "Speed", "rpm", "n_new"),
    _speed,
    _least_thrust / s.thrust_speed_power,
    [part / 2 for part in _OPEN],
    [a.TACHOMETER],
    "Blank where no speed was read.",
)


_widest = greater(_thrust_half, _current_half) * 100
_too_far = say("; too far from {} for every figure: up to ± {:.0f} %", predicted_from, _widest)
_assumed = join("assumed loading: ", _speed.present().where("no Kv that fits the speed", "no speed read"))
basis = PREDICTED.column("basis", "By").derive(
    cells.present().where(
        join(_line.present().where("motor's line", _assumed), (_widest > s.prediction_limit).where(_too_far, "")), ""
    )
)
thin = PREDICTION.figure("prediction_thin", "What is predicted").derive(
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
