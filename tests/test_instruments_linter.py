"""The linter passes a clean workbook and is seen to fire on every rule."""

import re
import zipfile
from pathlib import Path

import pytest
import xlsxwriter

from tests.instruments.linter import Finding, Rule, lint
from tests.instruments.sample import POWER, write_clean

BOOK = "xl/workbook.xml"
READINGS = "xl/worksheets/sheet1.xml"
SETTINGS = "xl/worksheets/sheet2.xml"
TABLE = "xl/tables/table1.xml"
CHART = "xl/charts/chart1.xml"
DRAWING = "xl/drawings/drawing1.xml"

Change = tuple[str, str, str]  # part, old text, new text

# As they stand in the XML.
POWER_XML = POWER.replace("<", "&lt;")
VOLTS_HEADER = '<tableColumn id="2" name="Voltage (V)"/>'


@pytest.fixture(scope="module")
def clean(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("linter") / "clean.xlsx"
    write_clean(path)
    return path


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

# Formulas between bars, and the rule that each is found by.
FORMULAS: dict[Rule, str] = {
    Rule.FORMULA_SYNTAX: (
        'SUM(B2¦SUM(B2))¦=B2¦B2 B3¦B2+¦"left open¦SUM({1,2)¦SUM({1,B2})¦SUM(bench[Kind)¦'
        "SUM(bench[[Kind],[Current (A)]])¦SUM(bench[[#Nothing],[Kind]])¦SUM(bench[x[Kind]])¦"
        "SUM('Set up'!bench[Kind])¦#REF!+1¦B2;B3¦Set up!B1¦[1]Other!B1"
    ),
    Rule.FUNCTION_NOT_ALLOWED: 'INDIRECT(B2)¦_xlfn.MAXIFS(B2:B4,B2:B4,1)¦STDEV.S(B2:B4)¦TEXT(B2,"0.0")',
    Rule.ARGUMENT_COUNT: "ROUND(B2)¦PI(B2)",
    Rule.AT_REFERENCE: "bench[@Kind]¦bench[@[Voltage (V)]]",
    Rule.BARE_RANGE: (
        "bench[Voltage (V)]¦SUM(bench[Voltage (V)]*2)¦ABS(B2:B4)¦MAX(IF(B2:B4&gt;0,B2:B4))¦"
        'SUMPRODUCT(IF(B2:B4&gt;0,1,0))¦MAX(INDEX((B2:B4&gt;1)*B2:B4,0))¦kinds&amp;""'
    ),
    Rule.UNKNOWN_SHEET: "Elsewhere!B1",
    Rule.OUTSIDE_GRID: "XFE1¦A1048577¦SUM(B4:B2)",
    Rule.UNKNOWN_TABLE: "SUM(stand[Kind])",
    Rule.UNKNOWN_HEADER: "SUM(bench[Thrust (g)])¦SUM(bench[#Totals])",
    Rule.OUTSIDE_TABLE: "bench[[#This Row],[Kind]]",
    Rule.UNKNOWN_NAME: "divisor¦ROWS(Readings!bench)",
}
VALUES = (
    '"><v>nan¦"><v>1e999¦"><v>None¦"><v>¦"><v>np.float64(11.1)¦" t="b"><v>True¦" t="s"><v>999¦" t="s"><v>-1¦'
    '" t="str"><v>a¦" t="z"><v>1¦" t="e"><v>#N'
)
# One replacement, and the rule it must be found by.
BREAKS: list[tuple[Rule, Change]] = [
    *((rule, formula(text)) for rule, texts in FORMULAS.items() for text in texts.split("¦")),
    *((Rule.VALUE_INVALID, (READINGS, '"><v>11.1', text)) for text in VALUES.split("¦")),
    *(
        (Rule.NAME_INVALID, (BOOK, 'name="kinds"', f'name="{text}"'))
        for text in ("Kv1", "R1C1", "factor", "bench", "no load")
    ),
    *((Rule.NAME_TARGET, name(text)) for text in ("Elsewhere!$B$1", "'Set up'!B1", "'Set up'!$B$99", "2.5")),
    (Rule.XML_BROKEN, (READINGS, "</sheetData>", "")),
    (Rule.XML_BROKEN, (TABLE, 'ref="A1:E4"', 'ref="A1:"')),
    (Rule.PART_MISSING, ("xl/_rels/workbook.xml.rels", "worksheets/sheet2.xml", "worksheets/sheet9.xml")),
    (Rule.CELL_REPEATED, (READINGS, '<c r="B2">', '<c r="B2"><v>1</v></c><c r="B2">')),
    (Rule.CELL_ORDER, (READINGS, '<c r="B2">', '<c r="Z2"><v>1</v></c><c r="B2">')),
    (Rule.CELL_ORDER, (READINGS, '<c r="B2">', '<c r="B7">')),
    (Rule.CELL_ORDER, (READINGS, '<row r="3"', '<row r="9"')),
    (Rule.CELL_ORDER, (READINGS, '<row r="2"', '<row r="9"></row><row r="2"')),
    (Rule.VALUE_INVALID, (READINGS, 't="b"><f>', 't="s"><f>')),
    (Rule.VALUE_INVALID, (READINGS, 't="b"><f>', 't="inlineStr"><f>')),
    (Rule.VALUE_INVALID, (READINGS, '<c r="A1" t="s"><v>', '<c r="A1" t="s"><v>99')),
    (Rule.VALUE_INVALID, ("xl/sharedStrings.xml", "<t>merged<", f"<t>{'x' * 32_768}<")),
    (Rule.PYTHON_TEXT, ("xl/sharedStrings.xml", "<t>merged<", "<t>nan<")),
    (Rule.PYTHON_TEXT, (READINGS, "<v>see 1</v>", "<v>np.float64(1.0)</v>")),
    (Rule.NO_STORED_VALUE, (READINGS, "<v>see 1</v>", "")),
    (Rule.ERROR_STORED, (READINGS, 't="b"><f>B2&gt;10</f><v>1', 't="e"><f>B2&gt;10</f><v>#N/A')),
    (Rule.ERROR_STORED, (READINGS, "#N/A</v>", "#VALUE!</v>")),
    (Rule.ERROR_STORED, (READINGS, '<c r="B2"><v>11.1', '<c r="B2" t="e"><v>#REF!')),
    (Rule.FORMULA_TOO_LONG, formula("+".join(["B2"] * 3000))),
    (Rule.FORMULA_TOO_LONG, formula(f'"{"x" * 256}"')),
    (Rule.FORMULA_TOO_LONG, formula("ABS(" * 65 + "B2" + ")" * 65)),
    (Rule.OUTSIDE_TABLE, (SETTINGS, "ROUND(factor,0)", "bench[[#This Row],[Kind]]")),
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
    (Rule.TABLE_FORMULA, (TABLE, f"<calculatedColumnFormula>{POWER_XML}</calculatedColumnFormula>", "")),
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
    (Rule.LINK_TARGET, (READINGS, "location=\"'Set up'!A1\"", 'location="2"')),
    (Rule.MERGE_OVERLAP, (READINGS, 'mergeCell ref="G10:H10"', 'mergeCell ref="G9:G10"')),
    (Rule.MERGE_OVERLAP, (READINGS, 'mergeCell ref="G10:H10"', 'mergeCell ref="E4:F4"')),
    (Rule.PAGE_SETUP, (SETTINGS, NOT_FITTED, "")),
    (Rule.PAGE_SETUP, (SETTINGS, '<pageSetup fitToHeight="0" orientation="landscape"/>', "")),
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


@pytest.mark.parametrize("part", ["[Content_Types].xml", "_rels/.rels", BOOK])
def test_a_part_that_every_workbook_needs(clean: Path, tmp_path: Path, part: str) -> None:
    out = tmp_path / "lacking.xlsx"
    with zipfile.ZipFile(clean) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            if name != part:
                target.writestr(name, source.read(name))
    assert Finding(part, "", Rule.PART_MISSING, "not in the zip") in lint(out)


def test_a_part_written_twice(clean: Path, tmp_path: Path) -> None:
    out = tmp_path / "twice.xlsx"
    out.write_bytes(clean.read_bytes())
    with pytest.warns(UserWarning, match="Duplicate name"), zipfile.ZipFile(out, "a") as archive:
        archive.writestr(SETTINGS, archive.read(SETTINGS))
    assert [finding.rule for finding in lint(out)] == [Rule.PART_REPEATED]


def with_plain_cells(clean: Path, out: Path, off: int) -> Path:
    """Write the cells of a calculated column with plain references, to the row `off` rows below their own."""
    rows = iter(range(2 + off, 5 + off))

    def plain(found: re.Match[str]) -> str:
        row = next(rows)
        return f'<f>IF(COUNT($B{row},$C{row})&lt;2,"",$B{row}*$C{row}*factor)</f>'

    with zipfile.ZipFile(clean) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            content = source.read(name).decode()
            target.writestr(name, re.sub(re.escape(f"<f>{POWER_XML}</f>"), plain, content))
    assert next(rows, None) is None
    return out


def test_a_calculated_column_by_names_and_its_cells_by_plain_references_say_the_same(
    clean: Path, tmp_path: Path
) -> None:
    assert lint(with_plain_cells(clean, tmp_path / "plain.xlsx", off=0)) == []
    (finding,) = lint(with_plain_cells(clean, tmp_path / "off.xlsx", off=1))
    assert finding.rule is Rule.TABLE_FORMULA
    assert finding.message == "3 rows differ from it, first row 2"


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


@pytest.mark.parametrize("cell", ['<c r="A1">', '<c r="G1" t="s">'], ids=["a number", "missing"])
def test_a_header_cell_without_text(clean: Path, tmp_path: Path, cell: str) -> None:
    with zipfile.ZipFile(clean) as archive:
        written = re.search(r'<c r="A1" t="s"><v>(\d+)', archive.read(READINGS).decode())
    assert written is not None
    in_table = (TABLE, 'name="Kind"', f'name="{written[1]}"')
    findings = broken(clean, tmp_path / "broken.xlsx", in_table, (READINGS, '<c r="A1" t="s">', cell))
    found = {finding.message for finding in findings if finding.rule is Rule.TABLE_HEADER}
    assert found == {"its cell in the sheet holds no text"}


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


SOUND = (
    '-B2^-2%¦(-(B2))^(2)¦IF(B2="",,"say ""so""")¦SUM({1,-2;TRUE,#N/A})¦SUM(bench[[Voltage (V)]:[Current (A)]])¦'
    "ROWS(bench[])¦ROWS(bench)¦IF(B2&gt;1,#N/A,1)¦ROWS(bench[#Data])¦SUM('Set up'!A:B,Readings!1:2)¦"
    "SUM(B2:INDEX(B2:B4,2))¦SLOPE(bench[Voltage (V)],bench[Current (A)])¦LOG10(B2)+1.5E-3*TRUE¦SUM(factor,kinds)"
)


@pytest.mark.parametrize("text", SOUND.split("¦"))
def test_sound_formulas_pass(clean: Path, tmp_path: Path, text: str) -> None:
    assert broken(clean, tmp_path / "sound.xlsx", formula(text)) == []
