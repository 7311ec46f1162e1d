"""The three answers of the Report's first page, each a short line and two short sentences, and the sizes around them."""

from collections.abc import Callable
from functools import partial

from xlsengine.bench.advice import esc
from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice import suitability as asks
from xlsengine.bench.advice.suitability import hover_note, hover_throttle, minutes_at, of_row
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import in_thousands
from xlsengine.bench.groups import lines, prediction
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import tested_cells, told_cells
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.conditions import PACK, supply
from xlsengine.bench.inputs.craft import BURSTS, all_up_mass, motor_count, on_rotors, way_of_flying
from xlsengine.bench.inputs.settings import pack_rate_high, pack_rate_most, reference_cell_voltage
from xlsengine.expression import Column, Condition, Constant, Named, Node, Operand, first_holding, flag, join, say

_Judge = Callable[[Node], Node]
ANSWERS = Figures("Short answers", "What the first page of the Report answers.", source=n.SOURCE)


# --- the ESC ---------------------------------------------------------------------------------------------------


def _size_by_cells(word: str, label: str, row: Named, need: Column, largest: Named) -> Node:
    """Name the size for each tested cell count: ``50 A on 3S, 70 A on 4S``; one alone takes ``or larger``."""
    many: Node = join("")
    before: Node = Constant(0.0)
    answered: Node = Constant(0.0)
    for place, cells in enumerate(tested_cells, start=1):
        most = ANSWERS.figure(f"{word}_need_{place}", f"{label}: need, cell count {place}", "A").derive(
            need.largest(Condition(told_cells, "=", cells)).otherwise(0.0)
        )
        said = say("{:.0f} A", n.smallest_size(most)).otherwise("no size listed")
        many = join(many, (most > 0).where(say("{}{} on {:.0f}S", (before > 0).where(", ", ""), said, cells), ""))
        before, answered = before + most, answered + flag(most > 0)
    one = largest.present().where(say("{:.0f} A or larger", largest), "Larger than any size listed")
    return row.present().where((answered > 1).where(many, one), "No answer")


held_line = ANSWERS.figure("short_held", "ESC held, short").derive(
    _size_by_cells("short_held", "ESC held", esc.held_row, n.held_need_craft, esc.held_size)
)
_bursts_by_cells = _size_by_cells("short_flight", "ESC in bursts", esc.flight_row, n.flight_need_craft, esc.flight_size)
flight_line = ANSWERS.figure("short_flight", "ESC in bursts, short").derive(
    rule.flies_forward(_bursts_by_cells, "As for full throttle held")
)

# --- what it lifts -----------------------------------------------------------------------------------------------

row = esc.held_row
"""What Craft answers for."""


def _at_rest(name: str, label: str, unit: str, node: Node, decimals: int | None = None) -> Named:
    return ANSWERS.figure(f"craft_at_rest_{name}", label, unit, decimals=decimals).derive(of_row(node, row))


throttle = _at_rest("throttle", "Hover throttle", "%", hover_throttle)
_by = _at_rest("by", "Hovering: 3 read off, 2 estimated, 1 roughly", "", asks.hover_by)
is_estimate = _by.equals(asks.ESTIMATED)
"""Whether hovering is estimated from full throttle, since no steady readings are near enough."""
is_told = _by >= asks.ESTIMATED
hover_current = _at_rest("current", "Hover current of one motor", "A", is_told.where(asks.hover_current))
hover_current_doubt = of_row(asks.hover_current_doubt, row)
hover_watts = _at_rest("watts", "Power of the craft hovering", "W", is_told.where(asks.hover_watts))
minutes = _at_rest("minutes", "Minutes hovering", "min", minutes_at(hover_watts, g.cells), 1)
minutes_doubt = of_row(asks.minutes_doubt(minutes, asks.watts_off(hover_watts)), row)
note = _at_rest("note", "Hovering, found", "", hover_note)
lift_each = ANSWERS.figure("lift_each", "Thrust of one motor on the craft", "g").derive(g.full["thrust"].at(row))
LIFTED = tuple(lift_each / ratio for ratio in (0.5, 1.0, 2.0, 4.0))
"""At a thrust over weight of a trainer and of a sport plane, on wings; of a craft that hovers calmly, and of one that is
flown hard (common practice, no source)."""


def by_craft(planes: Operand, either: Operand, rotors: Operand) -> Node:
    """Choose words by what is flown: on a wing in bursts, not said or held there, or on rotors."""
    return on_rotors.where(rotors, way_of_flying.equals(BURSTS).where(planes, either))


_trainer, _sport, _calm, _hard = map(in_thousands, LIFTED)
LIFTS = by_craft(
    say("{} g at 0.5:1, {} g at 1:1", _trainer, _sport),
    say("{} g at 1:1, {} g hovering at 2:1", _sport, _calm),
    say("{} g at 2:1, {} g at 4:1", _calm, _hard),
)
_all_thrust = ANSWERS.figure("craft_all_thrust", "Thrust of the craft", "g").derive(lift_each * motor_count)
craft_ratio = ANSWERS.figure("craft_ratio", "Thrust over weight of the craft", decimals=1).derive(
    _all_thrust / all_up_mass
)
_sag_row = lines.sag_count_of.position(g.cells.at(row))
supply_resistance = lines.supply_resistance.at(_sag_row)
_is_known = (supply.equals(PACK) & (motor_count > 1)) & (supply_resistance > lines.supply_expanded.at(_sag_row))
_sag = supply_resistance / 1000 * g.full["current"].at(row) / g.full["voltage"].at(row)
_volts = 1 - prediction.lost(_sag, motor_count)
ratio_left = ANSWERS.figure("craft_ratio_left", "Thrust over weight of the craft, all motors on one pack").derive(
    _is_known.where(craft_ratio * (prediction.BY_VOLTS * _volts.ln()).exp()),
    "By the line of the bench's pack; blank where it is not known.",
)


def _of_peak(peak: Operand, steady: Operand) -> Node:
    """Choose by whether the thrust that lifts was a peak: no mass for a flight follows from what stands for seconds."""
    return g.full_kind.at(row).equals(r.PEAK).where(peak, steady)


YOUR_CRAFT = "Your craft"
_one_lifts = say("One motor lifts{}", _of_peak(" for seconds", "").otherwise(""))
lift_title = ANSWERS.figure("short_lift_title", "What the third answer is of").derive(
    craft_ratio.present().where(YOUR_CRAFT, _one_lifts)
)
pack_amps = ANSWERS.figure("craft_pack_amps", "Current from the pack, full throttle", "A", decimals=0).derive(
    motor_count * of_row(asks.wiring, row)
)
pack_rate = ANSWERS.figure("craft_pack_rate", "Current from the pack over its capacity in Ah", decimals=0).derive(
    asks.rate(pack_amps)
)
full_minutes = ANSWERS.figure("craft_full_minutes", "Minutes at full throttle, on the stand to in flight").derive(
    of_row(asks.minutes_said, row)
)
is_grounded = rule.hovers(flag(craft_ratio < 1), 0.0).equals(1)
"""Whether a craft that is to hover has less thrust than weight."""
CANNOT, TOO_MUCH, TOO_LONG = "Cannot hover", "more than any pack holds", "more than packs hold for long"
_limits = ((pack_rate_most, TOO_MUCH), (pack_rate_high, TOO_LONG))
asked_of_pack = first_holding(((pack_rate > most, say(words + ", about {:.0f}C", most)) for most, words in _limits), "")
grounded = say(CANNOT + ": {} g of thrust for {} g", in_thousands(_all_thrust), in_thousands(all_up_mass))
_hovering = join(
    say("; hover {:.0f} %", throttle).otherwise(""),
    say("; {}{:.1f} min", is_estimate.where("hover about ", ""), minutes).otherwise(""),
)
_aloft = rule.hovers(_hovering, say("; {} min at full throttle", full_minutes).otherwise(""))
_short = ((craft_ratio.present(), is_grounded.where(grounded, say("{:.1f}:1{}", craft_ratio, _aloft))),)
lift_line = ANSWERS.figure("short_lift", "What it lifts, short").derive(
    first_holding((*_short, (lift_each.present(), LIFTS)), "No answer")
)
_of_craft = say(
    "{} g on {:.0f}{}; ", in_thousands(all_up_mass), motor_count, motor_count.equals(1).where(" motor", " motors")
)
_lifts = say(
    "{}{}: {} g, {} at bench volts{}",
    g.label.at(row),
    (n.answered > 1).where(", which draws most", ""),
    in_thousands(lift_each),
    g.spoken_kind(row),
    _of_peak(" (less when held). ", ". "),
)
_hover_words = say(
    "Hovering {:.1f} A a motor{}{}. ",
    hover_current,
    is_estimate.where(" by estimate", ""),
    minutes.present().where(say(", minutes at {:.1f} V a cell", reference_cell_voltage), ""),
).otherwise(say("Hover: {}. ", note))
_too_much = (pack_rate > pack_rate_high).where(join(": ", asked_of_pack, ", common practice"), "")
_rated = say(" ({:.0f}C{})", pack_rate, _too_much).otherwise("")
_left = say(", about {:.1f}:1 if it sags as the bench's", ratio_left).otherwise("")
_full = say("{}Full throttle: {:.0f} A from the pack{}{}.", rule.hovers(_hover_words, ""), pack_amps, _rated, _left)
_usual = by_craft(
    "0.5:1 is usual for trainers, 1:1 for sport (common practice).",
    say("Trainers at 0.5:1 {} g, hard flying at 4:1 {} g; four motors four times.", _trainer, _hard),
    "Four motors lift four times as much.",
)
_of_one = join(_lifts, _of_peak("Take a steady reading before you choose the craft's mass.", _usual))
_words = (
    (lift_each.present(), craft_ratio.present().where(join(_of_craft, _lifts, _full), _of_one)),
    (esc.held_row.present(), "Because no thrust was read at full throttle."),
)
lift_words = ANSWERS.figure("short_lift_words", "What it lifts, why").derive(first_holding(_words, esc.because))

# --- the three sizes that matter ---------------------------------------------------------------------------------


def _line(question: str, row: Named, sizes: dict[str, Column], verdict: _Judge, margin: _Judge) -> tuple[Node, ...]:
    """Hold the size that is named, and its neighbours, against a question: ``70 A covers, +3.2 A``."""
    said = (say("{:.0f} A {}, {} A", size, verdict(size), n.to_spare(margin(size))) for size in sizes.values())
    return (join(question), *(of_row(each, row).otherwise("–") for each in said))


_held_line = _line("Full throttle held", esc.held_row, n.HELD_SIZES, n.held_verdict, n.held_margin)
_launch_line, _speed_line = (
    _line(f"Bursts: at {question}", esc.flight_row, n.FLIGHT_SIZES, verdict, margin)
    for question, verdict, margin in (
        ("launch", n.launch_verdict, n.launch_margin),
        ("speed (estimate)", partial(n.speed_verdict, likely="enough"), n.speed_margin),
    )
)


def _flown_first(bursts: tuple[Node, ...], held: tuple[Node, ...]) -> tuple[Node, ...]:
    """Take one line where bursts are flown and another where not, so that what is flown stands first."""
    return tuple(rule.flown_in_bursts(one, other) for one, other in zip(bursts, held, strict=True))


SIZES_THAT_MATTER: tuple[tuple[Node, ...], ...] = (
    _flown_first(_launch_line, _held_line),
    _flown_first(_speed_line, _launch_line),
    _flown_first(_held_line, _speed_line),
)
"""Each ESC question with how the size named, the next one down and the next one up stand, for what decides."""
HELD_TITLE, BURSTS_TITLE = "ESC for full throttle held (bench, hover)", "ESC for short bursts in forward flight"
_held_why = join(esc.held_words, esc.motor_limit.present().where(join(" ", esc.motor_limit), ""))
_HELD_ANSWER: tuple[Node, ...] = (join(HELD_TITLE), held_line, _held_why)
_BURSTS_ANSWER: tuple[Node, ...] = (join(BURSTS_TITLE), flight_line, esc.flight_words)
SHORT_ANSWERS: tuple[tuple[Node, ...], ...] = (
    _flown_first(_BURSTS_ANSWER, _HELD_ANSWER),
    _flown_first(_HELD_ANSWER, _BURSTS_ANSWER),
    (lift_title, lift_line, lift_words),
)
"""The answers, each with title, line and words; the ESC for the type of flying stands first, held where none is given."""
