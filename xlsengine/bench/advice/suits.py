"""How the motor stands for each use on Settings, and why: what the use needs, and what was tested that comes nearest.

A use is held against every propeller and cell count within its ranges. It suits where one is sure to give what the
heaviest asks; it does not where not one may reach what the lightest asks, whatever the ±.

For sure is a figure less its ±, 0 where it rests on a doubtful reading or is not known; at most is the figure and its ±,
without limit where nothing is sure. So neither a missing nor a doubtful reading can speak for or against a use.
"""

from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import if_there, in_thousands
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import doubtful_here
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import uses as s
from xlsengine.bench.inputs.motor import label_kv
from xlsengine.bench.inputs.settings import assumed_speed_ratio, hover_throttle_most, prediction_loading
from xlsengine.bench.physics.motor_model import best_kv
from xlsengine.bench.propagation.accuracies import taken_speed_accuracy
from xlsengine.bench.uncertainty import group_uncertainty as u
from xlsengine.expression import Column, Condition, Constant, Named, Node, flag, greater, join, lesser, say
from xlsengine.units import INCH

# --- what each propeller and cell count gives at full throttle, for sure and at most -------------------------------

_UNLIMITED, _PER_ROW, _TINY = 1e9, 1e-6, 1e-9
_point = u.GROUP_UNCERTAINTY.part("point_")
_thrust, _diameter = u.thrust, u.diameter
_plus, _power = u.UNCERTAINTIES["thrust"].expanded, u.UNCERTAINTIES["power"]
_doubtful = doubtful_here.at(u.row) > 0
_cells = _point.helper("cells", "Cells, where thrust counts").derive((u.cells * flag(_thrust > 0)).otherwise(0.0))
_rank = _point.helper("rank", "Thrust, then place").derive((_thrust + u.row * _PER_ROW).otherwise(0.0))
_gives = _point.helper("said", "What it gives").derive(
    say(
        "{}{}{} gives {} g{}",
        g.label.at(u.row),
        g.full_point.at(u.row).equals(r.AT_PEAK).where(" (peak)", ""),
        _doubtful.where(" (doubtful: see Checks)", ""),
        in_thousands(_thrust),
        if_there(_plus, " ±", (100 * _plus / _thrust).fixed(0), " %"),
    )
)


def _ends(name: str, words: str, unit: str, low: Node, high: Node, counts: Node) -> tuple[Column, Column]:
    """Add what it gives for sure, and at most."""
    sure = _point.helper(f"{name}_sure", f"{words}, for sure", unit).derive(
        (greater(low, 0.0) * flag(counts)).otherwise(0.0)
    )
    reach = _point.helper(f"{name}_reach", f"{words}, at most", unit).derive((sure > 0).where(high, _UNLIMITED))
    return sure, reach


thrust_sure, _thrust_reach = _ends("thrust", "Thrust", "g", _thrust - _plus, _thrust + _plus, ~_doubtful)
_sound = thrust_sure > 0
_low, _high = _power.value - _power.expanded, _power.value + _power.expanded
power_sure, _power_reach = _ends("power", "Power", "W", _low, _high, _sound)
_speed = u.speed


def _pitch_speed(sign: float) -> Node:
    """Return an end of it: by the speed read with its ± added or taken off, else by loaded speed over Kv times volts."""
    read, loaded = 1 + sign * taken_speed_accuracy / 100, assumed_speed_ratio + sign * prediction_loading
    turns = _speed.present().where(_speed, best_kv.otherwise(label_kv) * u.voltage)
    pitch = r.pitch.at(Column(u.GROUP_UNCERTAINTY.name, "sure_first")) * (INCH / 60)
    return pitch * turns * _speed.present().where(read, loaded)


_span = speed_sure, _speed_reach = _ends("speed", "Pitch speed", "m/s", _pitch_speed(-1), _pitch_speed(1), _sound)
"""A loose upper bound on airspeed."""
_spoken = _speed.present().where(
    say("pitch speed {:.1f}–{:.1f} m/s", *_span), say("pitch speed {:.0f}–{:.0f} m/s (by Kv and volts)", *_span)
)
_unknown = "pitch speed not known (read a speed, or give Kv and pitch)"
_speed_said = _point.helper("speed_said", "Pitch speed, in words").derive(
    (speed_sure > 0).where(_spoken, _sound.where(_unknown, "pitch speed in doubt"))
)

# --- what is asked of a motor ------------------------------------------------------------------------------------

SUITS, BORDERLINE, DOES_NOT, NOT_TESTED, NOT_JUDGED = "suits", "borderline", "does not", "not tested", "not judged"
_make = s.USES.part("suits_")
_lightest, _heaviest = (mass / s.motors for mass in s.mass)
_ratio, _most_ratio = s.ratio
_on_rotors = s.carried.equals(s.ROTORS)
_throttle = hover_throttle_most / 100
# rotors also hover within the throttle on Settings, whether thrust goes with it or with its square
least = _make.helper("least", "Thrust for the lightest", "g").derive(
    _lightest * greater(_ratio, _on_rotors.where(1 / _throttle, 0.0))
)
need = _make.helper("need", "Thrust for the heaviest", "g").derive(
    _heaviest * greater(_ratio, _on_rotors.where(1 / (_throttle * _throttle), 0.0))
)
most = _make.helper("most", "Thrust that is more than wanted", "g").derive(_heaviest * _most_ratio)
_slowest = s.airspeed[0].otherwise(0.0)
fastest = _make.helper("fastest", "Pitch speed for the fastest", "m/s").derive(s.airspeed[1].otherwise(_slowest))
watts = _make.helper("watts", "Power for the heaviest", "W").derive(
    (flag(s.carried.equals(s.WING)) * _heaviest * s.loading / 1000).otherwise(0.0)
)

# --- what of the tested propellers and cell counts gives it -----------------------------------------------------

_of_size = (Condition(_diameter, ">=", s.diameter[0] - _TINY), Condition(_diameter, "<=", s.diameter[1] + _TINY))
_in_range = (Condition(_cells, ">=", s.cells[0]), Condition(_cells, "<=", s.cells[1]), *_of_size)
_may = (
    *_in_range,
    Condition(_thrust_reach, ">=", least),
    Condition(_speed_reach, ">=", _slowest),
    Condition(_power_reach, ">=", watts * s.mass[0] / s.mass[1]),
)
_sure = (
    *_in_range,
    Condition(thrust_sure, ">=", need),
    Condition(speed_sure, ">=", fastest),
    Condition(power_sure, ">=", watts),
    Condition(thrust_sure, "<=", most),
)
tested = _make.helper("tested", "Tested within its ranges").derive(
    (s.carried.present() & (need > 0)).where(_rank.count(*_in_range))
)
fits = _make.helper("fits", "Sure to meet every limit").derive(_rank.count(*_sure))
may = _make.helper("may", "May do for the lightest").derive(_rank.count(*_may))
_does, _can = fits > 0, may > 0
_may_be_fast = Condition(_speed_reach, ">=", _can.where(_slowest, 0.0))
_at_hand = (*_in_range, Condition(_thrust_reach, ">=", _can.where(least, 0.0)), _may_be_fast)
cap = _make.helper("cap", "Thrust of what is spoken of, at most", "g").derive(
    (_rank.count(*_at_hand, Condition(thrust_sure, "<=", most)) > 0).where(most, _UNLIMITED)
)
_no_more = Condition(thrust_sure, "<=", cap)
_top_speed = speed_sure.largest(*_in_range, Condition(thrust_sure, ">=", need), _may_be_fast, _no_more)
asked = _make.helper("asked", "Pitch speed of what is spoken of", "m/s").derive(
    lesser(fastest, _top_speed).otherwise(0.0)
)
spoken = _make.helper("spoken", "What is spoken of").derive(
    _rank.position(
        _rank.largest(
            *_at_hand,
            Condition(speed_sure, ">=", _does.where(fastest, asked)),
            Condition(thrust_sure, ">=", _does.where(need, 0.0)),
            _no_more,
            Condition(power_sure, ">=", _does.where(watts, 0.0)),
        )
    )
)
"""Row of the strongest of those that fit; else of those that may, or of all within its ranges, the fastest that has the
thrust, or the strongest."""
_on_most_cells = _rank.count(*_of_size, Condition(_cells, "=", s.cells[1]))

# --- in words --------------------------------------------------------------------------------------------------


def _short(number: Node) -> Node:
    """Write a number with one decimal, a whole one with none."""
    return (number - number.whole_part() < 0.05).where(number.fixed(0), number.fixed(1))


def _here(column: Column) -> Node:
    return column.at(spoken)


_asks = (_on_rotors & (_ratio * _throttle * _throttle < 1)).where(
    say(" to hover with {:.0f} % throttle", hover_throttle_most), join(" at ", _short(_ratio), ":1")
)
_light, _heavy = s.mass
_all_up = say(" ({}{} g all-up)", (_light < _heavy).where(join(in_thousands(_light), "–"), ""), in_thousands(_heavy))
_thrusts = join((least < need).where(join(in_thousands(least), "–"), ""), in_thousands(need))
needs = _make.helper("needs", "What it needs").derive(
    (tested > 0).where(join("needs ", _thrusts, " g a motor", _asks, _all_up), "")
)
_how_slow = (_here(_speed_reach) < fastest).where("too slow: ", "may be too slow: ")
_slow = join(
    "; ", (_here(speed_sure) > 0).where(_how_slow, ""), _here(_speed_said), ", flown at up to ", _short(fastest), " m/s"
)
_feeble = (_here(_power_reach) < watts).where("too weak", "may be too weak")
_weak = say("; {}: draws {:.0f} of {:.0f} W wanted", _feeble, _here(_power.value), watts)
_strong = say("; too strong: more than {:.1f}:1 with the heaviest", _most_ratio)
_lacks = join(
    (_here(speed_sure) < fastest).where(_slow, ""),
    (_here(power_sure) < watts).where(_weak, ""),
    (_here(thrust_sure) > most).where(_strong, ""),
)
_higher = (_on_most_cells > 0).where("", say("; not tested on {:.0f}S", s.cells[1]))
_told = _does.where(say("; all limits met by {:.0f} of {:.0f} tested", fits, tested), join(_lacks, _higher))
_from = (s.cells[0] < s.cells[1]).where(say("{:.0f}S to ", s.cells[0]), "")
_none = say("no propeller of {:.1f}–{:.1f} in was tested on {}{:.0f}S", *s.diameter, _from, s.cells[1])
_reached = _does.where(SUITS, _can.where(BORDERLINE, (_on_most_cells > 0).where(DOES_NOT, NOT_TESTED)))
verdict = _make.helper("verdict", "How it stands").derive(
    s.use_name.present().where(tested.present().where((tested > 0).where(_reached, NOT_TESTED), NOT_JUDGED), "")
)
reason = _make.helper("reason", "Why").derive(
    s.use_name.present().where(
        needs.present().where(
            join(needs, "; ", _here(_gives), _told),
            tested.present().where(_none, "its row on Settings is not filled in"),
        ),
        "",
    )
)

# --- what stands on Craft of the uses: three texts each, and what heads them ---------------------------------------

MOST_SHOWN = len(s.USES.rows) + s.USES.spare
TITLE = "What it suits, of what was tested"
LIMITS = (
    "All limits are common practice, no source: put in those of your own craft (table Uses, at the foot of Settings)"
)
HEADERS = (
    "What for",
    "How it stands",
    "Why: what it needs, what was tested that comes nearest, and what of it is not sure",
)
_EARLIER = (
    f"What it suits, of what was tested (the first {MOST_SHOWN} uses)",
    "Why: the first limit that is not met, else what it gives",
)
HEADS = (LIMITS, *HEADERS, *_EARLIER)
"""What stands above the uses, in earlier results too."""
NOT_YET = "make the results again"
"""Of a use that was typed beyond the workings, which have one spare row."""
SUITS_SHOWN = Figures("What it suits", "How the motor stands for each use on Settings.")

_uses = s.motors.count()
title = SUITS_SHOWN.figure("use_title", "What heads them").derive(
    join(TITLE, (_uses > MOST_SHOWN).where(say(f" (the first {MOST_SHOWN} of {{:.0f}} uses)", _uses), ""))
)


def _shown(part: str, words: str, place: int, node: Node) -> Named:
    return SUITS_SHOWN.figure(f"use_{place}_{part}", f"Use {place}: {words}").derive(node)


def _line(place: int) -> tuple[Named, Named, Named]:
    name = _shown("name", "what for", place, s.use_name.at(place))
    told = verdict.at(place).otherwise(name.present().where(NOT_YET, ""))
    stands = _shown("verdict", "how it stands", place, told)
    return name, stands, _shown("reason", "why", place, reason.at(place))


LINES = tuple(_line(place) for place in range(1, MOST_SHOWN + 1))


def _listed(stands: str, words: str) -> Node:
    """Name the uses that stand so; nothing where none does."""
    first = verdict.position(stands)
    named = (
        told.equals(stands).where(join((first < float(place)).where("; ", ""), name), "")
        for place, (name, told, _) in enumerate(LINES, start=1)
    )
    return (first > 0).where(join(words, *named, ". "), "").otherwise("")


_suits, _borderline = _listed(SUITS, "Suits: "), _listed(BORDERLINE, "Borderline: ")
_known = verdict.position(SUITS).otherwise(verdict.position(BORDERLINE)) > 0
_is_suited = verdict.count(Condition(verdict, "=", Constant(SUITS))) > 0
_nothing = _is_suited.where("", "Suits none of the uses on Settings for sure. ")
in_short = SUITS_SHOWN.figure("use_summary", "What it suits, in short").derive(
    _known.where(join(_suits, _nothing, _borderline, "Why: see Craft."), "").otherwise("")
)
