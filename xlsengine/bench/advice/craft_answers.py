"""What follows for the craft of Craft, in a few figures: thrust, hover, minutes, current, ESC, lift.

They are of one propeller and cell count: that on Craft, or where Craft leaves several open, the one that draws most.
"""

from collections.abc import Callable
from itertools import pairwise

from xlsengine.bench.advice import craft_asks as asks
from xlsengine.bench.advice import esc
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice import short_answers as short
from xlsengine.bench.advice.esc import held_row as row
from xlsengine.bench.advice.short_answers import note, thrust_expanded
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import in_thousands
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import craft as cr
from xlsengine.bench.inputs.settings import (
    pack_rate_most,
    reference_cell_voltage,
    usable_capacity,
)
from xlsengine.expression import Named, Node, Operand, call, join, say
from xlsengine.sources import definition

ANSWERS = Figures(
    "Craft answers",
    "What follows for the craft; with several propellers open, for the one that draws most.",
    source=definition("as on Summary, ESC and Prediction"),
)
NOT_KNOWN = "–"


def _value(name: str, label: str, there: Named, shown: Node) -> Named:
    """Derive the large figure of a tile, as text: a dash where it is not known."""
    return ANSWERS.figure(f"craft_{name}", label).derive(there.present().where(shown, NOT_KNOWN))


def _words(name: str, label: str, words: Node) -> Named:
    return ANSWERS.figure(f"craft_{name}_words", f"{label}: why").derive(words)


Tile = tuple[Node, Node, Node]
"""Title, large figure and words."""


def _tile(title: str, name: str, value: Node, words: Node) -> Tile:
    """Derive figure and words of a tile that may stand in one of several places."""
    shown = ANSWERS.figure(f"craft_{name}", title).derive(value)
    return join(title), shown, _words(name, title, words)


MASS, MOTORS, CAPACITY = (cr.CRAFT.fields[name] for name in ("all_up_mass", "motor_count", "pack_capacity"))


def _unless_filled(cell: Named, label: str, words: Operand) -> Node:
    """Say that what was typed into the cell of a number is none, or else the words."""
    return call("written", cell).where(f"{label} is not a number", words)


_no_motors = _unless_filled(cr.motor_count, MOTORS.label, f"fill in {MOTORS.label}")
_no_mass = cr.motor_count.present().where(f"fill in {MASS.label}", f"fill in {MASS.label} and {MOTORS.label}")
_to_fill = cr.all_up_mass.present().where(_no_motors, _unless_filled(cr.all_up_mass, MASS.label, _no_mass))


def _if_filled(words: Operand) -> Node:
    """Write the words where Craft has mass and motors, else which of them to fill in."""
    both = cr.all_up_mass.present().where(cr.motor_count.present().where(1.0, 0.0), 0.0)
    return both.equals(1).where(row.present().where(words, esc.nothing_said), _to_fill)


# --- thrust and lift -----------------------------------------------------------------------------------------

thrust, thrust_to_weight = short.lift_each, short.craft_ratio
_of_motors = say("{:.0f} × {} g for {} g", cr.motor_count, in_thousands(thrust), in_thousands(cr.all_up_mass))
ratio_words = _words(
    "thrust_to_weight",
    "Thrust to weight",
    _if_filled(say("{}{}; {}", _of_motors, say(", ± {:.1f} %", thrust_expanded).otherwise(""), g.full_kind.at(row))),
)
ratio_value = _value(
    "thrust_to_weight_value", "Thrust to weight, written", thrust_to_weight, say("{:.1f} : 1", thrust_to_weight)
)
_PAIRS = tuple(pairwise(short.LIFTED))
"""On wings, of both kinds, hovering."""
_several = cr.motor_count.otherwise(1.0) > 1
_who = _several.where("Craft lifts", "Lifts")
lift_title = ANSWERS.figure("craft_lift_title", "Lifts: title").derive(
    join(_who, short.by_craft(" on wings, 0.5:1 / 1:1", ": wings 1:1 / hover 2:1", " at 2:1 / 4:1"))
)


def _lifted(motors: Operand) -> Node:
    """Write the masses that so many motors lift, at the two ratios of what is flown."""
    return short.by_craft(*(say("{} / {} g", *(in_thousands(each * motors) for each in pair)) for pair in _PAIRS))


lift_value = _value("lift", "Lifts, all-up", thrust, _lifted(cr.motor_count.otherwise(1.0)))
lift_words = _words(
    "lift",
    "Lift",
    thrust.present().where(
        _several.where(
            say("all-up, by static thrust; {} a motor", _lifted(1.0)),
            cr.motor_count.present().where("all-up, by static thrust", "each motor, all-up, by static thrust"),
        ),
        esc.nothing_said,
    ),
)

# --- hovering ------------------------------------------------------------------------------------------------

_hover_throttle = _tile(
    "Hover throttle",
    "hover_throttle",
    say("{:.0f} %", short.throttle).otherwise(NOT_KNOWN),
    _if_filled(note),
)
_about = short.is_estimate.where("estimate from full throttle, ", "")
_plus = say("± {:.1f} A; ", short.hover_current_doubt).otherwise("")
_hover_power = say("{}{}{:.0f} W for the craft", _about, _plus, short.hover_watts)
_hover_current = _tile(
    "Hover current, a motor",
    "hover_current",
    (short.hover_current < 1)
    .where(say("{:.2f} A", short.hover_current), say("{:.1f} A", short.hover_current))
    .otherwise(NOT_KNOWN),
    _if_filled(_hover_power.otherwise(note)),
)
_of_pack = say(
    "{}{}{:.0f} % of the pack at {:.1f} V a cell",
    short.is_estimate.where("estimate, ", ""),
    say("± {:.1f} min; ", short.minutes_doubt).otherwise(""),
    usable_capacity,
    reference_cell_voltage,
)


def _if_pack(words: Operand) -> Node:
    """Write the words where Craft has mass, motors and a pack, else which of them to fill in."""
    return _if_filled(cr.pack_capacity.present().where(words, f"fill in {CAPACITY.label}"))


_minutes = _tile(
    "Minutes hovering",
    "minutes",
    say("{:.1f} min", short.minutes).otherwise(NOT_KNOWN),
    _if_pack(short.minutes.present().where(_of_pack, note)),
)

# --- at full throttle ----------------------------------------------------------------------------------------

_static_minutes = ANSWERS.figure("craft_static_minutes", "Minutes at full throttle, on the stand", "min").derive(
    asks.full_minutes(g.static_current.at(row))
)
_full_minutes = _tile(
    "Minutes at full throttle, static",
    "stand_minutes",
    say("{:.1f} min", _static_minutes).otherwise(NOT_KNOWN),
    _if_pack(say("{:.0f} % of the pack at {:.1f} A a motor", usable_capacity, g.static_current.at(row))),
)
_flight_minutes = _tile(
    "Minutes at full throttle in flight",
    "flight_minutes",
    say("{} min", short.full_minutes).otherwise(NOT_KNOWN),
    _if_pack("estimate, by the amps in flight"),
)
_from_pack = _tile(
    "From the pack, full throttle",
    "from_pack",
    say("{:.0f} A{}", short.pack_amps, say("; {:.0f}C", short.pack_rate).otherwise("")).otherwise(NOT_KNOWN),
    _if_pack(
        (short.pack_rate > pack_rate_most).where(
            say("{} (about {:.0f}C)", short.TOO_MUCH, pack_rate_most), "all motors"
        )
    ),
)
_per_mass = _tile(
    "Power for its weight",
    "power_loading",
    say("{:.0f} W/kg", 1000 * cr.motor_count * g.full["power"].at(row) / cr.all_up_mass).otherwise(NOT_KNOWN),
    _if_filled("full throttle, on the stand"),
)

# --- current and ESC -----------------------------------------------------------------------------------------

_low = f.flight_low.at(row)
_high = f.flight_high.at(row)
_each = ANSWERS.figure("craft_static", "Highest static current", "A").derive(g.static_current.at(row))
_band = (_high > _low).where(say("{}–{} A", *f.ends(_low, _high, _each)), say("{:.1f} A", _high))
flight_value = _value("flight", "In flight, full throttle", _each, _band)
_often = f.by_speed.at(row).equals(1).where("", rule.reduced.at(row).equals(rule.REDUCED).where(", often more", ""))
_forward_words = say("{}{}; {:.1f} A static", f.flight_basis.at(row), _often, _each)
flight_words = _words(
    "flight",
    "In flight",
    _each.present().where(rule.flies_forward(_forward_words, "as on the stand"), esc.nothing_said),
)


def _amps(margin: Node) -> Node:
    return join(call("absolute", margin).fixed(1), (margin < 0).where(" A short", " A to spare"))


def _why_none(at: Named) -> Node:
    return at.present().where("larger than any size on Settings", esc.nothing_said)


_held, _at_launch, _at_speed = (standings[short.NAMED] for standings in (short.HELD, short.LAUNCH, short.SPEED))
held_value = _value("held", "ESC, full throttle held", esc.held_size, say("{:.0f} A", esc.held_size))
held_words = _words(
    "held",
    "ESC, held",
    esc.held_size.present().where(say("{}, {} after the ±", _held.verdict, _amps(_held.spare)), _why_none(row)),
)


_in_flight = say(
    "at launch {}, {}; at speed {} by estimate", _at_launch.verdict, _amps(_at_launch.spare), _at_speed.verdict
)
burst_value = _value("bursts", "ESC, short bursts", esc.flight_size, say("{:.0f} A", esc.flight_size))
burst_words = _words(
    "bursts",
    "ESC, bursts",
    rule.flies_forward(
        esc.flight_size.present().where(_in_flight, _why_none(esc.flight_row)),
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
_ESC_TITLES = "ESC, short bursts", "ESC, full throttle held"


_BURSTS, _HELD = (
    (join(title), value, words)
    for title, (value, words) in zip(_ESC_TITLES, ((burst_value, burst_words), (held_value, held_words)), strict=True)
)
Placed = tuple[str | Named, Named, Named]
"""Title, figure and words, each where it has its cell."""
_Choice = Callable[[Operand, Operand], Node]


def _placed(place: str, choose: _Choice, one: Tile, other: Tile) -> Placed:
    """Derive the tile of a place, where one of two stands."""
    words = ("title", "figure", "why")
    parts = zip(words, one, other, strict=True)
    title, value, why = (
        ANSWERS.figure(f"craft_{place}_{word}", f"Tile {place}: {word}").derive(choose(*pair)) for word, *pair in parts
    )
    return title, value, why


def _if_read(yes: Operand, no: Operand) -> Node:
    """Choose by whether a hover throttle is known, or what it takes is not filled in."""
    read = short.throttle.present().where(1.0, thrust_to_weight.present().where(0.0, 1.0))
    return read.equals(1).where(yes, no)


def _if_less(yes: Operand, no: Operand) -> Node:
    """Choose by whether amps in flight are a range, so that minutes in flight say more than those on the stand."""
    return (_high > _low).where(1.0, 0.0).otherwise(0.0).equals(1).where(yes, no)


def _of_two(choose: _Choice, one: Tile, other: Tile) -> Tile:
    title, value, words = (choose(*pair) for pair in zip(one, other, strict=True))
    return title, value, words


TILES: tuple[Placed, ...] = (
    (THRUST_TO_WEIGHT, ratio_value, ratio_words),
    _placed("second", rule.hovers, _of_two(_if_read, _hover_throttle, _from_pack), _full_minutes),
    _placed("third", rule.hovers, _hover_current, _of_two(_if_less, _flight_minutes, _per_mass)),
    _placed("fourth", rule.hovers, _minutes, _from_pack),
    (IN_FLIGHT, flight_value, flight_words),
    _placed("sixth", rule.flown_in_bursts, _BURSTS, _HELD),
    _placed(
        "seventh",
        rule.flies_forward,
        _of_two(rule.flown_in_bursts, _HELD, _BURSTS),
        _of_two(rule.hovers, _full_minutes, _per_mass),
    ),
    (lift_title, lift_value, lift_words),
)
"""Where a place would say nothing of what is flown, it says something else: a wing does not hover, and who hovers or holds
full throttle has no answer for bursts."""
