"""The three answers of the Report's first page, each a short line and two short sentences, and the sizes around them."""

from __future__ import annotations

from collections.abc import Callable

from xlsengine.bench import esc
from xlsengine.bench import esc_needs as n
from xlsengine.bench import in_flight as f
from xlsengine.bench import rule_of_thumb as rule
from xlsengine.bench import summary as g
from xlsengine.bench.by_propeller import tested_cells, told_cells, told_thrust
from xlsengine.bench.craft import all_up_mass, motor_count
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.settings import (
    esc_burst_ratio,
    esc_peak_over_steady,
    esc_size,
    esc_steady_share,
    flight_share_high,
    flight_share_low,
)
from xlsengine.bench.suitability import hover_note, hover_throttle
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Named, Node, call, join, replaced

ANSWERS = Figures("Short answers", "What the first page of the Report answers.")
_BIG = 1000.0


def _figure(name: str, label: str, expression: Node, meaning: str, unit: str = "", shown: int = 0) -> Named:
    return ANSWERS.derive(Quantity(name, label, expression, meaning, n.SOURCE, "", unit, shown))


def _told(name: str, label: str, column: Column) -> Column:
    """Derive a column that is 0 where there is nothing, or where the craft on Craft is another."""
    expression = n.on_craft.equals(1).where(column, 0.0).otherwise(0.0)
    return g.SUMMARY.derive(Quantity(name, label, expression, "0 elsewhere.", n.SOURCE, shown=1, helper=True))


def _at(column: Column, row: Named) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), row)


def in_thousands(number: Named | Column) -> Node:
    """Write a whole number with a mark between thousands: 1,772."""
    whole = call("round", number, 0.0)
    over = (whole / _BIG).whole_part()
    rest = whole - over * _BIG
    zeros = (rest < 10).where("00", (rest < 100).where("0", ""))
    return (number < _BIG - 0.5).where(number.fixed(0), join(over.fixed(0), ",", zeros, rest.fixed(0)))


# --- the ESC ---------------------------------------------------------------------------------------------------


def _size_by_cells(word: str, label: str, need: Column) -> Node:
    """Name the size for each tested cell count: ``50 A on 3S, 70 A on 4S``; one alone takes ``or larger``."""
    many: Node = join("")
    answered: Node = Constant(0.0)
    one: Node = join("")
    for place, cells in enumerate(tested_cells, start=1):
        most = _figure(
            f"{word}_need_{place}", f"{label}: need, cell count {place}",
            Aggregate("largest", (need,), (Condition(told_cells, "=", cells),), Constant(1.0)).otherwise(0.0),
            "Largest of its propellers.", "A", 1,
        )  # fmt: skip
        size = _figure(
            f"{word}_size_{place}", f"{label}: size, cell count {place}",
            (most > 0).where(n.smallest_size(most), BLANK), "Smallest of the ladder.", "A",
        )  # fmt: skip
        said = join(size.fixed(0), " A").otherwise("no size listed")
        comma = (answered > 0).where(", ", "")
        many = join(many, (most > 0).where(join(comma, said, " on ", cells.fixed(0).otherwise(""), "S"), ""))
        one = (most > 0).where(join(size.fixed(0), " A or larger").otherwise("Larger than any size listed"), one)
        answered = answered + (most > 0).where(1.0, 0.0)
    return (answered > 1).where(many, one)


_held_told = _told("held_told", "ESC need held, 0 where none", n.held_need_craft)
_flight_told = _told("flight_told", "ESC need in flight, 0 where none", n.flight_need_craft)
_steady, _peak = (_at(block["top_current"], esc.held_row) for block in (g.steady, g.peak))


def _room(row: Named) -> Node:
    return join("±", ((_at(n.room, row) - 1) * 100).fixed(1), " %")


def _currents() -> Node:
    """Say the currents that decide in as few words as are true."""
    both = join(_peak.fixed(1), " A peak, ", _steady.fixed(1), " A steady")
    alone = join(_peak.fixed(1), " A peak, no steady reading: the peak stands in for it")
    no_peak = join(
        _steady.fixed(1), " A steady, no peak reading: ", esc_peak_over_steady.fixed(2), " times it stands in"
    )
    return both.otherwise(alone.otherwise(no_peak))


held_line = _figure(
    "short_held", "ESC held, short",
    esc.held_row.present().where(_size_by_cells("short_held", "ESC held", _held_told), "No answer"), "Size alone.",
)  # fmt: skip
held_words = _figure(
    "short_held_words", "ESC held, why",
    esc.held_row.present().where(
        join(
            _at(g.label, esc.held_row), ": ", _currents(), ", ", _room(esc.held_row), ". Steady within ",
            esc_steady_share.fixed(0), " % of the continuous rating, peak within ", esc_burst_ratio.fixed(2), " times it.",
        ),
        join("Because ", esc.nothing_said, "."),
    ),
    "In two sentences.",
)  # fmt: skip


def _at_speed() -> Node:
    """Say what to expect at speed, as an estimate."""
    row = esc.flight_row
    low, high = _at(f.flight_low, row), _at(f.flight_high, row)
    band = join(low.fixed(0), " to ", high.fixed(0), " A")
    by_speed = join("At speed ", band, " (estimate by its own speed), never the only ground.")
    less = join(
        "At speed ", band, " (rule of thumb: ", flight_share_low.fixed(0), " to ", flight_share_high.fixed(0),
        " % less; no source), never the only ground.",
    )  # fmt: skip
    same = "At speed as on the bench, and it may rise."
    by_rule = _at(rule.reduced, row).equals(rule.REDUCED).where(less, same)
    return _at(f.by_speed, row).equals(1).where(by_speed, by_rule)


flight_line = _figure(
    "short_flight", "ESC in bursts, short",
    rule.flies_forward(
        esc.flight_row.present().where(_size_by_cells("short_flight", "ESC in bursts", _flight_told), "No answer"),
        "As for full throttle held",
    ),
    "Size alone.",
)  # fmt: skip
flight_words = _figure(
    "short_flight_words", "ESC in bursts, why",
    rule.flies_forward(
        esc.flight_row.present().where(
            join(
                _at(g.label, esc.flight_row), ": ", _at(n.launch, esc.flight_row).fixed(1), " A at launch, ",
                _room(esc.flight_row), ". ", _at_speed(),
            ),
            join("Because ", esc.nothing_said, "."),
        ),
        "Hover, 3D, ducted and held full throttle draw what they draw on the bench. No reduction is made.",
    ),
    "In two sentences.",
)  # fmt: skip

# --- what it lifts -----------------------------------------------------------------------------------------------

_lift_told = _told("lift_told", "Thrust on the craft, 0 where none", told_thrust)
lift_row = _figure(
    "lift_summary_row", "Summary row of the highest thrust on the craft",
    Aggregate("position", (_lift_told,), (), Aggregate("largest", (_lift_told,), (), Constant(1.0))), "Row.",
)  # fmt: skip
lift_each = _figure(
    "lift_each",
    "Highest thrust of one motor on the craft",
    _at(g.full["thrust"], lift_row),
    "Steady, or else peak.",
    "g",
)
_double, _fourfold = (
    _figure(f"lift_at_{ratio}", f"All-up mass for each motor at {ratio}:1", lift_each / float(ratio),
            "Thrust over the ratio.", "g")
    for ratio in (2, 4)
)  # fmt: skip
_all_thrust = _figure("craft_all_thrust", "Thrust of the craft", lift_each * motor_count, "All motors.", "g")
craft_ratio = _figure("craft_ratio", "Thrust over weight of the craft", _all_thrust / all_up_mass, "At rest.", "", 1)
lift_title = _figure(
    "short_lift_title", "What the third answer is of",
    craft_ratio.present().where("The craft on Craft", "What one motor lifts (all-up mass)"), "Craft, or one motor.",
)  # fmt: skip
lift_line = _figure(
    "short_lift", "What it lifts, short",
    craft_ratio.present().where(
        join(craft_ratio.fixed(1).otherwise(""), ":1 at ", all_up_mass.fixed(0).otherwise(""), " g on ",
             motor_count.fixed(0).otherwise(""), " motors"),
        lift_each.present().where(
            join(in_thousands(_double), " g at 2:1, ", in_thousands(_fourfold), " g at 4:1").otherwise(""), "No answer"
        ),
    ),
    "Thrust over weight, or the mass.",
)  # fmt: skip
_hover = _at(hover_throttle, lift_row)
_lift_kind = join(_at(g.label, lift_row), " gives ", in_thousands(lift_each), " g, ", _at(g.full_kind, lift_row))
lift_words = _figure(
    "short_lift_words", "What it lifts, why",
    lift_each.present().where(
        join(
            _lift_kind, _at(g.full_kind, lift_row).equals("peak").where(" (less when held). ", ". "),
            craft_ratio.present().where(
                join("Hover at ", _hover.fixed(0), " % throttle.").otherwise(
                    join("Hover: ", _at(hover_note, lift_row), ".")
                ),
                "Four motors lift four times as much.",
            ),
        ).otherwise(""),
        "Because no full-throttle reading counts.",
    ),
    "In two sentences.",
)  # fmt: skip

# --- the three sizes that matter ---------------------------------------------------------------------------------


def _of_row(node: Node, word: str, row: Named) -> Node:
    """Turn a figure of this row of the summary into one of the row that decides, fetched once for all sizes."""

    def swap(part: Node) -> Node | None:
        if not isinstance(part, Column):
            return None
        name = f"deciding_{word}_{part.name}"
        if name in ANSWERS.quantities:
            return Named(name, part.text)
        said = g.SUMMARY.quantities[part.name]
        return ANSWERS.derive(
            Quantity(name, f"{said.label}, deciding {word}", _at(part, row), "As on Summary.", n.SOURCE, "", said.unit,
                     said.shown)
        )  # fmt: skip

    return replaced(node, swap)


def _around(word: str, label: str, size: Named) -> tuple[Named, ...]:
    below, above = ((Condition(esc_size, sign, size),) for sign in ("<", ">"))
    return (
        _figure(f"{word}_below", f"{label}: next size down", Aggregate("largest", (esc_size,), below, Constant(1.0)),
                "Of the ladder.", "A"),
        _figure(f"{word}_named", f"{label}: size named", size.otherwise(BLANK), "Of the ladder.", "A"),
        _figure(f"{word}_above", f"{label}: next size up",
                Aggregate("largest", (esc_size,), above, Aggregate("count", (esc_size,), above)), "Of the ladder.", "A"),
    )  # fmt: skip


def _stands(
    size: Named, question: str, row: Named, verdict: Callable[[Node], Node], margin: Callable[[Node], Node]
) -> Node:  # fmt: skip
    """Say how a size stands, with the amps to spare: ``70 A covers, +3.2 A``."""
    word = "held" if row == esc.held_row else "in_bursts"
    spare = _figure(
        f"{size.name}_{question}_spare", f"{size.name.replace('_', ' ').capitalize()}, {question}: amps to spare",
        _of_row(margin(size), word, row), "Below 0: short.", "A", 1,
    )  # fmt: skip
    said = (spare < 0).where(join("−", (0 - spare).fixed(1)), join("+", spare.fixed(1)))
    judged = _of_row(verdict(size), word, row)
    return join(size.fixed(0), " A ", judged, ", ", said, " A").otherwise("–")


_held_sizes = _around("around_held", "Held", esc.held_size)
_flight_sizes = _around("around_flight", "In bursts", esc.flight_size)
SIZES_THAT_MATTER: tuple[tuple[str, tuple[Node, ...]], ...] = (
    ("Full throttle held", tuple(
        _stands(size, "held", esc.held_row, n.held_verdict, n.held_margin) for size in _held_sizes
    )),
    ("Bursts: at launch", tuple(
        _stands(size, "launch", esc.flight_row, n.launch_verdict, n.launch_margin) for size in _flight_sizes
    )),
    ("Bursts: at speed (estimate)", tuple(
        _stands(size, "speed", esc.flight_row, n.speed_verdict, n.speed_margin) for size in _flight_sizes
    )),
)  # fmt: skip
"""Each ESC question with how the size named, the next one down and the next one up stand, for what decides."""
