"""Sentences on the sheets, and the rules that mark rows, against what stands in the cells that they speak of."""

from pathlib import Path
from typing import Any

import pytest
from openpyxl.utils import get_column_letter

from tests.judged import labels
from tests.judged.full_bench import LEFT_OUT, ROWS, SEEN, shown
from tests.judged.test_whole_reading import reading_with_torque
from tests.judged.workbook_by_labels import Workbook, hue, written
from tests.judged.worked_benches import SESSION, Row, assessed


@pytest.fixture(scope="module")
def workbook(shown_workbook: Workbook) -> Workbook:
    return shown_workbook


def sentences(workbook: Workbook, sheet: str) -> str:
    """Return all texts of a sheet, one a line."""
    cells = (cell.value for row in workbook.book[sheet].iter_rows() for cell in row)
    return "\n".join(str(value) for value in cells if isinstance(value, str))


@pytest.mark.parametrize(
    ("sheet", "said"),
    [
        (
            "Report",
            "Test “judged”. Motor: stator 22.0 × 7.0 mm; 14 poles; 34.0 g as supplied, "
            "32.0 g with leads trimmed to 50 mm (measured). "
            "Opened and inspected. 1 part as expected. Shaft: bent (concern). Magnets: rust (note).",
        ),
        (
            "Report",
            "Bench: bench supply, 16.40 V at rest; voltage read at the ESC input; ESC plain 60 A, timing 15°; steady "
            "readings averaged over 2.5 s; 21 °C, 987 hPa; air density 1.165 kg/m³ (from measured temperature, pressure, "
            "humidity).",
        ),
        (
            "Report",
            "Sample lent; its maker saw the results before publication. One sample, static bench, under the conditions "
            "stated.",
        ),
        ("Report", "Invented worked by hand  ·  1,700 rpm/V (label)"),
        ("Report", "Kv by free spin"),
        (
            "Propellers",
            "Reference: 3.70 V per cell and 1.225 kg/m³, from Settings. Corrected figures are estimates, shown "
            "beside the measured ones.",
        ),
        (
            "Speed figures",
            "Speed was read in 13 of 13 readings. Shaft power is measured in 0 and modelled, an estimate good to 5 or "
            "10 %, in 8.",
        ),
        (
            "Craft",
            "Green: best, or within 5 %. Estimate: less sure; rough: not told. Amber: over 50C, more than packs hold for "
            "long; red: over 100C, more than any (common practice). From the pack: 1.25 times where no peak counts.",
        ),
        ("Uncertainty", "“±” holds the true value with a confidence of 95 %, if the accuracies are right."),
    ],
)
def test_a_sentence(workbook: Workbook, sheet: str, said: str) -> None:
    """The air of 21 °C, 987 hPa and 40 % has 98,700/(287.05·294.15) less 0.4 %: 1.165 kg/m³."""
    assert said in sentences(workbook, sheet).split("\n")


@pytest.mark.parametrize(
    ("sheet", "begins", "figures"),
    [
        ("Repeatability", "Drift over the runs is ", ("drift_verdict",)),
        ("Repeatability", "Zero of the stand: ", ("zero_verdict",)),
        ("Repeatability", "Scatter is taken from ", ("scatter_basis",)),
        ("Uncertainty", "Accuracies of the instruments: ", ("accuracies_basis",)),
    ],
)
def test_a_sentence_of_verdicts(workbook: Workbook, sheet: str, begins: str, figures: tuple[str, ...]) -> None:
    found = shown().figures()
    (said,) = {
        line for line in sentences(workbook, sheet).split("\n") if line.startswith(begins) and line.endswith(".")
    }
    places = [said.index(str(found[name])) for name in figures]
    assert places[0] == len(begins)
    assert places == sorted(places)


def test_sample_and_maker_in_words() -> None:
    """What was left blank is not talked about: nobody is suspected for an empty field."""
    told = (
        ("lent", "yes", "Sample lent; its maker saw the results before publication. One sample, "),
        (None, "no", "The maker did not see the results before publication. One sample, "),
        ("bought", None, "Sample bought. One sample, "),
        (None, None, "One sample, "),
    )
    for origin, seen, words in told:
        fields: Row = {"sample_origin": origin, "maker_saw_results": seen}
        assert str(assessed(SESSION, fields).figures()["disclosure"]).startswith(words)


# --- marks on rows -----------------------------------------------------------------------------------------------------


def rules(workbook: Workbook, sheet: str) -> list[tuple[str, str, Any]]:
    """Return area, formula and style of the rules by formula of a sheet."""
    return [
        (str(area.sqref), str(rule.formula[0]), rule.dxf)
        for area in workbook.formulas[sheet].conditional_formatting
        for rule in area.rules
        if rule.type == "expression"
    ]


def letter(workbook: Workbook, sheet: str, header: str) -> str:
    return get_column_letter(workbook.find(sheet, header).column)


def test_rows_left_out_are_struck_through_or_greyed(workbook: Workbook) -> None:
    first = workbook.find("Readings", "Prop").row + 1
    use, standing = (letter(workbook, "Readings", header) for header in ("Use", "Standing"))
    found = [(area, formula, style) for area, formula, style in rules(workbook, "Readings") if style.font is not None]
    (struck,) = [(area, style) for area, formula, style in found if f'${use}{first}="no"' in formula]
    greyed = [(area, style) for area, formula, style in found if f"N(${standing}{first})<0" in formula]
    assert struck[1].font.strike
    assert struck[0].startswith(f"A{first}:")
    assert greyed[0][0].startswith(f"A{first}:")
    assert all(hue(str(style.font.color.rgb)) == hue("5F6B76") for _, style in greyed)
    values = workbook.column("Readings", "Standing")
    assert [values[row] for row in (0, *LEFT_OUT)] == [3, -2, -1]


@pytest.mark.parametrize("severity", labels.MARKS)
def test_flags_and_the_typed_cells_that_they_are_about_are_marked(workbook: Workbook, severity: int) -> None:
    """The sign stands in the number format, so that a marked number stays one and reads in grey print."""
    first, (sign, colour) = workbook.find("Readings", "Prop").row + 1, labels.MARKS[severity]
    level, about = (letter(workbook, "Readings", header) for header in ("Severity", "Mark, column"))
    asked = [each for each in rules(workbook, "Readings") if f"INT(N(${level}{first}))={severity}" in each[1]]
    assert [hue(str(style.fill.bgColor.rgb)) for _, _, style in asked] == [colour] * 2
    ((typed, formula, style),) = [each for each in asked if f"${about}{first}" in each[1]]
    assert typed.startswith(f"A{first}:{letter(workbook, 'Readings', 'Note')}")
    assert f"COLUMN()-COLUMN($A${first - 1})+1" in formula
    parts = style.numFmt.formatCode.split(";")
    assert len(parts) == 4
    assert all(part.startswith(f'"{sign} "') for part in (parts[0], parts[3]))
    flag = letter(workbook, "Readings", "Flag")
    assert any(area.startswith(f"{flag}{first}:{flag}") for area, _, _ in asked)


def test_a_flag_says_what_it_is_and_whether_the_reading_counts(workbook: Workbook) -> None:
    """The thrust of 7000 g is the eleventh typed cell of its row."""
    flags = workbook.column("Readings", "Flag")
    by_tester, impossible = LEFT_OUT
    assert flags[impossible] == "▲ Decimal slip in thrust (impossible). Left out."
    assert flags[by_tester] == "– Left out by the tester."
    assert flags[0] is None
    marks = [workbook.column("Readings", header)[impossible] for header in ("Severity", "Mark, column")]
    assert marks == [3, 11]
    assert workbook.find("Readings", "Thrust (g)").column == 11


def test_readings_fit_a_screen(workbook: Workbook) -> None:
    """A screen of 1920 pixels shows 1880 beside the row numbers; a letter takes 7 pixels and a column 5 more."""
    sheet = workbook.formulas["Readings"]
    shown = [each for each in sheet.column_dimensions.values() if not each.hidden]
    widths = {each.width: 0 for each in shown}
    for each in shown:
        widths[each.width] += each.max - each.min + 1
    assert sum(widths.values()) >= 20
    assert sum(((width - 5 / 7) * 7 + 5) * columns for width, columns in widths.items()) <= 1880
    flag, power = (workbook.find("Readings", header).column for header in ("Flag", "Power (W)"))
    assert (flag, power) == (workbook.find("Readings", "Note").column + 1, flag + 1)


def test_the_report_marks_peaks_best_and_flagged_figures(workbook: Workbook) -> None:
    """Beside the page a number a propeller and cell count says, as a sum: 1 peaks, 2 a flagged reading, 4 no peak."""
    header, columns = workbook.header_row(labels.REPORT_BY_CELLS[4])
    of_thrust = [
        each for each in rules(workbook, "Report") if each[0].startswith(f"{get_column_letter(columns['thrust'])}")
    ]
    peak = [style.numFmt.formatCode for _, formula, style in of_thrust if formula.startswith("AND(MOD(N(")]
    assert peak == ['[<99.5]0.0" p";#,##0" p"']
    shades = [hue(style.fill.bgColor.rgb) for _, formula, style in of_thrust if "MOD(INT(N(" in formula]
    assert shades == ["amber", "amber"]
    assert [hue(style.fill.bgColor.rgb) for _, formula, style in of_thrust if "MAX(" in formula] == ["green", "green"]
    kind = of_thrust[-1][1].partition("(N(")[2].partition(")")[0]
    assert workbook.book["Report"][kind.replace("$", "")].value == 0
    assert int(kind.lstrip("$ABCDEFGHIJKLMNOPQRSTUVWXYZ")) != header  # beside the table, not in its row


def test_the_state_of_the_checks_is_shaded_where_one_says_impossible_or_they_are_stale(workbook: Workbook) -> None:
    """By the words of the cell itself: a rule cannot speak of a cell on another sheet in every program."""
    (rule,) = [each for each in rules(workbook, "Report") if "OUT OF DATE" in each[1]]
    said = "$A$" + rule[0].partition(":")[0].lstrip("A")
    impossible = f'AND(ISNUMBER(FIND(" impossible",{said})),ISERROR(FIND(": 0 impossible",{said})))'
    assert rule[1] == f'OR({impossible},ISNUMBER(FIND("OUT OF DATE",{said})))'
    text = str(workbook.book["Report"][said.replace("$", "")].value)
    assert text.startswith("Checks: ")
    assert (" impossible" in text) == ("nothing flagged" not in text)
    (stale,) = [each for each in rules(workbook, "Checks") if "OUT OF DATE" in each[1]]
    assert stale[1] == 'ISNUMBER(FIND("OUT OF DATE",$A6))'
    assert "OUT OF DATE" in workbook.formulas["Checks"]["A6"].value
    assert str(workbook.book["Checks"][stale[0].partition(":")[0]].value).startswith("They are up to date")


LISTED = "listed on Checks, each with its likely cause and what to do; comparisons between readings are up to date."


@pytest.mark.parametrize(
    ("fields", "title", "state"),
    [
        ({}, "nothing to do", "nothing flagged; comparisons between readings are up to date."),
        ({"tip_mach_high": 0.3}, "nothing to do; 1 note to look at", f"0 impossible, 0 doubtful, 1 note, {LISTED}"),
    ],
    ids=["nothing", "a note"],
)
def test_notes_are_not_passed_over(fields: Row, title: str, state: str, tmp_path: Path) -> None:
    """By hand: 20,000 rpm of a 5 inch propeller are π·0.127·20000/60 = 133 m/s, 0.39 times 340.3 m/s."""
    found = written(assessed([reading_with_torque() | {"speed": 20_000.0}], fields), tmp_path / "results.xlsx")
    assert found.book["Checks"]["A1"].value == f"Checks: {title}"
    assert f"Checks: {state}" in sentences(found, "Report").split("\n")


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({}, "72.0 g as supplied; not weighed with trimmed leads."),
        (
            {"lead_gauge": 18.0, "lead_length_as_supplied": 150.0, "trimmed_lead_length": 150.0},
            "72.0 g as supplied, 72.0 g with leads trimmed to 150 mm (estimated from gauge and length).",
        ),
        ({"mass_as_supplied": None, "trimmed_mass_measured": 70.1}, "14 poles; 70.1 g with leads trimmed (measured)."),
        ({"mass_as_supplied": None}, "14 poles; mass not given."),
    ],
    ids=["as supplied", "estimated", "measured", "none"],
)
def test_no_trimmed_mass_is_told_that_nobody_weighed_or_estimated(fields: Row, said: str) -> None:
    mass: Row = {"mass_as_supplied": 72.0, "trimmed_mass_measured": None}
    assert str(assessed(SESSION, mass | fields).figures()["motor_statement"]).endswith(said)


@pytest.mark.parametrize(
    ("seen", "said"),
    [
        ([], None),
        (
            SEEN,
            "Opened and inspected. 1 part as expected. Shaft: bent (concern). Magnets: rust (note).",
        ),
        ([{"inspected": "Shaft", "observation": "bent"}], "Opened and inspected. Shaft: bent."),
        ([SEEN[2], SEEN[2]], "Opened and inspected. 2 parts as expected."),
        (
            [{"inspected": str(n), "observation": "odd", "grade": "note"} for n in range(16)],
            "Opened and inspected." + "".join(f" {n}: odd (note)." for n in range(16)),
        ),
    ],
    ids=["nothing", "all grades", "no grade", "sound", "as many as there are rows"],
)
def test_what_was_seen_inside_is_told(seen: list[Row], said: str | None) -> None:
    assert assessed(SESSION, {}, Inspection=seen).figures()["inspection_statement"] == said


def test_what_is_left_out_is_told_on_the_first_page(workbook: Workbook) -> None:
    said = sentences(workbook, "Report")
    assert f"2 of {len(ROWS) + 1} readings left out: 1 impossible" in said
    assert "1 by the tester" in said


def test_a_list_of_checks_has_heads_where_something_is_raised(tmp_path: Path) -> None:
    """24.6 V on four cells is more than any pack has: one entry, of a reading alone."""
    heads = []
    for name, rows in (("sound", SESSION), ("odd", (*SESSION[:2], SESSION[2] | {"voltage": 24.6}, *SESSION[3:]))):
        sheet = written(assessed(rows), tmp_path / f"{name}.xlsx").book["Checks"]
        cells = [cell.value for row in sheet.iter_rows() for cell in row]
        heads.append(cells.count("Severity"))
        assert cells.count("Severity") == cells.count("What to do")
    assert heads[0] == 0
    assert heads[1] > 0
