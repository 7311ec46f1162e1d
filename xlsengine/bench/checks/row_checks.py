"""Every live check of a single row: those that need the motor's line or the propeller's coefficients, and what is raised,
by the row's own readings or by the motor's model.
"""

from collections.abc import Mapping
from functools import reduce
from operator import or_

from xlsengine.bench.declaring.declare import Field, Table
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.judging import counting, judgements
from xlsengine.bench.judging.plain_checks import (
    FIRST_BY_MODEL,
    PLAIN_CHECKS,
    RAISED_BY_MODEL,
    RAISED_PLAIN,
    Explains,
    RowCheck,
    Severity,
    all_raised,
    at_most,
    doubts,
    loudest_last,
    speed_ratio_most,
    watch,
    weight,
)
from xlsengine.bench.physics import speed_figures as f
from xlsengine.bench.physics.motor_model import near_pole_slip
from xlsengine.expression import Condition, Constant, Node, call, greater, join, say
from xlsengine.sources import FIRST_ORDER_MOTOR, MOMENTUM_THEORY, worked_out

__all__ = ["CODES", "ROW_CHECKS", "Explains", "RowCheck", "Severity", "entry_severity", "relied_point"]

CODES = 100


figure_of_merit, line_ratio, coefficient = (
    r.READINGS.take(column, f"own_{column.name}", helper=True)
    for column in (f.figure_of_merit, f.line_ratio, f.coefficient_off)
)
_plausible = (r.speed_ratio <= speed_ratio_most) & (r.speed_ratio >= s.speed_ratio_low)
_slip = near_pole_slip(line_ratio)
MODEL_CHECKS = (
    watch("Figure of merit too good", r.speed, figure_of_merit, Severity.DOUBTFUL)(
        figure_of_merit > s.figure_of_merit_high,
        at_most(s.figure_of_merit_high, 2),
        "Wrong diameter, thrust in another unit, torque in another unit, or a no-load current that is too high.",
        "Check Diameter, Thrust and Torque of this reading, and Current and Voltage of the free spins on No load.",
        MOMENTUM_THEORY,
    ),
    watch("Speed fits the wrong pole count", r.speed, line_ratio, Severity.DOUBTFUL, Explains.SLIP)(
        _slip,
        join("1, not 7/6 or 6/7"),
        "The speed was worked out for 12 magnets instead of 14, or for 14 instead of 12.",
        "Check the pole count set in the speed reading when this was read.",
        worked_out("ratio of pole pairs"),
    ),
    watch("Speed off the motor's line", r.speed, line_ratio, Severity.DOUBTFUL)(
        _plausible & (call("absolute", line_ratio - 1) * 100 > s.line_misfit_limit) & ~_slip,
        say("1 within {:.0f} %", s.line_misfit_limit),
        "A wrong speed, voltage or current; loss of step; a slipping propeller.",
        "Check Speed, Voltage and Current of this reading; the line stands on Motor figures.",
        FIRST_ORDER_MOTOR,
    ),
    watch("Thrust coefficient unlike the propeller's others", r.thrust, coefficient, Severity.DOUBTFUL)(
        call("absolute", coefficient) > s.thrust_coefficient_limit,
        say("within ±{:.0f} %", s.thrust_coefficient_limit),
        "A wrong speed or thrust, a reading under another propeller's name, or a damaged propeller.",
        "Check Prop, Speed and Thrust of this reading against the propeller's other readings.",
        worked_out("CT is nearly the same at every voltage"),
    ),
)


_ranked = loudest_last(MODEL_CHECKS)
_of_reading = [check for check in _ranked if check.order is Explains.READING]
_MODEL_CHECKS = dict(enumerate(_of_reading, start=FIRST_BY_MODEL))
_MODEL_CHECKS |= dict(enumerate(_ranked[len(_of_reading) :], start=max(PLAIN_CHECKS) + 1))
"""By their codes: those that say which reading is off above the notes, what says more above all."""
_NUMBERED = PLAIN_CHECKS | _MODEL_CHECKS
ROW_CHECKS: tuple[RowCheck, ...] = tuple(_NUMBERED[code] for code in range(1, len(_NUMBERED) + 1))
"""In the order of their codes, from 1: of several on one reading the last speaks."""

CHECK_LIST = Table(
    "CheckList",
    "The live checks, in the order of their codes.",
    rows=tuple({"check_title": one.title, "check_cause": one.cause, "check_fix": one.fix} for one in ROW_CHECKS),
)
TITLES, CAUSES, FIXES = (
    CHECK_LIST.write_once(Field(name, label, kind="text", helper=True))
    for name, label in (("check_title", "Check"), ("check_cause", "Likely cause"), ("check_fix", "What to do"))
)

r.READINGS.helper(RAISED_BY_MODEL.name, "Checks raised, by motor model").derive(all_raised(_MODEL_CHECKS, r.judged))
raised: Node = RAISED_PLAIN + RAISED_BY_MODEL
"""All that is raised on a row, in one number."""


OF_SPEED, OF_MORE = float(Severity.DOUBTFUL), Severity.DOUBTFUL + judgements.OF_MORE
"""A doubt about a speed alone, which thrust, amps and g/W know nothing of, and one about more."""


def _not_of_speed(codes: Mapping[int, RowCheck]) -> list[int]:
    """Return the codes of checks that doubt a reading by more than its speed."""
    return [code for code, check in codes.items() if code >= FIRST_BY_MODEL and check.look_at != r.speed]


_by_model = reduce(or_, (call("odd", RAISED_BY_MODEL / weight(code)) for code in _not_of_speed(_MODEL_CHECKS)))
_plain: Node = RAISED_PLAIN
_of_more = (_plain >= weight(min(_not_of_speed(PLAIN_CHECKS)))) | (_by_model & ~doubts(RAISED_PLAIN))
"""A coefficient off its others may be the thrust's, unless the speed itself is doubted."""
_doubted = _of_more.where(OF_MORE, OF_SPEED)
_worst = doubts(raised).where(_doubted, (raised > 0).where(float(Severity.NOTE), 0.0))
_impossible = float(Severity.IMPOSSIBLE)
for _standing in (counting.IMPOSSIBLE, counting.OVERRULED):
    _worst = counting.standing.equals(_standing).where(_impossible, _worst)
entry_severity = r.READINGS.helper("entry_severity", "Severity").derive(greater(_worst, judgements.severity))
"""As in `Severity`; half a step more where a doubt is about more than the speed."""
UNFLAGGED = entry_severity < OF_SPEED
UNFLAGGED_BUT_SPEED = entry_severity < OF_MORE
FLAGGED_ROWS, FLAGGED_BUT_SPEED, UNFLAGGED_ROWS = (
    Condition(entry_severity, sign, Constant(limit))
    for sign, limit in ((">=", OF_SPEED), (">=", OF_MORE), ("<", OF_MORE))
)
"""Rows with any doubt; with one about more than the speed, and without: by these thrust, amps and g/W go."""
_at_full = (counting.point < counting.BELOW_FULL).where(counting.point, 0.0)
relied_point = r.READINGS.helper("relied_point", "Point, relied on").derive(
    r.use.equals(r.COUNT).where(_at_full, UNFLAGGED.where(_at_full, 0.0))
)
"""The point at full throttle, where nothing speaks against the reading or Use says “yes”: predictions rest on them."""
