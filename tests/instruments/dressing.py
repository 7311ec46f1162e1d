"""Rules on what dresses a sheet: conditional formats, validations, links, merged cells, page set-up."""

from collections.abc import Iterator
from itertools import combinations
from xml.etree import ElementTree as ET

from tests.instruments.findings import Finding, Rule
from tests.instruments.formula_text import TableUse, parse, text_value
from tests.instruments.grid import Area
from tests.instruments.parts import MAIN, Book, Sheet
from tests.instruments.references import Home, judge, judge_link, targets

_TRUE = ("1", "true")
_FORMULAS = ("formula", "formula1", "formula2", "f")
_NEEDS_FORMULA = ("expression", "cellIs")
_NEEDS_TWO = ("between", "notBetween")


def dressing_findings(book: Book) -> Iterator[Finding]:
    """Judge every sheet's formats, validations, links, merged ranges and page set-up."""
    for sheet in book.sheets.values():
        yield from _dressed(sheet, book, "conditionalFormatting", Rule.CONDITION)
        yield from _dressed(sheet, book, "dataValidation", Rule.VALIDATION)
        yield from _links(sheet, book)
        yield from _merges(sheet, book)
        yield from _page(sheet)


def _dressed(sheet: Sheet, book: Book, tag: str, rule: Rule) -> Iterator[Finding]:
    """Judge the elements of one kind, those of the 2009 extension too."""
    for element in sheet.root.iterfind(f".//{{*}}{tag}"):
        place = element.get("sqref") or element.findtext("{*}sqref") or ""
        for message in _range_faults(element, place, sheet, book):
            yield Finding(sheet.part, place, rule, message)


def _range_faults(element: ET.Element, place: str, sheet: Sheet, book: Book) -> Iterator[str]:
    try:
        areas = [Area.parse(text) for text in place.split()]
    except ValueError as error:
        yield str(error)
        return
    if not areas:
        yield "applies to no cells"
        return
    home = Home(sheet.name, areas[0].top, areas[0].left)
    for formula in _formula_texts(element):
        yield from (message for _, message in judge(formula, book, home, array=True))
        if any(isinstance(use, TableUse) for use in parse(formula).uses):
            yield f"={formula}: Excel takes no table references here"
    yield from _condition_faults(element)
    if element.tag.endswith("}dataValidation"):
        yield from _validation_faults(element, book, home)


def _formula_texts(element: ET.Element) -> list[str]:
    found = [each for each in element.iter() if each.tag.rpartition("}")[2] in _FORMULAS]
    texts = [(each.text or "").strip() for each in found]
    return [text for text in texts if text]


def _condition_faults(element: ET.Element) -> Iterator[str]:
    for rule in element.iterfind("{*}cfRule"):
        if rule.get("type") in _NEEDS_FORMULA and not _formula_texts(rule):
            yield f"a rule of type {rule.get('type')} without a formula"


def _validation_faults(element: ET.Element, book: Book, home: Home) -> Iterator[str]:
    kind, formulas = element.get("type", "none"), _formula_texts(element)
    if kind == "none":
        return
    if not formulas:
        yield f"a validation of type {kind} without a formula"
    elif kind == "list":
        yield from _list_faults(formulas[0], book, home)
    elif kind != "custom" and element.get("operator", "between") in _NEEDS_TWO and len(formulas) < 2:
        yield "limits without an upper one"


def _list_faults(formula: str, book: Book, home: Home) -> Iterator[str]:
    if formula.startswith('"'):
        choices = text_value(formula)
        if not all(choice.strip() for choice in choices.split(",")):
            yield f"a blank choice in {choices!r}"
        return
    places = targets(formula, book, home)
    if len(places) != 1 or min(places[0].area.rows, places[0].area.columns) > 1:
        yield f"={formula} is not one row or column of cells"
    elif not places[0].written_cells():
        yield f"={formula} holds no choices"


def _links(sheet: Sheet, book: Book) -> Iterator[Finding]:
    for link in sheet.root.iter(f"{MAIN}hyperlink"):
        if link.get("location"):
            for rule, message in judge_link(f"#{link.get('location')}", book):
                yield Finding(sheet.part, link.get("ref", ""), rule, message)


def _merges(sheet: Sheet, book: Book) -> Iterator[Finding]:
    merged = [Area.parse(element.get("ref", "")) for element in sheet.root.iter(f"{MAIN}mergeCell")]
    for one, other in combinations(merged, 2):
        if one.overlaps(other):
            yield Finding(sheet.part, str(other), Rule.MERGE_OVERLAP, f"overlaps {one}")
    for table in (table for table in book.tables if table.sheet == sheet.name):
        for area in merged:
            if area.overlaps(table.area):
                yield Finding(sheet.part, str(area), Rule.MERGE_OVERLAP, f"lies in table {table.name}")


def _page(sheet: Sheet) -> Iterator[Finding]:
    def fault(message: str) -> Finding:
        return Finding(sheet.part, "", Rule.PAGE_SETUP, f"{sheet.name}: {message}")

    fit = sheet.root.find(f"{MAIN}sheetPr/{MAIN}pageSetUpPr")
    page = sheet.root.find(f"{MAIN}pageSetup")
    scaled = page is not None and page.get("scale") is not None
    if not scaled and (fit is None or fit.get("fitToPage") not in _TRUE):
        yield fault("neither fitted to pages nor printed at a scale")
    if page is None or page.get("orientation") not in ("portrait", "landscape"):
        yield fault("no orientation")
    texts = [sheet.root.findtext(f"{MAIN}headerFooter/{MAIN}{tag}") for tag in ("oddHeader", "oddFooter")]
    if not any(texts):
        yield fault("neither header nor footer")
