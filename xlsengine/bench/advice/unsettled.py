"""Readings at full throttle that an ESC answer passes over or rests on in doubt, so that no answer shrinks in silence.

What was left out may draw more than what counts, and what is doubtful may have drawn more than was typed: its current, or
what its thrust takes at the most amps a gram that an unflagged pair took, is held against what decides.
"""

from collections.abc import Callable

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice.in_flight import group_row
from xlsengine.bench.checks.row_entries import marked_column
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import doubtful_here, told_cells
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.craft import craft_propeller, pack_cells
from xlsengine.bench.judging import counting as c
from xlsengine.expression import Column, Condition, Constant, Named, Node, Operand, call, flag, greater, join, say
from xlsengine.sources import definition

UNSETTLED = Figures("Unsettled", "Readings to settle before an ESC is chosen.", source=definition())
_TINY, _DOUBTFUL = 1e-6, 1e6
_ABOUT_AMPS = (r.prop, r.cells, r.throttle, r.kind, r.current, r.thrust)
"""Typed columns that, wrong, hide a larger current."""

_amps_per_gram = g.SUMMARY.helper("amps_per_gram", "Current over thrust, unflagged", decimals=4).derive(
    doubtful_here.equals(0).where(g.full["current"] / g.full["thrust"], 0.0).otherwise(0.0)
)
_most_a_gram = UNSETTLED.figure("most_amps_per_gram", "Most amps a gram", decimals=4).derive(_amps_per_gram.largest())
_craft_current = g.SUMMARY.helper("craft_current", "Highest static current, on craft", "A").derive(
    (flag(n.on_craft.equals(1)) * g.static_current).otherwise(0.0)
)
_top = g.SUMMARY.helper("top_on_cells", "Highest static current of its cell count, on craft", "A").derive(
    _craft_current.largest(Condition(told_cells, "=", told_cells)).otherwise(0.0)
)


def _marked(*columns: Column) -> Node:
    """Return 1 where the flag is about one of these typed columns."""
    places = {r.place_of(column) for column in columns}
    marks = [1.0 if place in places else 0.0 for place in range(len(r.READINGS.fields) + 1)]
    return call("choose", marked_column + 1, *marks).equals(1)


_its_propeller = craft_propeller.present().where(flag(r.propeller_key(craft_propeller).equals(r.prop_key)), 1.0)
_its_cells = pack_cells.present().where(pack_cells.equals(r.cells).where(1.0, flag(_marked(r.cells, r.voltage))), 1.0)
_flown = (_its_propeller * _its_cells).equals(1)
_claim = greater(r.current.otherwise(0.0), (r.thrust * _most_a_gram).otherwise(0.0)) + _TINY
_counted = r.full_kind.equals(r.AT_STEADY).where(n.held_steady.at(group_row), n.launch.at(group_row))
_draws_more = (r.current > _counted * n.room).where(1.0, 0.0)
_none_counts = (g.static_current.at(group_row).otherwise(0.0) > 0).where(_draws_more.otherwise(0.0), 1.0)
_craft_top = UNSETTLED.figure("craft_top", "Highest static current, on craft", "A").derive(_craft_current.largest())
_of_other_cells = flag(pack_cells.equals(r.cells)).otherwise(1.0) < 1
_says_more = _of_other_cells.where(flag(r.current > _craft_top).otherwise(0.0), _none_counts)
_left_open = r.full_kind.equals(0).where(0.0, _says_more)
_highest = _marked(*_ABOUT_AMPS).where(flag(_claim >= _top.at(group_row)), 0.0)
_doubt_open = c.standing.equals(c.DOUBTFUL).where((r.full_kind > 0).where(_highest, 0.0), 0.0)
unsettled = r.READINGS.helper("unsettled", "Current that is not settled", "A").derive(
    (
        (c.standing < 0).where(_left_open, _doubt_open) * flag(_flown) * (_claim + flag(c.standing > 0) * _DOUBTFUL)
    ).otherwise(0.0)
)
"""At full throttle, on what could be flown: the current of a reading left out, or what its thrust takes, where it is
above what counts of its propeller and cell count; of a doubtful one that may be the highest on its cell count, and then
`_DOUBTFUL` more; 0 elsewhere."""
_LEFT_OUT = Condition(unsettled, ">", Constant(0.0)), Condition(unsettled, "<", Constant(_DOUBTFUL))
_IN_DOUBT = (Condition(unsettled, ">", Constant(_DOUBTFUL)),)


def _said(count: Node, one: Node) -> Node:
    """Write what is said of one of so many, and how many there are more."""
    return join(one, (count > 1).where(say(", and {:.0f} more", count - 1), ""))


class _Named:
    """The reading of one kind that claims most, and how many there are."""

    def __init__(self, word: str, words: str, *there: Condition) -> None:
        self.count = UNSETTLED.figure(f"{word}_count", f"{words}: how many").derive(unsettled.count(*there))
        row = self.row = UNSETTLED.figure(f"{word}_row", f"{words}: row").derive(
            unsettled.position(unsettled.largest(*there))
        )
        marked = marked_column.at(row)
        self.column = UNSETTLED.figure(f"{word}_column", f"{words}: column").derive(
            (marked > 0).where(marked, r.place_of(r.current))
        )

    def told(self, place: Node, why: Operand) -> Node:
        """Name it: ``10x4.7 SF on 3S (Readings J9, left out), 24.4 A as typed, and 2 more``."""
        pair = say("{} on {:.0f}S", r.prop.at(self.row), r.cells.at(self.row)).otherwise(r.prop.at(self.row))
        typed = r.current.at(self.row)
        amps = say(", {} A as typed", call("fixed", typed, (typed < 10).where(2.0, 1.0))).otherwise("")
        return _said(self.count, say("{} ({}{}){}", pair, place, why, amps))


_LEFT, _DOUBT = _Named("left", "Left out", *_LEFT_OUT), _Named("doubt", "Doubtful", *_IN_DOUBT)
_WHY = (", cannot be read", ", left out by the tester", ", impossible")
"""In the order of the standings below 0."""
_left_why = call("choose", c.standing.at(_LEFT.row) + (1.0 - c.UNREADABLE), *_WHY)
_never = g.SUMMARY.helper("never_read", "Not read at full throttle").derive(
    (r.group.count(Condition(r.group, "=", g.first_row), *_LEFT_OUT).otherwise(0.0) < 1).where(n.uncovered)
)
_never_row = UNSETTLED.figure("never_row", "Not read at full throttle, first").derive(_never.smallest())
_never_count = UNSETTLED.figure("never_count", "Not read at full throttle: how many").derive(_never.count())
_never_said = _said(_never_count, g.label.at(_never_row))


def caveat(place: Callable[[Named, Named], Node]) -> Node:
    """Say which readings to settle before an ESC is chosen, blank where none; `place` names the cell of row and column."""
    parts = (
        (_LEFT.count, "Not counted: {}. ", _LEFT.told(place(_LEFT.row, _LEFT.column), _left_why)),
        (_DOUBT.count, "Counts, but doubtful: {}. ", _DOUBT.told(place(_DOUBT.row, _DOUBT.column), "")),
        (_never_count, "No full-throttle reading: {}. ", _never_said),
    )
    said = ((count > 0).where(say(words, told), "") for count, words, told in parts)
    warning = "The ESC may have to be larger or smaller: settle this before choosing."
    return call("trim", join(*said, (_LEFT.count + _DOUBT.count + _never_count > 0).where(warning, "")))
