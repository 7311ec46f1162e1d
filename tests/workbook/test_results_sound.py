"""Written workbooks break no rule of the format: by our own linter, and by the checker openxml-audit."""

import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from openxml_audit import FileFormat, OpenXmlValidator, context

from tests.instruments.linter import lint
from tests.workbook.engine_values import ResultsOf
from tests.workbook.made_tests import ALL, DEMOS, MADE
from xlsengine.workbook.template import write_input_workbook, write_template

CHECKED = [*list(DEMOS)[::2], "nothing at all", "names like formulas", "signs that XML cannot hold", *list(MADE)[:2]]
AUDITED = ["marmalade-2826", "nothing at all", "names like formulas", "signs that XML cannot hold", "made 1"]
"""The auditor takes long; these hold every element, set of attributes and order of children that all in `CHECKED` hold."""
SHOWN_AS_GAP = "dispNaAsBlank[1]"
"""The auditor knows this element without its `val`, which Excel itself writes (from memory; so does XlsxWriter)."""


def counted_on() -> Callable[[Any], int]:
    """Return what numbers an element among its siblings of one tag: from the one before, where that was numbered last.

    The auditor counts from the first each time, which takes half of its time on long rows.
    """
    last: dict[Any, tuple[Any, int]] = {}
    count = context._sibling_position

    def position(element: Any) -> int:
        key, before = (element.getparent(), element.tag), element.getprevious()
        known, number = last.get(key, (None, 0))
        last[key] = element, (number + 1 if before is not None and before is known else count(element))
        return last[key][1]

    return position


def audited(path: Path) -> list[str]:
    """Return what openxml-audit says against a workbook, as lines."""
    with patch.object(context, "_sibling_position", counted_on()):
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
