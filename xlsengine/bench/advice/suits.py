"""How the motor stands for each use on Settings, and the first reason why.

A use is held against every propeller and cell count within its ranges. It is out of reach where not one may reach what
the lightest such craft asks, whatever the ±; it suits where one is sure to give what the heaviest asks.
"""

from collections.abc import Sequence

from xlsengine.bench.advice import use_points as p
from xlsengine.bench.declaring.declare import Table
from xlsengine.bench.declaring.spoken import in_thousands
from xlsengine.bench.inputs import uses as s
from xlsengine.bench.inputs.uses import USES
from xlsengine.expression import BLANK, Aggregate, Column, Condition, Constant, Node, call, join, say
from xlsengine.sources import definition

SUITS, WITH_THIS, BORDERLINE, DOES_NOT, NOT_TESTED = (
    "suits",
    "suits with this propeller",
    "borderline",
    "does not",
    "not tested",
)
SUITABLE = Table(
    "Suitable",
    "Each use on Settings, held against every propeller and cell count within its ranges.",
    spare=1,
    per=(s.motors,),
)
_make = SUITABLE.part("suits_", definition("the ranges on Settings against the readings that count, with their ±"))
_TINY = 1e-9


row = _make.helper("row", "Row").derive(Aggregate("row", (Column(SUITABLE.name, "suits_row"),)), "On Settings.")


def _of_use(column: Column) -> Column:
    declared = USES.fields[column.name]
    operation = "text at" if column.text else "at"
    name = column.name.removeprefix("use_")
    return _make.helper(name, declared.label, declared.unit, decimals=1).derive(
        Aggregate(operation, (column,), (), row), declared.meaning
    )


name = _make.column("name", "What for").derive(s.use_name.at(row), "As on Settings.")
_carried, _motors, _loading = (_of_use(column) for column in (s.carried, s.motors, s.loading))
_cells, _diameter, _mass, _ratio, _airspeed = (
    tuple(_of_use(column) for column in pair) for pair in (s.cells, s.diameter, s.mass, s.ratio, s.airspeed)
)
_LOW, _HIGH = 0, 1
_on_rotors = _carried.equals(s.ROTORS)
_each = tuple(
    _make.helper(f"each_{word}", f"Mass a motor, {words} craft", "g").derive(mass / _motors, "All-up mass over motors.")
    for word, words, mass in (("low", "lightest", _mass[_LOW]), ("high", "heaviest", _mass[_HIGH]))
)
need = _make.helper("need", "Thrust for the heaviest", "g").derive(
    _each[_HIGH] * _ratio[_LOW], "A motor, at the least ratio."
)
least = _make.helper("least", "Thrust for the lightest", "g").derive(
    _each[_LOW] * _ratio[_LOW], "A motor, at the least ratio."
)
most = _make.helper("most", "Thrust that is more than wanted", "g").derive(
    _each[_HIGH] * _ratio[_HIGH], "A motor, at the most."
)
_speed = tuple(
    _make.helper(f"speed_{word}", f"Pitch speed asked, {words}", "m/s", decimals=1).derive(
        node.otherwise(0.0), "0: not judged."
    )
    for word, words, node in (
        ("low", "least", _airspeed[_LOW]),
        ("high", "most", _airspeed[_HIGH].otherwise(_airspeed[_LOW])),
    )
)
_hover = tuple(
    _make.helper(f"hover_{word}", f"Hovering a motor, {word}", "g").derive(
        _on_rotors.where(each, 0.0).otherwise(0.0), "0: a wing."
    )
    for word, each in zip(("low", "high"), _each, strict=True)
)
_power = tuple(
    _make.helper(f"power_{word}", f"Power a motor, {word}", "W").derive(
        _on_rotors.where(0.0, (each * _loading / 1000).otherwise(0.0)).otherwise(0.0), "0: not judged."
    )
    for word, each in zip(("low", "high"), _each, strict=True)
)

# --- how many pass, step by step -------------------------------------------------------------------------------

_ON_CELLS = (Condition(p.cells, ">=", _cells[_LOW]), Condition(p.cells, "<=", _cells[_HIGH]))
_IN_RANGE = (
    *_ON_CELLS,
    Condition(p.diameter, ">=", _diameter[_LOW] - _TINY),
    Condition(p.diameter, "<=", _diameter[_HIGH] + _TINY),
)
_STEPS = ("thrust", "speed", "hover", "power")
_BOUNDS = (p.thrust, p.pitch_speed, p.hovering, p.power)
_ASKED = ((least, need), _speed, _hover, _power)
_REACHES = [Condition(b.reach, ">=", asked[_LOW]) for b, asked in zip(_BOUNDS, _ASKED, strict=True)]
_SURES = [Condition(b.sure, ">=", asked[_HIGH]) for b, asked in zip(_BOUNDS, _ASKED, strict=True)]
_NOT_TOO_MUCH = Condition(p.thrust.sure, "<=", most)


def _count(name: str, label: str, conditions: Sequence[Condition]) -> Column:
    return _make.helper(name, label).derive(p.place.count(*tuple(conditions)), "Propellers and cell counts.")


on_cells = _count("on_cells", "On its cell counts", _ON_CELLS)
in_range = _count("in_range", "Within its ranges", _IN_RANGE)
may = tuple(
    _count(f"may_{step}", f"May reach it, to {step}", (*_IN_RANGE, *_REACHES[: number + 1]))
    for number, step in enumerate(_STEPS)
)
sure = (
    *(
        _count(f"sure_{step}", f"Sure to, to {step}", (*_IN_RANGE, *_SURES[: number + 1]))
        for number, step in enumerate(_STEPS)
    ),
    _count("sure_size", "Sure to, and not too large", (*_IN_RANGE, *_SURES, _NOT_TOO_MUCH)),
)


def _first_none(counts: Sequence[Column]) -> Node:
    """Return the number of the first step that none passes; 0 where each has one."""
    found: Node = Constant(0.0)
    for number, count in reversed(list(enumerate(counts, start=1))):
        found = count.equals(0).where(float(number), found)
    return found


out_step = _make.helper("out_step", "First step out of reach").derive(_first_none(may), "0: none.")
sure_step = _make.helper("sure_step", "First step that none is sure of").derive(_first_none(sure), "0: none.")
step = _make.helper("step", "Step that decides").derive(
    (out_step > 0).where(out_step, sure_step), "1 thrust to 5 too large; 0 suits."
)

# --- the propeller that is spoken of ---------------------------------------------------------------------------


def _largest(code: Column, conditions: Sequence[Condition]) -> Node:
    return code.largest(*tuple(conditions))


def _spoken_code() -> Node:
    """Return the code of what stands best among those that passed the steps before the one that decides."""
    out = [_largest(b.code, (*_IN_RANGE, *_REACHES[:number])) for number, b in enumerate(_BOUNDS)]
    unsure = [_largest(b.code, (*_IN_RANGE, *_SURES[:number])) for number, b in enumerate(_BOUNDS)]
    too_large = _largest(p.small_code, (*_IN_RANGE, *_SURES))
    fits = _largest(p.thrust.code, (*_IN_RANGE, *_SURES, _NOT_TOO_MUCH))
    either = [(out_step > 0).where(one, other) for one, other in zip(out, unsure, strict=True)]
    return call("choose", step + 1, fits, *either, too_large)


_code = _make.helper("code", "Code of what is spoken of").derive(_spoken_code(), "Figure and place.")
spoken = _make.helper("spoken", "Row of what is spoken of").derive(
    _code - (_code / p.PLACES).whole_part() * p.PLACES, "Summary row."
)


def _spoken(name: str, label: str, column: Column, unit: str = "", shown: int = 0) -> Column:
    operation = "text at" if column.text else "at"
    return _make.helper(f"spoken_{name}", label, unit, decimals=shown).derive(
        Aggregate(operation, (column,), (), spoken), "Of it."
    )


_label = _spoken("label", "Propeller and cells", p.label)
_thrust, _plus = (
    _spoken("thrust", "Thrust", p.thrust.value, "g"),
    _spoken("expanded", "Thrust, ±", p.thrust_expanded, "g"),
)
_pitch_speed = _spoken("pitch_speed", "Pitch speed", p.pitch_speed.value, "m/s", 1)
_slowest = _spoken("slowest", "Pitch speed, for sure", p.pitch_speed.sure, "m/s", 1)
_fastest = _spoken("fastest", "Pitch speed, at most", p.pitch_speed.reach, "m/s", 1)
_basis, _doubtful = _spoken("basis", "Pitch speed is", p.speed_basis), _spoken("doubtful", "Doubtful", p.doubtful)
_hovering, _watts = (
    _spoken("hovering", "Thrust at the highest hover throttle", p.hovering.value, "g"),
    _spoken("watts", "Power", p.power.value, "W"),
)
top_cells = _make.helper("top_cells", "Most cells tested within its ranges").derive(
    (in_range > 0).where(p.cells.largest(*_IN_RANGE), 0.0), "0: none."
)
untested_above = (_cells[_HIGH] > top_cells) & (top_cells > 0)

# --- in words --------------------------------------------------------------------------------------------------


def short(number: Column) -> Node:
    """Write a number with one decimal, a whole one with none."""
    return (number - number.whole_part() < 0.05).where(number.fixed(0), number.fixed(1))


def _span(pair: Sequence[Column], unit: str) -> Node:
    low, high = pair
    return (high > low).where(join(short(low), " to ", short(high), unit), join(short(low), unit))


_cell_span = (_cells[_HIGH] > _cells[_LOW]).where(
    join(_cells[_LOW].fixed(0), "S to ", _cells[_HIGH].fixed(0), "S"), join(_cells[_LOW].fixed(0), "S")
)
_above_span = (_cells[_HIGH] > top_cells + 1).where(
    join((top_cells + 1).fixed(0), "S to ", _cells[_HIGH].fixed(0), "S"), join(_cells[_HIGH].fixed(0), "S")
)
_not_above = untested_above.where(join("; not tested on ", _above_span), "").otherwise("")
_at_ratio = join(" at ", short(_ratio[_LOW]), ":1")
_gives = join(in_thousands(_thrust), " g", join(" ±", (100 * _plus / _thrust).fixed(0), " %").otherwise(""))
_is_out = out_step > 0


def _thrust_words() -> Node:
    asked = _is_out.where(
        join(in_thousands(least), " g a motor", _at_ratio, " even for the lightest, ", in_thousands(_mass[_LOW]), " g"),
        join(in_thousands(need), " g a motor", _at_ratio, " for the heaviest, ", in_thousands(_mass[_HIGH]), " g"),
    )
    return join("needs ", asked, "; best is ", _label, " with ", _gives)


def _speed_words() -> Node:
    how = _basis.equals(p.MEASURED).where("", " (estimated from Kv and volts)")
    known = say(
        "pitch speed {:.0f} m/s{} with {}, from {:.0f} to {:.0f} with its ±; flown at {}",
        _pitch_speed,
        how,
        _label,
        _slowest,
        _fastest,
        _span(_speed, " m/s"),
    )
    return (_basis > 0).where(known, join(_label, ": pitch speed not known; read a speed, or give Kv and pitch"))


def _hover_words() -> Node:
    each = _is_out.where(in_thousands(_each[_LOW]), in_thousands(_each[_HIGH]))
    return say(
        "hovers with more than {:.0f} % throttle: up to there {} lifts {} g a motor; the craft weighs {} g a motor",
        s.hover_throttle_most,
        _label,
        in_thousands(_hovering),
        each,
    )


def _power_words() -> Node:
    asked = _is_out.where(_power[_LOW].fixed(0), _power[_HIGH].fixed(0))
    return join(_loading.fixed(0), " W/kg ask for ", asked, " W a motor; ", _label, " draws ", _watts.fixed(0), " W")


def _size_words() -> Node:
    over = _make.helper("over", "Thrust to weight of the heaviest", decimals=1).derive(
        _thrust / _each[_HIGH], "With it."
    )
    return say(
        "more than wanted: {} gives {}, which is {}:1 with the heaviest, {} g; {}:1 is the most",
        _label,
        _gives,
        short(over),
        in_thousands(_mass[_HIGH]),
        short(_ratio[_HIGH]),
    )


def _fit_words() -> Node:
    how_many = join(sure[-1].fixed(0), " of ", in_range.fixed(0), " tested ", sure[-1].equals(1).where("does", "do"))
    asked = join(in_thousands(need), " g a motor", _at_ratio, " and ", in_thousands(_mass[_HIGH]), " g all-up")
    return join("meets every limit: needs ", asked, "; ", _label, " gives ", _gives, "; ", how_many)


_doubt = join(_label, " rests on a doubtful reading: see Checks")


def _said(number: int, words: Node) -> Column:
    """Keep what is said of a step in a cell of its own: LibreOffice fails on all of them in one formula."""
    return _make.helper(f"said_{number}", f"Words of step {number}").derive(words.otherwise(""), "Blank elsewhere.")


_doubted = [
    (_doubtful > 0).where(_doubt, words) for words in (_thrust_words(), _speed_words(), _hover_words(), _power_words())
]
_SAID = [
    _said(number, step.equals(float(number)).where(words, ""))
    for number, words in enumerate((_fit_words(), *_doubted, _size_words()))
]
_by_step = join(*_SAID)
_near = _make.helper("near", "Within its ±").derive(
    (out_step.equals(0) & step.equals(1) & (_thrust >= need)).where(1.0, 0.0), "1: enough, but for the ±."
)
_told = join(_by_step, _near.equals(1).where(": within its ±", ""), (step > 0).where(_not_above, ""))
_none = on_cells.equals(0).where(
    join("not tested on ", _cell_span),
    join("on ", _cell_span, " no propeller of ", _span(_diameter, " in"), " was tested"),
)
whole = _make.helper("whole", "Filled in").derive(
    (name.present() & _carried.present())
    .where(need.present().where((in_range >= 0).where(1.0, 0.0), 0.0), BLANK)
    .otherwise(0.0),
    "1 where the row on Settings says all that is needed.",
)
_reached = (out_step > 0).where(
    untested_above.where(NOT_TESTED, DOES_NOT),
    (sure_step > 0).where(BORDERLINE, ((sure[-1].equals(in_range)) & (in_range > 1)).where(SUITS, WITH_THIS)),
)
_UNFILLED = "its row on Settings is not filled in"
verdict = _make.column("verdict", "How it stands").derive(
    name.present().where(whole.equals(1).where((in_range > 0).where(_reached, NOT_TESTED), "not judged"), ""),
    "Of what was tested: suits (all within its ranges), suits with this propeller, borderline, does not, not tested.",
)
reason = _make.column("reason", "Why").derive(
    name.present().where(whole.equals(1).where((in_range > 0).where(_told, _none), _UNFILLED), ""),
    "The first reason that limits, in the order thrust, pitch speed, hover or power, and size.",
)
