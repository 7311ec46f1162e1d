"""Which ESC will do on the craft, in sentences: held, in short bursts, and what current to expect in flight."""

from __future__ import annotations

from xlsengine.bench import esc_needs as n
from xlsengine.bench import in_flight as f
from xlsengine.bench import rule_of_thumb as rule
from xlsengine.bench import summary as g
from xlsengine.bench.advance_curves import RULE_WORDS
from xlsengine.bench.craft import BURSTS, airspeed, all_up_mass, craft_propeller, motor_count, pack_cells, way_of_flying
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.settings import (
    SETTINGS,
    esc_burst_ratio,
    esc_launch_limit,
    esc_peak_over_steady,
    esc_steady_share,
    flight_share_high,
    flight_share_low,
    pitch_ratio_limit,
)
from xlsengine.expression import Aggregate, Column, Constant, Named, Node, Operand, call, join

ESC = Figures("ESC", "Which ESC will do on the craft; estimates are never the only ground.")
MOST_NAMED = 3
GOES_BY = (
    flight_share_low, flight_share_high, pitch_ratio_limit, esc_steady_share, esc_burst_ratio, esc_peak_over_steady,
    esc_launch_limit,
)  # fmt: skip
"""What the advice goes by; one that differs from its default is named beside it."""


def _figure(name: str, label: str, expression: Node, meaning: str, unit: str = "", shown: int = 0) -> Named:
    return ESC.derive(Quantity(name, label, expression, meaning, n.SOURCE, "", unit, shown))


def _deciding(column: Column) -> Node:
    """Row of the summary with the largest value of `column`."""
    return Aggregate("position", (column,), (), Aggregate("largest", (column,), (), Constant(1.0)))


held_row = _figure(
    "esc_held_row", "Deciding summary row, held", _deciding(n.held_need_craft), "Largest need on the craft."
)
flight_row = _figure(
    "esc_flight_row", "Deciding summary row, in flight", _deciding(n.flight_need_craft), "Largest need on the craft."
)


def _at(column: Column, row: Named) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), row)


def _if(cell: Column | Named, *words: Operand) -> Node:
    """Write the words where the cell holds something, nothing where not."""
    return cell.present().where(join(*words), "")


held_size = _figure(
    "esc_held_size", "ESC size, full throttle held", _at(n.held_size, held_row), "Smallest of the ladder.", "A"
)
flight_size = _figure(
    "esc_flight_size",
    "ESC size, short bursts in flight",
    _at(n.flight_size, flight_row),
    "Smallest of the ladder.",
    "A",
)

# --- for which craft, and what has no answer ---------------------------------------------------------------

craft_words = _figure(
    "esc_craft", "The craft",
    call(
        "trim",
        join(
            _if(all_up_mass, all_up_mass.fixed(0), " g "), _if(motor_count, "on ", motor_count.fixed(0), " motors "),
            _if(craft_propeller, "with ", craft_propeller, " "), _if(pack_cells, "on ", pack_cells.fixed(0), "S"),
        ),
    ),
    "As on Craft; blank where nothing is named there.",
)  # fmt: skip
_of_how_many = Aggregate("count", (n.held_need_craft,))
craft_statement = _figure(
    "esc_for", "For which craft",
    craft_words.present().where(
        join("For the craft on Craft (", craft_words, ")"),
        join("For any of the ", _of_how_many.fixed(0), " tested propellers and cell counts (Craft names none)"),
    ),
    "What the answer is for.",
)  # fmt: skip


def _named_uncovered() -> Node:
    words: Node = join("")
    for place in range(1, MOST_NAMED + 1):
        row = _figure(
            f"uncovered_{place}", f"Without a size, {place}",
            Aggregate("smallest", (n.uncovered,), (), Constant(float(place))), "Summary row.",
        )  # fmt: skip
        said = join(", " if place > 1 else "", _at(g.label, row), ": ", _at(n.why_uncovered, row))
        words = join(words, row.present().where(said, ""))
    return words


_how_many_uncovered = Aggregate("count", (n.uncovered,))
_more_uncovered = (_how_many_uncovered > MOST_NAMED).where(
    join(" and ", (_how_many_uncovered - MOST_NAMED).fixed(0), " more"), ""
)
uncovered_statement = _figure(
    "esc_uncovered", "What has no size",
    (_how_many_uncovered > 0).where(join("No size for ", _named_uncovered(), _more_uncovered, "."), ""),
    "Propellers and cell counts without a counting full-throttle current.",
)  # fmt: skip
_any_full = Aggregate("count", (g.static_current,)) > 0
_none_on_craft = (Aggregate("count", (n.uncovered,)) > 0).where(
    "no counting full-throttle reading of what is on Craft", "no tested propeller and cell count is the one on Craft"
)
nothing_said = _figure(
    "esc_nothing", "Why there is no answer",
    _any_full.where(_none_on_craft, "no full-throttle reading counts, so no ESC size can be named"), "In words.",
)  # fmt: skip

# --- held --------------------------------------------------------------------------------------------------


def _size_words(size: Named) -> Node:
    return size.present().where(join(size.fixed(0), " A or larger"), "larger than any size on Settings")


def _room(row: Named) -> Node:
    return join("±", ((_at(n.room, row) - 1) * 100).fixed(1), " %")


def _held_currents() -> Node:
    """Say which currents decide, and what stands in for one that was not read."""
    steady, peak = _at(g.steady["top_current"], held_row), _at(g.peak["top_current"], held_row)
    unstated = (_at(n.launch, held_row) > peak).where(
        join(" (not said to be one: ", esc_peak_over_steady.fixed(2), " times it stands in)"), ""
    )
    return join(
        join(steady.fixed(1), " A steady").otherwise("no steady reading (the peak stands in for it)"), " and ",
        join(peak.fixed(1), " A at its peak", unstated).otherwise(
            join("no peak reading (", esc_peak_over_steady.fixed(2), " times the steady one stands in for it)")
        ),
    )  # fmt: skip


held_sentence = _figure(
    "esc_held_sentence", "ESC for full throttle held",
    held_row.present().where(
        join(
            "Full throttle held (bench, hover, 3D, ducted): ", _size_words(held_size), ". ", craft_statement, ": ",
            _at(g.label, held_row), " drew ", _held_currents(), ", ", _room(held_row), "; steady within ",
            esc_steady_share.fixed(0), " % of the continuous rating, peak within the burst rating, taken as ",
            esc_burst_ratio.fixed(2), " times it.",
        ),
        join("Full throttle held: ", nothing_said, "."),
    ),
    "From measured currents and their ±.",
)  # fmt: skip

# --- in flight -----------------------------------------------------------------------------------------------


def _expected(name: str, words: str, row: Named) -> Named:
    """Derive what current to expect in flight in the deciding row, in words, from figures of its own."""

    def here(part: str, column: Column) -> Named:
        return _figure(f"esc_{name}_{part}", f"{words}: {part}", _at(column, row), "In the deciding row.", "A", 1)

    low, high, static = here("low", f.flight_low), here("high", f.flight_high), here("static", g.static_current)
    band = (high > low).where(join(low.fixed(0), " to ", high.fixed(0), " A"), join(high.fixed(1), " A"))
    by_speed = join(
        "about ", band, " at ", airspeed.fixed(0), " m/s (estimate from its own static speed and open wind-tunnel "
        "data; ", static.fixed(1), " A static)",
    )  # fmt: skip
    return _figure(
        f"esc_{name}_expected", f"{words}: what to expect in flight",
        _at(f.by_speed, row).equals(1).where(by_speed, _by_rule(row, static, band)), "In words.",
    )  # fmt: skip


def _by_rule(row: Named, static: Named, band: Node) -> Node:
    """Say what the rule of thumb makes of a propeller and cell count, or why it makes nothing of it."""
    pitch = _at(rule.reduced, row)
    less = join(
        "about ", band, ", ", static.fixed(1), " A static less ", flight_share_low.fixed(0), " to ",
        flight_share_high.fixed(0), " % (rule of thumb, common practice, no source; ", RULE_WORDS, ")",
    )  # fmt: skip
    rises = join(static.fixed(1), " A as on the bench, and it may rise (pitch high for the diameter, or not known)")
    held = join(static.fixed(1), " A as on the bench (hover, 3D, ducted and held full throttle get no reduction)")
    return pitch.equals(rule.REDUCED).where(less, pitch.equals(rule.MAY_RISE).where(rises, held))


flight_expected = _expected("flight", "Deciding in flight", flight_row)
held_expected = _expected("held", "Deciding when held", held_row)

flight_sentence = _figure(
    "esc_flight_sentence", "ESC for short full throttle in forward flight",
    rule.flies_forward(
        flight_row.present().where(
            join(
                "Short full throttle in forward flight: ", _size_words(flight_size), ". ", craft_statement, ": ",
                _at(g.label, flight_row), " draws ", _at(n.launch, flight_row).fixed(1), " A at launch (",
                _room(flight_row), ")",
                flight_size.present().where(
                    join(", against ", (flight_size * esc_burst_ratio).fixed(1), " A of burst rating"), ""
                ),
                _at(f.by_speed, flight_row).equals(1).where(
                    join("; up to ", esc_launch_limit.fixed(2), " times that is borderline there"), ""
                ),
                "; at speed ", flight_expected, ". Estimates are never the only ground for a choice.",
            ),
            join("Short full throttle in flight: ", nothing_said, "."),
        ),
        "",
    ),
    "By the launch; with a speed and an airspeed also by the estimate at speed. Nothing for hover, 3D, ducted and held.",
)  # fmt: skip
_bursts = way_of_flying.equals(BURSTS)
advice = _figure(
    "esc_advice", "ESC for the way of flying on Craft", _bursts.where(flight_sentence, held_sentence),
    "The answer for the way of flying chosen; held where none is.",
)  # fmt: skip
advice_other = _figure(
    "esc_advice_other", "The other answer", _bursts.where(held_sentence, flight_sentence),
    "The answer for the other question; none for hover, 3D, ducted and held full throttle.",
)  # fmt: skip
flight_note = _figure(
    "flight_note", "Current to expect in flight",
    held_row.present().where(
        join("In flight, ", _at(g.label, held_row), ": ", held_expected, "."),
        join("In flight: ", nothing_said, "."),
    ),
    "For the deciding propeller and cell count.",
)  # fmt: skip

# --- what stands beside the advice ---------------------------------------------------------------------------


def _differing() -> Node:
    words: Node = join("")
    for setting in GOES_BY:
        declared = SETTINGS.fields[setting.name]
        unit = f" {declared.unit}" if declared.unit else ""
        said = join(f" {declared.label}: ", setting.fixed(2), f"{unit} instead of {declared.default:g}{unit}.")
        words = join(words, setting.equals(float(declared.default or 0)).where("", said).otherwise(""))
    return call("trim", words)


settings_note = _figure(
    "esc_settings", "Settings that differ from their defaults", _differing(), "Blank where the advice goes by defaults."
)
_most_cells = Aggregate("largest", (n.cells_craft,), (), Constant(1.0))
precedence = _figure(
    "esc_precedence", "Makers' ratings",
    join(
        join("The ESC must be rated for ", _most_cells.fixed(0), " cells in series. ").otherwise(""),
        "Makers' continuous and burst ratings, cell limits and cooling notes take precedence over this advice.",
    ),
    "What overrules the advice.",
)  # fmt: skip
