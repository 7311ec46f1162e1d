"""Readings against the other readings of their own propeller: thrust and current at a speed, or current at a thrust.

At a speed n a propeller makes a thrust that goes with n² and takes a torque that goes with n², both changed a little by
the speed; its torque is told by the motor's current, which the power read at the supply leads to at any throttle.
Source: first-order motor model (M. Drela, 2007); CT and CP of propellers at rest (UIUC Propeller Data Site).
"""

from dataclasses import dataclass

import numpy as np

from xlsengine.study.case import IDEAL_SLOPE, Case
from xlsengine.study.flags import Flag, about, label_of, typed
from xlsengine.study.judged_rows import BoolArray, IntArray, JudgedRows, display_step
from xlsengine.study.outliers import FloatArray
from xlsengine.study.own_lines import Expected, Term, expected
from xlsengine.study.relatives import current_misfit, thrust_misfit

ALLOWED = 0.07
"""Misfit that is never worth a look: 3 to 5 % is the scatter of a bench (tests/study/found_rates.py)."""

VAGUE = 0.3
"""Misfit beyond which what is allowed a row says nothing: other propellers judge it then."""

SCATTER = 0.006
"""Usual scatter of a reading (common practice, no source: standard deviation on one mount 0.3 to 1 %)."""

STEPS_OFF = 0.75
"""Standard deviation of a display's last digit, in steps, rounding and flicker together."""

LEAST_LOAD = 1 / 16
"""Share of a propeller's highest thrust, at a quarter of the speed, below which idle currents hide what it takes."""

MEANT_BY_SPEED = 2.9
"""Power that a speed too high by one part seems to lack: three for the propeller, less what copper takes."""


@dataclass(frozen=True)
class OwnReadings:
    """What its propeller's other readings say of a row: of thrust and current at its speed, of current at its thrust."""

    thrust: Expected
    current: Expected
    without_speed: Expected

    def judged(self, score: float) -> BoolArray:
        """Tell which rows their own propeller judges."""
        return np.asarray(
            (_limit(self.thrust, score) <= VAGUE) & (_limit(self.current, score) <= VAGUE)
            | (_limit(self.without_speed, score) <= VAGUE)
        )


def _limit(found: Expected, score: float) -> FloatArray:
    return np.maximum(ALLOWED, score * found.spread)


def _odd(found: Expected, score: float) -> BoolArray:
    return np.asarray(np.abs(found.misfit) > _limit(found, score))


@dataclass(frozen=True)
class Relation:
    """What should be alike in a propeller's rows: y with its noise and terms, and how much of a tare's share is in y."""

    y: FloatArray
    noise: FloatArray
    terms: list[Term]
    tare: float = 0.0


def at_speed(case: Case) -> Relation:
    """Return thrust over speed squared."""
    rows = case.rows
    noise = np.hypot(SCATTER, _flicker(rows.thrust))
    return Relation(np.log(rows.thrust / rows.speed**2), noise, _speed_terms(case, 0.1, 0.07), 1.0)


def with_power(case: Case) -> Relation:
    """Return the power for the thrust."""
    rows = case.rows
    noise = np.hypot(np.hypot(SCATTER, _flicker(rows.current)), IDEAL_SLOPE * np.hypot(SCATTER, _flicker(rows.thrust)))
    terms = [Term(from_top(case, rows.thrust), 0.0, 0.08), *_supply_terms(case, rows.thrust, 1)]
    return Relation(np.log(rows.voltage * rows.current / rows.thrust**IDEAL_SLOPE), noise, terms, -IDEAL_SLOPE)


def _torque_at_speed(case: Case) -> Relation:
    """Return the motor's current over speed squared."""
    noise = np.hypot(SCATTER, _flicker(case.rows.current))
    terms = [*_speed_terms(case, 0.0, 0.1), *_supply_terms(case, case.rows.speed, 2)]
    return Relation(_torque(case), noise, terms)


def own_readings(case: Case) -> OwnReadings:
    """Return what each propeller's sound readings say of each other."""
    return OwnReadings(*(_judged(case, relation(case)) for relation in (at_speed, _torque_at_speed, with_power)))


def _flicker(values: FloatArray, size: FloatArray | None = None) -> FloatArray:
    """Return the standard deviation that a column's display adds, as a share of the values, or of a `size` for them."""
    return STEPS_OFF * display_step(values[~np.isnan(values)]) / (values if size is None else size)


def _judged(case: Case, relation: Relation) -> Expected:
    y = np.where(case.sound, relation.y, np.nan)
    return expected(y, relation.noise, relation.terms, case.rows.prop, ALLOWED, case.limits.score)


def from_top(case: Case, values: FloatArray) -> FloatArray:
    """Return the logarithm of each value over the highest of its propeller's sound rows."""
    rows = case.rows
    highest = np.zeros(int(rows.prop.max(initial=-1)) + 1)
    kept = case.sound & ~np.isnan(values)
    np.maximum.at(highest, rows.prop[kept], values[kept])
    return np.log(values / highest[rows.prop])


def is_telling(case: Case) -> BoolArray:
    """Tell in which rows current goes with thrust, and displays tell both: by thrust or power, of which one may be wrong."""
    rows, line = case.rows, case.line
    thrust = _flicker(rows.thrust, np.fmax(rows.thrust, line.thrust(rows.current)))
    current = _flicker(rows.current, np.fmax(rows.current, line.current(rows.thrust)))
    told = case.limits.score * np.hypot(current, IDEAL_SLOPE * thrust) <= VAGUE
    load = np.maximum(from_top(case, rows.thrust), from_top(case, rows.voltage * rows.current))
    return np.asarray(told & (load >= np.log(LEAST_LOAD)))


def _speed_terms(case: Case, usual: float, spread: float) -> list[Term]:
    """Return how a coefficient goes with speed: as a power of it (open data: CT 0.0 to 0.2), a little bent."""
    speed = from_top(case, case.rows.speed)
    return [Term(speed, usual, spread), Term(speed**2, 0.0, 0.02)]


def _supply_terms(case: Case, load: FloatArray, power: int) -> list[Term]:
    """Return what else moves a current: what motor and ESC take for themselves, a cold winding, the cell count."""
    rows, top = case.rows, from_top(case, load)
    idle = np.where(power * top >= np.log(LEAST_LOAD), np.exp(-power * top), np.nan)
    cells = [Term((rows.cells == count).astype(float), 0.0, 0.02) for count in np.unique(rows.cells)]
    return [Term(idle, 0.035, 0.025), Term(rows.peak.astype(float), 0.0, 0.02), *cells]


def _torque(case: Case) -> FloatArray:
    """Return the logarithm of the motor's current over speed squared, by the power that the supply gives."""
    rows = case.rows
    back = rows.speed / case.limits.kv
    full = case.sound & (rows.point > 0) & ~np.isnan(back)
    ohms = np.median(((rows.voltage - back) / rows.current)[full]) if full.any() else 0.0
    power = rows.voltage * rows.current
    motor = power / back if ohms <= 0 else (np.sqrt(back**2 + 4 * ohms * power) - back) / (2 * ohms)
    return np.log(motor / rows.speed**2)


def own_misfits(case: Case, own: OwnReadings) -> list[Flag]:
    """Flag readings that do not fit the others of their propeller, in the column that explains the misfit."""
    score = case.limits.score
    odd_thrust, odd_current = _odd(own.thrust, score), _odd(own.current, score)
    by_speed = odd_thrust & _speed_is_likelier(own)
    by_current = odd_current & ~odd_thrust
    flags = [_speed_flag(case.rows, at, own) for at in np.flatnonzero(by_speed).tolist()]
    for column, misfit, odd in (
        ("thrust", own.thrust.misfit, odd_thrust & ~by_speed),
        ("current", own.current.misfit, by_current),
    ):
        flags += [_flag(case.rows, at, column, "speed", misfit[at]) for at in np.flatnonzero(odd).tolist()]
    without = _odd(own.without_speed, score) & np.isnan(own.current.misfit) & ~odd_thrust
    return flags + _without_speed(case, own, np.flatnonzero(without))


def _speed_is_likelier(own: OwnReadings) -> BoolArray:
    """Tell where a wrong speed explains the misfits of thrust and current better than a wrong thrust."""
    (thrust, spread), (current, other) = own.thrust, own.current
    weights = (2 / spread) ** 2 + (MEANT_BY_SPEED / other) ** 2
    speed = -(2 * thrust / spread**2 + MEANT_BY_SPEED * current / other**2) / weights
    left = ((thrust + 2 * speed) / spread) ** 2 + ((current + MEANT_BY_SPEED * speed) / other) ** 2
    return np.asarray(left < (current / other) ** 2)


def _speed_flag(rows: JudgedRows, at: int, own: OwnReadings) -> Flag:
    expect = rows.speed[at] * np.exp(own.thrust.misfit[at] / 2)
    return misfit_flag(rows, at, "speed", ("thrust", "current"), expect)


def _flag(rows: JudgedRows, at: int, column: str, other: str, misfit: float) -> Flag:
    return misfit_flag(rows, at, column, (other,), rows.reading(column)[at] * np.exp(-misfit))


def misfit_flag(
    rows: JudgedRows,
    at: int,
    column: str,
    others: tuple[str, ...],
    expect: float,
    judges: str = "this propeller's other readings",
    wrong: str = "another propeller than named",
) -> Flag:
    """Say that a reading does not fit those beside it, and what was expected in the row of that place, by its judges."""
    found, given = typed(rows.reading(column)[at], column), typed(rows.reading(others[0])[at], others[0])
    return rows.flag(
        at,
        f"{label_of(column).capitalize()} does not fit {' and '.join(map(label_of, others))}",
        column,
        f"{found} with {given}",
        f"{about(float(expect), column)}, as {judges} have it",
        f"A misread display, a moved zero, {wrong}, or a slip in typing.",
        "Check your bench notes; repeat the point, or set Use to no with a note why.",
    )


def _without_speed(case: Case, own: OwnReadings, odd: IntArray) -> list[Flag]:
    """Flag thrust or current, whichever lies farther from its relatives."""
    rows = case.rows
    by_thrust, by_current = thrust_misfit(rows), current_misfit(rows)
    flags = []
    for at in odd.tolist():
        misfit = float(own.without_speed.misfit[at])
        if abs(by_thrust[at]) > abs(by_current[at]):
            flags.append(_flag(rows, at, "thrust", "current", -misfit / IDEAL_SLOPE))
        else:
            flags.append(_flag(rows, at, "current", "thrust", misfit))
    return flags
