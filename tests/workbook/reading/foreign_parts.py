"""What strange workbooks hold, part by part, as ECMA-376 part 1 describes it: one function a thing, each changing the
parts of a package in place."""

import re

from tests.workbook.reading.mutations import Parts
from tests.workbook.reading.small_package import (
    BOOK,
    BOOK_RELATIONS,
    HEADERS,
    MAIN,
    OFFICE,
    READINGS_ROWS,
    STRICT_MAIN,
    STRICT_OFFICE,
    Change,
    beside,
    cell,
    of_book,
    put,
    related,
    sheet_of,
    sheet_part,
    with_sheet,
)


def pivot_table(parts: Parts) -> None:
    """Add a pivot table with its cache and records (18.10)."""
    fields = "".join(f'<cacheField name="{header}"><sharedItems/></cacheField>' for header in HEADERS)
    of_book(
        "pivotCacheDefinition",
        "xl/pivotCache/pivotCacheDefinition1.xml",
        (
            f'<pivotCacheDefinition xmlns="{MAIN}" xmlns:r="{OFFICE}" r:id="rId700" recordCount="1">'
            '<cacheSource type="worksheet">'
            f'<worksheetSource ref="A1:D3" sheet="Runs"/></cacheSource><cacheFields count="4">{fields}</cacheFields>'
            "</pivotCacheDefinition>"
        ).encode(),
    )(parts)
    parts["xl/pivotCache/pivotCacheRecords1.xml"] = (
        f'<pivotCacheRecords xmlns="{MAIN}" count="1"><r><s v="5x4.3x3"/><n v="14.8"/><n v="31.5"/><n v="1044"/></r>'
        "</pivotCacheRecords>"
    ).encode()
    related(parts, "xl/pivotCache/pivotCacheDefinition1.xml", "pivotCacheRecords", "pivotCacheRecords1.xml")
    put(parts, BOOK, "</workbook>", '<pivotCaches><pivotCache cacheId="1" r:id="rId700"/></pivotCaches>')
    beside(
        "pivotTable",
        "xl/pivotTables/pivotTable1.xml",
        (
            f'<pivotTableDefinition xmlns="{MAIN}" name="Pivot" cacheId="1" dataCaption="Values"><location ref="F1:G3" '
            'firstHeaderRow="1" firstDataRow="1" firstDataCol="1"/><pivotFields count="1"><pivotField axis="axisRow"/>'
            "</pivotFields></pivotTableDefinition>"
        ).encode(),
    )(parts)


def _in_sheet(before: str, text: str) -> Change:
    return lambda parts: put(parts, sheet_of(parts), before, text)


def _row_of(*cells: str) -> Change:
    return _in_sheet("</sheetData>", f'<row r="900">{"".join(cells)}</row>')


def _strict(parts: Parts) -> None:
    for name, content in parts.items():
        parts[name] = content.replace(MAIN.encode(), STRICT_MAIN.encode()).replace(
            OFFICE.encode(), STRICT_OFFICE.encode()
        )


def _prefixed(parts: Parts) -> None:
    """Write every element of the first sheet with a prefix."""
    text = re.sub(
        r"<(/?)([A-Za-z])",
        r"<\1x:\2",
        parts[sheet_of(parts)].decode().partition("?>")[2] or parts[sheet_of(parts)].decode(),
    )
    parts[sheet_of(parts)] = text.replace(f'xmlns="{MAIN}"', f'xmlns:x="{MAIN}"').encode()


def _recoded(encoding: str) -> Change:
    def change(parts: Parts) -> None:
        for name in (sheet_of(parts), BOOK):
            body = parts[name].decode()
            body = body.partition("?>")[2] if body.startswith("<?xml") else body
            parts[name] = f'<?xml version="1.0" encoding="{encoding}"?>{body}'.encode(encoding, "xmlcharrefreplace")

    return change


def _marked(parts: Parts) -> None:
    for name in parts:
        if name.endswith((".xml", ".rels")):
            parts[name] = b"\xef\xbb\xbf" + parts[name]


def _absolute_targets(parts: Parts) -> None:
    parts[BOOK_RELATIONS] = re.sub(rb'Target="(?!/)', b'Target="/xl/', parts[BOOK_RELATIONS])


def _book(old: str, new: str) -> Change:
    def change(parts: Parts) -> None:
        parts[BOOK] = parts[BOOK].replace(old.encode(), new.encode(), 1)

    return change


def _without(*ends: str) -> Change:
    def change(parts: Parts) -> None:
        for name in [name for name in parts if name.endswith(ends)]:
            del parts[name]

    return change


def _typed_as(kind: str) -> Change:
    def change(parts: Parts) -> None:
        override = f'<Override PartName="/{BOOK}" ContentType="application/vnd.{kind}.main+xml"/>'
        put(parts, "[Content_Types].xml", "</Types>", override)

    return change


def _no_sheets(parts: Parts) -> None:
    parts[BOOK] = re.sub(rb"<sheet [^>]*/>", b"", parts[BOOK])


def _data_format(parts: Parts) -> None:
    formats = "".join(
        f'<numFmt numFmtId="{200 + n}" formatCode="0.{"0" * (n % 20)}&quot;u{n}&quot;"/>' for n in range(3000)
    )
    styles = "".join(f'<xf numFmtId="{200 + n % 3000}" fontId="0" fillId="0" borderId="0"/>' for n in range(20_000))
    related(parts, BOOK, "styles", "odd_styles.xml")
    parts["xl/odd_styles.xml"] = (
        f'<styleSheet xmlns="{MAIN}"><numFmts>{formats}</numFmts><cellXfs>{styles}</cellXfs></styleSheet>'
    ).encode()


def _formula(address: str, attributes: str, text: str, value: str) -> str:
    return f'<c r="{address}"><f{attributes}>{text}</f><v>{value}</v></c>'


ALPHABETS = {
    "Cyrillic": "Показания",
    "Arabic": "قراءات",
    "Hebrew": "מדידות",
    "Chinese": "测量",
    "Japanese": "測定ﾃﾞｰﾀ",
    "Thai": "การวัด",
    "Hindi": "माप",
    "emoji": "🛩️✈️👩‍🔧",
    "combining": "a\u0301e\u0308o\u0323",
    "controls": "x_x0007_y",
    "half a pair": "x_xD800_y",
    "zero width": "a\u200b\u2060b",
    "right to left": "\u202e123",
    "Greek": "Μετρήσεις",
}
_WIDE = "".join(cell(f"{first}{second}900", 1) for first in "ABC" for second in "ABCDEFGHIJ")
_VALUES = (
    "1E400|-1E400|NaN|INF|-INF|1e-400|1_000|0x1F|| 5 |٥|1,5|--5|99999999999999999999|-1|60|59.999|"
    "0.99999999|2958466|1e15"
)

CHANGES: dict[str, Change] = {
    "pivot table": pivot_table,
    "chart sheet": with_sheet(
        "Chart1", f'<chartsheet xmlns="{MAIN}"/>'.encode(), kind="chartsheet", folder="chartsheets"
    ),
    "dialog sheet": with_sheet(
        "Dialog1", f'<dialogsheet xmlns="{MAIN}"/>'.encode(), kind="dialogsheet", folder="dialogsheets"
    ),
    "macro sheet": with_sheet("Macro1", b"<macrosheet/>", kind="xlMacrosheet", folder="macrosheets"),
    "sheet of a kind not known": with_sheet("Odd", b"<odd/>", kind="oddSheet", folder="odd"),
    "empty sheet part": with_sheet("Empty", b""),
    "very hidden sheet": with_sheet("Secret", sheet_part(READINGS_ROWS), state=' state="veryHidden"'),
    "sheet named like ours": with_sheet("Readings", sheet_part(READINGS_ROWS)),
    "sheet named like ours but for capitals": with_sheet("READINGS", sheet_part(READINGS_ROWS)),
    "sheet named Written from": with_sheet("Written from", sheet_part(READINGS_ROWS)),
    "sheet without a name": with_sheet("", sheet_part(READINGS_ROWS)),
    "array formula": _row_of(_formula("F900", ' t="array" ref="F900:F902"', "B2:B3*C2:C3", "466.2")),
    "spilled formula": _row_of(
        _formula("F900", ' t="array" aca="1" ca="1" ref="F900:F950"', "_xlfn._xlws.FILTER(A1:A3,B1:B3)", "1")
    ),
    "shared formula": _row_of(
        _formula("F900", ' t="shared" ref="F900:F902" si="0"', "B2*2", "29.6"),
        _formula("G900", ' t="shared" si="0"', "", "4"),
    ),
    "data table": _row_of(_formula("F900", ' t="dataTable" ref="F900:F902" dt2D="1" dtr="1" r1="B2" r2="C2"', "", "5")),
    "formula without a value": _row_of('<c r="F900"><f>NOW()</f></c>', '<c r="G900" t="str"><f>""</f><v></v></c>'),
    "error values": _row_of(
        *(
            f'<c r="{c}900" t="e"><v>{e}</v></c>'
            for c, e in zip(
                "FGHIJKLM", ("#N/A", "#REF!", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!", "#SPILL!", "#odd"), strict=True
            )
        )
    ),
    "booleans": _row_of(
        '<c r="F900" t="b"><v>1</v></c>', '<c r="G900" t="b"><v>true</v></c>', '<c r="H900" t="b"><v>maybe</v></c>'
    ),
    "dates as texts": _row_of(
        '<c r="F900" t="d"><v>2026-05-31T12:00:00Z</v></c>',
        '<c r="G900" t="d"><v>1850-01-01</v></c>',
        '<c r="H900" t="d"><v>31.5.</v></c>',
    ),
    "rich text": _row_of(
        '<c r="F900" t="inlineStr"><is><r><rPr><b/></rPr><t>bo</t></r><r><t xml:space="preserve">ld </t></r></is></c>'
    ),
    "phonetic runs": _row_of(
        '<c r="F900" t="inlineStr"><is><t>測定</t><rPh sb="0" eb="2"><t>ソクテイ</t></rPh><phoneticPr fontId="1"/></is></c>'
    ),
    "odd numbers": _row_of(
        *(f'<c r="{"ABCDEFGHIJKLMNOPQRSTUVW"[n]}900"><v>{v}</v></c>' for n, v in enumerate(_VALUES.split("|")))
    ),
    "cells of a kind not known": _row_of('<c r="F900" t="odd"><v>5</v></c>', '<c r="G900" s="99999"><v>5</v></c>'),
    "cells without addresses": _in_sheet("</sheetData>", "<row><c><v>1</v></c><c/><c><v>2</v></c></row>"),
    "a string that is not there": _row_of('<c r="F900" t="s"><v>999999</v></c>'),
    "a negative string": _row_of('<c r="F900" t="s"><v>-1</v></c>'),
    "an address beyond the sheet": _row_of('<c r="XFE1048577"><v>1</v></c>'),
    "an address that is none": _row_of('<c r="5F"><v>1</v></c>'),
    "the last cell of a sheet": _in_sheet("</sheetData>", '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'),
    "many columns": _row_of(_WIDE),
    "all columns": _in_sheet("</sheetData>", f'<row r="901">{"<c><v>1</v></c>" * 16_384}</row>'),
    "merged headers": _in_sheet(
        "</worksheet>", '<mergeCells count="2"><mergeCell ref="A1:D1"/><mergeCell ref="A2:A3"/></mergeCells>'
    ),
    "a merged area that is none": _in_sheet("</worksheet>", '<mergeCells><mergeCell ref="odd"/></mergeCells>'),
    "protected sheet": _in_sheet("</worksheet>", '<sheetProtection sheet="1" password="CC1A" objects="1"/>'),
    "hyperlinks": _in_sheet(
        "</worksheet>", '<hyperlinks><hyperlink ref="A1" r:id="rIdX" location="Nowhere!A1"/></hyperlinks>'
    ),
    "header picture": beside(
        "vmlDrawing", "xl/drawings/vmlDrawing9.vml", b'<xml xmlns:v="urn:schemas-microsoft-com:vml"><v:shape/></xml>'
    ),
    "broken vml": beside("vmlDrawing", "xl/drawings/vmlDrawing8.vml", b"<xml><br></xml>"),
    "printer settings": beside("printerSettings", "xl/printerSettings/printerSettings1.bin", bytes(range(256))),
    "embedded object": beside(
        "oleObject", "xl/embeddings/oleObject1.bin", bytes.fromhex("D0CF11E0A1B11AE1") + bytes(600)
    ),
    "embedded file": beside("package", "xl/embeddings/odd.docx", b"PK\x03\x04"),
    "form control": beside("control", "xl/activeX/activeX1.xml", b"<ocx/>"),
    "query table": beside(
        "queryTable",
        "xl/queryTables/queryTable1.xml",
        f'<queryTable xmlns="{MAIN}" name="q" connectionId="1"/>'.encode(),
    ),
    "threaded comments": beside("threadedComment", "xl/threadedComments/threadedComment1.xml", b"<ThreadedComments/>"),
    "comments": beside(
        "comments",
        "xl/comments7.xml",
        (
            f'<comments xmlns="{MAIN}"><authors><author>автор</author></authors><commentList>'
            '<comment ref="A1" authorId="0"><text><r><t>note</t></r></text></comment>'
            '<comment ref="B2" authorId="7"><text/></comment></commentList></comments>'
        ).encode(),
    ),
    "comments without a place": beside(
        "comments",
        "xl/comments6.xml",
        f'<comments xmlns="{MAIN}"><commentList><comment><text><t>x</t></text></comment></commentList></comments>'.encode(),
    ),
    "drawing of nothing": beside(
        "drawing",
        "xl/drawings/drawing9.xml",
        b'<d:wsDr xmlns:d="urn:d"><d:oneCellAnchor/><d:absoluteAnchor><d:sp/></d:absoluteAnchor></d:wsDr>',
    ),
    "drawing that is not there": lambda parts: related(parts, sheet_of(parts), "drawing", "../drawings/gone.xml"),
    "picture outside": beside(
        "drawing",
        "xl/drawings/drawing8.xml",
        b'<d:wsDr xmlns:d="urn:d" xmlns:a="urn:a" xmlns:r="urn:r"><d:oneCellAnchor>'
        b'<d:from><d:col>1</d:col><d:row>x</d:row></d:from><d:pic><a:blip r:link="rId1"/></d:pic></d:oneCellAnchor></d:wsDr>',
    ),
    "slicer": beside("slicer", "xl/slicers/slicer1.xml", b"<slicers/>"),
    "slicer cache": of_book("slicerCache", "xl/slicerCaches/slicerCache1.xml", b"<slicerCacheDefinition/>"),
    "connections": of_book(
        "connections",
        "xl/connections.xml",
        f'<connections xmlns="{MAIN}"><connection id="1" name="db" type="1"/></connections>'.encode(),
    ),
    "external link": of_book(
        "externalLink", "xl/externalLinks/externalLink1.xml", f'<externalLink xmlns="{MAIN}"/>'.encode()
    ),
    "custom xml": of_book("customXml", "customXml/item1.xml", b"<odd/>"),
    "metadata": of_book("sheetMetadata", "xl/metadata.xml", f'<metadata xmlns="{MAIN}"/>'.encode()),
    "calculation chain": of_book(
        "calcChain", "xl/calcChain.xml", f'<calcChain xmlns="{MAIN}"><c r="Z99" i="1"/></calcChain>'.encode()
    ),
    "theme that is not there": lambda parts: related(parts, BOOK, "theme", "theme/gone.xml"),
    "strings that are not there": lambda parts: related(parts, BOOK, "sharedStrings", "gone.xml"),
    "relation without a kind": lambda parts: put(
        parts, BOOK_RELATIONS, "</Relationships>", '<Relationship Id="rId999" Target="x"/>'
    ),
    "relation outside": lambda parts: related(
        parts, BOOK, "hyperlink", "http://example.invalid/x y", ' TargetMode="External"'
    ),
    "relation to a folder": lambda parts: related(parts, BOOK, "customXml", "../"),
    "relation upwards": lambda parts: related(parts, BOOK, "theme", "../../../../etc/passwd"),
    "names with errors": lambda parts: put(
        parts,
        BOOK,
        "</definedNames>",
        '<definedName name="Bad">#REF!</definedName><definedName name="Empty"/>'
        "<definedName name=\"Far\">Runs!$XFE$9999999</definedName><definedName name=\"f_current\">'a''b'!$A$1</definedName>",
    ),
    "counted from 1904": _book("<sheets>", '<workbookPr date1904="1"/><sheets>'),
    "protected workbook": _book("<sheets>", '<workbookProtection lockStructure="1" workbookPassword="CC1A"/><sheets>'),
    "read-only recommended": _book("<sheets>", '<fileSharing readOnlyRecommended="1" userName="x"/><sheets>'),
    "no sheets": _no_sheets,
    "strict names": _strict,
    "prefixed names": _prefixed,
    "byte order marks": _marked,
    "UTF-16 parts": _recoded("utf-16"),
    "Latin-1 parts": _recoded("iso-8859-1"),
    "ASCII parts": _recoded("us-ascii"),
    "absolute targets": _absolute_targets,
    "no optional parts": _without("styles.xml", "theme1.xml", "app.xml", "core.xml", "custom.xml"),
    "no content types": _without("[Content_Types].xml"),
    "a template's content type": _typed_as("openxmlformats-officedocument.spreadsheetml.template"),
    "a macro book's content type": _typed_as("ms-excel.sheet.macroEnabled"),
    "huge styles": _data_format,
    "blank sheet": with_sheet("Blank", sheet_part("")),
    "formatting only": with_sheet("Dressed", sheet_part("<row>" + '<c s="1"/>' * 50 + "</row>")),
    **{
        f"a sheet in {name}": with_sheet(text, sheet_part(f'<row r="1">{cell("A1", text)}</row>'))
        for name, text in ALPHABETS.items()
    },
    **{f"cells in {name}": _row_of(cell("F900", text)) for name, text in ALPHABETS.items()},
}
