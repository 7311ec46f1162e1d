"""The three answers of the Report's first page, each a short line and two short sentences, and the sizes around them."""

from typing import NamedTuple

from xlsengine.bench.advice import craft_load as load
from xlsengine.bench.advice import esc
from xlsengine.bench.advice import esc_needs as n
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice.craft_hover import ESTIMATED, AtRest
from xlsengine.bench.advice.suitability import hover_note, thrust_doubt
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import in_thousands as in_thousands
from xlsengine.bench.groups import summary as g
from xlsengine.bench.groups.by_propeller import tested_cells, told_cells
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.inputs.craft import BURSTS, all_up_mass, motor_count, on_rotors, way_of_flying
from xlsengine.bench.inputs.settings import pack_rate_most, reference_cell_voltage
from xlsengine.expression import (
    Column,
    Condition,
    Constant,
    Named,
    Node,
    Operand,
    flag,
    join,
    replaced,
    say,
)
from xlsengine.sources import GUM_FREEDOM, worked_out

ANSWERS = Figures("Short answers", "What the first page of the Report answers.", source=n.SOURCE)


# --- the ESC ---------------------------------------------------------------------------------------------------


def _size_by_cells(word: str, label: str, need: Column, largest: Named) -> Node:
    """Name the size for each tested cell count: ``50 A on 3S, 70 A on 4S``; one alone takes ``or larger``."""
    many: Node = join("")
    before: Node = Constant(0.0)
    answered: Node = Constant(0.0)
    for place, cells in enumerate(tested_cells, start=1):
        most = ANSWERS.figure(f"{word}_need_{place}", f"{label}: need, cell count {place}", "A").derive(
            need.largest(Condition(told_cells, "=", cells)).otherwise(0.0)
        )
        size = ANSWERS.figure(f"{word}_size_{place}", f"{label}: size, cell count {place}", "A", decimals=0).derive(
            (most > 0).where(n.smallest_size(most))
        )
        said = size.present().where(say("{:.0f} A", size), "no size listed")
        many = join(many, (most > 0).where(say("{}{} on {:.0f}S", (before > 0).where(", ", ""), said, cells), ""))
        before, answered = before + most, answered + flag(most > 0)
    one = largest.present().where(say("{:.0f} A or larger", largest), "Larger than any size listed")
    return (answered > 1).where(many, one)


held_line = ANSWERS.figure("short_held", "ESC held, short").derive(
    esc.held_row.present().where(
        _size_by_cells("short_held", "ESC held", n.held_need_craft, esc.held_size), "No answer"
    )
)
flight_line = ANSWERS.figure("short_flight", "ESC in bursts, short").derive(
    rule.flies_forward(
        esc.flight_row.present().where(
            _size_by_cells("short_flight", "ESC in bursts", n.flight_need_craft, esc.flight_size), "No answer"
        ),
        "As for full throttle held",
    )
)

# --- what it lifts -----------------------------------------------------------------------------------------------

lift_row = esc.held_row  # what Craft answers for
CRAFT_HOVER = Figures(
    "Hovering the craft",
    "At rest in the air, on the propeller and cell count that Craft answers for.",
    prefix="craft_at_rest_",
    source=worked_out("between neighbouring unflagged steady readings, straight in logarithms"),
)
_rest = AtRest(lift_row)
throttle = CRAFT_HOVER.figure("throttle", "Hover throttle", "%").derive(_rest.throttle)
hover_current = CRAFT_HOVER.figure("current", "Hover current of one motor", "A").derive(_rest.current)
hover_current_doubt = CRAFT_HOVER.figure("current_doubt", "Hover current of one motor, ±", "A").derive(
    _rest.current_doubt
)
hover_watts = CRAFT_HOVER.figure("watts", "Power of the craft hovering", "W").derive(_rest.watts)
minutes = CRAFT_HOVER.figure("minutes", "Minutes hovering", "min", decimals=1).derive(_rest.minutes(hover_watts))
minutes_doubt = CRAFT_HOVER.figure("minutes_doubt", "Minutes hovering, ±", "min", decimals=1).derive(
    _rest.minutes_doubt(minutes, hover_watts)
)
is_estimate = CRAFT_HOVER.figure("by", "Hovering: 2 read off, 1 estimated").derive(_rest.by).equals(ESTIMATED)
"""Whether hovering is estimated from full throttle, since no steady readings are near enough."""
note = CRAFT_HOVER.figure("note", "Hovering, found").derive(hover_note.at(lift_row))
thrust_expanded = CRAFT_HOVER.figure("thrust_expanded", "Full throttle thrust, ±", "%").derive(
    thrust_doubt(g.full["thrust"].at(lift_row), g.full["count"].at(lift_row)), source=GUM_FREEDOM
)
lift_each = ANSWERS.figure("lift_each", "Thrust of one motor on the craft", "g").derive(
    g.full["thrust"].at(lift_row), "Steady, or else peak; of the propeller and cell count that draws most."
)
LIFTED = tuple(
    ANSWERS.figure(f"lift_at_{name}", f"All-up mass for each motor at {ratio:g}:1", "g").derive(lift_each / ratio)
    for name, ratio in (("half", 0.5), ("1", 1.0), ("2", 2.0), ("4", 4.0))
)
"""At a thrust over weight of a trainer and of a sport plane, on wings; of a craft that hovers calmly, and of one that is
flown hard (common practice, no source)."""


def by_craft(planes: Operand, either: Operand, rotors: Operand) -> Node:
    """Choose words by what is flown: on a wing in bursts, not said or held there, or on rotors."""
    return on_rotors.where(rotors, way_of_flying.equals(BURSTS).where(planes, either))


_trainer, _sport, _calm, _hard = map(in_thousands, LIFTED)
LIFTS = by_craft(
    say("{} g on wings at 0.5:1, {} g at 1:1", _trainer, _sport),
    say("{} g on wings at 1:1, {} g hovering at 2:1", _sport, _calm),
    say("{} g at 2:1, {} g at 4:1", _calm, _hard),
)
_all_thrust = ANSWERS.figure("craft_all_thrust", "Thrust of the craft", "g").derive(lift_each * motor_count)
craft_ratio = ANSWERS.figure("craft_ratio", "Thrust over weight of the craft", decimals=1).derive(
    _all_thrust / all_up_mass
)


def _of_peak(peak: Operand, steady: Operand) -> Node:
    """Choose by whether the thrust that lifts was a peak: no mass for a flight follows from what stands for seconds."""
    return g.full_kind.at(lift_row).equals(r.PEAK).where(peak, steady)


YOUR_CRAFT = "Your craft"
_lifts = "What one motor lifts{} (all-up mass)"
_for_how_long = _of_peak(_lifts.format(" for seconds"), _lifts.format("")).otherwise(_lifts.format(""))
lift_title = ANSWERS.figure("short_lift_title", "What the third answer is of").derive(
    craft_ratio.present().where(YOUR_CRAFT, _for_how_long)
)
pack_amps = ANSWERS.figure("craft_pack_amps", "Current from the pack, full throttle", "A", decimals=0).derive(
    motor_count * load.wiring(lift_row),
    "Of all motors: the highest reading, what stands in for a peak not read, or more in flight by estimate.",
)
pack_rate = ANSWERS.figure("craft_pack_rate", "Current from the pack over its capacity in Ah", decimals=0).derive(
    load.rate(pack_amps), "C, as packs are rated."
)
full_minutes = ANSWERS.figure("craft_full_minutes", "Minutes at full throttle, on the stand to in flight").derive(
    load.minutes_said(lift_row)
)
is_grounded = rule.hovers((craft_ratio < 1).where(1.0, 0.0), 0.0).equals(1)
"""Whether a craft that is to hover has less thrust than weight."""
_about = is_estimate.where("hover about ", "")
_hovering = join(say("; hover {:.0f} %", throttle).otherwise(""), say("; {}{:.1f} min", _about, minutes).otherwise(""))
_flying = say("; {} min at full throttle", full_minutes).otherwise("")
CANNOT = "Cannot hover"
grounded = say(CANNOT + ": {} g of thrust for {} g", in_thousands(_all_thrust), in_thousands(all_up_mass))
_aloft = join(craft_ratio.fixed(1), ":1", rule.hovers(_hovering, _flying))
lift_line = ANSWERS.figure("short_lift", "What it lifts, short").derive(
    craft_ratio.present().where(
        is_grounded.where(grounded, _aloft),
        lift_each.present().where(LIFTS, "No answer"),
    )
)
_most = (n.answered > 1).where(", which draws most", "")
_lift_kind = say("{}{}: {} g, {}", g.label.at(lift_row), _most, in_thousands(lift_each), g.full_kind.at(lift_row))
_motors = motor_count.equals(1).where(" motor", " motors")
_of_craft = say("{} g on {:.0f}{}; ", in_thousands(all_up_mass), motor_count, _motors)
_estimated = is_estimate.where(" by estimate", "")
_hover_words = say(
    "Hovering {:.1f} A a motor{}{}. ",
    hover_current,
    _estimated,
    minutes.present().where(say(", minutes at {:.1f} V a cell", reference_cell_voltage), ""),
).otherwise(say("Hover: {}. ", note))
TOO_MUCH = "more than any pack holds"
_rated = say(
    " ({:.0f}C{})",
    pack_rate,
    load.is_beyond(pack_rate).where(say(": {}, about {:.0f}C, common practice", TOO_MUCH, pack_rate_most), ""),
).otherwise("")
_from_pack = say("Full throttle: {:.0f} A from the pack{}.", pack_amps, _rated)
lift_words = ANSWERS.figure("short_lift_words", "What it lifts, why").derive(
    lift_each.present().where(
        join(
            craft_ratio.present().where(_of_craft, ""),
            _lift_kind,
            _of_peak(" (less when held). ", ". "),
            craft_ratio.present().where(
                join(rule.hovers(_hover_words, ""), _from_pack),
                _of_peak(
                    "Read it steady before a mass for flying is taken from it.",
                    by_craft(
                        "0.5:1 is usual for trainers, 1:1 for sport (common practice).",
                        say(
                            "Trainers at 0.5:1 {} g, hard flying at 4:1 {} g; four motors four times.", _trainer, _hard
                        ),
                        "Four motors lift four times as much.",
                    ),
                ),
            ),
        ),
        esc.held_row.present().where(
            "Because no thrust was read at full throttle.", say("Because {}.", esc.nothing_said)
        ),
    )
)

# --- the three sizes that matter ---------------------------------------------------------------------------------


def _of_row(node: Node, row: Named) -> Node:
    """Turn a figure of this row of the summary into one of the row that decides."""
    return replaced(node, lambda part: part.at(row) if isinstance(part, Column) else None)


def _around(word: str, label: str, sizes: dict[str, Column], row: Named) -> tuple[Named, ...]:
    """Derive the size named in the row that decides, between its neighbours."""
    places = zip(("below", "named", "above"), sizes.values(), strict=True)
    return tuple(
        ANSWERS.figure(f"{word}_{place}", f"{label}: size {place}", "A", decimals=0).derive(size.at(row))
        for place, size in places
    )


class Standing(NamedTuple):
    """A size in the row that decides, the verdict on it, and the amps that it has to spare, negative where short."""

    size: Named
    verdict: Node
    spare: Named

    @property
    def words(self) -> Node:
        """Say it: ``70 A covers, +3.2 A``."""
        said = say("{:.0f} A {}, {} A", self.size, self.verdict, n.to_spare(self.spare))
        return self.size.present().where(said, "–")


def _standing(size: Named, question: str, verdict: Node, margin: Node) -> Standing:
    row = esc.held_row if question == "held" else esc.flight_row
    spare = ANSWERS.figure(
        f"{size.name}_{question}_spare", f"{size.name.replace('_', ' ').capitalize()}, {question}: amps to spare", "A"
    ).derive(_of_row(margin, row), "Below 0: short.")
    return Standing(size, _of_row(verdict, row), spare)


HELD = [
    _standing(size, "held", n.held_verdict(size), n.held_margin(size))
    for size in _around("around_held", "Held", n.HELD_SIZES, esc.held_row)
]
_flight_sizes = _around("around_flight", "In bursts", n.FLIGHT_SIZES, esc.flight_row)
LAUNCH = [_standing(size, "launch", n.launch_verdict(size), n.launch_margin(size)) for size in _flight_sizes]
SPEED = [_standing(size, "speed", n.speed_verdict(size, "enough"), n.speed_margin(size)) for size in _flight_sizes]
NAMED = 1
"""The place of the size that is named, between its neighbours."""
_HELD_LINE, _LAUNCH_LINE, _SPEED_LINE = (
    (join(question), *(standing.words for standing in standings))
    for question, standings in (
        ("Full throttle held", HELD),
        ("Bursts: at launch", LAUNCH),
        ("Bursts: at speed (estimate)", SPEED),
    )
)


def _flown_first(bursts: tuple[Node, ...], held: tuple[Node, ...]) -> tuple[Node, ...]:
    """Take one line where bursts are flown and another where not, so that what is flown stands first."""
    return tuple(rule.flown_in_bursts(one, other) for one, other in zip(bursts, held, strict=True))


SIZES_THAT_MATTER: tuple[tuple[Node, ...], ...] = (
    _flown_first(_LAUNCH_LINE, _HELD_LINE),
    _flown_first(_SPEED_LINE, _LAUNCH_LINE),
    _flown_first(_HELD_LINE, _SPEED_LINE),
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
