"""Fixtures of a test module that writes trees into a workbook and asks every engine what they come to."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pytest

from tests.expression_trees import write_trees
from tests.instruments.office_edit import libreoffice_values
from tests.instruments.recalculate import Place, Value, iron_values
from xlsengine.expression import Node

Values = Mapping[Place, Value]


def tree_fixtures(trees: Sequence[Node]) -> tuple[Callable[..., Path], Callable[..., Values], Callable[..., Values]]:
    """Return the fixtures `book`, `in_ironcalc` and `in_libreoffice` for these trees, to be named so by a module."""

    @pytest.fixture(scope="module")
    def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
        path = tmp_path_factory.mktemp("trees") / "trees.xlsx"
        write_trees(trees, path)
        return path

    @pytest.fixture(scope="module")
    def in_ironcalc(book: Path) -> Values:
        return iron_values(book)

    @pytest.fixture(scope="module")
    def in_libreoffice(book: Path) -> Values:
        return libreoffice_values([book])[0]

    return book, in_ironcalc, in_libreoffice
