"""What the Report says in words: the motor, the conditions, the disclosure and the state of the checks."""

from xlsengine.bench.advice.whole_checks import raised_count
from xlsengine.bench.checks.fingerprint import checks_state
from xlsengine.bench.checks.row_checks import Severity, entry_severity
from xlsengine.bench.checks.row_entries import marked_column
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.declaring.spoken import if_there
from xlsengine.bench.inputs import conditions as b
from xlsengine.bench.inputs import motor as m
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import counting
from xlsengine.expression import ZERO, Condition, Constant, Named, Node, call, join, say
from xlsengine.sources import definition

STATEMENTS = Figures("Statements", "What the Report says in words.", source=definition("as typed on the input sheets"))


ONE_SAMPLE = "One sample, static bench, under the conditions stated."
_named = m.maker.present() | m.model.present()
motor_title = STATEMENTS.figure("motor_title", "Maker and model").derive(
    _named.where(call("trim", say("{} {}", m.maker, m.model)), m.test_id.otherwise("Motor not named"))
)
_leads = if_there(m.trimmed_lead_length, " to ", m.trimmed_lead_length.fixed(0), " mm")
_comma = if_there(m.mass_as_supplied, ", ")
_trimmed = say("{}{:.1f} g with leads trimmed{} ({}).", _comma, m.trimmed_mass, _leads, m.trimmed_mass_basis)
_weighed = m.trimmed_mass_measured.present() | m.lead_mass_removed.present()
_mass = m.trimmed_mass.present().where(_weighed.where(_trimmed, "; not weighed with trimmed leads."), "mass not given.")
_height = if_there(m.stator_height, " × ", m.stator_height.fixed(1))
_size = join(m.size_code_means.otherwise("size"), " ", m.stator_diameter.fixed(1), _height, " mm; ")
motor_statement = STATEMENTS.figure("motor_statement", "The motor").derive(
    join(
        _named.where(if_there(m.test_id, say("Test “{}”. ", m.test_id)), ""),
        "Motor: ",
        m.label_kv.present().where("", "labelled Kv not given; "),
        if_there(m.stator_diameter, _size),
        if_there(m.poles, m.poles.fixed(0), " poles; "),
        if_there(m.mass_as_supplied, m.mass_as_supplied.fixed(1), " g as supplied"),
        _mass,
    )
)
_MOST_PARTS = len(m.INSPECTION.rows) + m.INSPECTION.spare
_observation, _grade = map(m.INSPECTION.typed, ("observation", "grade"))
_expected = _grade.count(Condition(_grade, "=", Constant(m.GRADES[0])))


def _seen(place: int) -> Node:
    """Say what was seen of one part, unless it was as expected."""
    number = Constant(float(place))
    part, seen, grade = (m.INSPECTION.typed("inspected").at(number), _observation.at(number), _grade.at(number))
    graded = grade.equals("").where("", join(" (", grade, ")"))
    nothing = grade.equals(m.GRADES[0]) | (seen.equals("") & grade.equals(""))
    return nothing.where("", say(" {}: {}{}.", part, seen, graded)).otherwise("")


inspection_statement = STATEMENTS.figure("inspection_statement", "Inspection").derive(
    (_grade.count() + _observation.count() > 0).where(
        join(
            "Opened and inspected.",
            (_expected > 0).where(
                say(" {:.0f} {} as expected.", _expected, _expected.equals(1).where("part", "parts")), ""
            ),
            *map(_seen, range(1, _MOST_PARTS + 1)),
        ),
        "",
    )
)
conditions_statement = STATEMENTS.figure("conditions_statement", "Conditions").derive(
    say(
        "Bench: {}{}{}; {}{}{}{}{}{}; air density {:.3f} kg/m³ ({}).",
        b.supply.otherwise("supply not stated"),
        if_there(b.supply_capacity, " of ", b.supply_capacity.fixed(0), " mAh"),
        if_there(b.supply_rest_voltage, ", ", b.supply_rest_voltage.fixed(2), " V at rest"),
        b.voltage_read_at.present().where(
            join("voltage read at the ", b.voltage_read_at), "where voltage was read is not stated"
        ),
        if_there(b.esc_used, "; ESC ", b.esc_used),
        if_there(b.esc_timing, ", timing ", b.esc_timing.fixed(0), "°"),
        if_there(b.averaging_window, "; steady readings averaged over ", b.averaging_window.fixed(1), " s"),
        if_there(b.air_temperature, "; ", b.air_temperature.fixed(0), " °C"),
        if_there(b.air_pressure, ", ", b.air_pressure.fixed(0), " hPa"),
        b.air_density,
        b.air_density_basis,
    )
)
_saw = say("maker {} the results before publication", m.maker_saw_results.equals("yes").where("saw", "did not see"))
_origin = if_there(m.sample_origin, "Sample ", m.sample_origin)
_maker = if_there(m.maker_saw_results, m.sample_origin.present().where("; its ", "The "), _saw)
_said = (m.sample_origin.present() | m.maker_saw_results.present()).where(". ", "")
disclosure = STATEMENTS.figure("disclosure", "Disclosure").derive(join(_origin, _maker, _said, ONE_SAMPLE))

# --- the checks, and what is left out ------------------------------------------------------------------------------


FLAG_COUNTS: dict[Severity, Named] = {}
"""Readings by the severity of their entry, with the checks of the whole, all of them doubtful."""
for _severity in reversed(Severity):
    _from, _below = (Constant(float(_severity + step)) for step in (0, 1))  # one of speed alone, and one of more
    _readings = entry_severity.count(Condition(entry_severity, ">=", _from), Condition(entry_severity, "<", _below))
    FLAG_COUNTS[_severity] = STATEMENTS.figure(f"flags_{_severity.word}", f"Flags, {_severity.word}").derive(
        _readings + raised_count if _severity is Severity.DOUBTFUL else _readings
    )
_flags_told = say(
    "{:.0f} impossible, {:.0f} doubtful, {:.0f} {}, listed on Checks, each with its likely cause and what to do",
    *FLAG_COUNTS.values(),
    FLAG_COUNTS[Severity.NOTE].equals(1).where("note", "notes"),
)
_any_flag = sum(FLAG_COUNTS.values(), start=ZERO) > 0
checks_statement = STATEMENTS.figure("checks_statement", "State of the checks").derive(
    say(
        "Checks: {}; comparisons between readings are {}.",
        _any_flag.where(_flags_told, "nothing flagged"),
        checks_state,
    )
)
typed_readings = STATEMENTS.figure("typed_readings", "Readings").derive(r.prop.count())
_of_kind = {kind: Condition(counting.standing, "=", Constant(kind)) for kind in counting.WHY}
LEFT_OUT: dict[float, Named] = {
    kind: STATEMENTS.figure(f"left_out_{name}", f"Readings left out, {words}").derive(
        counting.standing.count(_of_kind[kind])
    )
    for kind, name, words in (
        (counting.IMPOSSIBLE, "impossible", "impossible"),
        (counting.BY_TESTER, "by_tester", "by the tester"),
        (counting.UNREADABLE, "unreadable", "cannot be read"),
    )
}
left_out_count = STATEMENTS.figure("left_out_count", "Readings left out").derive(sum(LEFT_OUT.values(), start=ZERO))


def _named_row(kind: float, name: str, place: int) -> tuple[Named, Named]:
    """Derive the row of Readings of the `place`-th reading left out for a reason, and the column that it is left out for."""
    row = STATEMENTS.figure(f"{name}_row_{place}", f"Left out, {name}, {place}: row").derive(
        r.row_number.largest(_of_kind[kind], place=LEFT_OUT[kind] + (1.0 - place))
    )
    column = STATEMENTS.figure(f"{name}_column_{place}", f"Left out, {name}, {place}: column")
    return row, column.derive(marked_column.at(row))


LEFT_OUT_CELLS: dict[float, tuple[tuple[Named, Named], ...]] = {
    kind: tuple(_named_row(kind, name, place) for place in range(1, most + 1))
    for kind, name, most in ((counting.IMPOSSIBLE, "impossible", 4), (counting.UNREADABLE, "unreadable", 1))
}
"""The first few readings that are left out for a cell of theirs."""
