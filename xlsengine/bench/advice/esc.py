"""Which ESC to choose for the craft, in sentences: held, in short bursts, and what current to expect in flight."""

from collections.abc import Callable

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import limits
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice.advance import RULE_WORDS
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import if_there, in_cells, in_thousands
from xlsengine.bench.groups import by_propeller as by
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import left_here, prop_key, rowless, tested_cells, told_cells
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.craft import airspeed, all_up_mass, craft_propeller, motor_count, pack_cells, way_of_flying
from xlsengine.bench.physics.group_rows import prop_first
from xlsengine.expression import Condition, Constant, Named, Node, call, first_holding, flag, join, say

ESC = Figures("ESC", "Choosing an ESC for the craft.", source=n.SOURCE)
MOST_NAMED = 3
held_row, flight_row = (
    ESC.figure(f"esc_{name}_row", f"Deciding summary row, {words}").derive(
        (limits.all_holds & (rowless < 1)).where(need.position(need.largest(answered))),
        "None where what was typed since may need more, or cannot be.",
    )
    for name, words, need, answered in (
        ("held", "held", n.held_need_craft, n.HELD_ON_CRAFT),
        ("flight", "in flight", n.flight_need_craft, n.FLOWN_ON_CRAFT),
    )
)
held_size, flight_size = (
    ESC.figure(f"esc_{name}", f"ESC size, {words}", "A", decimals=0).derive(column.at(row))
    for name, words, column, row in (
        ("held_size", "full throttle held", n.held_size, held_row),
        ("flight_size", "short bursts in flight", n.flight_size, flight_row),
    )
)

# --- for which craft, and what has no answer ---------------------------------------------------------------

craft_words = ESC.figure("esc_craft", "The craft").derive(
    call(
        "trim",
        join(
            if_there(all_up_mass, in_thousands(all_up_mass), " g "),
            if_there(motor_count, "on ", motor_count.fixed(0), motor_count.equals(1).where(" motor ", " motors ")),
            if_there(craft_propeller, "with ", craft_propeller, " "),
            if_there(pack_cells, "on ", pack_cells.fixed(0), "S"),
        ),
    )
)
_any_pair = say("for any of the {:.0f} pairs of propeller and cell count tested (Craft names none)", n.answered)
craft_statement = ESC.figure("esc_for", "For which craft").derive(
    craft_words.present().where(
        say("for your craft ({})", craft_words),
        (n.answered > 1).where(_any_pair, "for what was tested (Craft names nothing)"),
    )
)


def _few(how_many: Node, name: Callable[[int], Node]) -> Node:
    """Write the first few of so many things, and how many there are more."""
    more = how_many - float(MOST_NAMED)
    named = map(name, range(1, MOST_NAMED + 1))
    return join("", *named, (more > 0).where(say(" and {:.0f} more", more), ""))


def _uncovered(place: int) -> Node:
    row = n.uncovered.smallest(Constant(float(place)))
    gone = (left_here.at(row) > 1).where("its readings are left out", "its reading is left out")
    why = (left_here.at(row) > 0).where(gone, "no full-throttle reading")
    return say("{}{}: {}", ", " * (place > 1), g.label.at(row), why).otherwise("")


_uncovered_count = n.uncovered.count()
uncovered_statement = ESC.figure("esc_uncovered", "What has no size").derive(
    (_uncovered_count > 0).where(say("No size for {}.", _few(_uncovered_count, _uncovered)), "")
)


def _tested(place: int) -> Node:
    named = join(", " * (place > 1), by.prop.at(Constant(float(place))))
    return (prop_first.count() >= float(place)).where(named, "")


tested_names = ESC.figure("esc_tested_names", "Propellers that were tested").derive(_few(prop_first.count(), _tested))
own_row = ESC.figure("craft_prop_row", "The propeller on Craft").derive(
    prop_key.position(r.propeller_key(craft_propeller))
)


_each = (say(f"{', ' * (place > 0)}{{:.0f}}S", cells).otherwise("") for place, cells in enumerate(tested_cells))
_untested = flag(told_cells.count(Condition(told_cells, "=", pack_cells)).equals(0))
_not_tested = (
    (n.uncovered.count() > 0, "no counting full-throttle reading of what is on Craft"),
    (
        pack_cells.present().where(_untested, 0.0).equals(1),
        say("it was not tested on {:.0f}S (tested: {})", pack_cells, join("", *_each)),
    ),
    (own_row.present(), say("{} was not tested on {:.0f}S", craft_propeller, pack_cells)),
    (
        craft_propeller.present(),
        say("{} was not tested (tested: {}: type one of these)", craft_propeller, tested_names),
    ),
)
nothing_said = ESC.figure("esc_nothing", "Why there is no answer").derive(
    first_holding(
        (
            (~limits.settings_hold, limits.settings_state),
            (~limits.craft_holds, limits.craft_state),
            (rowless > 0, "propellers or cell counts were typed since: make the results again"),
        ),
        (g.static_current.count() > 0).where(first_holding(_not_tested, ""), "no full-throttle reading counts"),
    )
)
because = say("Because {}.", nothing_said)

# --- by which settings ---------------------------------------------------------------------------------------


def _differing(setting: Named) -> Node:
    """Name a setting that differs from its default."""
    declared = s.SETTINGS.fields[setting.name]
    unit = f" {declared.unit}" if declared.unit else ""
    said = join(f" {declared.label}: ", setting.fixed(2), f"{unit} instead of {declared.default:g}{unit}.")
    same = setting.equals(float(declared.default or 0))
    return setting.present().where(same.where("", said), "")


settings_note = ESC.figure("esc_settings", "Settings that differ from their defaults").derive(
    call("trim", join("", *map(_differing, limits.ESC_SETTINGS)))
)
_by_changed = settings_note.present().where("By changed settings (see ESC). ", "")


# --- held --------------------------------------------------------------------------------------------------

room = say("±{:.1f} %", (n.room - 1) * 100)
"""How sure a current is."""


def _answered(title: str, size: Named, why: Named) -> Node:
    """Write an answer in full: what is asked, the size, for which craft, and why."""
    sized = size.present().where(say("{:.0f} A or larger", size), "larger than any size on Settings")
    return say("{}: {}, {}. {}", title, sized, craft_statement, why)


_steady, _peak = (kind["top_current"].at(held_row) for kind in (g.steady, g.peak))
_factor = s.esc_peak_over_steady
_unsaid = say(
    "{:.1f} A ({}), peak or steady not said, so that {:.2f} times it counts as the peak", _peak, room, _factor
)
_no_steady = say("{:.1f} A peak ({}), which counts as steady too: no steady reading counts", _peak, room)
_no_peak = say("{:.1f} A steady ({}); no peak counts, so that {:.2f} times it counts as one", _steady, room, _factor)
_both = say("{:.1f} A peak, {:.1f} A steady ({})", _peak, _steady, room)
_held_by = _both.otherwise((n.over_static.at(held_row) > 1).where(_unsaid, _no_steady)).otherwise(_no_peak)
"""Which readings decide, and what is taken for one that was not, in as few words as are true."""
held_words = ESC.figure("short_held_words", "ESC held, why").derive(
    held_row.present().where(
        say(
            "{}{}: at most {}. Steady is kept within {:.0f} % of the continuous rating, peak within {:.2f} times it.",
            *(_by_changed, g.label.at(held_row), _held_by, s.esc_steady_share, s.esc_burst_ratio),
        ),
        because,
    )
)
held_sentence = ESC.figure("esc_held_sentence", "ESC for full throttle held").derive(
    held_row.present().where(
        _answered("ESC for full throttle held (bench, hover, 3D, ducted)", held_size, held_words),
        say("ESC for full throttle held: {}.", nothing_said),
    )
)

# --- in flight -----------------------------------------------------------------------------------------------


def _in_flight(row: Named) -> Node:
    """Say what current to expect in flight in a row: by speed and airspeed, by the rule of thumb, or as static."""
    static, code = g.static_current.at(row), rule.reduced.at(row)
    ends = f.ends(f.flight_low.at(row), f.flight_high.at(row), static)
    held = way_of_flying.present().where("", ", or as held")
    by_speed = say("{} to {} A (estimate at {:.0f} m/s from its own speed{})", *ends, airspeed, held)
    less = say(
        "{} to {} A (rule of thumb: {:.0f} to {:.0f} % less{})", *ends, s.flight_share_low, s.flight_share_high, held
    )
    is_known = (r.pitch_ratio.at(g.first_row.at(row)) > 0).where(1.0, 0.0).otherwise(0.0)
    pitch = is_known.equals(1).where("pitch high for the diameter", "pitch not known")
    as_static = code.equals(rule.MAY_RISE).where(
        say(", and it may rise ({})", pitch),
        " (hover, 3D, ducted and held full throttle get no reduction)",
    )
    cases = ((f.by_speed.at(row).equals(1), by_speed), (code.equals(rule.REDUCED), less))
    return first_holding(cases, say("{:.1f} A as on the stand{}", static, as_static))


_times = n.over_static.at(flight_row)
_stands_in = (_times > 1).where(say("; no peak counts: {:.2f} times its highest reading", _times), "")
_and_then = (_times > 1).where(say(", for the ESC as many times that: {:.1f} A", n.speed_high.at(flight_row)), "")
_launch_words = say(
    "{}: {:.1f} A at launch ({}{}), if its burst rating is at least {:.2f} times its size. At speed {}{}; never choose by "
    "that alone.",
    *(g.label.at(flight_row), n.launch.at(flight_row), room, _stands_in, s.esc_burst_ratio, _in_flight(flight_row)),
    f.by_speed.at(flight_row).equals(1).where(_and_then, ""),
)
flight_words = ESC.figure("short_flight_words", "ESC in bursts, why").derive(
    rule.flies_forward(
        flight_row.present().where(join(_by_changed, _launch_words), because),
        "Hover, 3D, ducted and held full throttle draw what they draw on the bench. No reduction is made.",
    )
)
_in_bursts = _answered("ESC for short bursts in forward flight", flight_size, flight_words)
flight_sentence = ESC.figure("esc_flight_sentence", "ESC for short full throttle in forward flight").derive(
    rule.flies_forward(
        flight_row.present().where(_in_bursts, say("ESC for short bursts in forward flight: {}.", nothing_said)), ""
    )
)
_safer = way_of_flying.present().where(
    "", " Type of flying is blank on Craft, so that this, the safer answer, stands first."
)
advice = ESC.figure("esc_advice", "ESC for the type of flying on Craft").derive(
    rule.flown_in_bursts(flight_sentence, join(held_sentence, _safer))
)
advice_other = ESC.figure("esc_advice_other", "The ESC answer if flown the other way").derive(
    rule.flown_in_bursts(held_sentence, flight_sentence)
)
flight_note = ESC.figure("flight_note", "Current to expect in flight").derive(
    held_row.present().where(
        say("In flight, {}: {}.", g.label.at(held_row), _in_flight(held_row)), say("In flight: {}.", nothing_said)
    )
)
_BY_OWN_SPEED = (
    "The range in flight comes from the propeller's own speed on the stand, the airspeed on Craft and open wind-tunnel "
    "data (UIUC Propeller Data Site)."
)
_BY_THE_RULE = f"The range in flight is a rule of thumb of the trade, without a source: {RULE_WORDS}."
_bases = (
    (f.by_speed.at(flight_row).equals(1), _BY_OWN_SPEED),
    (rule.reduced.at(flight_row).equals(rule.REDUCED), _BY_THE_RULE),
)
flight_source = ESC.figure("esc_flight_source", "Where the range in flight comes from").derive(
    flight_row.present().where(first_holding(_bases, ""), "")
)

# --- what stands beside the advice ---------------------------------------------------------------------------

_warmest = r.motor_temperature.largest(Condition(r.group, "=", g.first_row.at(held_row)))
_warm = say("The motor was read up to {:.0f} °C with {}.", _warmest, g.label.at(held_row))
_not_read = say(
    "How long the motor itself stands {:.1f} A is not known: no temperature was read.", g.static_current.at(held_row)
)
motor_limit = ESC.figure("esc_motor_limit", "How long the motor stands it").derive(
    say("{} Its maker's limit comes first.", _warm.otherwise(_not_read)).otherwise("")
)
_most_cells = told_cells.largest(n.HELD_ON_CRAFT)
precedence = ESC.figure("esc_precedence", "Makers' ratings").derive(
    say(
        "{}{}Makers' continuous and burst ratings, cell limits and cooling notes take precedence over this advice.",
        motor_limit.present().where(join(motor_limit, " "), ""),
        say("The ESC must be rated for {} in series. ", in_cells(_most_cells)).otherwise(""),
    )
)
