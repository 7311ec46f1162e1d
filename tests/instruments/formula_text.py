"""The text of a formula taken apart: does it parse, what does it call, what does it refer to.

Grammar after ISO/IEC 29500-1, 18.17 (formulas). Nothing is computed here.
"""

import re
from dataclasses import dataclass, field
from functools import cache
from typing import NamedTuple, NoReturn

from tests.instruments.findings import Rule
from tests.instruments.functions import ARRAYS, FUNCTIONS, ONE_VALUE, UNKNOWN, refusal

# Limits of Excel 2010 and later: Microsoft, "Excel specifications and limits".
LONGEST_FORMULA, LONGEST_TEXT, DEEPEST_CALL = 8192, 255, 64

_CELL = r"\$?[A-Z]{1,3}\$?[1-9]\d*"
_TOKEN = re.compile(
    rf"""
    (?P<space>\s+)
  | (?P<text>"(?:[^"]|"")*")
  | (?P<error>\#(?:N/A|DIV/0!|VALUE!|REF!|NAME\?|NUM!|NULL!))
  | (?P<sheet>(?:'(?:[^']|'')+'|[^\W\d][\w.]*)!)
  | (?P<function>[^\W\d][\w.]*(?=\())
  | (?P<area>(?:{_CELL}:{_CELL}|\$?[A-Z]{{1,3}}:\$?[A-Z]{{1,3}}|\$?[1-9]\d*:\$?[1-9]\d*|{_CELL})(?![\w.(\[!]))
  | (?P<number>(?:\d+\.?\d*|\.\d+)(?:[Ee][+-]?\d+)?(?![\w.]))
  | (?P<table>(?:[^\W\d]|\\)[\w.\\]*(?=\[))
  | (?P<name>(?:[^\W\d]|\\)[\w.\\]*)
  | (?P<operator><=|>=|<>|[-+*/^&=<>%,;:(){{}}])
    """,
    re.VERBOSE,
)
_BINARY = frozenset({"+", "-", "*", "/", "^", "&", "=", "<", ">", "<=", ">=", "<>", ":"})

_HEADER = r"(?:'[\[\]\#'@]|[^\[\]\#'@])+"
_KEYWORDS = frozenset({"#All", "#Data", "#Headers", "#Totals", "#This Row"})
_BRACKETED = re.compile(rf"\s*\[(#[A-Za-z ]+|{_HEADER})\]\s*([,:]?)")
_SHAPE = re.compile(r"(K,){0,2}H(:H)?[,:]?|K(,K)?")


@dataclass(frozen=True)
class AreaUse:
    """An A1 reference; `sheet` is None where the formula's own sheet is meant."""

    sheet: str | None
    text: str


@dataclass(frozen=True)
class NameUse:
    """A defined name, with the sheet it was asked from if one was written."""

    sheet: str | None
    name: str


@dataclass(frozen=True)
class TableUse:
    """A structured reference: its ``#`` keywords, and one header or the first and last of several."""

    table: str
    keywords: frozenset[str]
    headers: tuple[str, ...]


Use = AreaUse | NameUse | TableUse


class FormulaError(ValueError):
    """The formula breaks `rule`; nothing behind this place was looked at."""

    def __init__(self, rule: Rule, message: str) -> None:
        self.rule = rule
        super().__init__(message)


@dataclass
class Parsed:
    """What a formula uses; `bare` are the uses that stand where one value is wanted."""

    uses: list[Use] = field(default_factory=list)
    bare: list[Use] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    faults: list[tuple[Rule, str]] = field(default_factory=list)


class _Token(NamedTuple):
    kind: str
    text: str


class _Operands(NamedTuple):
    """The references an expression combines, and whether it is a reference and nothing else."""

    uses: list[Use]
    alone: bool


@cache
def parse(text: str, union: bool = False) -> Parsed:
    """Take a formula (no leading ``=``) apart; `union` allows areas joined by commas."""
    parser = _Parser()
    if len(text) > LONGEST_FORMULA:
        parser.fault(Rule.FORMULA_TOO_LONG, f"{len(text)} characters, at most {LONGEST_FORMULA}")
    try:
        parser.tokens = tokens(text)
        parser.formula(union)
    except FormulaError as error:
        parser.fault(error.rule, str(error))
    return parser.parsed


def text_value(token: str) -> str:
    """Return what a quoted text of a formula stands for."""
    return token[1:-1].replace('""', '"')


def table_use(table: str, body: str) -> TableUse:
    """Read what stands between the outer brackets of a structured reference."""
    if body.startswith("@"):
        raise FormulaError(Rule.AT_REFERENCE, f"write {table}[[#This Row],[...]], not {table}[{body}]")
    if body in ("", *_KEYWORDS):
        return TableUse(table, frozenset({body} - {""}), ())
    if re.fullmatch(_HEADER, body):
        return TableUse(table, frozenset(), (_plain_header(body),))
    pieces = list(_BRACKETED.finditer(body))
    shape = "".join(("K" if piece[1][0] == "#" else "H") + piece[2] for piece in pieces)
    keywords = frozenset(piece[1] for piece in pieces if piece[1][0] == "#")
    if "".join(piece[0] for piece in pieces) != body or not _SHAPE.fullmatch(shape) or keywords - _KEYWORDS:
        raise FormulaError(Rule.FORMULA_SYNTAX, f"no structured reference: {table}[{body}]")
    return TableUse(table, keywords, tuple(_plain_header(piece[1]) for piece in pieces if piece[1][0] != "#"))


def _plain_header(written: str) -> str:
    return re.sub(r"'(.)", r"\1", written)


def tokens(text: str) -> list[_Token]:
    """Return the pieces of a formula, with an empty one at the end; FormulaError where it cannot be read."""
    found, at = [], 0
    while at < len(text):
        match = _TOKEN.match(text, at)
        if match is None:
            raise FormulaError(Rule.FORMULA_SYNTAX, f"cannot read {text[at : at + 20]!r}")
        kind, end = str(match.lastgroup), match.end()
        if kind == "table":
            end = _closing_bracket(text, end) + 1
        if kind != "space":
            found.append(_Token(kind, text[at:end]))
        at = end
    return [*found, _Token("end", "")]


def _closing_bracket(text: str, start: int) -> int:
    depth, at = 0, start
    while at < len(text):
        if text[at] == "'":
            at += 1
        else:
            depth += {"[": 1, "]": -1}.get(text[at], 0)
        if depth == 0:
            return at
        at += 1
    raise FormulaError(Rule.FORMULA_SYNTAX, f"bracket left open: {text[start : start + 20]!r}")


class _Parser:
    """Recursive descent over the tokens of one formula."""

    def __init__(self) -> None:
        self.tokens: list[_Token] = []
        self.at = 0
        self.depth = 0
        self.parsed = Parsed()

    def fault(self, rule: Rule, message: str) -> None:
        self.parsed.faults.append((rule, message))

    def next(self) -> _Token:
        self.at += 1
        return self.tokens[self.at - 1]

    def accept(self, *operators: str) -> str | None:
        token = self.tokens[self.at]
        return self.next().text if token.kind == "operator" and token.text in operators else None

    def expect(self, *operators: str) -> str:
        found = self.accept(*operators)
        if found is None:
            self.unexpected(self.tokens[self.at], " or ".join(operators))
        return found

    def unexpected(self, token: _Token, wanted: str) -> NoReturn:
        found = token.text or "the end"
        raise FormulaError(Rule.FORMULA_SYNTAX, f"found {found!r} where {wanted} was wanted")

    def formula(self, union: bool) -> None:
        self.whole(takes_range=union, in_array=False)
        while union and self.accept(","):
            self.whole(takes_range=union, in_array=False)
        if self.tokens[self.at].kind != "end":
            self.unexpected(self.tokens[self.at], "an operator or the end")

    def whole(self, takes_range: bool, in_array: bool) -> None:
        """Read an expression and note the references in it that stand where one value is wanted."""
        operands = self.expression(takes_range, in_array)
        if not in_array and not (takes_range and operands.alone):
            self.parsed.bare += operands.uses

    def expression(self, takes_range: bool, in_array: bool) -> _Operands:
        uses: list[Use] = []
        alone = True
        while True:
            while self.accept("+", "-"):
                alone = False
            operand = self.operand(takes_range, in_array)
            uses += operand.uses
            alone = alone and operand.alone
            while self.accept("%"):
                alone = False
            operator = self.accept(*_BINARY)
            if operator is None:
                return _Operands(uses, alone)
            alone = alone and operator == ":"

    def operand(self, takes_range: bool, in_array: bool) -> _Operands:
        token = self.next()
        if token == _Token("operator", "("):
            inner = self.expression(takes_range, in_array)
            self.expect(")")
            return inner
        if token == _Token("operator", "{"):
            self.array_constant()
        elif token.kind == "function":
            self.call(token.text, in_array)
        elif token.kind in ("text", "error", "number"):
            self.constant(token)
        else:
            return _Operands(self.reference(token), alone=True)
        return _Operands([], alone=True)

    def constant(self, token: _Token) -> None:
        if token.kind == "text" and len(text_value(token.text)) > LONGEST_TEXT:
            self.fault(Rule.FORMULA_TOO_LONG, f"text beyond {LONGEST_TEXT} characters: {token.text[:20]}...")
        if token.kind == "error" and token.text != "#N/A":
            self.fault(Rule.FORMULA_SYNTAX, f"{token.text} stands in the formula")

    def reference(self, token: _Token) -> list[Use]:
        sheet = None
        if token.kind == "sheet":
            sheet = token.text[:-1]
            if sheet.startswith("'"):
                sheet = sheet[1:-1].replace("''", "'")
            token = self.next()
        if token.text.upper() in ("TRUE", "FALSE"):
            return []
        use: Use
        if token.kind == "area":
            use = AreaUse(sheet, token.text)
        elif token.kind == "name":
            use = NameUse(sheet, token.text)
        elif token.kind == "table" and sheet is None:
            table, _, body = token.text[:-1].partition("[")
            use = table_use(table, body)
        else:
            self.unexpected(token, "a value")
        self.parsed.uses.append(use)
        return [use]

    def call(self, name: str, in_array: bool) -> None:
        reason = refusal(name)
        if reason:
            self.fault(Rule.FUNCTION_NOT_ALLOWED, reason)
        function = FUNCTIONS.get(name, UNKNOWN)
        self.depth += 1
        if self.depth > DEEPEST_CALL:
            raise FormulaError(Rule.FORMULA_TOO_LONG, f"calls nested deeper than {DEEPEST_CALL}")
        self.expect("(")
        if name == "HYPERLINK":
            self.note_link()
        in_array = name in ARRAYS or (in_array and name not in ONE_VALUE)
        count = self.arguments(function.takes_ranges, in_array)
        if not function.least <= count <= function.most:
            wanted = f"{function.least} to {function.most}"
            self.fault(Rule.ARGUMENT_COUNT, f"{name} has {count} arguments, takes {wanted}")
        self.depth -= 1

    def arguments(self, takes_range: bool, in_array: bool) -> int:
        """Read up to the closing bracket; an argument may be left empty."""
        if self.accept(")"):
            return 0
        count, closed = 0, False
        while not closed:
            count += 1
            if self.tokens[self.at].text not in (",", ")"):
                self.whole(takes_range, in_array)
            closed = self.expect(",", ")") == ")"
        return count

    def note_link(self) -> None:
        first, after = self.tokens[self.at], self.tokens[self.at + 1]
        if first.kind == "text" and after.text in (",", ")"):
            self.parsed.links.append(text_value(first.text))

    def array_constant(self) -> None:
        while True:
            self.accept("+", "-")
            token = self.next()
            if token.kind not in ("number", "text", "error") and token.text not in ("TRUE", "FALSE"):
                self.unexpected(token, "a constant")
            if self.expect(",", ";", "}") == "}":
                return
