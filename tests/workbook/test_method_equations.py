"""Every equation that Method prints, read back as a reader would and held against the expression behind it."""

import math
import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import openpyxl
import pytest

import xlsengine
from demo_inputs.make_demo_inputs import bench_test_of
from demo_inputs.scenario import DEMO_TESTS
from tests.workbook.engine_values import ResultsOf
from tests.workbook.made_tests import DEMOS
from xlsengine.bench.declaring.declare import Quantity
from xlsengine.bench.model import TABLES, declared
from xlsengine.expression import Aggregate, Column, Named, Node, children
from xlsengine.operations import OPERATIONS
from xlsengine.words import CONSTANTS, words
from xlsengine.workbook.sheets.method_sheet import LONGEST, OTHERS, SECTIONS, equation, is_printed, symbol

PRINTED = [
    (title, where, quantity) for title, lines in SECTIONS.items() for where, quantity in lines if is_printed(quantity)
]
pytestmark = pytest.mark.filterwarnings("ignore:.*extension is not supported")  # openpyxl, of our conditional formats
SPELT = [each for each in PRINTED if len(equation(each[2])) <= LONGEST]
"""Those whose equation is printed; longer ones are said in words."""
EIGHT_DIGITS = 1e-6  # constants are printed with eight, and exponentials make their errors larger
POWERS = {"²": 2.0, "³": 3.0, "⁴": 4.0, "⁵": 5.0}
BLANKS = math.nan


class Equation:
    """A reader of equations as they are printed: grammar by hand, nothing of the writer in it.

    `values` hold what each name stands for. Names are looked for longest first, since some hold others.
    """

    def __init__(self, text: str, values: dict[str, Any]) -> None:
        self.text, self.values = text, values
        self.names = sorted(values, key=len, reverse=True)

    def value(self) -> Any:
        """Return what the whole text comes to; ValueError where some of it is not understood."""
        result = self._phrase()
        if self.text.strip():
            raise ValueError(f"left over: {self.text!r}")
        return result

    def _takes(self, *signs: str) -> str:
        self.text = self.text.lstrip()
        for sign in signs:
            if self.text.startswith(sign):
                self.text = self.text[len(sign) :]
                return sign
        return ""

    def _phrase(self) -> Any:
        if self._takes("choice by "):
            index = self._either()
            options: list[Any] = []
            assert self._takes("of:")
            while not options or self._takes(";"):
                options.append(self._either())
            return OPERATIONS["choose"].numpy(index, *options)
        if self._takes("the greater of "):
            first = self._either()
            assert self._takes("and ")
            return np.maximum(first, self._either())
        first = self._either()
        if self._takes("if "):
            condition = self._any()
            assert self._takes(", else ")
            return np.where(np.isnan(condition), np.nan, np.where(condition != 0, first, self._phrase()))
        if self._takes(", or else "):
            return np.where(np.isnan(first), self._phrase(), first)
        return first

    def _any(self) -> Any:
        found = self._all()
        while self._takes("or "):
            found = np.maximum(found, self._all())
        return found

    def _all(self) -> Any:
        found = self._compared()
        while self._takes("and "):
            found = np.minimum(found, self._compared())
        return found

    def _compared(self) -> Any:
        if self._takes("not ("):
            return 1.0 - self._closed()
        left = self._either()
        if self._takes("was read"):
            return np.where(np.isnan(left), 0.0, 1.0)
        sign = self._takes("≤", "≥", "<", ">", "=", "≠", "is ")
        right = self._either() if sign != "is " or not self.text.lstrip().startswith("“") else self._quoted()
        compare = {
            "≤": np.less_equal,
            "≥": np.greater_equal,
            "<": np.less,
            ">": np.greater,
            "=": np.equal,
            "≠": np.not_equal,
            "is ": np.equal,
        }[sign]
        blank = np.isnan(left) | np.isnan(right) if sign != "is " else np.zeros(np.shape(left), bool)
        return np.where(blank, np.nan, compare(left, right).astype(float))

    def _quoted(self) -> str:
        found = re.match(r"\s*“([^”]*)”", self.text)
        assert found
        self.text = self.text[found.end() :]
        return found[1]

    def _either(self) -> Any:
        found = self._product()
        while sign := self._takes("+ ", "− "):
            right = self._product()
            found = found + right if sign == "+ " else found - right
        return found

    def _product(self) -> Any:
        found = self._raised()
        while sign := self._takes("·", "/"):
            right = self._raised()
            found = found * right if sign == "·" else found / right
        return found

    def _raised(self) -> Any:
        found = self._atom()
        while sign := self._takes("^", *POWERS):
            found = found ** (self._atom() if sign == "^" else POWERS[sign])
        return found

    def _closed(self, end: str = ")") -> Any:
        found = self._phrase()
        assert self._takes(end), self.text
        return found

    def _atom(self) -> Any:
        if name := self._takes(*self.names):
            return self.values[name]
        if self._takes("blank"):
            return BLANKS
        if self._takes("t("):
            beyond, freedom = self._closed(";"), self._closed()
            return OPERATIONS["t quantile"].numpy(beyond, freedom)
        functions = {"√(": np.sqrt, "exp(": np.exp, "ln(": np.log, "|": np.abs, "(−(": np.negative, "(": np.positive}
        if opened := self._takes(*functions):
            return functions[opened](self._closed("|" if opened == "|" else "))" if opened == "(−(" else ")"))
        if self._takes("√"):
            return np.sqrt(self._atom())
        if self._takes("π"):
            return math.pi
        found = re.match(r"\s*−?[\d.]+(e-?−?\d+)?", self.text)
        if not found:
            raise ValueError(f"not understood: {self.text!r}")
        self.text = self.text[found.end() :]
        return float(found[0].strip().replace("−", "-"))


def leaves(node: Node) -> Iterator[Node]:
    """Yield the cells of an expression, and its aggregates whole."""
    if isinstance(node, Column | Named | Aggregate):
        yield node
    else:
        for part in children(node):
            yield from leaves(part)


@pytest.fixture(scope="module")
def scopes() -> list[Any]:
    """Return the values of the invented motors."""
    return [xlsengine.evaluate(bench_test_of(demo)).scope for demo in DEMO_TESTS]


@pytest.mark.parametrize(("where", "quantity"), [each[1:] for each in SPELT], ids=[each[2].name for each in SPELT])
def test_a_printed_equation_gives_the_quantity(scopes: list[Any], where: str, quantity: Quantity) -> None:
    said = equation(quantity)
    head, _, right = said.partition(" = ")
    assert head == (quantity.symbol or quantity.label)
    told = 0
    for scope in scopes:
        values = {words(leaf, symbol): scope.any_value(leaf) for leaf in leaves(quantity.expression)}
        cell = Column(where, quantity.name) if where in TABLES else Named(quantity.name)
        wanted = np.asarray(scope.any_value(cell), dtype=float)
        with np.errstate(all="ignore"):
            found = np.broadcast_to(np.asarray(Equation(right, values).value(), dtype=float), wanted.shape)
        finite = np.isfinite(found)
        np.testing.assert_allclose(np.where(finite, found, np.nan), wanted, rtol=EIGHT_DIGITS, equal_nan=True)
        told += int(np.sum(finite))
    assert told > 0


@pytest.mark.parametrize("name", CONSTANTS)
def test_a_named_constant_is_the_number_that_it_names(name: str) -> None:
    assert math.isclose(float(Equation(name, {}).value()), CONSTANTS[name], rel_tol=1e-12)


def test_what_is_said_in_words_has_words() -> None:
    in_words = [quantity for _, _, quantity in PRINTED if len(equation(quantity)) > LONGEST]
    assert in_words
    assert [quantity.name for quantity in in_words if len(quantity.meaning.split()) < 8] == []


def test_no_equation_repeats_its_own_symbol() -> None:
    loops = [equation(q) for _, _, q in PRINTED if equation(q).partition(" = ")[2] == (q.symbol or q.label)]
    doubled = [
        q.symbol
        for _, _, q in PRINTED
        if q.symbol.replace("/", " / ") in equation(q).partition(" = ")[2].split(" + ") and "/" in q.symbol
    ]
    assert (loops, doubled) == ([], [])


def test_every_line_leads_to_its_declaration() -> None:
    for _, where, quantity in PRINTED:
        cell = Column(where, quantity.name) if where in TABLES else Named(quantity.name)
        assert declared(cell) is quantity


@pytest.mark.parametrize("demo", DEMOS)
def test_what_is_read_on_method_fits_three_pages(results_of: ResultsOf, demo: str) -> None:
    """LibreOffice prints 2371 points of rows on three pages, seen with one of the invented motors."""
    sheet = openpyxl.load_workbook(results_of(demo).path)["Method"]
    (last,) = (cell.row - 1 for cell in sheet["A"] if cell.value == OTHERS)
    heights = [sheet.row_dimensions[row].height or 15 for row in range(1, (last or 1) + 1)]
    assert sum(heights) <= 2350
    equations = [str(sheet.cell(row, 4).value or "") for row in range(1, (last or 1) + 1)]
    assert max(map(len, equations)) <= LONGEST
