"""What says to stop where another check speaks for the reading: its words in that entry, live."""

from collections.abc import Callable, Iterable

from xlsengine.bench.checks.row_checks import ROW_CHECKS, RowCheck
from xlsengine.bench.checks.row_entries import STOP_CODES
from xlsengine.bench.declaring.declare import Field, Quantity
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging.plain_checks import is_raised
from xlsengine.expression import Node, Operand, as_node, call, join

VOLTS_STOPS = tuple(code for code in STOP_CODES if ROW_CHECKS[code - 1].figure == r.cell_voltage)
OTHER_STOPS = tuple(code for code in STOP_CODES if code not in VOLTS_STOPS)


def measured(check: RowCheck, value: Node) -> Node:
    """Write a value of the figure that a check goes by, with its unit."""
    quantity = r.READINGS.columns[check.figure.name]
    return join(_digits(value, quantity), f" {quantity.unit}") if quantity.unit else _digits(value, quantity)


def _digits(value: Node, quantity: Field | Quantity) -> Node:
    """Write a number with the decimals of its column, a ratio with three digits, and a typed one as it was typed."""
    if isinstance(quantity, Quantity):
        shown = value.fixed(quantity.shown)
        if quantity.unit:
            return shown
        return (value < 1).where(shown, (value < 10).where(value.fixed(2), value.fixed(1)))
    return value.equals(value.whole_part()).where(value.fixed(0), value.fixed(1))


def _each(codes: Iterable[int], row: Node, own: Operand, words: Callable[[RowCheck], Node | str]) -> Node:
    said: list[Node] = []
    for code in codes:
        stands = is_raised(code, row)
        beside = as_node(own).equals(float(code)).where("", words(ROW_CHECKS[code - 1]))
        said.append(stands.where(beside, ""))
    return join("", *said)


def stop_titles(row: Node, own: Operand, codes: Iterable[int] = STOP_CODES) -> Node:
    """Say which checks say to stop beside the check that speaks, `own` by its code, to be put behind its title."""
    return _each(
        codes,
        row,
        own,
        lambda check: join(
            f", and {check.title[0].lower()}{check.title[1:]} (",
            measured(check, check.figure.at(row)),
            "; ",
            check.expected,
            ")",
        ),
    )


def stop_fixes(row: Node, own: Operand, codes: Iterable[int] = STOP_CODES) -> Node:
    """Say what those checks ask for, to be put before what the other one does."""
    return call("trim", _each(codes, row, own, lambda check: f"{check.fix} "))


def comparison_beside_stops(title: str, fix: str, row: Node, explains_volts: bool) -> tuple[Node, Node]:
    """Return the title of what comparing readings found on a row, and what to do, with what says to stop on that row.

    To stop comes first; where the comparison says how the volts came about, its fix comes before stopping for the volts.
    """
    none = as_node(0.0)
    if not explains_volts:
        return join(title, stop_titles(row, none)), call("trim", join(stop_fixes(row, none), " ", fix))
    for_volts = _each(VOLTS_STOPS, row, none, lambda check: f" If not, {check.fix[0].lower()}{check.fix[1:]}")
    return join(title, stop_titles(row, none)), call(
        "trim", join(stop_fixes(row, none, OTHER_STOPS), " ", fix, for_volts)
    )
