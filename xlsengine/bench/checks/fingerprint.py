"""A fingerprint of what the group checks were computed from, so that they turn stale visibly when it changes."""

from xlsengine.bench.checks.row_checks import entry_severity
from xlsengine.bench.declaring.declare import Field, Figures
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import BENCH_SUPPLY, HIGH_VOLTAGE, PACK, cells_are, supply
from xlsengine.bench.inputs.motor import label_kv, poles
from xlsengine.bench.judging import counting
from xlsengine.bench.judging.judgements import WEIGHTS
from xlsengine.bench.judging.plain_checks import RAISED_PLAIN, speed_ratio_most
from xlsengine.expression import Column, Named, Node, as_node, flag, greater
from xlsengine.sources import definition

FINGERPRINT = Figures(
    "Fingerprint",
    "Whether the comparisons between readings still belong to them.",
    source=definition("sum of the column, each reading weighted with its row"),
)
_SMALLEST = 1e-12


def _now(column: Column) -> Node:
    return r.row_number.dot(column)


_NUMBERS = [_now(column) * weight for column, weight in WEIGHTS.items() if column != r.speed]
"""Of each reading, by their weights; a speed stands alone, as it may be typed where none was read."""
_LIMITS = (
    s.score_limit,
    s.outlier_significance,
    s.slip_tolerance,
    s.ladder_tolerance,
    s.cell_voltage_low,
    s.cell_voltage_high,
    s.cell_voltage_most,
    s.efficiency_least,
    s.efficiency_low,
    s.efficiency_high,
    flag(cells_are.equals(HIGH_VOLTAGE)),
    flag(supply.equals(BENCH_SUPPLY)),
    flag(supply.equals(PACK)),
    s.case_temperature_high,
    s.grams_per_amp_limit,
    s.assumed_speed_ratio,
    label_kv,
    s.speed_ratio_low,
    speed_ratio_most,
    poles,
)
_WEIGHTED = (limit.otherwise(0.0) * float(weight) for weight, limit in enumerate(_LIMITS, start=1))
"""Settings, so that one raised and another lowered as much do not cancel."""
_PARTS: dict[str, Node] = {
    "readings": r.thrust.count(),  # a row inserted without its formulas has no row number
    "values": sum(_NUMBERS[1:], start=_NUMBERS[0]),
    "run": _now(r.run),
    "speed": _now(r.speed),
    "torque": _now(r.torque),
    "temperature": _now(r.motor_temperature),
    "propeller": _now(r.group),
    "point": _now(r.full_kind),
    "kind": _now(counting.point),
    "doubts": _now(RAISED_PLAIN) + _now(entry_severity),
    "standing": _now(counting.standing),
    "limits": sum(_WEIGHTED, start=as_node(0.0)),
}


def _pair(name: str, expression: Node) -> tuple[Named, Named]:
    now = FINGERPRINT.figure(f"now_{name}", f"Fingerprint of {name}, now", decimals=3).derive(expression)
    then = FINGERPRINT.write_once(
        Field(f"then_{name}", f"Fingerprint of {name}, at the comparisons", meaning="Written with the comparisons.")
    )
    return now, then


PAIRS: tuple[tuple[Named, Named], ...] = tuple(_pair(name, expression) for name, expression in _PARTS.items())


def _has_changed(now: Named, then: Named) -> Node:
    off = greater(now - then, then - now) > greater(then, -then) * _SMALLEST
    return off.where(1.0, 0.0).otherwise(1.0)


_changed: Node = sum((_has_changed(*pair) for pair in PAIRS), start=as_node(0.0))
checks_stale = FINGERPRINT.figure("checks_stale", "Parts changed since the comparisons").derive(
    greater(_changed, 0.0), "0 while the comparisons belong to the readings."
)
OUT_OF_DATE = "OUT OF DATE: readings changed or moved after they were compared with each other; make the results again."
out_of_date = FINGERPRINT.figure("out_of_date", "Below the titles of sheets").derive(
    (checks_stale > 0).where(OUT_OF_DATE, "")
)
checks_state = FINGERPRINT.figure("checks_state", "Comparisons are").derive(
    (checks_stale > 0).where("OUT OF DATE: readings changed or moved since; make the results again", "up to date")
)
