"""The three ESC sizes that matter for each propeller and cell count, held and in short bursts, and how each stands.

They are the smallest of the ladder that will do and its neighbours, whatever the order in which Settings lists them.
"""

from collections.abc import Callable
from typing import NamedTuple

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs.settings import esc_size
from xlsengine.expression import Column, Condition, Node
from xlsengine.sources import definition

SMALLER, ENOUGH, LARGER = "next smaller", "smallest that will do", "next larger"
PLACES = (SMALLER, ENOUGH, LARGER)
_ladder = definition("sizes as listed on Settings")


class Choice(NamedTuple):
    """One size, the verdict on it in words, and the amps that it has to spare, negative where it is short."""

    size: Column
    verdict: Column
    margin: Column


def _derive(name: str, label: str, expression: Node, meaning: str, unit: str = "", shown: int = 0) -> Column:
    source = n.SOURCE if unit != "A" or shown else _ladder
    return g.SUMMARY.helper(name, label, unit, decimals=shown).derive(expression, meaning, source)


def _sizes(name: str, words: str, need: Column, enough: Column) -> dict[str, Column]:
    """Derive the neighbours of a size; where none of the ladder is enough, its largest is the next smaller one."""
    at_least = esc_size.count(Condition(esc_size, ">=", need))
    above = esc_size.count(Condition(esc_size, ">", enough))
    below = esc_size.largest(place=at_least + 1)
    smaller, larger = need.present().where(below), esc_size.largest(place=above)
    return {
        SMALLER: _derive(f"{name}_smaller", f"ESC size, {words}, {SMALLER}", smaller, "Largest below the need.", "A"),
        ENOUGH: enough,
        LARGER: _derive(f"{name}_larger", f"ESC size, {words}, {LARGER}", larger, "Smallest above that one.", "A"),
    }


def _judged(
    name: str, words: str, sizes: dict[str, Column], verdict: Callable[[Node], Node], margin: Callable[[Node], Node]
) -> dict[str, Choice]:
    """Derive verdict and margin of each size."""
    found = {}
    for number, (place, size) in enumerate(sizes.items(), start=1):
        said = _derive(f"{name}_verdict_{number}", f"{words}, {place}: verdict", verdict(size), "In words.")
        spare = _derive(f"{name}_margin_{number}", f"{words}, {place}: to spare", margin(size), "After the ±.", "A", 1)
        found[place] = Choice(size, said, spare)
    return found


_HELD = _sizes("held", "held", n.held_need, n.held_size)
_FLIGHT = _sizes("flight", "in flight", n.flight_need, n.flight_size)
held = _judged("held", "Held", _HELD, n.held_verdict, n.held_margin)
launch = _judged("launch", "Launch", _FLIGHT, n.launch_verdict, n.launch_margin)
speed = _judged("speed", "At speed", _FLIGHT, n.speed_verdict, n.speed_margin)
