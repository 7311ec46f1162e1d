"""Written workbooks break no rule of the format: by our own linter, and by the checker openxml-audit."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest
from openxml_audit import FileFormat, OpenXmlValidator

from tests.instruments.linter import lint
from tests.workbook.engine_values import ResultsOf
from tests.workbook.made_tests import ALL, DEMOS, MADE
from xlsengine.workbook.template import write_input_workbook, write_template

CHECKED = [*DEMOS, "nothing at all", "names like formulas", "signs that XML cannot hold", *list(MADE)[:2]]
AUDITED = ["marmalade-2826", "nothing at all", "names like formulas", "signs that XML cannot hold", "made 1"]
"""The auditor takes long; these hold every element, set of attributes and order of children that all in `CHECKED` hold."""
SHOWN_AS_GAP = "dispNaAsBlank[1]"
"""The auditor knows this element without its `val`, which Excel itself writes (from memory; so does XlsxWriter)."""


def audited(path: Path) -> list[str]:
    """Return what openxml-audit says against a workbook, as lines."""
    found = OpenXmlValidator(file_format=FileFormat.OFFICE_2019).validate(str(path)).errors
    wrong = [each for each in found if not (each.node == "val" and (each.path or "").endswith(SHOWN_AS_GAP))]
    return [f"{each.part_uri} {each.path}: {each.description}" for each in wrong]


@pytest.mark.parametrize("name", CHECKED)
def test_the_linter_finds_nothing_in_results(results_of: ResultsOf, name: str) -> None:
    assert [str(finding) for finding in lint(results_of(name).path)] == []


@pytest.mark.parametrize("name", AUDITED)
def test_the_auditor_finds_nothing_in_results(results_of: ResultsOf, name: str) -> None:
    assert audited(results_of(name).path) == []


@pytest.mark.parametrize("name", CHECKED)
def test_an_input_workbook_is_sound(tmp_path: Path, name: str) -> None:
    path = write_input_workbook(ALL[name](), tmp_path / "in.xlsx")
    assert [str(finding) for finding in lint(path)] == []
    assert audited(path) == []


def test_the_template_is_sound(tmp_path: Path) -> None:
    path = write_template(tmp_path / "template.xlsx")
    assert [str(finding) for finding in lint(path)] == []
    assert audited(path) == []


def test_the_auditor_notices_a_broken_workbook(tmp_path: Path) -> None:
    """One cell of a kind that does not exist is enough."""
    whole, broken = write_template(tmp_path / "template.xlsx"), tmp_path / "broken.xlsx"
    with zipfile.ZipFile(whole) as source, zipfile.ZipFile(broken, "w") as target:
        for part in source.namelist():
            content = source.read(part)
            if part == "xl/worksheets/sheet1.xml":
                content = content.replace(b' t="s"', b' t="shared"', 1)
            target.writestr(part, content)
    assert audited(broken) != []
