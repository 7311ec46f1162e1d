"""What is published of a test, as texts: each one the value of a cell of the workbook, in the digits of that cell."""

import datetime
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from xlsengine.bench.advice import esc
from xlsengine.bench.advice import rule_of_thumb as rule
from xlsengine.bench.advice.in_flight import by_speed
from xlsengine.bench.advice.short_answers import SHORT_ANSWERS, YOUR_CRAFT
from xlsengine.bench.advice.statements import LEFT_OUT, ONE_SAMPLE, left_out_count, typed_readings
from xlsengine.bench.declaring.spoken import in_thousands
from xlsengine.bench.groups import by_propeller as by
from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import conditions as b
from xlsengine.bench.inputs.craft import airspeed, craft_propeller, pack_cells, way_of_flying
from xlsengine.bench.inputs.motor import label_kv, test_date, tester
from xlsengine.bench.inputs.settings import esc_burst_ratio, flight_share_high, flight_share_low
from xlsengine.bench.judging.counting import WHY
from xlsengine.bench.uncertainty.telling_apart import EFFICIENCY_LEAD, THRUST_LEAD
from xlsengine.expression import Aggregate, Column, Condition, Constant, Node, join, say
from xlsengine.study.assessment import Assessment
from xlsengine.study.evaluation import EPOCH, Scope
from xlsengine.text_operations import fixed_text
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.marked_readings import cell_in, esc_caveat, left_out_statement
from xlsengine.workbook.sheets.report_table import fields, in_flight


@dataclass(frozen=True)
class Line:
    """A propeller on one cell count: its figures as shown, in the order of `HEADERS`, and as numbers to sort by.

    `place` is the cell count's place among those tested, `peak` and `doubtful` are the marks of the Report.
    """

    prop: str
    cells: str
    place: int
    shown: tuple[str, ...]
    numbers: tuple[float | None, ...]
    peak: bool
    doubtful: bool


@dataclass(frozen=True)
class Answer:
    """What a reader asks, in a line, and in words."""

    title: str
    line: str
    words: str


@dataclass(frozen=True)
class Content:
    """Everything that pictures, page and tables say of a test."""

    title: str
    kv: str
    tester: str
    date: str
    disclosure: str
    motor: str
    conditions: str
    short_conditions: str
    lines: tuple[Line, ...]
    props: tuple[str, ...]
    cell_counts: tuple[str, ...]
    answers: tuple[Answer, ...]
    air: Answer
    bursts: str
    deciding: tuple[str, ...]
    caveat: str
    left_out: str
    why_left_out: str
    estimate: str
    checks: str
    within: dict[int, float]
    """Percent of the best within which a figure is a tie with it; NaN where nothing was compared."""

    @property
    def sample(self) -> str:
        """Return what is known of where the sample came from, without what is true of every test."""
        return self.disclosure.removesuffix(ONE_SAMPLE)

    def line_of(self, prop: str, place: int) -> Line | None:
        """Return the line of a propeller on a cell count; None where it was not tested on it."""
        return self._by_place.get((prop, place))

    @cached_property
    def _by_place(self) -> dict[tuple[str, int], Line]:
        return {(line.prop, line.place): line for line in self.lines}

    def is_best(self, line: Line, figure: int) -> bool:
        """Tell whether a line has the highest thrust, or the most grams per watt, of its cell count, or a tie with it."""
        number, within = line.numbers[figure], self.within.get(figure)
        if number is None or within is None:
            return False
        most = self._most[figure, line.place]
        return number == most or number >= most / (1 + within / 100)

    @property
    def label(self) -> str:
        """Return the Kv of the label in words, and that it was not given."""
        return f"{self.kv} (label)" if self.kv else "Kv of the label not given"

    @cached_property
    def _most(self) -> dict[tuple[int, int], float]:
        found: dict[tuple[int, int], float] = {}
        for line in self.lines:
            for figure, number in enumerate(line.numbers):
                if number is not None:
                    found[figure, line.place] = max(number, found.get((figure, line.place), number))
        return found


_FIRST = ("Thrust (g)", "Current (A)", "In flight* (A)", "ESC held (A)", "ESC burst (A)", "g/W")


def _fields(row: Column) -> list[tuple[str, Node, str]]:
    """Return the figures of a cell count as on the Report: what most people ask for first."""
    found = fields(row)
    return [(name, *found[name]) for name in dict.fromkeys((*_FIRST, *found))]


HEADERS: tuple[str, ...] = tuple(header for header, _, _ in _fields(by.row_on[0]))
THRUST, CURRENT, PER_WATT, AIR, HELD, BURSTS = (
    HEADERS.index(name)
    for name in ("Thrust (g)", "Current (A)", "g/W", "In flight* (A)", "ESC held (A)", "ESC burst (A)")
)


def in_cells(count: str) -> str:
    """Return a cell count in words.

    >>> in_cells("1"), in_cells("4")
    ('1 cell', '4 cells')
    """
    return "1 cell" if count == "1" else f"{count} cells"


def content_of(assessment: Assessment, layout: Layout) -> Content:
    """Return what is published of an assessment; `layout` is that of its results workbook, for the cells it names."""
    scope = _for_everybody(assessment.scope)
    lines = tuple(_lines(scope))
    counts = [scope.named(cells.name) for cells in by.tested_cells]
    deciding = {_text(scope, Aggregate("text at", (g.prop,), (), row)) for row in (esc.held_row, esc.flight_row)}
    return Content(
        title=_named(scope, "motor_title"),
        kv=_text(scope, join(in_thousands(label_kv), " rpm/V").otherwise("")),
        tester=_text(scope, tester),
        date=_date(scope.named(test_date.name)),
        disclosure=_named(scope, "disclosure"),
        motor=" ".join(filter(None, (_named(scope, "motor_statement"), _named(scope, "inspection_statement")))),
        conditions=_named(scope, "conditions_statement"),
        short_conditions=_text(scope, _SHORT_CONDITIONS),
        lines=lines,
        props=tuple(dict.fromkeys(line.prop for line in lines)),
        cell_counts=tuple(fixed_text(count, 0) or "" for count in counts if count == count),
        answers=_answers_for_everybody(scope, assessment.scope),
        air=air_of(scope),
        bursts=_text(scope, rule.flown_in_bursts(_BURSTS, "")),
        deciding=tuple(sorted(deciding - {""})),
        caveat=_text(scope, esc_caveat(cell_in(layout))),
        left_out=_text(scope, left_out_statement(cell_in(layout))),
        why_left_out=_why(scope),
        estimate=_text(scope, _ESTIMATE),
        checks=_named(scope, "checks_statement"),
        within={
            figure: scope.named(lead.name) for figure, lead in ((THRUST, THRUST_LEAD), (PER_WATT, EFFICIENCY_LEAD))
        },
    )


def _for_everybody(scope: Scope) -> Scope:
    """Return the values with the tester's own propeller and cell count left open: readers fly others."""
    own = dict.fromkeys((craft_propeller.name, pack_cells.name))
    if all(scope.test.fields[name] is None for name in own):
        return scope
    return replace(scope, test=replace(scope.test, fields={**scope.test.fields, **own}), placed={}, _kept={})


def answers_of(scope: Scope) -> tuple[Answer, ...]:
    """Return the short answers of the Report."""
    return tuple(Answer(*(_text(scope, node) for node in nodes)) for nodes in SHORT_ANSWERS)


def _answers_for_everybody(scope: Scope, own: Scope) -> tuple[Answer, ...]:
    """Return the answers for whatever is flown, a size with the cell count that it is for, and the tester's own craft."""
    *sizes, lift = answers_of(scope)
    cells = f" on {_text(scope, Aggregate('text at', (g.label,), (), esc.held_row)).rpartition(' on ')[2]}"
    told = (replace(each, line=each.line + cells * each.line.endswith("or larger")) for each in sizes)
    craft = answers_of(own)[-1]
    return *told, replace(craft, title="The tester's craft") if craft.title == YOUR_CRAFT else lift


_SHORT_CONDITIONS = say(
    "One sample, static bench: {}{}; volts read at {}{}; {}, {}.",
    b.supply.otherwise("supply not stated"),
    b.supply_rest_voltage.present().where(join(", ", b.supply_rest_voltage.fixed(1).otherwise(""), " V at rest"), ""),
    b.voltage_read_at.otherwise("a place not stated"),
    b.averaging_window.present().where(join("; means of ", b.averaging_window.fixed(1).otherwise(""), " s"), ""),
    join(b.air_temperature.fixed(0), " °C").otherwise("temperature not read"),
    join(b.air_pressure.fixed(0), " hPa").otherwise("pressure not read"),
)
_AIR_TITLE = rule.flies_forward(
    way_of_flying.present().where("Amps in forward flight, an estimate", "Amps in the air: flown forward, to held"),
    "Amps in the air: as on the bench",
)
_at_speed = by_speed.count(Condition(by_speed, "=", Constant(1.0))) > 0
_ESTIMATE = rule.flies_forward(
    say(
        "Amps in the air: {}flown forward {:.0f} to {:.0f} % below the bench (rule of thumb; wind tunnels mostly show "
        "more); else as on the bench.",
        _at_speed.where(say("at {:.0f} m/s by the propeller's own speed; where not read, ", airspeed), ""),
        flight_share_low,
        flight_share_high,
    ),
    "Amps are means; in the air: the highest on the bench, for hover, 3D, ducted and held full throttle.",
)
_BURSTS = say("ESC A: short bursts in forward flight, burst rating at least {:.2f} times it.", esc_burst_ratio)


def air_of(scope: Scope) -> Answer:
    """Return the amps to expect in flight of what decides the ESC."""
    return Answer(_text(scope, _AIR_TITLE), *_air(scope))


def _air(scope: Scope) -> tuple[str, str]:
    """Return the amps to expect in flight of what decides the ESC, and what they are of."""
    row = esc.flight_row if scope.named(esc.flight_row.name) == scope.named(esc.flight_row.name) else esc.held_row
    label, static = (Aggregate(how, (of,), (), row) for how, of in (("text at", g.label), ("at", g.static_current)))
    amps = _text(scope, rule.flies_forward(in_flight(row), static.fixed(1)))
    if not amps:
        return "No answer", f"Because {scope.named(esc.nothing_said.name)}."
    held = way_of_flying.present().where("", " and if held")
    bench = join(static.fixed(1), " A on the bench", held, "; never choose an ESC by the estimate alone")
    return f"{amps} A", _text(scope, join(label, "; ", rule.flies_forward(bench, "the highest on the bench")))


def _lines(scope: Scope) -> list[Line]:
    """Return the lines, the propeller of the highest thrust first, the lowest cell count first."""
    rows = scope.used_rows(by.BY_PROPELLER.name)
    names = scope.this_row(by.prop).tolist()[:rows]
    found = []
    for number, (row, kinds) in enumerate(zip(by.row_on, by.kind_on, strict=True)):
        there = scope.this_row(row).tolist()
        columns = [
            (shape, scope.value(node, scope.rows(by.BY_PROPELLER.name)).tolist()) for _, node, shape in _fields(row)
        ]
        count, kind = fixed_text(scope.named(by.tested_cells[number].name), 0) or "", scope.this_row(kinds).tolist()
        for place in range(rows):
            if there[place] == there[place]:
                cells = [(column[place], shape) for shape, column in columns]
                shown = tuple(as_shown(value, shape) for value, shape in cells)
                numbers = tuple(_sorted_by(value) for value, _ in cells)
                marks = int(kind[place])
                line = Line(str(names[place]), count, number, shown, numbers, marks & 1 == 1, marks & 2 == 2)
                found.append((place, number, line))
    return [line for *_, line in sorted(found, key=lambda each: each[:2])]


def as_shown(value: Any, number_format: str) -> str:
    """Return a cell's value as its number format shows it.

    >>> as_shown(1772.4, "#,##0_)"), as_shown(2.345, "0.00_)"), as_shown(float("nan"), "0.0_)")
    ('1,772', '2.35', '')
    """
    if value is None or value != value:
        return ""
    if isinstance(value, str) or not number_format:
        return str(value)
    decimals = len(number_format.rstrip("_)").partition(".")[2])
    text = fixed_text(float(value), decimals) or ""
    return f"{int(text):,}" if number_format.startswith("#,##0") else text


def _sorted_by(value: Any) -> float | None:
    """Return what a column is sorted by: the number, or the first one of a range such as 22–27 or ≥7.6."""
    if isinstance(value, str):
        first = value.removeprefix("≥").partition("–")[0]
        return float(first) if first.replace(".", "", 1).isdigit() else None
    return None if value is None or value != value else float(value)


def _why(scope: Scope) -> str:
    """Say in few words how many readings are left out: ``2 of 41 readings left out: 1 impossible, 1 by the tester``."""
    every, out = (fixed_text(scope.named(each.name), 0) for each in (typed_readings, left_out_count))
    readings = "1 reading" if every == "1" else f"{every} readings"
    if out == "0":
        return "The reading counts." if every == "1" else f"All {readings} count."
    kinds = ((words, scope.named(LEFT_OUT[kind].name)) for kind, words in WHY.items())
    return f"{out} of {readings} left out: " + ", ".join(f"{n:.0f} {words}" for words, n in kinds if n) + "."


def _named(scope: Scope, name: str) -> str:
    return str(scope.named(name) or "")


def _text(scope: Scope, node: Node) -> str:
    value = scope.any_value(node)
    return "" if value is None or value != value else str(value)


def _date(serial: float) -> str:
    return "" if serial != serial else (EPOCH + datetime.timedelta(days=int(serial))).isoformat()
