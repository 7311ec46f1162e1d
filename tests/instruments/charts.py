"""Rules on charts and drawings, and the cells that charts read."""

import re
from collections import defaultdict
from collections.abc import Iterator
from xml.etree import ElementTree as ET

from tests.instruments.findings import Finding, Rule
from tests.instruments.formula_text import parse
from tests.instruments.grid import Area
from tests.instruments.parts import Book
from tests.instruments.references import Home, judge, targets

_CHART = "{http://schemas.openxmlformats.org/drawingml/2006/chart}"
_DRAWING = "{http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing}"


def chart_findings(book: Book) -> Iterator[Finding]:
    """Judge every chart: its references, the names of its series and its alt text."""
    for part, root in _charts(book):
        for reference in root.iter(f"{_CHART}f"):
            for message in _reference_faults(reference.text or "", book):
                yield Finding(part, "", Rule.CHART_REFERENCE, message)
        for number, series in enumerate(root.iter(f"{_CHART}ser"), start=1):
            if not _has_name(series):
                yield Finding(part, "", Rule.CHART_SERIES_NAME, f"series {number}")
    yield from _alt_texts(book)


def charted_areas(book: Book) -> dict[str, list[Area]]:
    """Return by sheet name the areas that charts read."""
    areas: dict[str, list[Area]] = defaultdict(list)
    for _, root in _charts(book):
        for reference in root.iter(f"{_CHART}f"):
            for target in targets((reference.text or "").strip("()"), book, Home(None)):
                areas[target.sheet.name].append(target.area)
    return areas


def _charts(book: Book) -> list[tuple[str, ET.Element]]:
    return [item for item in book.parts.items() if re.fullmatch(r"xl/charts/chart\d+\.xml", item[0])]


def _reference_faults(text: str, book: Book) -> list[str]:
    bare = text.strip("()")
    faults = [message for _, message in judge(bare, book, Home(None), array=True, union=True)]
    if not parse(bare, union=True).uses:
        faults.append(f"{text!r} refers to no cells")
    return faults


def _has_name(series: ET.Element) -> bool:
    name = series.find(f"{_CHART}tx")
    texts = () if name is None else (*name.iter(f"{_CHART}f"), *name.iter(f"{_CHART}v"))
    return any(element.text for element in texts)


def _alt_texts(book: Book) -> Iterator[Finding]:
    for part, root in book.parts.items():
        if part.startswith("xl/drawings/drawing"):
            for kind in ("nvGraphicFramePr", "nvPicPr", "nvSpPr"):
                for shown in root.iterfind(f".//{_DRAWING}{kind}/{_DRAWING}cNvPr"):
                    if not (shown.get("descr") or "").strip():
                        yield Finding(part, "", Rule.CHART_ALT_TEXT, shown.get("name", "unnamed"))
