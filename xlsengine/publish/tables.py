"""The table and the readings as .csv, and the table as Markdown, for posts, pages and spreadsheets."""

from collections.abc import Sequence

from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging import counting
from xlsengine.cautions import ON_A_PICTURE
from xlsengine.publish.content import AIR, HEADERS, Content, Line
from xlsengine.study.evaluation import Scope
from xlsengine.text_operations import fixed_text
from xlsengine.workbook.output import as_csv

HEAD = ("Propeller", "Cells", *HEADERS, "Marks")
MARKS = "p: a peak, less when held. ●: a flagged reading stands behind it."
_COMPUTED = ("power", "grams_per_watt", "grams_per_amp", "flight_current_low", "flight_current_high", "flag_text")


def marks_of(line: Line) -> str:
    """Return the marks of a line in one text."""
    return " ".join(mark for mark, holds in (("p", line.peak), ("●", line.doubtful)) if holds)


def rows_of(content: Content) -> list[tuple[str, ...]]:
    """Return the table's rows as texts, in the order of `HEAD`."""
    return [(line.prop, line.cells, *line.shown, marks_of(line)) for line in content.lines]


def table_csv(content: Content) -> str:
    """Return the table as .csv (RFC 4180); whole numbers without a mark between thousands, amps in flight in two columns."""
    flight = HEAD.index(HEADERS[AIR])
    head = (*HEAD[:flight], "In flight, low (A)", "In flight, high (A)", *HEAD[flight + 1 :])
    rows = [(*row[:flight], *_ends(row[flight]), *row[flight + 1 :]) for row in rows_of(content)]
    return as_csv([head, *((*row[:2], *(text.replace(",", "") for text in row[2:-1]), row[-1]) for row in rows)])


def _ends(amps: str) -> tuple[str, str]:
    """Return the low and the high end of amps in flight; what may rise has no high end.

    >>> _ends("22–27"), _ends("≥7.6"), _ends("31"), _ends("")
    (('22', '27'), ('7.6', ''), ('31', '31'), ('', ''))
    """
    if amps.startswith("≥"):
        return amps.removeprefix("≥"), ""
    low, _, high = amps.partition("–")
    return low, high or low


def readings_csv(scope: Scope) -> str:
    """Return every reading as .csv, as typed, with what each gives, its flag and whether it counts."""
    rows, standing = scope.used_rows(r.READINGS.name), scope.this_row(counting.standing).tolist()
    names = [*r.READINGS.fields, *_COMPUTED]
    columns = [_column(scope, name)[:rows] for name in names]
    head = [*(r.READINGS.columns[name].header for name in names), "Counts"]
    last = ["yes" if standing[row] > 0 else "no" for row in range(rows)]
    return as_csv([head, *zip(*columns, last, strict=True)])


def _column(scope: Scope, name: str) -> list[str]:
    declared, values = r.READINGS.columns[name], scope.column(r.READINGS.name, name).tolist()
    if declared.is_text:
        return [str(value or "") for value in values]
    if name in r.READINGS.fields:
        return ["" if value != value else f"{value:.10g}" for value in values]
    return [fixed_text(value, r.READINGS.quantities[name].shown) or "" for value in values]


def table_markdown(content: Content, pictures: Sequence[tuple[str, str]]) -> str:
    """Return title, conditions, `pictures` (file name and alt text), the table, answers and cautions as Markdown."""
    about = ", ".join(each for each in (content.kv and f"{content.kv} (label)", content.tester, content.date) if each)
    shown = [f"![{_plain(alt)}](<{name}>)" for name, alt in pictures]
    table = [_line(HEAD), _line(("---", *["---:"] * (len(HEAD) - 2), "---")), *map(_line, rows_of(content))]
    answers = [
        f"- **{_plain(each.title)}:** {_plain(each.line)}. {_plain(each.words)}"
        for each in (content.air, *content.answers)
    ]
    parts = [
        f"# {_plain(content.title)}",
        _plain(about),
        *shown,
        _plain(content.disclosure),
        _plain(content.conditions),
        "\n".join(table),
        f"{content.left_out} \\* {content.estimate} {MARKS}",
        "\n".join(answers),
        " ".join(ON_A_PICTURE),
    ]
    return "\n\n".join(part for part in parts if part) + "\n"


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(_plain(cell) for cell in cells)} |"


def _plain(text: str) -> str:
    """Return a text that Markdown takes as it is."""
    flat = " ".join(text.split())
    return "".join(f"\\{sign}" if sign in "\\`*_[]<>|#" else sign for sign in flat)
