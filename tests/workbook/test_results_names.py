"""Names, headers and choices that a spreadsheet takes as they are meant."""

import zipfile
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from tests.instruments.grid import Area, cell_name
from tests.instruments.parts import MAIN, Book, read_book
from tests.workbook.engine_values import ResultsOf
from tests.workbook.made_tests import ALL
from xlsengine.bench.declaring.declare import Figures
from xlsengine.bench.groups.headline import HEADLINE_LIST
from xlsengine.bench.inputs.forms import FIELDS
from xlsengine.bench.model import COMPARISON_PARTS, FIGURE_QUANTITIES, FIGURES_WRITTEN
from xlsengine.workbook.layout import FORM_HEADERS
from xlsengine.workbook.template import write_input_workbook

NAMED = (*FIELDS, *FIGURE_QUANTITIES, *FIGURES_WRITTEN)
OF_A_COMPARISON = {name for part in COMPARISON_PARTS if isinstance(part, Figures) for name in part.quantities}
SAID = ("esc_advice", "esc_precedence")
"""Some of the figures that are shown whatever was read."""
WITHOUT_A_LIBRARY = [name for name in NAMED if name not in OF_A_COMPARISON]


def book_of(path: Path) -> Book:
    book, findings = read_book(path)
    assert book is not None, findings
    return book


def target(book: Book, name: str) -> tuple[str, Area]:
    """Return the sheet and area that a defined name points at."""
    defined = book.name(name, None)
    assert defined is not None, name
    sheet, _, area = defined.text.rpartition("!")
    return sheet.strip("'"), Area.parse(area)


def defined_names(book: Book) -> set[str]:
    """Return the names of cells, those of print areas and the like left out."""
    return {each.name for each in book.names if not each.name.startswith("_xlnm.")}


@pytest.mark.parametrize("test", ["colander-2306", "nothing at all"])
def test_every_field_and_every_figure_that_is_needed_is_a_named_cell_of_the_results(
    results_of: ResultsOf, test: str
) -> None:
    written = results_of(test)
    book = book_of(written.path)
    places: Counter[tuple[str, Area]] = Counter()
    named = defined_names(book)
    assert {*FIELDS, *(headline.value.name for headline in HEADLINE_LIST), *SAID} <= named
    for name in named:
        sheet, area = target(book, name)
        assert area.is_one_cell
        assert (sheet, cell_name(area.top, area.left)) == written.place(name)
        places[sheet, area] += 1
        is_live = (sheet, cell_name(area.top, area.left)) in written.standing
        assert is_live == (name in FIGURE_QUANTITIES)
    assert set(places.values()) == {1}


def test_no_name_that_a_person_is_shown_is_one_of_a_hidden_sheet(results_of: ResultsOf) -> None:
    path = results_of("colander-2306").path
    with zipfile.ZipFile(path) as archive:
        root = ET.fromstring(archive.read("xl/workbook.xml"))
    kept_back = {each.get("name") for each in root.iter(f"{MAIN}definedName") if each.get("hidden") == "1"}
    hidden = {each.get("name") for each in root.iter(f"{MAIN}sheet") if each.get("state")}
    book = book_of(path)
    assert kept_back == {name for name in defined_names(book) if target(book, name)[0] in hidden}
    assert {"Fingerprint of readings, at the comparisons"} <= {FIGURES_WRITTEN[str(name)].label for name in kept_back}


@pytest.mark.parametrize("kind", ["input", "results"])
def test_a_field_s_name_points_at_the_cell_beside_its_label(results_of: ResultsOf, tmp_path: Path, kind: str) -> None:
    path = results_of("colander-2306").path
    book = book_of(path if kind == "results" else write_input_workbook(ALL["colander-2306"](), tmp_path / "in.xlsx"))
    for name, declared in FIELDS.items():
        sheet, area = target(book, name)
        cells = book.sheets[sheet.lower()].at
        label = book.words(cells[area.top, area.left - FORM_HEADERS.index("Value")])
        assert label == declared.label + (" *" if declared.required else "")


def test_no_name_is_defined_beyond_the_declared_ones(results_of: ResultsOf) -> None:
    assert defined_names(book_of(results_of("colander-2306").path)) <= set(WITHOUT_A_LIBRARY)
