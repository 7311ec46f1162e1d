"""Which ESC will do on the craft, in sentences: held, in short bursts, and what current to expect in flight."""

from __future__ import annotations

from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice.advance_curves import RULE_WORDS
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import settings as s
from xlsengine.bench.inputs.craft import (
    BURSTS,
    airspeed,
    all_up_mass,
    craft_propeller,
    motor_count,
    pack_cells,
    way_of_flying,
)
from xlsengine.expression import Column, Constant, Named, Node, Operand, call, join, say

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


def _deciding(column: Column) -> Node:
    """Row of the summary with the largest value of `column`."""
    return column.position(column.largest())


held_row = ESC.figure("esc_held_row", "Deciding summary row, held").derive(
    _deciding(n.held_need_craft), "Largest need on the craft."
)
flight_row = ESC.figure("esc_flight_row", "Deciding summary row, in flight").derive(
    _deciding(n.flight_need_craft), "Largest need on the craft."
)


def _if(cell: Column | Named, *words: Operand) -> Node:
    """Write the words where the cell holds something, nothing where not."""
    return cell.present().where(join(*words), "")


held_size = ESC.figure("esc_held_size", "ESC size, full throttle held", "A", decimals=0).derive(
    n.held_size.at(held_row), "Smallest of the ladder."
)
flight_size = ESC.figure("esc_flight_size", "ESC size, short bursts in flight", "A", decimals=0).derive(
    n.flight_size.at(flight_row), "Smallest of the ladder."
)

# --- for which craft, and what has no answer ---------------------------------------------------------------

craft_words = ESC.figure("esc_craft", "The craft").derive(
    call(
        "trim",
        join(
            _if(all_up_mass, all_up_mass.fixed(0), " g "),
            _if(motor_count, "on ", motor_count.fixed(0), " motors "),
            _if(craft_propeller, "with ", craft_propeller, " "),
            _if(pack_cells, "on ", pack_cells.fixed(0), "S"),
        ),
    ),
    "As on Craft; blank where nothing is named there.",
)
_of_how_many = n.held_need_craft.count()
craft_statement = ESC.figure("esc_for", "For which craft").derive(
    craft_words.present().where(
        say("For the craft on Craft ({})", craft_words),
        say("For any of the {:.0f} tested propellers and cell counts (Craft names none)", _of_how_many),
    ),
    "What the answer is for.",
)


def _named_uncovered() -> Node:
    words: Node = join("")
    for place in range(1, MOST_NAMED + 1):
        row = ESC.figure(f"uncovered_{place}", f"Without a size, {place}").derive(
            n.uncovered.smallest(Constant(float(place))), "Summary row."
        )
        said = say("{}{}: {}", ", " if place > 1 else "", g.label.at(row), n.why_uncovered.at(row))
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
_none_on_craft = (n.uncovered.count() > 0).where(
    "no counting full-throttle reading of what is on Craft", "no tested propeller and cell count is the one on Craft"
)
nothing_said = ESC.figure("esc_nothing", "Why there is no answer").derive(
    _any_full.where(_none_on_craft, "no full-throttle reading counts, so no ESC size can be named"), "In words."
)

# --- held --------------------------------------------------------------------------------------------------


def _size_words(size: Named) -> Node:
    return size.present().where(say("{:.0f} A or larger", size), "larger than any size on Settings")


def _room(row: Named) -> Node:
    return say("±{:.1f} %", (n.room.at(row) - 1) * 100)


def _held_currents() -> Node:
    """Say which currents decide, and what stands in for one that was not read."""
    steady, peak = g.steady["top_current"].at(held_row), g.peak["top_current"].at(held_row)
    unstated = (n.launch.at(held_row) > peak).where(
        say(" (not said to be one: {:.2f} times it stands in)", s.esc_peak_over_steady), ""
    )
    return say(
        "{} and {}",
        say("{:.1f} A steady", steady).otherwise("no steady reading (the peak stands in for it)"),
        say("{:.1f} A at its peak{}", peak, unstated).otherwise(
            say("no peak reading ({:.2f} times the steady one stands in for it)", s.esc_peak_over_steady)
        ),
    )


held_sentence = ESC.figure("esc_held_sentence", "ESC for full throttle held").derive(
    held_row.present().where(
        say(
            "Full throttle held (bench, hover, 3D, ducted): {}. {}: {} drew {}, {}; steady within {:.0f} % of the "
            "continuous rating, peak within the burst rating, taken as {:.2f} times it.",
            _size_words(held_size),
            craft_statement,
            g.label.at(held_row),
            _held_currents(),
            _room(held_row),
            s.esc_steady_share,
            s.esc_burst_ratio,
        ),
        say("Full throttle held: {}.", nothing_said),
    ),
    "From measured currents and their ±.",
)

# --- in flight -----------------------------------------------------------------------------------------------


def _expected(name: str, words: str, row: Named) -> Named:
    """Derive what current to expect in flight in the deciding row, in words, from figures of its own."""

    def here(part: str, column: Column) -> Named:
        return ESC.figure(f"esc_{name}_{part}", f"{words}: {part}", "A").derive(column.at(row), "In the deciding row.")

    low, high, static = here("low", f.flight_low), here("high", f.flight_high), here("static", g.static_current)
    band = (high > low).where(say("{:.0f} to {:.0f} A", low, high), say("{:.1f} A", high))
    by_speed = say(
        "about {} at {:.0f} m/s (estimate from its own static speed and open wind-tunnel data; {:.1f} A static)",
        band,
        airspeed,
        static,
    )
    return ESC.figure(f"esc_{name}_expected", f"{words}: what to expect in flight").derive(
        f.by_speed.at(row).equals(1).where(by_speed, _by_rule(row, static, band)), "In words."
    )


def _by_rule(row: Named, static: Named, band: Node) -> Node:
    """Say what the rule of thumb makes of a propeller and cell count, or why it makes nothing of it."""
    pitch = rule.reduced.at(row)
    less = say(
        "about {}, {:.1f} A static less {:.0f} to {:.0f} % (rule of thumb, common practice, no source; {})",
        band,
        static,
        s.flight_share_low,
        s.flight_share_high,
        RULE_WORDS,
    )
    rises = say("{:.1f} A as on the bench, and it may rise (pitch high for the diameter, or not known)", static)
    held = say("{:.1f} A as on the bench (hover, 3D, ducted and held full throttle get no reduction)", static)
    return pitch.equals(rule.REDUCED).where(less, pitch.equals(rule.MAY_RISE).where(rises, held))


flight_expected = _expected("flight", "Deciding in flight", flight_row)
held_expected = _expected("held", "Deciding when held", held_row)

flight_sentence = ESC.figure("esc_flight_sentence", "ESC for short full throttle in forward flight").derive(
    rule.flies_forward(
        flight_row.present().where(
            say(
                "Short full throttle in forward flight: {}. {}: {} draws {:.1f} A at launch ({}){}{}; at speed {}. "
                "In-flight currents are estimates: never choose an ESC by them alone.",
                _size_words(flight_size),
                craft_statement,
                g.label.at(flight_row),
                n.launch.at(flight_row),
                _room(flight_row),
                flight_size.present().where(
                    say(", against {:.1f} A of burst rating", flight_size * s.esc_burst_ratio), ""
                ),
                f.by_speed.at(flight_row)
                .equals(1)
                .where(say("; up to {:.2f} times that is borderline there", s.esc_launch_limit), ""),
                flight_expected,
            ),
            say("Short full throttle in flight: {}.", nothing_said),
        ),
        "",
    ),
    "By the launch; with a speed and an airspeed also by the estimate at speed. Nothing for hover, 3D, ducted and "
    "held.",
)
_bursts = way_of_flying.equals(BURSTS)
advice = ESC.figure("esc_advice", "ESC for the way of flying on Craft").derive(
    _bursts.where(flight_sentence, held_sentence), "The answer for the way of flying chosen; held where none is."
)
advice_other = ESC.figure("esc_advice_other", "The other answer").derive(
    _bursts.where(held_sentence, flight_sentence),
    "The answer for the other question; none for hover, 3D, ducted and held full throttle.",
)
flight_note = ESC.figure("flight_note", "Current to expect in flight").derive(
    held_row.present().where(
        say("In flight, {}: {}.", g.label.at(held_row), held_expected), say("In flight: {}.", nothing_said)
    ),
    "For the deciding propeller and cell count.",
)

# --- what stands beside the advice ---------------------------------------------------------------------------


def _differing() -> Node:
    words: Node = join("")
    for setting in GOES_BY:
        declared = s.SETTINGS.fields[setting.name]
        unit = f" {declared.unit}" if declared.unit else ""
        said = join(f" {declared.label}: ", setting.fixed(2), f"{unit} instead of {declared.default:g}{unit}.")
        words = join(words, setting.equals(float(declared.default or 0)).where("", said).otherwise(""))
    return call("trim", words)


settings_note = ESC.figure("esc_settings", "Settings that differ from their defaults").derive(
    _differing(), "Blank where the advice goes by defaults."
)
_most_cells = n.cells_craft.largest()
precedence = ESC.figure("esc_precedence", "Makers' ratings").derive(
    say(
        "{}Makers' continuous and burst ratings, cell limits and cooling notes take precedence over this advice.",
        say("The ESC must be rated for {:.0f} cells in series. ", _most_cells).otherwise(""),
    ),
    "What overrules the advice.",
)
