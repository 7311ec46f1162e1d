"""Which ESC will do: for each size of the ladder, and in a sentence for the craft."""

from __future__ import annotations

from xlsengine.bench import advance
from xlsengine.bench import summary as g
from xlsengine.bench.craft import BURSTS, HOVER, airspeed, way_of_flying
from xlsengine.bench.declare import Figures, Quantity
from xlsengine.bench.settings import esc_burst_ratio, esc_steady_share, flight_share_high, flight_share_low
from xlsengine.expression import BLANK, Aggregate, Column, Constant, Named, Node, join, lesser
from xlsengine.sources import practice

COVERS, BORDERLINE, SHORT = "covers", "borderline", "falls short"
FAR = 1e6

ESC = Figures("ESC", "Which ESC will do on the craft; estimates are never the only ground.")
_source = practice("steady within a share of continuous, peak within burst; in flight an estimate")


def held_margin(size: Node) -> Node:
    """Amps to spare with full throttle held: the lesser of steady and peak; blank without a size or a reading."""
    steady = (size * esc_steady_share / 100 - g.steady["top_current"]).otherwise(FAR)
    peak = (size * esc_burst_ratio - g.peak["top_current"]).otherwise(FAR)
    return g.static_current.present().where((size > 0).where(lesser(steady, peak), BLANK), BLANK)


def held_verdict(size: Node) -> Node:
    """*covers*, *borderline* or *falls short* with full throttle held, from measured currents."""
    steady_over = (g.steady["top_current"] > size).where(1.0, 0.0).otherwise(0.0)
    peak_over = (g.peak["top_current"] > size * esc_burst_ratio).where(1.0, 0.0).otherwise(0.0)
    falls_short = (steady_over + peak_over) > 0
    return (held_margin(size) >= 0).where(COVERS, falls_short.where(SHORT, BORDERLINE))


def flight_margin(size: Node) -> Node:
    """Amps to spare in short bursts in flight: burst rating less the high end of the higher estimate."""
    return size * esc_burst_ratio - g.flight_most


def flight_verdict(size: Node) -> Node:
    """*covers*, *borderline* or *falls short* for short bursts in forward flight, from the higher estimated band."""
    burst = size * esc_burst_ratio
    return (g.flight_most <= burst).where(COVERS, (g.flight_least <= burst).where(BORDERLINE, SHORT))


def signed(margin: Node) -> Node:
    """Write amps with their sign and unit."""
    return (margin >= 0).where(join("+", margin.fixed(1), " A"), join("−", (-margin).fixed(1), " A"))


def _figure(name: str, label: str, expression: Node, meaning: str, unit: str = "", shown: int = 0) -> Named:
    return ESC.derive(Quantity(name, label, expression, meaning, _source, "", unit, shown))


def _deciding(column: Column) -> Node:
    """Row of the summary with the largest value of `column`."""
    return Aggregate("position", (column,), (), Aggregate("largest", (column,), (), Constant(1.0)))


held_row = _figure(
    "esc_held_row", "Deciding summary row, held", _deciding(g.held_need_craft), "Largest need on the craft."
)
flight_row = _figure(
    "esc_flight_row", "Deciding summary row, in flight", _deciding(g.flight_high_craft), "Largest need on the craft."
)


def _at(column: Column, row: Named) -> Node:
    return Aggregate("text at" if column.text else "at", (column,), (), row)


held_size = _figure(
    "esc_held_size", "ESC size, full throttle held", _at(g.held_size, held_row), "Smallest of the ladder.", "A"
)
flight_size = _figure(
    "esc_flight_size",
    "ESC size, short bursts in flight",
    _at(g.flight_size, flight_row),
    "Smallest of the ladder.",
    "A",
)
_NOTHING = "no tested propeller and cell count is the one on Craft"


def _size_words(size: Named) -> Node:
    return size.present().where(join(size.fixed(0), " A or larger"), "larger than any size on Settings")


def _burst_words(size: Named) -> Node:
    """Say what the size is taken to stand for a moment; nothing where no size is large enough."""
    words = join(", against ", (size * esc_burst_ratio).fixed(1), " A of burst rating (", esc_burst_ratio.fixed(2),
                 " times continuous)")  # fmt: skip
    return size.present().where(words, "")


def _currents() -> Node:
    steady, peak = _at(g.steady["top_current"], held_row), _at(g.peak["top_current"], held_row)
    return join(
        join(steady.fixed(1), " A steady").otherwise("no steady reading"),
        " and ",
        join(peak.fixed(1), " A at its peak").otherwise("no peak reading"),
    )


held_sentence = _figure(
    "esc_held_sentence", "ESC for full throttle held on the bench or in hover",
    held_row.present().where(
        join(
            "Full throttle held (bench, hover): ", _size_words(held_size), ". ", _at(g.label, held_row), " drew ",
            _currents(), "; steady is to stay within ", esc_steady_share.fixed(0), " % of the continuous rating, a "
            "peak within the burst rating, taken as ", esc_burst_ratio.fixed(2), " times it.",
        ),
        join("Full throttle held: ", _NOTHING, "."),
    ),
    "From measured currents.",
)  # fmt: skip


def _band(row: Named) -> Node:
    low, high = _at(g.flight_low, row), _at(g.flight_high, row)
    return join(low.fixed(0), " to ", high.fixed(0), " A")


def _own_fall() -> Node:
    """Say what the propeller's own fall gives where that is more than the rule of thumb; nothing elsewhere."""
    low, high = _at(advance.current_low, flight_row), _at(advance.current_high, flight_row)
    band = join(low.fixed(0), " to ", high.fixed(0), " A")
    words = join("; more by the propeller's own fall at ", airspeed.fixed(0), " m/s: ", band)
    return (high > _at(g.flight_high, flight_row)).where(words, "").otherwise("")


_reduced = _at(g.reduced, flight_row)
flight_sentence = _figure(
    "esc_flight_sentence", "ESC for short full throttle in forward flight",
    flight_row.present().where(
        _reduced.equals(1).where(
            join(
                "Short full throttle in forward flight: ", _size_words(flight_size), ", by an estimate. For ",
                _at(g.label, flight_row), " we expect ", _band(flight_row), " at speed", _own_fall(),
                _burst_words(flight_size),
                "; a launch or a punch-out draws the static ", _at(g.static_current, flight_row).fixed(1), " A. Never the "
                "only ground for a choice.",
            ),
            join(
                "Short full throttle in flight: ", _size_words(flight_size), " by burst rating alone, with no "
                "reduction for flight; the deciding ", _at(g.label, flight_row), " drew ",
                _at(g.static_current, flight_row).fixed(1), " A static", _own_fall(), _burst_words(flight_size), ".",
            ),
        ),
        join("Short full throttle in flight: ", _NOTHING, "."),
    ),
    "From the estimated in-flight band, the higher of the two where Craft gives an airspeed.",
)  # fmt: skip
_bursts = way_of_flying.equals(BURSTS)
advice = _figure(
    "esc_advice", "ESC for the way of flying on Craft", _bursts.where(flight_sentence, held_sentence),
    "The answer for the way of flying chosen.",
)  # fmt: skip
advice_other = _figure(
    "esc_advice_other", "The other answer", _bursts.where(held_sentence, flight_sentence),
    "The answer for the other question; always shown.",
)  # fmt: skip
flight_note = _figure(
    "flight_note", "Current to expect in flight",
    flight_row.present().where(
        _reduced.equals(1).where(
            join(
                "In forward flight ", _at(g.label, flight_row), " should draw about ", _band(flight_row), ": ",
                _at(g.static_current, flight_row).fixed(1), " A static less ", flight_share_low.fixed(0), " to ",
                flight_share_high.fixed(0), " percent (common practice, an estimate; hover, 3D and ducted flying get "
                "no reduction)", _own_fall(), ".",
            ),
            way_of_flying.equals(HOVER).where(
                join("Expect the static current, ", _at(g.static_current, flight_row).fixed(1), " A with ",
                     _at(g.label, flight_row), ": hover, 3D and ducted flying get no reduction."),
                join("Expect the static current or more, ", _at(g.static_current, flight_row).fixed(1), " A with ",
                     _at(g.label, flight_row), ": its pitch is high for its diameter, or not known", _own_fall(), "."),
            ),
        ),
        join("In flight: ", _NOTHING, "."),
    ),
    "Estimate for the deciding propeller and cell count.",
)  # fmt: skip
