"""What follows for the craft of Craft, in a few figures and sentences: thrust, hover, minutes, current, ESC, lift.

They are of one propeller and cell count: that on Craft, or where Craft leaves several open, the one that draws most.
"""

from __future__ import annotations

from xlsengine.bench import craft as cr
from xlsengine.bench import esc
from xlsengine.bench import esc_choices as c
from xlsengine.bench import esc_needs as n
from xlsengine.bench import in_flight as f
from xlsengine.bench import rule_of_thumb as rule
from xlsengine.bench import summary as g
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.esc import held_row as row
from xlsengine.bench.settings import usable_capacity
from xlsengine.bench.suitability import HOVERING, hover_efficiency, hover_note, hover_throttle, hover_total, wing_sure
from xlsengine.expression import Aggregate, Column, Named, Node, Operand, call, join
from xlsengine.sources import definition

ANSWERS = Figures(
    "Craft answers", "What follows for the craft; with several propellers open, for the one that draws most."
)
LIFTED_AT = (2.0, 4.0)
"""Thrust over weight of a craft that hovers calmly, and of one that is flown hard (common practice, no source)."""
NOT_KNOWN = "–"
_source = definition("as on Summary, ESC and Prediction")


def _figure(name: str, label: str, expression: Node, meaning: str, unit: str = "", shown: int = 0) -> Named:
    return ANSWERS.derive(Quantity(f"craft_{name}", label, expression, meaning, _source, "", unit, shown))


def _at(column: Column) -> Node:
    """Return a column in the row that decides."""
    return Aggregate("text at" if column.text else "at", (column,), (), row)


def _hover(name: str) -> Node:
    return _at(Column(HOVERING.name, f"hover_{name}"))


def _value(name: str, label: str, shown: Node, meaning: str) -> Named:
    """Derive the large figure of a tile, as text: a dash where it is not known."""
    return _figure(name, label, shown.otherwise(NOT_KNOWN), meaning)


def _words(name: str, label: str, words: Node) -> Named:
    return _figure(f"{name}_words", f"{label}: why", words, "What it rests on, or what is missing.")


MASS, MOTORS, CAPACITY = (
    cr.CRAFT.fields["all_up_mass"],
    cr.CRAFT.fields["motor_count"],
    cr.CRAFT.fields["pack_capacity"],
)
_no_mass = cr.motor_count.present().where(f"fill in {MASS.label}", f"fill in {MASS.label} and {MOTORS.label}")
_to_fill = cr.all_up_mass.present().where(f"fill in {MOTORS.label}", _no_mass)


def _if_filled(words: Operand) -> Node:
    """Write the words where Craft has mass and motors, else which of them to fill in."""
    both = cr.all_up_mass.present().where(cr.motor_count.present().where(1.0, 0.0), 0.0)
    return both.equals(1).where(row.present().where(words, esc.nothing_said), _to_fill)


# --- thrust and lift -----------------------------------------------------------------------------------------

thrust = _figure("thrust", "Static thrust of one motor", _at(g.full["thrust"]), "Steady, or else peak.", "g")
thrust_to_weight = _figure(
    "thrust_to_weight", "Thrust to weight", thrust * cr.motor_count / cr.all_up_mass,
    "Static, at full throttle, of all motors, over the all-up weight.", shown=1,
)  # fmt: skip
_of_motors = join(cr.motor_count.fixed(0), " × ", thrust.fixed(0), " g for ", cr.all_up_mass.fixed(0), " g")
ratio_words = _words(
    "thrust_to_weight", "Thrust to weight",
    _if_filled(join(_of_motors, join(", ± ", _at(wing_sure).fixed(1), " %").otherwise(""), "; ", _at(g.full_kind))),
)  # fmt: skip
ratio_value = _value(
    "thrust_to_weight_value", "Thrust to weight, written", join(thrust_to_weight.fixed(1), " : 1"), "As text."
)
_lifted = tuple((f"{at:g}:1", thrust / at) for at in LIFTED_AT)
lift_value = _value(
    "lift", "One motor lifts at " + " and ".join(words for words, _ in _lifted),
    join(_lifted[0][1].fixed(0), " / ", _lifted[1][1].fixed(0), " g"), "Static thrust over thrust to weight.",
)  # fmt: skip
_by_thrust = "all-up mass for each motor, by static thrust"
_of_several = cr.motor_count.equals(1).where(
    _by_thrust,
    join(
        cr.motor_count.fixed(0), " motors: ", (cr.motor_count * _lifted[0][1]).fixed(0), " / ",
        (cr.motor_count * _lifted[1][1]).fixed(0), " g all-up",
    ),
)  # fmt: skip
lift_words = _words(
    "lift", "Lift",
    thrust.present().where(_of_several.otherwise(_by_thrust), esc.nothing_said),
)  # fmt: skip

# --- hovering ------------------------------------------------------------------------------------------------

hover_throttle_value = _value(
    "hover_throttle", "Hover throttle", join(_at(hover_throttle).fixed(0), " %"), "Where thrust equals weight."
)
hover_throttle_words = _words("hover_throttle", "Hover throttle", _if_filled(_at(hover_note)))
hover_current = _figure(
    "hover_current", "Hover current of one motor", _hover("current"), "From throttle steps.", "A", 1
)
hover_current_value = _value(
    "hover_current_value", "Hover current, written", join(hover_current.fixed(1), " A"), "Of one motor, as text."
)
_hover_power = join(
    "a motor", join(", ± ", _hover("current_expanded").fixed(1), " A").otherwise(""), "; ", _at(hover_total).fixed(0),
    " W for the craft, ", _at(hover_efficiency).fixed(1), " g/W",
)  # fmt: skip
_as_throttle = "as for hover throttle"
hover_current_words = _words("hover_current", "Hover current", _if_filled(_hover_power.otherwise(_as_throttle)))
minutes = _figure("minutes", "Minutes hovering", _hover("time"), "Usable energy of the pack over the power.", "min", 1)
minutes_value = _value("minutes_value", "Minutes hovering, written", join(minutes.fixed(1), " min"), "As text.")
_of_pack = join(
    join("± ", _hover("time_expanded").fixed(1), " min; ").otherwise(""),
    "on ",
    usable_capacity.fixed(0),
    " % of the pack",
)
minutes_words = _words(
    "minutes", "Minutes hovering",
    _if_filled(
        cr.pack_capacity.present().where(minutes.present().where(_of_pack, _as_throttle), f"fill in {CAPACITY.label}")
    ),
)  # fmt: skip

# --- current and ESC -----------------------------------------------------------------------------------------

_low = _figure("flight_low", "In flight, low", _at(f.flight_low), "Of one motor; an estimate.", "A", 1)
_high = _figure("flight_high", "In flight, high", _at(f.flight_high), "Of one motor; an estimate.", "A", 1)
_band = (_high > _low).where(join(_low.fixed(0), "–", _high.fixed(0), " A"), join(_high.fixed(1), " A"))
flight_value = _value("flight", "In flight, full throttle", _band, "Of one motor; an estimate.")
flight_words = _words(
    "flight", "In flight",
    join("a motor, estimate: ", _at(f.flight_basis), "; ", _at(g.static_current).fixed(1), " A static").otherwise(
        esc.nothing_said
    ),
)  # fmt: skip


def _amps(margin: Node) -> Node:
    return (margin >= 0).where(join(margin.fixed(1), " A to spare"), join((-margin).fixed(1), " A short"))


def _size(name: str, label: str, size: Named, meaning: str) -> Named:
    return _value(name, label, join(size.fixed(0), " A"), meaning)


def _why_none(at: Named) -> Node:
    return at.present().where("larger than any size on Settings", esc.nothing_said)


_held = c.held[c.ENOUGH]
held_value = _size("held", "ESC, full throttle held", esc.held_size, "For each motor: smallest size that covers.")
held_words = _words(
    "held",
    "ESC, held",
    join(_at(_held.verdict), ", ", _amps(_at(_held.margin)), " after the ±").otherwise(_why_none(row)),
)


def _standing_in_flight() -> Node:
    launch, speed = (
        Aggregate("text at", (choice[c.ENOUGH].verdict,), (), esc.flight_row) for choice in (c.launch, c.speed)
    )
    spare = _amps(Aggregate("at", (c.launch[c.ENOUGH].margin,), (), esc.flight_row))
    return join("at launch ", launch, ", ", spare, "; at speed ", speed, " by estimate")


burst_value = _size("bursts", "ESC, short bursts", esc.flight_size, "For each motor: smallest size that will do.")
burst_words = _words(
    "bursts", "ESC, bursts",
    rule.flies_forward(
        esc.flight_size.present().where(_standing_in_flight(), _why_none(esc.flight_row)),
        "no burst answer: the static current counts in full",
    ),
)  # fmt: skip

# --- sentences -----------------------------------------------------------------------------------------------

_how_many = Aggregate("count", (n.held_need_craft,))
_lifts = join("One motor lifts ", _lifted[0][1].fixed(0), " g at 2:1 and ", _lifted[1][1].fixed(0), " g at 4:1. ")
_weighs = join("Thrust is ", thrust_to_weight.fixed(1), " times the weight. ")
_for_held = join("ESC: ", esc.held_size.fixed(0), " A or larger where full throttle is held")
_for_bursts = join(", ", esc.flight_size.fixed(0), " A for short bursts").otherwise("")
headline = _figure(
    "headline", "In one line",
    join(_weighs.otherwise(_lifts).otherwise(""), join(_for_held, _for_bursts, ".").otherwise(
        row.present().where("No ESC size on Settings is large enough.", join("No answer: ", esc.nothing_said, "."))
    )),
    "Thrust and ESC.",
)  # fmt: skip
_among = (_how_many > 1).where(
    join(", which draws most of the ", _how_many.fixed(0), " that the cells on the left leave open"), ""
)
basis = _figure(
    "basis", "What it is of",
    join("With ", _at(g.label), _among, ": ", _at(g.full["current"]).fixed(1), " A at ",
         _at(g.full["voltage"]).fixed(2), " V, ", _at(g.full_kind), ", on a static stand.").otherwise(""),
    "The propeller and cell count, and its means at full throttle.",
)  # fmt: skip
_each = _figure("static", "Highest static current", _at(g.static_current), "Of one motor.", "A", 1)
_in_all = (cr.motor_count * _each).fixed(0)
_all_amps = cr.motor_count.equals(1).where(
    join("At full throttle the motor draws up to ", _in_all, " A from the pack"),
    join("All ", cr.motor_count.fixed(0), " motors at full throttle draw up to ", _in_all, " A from the pack"),
)
_rate = join(", ", (1000 * cr.motor_count * _each / cr.pack_capacity).fixed(0), " times its capacity in Ah")
_drained = cr.pack_capacity / 1000 * usable_capacity / 100 * 60 / cr.motor_count
_shortest, _longest = _drained / _high, _drained / _low
_lasts = join(
    usable_capacity.fixed(0), " % of it last about ", _shortest.fixed(1),
    (_high > _low).where(join(" to ", _longest.fixed(1)), ""), " min at full throttle in flight, an estimate. ",
)  # fmt: skip
pack = _figure(
    "pack", "Pack and wire",
    join(
        join(_all_amps, _rate.otherwise(""), ". ").otherwise(
            join("Each motor draws up to ", _each.fixed(1), " A. ").otherwise("")
        ),
        _lasts.otherwise(""),
        "Stay within the pack maker's rating; wire, plugs and fuse must carry the whole current. Take a pack out of use "
        "when it is puffed, damaged or hot, or rests below 3.0 V per cell.",
    ),
    "The highest static current of each motor, all together, and the current in flight.",
)  # fmt: skip


def _asked(cells: tuple[Named, ...], words: str) -> Node:
    """Write the words where one of the cells is blank."""
    said: Node = join("")
    for cell in cells:
        said = cell.present().where(said, words)
    return said


to_fill = _figure(
    "to_fill", "Cells to fill",
    call("trim", join(
        _asked((cr.all_up_mass, cr.motor_count), f"{MASS.label} and {MOTORS.label} give thrust to weight and hover. "),
        _asked((cr.pack_capacity,), f"{CAPACITY.label} gives minutes and what is asked of the pack. "),
        (_how_many > 1).where("Propeller and Pack cells in series choose among what was tested. ", ""),
        _asked((cr.way_of_flying,), "Way of flying decides which ESC answer leads. "),
    )),
    "Blank where nothing is missing.",
)  # fmt: skip

precedence = _figure(
    "precedence", "Estimates, and what overrules them",
    join("Figures in flight are estimates: never choose an ESC by them alone. ", esc.precedence), "As on ESC.",
)  # fmt: skip
TITLES = (
    "In the air", "Current, ESC and lift", "Thrust to weight", "Hover throttle", "Hover current", "Minutes hovering",
    "In flight, full throttle", "ESC, short bursts", "ESC, full throttle held", "One motor lifts, at 2:1 / 4:1",
)  # fmt: skip
"""What heads the answers on Craft: two bands, and the eight figures below them."""
TILES = (
    (ratio_value, ratio_words), (hover_throttle_value, hover_throttle_words), (hover_current_value, hover_current_words),
    (minutes_value, minutes_words), (flight_value, flight_words), (burst_value, burst_words), (held_value, held_words),
    (lift_value, lift_words),
)  # fmt: skip
SENTENCES = (to_fill, esc.flight_note, pack, precedence)
"""What stands below the figures, from the top."""
