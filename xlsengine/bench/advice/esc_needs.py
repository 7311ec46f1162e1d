"""What each propeller and cell count asks of an ESC: held, at launch and at speed, each from measured currents.

A reading that was not taken is no objection withdrawn: a peak stands in for a missing steady reading, and a steady one
times a factor for a missing peak. A size covers where it has room for the currents and their ±.
"""

from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import left_here
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.craft import craft_propeller, pack_cells
from xlsengine.bench.uncertainty.telling_apart import current_share
from xlsengine.expression import BLANK, Column, Condition, Constant, Node, flag, greater, join, lesser, say
from xlsengine.sources import practice

_LEAST_SHORT = 0.06
COVERS, LIKELY, BORDERLINE, SHORT = "covers", "enough by estimate", "borderline", "falls short"
SOURCE = practice("steady within a share of continuous, peak within burst; in flight an estimate")
NEEDS = Figures("ESC needs", "What every size is judged by.", source=SOURCE)

room = NEEDS.figure("current_room_taken", "Current with its ±, over current", decimals=4).derive(
    1 + current_share.otherwise(0.0)
)
held_steady = g.SUMMARY.helper("held_steady", "Steady current that counts for an ESC", "A").derive(
    g.steady["top_current"].otherwise(g.peak["top_current"]),
    "Highest steady reading; the peak where none is steady.",
    SOURCE,
)
launch = g.SUMMARY.helper("launch_current", "Launch current", "A").derive(
    greater(
        g.peak["top_current"].otherwise(g.steady["top_current"] * s.esc_peak_over_steady),
        (g.unstated_current * s.esc_peak_over_steady).otherwise(0.0),
    ),
    "Highest static peak; where none was read, the highest steady reading times the factor on Settings, and likewise "
    "a reading that nobody called steady or peak.",
    SOURCE,
)

over_static = g.SUMMARY.helper("over_static", "Launch current over the highest static one", decimals=2).derive(
    greater(launch / g.static_current, 1.0), "Above 1 where a current that was not read stands in for a peak.", SOURCE
)
speed_low = g.SUMMARY.helper("speed_current_low", "Current at speed that counts for an ESC, low", "A").derive(
    f.flight_low * over_static, "In-flight current; where no peak was read, of the peak that stands in.", SOURCE
)
speed_high = g.SUMMARY.helper("speed_current_high", "Current at speed that counts for an ESC, high", "A").derive(
    f.flight_high * over_static, "In-flight current; where no peak was read, of the peak that stands in.", SOURCE
)

# --- verdicts on one size, which is blank for bursts where nothing flies in bursts ------------------------


def held_margin(size: Node) -> Node:
    """Amps to spare with full throttle held, after the ±: the lesser of steady and peak; blank without a reading."""
    steady = size * s.esc_steady_share / 100 - held_steady * room
    peak = size * s.esc_burst_ratio - launch * room
    return lesser(steady, peak)


def held_verdict(size: Node) -> Node:
    """*covers* with room for the ±, *falls short* where a measured current exceeds its rating, else *borderline*."""
    peak_over = (g.peak["top_current"] > size * s.esc_burst_ratio).where(1.0, 0.0).otherwise(0.0)
    falls_short = (held_steady > size).where(1.0, peak_over).equals(1)
    return (size >= held_need).where(COVERS, falls_short.where(SHORT, BORDERLINE))


def launch_margin(size: Node) -> Node:
    """Amps to spare at launch, after the ±: burst rating less the static peak."""
    return size * s.esc_burst_ratio - launch * room


def launch_verdict(size: Node) -> Node:
    """*covers* with room for the ±, *borderline* up to the limit on Settings, beyond it *falls short*."""
    beyond = launch > size * s.esc_burst_ratio * s.esc_launch_limit
    return (size >= launch_need).where(COVERS, beyond.where(SHORT, BORDERLINE))


def speed_margin(size: Node) -> Node:
    """Amps to spare at speed, after the ±: burst rating less the high end of the estimate."""
    return size * s.esc_burst_ratio - speed_high * room


def speed_verdict(size: Node, likely: str = LIKELY) -> Node:
    """*enough by estimate*, *borderline* or *falls short* at speed, by an estimate: never *covers*."""
    burst = size * s.esc_burst_ratio
    return (speed_high * room <= burst).where(likely, (speed_low <= burst).where(BORDERLINE, SHORT))


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
    greater(held_steady / (s.esc_steady_share / 100), launch / s.esc_burst_ratio) * room,
    "Continuous rating that has room for the measured currents and their ±.",
    SOURCE,
)
held_size = g.SUMMARY.column("held_size", "ESC size, full throttle held", "A", decimals=0).derive(
    smallest_size(held_need), "Smallest that covers.", SOURCE
)
launch_need = g.SUMMARY.helper("launch_need", "ESC need, launch", "A").derive(
    launch * room / s.esc_burst_ratio,
    "Continuous rating whose burst rating has room for the static peak and its ±.",
    SOURCE,
)
flight_need = g.SUMMARY.helper("flight_need", "ESC need, short bursts in flight", "A").derive(
    rule.flies_forward(
        f.by_speed.equals(1).where(
            greater(speed_high * room, launch / s.esc_launch_limit) / s.esc_burst_ratio, launch_need
        ),
        BLANK,
    ),
    "By the launch; with a speed and an airspeed by the estimate at speed, and never a size that falls short at "
    "launch.",
    SOURCE,
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

on_craft = g.SUMMARY.helper("on_craft", "On craft").derive(
    g.prop.present().where(
        pack_cells.otherwise(g.cells)
        .equals(g.cells)
        .where(
            craft_propeller.present().where(
                r.propeller_key(craft_propeller).equals(r.propeller_key(g.prop)).where(1.0, 0.0), 1.0
            ),
            0.0,
        ),
        0.0,
    ),
    "1 where cell count and propeller are those on Craft, or Craft leaves them open.",
)


def _craft_only(name: str, label: str, need: Column) -> Column:
    on_it = flag(on_craft.equals(1))
    return g.SUMMARY.helper(f"{name}_craft", label, "A").derive((on_it * need).otherwise(0.0), "0 elsewhere.")


held_need_craft = _craft_only("held_need", "ESC need held, on craft", held_need)
flight_need_craft = _craft_only("flight_need", "ESC need in flight, on craft", flight_need)
HELD_ON_CRAFT, FLOWN_ON_CRAFT = (Condition(need, ">", Constant(0.0)) for need in (held_need_craft, flight_need_craft))
answered = held_need_craft.count(HELD_ON_CRAFT)
"""How many propellers and cell counts that could be flown have an answer."""

# --- what has no answer ----------------------------------------------------------------------------------

uncovered = g.SUMMARY.helper("uncovered", "No counting full-throttle current").derive(
    (on_craft.equals(1) & ~g.static_current.present()).where(g.summary_row),
    "Its row, where the propeller and cell count could be flown and has none.",
)
no_current = g.SUMMARY.helper("no_current", "Why it has no current").derive(
    (g.prop.present() & ~g.static_current.present()).where(
        (left_here > 1).where("readings left out", (left_here > 0).where("reading left out", "no full throttle")), ""
    )
)

_room_kept = g.SUMMARY.helper("current_room", "Current with its ±, over current").derive(room)
g.SUMMARY.keep(held_steady, launch, _room_kept)
