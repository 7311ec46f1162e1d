"""What rows judged impossible do to a group's means: nothing is dropped, so the Summary says what is left without them."""

from __future__ import annotations

from xlsengine.bench import readings as r
from xlsengine.bench import summary as g
from xlsengine.bench.declare import Quantity
from xlsengine.bench.plain_checks import raised_column
from xlsengine.bench.row_checks import ROW_CHECKS, Severity, written_severity
from xlsengine.bench.summary import SUMMARY
from xlsengine.expression import Aggregate, Column, Condition, Constant, Node, call, join
from xlsengine.sources import definition

__all__ = ["SUMMARY", "impossible_means"]


def _impossible() -> Node:
    found: Node = written_severity >= float(Severity.IMPOSSIBLE)
    for code, check in enumerate(ROW_CHECKS, start=1):
        if check.severity is Severity.IMPOSSIBLE:
            found = found | raised_column(code).present()
    return found


impossible = r.READINGS.derive(
    Quantity("impossible", "Impossible", r.used_flag(_impossible()), "1 where a flag says that the row cannot be.",
             definition(), shown=0, helper=True)
)  # fmt: skip


def _said_of(word: str, point: float, count: Column) -> Node:
    """Say how many of a kind's rows are impossible, and grams per watt of the rest; nothing where none is."""
    of_kind = (Condition(r.group, "=", g.first_row), Condition(r.point, "=", Constant(point)))
    odd = Aggregate("count", (r.group,), (*of_kind, Condition(impossible, "=", Constant(1.0))))
    rest = (*of_kind, Condition(impossible, "=", Constant(0.0)))
    thrust, power = (Aggregate("mean", (column,), rest) for column in (r.thrust, r.power))
    without = join((thrust / power).fixed(2), " g/W").otherwise("none left")
    return (odd > 0).where(join(f"{word} ", odd.fixed(0), " of ", count.fixed(0), ", without: ", without, ". "), "")


impossible_means = SUMMARY.derive(
    Quantity(
        "impossible_means", "Impossible rows in the means",
        g.first_row.present().where(
            call(
                "trim",
                join(
                    _said_of(r.PEAK, r.AT_PEAK, g.peak["count"]), _said_of(r.STEADY, r.AT_STEADY, g.steady["count"])
                ),
            ),
            "",
        ),
        "How many full-throttle rows are judged impossible, and thrust per power without them.", definition(),
    )
)  # fmt: skip
