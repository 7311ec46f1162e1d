"""What follows for the craft of Craft, in a few figures and sentences: thrust, hover, minutes, current, ESC, lift.

They are of one propeller and cell count: that on Craft, or where Craft leaves several open, the one that draws most.
"""

from itertools import pairwise

from xlsengine.bench.advice import esc
from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice import short_answers as short
from xlsengine.bench.advice.esc import held_row as row
from xlsengine.bench.advice.short_answers import hover, note, thrust_expanded
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import if_there, in_thousands
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import craft as cr
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.settings import esc_peak_over_steady, usable_capacity
from xlsengine.expression import Named, Node, Operand, call, greater, join, say
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
lift_title = ANSWERS.figure("craft_lift_title", "Lifts: title").derive(
    short.by_craft("Lifts on wings, 0.5:1 / 1:1", "Lifts: wings 1:1 / hover 2:1", "Lifts at 2:1 / 4:1")
)
lift_value = _value(
    "lift", "One motor lifts", thrust, short.by_craft(*(say("{} / {} g", *map(in_thousands, pair)) for pair in _PAIRS))
)
_by_thrust = "all-up mass for each motor, by static thrust"
_of_several = cr.motor_count.equals(1).where(
    _by_thrust,
    short.by_craft(
        *(
            say(
                "{:.0f} motors: {} / {} g all-up",
                cr.motor_count,
                *(in_thousands(cr.motor_count * each) for each in pair),
            )
            for pair in _PAIRS
        )
    ),
)
_of_each = cr.motor_count.present().where(_of_several, _by_thrust)
lift_words = _words("lift", "Lift", thrust.present().where(_of_each, esc.nothing_said))

# --- hovering ------------------------------------------------------------------------------------------------

hover_throttle_value = ANSWERS.figure("craft_hover_throttle", "Hover throttle").derive(
    say("{:.0f} %", hover.throttle.value).otherwise(NOT_KNOWN)
)
hover_throttle_words = _words("hover_throttle", "Hover throttle", _if_filled(note))
hover_current = ANSWERS.figure("craft_hover_current", "Hover current of one motor", "A").derive(hover.current.value)
hover_current_value = _value(
    "hover_current_value", "Hover current, written", hover_current, say("{:.1f} A", hover_current)
)
_hover_power = say(
    "a motor{}; {:.0f} W for the craft, {:.1f} g/W",
    say(", ± {:.1f} A", hover.current.expanded).otherwise(""),
    hover.total,
    hover.efficiency,
)
_as_throttle = "as for hover throttle"
hover_current_words = _words("hover_current", "Hover current", _if_filled(_hover_power.otherwise(_as_throttle)))
minutes = ANSWERS.figure("craft_minutes", "Minutes hovering", "min", decimals=1).derive(hover.time.value)
minutes_value = _value("minutes_value", "Minutes hovering, written", minutes, say("{:.1f} min", minutes))
_of_pack = say("{}on {:.0f} % of the pack", say("± {:.1f} min; ", hover.time.expanded).otherwise(""), usable_capacity)
minutes_words = _words(
    "minutes",
    "Minutes hovering",
    _if_filled(
        cr.pack_capacity.present().where(minutes.present().where(_of_pack, _as_throttle), f"fill in {CAPACITY.label}")
    ),
)

# --- current and ESC -----------------------------------------------------------------------------------------

_low = f.flight_low.at(row)
_high = f.flight_high.at(row)
_each = ANSWERS.figure("craft_static", "Highest static current", "A").derive(g.static_current.at(row))
_band = (_high > _low).where(say("{}–{} A", *f.ends(_low, _high)), say("{:.1f} A", _high))
flight_value = _value("flight", "In flight, full throttle", _each, _band)
_forward_words = say("a motor, {}; {:.1f} A static", f.flight_basis.at(row), _each)
flight_words = _words(
    "flight",
    "In flight",
    _each.present().where(rule.flies_forward(_forward_words, "a motor, as on the stand"), esc.nothing_said),
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

# --- sentences -----------------------------------------------------------------------------------------------

_lifts = join("One motor lifts ", short.LIFTS, ". ")
_weighs = say("Thrust is {:.1f} times the weight. ", thrust_to_weight)
_for_held = say("{:.0f} A or larger where full throttle is held", esc.held_size)
_both_sizes = rule.flown_in_bursts(
    say("{:.0f} A for short bursts, {:.0f} A or larger where full throttle is held", esc.flight_size, esc.held_size),
    say("{:.0f} A or larger where full throttle is held, {:.0f} A for short bursts", esc.held_size, esc.flight_size),
)
_sizes = esc.flight_size.present().where(_both_sizes, _for_held)
headline = ANSWERS.figure("craft_headline", "In one line").derive(
    join(
        thrust_to_weight.present().where(_weighs, thrust.present().where(_lifts, "")),
        esc.held_size.present().where(
            join("ESC: ", _sizes, "."),
            row.present().where("No ESC size on Settings is large enough.", say("No answer: {}.", esc.nothing_said)),
        ),
    )
)
_among = (n.answered > 1).where(
    say(", which draws most of the {:.0f} that Propeller and Pack cells leave open", n.answered), ""
)
basis = ANSWERS.figure("craft_basis", "What it is of").derive(
    say(
        "For {}{}. Thrust is the mean of its {} readings on the stand, at {:.2f} V; ESC and current in flight go by the "
        "highest, {:.1f} A.",
        g.label.at(row),
        _among,
        g.full_kind.at(row),
        g.full["voltage"].at(row),
        _each,
    ),
    "The propeller and cell count, what is a mean and what the highest reading.",
)
_on_stand = greater(n.launch.at(row), _each)
_launch = ANSWERS.figure("craft_launch", "Current that the wiring must carry", "A").derive(
    greater(_on_stand, _high.otherwise(0.0)),
    "Of one motor: the highest reading, what stands in for a peak not read, or more in flight by estimate.",
)
_in_all = (cr.motor_count * _launch).fixed(0)
_no_peak = say(", at launch: no peak was read, so {:.2f} times the highest reading counts", esc_peak_over_steady)
_stands_in = (_launch > _on_stand).where(", in flight by estimate", (_launch > _each).where(_no_peak, ""))
_all_motors = cr.motor_count.equals(1).where(
    "At full throttle the motor draws", say("All {:.0f} motors at full throttle draw", cr.motor_count)
)
_times = (1000 * cr.motor_count * _launch / cr.pack_capacity).fixed(0)
_rate = if_there(cr.pack_capacity, ", ", _times, " times its capacity in Ah (", _times, "C)")
_all_draw = say("{} up to {} A from the pack{}{}. ", _all_motors, _in_all, _rate, _stands_in)
_each_draws = say("Each motor draws up to {:.1f} A{}. ", _launch, _stands_in)
_drained = cr.pack_capacity / 1000 * usable_capacity / 100 * 60 / cr.motor_count
_shortest = ANSWERS.figure("craft_shortest", "Minutes at full throttle, least", "min", decimals=1).derive(
    _drained / greater(_high, _each),
    "Usable charge of the pack over the current of all motors, on the stand or in flight.",
)
_as_on_stand = (_high > _each).where(
    say(", in flight by estimate; {:.1f} as on the stand", _drained / _each),
    say(": {:.1f} as on the stand, more in flight by estimate", _shortest),
)
_longest = _drained / _low
_lasts = say(
    "{:.0f} % of it last about {:.1f}{} at full throttle{}. ",
    usable_capacity,
    _shortest,
    (_longest > _shortest).where(say(" to {:.1f} min", _longest), " min"),
    (_longest > _shortest).where(_as_on_stand, ", as on the stand"),
)
pack = ANSWERS.figure("craft_pack", "Pack and wire").derive(
    say(
        "{}{}Stay within the pack maker's rating; wire, plugs and fuse must carry the whole current. Take a pack out "
        "of use when it is puffed, damaged or hot, or rests below 3.0 V per cell.",
        _launch.present().where(cr.motor_count.present().where(_all_draw, _each_draws), ""),
        _shortest.present().where(_lasts, ""),
    ),
    "The launch current of each motor, all together, and the current in flight.",
)


def _asked(cells: tuple[Named, ...], words: str) -> Node:
    """Write the words where one of the cells is blank."""
    said: Node = join("")
    for cell in cells:
        said = cell.present().where(said, words)
    return said


_not_used = (r.speed.count() > 0).where(
    "Airspeed changes nothing here: sheet Prediction says why. ",
    "Airspeed changes nothing until Speed is read at full throttle. ",
)
_airspeed_idle = (f.by_speed.at(row).otherwise(0.0) < 1).where(rule.flies_forward(_not_used, ""), "")
to_fill = ANSWERS.figure("craft_to_fill", "Cells to fill").derive(
    call(
        "trim",
        join(
            _asked(
                (cr.all_up_mass, cr.motor_count), f"{MASS.label} and {MOTORS.label} give thrust to weight and hover. "
            ),
            _asked((cr.pack_capacity,), f"{CAPACITY.label} gives minutes and what is asked of the pack. "),
            (n.answered > 1).where("Propeller and Pack cells in series choose among what was tested. ", ""),
            _asked(
                (cr.way_of_flying,),
                "Type of flying decides the amps in flight and which ESC answer stands first; blank: held, the safer one. ",
            ),
            cr.airspeed.present().where(_airspeed_idle, ""),
        ),
    ),
    "Blank where nothing is missing.",
)

in_flight = ANSWERS.figure("craft_in_flight", "Current in flight").derive(
    call("trim", join(esc.flight_note, " ", esc.flight_source))
)
precedence = ANSWERS.figure("craft_precedence", "Estimates, and what overrules them").derive(
    say("Figures in flight are estimates: never choose an ESC by them alone. {}", esc.precedence)
)
TITLES = (
    "In the air",
    "Current, ESC and lift",
    "Thrust to weight",
    "Hover throttle",
    "Hover current",
    "Minutes hovering",
    "In flight, full throttle",
    "ESC, short bursts",
    "ESC, full throttle held",
    "Hover throttle, hover current and minutes hovering: steady readings at part throttle would add them.",
)
"""Two bands of answers on Craft, seven of the eight figures below, and what stands there where nothing is steady."""

_ESC_TITLES = TITLES[7:9]


def _esc_tile(place: str, bursts: int, *tiles: tuple[Named, Named]) -> tuple[Named, Named, Named]:
    """Derive a tile on the ESC: number `bursts` of those given where bursts are flown, else the other one."""
    held, label = 1 - bursts, f"ESC, {place}"
    value, words = (rule.flown_in_bursts(*pair) for pair in zip(tiles[bursts], tiles[held], strict=True))
    title = rule.flown_in_bursts(_ESC_TITLES[bursts], _ESC_TITLES[held])
    return (
        ANSWERS.figure(f"craft_esc_{place}_title", f"{label}: title").derive(title),
        ANSWERS.figure(f"craft_esc_{place}", label).derive(
            value, "As text; what is flown stands first, held by default."
        ),
        ANSWERS.figure(f"craft_esc_{place}_words", f"{label}: why").derive(words),
    )


_ESC = (burst_value, burst_words), (held_value, held_words)
Tile = tuple[str | Named, Named, Named]
TILES: tuple[Tile, ...] = (
    (TITLES[2], ratio_value, ratio_words),
    (TITLES[3], hover_throttle_value, hover_throttle_words),
    (TITLES[4], hover_current_value, hover_current_words),
    (TITLES[5], minutes_value, minutes_words),
    (TITLES[6], flight_value, flight_words),
    _esc_tile("first", 0, *_ESC),
    _esc_tile("second", 1, *_ESC),
    (lift_title, lift_value, lift_words),
)
SENTENCES = (to_fill, in_flight, pack, precedence)
"""What stands below the figures, from the top."""
