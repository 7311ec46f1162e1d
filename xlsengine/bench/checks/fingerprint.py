"""A fingerprint of what the group checks were computed from, so that they turn stale visibly when it changes."""

from xlsengine.bench.checks.row_checks import entry_severity
from xlsengine.bench.declaring.declare import Field, Figures
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.conditions import BENCH_SUPPLY, HIGH_VOLTAGE, PACK, cells_are, supply
from xlsengine.bench.inputs.motor import label_kv
from xlsengine.bench.judging import counting
from xlsengine.bench.judging.judgements import WEIGHTS
from xlsengine.bench.judging.plain_checks import RAISED_PLAIN
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


def _values() -> Node:
    """Add up the numbers of each reading by their weights; a speed stands alone, as it may be typed where none was read."""
    parts = [_now(column) * weight for column, weight in WEIGHTS.items() if column != r.speed]
    return sum(parts[1:], start=parts[0])


def _limits() -> Node:
    """Add up the settings with weights, so that one raised and another lowered as much do not cancel."""
    weighted = (limit.otherwise(0.0) * float(weight) for weight, limit in enumerate(_LIMITS, start=1))
    return sum(weighted, start=as_node(0.0))


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
)
_PARTS: dict[str, Node] = {
    "readings": r.thrust.count(),  # a row inserted without its formulas has no row number
    "values": _values(),
    "run": _now(r.run),
    "speed": _now(r.speed),
    "torque": _now(r.torque),
    "temperature": _now(r.motor_temperature),
    "propeller": _now(r.group),
    "point": _now(r.full_kind),
    "kind": _now(counting.point),
    "doubts": _now(RAISED_PLAIN) + _now(entry_severity),
    "standing": _now(counting.standing),
    "limits": _limits(),
}


def _pair(name: str, expression: Node) -> tuple[Named, Named]:
    now = FINGERPRINT.figure(f"now_{name}", f"Fingerprint of {name}, now", decimals=3).derive(expression)
    then = FINGERPRINT.write_once(
        Field(f"then_{name}", f"Fingerprint of {name}, at the comparisons", meaning="Written with the comparisons.")
    )
    return now, then


PAIRS: tuple[tuple[Named, Named], ...] = tuple(_pair(name, expression) for name, expression in _PARTS.items())


def _changed() -> Node:
    total: Node | float = 0.0
    for now, then in PAIRS:
        off = greater(now - then, then - now) > greater(then, -then) * _SMALLEST
        total = total + off.where(1.0, 0.0).otherwise(1.0)
    return greater(total, 0.0)


checks_stale = FINGERPRINT.figure("checks_stale", "Parts changed since the comparisons").derive(
    _changed(), "0 while the comparisons belong to the readings."
)
checks_state = FINGERPRINT.figure("checks_state", "Comparisons are").derive(
    (checks_stale > 0).where("OUT OF DATE: readings changed since; make the results again", "up to date"),
    "Computed on writing by robust fits and outlier tests that no formula can hold.",
)
