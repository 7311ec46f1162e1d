"""Which ESC to choose for the craft, in sentences: held, in short bursts, and what current to expect in flight."""

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice.advance_curves import RULE_WORDS
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import if_there, in_cells, in_thousands
from xlsengine.bench.groups import by_propeller as by
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import left_here, prop_key, rowless, tested_cells, told_cells
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.craft import (
    airspeed,
    all_up_mass,
    craft_propeller,
    motor_count,
    pack_cells,
    way_of_flying,
)
from xlsengine.bench.physics.group_rows import prop_first
from xlsengine.expression import Column, Condition, Constant, Named, Node, call, flag, join, say

ESC = Figures("ESC", "Choosing an ESC for the craft.", source=n.SOURCE)
MOST_NAMED = 3
GOES_BY = (
    s.flight_share_low,
    s.flight_share_high,
    s.pitch_ratio_limit,
    s.esc_steady_share,
    s.esc_burst_ratio,
    s.esc_peak_over_steady,
    s.esc_launch_limit,
)
"""What the advice goes by; one that differs from its default is named beside it."""


def _deciding(need: Column, answered: Condition) -> Node:
    """Row of the summary with the largest need; none where one that was typed since may need more."""
    return (rowless < 1).where(need.position(need.largest(answered)))


held_row = ESC.figure("esc_held_row", "Deciding summary row, held").derive(
    _deciding(n.held_need_craft, n.HELD_ON_CRAFT)
)
flight_row = ESC.figure("esc_flight_row", "Deciding summary row, in flight").derive(
    _deciding(n.flight_need_craft, n.FLOWN_ON_CRAFT)
)


held_size = ESC.figure("esc_held_size", "ESC size, full throttle held", "A", decimals=0).derive(
    n.held_size.at(held_row)
)
held_steady, held_peak = (
    ESC.figure(f"esc_held_{word}", f"Highest {word} current, deciding when held", "A").derive(
        block["top_current"].at(held_row)
    )
    for word, block in (("steady", g.steady), ("peak", g.peak))
)
flight_size = ESC.figure("esc_flight_size", "ESC size, short bursts in flight", "A", decimals=0).derive(
    n.flight_size.at(flight_row)
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
    ),
    "As on Craft; blank where nothing is named there.",
)
craft_statement = ESC.figure("esc_for", "For which craft").derive(
    craft_words.present().where(
        say("for your craft ({})", craft_words),
        (n.answered > 1).where(
            say("for any of the {:.0f} pairs of propeller and cell count tested (Craft names none)", n.answered),
            "for what was tested (Craft names nothing)",
        ),
    )
)


def _named_uncovered() -> Node:
    words: Node = join("")
    for place in range(1, MOST_NAMED + 1):
        row = ESC.figure(f"uncovered_{place}", f"Without a size, {place}").derive(
            n.uncovered.smallest(Constant(float(place)))
        )
        left = left_here.at(row)
        gone = (left > 1).where("its readings are left out", "its reading is left out")
        why = (left > 0).where(gone, "no full-throttle reading")
        said = say("{}{}: {}", ", " if place > 1 else "", g.label.at(row), why)
        words = join(words, row.present().where(said, ""))
    return words


_how_many_uncovered = n.uncovered.count()
_more_uncovered = (_how_many_uncovered > MOST_NAMED).where(
    say(" and {:.0f} more", _how_many_uncovered - MOST_NAMED), ""
)
uncovered_statement = ESC.figure("esc_uncovered", "What has no size").derive(
    (_how_many_uncovered > 0).where(say("No size for {}{}.", _named_uncovered(), _more_uncovered), ""),
    "Propellers and cell counts without a counting full-throttle current.",
)
_any_full = g.static_current.count() > 0


def _tested_names() -> Node:
    """Name the propellers that were tested, those of most thrust first."""
    named = (
        (prop_first.count() >= float(place)).where(join(", " * (place > 1), by.prop.at(Constant(float(place)))), "")
        for place in range(1, MOST_NAMED + 1)
    )
    more = prop_first.count() - float(MOST_NAMED)
    return join("", *named, (more > 0).where(say(" and {:.0f} more", more), ""))


tested_names = ESC.figure("esc_tested_names", "Propellers that were tested").derive(_tested_names())
own_row = ESC.figure("craft_prop_row", "The propeller on Craft").derive(
    prop_key.position(r.propeller_key(craft_propeller)), "Its first row of the summary; blank where not tested."
)


def _not_tested() -> Node:
    """Say which of the propeller and the cell count on Craft was not tested, or that they were not tested together."""
    each = (say(f"{', ' * (place > 0)}{{:.0f}}S", cells).otherwise("") for place, cells in enumerate(tested_cells))
    tested = join("", *each)
    others = told_cells.count(Condition(told_cells, "=", pack_cells)).equals(0)
    together = say("{} was not tested on {:.0f}S", craft_propeller, pack_cells)
    spelled = say("{} was not tested (tested: {}: type one of these)", craft_propeller, tested_names)
    alone = craft_propeller.present().where(spelled, "")
    return (
        pack_cells.present()
        .where(flag(others), 0.0)
        .equals(1)
        .where(
            say("it was not tested on {:.0f}S (tested: {})", pack_cells, tested),
            own_row.present().where(together, alone),
        )
    )


_none_on_craft = (n.uncovered.count() > 0).where("no counting full-throttle reading of what is on Craft", _not_tested())
nothing_said = ESC.figure("esc_nothing", "Why there is no answer").derive(
    (rowless > 0).where(
        "propellers or cell counts were typed since: make the results again",
        _any_full.where(_none_on_craft, "no full-throttle reading counts"),
    )
)

# --- held --------------------------------------------------------------------------------------------------


def _size_words(size: Named) -> Node:
    return size.present().where(say("{:.0f} A or larger", size), "larger than any size on Settings")


room = say("±{:.1f} %", (n.room - 1) * 100)
"""How sure a current is."""


def _held_currents() -> Node:
    """Say in as few words as are true which readings decide, and what is taken for one that was not."""
    factor = s.esc_peak_over_steady
    both = say("{:.1f} A peak, {:.1f} A steady ({})", held_peak, held_steady, room)
    unsaid = say(
        "{:.1f} A ({}), peak or steady not said, so that {:.2f} times it counts as the peak", held_peak, room, factor
    )
    no_steady = say("{:.1f} A peak ({}), which counts as steady too: none was read steady", held_peak, room)
    alone = (n.over_static.at(held_row) > 1).where(unsaid, no_steady)
    no_peak = say(
        "{:.1f} A steady ({}); no peak was read, so that {:.2f} times it counts as one", held_steady, room, factor
    )
    return held_peak.present().where(held_steady.present().where(both, alone), no_peak)


held_words = ESC.figure("short_held_words", "ESC held, why").derive(
    held_row.present().where(
        say(
            "{}: at most {}. Steady is kept within {:.0f} % of the continuous rating, peak within {:.2f} times it.",
            g.label.at(held_row),
            _held_currents(),
            s.esc_steady_share,
            s.esc_burst_ratio,
        ),
        say("Because {}.", nothing_said),
    ),
    "From measured currents and their ±, in two sentences.",
)
held_sentence = ESC.figure("esc_held_sentence", "ESC for full throttle held").derive(
    held_row.present().where(
        say(
            "Full throttle held (bench, hover, 3D, ducted): {}, {}. {}",
            _size_words(held_size),
            craft_statement,
            held_words,
        ),
        say("Full throttle held: {}.", nothing_said),
    )
)

# --- in flight -----------------------------------------------------------------------------------------------


def _in_flight(row: Named) -> Node:
    """Say what current to expect in flight in a row: by speed and airspeed, by the rule of thumb, or as static."""
    ends = f.ends(f.flight_low.at(row), f.flight_high.at(row), g.static_current.at(row))
    held = way_of_flying.present().where("", ", or as held")
    by_speed = say("{} to {} A (estimate at {:.0f} m/s from its own speed{})", *ends, airspeed, held)
    less = say(
        "{} to {} A (rule of thumb: {:.0f} to {:.0f} % less{})", *ends, s.flight_share_low, s.flight_share_high, held
    )
    same = (
        rule.reduced.at(row)
        .equals(rule.MAY_RISE)
        .where(
            ", and it may rise (pitch high for the diameter, or not known)",
            " (hover, 3D, ducted and held full throttle get no reduction)",
        )
    )
    as_static = say("{:.1f} A as on the stand{}", g.static_current.at(row), same)
    by_rule = rule.reduced.at(row).equals(rule.REDUCED).where(less, as_static)
    return f.by_speed.at(row).equals(1).where(by_speed, by_rule)


_times = n.over_static.at(flight_row)
_stands_in = (_times > 1).where(say(", {:.2f} times its highest reading: no peak was read", _times), "")
_and_then = (_times > 1).where(say(", for the ESC as many times that: {:.1f} A", n.speed_high.at(flight_row)), "")
flight_words = ESC.figure("short_flight_words", "ESC in bursts, why").derive(
    rule.flies_forward(
        flight_row.present().where(
            say(
                "{}: {:.1f} A at launch ({}){}, if its burst rating is at least {:.2f} times its size. At speed {}{}; "
                "never choose by that alone.",
                g.label.at(flight_row),
                n.launch.at(flight_row),
                room,
                _stands_in,
                s.esc_burst_ratio,
                _in_flight(flight_row),
                f.by_speed.at(flight_row).equals(1).where(_and_then, ""),
            ),
            say("Because {}.", nothing_said),
        ),
        "Hover, 3D, ducted and held full throttle draw what they draw on the bench. No reduction is made.",
    )
)
flight_sentence = ESC.figure("esc_flight_sentence", "ESC for short full throttle in forward flight").derive(
    rule.flies_forward(
        flight_row.present().where(
            say(
                "Short full throttle in forward flight: {}, {}. {}",
                _size_words(flight_size),
                craft_statement,
                flight_words,
            ),
            say("Short full throttle in flight: {}.", nothing_said),
        ),
        "",
    ),
    "By the launch; with a speed and an airspeed also by the estimate at speed. Nothing for hover, 3D, ducted and "
    "held.",
)
_safer = way_of_flying.present().where(
    "", " Type of flying is blank on Craft, so that this, the safer answer, stands first."
)
advice = ESC.figure("esc_advice", "ESC for the type of flying on Craft").derive(
    rule.flown_in_bursts(flight_sentence, join(held_sentence, _safer)),
    "The answer for the type chosen; held where none is.",
)
advice_other = ESC.figure("esc_advice_other", "The ESC answer if flown the other way").derive(
    rule.flown_in_bursts(held_sentence, flight_sentence),
    "The answer for the other question; none for hover, 3D, ducted and held full throttle.",
)
flight_note = ESC.figure("flight_note", "Current to expect in flight").derive(
    held_row.present().where(
        say("In flight, {}: {}.", g.label.at(held_row), _in_flight(held_row)),
        say("In flight: {}.", nothing_said),
    )
)
_BY_OWN_SPEED = (
    "The range in flight comes from the propeller's own speed on the stand, the airspeed on Craft and open wind-tunnel "
    "data (UIUC Propeller Data Site)."
)
_BY_THE_RULE = f"The range in flight is a rule of thumb of the trade, without a source: {RULE_WORDS}."


def _is(column: Column, row: Named, value: float) -> Node:
    """Return 1 where a column holds a value in a row, else 0."""
    return row.present().where(flag(column.at(row).equals(value)), 0.0)


_rows = held_row, flight_row
_by_speed = [_is(f.by_speed, row, 1.0) for row in _rows]
_by_rule_alone = [
    _is(rule.reduced, row, rule.REDUCED) * (1 - known) for row, known in zip(_rows, _by_speed, strict=True)
]
flight_source = ESC.figure("esc_flight_source", "Where the range in flight comes from").derive(
    call(
        "trim",
        join(
            (_by_speed[0] + _by_speed[1] > 0).where(_BY_OWN_SPEED, ""),
            (_by_rule_alone[0] + _by_rule_alone[1] > 0).where(f" {_BY_THE_RULE}", ""),
        ),
    ),
    "Blank where no range is given.",
)

# --- what stands beside the advice ---------------------------------------------------------------------------


def _differing() -> Node:
    words: Node = join("")
    for setting in GOES_BY:
        declared = s.SETTINGS.fields[setting.name]
        unit = f" {declared.unit}" if declared.unit else ""
        said = join(f" {declared.label}: ", setting.fixed(2), f"{unit} instead of {declared.default:g}{unit}.")
        same = setting.equals(float(declared.default or 0))
        words = join(words, setting.present().where(same.where("", said), ""))
    return call("trim", words)


settings_note = ESC.figure("esc_settings", "Settings that differ from their defaults").derive(
    _differing(), "Blank where the advice goes by defaults."
)
_warmest = ESC.figure("esc_motor_warmest", "Motor temperature, highest read with what decides", "°C").derive(
    r.motor_temperature.largest(Condition(r.group, "=", g.first_row.at(held_row)))
)
motor_limit = ESC.figure("esc_motor_limit", "How long the motor stands it").derive(
    say(
        "{} Its maker's limit comes first.",
        _warmest.present().where(
            say("The motor was read up to {:.0f} °C with {}.", _warmest, g.label.at(held_row)),
            say(
                "How long the motor itself stands {:.1f} A is not known: no temperature was read.",
                g.static_current.at(held_row),
            ),
        ),
    ).otherwise(""),
    "Blank where there is no answer.",
)
_most_cells = told_cells.largest(n.HELD_ON_CRAFT)
precedence = ESC.figure("esc_precedence", "Makers' ratings").derive(
    say(
        "{}{}Makers' continuous and burst ratings, cell limits and cooling notes take precedence over this advice.",
        motor_limit.present().where(join(motor_limit, " "), ""),
        say("The ESC must be rated for {} in series. ", in_cells(_most_cells)).otherwise(""),
    )
)
