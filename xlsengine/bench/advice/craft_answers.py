"""What follows for the craft of Craft, in a few figures: thrust, hover, minutes, current, ESC, lift; and in sentences.

They are of one propeller and cell count: that on Craft, or where Craft leaves several open, the one that draws most.
"""

from collections.abc import Callable
from itertools import pairwise

from xlsengine.bench.advice import esc
from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice import short_answers as short
from xlsengine.bench.advice import suitability as asks
from xlsengine.bench.advice.esc import held_row as row
from xlsengine.bench.advice.suitability import of_row
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import if_there, in_thousands
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.craft import CRAFT, airspeed, all_up_mass, motor_count, pack_capacity, way_of_flying
from xlsengine.expression import Named, Node, Operand, call, first_holding, flag, join, say
from xlsengine.sources import definition

ANSWERS = Figures(
    "Craft answers",
    "What follows for the craft; with several propellers open, for the one that draws most.",
    source=definition("as on Summary, ESC and Prediction"),
)
NOT_KNOWN = "–"
Tile = tuple[Node, Node, Node]
"""Title, large figure and words."""
Placed = tuple[str | Named, Named, Named]
"""The same, each where it has its cell."""


def _tile(name: str, title: str, value: Node, words: Node) -> tuple[Node, Named, Named]:
    """Derive the figure of a tile, as text, a dash where it is not known; and the words below it."""
    shown = ANSWERS.figure(f"craft_{name}", title).derive(value.otherwise(NOT_KNOWN))
    said = ANSWERS.figure(f"craft_{name.removesuffix('_value')}_words", f"{title}: why").derive(words)
    return join(title), shown, said


# --- what is missing ---------------------------------------------------------------------------------------------

_MASS, _MOTORS, _CAPACITY = (CRAFT.fields[name].label for name in ("all_up_mass", "motor_count", "pack_capacity"))


def _unless_filled(cell: Named, label: str, words: Operand) -> Node:
    """Say that what was typed into the cell of a number is none, or else the words."""
    return call("written", cell).where(f"{label} is not a number", words)


_no_motors = _unless_filled(motor_count, _MOTORS, f"fill in {_MOTORS}")
_no_mass = motor_count.present().where(f"fill in {_MASS}", f"fill in {_MASS} and {_MOTORS}")
_to_fill = all_up_mass.present().where(_no_motors, _unless_filled(all_up_mass, _MASS, _no_mass))


def _if_filled(words: Operand) -> Node:
    """Write the words where Craft has mass and motors, else which of them to fill in."""
    both = flag(all_up_mass.present() & motor_count.present())
    return both.equals(1).where(row.present().where(words, esc.nothing_said), _to_fill)


def _if_pack(words: Operand) -> Node:
    """Write the words where Craft has mass, motors and a pack, else which of them to fill in."""
    return _if_filled(pack_capacity.present().where(words, f"fill in {_CAPACITY}"))


# --- thrust and lift -----------------------------------------------------------------------------------------

_thrust, _ratio = short.lift_each, short.craft_ratio
_of_motors = say("{:.0f} × {} g for {} g", motor_count, in_thousands(_thrust), in_thousands(all_up_mass))
_alone = (motor_count > 1).where(", one motor at a time", "")
_RATIO = _tile(
    "thrust_to_weight_value",
    "Thrust to weight",
    say("{:.1f} : 1", _ratio),
    _if_filled(say("{}; {} at bench volts{}", _of_motors, g.spoken_kind(row), _alone)),
)
_PAIRS = tuple(pairwise(short.LIFTED))
"""On wings, of both kinds, hovering."""
_several = motor_count.otherwise(1.0) > 1
_who = _several.where("Craft lifts", "Lifts")
lift_title = ANSWERS.figure("craft_lift_title", "Lifts: title").derive(
    join(_who, short.by_craft(" on wings, 0.5:1 / 1:1", ": wings 1:1 / hover 2:1", " at 2:1 / 4:1"))
)


def _lifted(motors: Operand) -> Node:
    """Write the masses that so many motors lift, at the two ratios of what is flown."""
    return short.by_craft(*(say("{} / {} g", *(in_thousands(each * motors) for each in pair)) for pair in _PAIRS))


_one = motor_count.present().where("all-up, by static thrust", "each motor, all-up, by static thrust")
_of_each = say("all-up, by static thrust; {} a motor", _lifted(1.0))
_lift_words = _thrust.present().where(_several.where(_of_each, _one), esc.nothing_said)
_LIFT = _tile("lift", "Lifts, all-up", _lifted(motor_count.otherwise(1.0)), _lift_words)

# --- hovering ------------------------------------------------------------------------------------------------

_THROTTLE = _tile("hover_throttle", "Hover throttle", say("{:.0f} %", short.throttle), _if_filled(short.note))
_power = say(
    "{}{}{:.0f} W for the craft",
    short.is_estimate.where("estimate from full throttle, ", ""),
    say("± {:.1f} A; ", short.hover_current_doubt).otherwise(""),
    short.hover_watts,
)
_amps_hovering = (short.hover_current < 1).where(
    say("{:.2f} A", short.hover_current), say("{:.1f} A", short.hover_current)
)
_CURRENT = _tile("hover_current", "Hover current, a motor", _amps_hovering, _if_filled(_power.otherwise(short.note)))
_of_pack = say(
    "{}{}{:.0f} % of the pack at {:.1f} V a cell",
    short.is_estimate.where("estimate, ", ""),
    say("± {:.1f} min; ", short.minutes_doubt).otherwise(""),
    s.usable_capacity,
    s.reference_cell_voltage,
)
_MINUTES = _tile(
    "minutes",
    "Minutes hovering",
    say("{:.1f} min", short.minutes),
    _if_pack(short.minutes.present().where(_of_pack, short.note)),
)

# --- at full throttle ----------------------------------------------------------------------------------------

_FULL_MINUTES = _tile(
    "stand_minutes",
    "Minutes at full throttle, static",
    say("{:.1f} min", of_row(asks.full_minutes(g.static_current), row)),
    _if_pack(say("{:.0f} % of the pack at {:.1f} A a motor", s.usable_capacity, g.static_current.at(row))),
)
_FLIGHT_MINUTES = _tile(
    "flight_minutes",
    "Minutes at full throttle in flight",
    say("{} min", short.full_minutes),
    _if_pack("estimate, static amps included"),
)
_FROM_PACK = _tile(
    "from_pack",
    "From the pack, full throttle",
    say("{:.0f} A{}", short.pack_amps, say("; {:.0f}C", short.pack_rate).otherwise("")),
    _if_pack((short.pack_rate > s.pack_rate_high).where(short.asked_of_pack, "all motors")),
)
_PER_MASS = _tile(
    "power_loading",
    "Power for its weight",
    say("{:.0f} W/kg", 1000 * motor_count * g.full["power"].at(row) / all_up_mass),
    _if_filled("full throttle, on the stand"),
)

# --- current and ESC -----------------------------------------------------------------------------------------

_low, _high = f.flight_low.at(row), f.flight_high.at(row)
_each = g.static_current.at(row)
_band = (_high > _low).where(say("{}–{} A", *f.ends(_low, _high, _each)), say("{:.1f} A", _high))
_often = f.by_speed.at(row).equals(1).where("", rule.reduced.at(row).equals(rule.REDUCED).where(", often more", ""))
_forward = rule.flies_forward(say("{}{}; {:.1f} A static", f.flight_basis.at(row), _often, _each), "as on the stand")
_IN_FLIGHT = _tile("flight", "In flight, full throttle", _band, row.present().where(_forward, esc.nothing_said))


def _amps(margin: Node) -> Node:
    return join(call("absolute", margin).fixed(1), (margin < 0).where(" A short", " A to spare"))


def _why_none(at: Named) -> Node:
    return at.present().where("larger than any size on Settings", esc.nothing_said)


_spare = of_row(n.held_margin(n.held_size), row)
_sized = say("{}, {} after the ±", of_row(n.held_verdict(n.held_size), row), _amps(_spare))
_HELD = _tile(
    "held",
    "ESC, full throttle held",
    say("{:.0f} A", esc.held_size),
    esc.held_size.present().where(_sized, _why_none(row)),
)
_sized = say(
    "at launch {}, {}; at speed {} by estimate",
    n.launch_verdict(n.flight_size),
    _amps(n.launch_margin(n.flight_size)),
    n.speed_verdict(n.flight_size, "enough"),
)
_BURSTS = _tile(
    "bursts",
    "ESC, short bursts",
    say("{:.0f} A", esc.flight_size),
    rule.flies_forward(
        esc.flight_size.present().where(of_row(_sized, esc.flight_row), _why_none(esc.flight_row)),
        "no burst answer: the static current counts in full",
    ),
)

# --- what stands where ----------------------------------------------------------------------------------------

BANDS = "In the air", "Current, ESC and lift"
IN_FLIGHT, THRUST_TO_WEIGHT = "In flight, full throttle, a motor", "Thrust to weight"
TITLES = (*BANDS, IN_FLIGHT, THRUST_TO_WEIGHT)
GONE_TITLES = (
    "Hover throttle",
    "Hover current",
    "Minutes hovering",
    "In flight, full throttle",
    "ESC, short bursts",
    "ESC, full throttle held",
    "Hover throttle, hover current and minutes hovering: steady readings at part throttle would add them.",
)
"""What stood there as plain text in earlier results."""
_Choice = Callable[[Operand, Operand], Node]


def _of_two(choose: _Choice, one: Tile, other: Tile) -> Tile:
    title, value, words = (choose(*pair) for pair in zip(one, other, strict=True))
    return title, value, words


def _placed(place: str, choose: _Choice, one: Tile, other: Tile) -> Placed:
    """Derive the tile of a place, where one of two stands."""
    title, value, why = (
        ANSWERS.figure(f"craft_{place}_{word}", f"Tile {place}: {word}").derive(part)
        for word, part in zip(("title", "figure", "why"), _of_two(choose, one, other), strict=True)
    )
    return title, value, why


def _if_read(yes: Operand, no: Operand) -> Node:
    """Choose by whether a hover throttle is known, or what it takes is not filled in."""
    read = short.throttle.present().where(1.0, _ratio.present().where(0.0, 1.0))
    return read.equals(1).where(yes, no)


def _if_less(yes: Operand, no: Operand) -> Node:
    """Choose by whether amps in flight are a range, so that minutes in flight say more than those on the stand."""
    return flag(_high > _low).otherwise(0.0).equals(1).where(yes, no)


_other_size = _of_two(rule.flown_in_bursts, _HELD, _BURSTS)
_no_bursts = _of_two(rule.hovers, _FULL_MINUTES, _PER_MASS)
TILES: tuple[Placed, ...] = (
    (THRUST_TO_WEIGHT, *_RATIO[1:]),
    _placed("second", rule.hovers, _of_two(_if_read, _THROTTLE, _FROM_PACK), _FULL_MINUTES),
    _placed("third", rule.hovers, _CURRENT, _of_two(_if_less, _FLIGHT_MINUTES, _PER_MASS)),
    _placed("fourth", rule.hovers, _MINUTES, _FROM_PACK),
    (IN_FLIGHT, *_IN_FLIGHT[1:]),
    _placed("sixth", rule.flown_in_bursts, _BURSTS, _HELD),
    _placed("seventh", rule.flies_forward, _other_size, _no_bursts),
    (lift_title, *_LIFT[1:]),
)
"""Where a place would say nothing of what is flown, it says something else: a wing does not hover, and who hovers or holds
full throttle has no answer for bursts."""

# --- in sentences ---------------------------------------------------------------------------------------------

SENTENCES = Figures("Craft sentences", "What follows for the craft, in words.", source=ANSWERS.source)
_for_held = say("{:.0f} A or larger where full throttle is held", esc.held_size)
_for_bursts = say("{:.0f} A for short bursts", esc.flight_size)
_both_sizes = rule.flown_in_bursts(join(_for_bursts, ", ", _for_held), join(_for_held, ", ", _for_bursts))
_weighs = short.is_grounded.where(
    join(short.grounded, ". "), say("Thrust at bench volts is {:.1f} times the weight. ", _ratio)
)
_lifts = _thrust.present().where(join("One motor lifts ", short.LIFTS, ". "), "")
_sizes = (
    (esc.held_size.present(), say("ESC: {}.", esc.flight_size.present().where(_both_sizes, _for_held))),
    (row.present(), "No ESC size on Settings is large enough."),
)
headline = SENTENCES.figure("craft_headline", "In one line").derive(
    join(_ratio.present().where(_weighs, _lifts), first_holding(_sizes, say("No answer: {}.", esc.nothing_said)))
)
_among = say(", which draws most of the {:.0f} that Propeller and Pack cells leave open", n.answered)
basis = SENTENCES.figure("craft_basis", "What it is of").derive(
    say(
        "For {}{}. Thrust is the mean of its {} readings on the stand, at {:.2f} V; ESC and current in flight go by the "
        "highest, {:.1f} A.",
        g.label.at(row),
        (n.answered > 1).where(_among, ""),
        g.spoken_kind(row),
        g.full["voltage"].at(row),
        g.static_current.at(row),
    )
)
_launch = of_row(asks.wiring, row)
_no_peak = say(", at launch: no peak was read, so {:.2f} times the highest reading counts", s.esc_peak_over_steady)
_reasons = (
    (_launch > of_row(asks.on_stand, row), ", in flight by estimate"),
    (_launch > g.static_current.at(row), _no_peak),
)
_stands_in = first_holding(_reasons, "")
_all_motors = motor_count.equals(1).where(
    "At full throttle the motor draws", say("All {:.0f} motors at full throttle draw", motor_count)
)
_times = short.pack_rate.fixed(0)
_rate = if_there(pack_capacity, ", ", _times, " times its capacity in Ah (", _times, "C)")
_all_draw = say("{} up to {:.0f} A from the pack{}{}. ", _all_motors, short.pack_amps, _rate, _stands_in)
_sagging = say(
    "With the bench's sag ({:.0f} mΩ) thrust is about {:.1f} times the weight. ",
    short.supply_resistance,
    short.ratio_left,
).otherwise("")
_each_draws = say("Each motor draws up to {:.1f} A{}. ", _launch, _stands_in)
_shortest = of_row(asks.least_minutes, row)
_longest = of_row(asks.most_minutes, row)
_lasts = say(
    "{:.0f} % of it last about {:.1f}{} at full throttle. ",
    s.usable_capacity,
    _shortest,
    (_longest > _shortest).where(say(" to {:.1f} min", _longest), " min"),
)
pack = SENTENCES.figure("craft_pack", "Pack and wire").derive(
    say(
        "{}{}{}Stay within the pack maker's rating; wire, plugs and fuse must carry the whole current. Take a pack out "
        "of use when it is puffed, damaged or hot, or rests below 3.0 V per cell.",
        row.present().where(motor_count.present().where(_all_draw, _each_draws), ""),
        _sagging,
        _lasts.otherwise(""),
    )
)
_idle = (r.speed.count() > 0).where(
    "Airspeed changes nothing here: sheet Prediction says why. ",
    "Airspeed changes nothing until Speed is read at full throttle. ",
)
_is_idle = f.by_speed.at(row).otherwise(0.0) < 1
to_fill = SENTENCES.figure("craft_to_fill", "Cells to fill").derive(
    call(
        "trim",
        join(
            (all_up_mass.present() & motor_count.present()).where(
                "", f"{_MASS} and {_MOTORS} give thrust to weight and hover. "
            ),
            pack_capacity.present().where("", f"{_CAPACITY} gives minutes and what is asked of the pack. "),
            (n.answered > 1).where("Propeller and Pack cells in series choose among what was tested. ", ""),
            way_of_flying.present().where(
                "",
                "Type of flying decides the amps in flight and which ESC answer stands first; blank: held, the safer one. ",
            ),
            airspeed.present().where(_is_idle.where(rule.flies_forward(_idle, ""), ""), ""),
        ),
    )
)
precedence = SENTENCES.figure("craft_precedence", "Estimates, and what overrules them").derive(
    say("Figures in flight are estimates: never choose an ESC by them alone. {}", esc.precedence)
)
BELOW = (to_fill, pack, precedence)
"""What stands below the figures, from the top."""
