"""What each propeller and cell count asks of an ESC: held, at launch and at speed, each from measured currents.

A reading that was not taken is no objection withdrawn: a peak stands in for a missing steady reading, and a steady one
times a factor for a missing peak. A size covers where it has room for the currents and their ±.
"""

from __future__ import annotations

from xlsengine.bench import counting
from xlsengine.bench import in_flight as f
from xlsengine.bench import readings as r
from xlsengine.bench import rule_of_thumb as rule
from xlsengine.bench import summary as g
from xlsengine.bench.craft import craft_propeller, pack_cells
from xlsengine.bench.declare import Quantity
from xlsengine.bench.group_uncertainty import static_current_expanded
from xlsengine.bench.settings import (
    esc_burst_ratio,
    esc_launch_limit,
    esc_peak_over_steady,
    esc_size,
    esc_steady_share,
)
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node, greater
from xlsengine.sources import Source, definition, practice

COVERS, LIKELY, BORDERLINE, SHORT = "covers", "likely enough", "borderline", "falls short"
SOURCE = practice("steady within a share of continuous, peak within burst; in flight an estimate")


def _derive(
    name: str, label: str, unit: str, shown: int, expression: Node, meaning: str, source: Source = SOURCE,
    helper: bool = True,
) -> Column:  # fmt: skip
    return g.SUMMARY.derive(Quantity(name, label, expression, meaning, source, "", unit, shown, helper))


room = _derive(
    "current_room", "Current with its ±, over current", "", 4,
    1 + (Aggregate("at", (static_current_expanded,), (), g.summary_row) / g.static_current).otherwise(0.0),
    "What a size must have room for.",
)  # fmt: skip
held_steady = _derive(
    "held_steady", "Steady current that counts for an ESC", "A", 1,
    g.steady["top_current"].otherwise(g.peak["top_current"]), "Highest steady reading; the peak where none is steady.",
)  # fmt: skip
launch = _derive(
    "launch_current", "Launch current", "A", 1,
    greater(
        g.peak["top_current"].otherwise(g.steady["top_current"] * esc_peak_over_steady),
        (g.unstated_current * esc_peak_over_steady).otherwise(0.0),
    ),
    "Highest static peak; where none was read, the highest steady reading times the factor on Settings, and likewise a "
    "reading that nobody called steady or peak.",
)  # fmt: skip

_over_static = greater(launch / g.static_current, 1.0)
speed_low = _derive(
    "speed_current_low", "Current at speed that counts for an ESC, low", "A", 1, f.flight_low * _over_static,
    "In-flight current; where no peak was read, of the peak that stands in.",
)  # fmt: skip
speed_high = _derive(
    "speed_current_high", "Current at speed that counts for an ESC, high", "A", 1, f.flight_high * _over_static,
    "In-flight current; where no peak was read, of the peak that stands in.",
)  # fmt: skip

# --- verdicts on one size --------------------------------------------------------------------------------


def held_margin(size: Node) -> Node:
    """Amps to spare with full throttle held, after the ±: the lesser of steady and peak; blank without a reading."""
    steady = size * esc_steady_share / 100 - held_steady * room
    peak = size * esc_burst_ratio - launch * room
    return (size > 0).where((steady < peak).where(steady, peak), BLANK)


def held_verdict(size: Node) -> Node:
    """*covers* with room for the ±, *falls short* where a measured current exceeds its rating, else *borderline*."""
    peak_over = (g.peak["top_current"] > size * esc_burst_ratio).where(1.0, 0.0).otherwise(0.0)
    falls_short = (held_steady > size).where(1.0, peak_over).equals(1)
    return (size >= held_need).where(COVERS, falls_short.where(SHORT, BORDERLINE))


def launch_margin(size: Node) -> Node:
    """Amps to spare at launch, after the ±: burst rating less the static peak."""
    return rule.flies_forward(size * esc_burst_ratio - launch * room, BLANK)


def launch_verdict(size: Node) -> Node:
    """*covers* with room for the ±, *borderline* up to the limit on Settings, beyond it *falls short*."""
    beyond = launch > size * esc_burst_ratio * esc_launch_limit
    said = (size >= launch_need).where(COVERS, beyond.where(SHORT, BORDERLINE))
    return rule.flies_forward(said, "")


def speed_margin(size: Node) -> Node:
    """Amps to spare at speed: burst rating less the high end of the estimate."""
    return rule.flies_forward(size * esc_burst_ratio - speed_high, BLANK)


def speed_verdict(size: Node) -> Node:
    """*likely enough*, *borderline* or *falls short* at speed, by an estimate: never *covers*."""
    burst = size * esc_burst_ratio
    said = (speed_high <= burst).where(LIKELY, (speed_low <= burst).where(BORDERLINE, SHORT))
    return rule.flies_forward(said, "")


# --- the size named --------------------------------------------------------------------------------------


def smallest_size(need: Node) -> Node:
    """Smallest size of the ladder that is not below `need`; blank where none is."""
    enough = Aggregate("count", (esc_size,), (Condition(esc_size, ">=", need),))
    return Aggregate("largest", (esc_size,), (), enough)


held_need = _derive(
    "held_need", "ESC need, full throttle held", "A", 1,
    greater(held_steady / (esc_steady_share / 100), launch / esc_burst_ratio) * room,
    "Continuous rating that has room for the measured currents and their ±.",
)  # fmt: skip
held_size = _derive(
    "held_size",
    "ESC size, full throttle held",
    "A",
    0,
    smallest_size(held_need),
    "Smallest that covers.",
    helper=False,
)
launch_need = _derive(
    "launch_need", "ESC need, launch", "A", 1, launch * room / esc_burst_ratio,
    "Continuous rating whose burst rating has room for the static peak and its ±.",
)  # fmt: skip
flight_need = _derive(
    "flight_need", "ESC need, short bursts in flight", "A", 1,
    rule.flies_forward(
        f.by_speed.equals(1).where(
            greater(speed_high, launch / esc_launch_limit) / esc_burst_ratio, launch_need
        ),
        BLANK,
    ),
    "By the launch; with a speed and an airspeed by the estimate at speed, and never a size that falls short at launch.",
)  # fmt: skip
flight_size = _derive(
    "flight_size", "ESC size, short bursts in flight", "A", 0, smallest_size(flight_need),
    "Smallest for a launch and at speed; none for hover, 3D, ducted and held full throttle.", helper=False,
)  # fmt: skip

# --- the craft -------------------------------------------------------------------------------------------

on_craft = _derive(
    "on_craft", "On craft", "", 0,
    g.prop.present().where(
        pack_cells.otherwise(g.cells).equals(g.cells).where(
            craft_propeller.present().where(
                r.propeller_key(craft_propeller).equals(r.propeller_key(g.prop)).where(1.0, 0.0), 1.0
            ),
            0.0,
        ),
        0.0,
    ),
    "1 where cell count and propeller are those on Craft, or Craft leaves them open.", definition(),
)  # fmt: skip


def _craft_only(name: str, label: str, column: Column) -> Column:
    return _derive(
        f"{name}_craft", label, "A", 1, on_craft.equals(1).where(column, BLANK), "Blank elsewhere.", definition()
    )


held_need_craft = _craft_only("held_need", "ESC need held, on craft", held_need)
flight_need_craft = _craft_only("flight_need", "ESC need in flight, on craft", flight_need)
cells_craft = _derive(
    "cells_craft", "Cells, on craft", "", 0,
    on_craft.equals(1).where(g.static_current.present().where(g.cells, BLANK), BLANK), "Blank elsewhere.", definition(),
)  # fmt: skip

# --- what has no answer ----------------------------------------------------------------------------------

uncovered = _derive(
    "uncovered", "No counting full-throttle current", "", 0,
    (on_craft.equals(1) & ~g.static_current.present()).where(g.summary_row, BLANK),
    "Its row, where the propeller and cell count could be flown and has none.", definition(),
)  # fmt: skip
_left_out = Aggregate(
    "count", (r.group,),
    (Condition(r.group, "=", g.first_row), Condition(counting.left_out, ">", Constant(0.0))),
)  # fmt: skip
why_uncovered = _derive(
    "why_uncovered", "Why it has no size", "", 0,
    uncovered.present().where(
        (_left_out > 1).where(
            "its readings are left out", (_left_out > 0).where("its reading is left out", "no full-throttle reading")
        ),
        "",
    ),
    "What is missing.", definition(),
)  # fmt: skip
no_current = _derive(
    "no_current", "Why it has no current", "", 0,
    (g.prop.present() & ~g.static_current.present()).where(
        (_left_out > 1).where("readings left out", (_left_out > 0).where("reading left out", "no full throttle")), ""
    ),
    "In a few words, on Craft or not.", definition(),
)  # fmt: skip

g.SUMMARY.keep(held_steady, launch, room)
