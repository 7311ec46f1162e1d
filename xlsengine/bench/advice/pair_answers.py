"""What each pair does for the craft of a need: limit by limit with its ±, hovering, current its rank, and all together."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce

from xlsengine.bench.advice import esc_needs as e
from xlsengine.bench.advice import in_flight as f
from xlsengine.bench.advice import pairs as p
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice import suitability as asks
from xlsengine.bench.advice.suitability import BY_STEPS, minutes_at
from xlsengine.bench.declaring.declare import Field, Figures
from xlsengine.bench.inputs import craft as c
from xlsengine.bench.inputs import need as d
from xlsengine.bench.inputs.settings import pack_rate_most
from xlsengine.expression import (
    BLANK,
    Column,
    Condition,
    Constant,
    Named,
    Node,
    Operand,
    call,
    first_holding,
    flag,
    greater,
    join,
    lesser,
    say,
)

HOLDS, BORDERLINE, FAILS = 0.0, 1.0, 2.0
MOST_RANKS = 12
"""Bands of ranks; what lies below the last shares its rank."""
NONE_BEFORE = 1e6
FOUND = Figures("Found", "What the pairs come to, live; what was judged on writing is a typed number.")
VERDICTS = ("fits", "borderline", "does not fit")
hovers = FOUND.figure("craft_hovers", "Does the craft hover").derive(flag(c.on_rotors))


def _helps(name: str, label: str, expression: Node) -> Column:
    return p.PAIRS.helper(name, label, decimals=3).derive(expression)


# --- thrust, hovering and flight ---------------------------------------------------------------------------------

ratio = p.PAIRS.column("ratio", "Thrust to weight", decimals=2).derive(p.thrust * c.motor_count / c.all_up_mass)
ratio_doubt = p.PAIRS.column("ratio_doubt", "Thrust to weight, ±", decimals=2).derive(
    ratio * (p.thrust_doubt / p.thrust).otherwise(0.0)
)
estimated = p.asked(p.PAIRS.helper("estimated_current", "Hover current, estimated", decimals=3), asks.estimated)
p.asked(p.PAIRS.helper("estimate_off", "Hover estimate: relative ±", decimals=3), asks.estimated_off)
hover_throttle = p.HOVERED["hover_throttle"]
hover_current = p.asked(p.PAIRS.column("pair_hover_current", "Hover current a motor", "A"), asks.hover_current)
_doubt = p.PAIRS.column("pair_hover_current_doubt", "Hover current, ±", "A")
hover_current_doubt = p.asked(_doubt, asks.hover_current_doubt)
hover_basis = p.asked(p.PAIRS.column("hover_basis", "Hover by"), asks.hover_basis)
_watts = "Power of the craft, hovering"
_estimated_watts = p.asked(p.PAIRS.helper("estimated_watts", f"{_watts}, estimated", decimals=3), asks.estimated_watts)
watts = p.asked(p.PAIRS.column("craft_watts", _watts, "W"), asks.hover_watts)
_off = (p.HOVERED["hover_total_expanded"] / watts).otherwise(p.asked_here(asks.watts_off(watts)))
_watts_off = _helps("craft_watts_off", "Power of the craft: relative ±", _off)
minutes = p.PAIRS.column("minutes", "Minutes hovering", "min", decimals=1).derive(minutes_at(watts, p.cells))
_doubt = p.PAIRS.column("minutes_doubt", "Minutes, ±", "min", decimals=1)
minutes_doubt = p.asked(_doubt, asks.minutes_doubt(minutes, _watts_off))
_flight = f.expected(p.static_current, p.flight_rule)
_falls = flag(_flight[1] > _flight[0]).equals(1)
_outward = map(p.asked_here, f.rounded_outward(*_flight, p.static_current))
flight_low, flight_high = (
    p.PAIRS.column(f"pair_flight_{end}", f"In flight, {end}", "A", decimals=0).derive(_falls.where(rounded, amps))
    for end, rounded, amps in zip(("low", "high"), _outward, _flight, strict=True)
)


# --- limit by limit ----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Limit:
    """One limit of the need: how a pair stands to it, as a code and in words."""

    title: str
    code: Column
    reason: Column


def _limit(name: str, title: str, code: Node, words: Node, unknown: str = "", limit: Named | None = None) -> Limit:
    """Judge by a code, where the need names a limit: a blank one rejects nothing."""
    coded = _helps(
        f"{name}_code",
        f"{title}: 0 holds, 1 borderline, 2 not",
        code if limit is None else limit.present().where(code, HOLDS),
    )
    reason = (coded > HOLDS).where(words.otherwise(unknown) if unknown else words, "")
    return Limit(title, coded, _helps(f"{name}_reason", f"{title}: in words", reason))


def _within(spare: Column, doubt: Node | float) -> Node:
    """Judge what is to spare: borderline within the ±, and where it is not known."""
    told = (spare >= doubt).where(HOLDS, (spare < -doubt).where(FAILS, BORDERLINE))
    return spare.present().where(told, BORDERLINE)


def _esc(name: str, title: str, limit: Named, verdict: Node, margin: Node) -> Limit:
    """Judge an ESC as a test does, here of the pair; a verdict that cannot be given is borderline."""
    spare = p.PAIRS.column(f"{name}_spare", f"{title}: to spare", "A").derive(p.asked_here(margin))
    said = _helps(f"{name}_verdict", f"{title}: verdict", limit.present().where(p.asked_here(verdict), ""))
    code = said.equals(e.COVERS).where(HOLDS, said.equals(e.SHORT).where(FAILS, BORDERLINE))
    words = say(title + " {:.0f} A: {:.1f} A short after the ±", limit, -spare)
    return _limit(name, title, code, words, f"{title}: current not known", limit)


propeller_spare = _helps("propeller_spare", "Propeller: to spare", d.largest_propeller - p.diameter)
ratio_spare = p.PAIRS.column("ratio_spare", "Thrust to weight: to spare", decimals=2).derive(ratio - d.wanted_ratio)
mass_spare = p.PAIRS.column("mass_spare", "Motor mass: to spare", "g", decimals=1).derive(
    d.largest_motor_mass - p.motor_mass
)
_rate = p.PAIRS.column("pack_rate", "C of the pack", decimals=0)
pack_rate = p.asked(_rate, asks.rate(c.motor_count * asks.on_stand))
_none_gives = (asks.rate(c.motor_count * p.static_current) > pack_rate_most).where(FAILS, BORDERLINE)
_ratio_off = (ratio_doubt >= 0.005).where(join(" ± ", ratio_doubt.fixed(2)), "")
_in_bursts, _on_bench = (
    (e.launch_verdict(d.esc_flight_limit), e.launch_margin(d.esc_flight_limit)),
    (e.held_verdict(d.esc_flight_limit), e.held_margin(d.esc_flight_limit)),
)
LIMITS = (
    _limit(
        "cells",
        "Cells",
        c.pack_cells.equals(p.cells).where(HOLDS, FAILS),
        say("tested on {:.0f}S, wanted {:.0f}S", p.cells, c.pack_cells),
        limit=c.pack_cells,
    ),
    _limit(
        "propeller",
        "Largest propeller",
        _within(propeller_spare, 0.0),
        say("propeller of {:.1f} in, wanted at most {:.1f}", p.diameter, d.largest_propeller),
        "diameter of the propeller not known",
        d.largest_propeller,
    ),
    _limit(
        "ratio_limit",
        "Thrust to weight",
        _within(ratio_spare, ratio_doubt),
        say("thrust to weight {:.2f}{}, wanted {:.2f}", ratio, _ratio_off, d.wanted_ratio),
        "thrust not known",
    ),
    _limit(
        "mass_limit",
        "Largest motor mass",
        _within(mass_spare, p.mass_doubt.otherwise(0.0)),
        say("motor {:.1f} g, wanted at most {:.1f}", p.motor_mass, d.largest_motor_mass),
        "mass of the motor not known",
        d.largest_motor_mass,
    ),
    _esc("flight_esc", "ESC in flight", d.esc_flight_limit, *map(rule.flown_in_bursts, _in_bursts, _on_bench)),
    _esc(
        "bench_esc",
        "ESC on the bench",
        d.esc_bench_limit,
        e.held_verdict(d.esc_bench_limit),
        e.held_margin(d.esc_bench_limit),
    ),
    _limit(
        "pack",
        "Pack",
        (pack_rate > pack_rate_most).where(_none_gives, HOLDS).otherwise(HOLDS),
        say("asks {:.0f}C of the pack, more than any holds (about {:.0f}C)", pack_rate, pack_rate_most),
    ),
)
"""The limits in the order in which they are asked; the first that is not held is named."""
flight_spare, bench_spare = (Column(p.PAIRS.name, f"{place}_esc_spare") for place in ("flight", "bench"))
_codes: list[Node] = [limit.code for limit in LIMITS]
verdict_code = _helps("verdict_code", "Verdict, code", reduce(greater, _codes))


def _first(says: Iterable[Operand], none: Operand) -> Node:
    """Take what the first limit says that is as bad as the worst; `none` where all hold."""
    worst = (limit.code.equals(verdict_code) for limit in LIMITS)
    return (verdict_code > HOLDS).where(first_holding(zip(worst, says, strict=True), none), none)


verdict = p.PAIRS.column("verdict", "Verdict").derive(call("choose", verdict_code + 1, *VERDICTS))
first_reason = p.PAIRS.column("first_reason", "First reason").derive(_first((limit.reason for limit in LIMITS), ""))
first_limit = _helps("first_limit", "First limit not held", _first(range(1, len(LIMITS) + 1), 0.0))

# --- rank --------------------------------------------------------------------------------------------------------


def _ranking(aloft: Node, power: Node) -> Node:
    """Return what ranks: how long it hovers, without a pack how many grams a watt lifts; on a wing, what was measured."""
    hovering = c.pack_capacity.present().where(aloft, c.all_up_mass / power)
    return hovers.equals(1).where(hovering, p.grams_per_watt)


merit = _helps("merit", "What ranks, minutes or grams per watt", _ranking(minutes, watts))
_estimated_minutes = minutes_at(_estimated_watts, p.cells)
estimated_merit = _helps("estimated_merit", "What ranks, estimated", _ranking(_estimated_minutes, _estimated_watts))
_merit_off = hovers.equals(1).where(_watts_off, (p.grams_per_watt_doubt / p.grams_per_watt).otherwise(0.0))
merit_low = _helps("merit_low", "What ranks, low end", greater(merit * (1 - _merit_off), 0.0).otherwise(0.0))
_high_end = (merit * (1 + _merit_off)).otherwise(0.0)
nearness = _helps(
    "nearness", "Thrust to weight: short of what is wanted", lesser(ratio_spare, 0.0).otherwise(-NONE_BEFORE)
)
_failing = sum((flag(limit.code.equals(FAILS)) for limit in LIMITS), start=Constant(0.0))
standing = _helps("standing", "Verdict, and how many limits are not held", verdict_code + _failing)


def _level(end: Node) -> Node:
    """Put an end of what ranks on one scale, all that fit above 2, borderline ones from 1 to 2, and 0 for others."""
    return (verdict_code < FAILS).where(2 - verdict_code + end / (1 + end), 0.0)


_level_low = _helps("level_low", "Place on one scale, low end", _level(merit_low))
_level_high = _helps("level_high", "Place on one scale, high end", _level(_high_end))


_leaders: list[Named] = []
"""The first of each rank, from the best down: the next begins with the first that is surely worse."""
for _number in range(1, MOST_RANKS + 1):
    _below = Condition(_level_high, "<", _leaders[-1]) if _leaders else Condition(_level_high, ">", Constant(0.0))
    _leader = FOUND.figure(f"leader_{_number}", f"First of rank band {_number}")
    _leaders.append(_leader.derive(_level_low.largest(_below).otherwise(0.0)))
_before = ((leader > _level_high, leader) for leader in reversed(_leaders))
_band_before = _helps("band_before", "First of the rank before", first_holding(_before, NONE_BEFORE))
rank = p.PAIRS.column("rank", "Rank").derive(
    (verdict_code < FAILS).where(1 + p.pair.count(Condition(_level_high, ">=", _band_before)), BLANK)
)
"""Of those that fit, then of borderline ones; who may be as good as the first of a rank shares it: 1, 2, 2, 4. None for
what does not fit."""
_as_standing, _as_near = Condition(standing, "=", standing), Condition(nearness, "=", nearness)
_before_it = (
    p.pair.count(Condition(standing, "<", standing))
    + p.pair.count(_as_standing, Condition(nearness, ">", nearness))
    + p.pair.count(_as_standing, _as_near, Condition(merit_low, ">", merit_low))
)
order = _helps("order", "Order", rank.otherwise(1 + _before_it))
_ranked = _helps("ranked", "Rank, and a large number where there is none", rank.otherwise(NONE_BEFORE))
_row = p.PAIRS.numbered("pair_row", "Row")
out_of_order = _helps(
    "out_of_order", "1 where the row above ranks behind", flag(_ranked.at(_row - 1) > _ranked).otherwise(0.0)
)

# --- above the pairs: how many fit, which is first, what rejects most, and whether the order still holds -----------


def _on_writing(name: str, label: str) -> Named:
    return FOUND.write_once(Field(name, label, "", "Counted when the workbook was written.", decimals=0))


def _coded(code: float, *where: Condition) -> Node:
    """Count the pairs with a verdict."""
    return p.pair.count(*where, Condition(verdict_code, "=", Constant(code)))


searched = _on_writing("pairs_searched", "Pairs in the library")
listed = FOUND.figure("pairs_listed", "Pairs listed").derive(p.pair.count())
fitting = FOUND.figure("pairs_fitting", "Listed pairs that fit").derive(_coded(HOLDS))
near = FOUND.figure("pairs_near", "Listed pairs that are borderline").derive(_coded(BORDERLINE))
REJECTED = tuple(
    FOUND.figure(f"rejected_{place}", f"Listed pairs rejected first by: {limit.title}").derive(
        _coded(FAILS, Condition(first_limit, "=", Constant(float(place))))
    )
    for place, limit in enumerate(LIMITS, start=1)
)
REJECTED_IN_ALL = tuple(
    _on_writing(f"rejected_in_all_{place}", f"Pairs of the library rejected first by: {limit.title}")
    for place, limit in enumerate(LIMITS, start=1)
)
RANKED_BY_HOVER = "Ranked by how long it hovers, which is not its flight time."
RANKED_BY_WATTS = "Ranked by grams per watt at full throttle on the bench, which says nothing of speed."
_best = FOUND.figure("best_row", "Row of the first pair").derive(order.position(order.smallest()))
_of_best_rank = FOUND.figure("of_best_rank", "Pairs of the first rank").derive(
    p.pair.count(Condition(rank, "=", Constant(1.0)))
)
_pair = say("{} with {} on {:.0f}S", p.motor.at(_best), p.prop.at(_best), p.cells.at(_best))
_stays = say(
    ": about {:.1f} ± {:.1f} min in hover{}",
    minutes.at(_best),
    minutes_doubt.at(_best),
    hover_basis.at(_best).equals(BY_STEPS).where("", join(" (", hover_basis.at(_best), ")")),
).otherwise("")
_pulls = say(
    ": {:.2f} ± {:.2f} g/W at full throttle", p.grams_per_watt.at(_best), p.grams_per_watt_doubt.at(_best)
).otherwise("")
_by_hover = c.way_of_flying.equals(c.HOVER).where("", f" {RANKED_BY_HOVER}")
_fit = say(
    "{:.0f} of {:.0f} listed pairs fit, and {:.0f}{} borderline. First: {}{}{}.{}",
    fitting,
    listed,
    near,
    (near > 1).where(" are", ""),
    _pair,
    hovers.equals(1).where(_stays, _pulls),
    (_of_best_rank > 1).where(say(", rank shared by {:.0f}", _of_best_rank), ""),
    hovers.equals(1).where(_by_hover, f" {RANKED_BY_WATTS}"),
)
_nearest = say("None of the listed pairs fits. Nearest: {}, {} ({}).", _pair, verdict.at(_best), first_reason.at(_best))
headline = FOUND.figure("need_headline", "In one line").derive(
    first_holding(((fitting > 0, _fit), (listed > 0, _nearest)), "No pair is listed.")
)
moved = FOUND.figure("pairs_moved", "Rows out of order").derive(out_of_order.sum())
order_note = FOUND.figure("order_note", "Is the order up to date").derive(
    (moved > 0).where("Out of date: sort the table by Rank, smallest first.", "Up to date: sorted by Rank.")
)


def _as_written(name: str, declared: Field) -> Named:
    said = f"{declared.label}, as written", declared.unit, "The need that the pairs were chosen by.", declared.kind
    return FOUND.write_once(Field(f"written_{name}", *said, choices=declared.choices))


AS_WRITTEN = {name: _as_written(name, declared) for name, declared in d.NEED.fields.items()}


def _changed(name: str, written: Named) -> Node:
    now, none = Named(name, written.is_text), "" if written.is_text else -1.0
    return now.otherwise(none).equals(written.otherwise(none)).where(0.0, 1.0)


need_changed = FOUND.figure("need_changed", "Fields of the need changed since").derive(
    sum((_changed(name, written) for name, written in AS_WRITTEN.items()), start=Constant(0.0))
)
_chosen = ", chosen by the need as it was written: run xlsengine find on this workbook to choose again."
_some = say("Listed are the {:.0f} nearest of {:.0f} pairs{}", listed, searched, (need_changed > 0).where(_chosen, "."))
chosen_note = FOUND.figure("chosen_note", "Are all pairs of the library here").derive(
    (searched > listed).where(_some, say("All {:.0f} pairs of the library are listed.", searched))
)
SENTENCES = (headline, order_note, chosen_note)
