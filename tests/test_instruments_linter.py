"""The linter passes a clean workbook and is seen to fire on every rule."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest
import xlsxwriter

from tests.instruments.formula_text import AreaUse, NameUse, TableUse, parse
from tests.instruments.functions import FUNCTIONS, refusal
from tests.instruments.grid import Area, cell_name
from tests.instruments.linter import Finding, Rule, lint

BOOK = "xl/workbook.xml"
READINGS = "xl/worksheets/sheet1.xml"
SETTINGS = "xl/worksheets/sheet2.xml"
TABLE = "xl/tables/table1.xml"
CHART = "xl/charts/chart1.xml"
DRAWING = "xl/drawings/drawing1.xml"

VOLTS = "bench[[#This Row],[Voltage (V)]]"
AMPS = "bench[[#This Row],[Current (A)]]"
POWER = f'IF(COUNT({VOLTS},{AMPS})<2,"",{VOLTS}*{AMPS}*factor)'
PLOTTED = "IF(ISNUMBER(bench[[#This Row],[Power (W)]]),bench[[#This Row],[Power (W)]],NA())"
# As they stand in the XML.
POWER_XML = POWER.replace("<", "&lt;")
VOLTS_HEADER = '<tableColumn id="2" name="Voltage (V)"/>'


def write_clean(path: Path) -> None:
    """Write a small workbook that uses everything the linter has rules for."""
    workbook = xlsxwriter.Workbook(str(path))
    readings, settings = workbook.add_worksheet("Readings"), workbook.add_worksheet("Set up")
    for sheet in (readings, settings):
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.set_footer("&P of &N")
    settings.write_row("A1", ["factor", 1.0])
    settings.write_column("A2", ["peak", "steady"])
    settings.add_table("D1:E3", {"name": "limits", "columns": [{"header": "Limit"}, {"header": "Value"}]})
    settings.print_area("A1:C9")
    settings.repeat_rows(0)
    settings.repeat_columns("A:A")
    workbook.define_name("factor", "='Set up'!$B$1")
    workbook.define_name("kinds", "='Set up'!$A$2:$A$3")
    for row, (volts, amps) in enumerate([(11.1, 4.0), (10.9, 8.0)], start=2):
        readings.write_row(f"A{row}", ["peak", volts, amps])
    headers = [{"header": "Kind"}, {"header": "Voltage (V)"}, {"header": "Current (A)"}]
    derived = [
        {"header": "Power (W)", "formula": f"={POWER}"},
        {"header": "Plotted (W)", "formula": f"={PLOTTED}"},
    ]
    readings.add_table("A1:E4", {"name": "bench", "columns": headers + derived})
    for row, watts in enumerate([11.1 * 4.0, 10.9 * 8.0, ""], start=2):
        readings.write_formula(f"D{row}", f"={POWER}", None, watts)
        readings.write_formula(f"E{row}", f"={PLOTTED}", None, "#N/A" if watts == "" else watts)
    write_summary(readings)
    readings.data_validation("A2:A4", {"validate": "list", "source": "=kinds"})
    readings.data_validation("A10", {"validate": "list", "source": ["yes", "no"]})
    readings.data_validation("A11", {"validate": "custom", "value": "=ISNUMBER(A11)"})
    readings.data_validation("A12", {"validate": "integer", "criteria": ">", "value": 2})
    readings.data_validation("A13", {"validate": "any", "input_title": "Note"})
    readings.data_validation("B2:C4", {"validate": "decimal", "criteria": "between", "minimum": 0, "maximum": 500})
    mark = workbook.add_format({"bold": True})
    readings.write_blank("K1", None, mark)
    readings.conditional_format("B2:B4", {"type": "formula", "criteria": "=$B2>factor", "format": mark})
    readings.conditional_format("C2:C4", {"type": "data_bar", "data_bar_2010": True})
    chart = workbook.add_chart({"type": "scatter"})
    columns = {"categories": "=Readings!$C$2:$C$4", "values": "=Readings!$E$2:$E$4"}
    chart.add_series({**columns, "name": "=Readings!$E$1"})
    readings.insert_chart("H12", chart, {"description": "Power against current"})
    workbook.close()


def write_summary(readings: xlsxwriter.worksheet.Worksheet) -> None:
    readings.write_formula("G1", "=SUM(bench[Power (W)])", None, 11.1 * 4.0 + 10.9 * 8.0)
    readings.write_formula("G2", "=SUMPRODUCT(--(bench[Current (A)]>5),bench[Voltage (V)])", None, 10.9)
    readings.write_array_formula("G3:G3", "{=MAX(IF(B2:B4>0,B2:B4))}", None, 11.1)
    readings.write_formula("G4", '=HYPERLINK("#\'Set up\'!B1","see "&ROUND(factor,1))', None, "see 1")
    readings.write_formula("G5", "=B2>10", None, True)
    readings.write_formula("G6", "=_xlfn.STDEV.S(B2:B3)", None, 0.1414213562373093)
    readings.write_formula("G7", "=bench[[#Headers],[Power (W)]]", None, "Power (W)")
    readings.write_url("G8", "internal:'Set up'!A1", string="settings")
    readings.merge_range("G9:H9", "merged")
    readings.merge_range("G10:H10", "merged as well")


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("linter") / "clean.xlsx"
    write_clean(path)
    return path


Change = tuple[str, str, str]  # part, old text, new text


def broken(clean: Path, out: Path, *changes: Change) -> list[Finding]:
    """Lint a copy of the workbook with some texts of its parts replaced at their first places."""
    with zipfile.ZipFile(clean) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            text = source.read(name).decode()
            for part, old, new in changes:
                if name == part:
                    assert old in text, f"{part} no longer holds {old}"
                    text = text.replace(old, new, 1)
            target.writestr(name, text)
    return lint(out)


def test_a_clean_workbook_has_no_findings(clean: Path) -> None:
    assert lint(clean) == []


def formula(text: str) -> Change:
    """Return the replacement that puts another formula into a cell of its own."""
    return READINGS, "<f>B2&gt;10</f>", f"<f>{text}</f>"


def name(text: str) -> Change:
    return BOOK, "'Set up'!$B$1", text


NOT_FITTED = '<sheetPr><pageSetUpPr fitToPage="1"/></sheetPr>'
SERIES_NAME = (
    "<c:tx><c:strRef><c:f>Readings!$E$1</c:f><c:strCache>"
    '<c:ptCount val="1"/><c:pt idx="0"><c:v>Plotted (W)</c:v></c:pt></c:strCache></c:strRef></c:tx>'
)
SECOND_TABLE = (
    '<table xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" id="{}" name="b" '
    'displayName="{}" ref="{}"><tableColumns><tableColumn id="1" name="{}"/></tableColumns></table>'
)

# One replacement, and the rule it must be found by.
BREAKS: list[tuple[Rule, Change]] = [
    (Rule.XML_BROKEN, (READINGS, "</sheetData>", "")),
    (Rule.XML_BROKEN, (TABLE, 'ref="A1:E4"', 'ref="A1:"')),
    (Rule.PART_MISSING, ("xl/_rels/workbook.xml.rels", "worksheets/sheet2.xml", "worksheets/sheet9.xml")),
    (Rule.CELL_REPEATED, (READINGS, '<c r="B2">', '<c r="B2"><v>1</v></c><c r="B2">')),
    (Rule.CELL_ORDER, (READINGS, '<c r="B2">', '<c r="Z2"><v>1</v></c><c r="B2">')),
    (Rule.CELL_ORDER, (READINGS, '<c r="B2">', '<c r="B7">')),
    (Rule.CELL_ORDER, (READINGS, '<row r="3"', '<row r="9"')),
    (Rule.CELL_ORDER, (READINGS, '<row r="2"', '<row r="9"></row><row r="2"')),
    (Rule.VALUE_INVALID, (READINGS, "<v>11.1</v>", "<v>nan</v>")),
    (Rule.VALUE_INVALID, (READINGS, "<v>11.1</v>", "<v>1e999</v>")),
    (Rule.VALUE_INVALID, (READINGS, "<v>11.1</v>", "<v>None</v>")),
    (Rule.VALUE_INVALID, (READINGS, "<v>11.1</v>", "<v></v>")),
    (Rule.VALUE_INVALID, (READINGS, "<v>11.1</v>", "<v>np.float64(11.1)</v>")),
    (Rule.VALUE_INVALID, (READINGS, '<c r="B2"><v>11.1', '<c r="B2" t="b"><v>True')),
    (Rule.VALUE_INVALID, (READINGS, '<c r="B2"><v>11.1', '<c r="B2" t="s"><v>999')),
    (Rule.VALUE_INVALID, (READINGS, '<c r="B2"><v>11.1', '<c r="B2" t="s"><v>-1')),
    (Rule.VALUE_INVALID, (READINGS, 't="b"><f>', 't="s"><f>')),
    (Rule.VALUE_INVALID, (READINGS, 't="b"><f>', 't="inlineStr"><f>')),
    (Rule.VALUE_INVALID, (READINGS, '<c r="A1" t="s"><v>', '<c r="A1" t="s"><v>99')),
    (Rule.VALUE_INVALID, (READINGS, '<c r="B2"><v>11.1', '<c r="B2" t="str"><v>a')),
    (Rule.VALUE_INVALID, (READINGS, '<c r="B2"><v>11.1', '<c r="B2" t="z"><v>1')),
    (Rule.VALUE_INVALID, (READINGS, '<c r="B2"><v>11.1', '<c r="B2" t="e"><v>#N')),
    (Rule.VALUE_INVALID, ("xl/sharedStrings.xml", "<t>merged<", f"<t>{'x' * 32_768}<")),
    (Rule.PYTHON_TEXT, ("xl/sharedStrings.xml", "<t>merged<", "<t>nan<")),
    (Rule.PYTHON_TEXT, (READINGS, "<v>see 1</v>", "<v>np.float64(1.0)</v>")),
    (Rule.NO_STORED_VALUE, (READINGS, "<v>see 1</v>", "")),
    (Rule.ERROR_STORED, (READINGS, 't="b"><f>B2&gt;10</f><v>1', 't="e"><f>B2&gt;10</f><v>#N/A')),
    (Rule.ERROR_STORED, (READINGS, "#N/A</v>", "#VALUE!</v>")),
    (Rule.ERROR_STORED, (READINGS, '<c r="B2"><v>11.1', '<c r="B2" t="e"><v>#REF!')),
    (Rule.FORMULA_SYNTAX, formula("SUM(B2")),
    (Rule.FORMULA_SYNTAX, formula("SUM(B2))")),
    (Rule.FORMULA_SYNTAX, formula("=B2")),
    (Rule.FORMULA_SYNTAX, formula("B2 B3")),
    (Rule.FORMULA_SYNTAX, formula("B2+")),
    (Rule.FORMULA_SYNTAX, formula('"left open')),
    (Rule.FORMULA_SYNTAX, formula("SUM({1,2)")),
    (Rule.FORMULA_SYNTAX, formula("SUM({1,B2})")),
    (Rule.FORMULA_SYNTAX, formula("SUM(bench[Kind)")),
    (Rule.FORMULA_SYNTAX, formula("SUM(bench[[Kind],[Current (A)]])")),
    (Rule.FORMULA_SYNTAX, formula("SUM(bench[[#Nothing],[Kind]])")),
    (Rule.FORMULA_SYNTAX, formula("#REF!+1")),
    (Rule.FORMULA_SYNTAX, formula("B2;B3")),
    (Rule.FORMULA_SYNTAX, formula("Set up!B1")),
    (Rule.FORMULA_SYNTAX, formula("[1]Other!B1")),
    (Rule.FORMULA_TOO_LONG, formula("+".join(["B2"] * 3000))),
    (Rule.FORMULA_TOO_LONG, formula(f'"{"x" * 256}"')),
    (Rule.FORMULA_TOO_LONG, formula("ABS(" * 65 + "B2" + ")" * 65)),
    (Rule.FUNCTION_NOT_ALLOWED, formula("INDIRECT(B2)")),
    (Rule.FUNCTION_NOT_ALLOWED, formula("_xlfn.MAXIFS(B2:B4,B2:B4,1)")),
    (Rule.FUNCTION_NOT_ALLOWED, formula("STDEV.S(B2:B4)")),
    (Rule.FUNCTION_NOT_ALLOWED, formula('TEXT(B2,"0.0")')),
    (Rule.ARGUMENT_COUNT, formula("ROUND(B2)")),
    (Rule.ARGUMENT_COUNT, formula("PI(B2)")),
    (Rule.AT_REFERENCE, formula("bench[@Kind]")),
    (Rule.AT_REFERENCE, formula("bench[@[Voltage (V)]]")),
    (Rule.BARE_RANGE, formula("bench[Voltage (V)]")),
    (Rule.BARE_RANGE, formula("SUM(bench[Voltage (V)]*2)")),
    (Rule.BARE_RANGE, formula("ABS(B2:B4)")),
    (Rule.BARE_RANGE, formula("MAX(IF(B2:B4&gt;0,B2:B4))")),
    (Rule.BARE_RANGE, formula("SUMPRODUCT(IF(B2:B4&gt;0,1,0))")),
    (Rule.BARE_RANGE, formula("MAX(INDEX((B2:B4&gt;1)*B2:B4,0))")),
    (Rule.BARE_RANGE, formula('kinds&amp;""')),
    (Rule.UNKNOWN_SHEET, formula("Elsewhere!B1")),
    (Rule.OUTSIDE_GRID, formula("XFE1")),
    (Rule.OUTSIDE_GRID, formula("A1048577")),
    (Rule.OUTSIDE_GRID, formula("SUM(B4:B2)")),
    (Rule.UNKNOWN_TABLE, formula("SUM(stand[Kind])")),
    (Rule.UNKNOWN_HEADER, formula("SUM(bench[Thrust (g)])")),
    (Rule.UNKNOWN_HEADER, formula("SUM(bench[#Totals])")),
    (Rule.OUTSIDE_TABLE, formula("bench[[#This Row],[Kind]]")),
    (Rule.UNKNOWN_NAME, formula("divisor")),
    (Rule.NAME_INVALID, (BOOK, 'name="kinds"', 'name="Kv1"')),
    (Rule.NAME_INVALID, (BOOK, 'name="kinds"', 'name="R1C1"')),
    (Rule.NAME_INVALID, (BOOK, 'name="kinds"', 'name="no load"')),
    (Rule.NAME_INVALID, (BOOK, 'name="kinds"', 'name="factor"')),
    (Rule.NAME_INVALID, (BOOK, 'name="kinds"', 'name="bench"')),
    (Rule.NAME_TARGET, name("Elsewhere!$B$1")),
    (Rule.NAME_TARGET, name("'Set up'!B1")),
    (Rule.NAME_TARGET, name("'Set up'!$B$99")),
    (Rule.NAME_TARGET, name("2.5")),
    (Rule.TABLE_NAME, (TABLE, 'displayName="bench"', 'displayName="a bench"')),
    (Rule.TABLE_NAME, (TABLE, 'displayName="bench"', 'displayName="T1"')),
    (Rule.TABLE_SHAPE, (TABLE, 'ref="A1:E4"', 'ref="A1:F4"')),
    (Rule.TABLE_SHAPE, (TABLE, 'ref="A1:E4"', 'ref="A1:E1"')),
    (Rule.TABLE_HEADER, (TABLE, VOLTS_HEADER, '<tableColumn id="2" name="Volts"/>')),
    (Rule.TABLE_HEADER, (TABLE, VOLTS_HEADER, '<tableColumn id="2" name="kind"/>')),
    (Rule.TABLE_HEADER, ("xl/sharedStrings.xml", "<t>Kind<", "<t>Kind <")),
    (Rule.TABLE_HEADER, (READINGS, '<c r="A1" t="s">', '<c r="A1">')),
    (Rule.TABLE_FORMULA, (READINGS, POWER_XML, POWER_XML.replace("factor", "2"))),
    (Rule.TABLE_FORMULA, (READINGS, f"<f>{POWER_XML}</f>", "")),
    (
        Rule.TABLE_FORMULA,
        (TABLE, f"<calculatedColumnFormula>{POWER_XML}</calculatedColumnFormula>", ""),
    ),
    (Rule.CHART_REFERENCE, (CHART, "Readings!$E$2:$E$4", "Elsewhere!$E$2:$E$4")),
    (Rule.CHART_REFERENCE, (CHART, "Readings!$E$2:$E$4", "Readings!$E$2:$XFE$4")),
    (Rule.CHART_REFERENCE, (CHART, "Readings!$E$2:$E$4", "{1,2}")),
    (Rule.CHART_ALT_TEXT, (DRAWING, ' descr="Power against current"', "")),
    (Rule.CHART_SERIES_NAME, (CHART, SERIES_NAME, "")),
    (Rule.CONDITION, (READINGS, "$B2&gt;factor", "$B2&gt;divisor")),
    (Rule.CONDITION, (READINGS, "<formula>$B2&gt;factor</formula>", "")),
    (Rule.CONDITION, (READINGS, "$B2&gt;factor", "SUM(bench[Current (A)])&gt;1")),
    (Rule.CONDITION, (READINGS, 'Formatting sqref="B2:B4"', 'Formatting sqref="B2:XFE4"')),
    (Rule.CONDITION, (READINGS, "<xm:sqref>C2:C4</xm:sqref>", "<xm:sqref></xm:sqref>")),
    (Rule.VALIDATION, (READINGS, "<formula1>kinds", "<formula1>sorts")),
    (Rule.VALIDATION, (READINGS, "<formula1>kinds", "<formula1>bench[Kind]")),
    (Rule.VALIDATION, (READINGS, "<formula1>kinds", "<formula1>'Set up'!$A$50:$A$60")),
    (Rule.VALIDATION, (READINGS, "<formula1>kinds", "<formula1>'Set up'!$A$1:$B$3")),
    (Rule.VALIDATION, (READINGS, '"yes,no"', '"yes,"')),
    (Rule.VALIDATION, (READINGS, '"yes,no"', f'"yes,{"o" * 256}"')),
    (Rule.VALIDATION, (READINGS, "<formula2>500</formula2>", "")),
    (Rule.VALIDATION, (READINGS, "<formula1>kinds</formula1>", "")),
    (Rule.VALIDATION, (READINGS, 'sqref="B2:C4"><formula1>0', 'sqref=""><formula1>0')),
    (Rule.LINK_TARGET, (READINGS, "location=\"'Set up'!A1\"", 'location="Elsewhere!A1"')),
    (Rule.LINK_TARGET, (READINGS, "\"#'Set up'!B1\"", '"#Elsewhere!B1"')),
    (Rule.MERGE_OVERLAP, (READINGS, 'mergeCell ref="G10:H10"', 'mergeCell ref="G9:G10"')),
    (Rule.MERGE_OVERLAP, (READINGS, 'mergeCell ref="G10:H10"', 'mergeCell ref="E4:F4"')),
    (Rule.PAGE_SETUP, (SETTINGS, NOT_FITTED, "")),
    (Rule.PAGE_SETUP, (SETTINGS, ' orientation="landscape"', "")),
    (Rule.PAGE_SETUP, (SETTINGS, "<oddFooter>&amp;P of &amp;N</oddFooter>", "")),
]
# These take more than one replacement; each has a test of its own below.
BUILT = {Rule.PART_REPEATED, Rule.TABLE_OVERLAP}


@pytest.mark.parametrize(
    ("rule", "change"), BREAKS, ids=[f"{rule.name}-{number}" for number, (rule, _) in enumerate(BREAKS)]
)
def test_each_break_is_found_by_its_rule(clean: Path, tmp_path: Path, rule: Rule, change: Change) -> None:
    findings = broken(clean, tmp_path / "broken.xlsx", change)
    assert rule in {finding.rule for finding in findings}, findings


def test_every_rule_is_seen_to_fire() -> None:
    assert {rule for rule, _ in BREAKS} | BUILT == set(Rule)


def test_a_finding_names_part_cell_and_reason(clean: Path, tmp_path: Path) -> None:
    findings = broken(clean, tmp_path / "broken.xlsx", formula("divisor"))
    assert findings == [Finding(READINGS, "G5", Rule.UNKNOWN_NAME, "no defined name 'divisor'")]
    assert str(findings[0]) == f"{READINGS} G5: unknown name: no defined name 'divisor'"


def test_a_part_written_twice(clean: Path, tmp_path: Path) -> None:
    out = tmp_path / "twice.xlsx"
    out.write_bytes(clean.read_bytes())
    with (
        pytest.warns(UserWarning, match="Duplicate name"),
        zipfile.ZipFile(out, "a") as archive,
    ):
        archive.writestr(SETTINGS, archive.read(SETTINGS))
    assert [finding.rule for finding in lint(out)] == [Rule.PART_REPEATED]


@pytest.mark.parametrize(
    ("number", "title", "ref", "header", "expected"),
    [
        ("9", "other", "D1:D4", "Power (W)", {Rule.TABLE_OVERLAP}),
        ("9", "Bench", "G9:G10", "merged", {Rule.TABLE_NAME, Rule.MERGE_OVERLAP}),
        ("1", "other", "G8:G10", "settings", {Rule.TABLE_NAME, Rule.MERGE_OVERLAP}),
    ],
)
def test_a_second_table(
    clean: Path, tmp_path: Path, number: str, title: str, ref: str, header: str, expected: set[Rule]
) -> None:
    relations = "xl/worksheets/_rels/sheet1.xml.rels"
    link = '<Relationship Id="rId9" Type="http://x/relationships/table" Target="../tables/table9.xml"/>'
    out = tmp_path / "tables.xlsx"
    with zipfile.ZipFile(clean) as source, zipfile.ZipFile(out, "w") as target:
        for part in source.namelist():
            text = source.read(part).decode()
            end = "</Relationships>"
            target.writestr(part, text.replace(end, link + end) if part == relations else text)
        target.writestr("xl/tables/table9.xml", SECOND_TABLE.format(number, title, ref, header))
    found = {finding.rule for finding in lint(out)}
    # The second table repeats a calculated column without declaring it, which is found as well.
    assert found - {Rule.TABLE_FORMULA} == expected


@pytest.mark.parametrize(("header", "wrong"), [("kind", "twice"), (" ", "blank"), ("V@", "@ in it")])
def test_a_header_that_no_table_may_have(clean: Path, tmp_path: Path, header: str, wrong: str) -> None:
    in_table = (TABLE, 'name="Voltage (V)"', f'name="{header}"')
    in_sheet = ("xl/sharedStrings.xml", "<t>Voltage (V)<", f"<t>{header}<")
    findings = broken(clean, tmp_path / "broken.xlsx", in_table, in_sheet)
    found = {finding.message for finding in findings if finding.rule is Rule.TABLE_HEADER}
    assert found == {wrong}


def test_a_table_without_a_header_row(tmp_path: Path) -> None:
    path = tmp_path / "headless.xlsx"
    with xlsxwriter.Workbook(str(path)) as workbook:
        sheet = workbook.add_worksheet("Readings")
        sheet.set_portrait()
        sheet.fit_to_pages(1, 0)
        sheet.set_header("&A")
        sheet.write_column("A2", [1.0, 2.0])
        sheet.add_table("A2:A3", {"name": "bench", "header_row": False, "columns": [{"header": "Thrust (g)"}]})
        sheet.write_formula("C1", "=SUM(bench[Thrust (g)])", None, 3)
    assert lint(path) == []
    change = (READINGS, "<f>SUM(bench[Thrust (g)])", "<f>SUM(bench[#Headers])")
    assert [finding.rule for finding in broken(path, tmp_path / "headers.xlsx", change)] == [Rule.UNKNOWN_HEADER]


def test_a_totals_cell_that_differs_from_its_definition(tmp_path: Path) -> None:
    path = tmp_path / "totals.xlsx"
    with xlsxwriter.Workbook(str(path)) as workbook:
        sheet = workbook.add_worksheet("Readings")
        sheet.set_portrait()
        sheet.fit_to_pages(1, 0)
        sheet.set_header("&A")
        sheet.write_column("A2", [1.0, 2.0])
        total = {"header": "Thrust (g)", "total_function": "=SUBTOTAL(109,bench[Thrust (g)])", "total_value": 3}
        sheet.add_table("A1:A4", {"name": "bench", "total_row": True, "columns": [total]})
    assert lint(path) == []
    changed = broken(path, tmp_path / "changed.xlsx", (READINGS, "<f>SUBTOTAL(109,", "<f>SUBTOTAL(101,"))
    assert [finding.rule for finding in changed] == [Rule.TABLE_FORMULA]


@pytest.mark.parametrize(
    "text",
    [
        "-B2^-2%",
        "(-(B2))^(2)",
        'IF(B2="",,"say ""so""")',
        "SUM({1,-2;TRUE,#N/A})",
        "SUM(bench[[Voltage (V)]:[Current (A)]])",
        "ROWS(bench[])",
        "ROWS(bench[#Data])",
        "SUM('Set up'!A:B,Readings!1:2)",
        "SUM(B2:INDEX(B2:B4,2))",
        "SLOPE(bench[Voltage (V)],bench[Current (A)])",
        "LOG10(B2)+1.5E-3*TRUE",
        "SUM(factor,kinds)",
    ],
)
def test_sound_formulas_pass(clean: Path, tmp_path: Path, text: str) -> None:
    assert broken(clean, tmp_path / "sound.xlsx", formula(text)) == []


def test_headers_with_escaped_characters() -> None:
    assert parse("SUM(t_[a'#b '[1']''s])").uses == [TableUse("t_", frozenset(), ("a#b [1]'s",))]
    expected = TableUse("t_", frozenset({"#This Row"}), ("a'b", "°C %²"))
    assert parse("SUM(t_[[#This Row],[a''b]:[°C %²]])").uses == [expected]


def test_what_a_formula_uses() -> None:
    parsed = parse("'It''s'!$B$2+Readings!factor+η_max")
    assert parsed.uses == [
        AreaUse("It's", "$B$2"),
        NameUse("Readings", "factor"),
        NameUse(None, "η_max"),
    ]


def test_every_allowed_function_is_allowed_and_counts_its_arguments() -> None:
    for title, function in FUNCTIONS.items():
        assert refusal(title) is None
        arguments = ",".join(["1"] * function.least)
        assert parse(f"{title}({arguments})").faults == []
        too_many = ",".join(["1"] * (function.most + 1))
        assert [rule for rule, _ in parse(f"{title}({too_many})").faults][-1] is Rule.ARGUMENT_COUNT


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("B2", Area(2, 2, 2, 2)),
        ("$B$2:AA9", Area(2, 2, 9, 27)),
        ("B:C", Area(1, 2, 1_048_576, 3)),
        ("2:$9", Area(2, 1, 9, 16_384)),
    ],
)
def test_areas_are_read(text: str, expected: Area) -> None:
    assert Area.parse(text) == expected


@pytest.mark.parametrize("text", ["", "B", "2", "B0", "b2", "B2:", "B2:C", "B2:3", "XFE1", "A1048577", "C3:B2"])
def test_what_is_no_area_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=f"^{text}"):
        Area.parse(text)


def test_cell_names() -> None:
    assert [cell_name(1, 1), cell_name(9, 26), cell_name(9, 27), cell_name(1_048_576, 16_384)] == [
        "A1",
        "Z9",
        "AA9",
        "XFD1048576",
    ]
