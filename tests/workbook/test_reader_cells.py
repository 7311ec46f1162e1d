"""Cells of a worksheet part, against the file format's own rules."""

import datetime
import io
from xml.etree import ElementTree

import pytest
from openpyxl.utils.datetime import from_excel

from xlsengine.workbook.reading.cells import (
    Decoder,
    ErrorValue,
    Formula,
    Percent,
    Row,
    Stored,
    Unstored,
    cell_formats,
    content_of,
    moment,
    shared_strings,
    unescaped,
)

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
FORMATS = ["", "date", "percent"]


def rows(cells: str, namespace: str = MAIN) -> list[tuple[int, Row]]:
    """Decode rows of a worksheet."""
    part = f'<worksheet xmlns="{namespace}"><sheetData>{cells}</sheetData><pageMargins left="oops"/></worksheet>'
    return list(Decoder(["zero", "one"], FORMATS).sheet(io.BytesIO(part.encode())).items())


CELLS: tuple[tuple[str, Stored], ...] = (
    ("<v>1.5</v>", 1.5),
    ('" t="n"><v>2</v>', 2.0),
    ('" t="s"><v>1</v>', "one"),
    ('" t="b"><v>1</v>', True),
    ('" t="b"><v>0</v>', False),
    ('" t="e"><v>#N/A</v>', ErrorValue("#N/A")),
    ('" t="str"><v>a_x000D_b</v>', "a\rb"),
    ('" t="d"><v>2026-05-04T00:00:00</v>', datetime.datetime(2026, 5, 4)),
    ('" t="inlineStr"><is><t>in</t></is>', "in"),
    ('" s="1"><v>46146</v>', datetime.datetime(2026, 5, 4)),
    ('" s="2"><v>0.5</v>', Percent(0.5)),
    ('" s="7"><v>0.5</v>', 0.5),
    ("<f>1+1</f><v>2</v>", Formula(2.0)),
    ("<f>1+1</f>", Formula(Unstored())),
    ("<f>1+1</f><v></v>", Formula(Unstored())),
    ('" t="str"><f>""</f><v></v>', Formula("")),
    ('" t="e"><f>1/0</f><v>#DIV/0!</v>', Formula(ErrorValue("#DIV/0!"))),
    ('" t="b"><f>A1</f><v>1</v>', Formula(True)),
)


@pytest.mark.parametrize(("cell", "value"), CELLS)
def test_kinds_of_cells(cell: str, value: Stored) -> None:
    written = f'<c r="B2{cell}</c>' if cell.startswith('"') else f'<c r="B2">{cell}</c>'
    assert rows(f'<row r="2">{written}</row>') == [(1, {1: value})]


def test_blank_cells_and_rows_cost_nothing() -> None:
    assert rows('<row r="1"><c r="A1" s="1"/></row><row r="2"/><row r="3"><c r="C3"><v/></c></row>') == []


def test_rows_and_cells_without_addresses_follow_each_other() -> None:
    assert rows("<row><c><v>1</v></c><c/><c><v>2</v></c></row><row><c><v>3</v></c></row>") == [
        (0, {0: 1.0, 2: 2.0}),
        (1, {0: 3.0}),
    ]


def test_both_namespaces_of_the_format_are_read() -> None:
    assert rows('<row r="1"><c r="A1"><v>1</v></c></row>', STRICT) == [(0, {0: 1.0})]


def test_the_last_cell_of_a_sheet() -> None:
    assert rows('<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>') == [(1048575, {16383: 1.0})]


@pytest.mark.parametrize(("kind", "text"), [("n", "1.2.3"), ("n", "1,5"), ("d", "31.5.")])
def test_what_is_none_of_its_kind_is_kept_as_text_so_that_its_cell_can_be_named(kind: str, text: str) -> None:
    assert rows(f'<row r="1"><c r="A1" t="{kind}"><v>{text}</v></c></row>') == [(0, {0: text})]


@pytest.mark.parametrize(
    "cell", ['r="2B"><v>1</v>', 'r="AAAA1"><v>1</v>', 'r="A1" t="s"><v>-1</v>', 'r="A1" t="s"><v>9</v>']
)
def test_cells_that_break_the_format_raise(cell: str) -> None:
    with pytest.raises((ValueError, LookupError)):
        rows(f'<row r="1"><c {cell}</c></row>')


@pytest.mark.parametrize("stored", [None, "", "  \n ", Formula(""), Formula(" ")])
def test_content_of_blanks(stored: Stored) -> None:
    assert content_of(stored) is None


@pytest.mark.parametrize("stored", [0.0, False, "a", Formula(0.0), Formula(Unstored()), ErrorValue("#N/A")])
def test_content_of_cells_that_hold_something(stored: Stored) -> None:
    assert content_of(stored) is not None


@pytest.mark.parametrize("serial", [1.0, 59.0, 61.0, 46146.0, 46146.25, 2958465.0])
def test_dates_agree_with_openpyxl(serial: float) -> None:
    assert moment(serial) == from_excel(serial)


@pytest.mark.parametrize("serial", [-1.0, 2958466.0, 1e300, float("inf"), float("nan")])
def test_numbers_beyond_all_dates_stay_numbers(serial: float) -> None:
    assert str(moment(serial)) == str(serial)


def test_days_since_1904() -> None:
    assert moment(1.0, counts_from_1904=True) == datetime.datetime(1904, 1, 2)


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("plain", "plain"),
        ("_x0041_", "A"),
        ("_x005F_x0041_", "_x0041_"),
        ("x005F_", "x005F_"),
        ("_x004_", "_x004_"),
        ("_xD83D_", "_xD83D_"),
    ],
)
def test_escapes(text: str, plain: str) -> None:
    assert unescaped(text) == plain


def test_strings_in_runs_without_phonetic_guides() -> None:
    item = "<si><r><rPr><b/></rPr><t>a </t></r><r><t>b</t></r><rPh><t>x</t></rPh></si>"
    part = f'<sst xmlns="{MAIN}"><si><t>one</t></si><si/>{item}</sst>'
    assert shared_strings(io.BytesIO(part.encode())) == ["one", "", "a b"]


FORMAT_CODES = {
    "": 'General|0.00|@|#,##0|0.0E+00|0.0" days"|0\\d|[Red]0.0|[$-409]0|0"%"|0\\%',
    "date": "yyyy-mm-dd|d.m.yy|[h]:mm|hh:mm:ss AM/PM|[$-407]d. mmmm yyyy",
    "percent": "0%|0.0 %",
}


@pytest.mark.parametrize("kind", FORMAT_CODES)
def test_number_formats_by_their_code(kind: str) -> None:
    xfs = '<cellStyleXfs><xf numFmtId="14"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/></cellXfs>'
    for code in FORMAT_CODES[kind].replace('"', "&quot;").split("|"):
        styles = f'<numFmts><numFmt numFmtId="164" formatCode="{code}"/></numFmts>'
        root = ElementTree.fromstring(f'<styleSheet xmlns="{MAIN}">{styles}{xfs}</styleSheet>')
        assert cell_formats(root) == ["", kind], code


def test_number_formats_by_their_number() -> None:
    # ECMA-376 part 1, 18.8.30: 9 and 10 are percentages, 14 to 22 and 45 to 47 dates and times.
    numbers = (0, 2, 9, 10, 11, 13, 14, 22, 37, 45, 47, 49)
    xfs = "".join(f'<xf numFmtId="{number}"/>' for number in numbers)
    root = ElementTree.fromstring(f'<styleSheet xmlns="{MAIN}"><cellXfs>{xfs}</cellXfs></styleSheet>')
    assert cell_formats(root) == ["", "", "percent", "percent", "", "", "date", "date", "", "date", "date", ""]
