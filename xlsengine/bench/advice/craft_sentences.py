"""What follows for the craft of Craft, in sentences: in one line, what it is of, what the pack must give, what to fill in."""

from xlsengine.bench.advice import craft_asks as asks
from xlsengine.bench.advice import esc
from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice import short_answers as short
from xlsengine.bench.advice.craft_answers import ANSWERS, CAPACITY, MASS, MOTORS, thrust, thrust_to_weight
from xlsengine.bench.advice.craft_asks import of_row
from xlsengine.bench.advice.esc import held_row as row
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import if_there
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import craft as cr
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.settings import esc_peak_over_steady, usable_capacity
from xlsengine.expression import Named, Node, call, join, say

SENTENCES = Figures("Craft sentences", "What follows for the craft, in words.", source=ANSWERS.source)
_each = g.static_current.at(row)
_lifts = join("One motor lifts ", short.LIFTS, ". ")
_weighs = short.is_grounded.where(
    join(short.grounded, ". "), say("Thrust is {:.1f} times the weight. ", thrust_to_weight)
)
_for_held = say("{:.0f} A or larger where full throttle is held", esc.held_size)
_both_sizes = rule.flown_in_bursts(
    say("{:.0f} A for short bursts, {:.0f} A or larger where full throttle is held", esc.flight_size, esc.held_size),
    say("{:.0f} A or larger where full throttle is held, {:.0f} A for short bursts", esc.held_size, esc.flight_size),
)
_sizes = esc.flight_size.present().where(_both_sizes, _for_held)
headline = SENTENCES.figure("craft_headline", "In one line").derive(
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
basis = SENTENCES.figure("craft_basis", "What it is of").derive(
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
_on_stand = of_row(asks.on_stand, row)
_launch = SENTENCES.figure("craft_launch", "Current that the wiring must carry", "A").derive(
    of_row(asks.wiring, row),
    "Of one motor: the highest reading, what stands in for a peak not read, or more in flight by estimate.",
)
_in_all = short.pack_amps.fixed(0)
_no_peak = say(", at launch: no peak was read, so {:.2f} times the highest reading counts", esc_peak_over_steady)
_stands_in = (_launch > _on_stand).where(", in flight by estimate", (_launch > _each).where(_no_peak, ""))
_all_motors = cr.motor_count.equals(1).where(
    "At full throttle the motor draws", say("All {:.0f} motors at full throttle draw", cr.motor_count)
)
_times = short.pack_rate.fixed(0)
_rate = if_there(cr.pack_capacity, ", ", _times, " times its capacity in Ah (", _times, "C)")
_all_draw = say("{} up to {} A from the pack{}{}. ", _all_motors, _in_all, _rate, _stands_in)
_each_draws = say("Each motor draws up to {:.1f} A{}. ", _launch, _stands_in)
_shortest = SENTENCES.figure("craft_shortest", "Minutes at full throttle, least", "min", decimals=1).derive(
    of_row(asks.least_minutes, row),
    "Usable charge of the pack over the current of all motors, on the stand or in flight.",
)
_longest = of_row(asks.most_minutes, row)
_lasts = say(
    "{:.0f} % of it last about {:.1f}{} at full throttle. ",
    usable_capacity,
    _shortest,
    (_longest > _shortest).where(say(" to {:.1f} min", _longest), " min"),
)
pack = SENTENCES.figure("craft_pack", "Pack and wire").derive(
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
to_fill = SENTENCES.figure("craft_to_fill", "Cells to fill").derive(
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

precedence = SENTENCES.figure("craft_precedence", "Estimates, and what overrules them").derive(
    say("Figures in flight are estimates: never choose an ESC by them alone. {}", esc.precedence)
)
BELOW = (to_fill, pack, precedence)
"""What stands below the figures, from the top."""
