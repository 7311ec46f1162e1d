"""What each propeller and cell count asks of an ESC: held, at launch and at speed, each from measured currents.

A reading that was not taken is no objection withdrawn: a peak stands in for a missing steady reading, and a steady one
times a factor for a missing peak. A size covers where it has room for the currents and their ±.
"""

from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice.limits import all_holds
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import left_here
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.craft import craft_propeller, pack_cells
from xlsengine.bench.uncertainty.telling_apart import current_share
from xlsengine.expression import (
    BLANK,
    Column,
    Condition,
    Constant,
    Node,
    first_holding,
    flag,
    greater,
    join,
    lesser,
    say,
)
from xlsengine.sources import practice

_LEAST_SHORT = 0.06
COVERS, LIKELY, BORDERLINE, SHORT = "covers", "enough by estimate", "borderline", "falls short"
SOURCE = practice("steady within a share of continuous, peak within burst; in flight an estimate")
NEEDS = Figures("ESC needs", "What every size is judged by.", source=SOURCE)

room = NEEDS.figure("current_room_taken", "Current with its ±, over current", decimals=4).derive(
    all_holds.where(1 + current_share.otherwise(0.0))
)
_steady, _peak, _factor = g.steady["top_current"], g.peak["top_current"], s.esc_peak_over_steady
held_steady = g.SUMMARY.helper("held_steady", "Steady current that counts for an ESC", "A").derive(
    _steady.otherwise(_peak)
)
launch = g.SUMMARY.helper("launch_current", "Launch current", "A").derive(
    greater(_peak.otherwise(_steady * _factor), (g.unstated_current * _factor).otherwise(0.0))
)
"""Highest static peak; where none was read, the highest steady reading times the factor on Settings, and likewise a
reading that nobody called steady or peak."""
over_static = g.SUMMARY.helper("over_static", "Launch current over the highest static one", decimals=2).derive(
    greater(launch / g.static_current, 1.0)
)
_speed_low, speed_high = (
    g.SUMMARY.helper(f"speed_current_{end}", f"Current at speed that counts for an ESC, {end}", "A").derive(
        amps * over_static
    )
    for end, amps in (("low", f.flight_low), ("high", f.flight_high))
)

# --- verdicts on one size, which is blank for bursts where nothing flies in bursts ------------------------


def _burst(size: Node) -> Node:
    """Return the burst rating of a size."""
    return size * s.esc_burst_ratio


def held_margin(size: Node) -> Node:
    """Amps to spare with full throttle held, after the ±: the lesser of steady and peak; blank without a reading."""
    return lesser(size * s.esc_steady_share / 100 - held_steady * room, launch_margin(size))


def held_verdict(size: Node) -> Node:
    """*covers* with room for the ±, *falls short* where a measured current exceeds its rating, else *borderline*."""
    peak_over = flag(_peak > _burst(size)).otherwise(0.0)
    falls_short = (held_steady > size).where(1.0, peak_over).equals(1)
    return first_holding(((size >= held_need, COVERS), (falls_short, SHORT)), BORDERLINE)


def launch_margin(size: Node) -> Node:
    """Amps to spare at launch, after the ±: burst rating less the static peak."""
    return _burst(size) - launch * room


def launch_verdict(size: Node) -> Node:
    """*covers* with room for the ±, *borderline* up to the limit on Settings, beyond it *falls short*."""
    beyond = launch > _burst(size) * s.esc_launch_limit
    return first_holding(((size >= launch_need, COVERS), (beyond, SHORT)), BORDERLINE)


def speed_margin(size: Node) -> Node:
    """Amps to spare at speed, after the ±: burst rating less the high end of the estimate."""
    return _burst(size) - speed_high * room


def speed_verdict(size: Node, likely: str = LIKELY) -> Node:
    """*enough by estimate*, *borderline* or *falls short* at speed, by an estimate: never *covers*."""
    cases = ((speed_high * room <= _burst(size), likely), (_speed_low <= _burst(size), BORDERLINE))
    return first_holding(cases, SHORT)


def to_spare(margin: Node) -> Node:
    """Write amps to spare: ``+3.2``, or what is short of covering: ``−0.1`` at least."""
    return (margin < 0).where(join("−", greater(0.0 - margin, _LEAST_SHORT).fixed(1)), join("+", margin.fixed(1)))


VERDICTS_MEAN = say(
    "Covers: room for the ±, steady within {:.0f} % of the size, peak and launch within {:.2f} times it. Borderline: steady "
    "up to the size, launch up to {:.2f} times it, at speed by the estimate's low end alone. Falls short: beyond. Amps to "
    "spare (+) or short (−) are against “covers”, at speed by the estimate's high end, which can be exceeded.",
    s.esc_steady_share,
    s.esc_burst_ratio,
    s.esc_burst_ratio * s.esc_launch_limit,
)
"""What the verdicts on a size mean, in the limits of Settings."""

# --- the size named --------------------------------------------------------------------------------------


def smallest_size(need: Node) -> Node:
    """Smallest size of the ladder that is not below `need`; blank where none is."""
    enough = s.esc_size.count(Condition(s.esc_size, ">=", need))
    return s.esc_size.largest(place=enough)


held_need = g.SUMMARY.helper("held_need", "ESC need, full throttle held", "A").derive(
    greater(held_steady / (s.esc_steady_share / 100), launch / s.esc_burst_ratio) * room
)
launch_need = g.SUMMARY.helper("launch_need", "ESC need, launch", "A").derive(launch * room / s.esc_burst_ratio)
_at_speed = greater(speed_high * room, launch / s.esc_launch_limit) / s.esc_burst_ratio
flight_need = g.SUMMARY.helper("flight_need", "ESC need, short bursts in flight", "A").derive(
    rule.flies_forward(f.by_speed.equals(1).where(_at_speed, launch_need), BLANK)
)
"""By the launch; with a speed and an airspeed by the estimate at speed, and never a size that falls short at launch."""
held_size = g.SUMMARY.column("held_size", "ESC size, full throttle held", "A", decimals=0).derive(
    smallest_size(held_need), "Smallest that covers.", SOURCE
)
flight_size = g.SUMMARY.column("flight_size", "ESC size, short bursts in flight", "A", decimals=0).derive(
    smallest_size(flight_need),
    "Smallest for a launch and at speed; none for hover, 3D, ducted and held full throttle.",
    SOURCE,
)

SMALLER, ENOUGH, LARGER = "next smaller", "smallest that will do", "next larger"


def _around(name: str, words: str, need: Column, enough: Column) -> dict[str, Column]:
    """Derive the neighbours of a size; where none of the ladder is enough, its largest is the next smaller one."""

    def size(place: str, found: Node) -> Column:
        return g.SUMMARY.helper(f"{name}_{place}", f"ESC size, {words}, next {place}", "A", decimals=0).derive(found)

    below = s.esc_size.largest(place=s.esc_size.count(Condition(s.esc_size, ">=", need)) + 1)
    above = s.esc_size.largest(place=s.esc_size.count(Condition(s.esc_size, ">", enough)))
    smaller = size("smaller", need.present().where(below))
    return {SMALLER: smaller, ENOUGH: enough, LARGER: size("larger", above)}


HELD_SIZES = _around("held", "held", held_need, held_size)
FLIGHT_SIZES = _around("flight", "in flight", flight_need, flight_size)
"""The three sizes that matter, whatever the order in which Settings lists them."""

# --- the craft -------------------------------------------------------------------------------------------

_its_cells = pack_cells.otherwise(g.cells).equals(g.cells)
_its_propeller = flag(r.propeller_key(craft_propeller).equals(r.propeller_key(g.prop)))
_could_be_flown = _its_cells.where(craft_propeller.present().where(_its_propeller, 1.0), 0.0)
on_craft = g.SUMMARY.helper("on_craft", "On craft").derive(g.prop.present().where(_could_be_flown, 0.0))


def _craft_only(name: str, label: str, need: Column) -> Column:
    on_it = flag(on_craft.equals(1))
    return g.SUMMARY.helper(f"{name}_craft", label, "A").derive((on_it * need).otherwise(0.0))


held_need_craft = _craft_only("held_need", "ESC need held, on craft", held_need)
flight_need_craft = _craft_only("flight_need", "ESC need in flight, on craft", flight_need)
HELD_ON_CRAFT, FLOWN_ON_CRAFT = (Condition(need, ">", Constant(0.0)) for need in (held_need_craft, flight_need_craft))
answered = held_need_craft.count(HELD_ON_CRAFT)
"""How many propellers and cell counts that could be flown have an answer."""

# --- what has no answer ----------------------------------------------------------------------------------

uncovered = g.SUMMARY.helper("uncovered", "No counting full-throttle current").derive(
    (on_craft.equals(1) & ~g.static_current.present()).where(g.summary_row)
)
_left = (left_here > 1).where("readings left out", (left_here > 0).where("reading left out", "no full throttle"))
no_current = g.SUMMARY.helper("no_current", "Why it has no current").derive(
    (g.prop.present() & ~g.static_current.present()).where(_left, "")
)
g.SUMMARY.keep(held_steady, launch, g.SUMMARY.helper("current_room", "Current with its ±, over current").derive(room))
