"""Uncertainty: how sure each figure is, and where the doubt in a chosen one comes from."""

from xlsengine.bench.groups.repeatability import repeat_groups, scatter_basis
from xlsengine.bench.inputs.conditions import current_accuracy, speed_accuracy, thrust_accuracy, voltage_accuracy
from xlsengine.bench.inputs.settings import BUDGET_FIGURES, budget_figure, coverage
from xlsengine.bench.propagation.accuracies import LIMIT_TO_DEVIATION, accuracies_basis, taken_thrust_accuracy
from xlsengine.bench.propagation.terms import INFINITE, NOTHING, Input, coverage_factor
from xlsengine.bench.uncertainty import budget as b
from xlsengine.bench.uncertainty.group_uncertainty import GROUP_UNCERTAINTY
from xlsengine.bench.uncertainty.row_uncertainty import SINGLE, SINGLES, Single
from xlsengine.bench.uncertainty.telling_apart import efficiency_apart, thrust_apart
from xlsengine.expression import Named, Node, call, join, say
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.cell_values import row_height
from xlsengine.workbook.formats import SKY
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.sheets.parts import Content, Kind, Sentences, SheetPlan, TablePart, any_of

_LINES = (*b.SOURCES, None)
_SPANS = ((0, 1), (2, 3), (4, 5), (6, 7), (8, 8), (9, 10))
_LETTERS = 31  # of a source of error in a line
_SCIENTIFIC = '0.00E+00;-0.00E+00;"–"'
_HEADERS = ("Source of error", "u(x)", "Sensitivity c", "Contribution c·u", "Share (%)", "Degrees of freedom")


def _write_budget(sheet: Sheet, content: Content, top: int) -> int:
    formats, top = sheet.book.formats, top + 1
    of_row = join(
        "Budget of ",
        call("choose", b.budget_number, *BUDGET_FIGURES),
        (b.budget_number <= float(len(b.SURE_FIGURES))).where(join(", ", b.budget_label), ", of the motor"),
    )
    sheet.live(top - 1, 0, of_row, formats.section)
    target = f"#{sheet.book.layout.address(budget_figure.name)}"
    link = formats.get(font_color=SKY, underline=1)
    sheet.live(top - 1, _SPANS[-1][0], call("link", target, "choose another on Settings"), link)
    sheet.over(top, _SPANS, _HEADERS, formats.header)
    for row, source in enumerate(_LINES, start=top + 1):
        _write_line(sheet, row, source)
    last = top + len(_LINES)
    ends = {"min_type": "num", "max_type": "num", "min_value": 0, "max_value": 100}
    bar = {"type": "data_bar", "bar_solid": True, "bar_color": SKY, **ends}
    sheet.worksheet.conditional_format(top + 1, _SPANS[4][0], last, _SPANS[4][0], bar)
    _write_result(sheet, last + 1)
    return last + 3


def _write_line(sheet: Sheet, row: int, source: Input | None) -> None:
    """Write one source of error; None stands for the scatter of the readings, which has no sensitivity of its own."""
    formats = sheet.book.formats
    part = b.budget_scatter if source is None else b.PARTS[source.name]
    number, words = formats.derived(5, num_format=_SCIENTIFIC), formats.derived(0, text=True)
    figures = formats.derived(1, num_format="0.0", align="right", indent=1)
    said: list[str | Node | None] = [
        "Scatter of the readings" if source is None else source.label,
        None if source is None else _unit_of(source),
        None if source is None else part / source.uncertainty,
        part,
        part**2 / b.budget_combined**2 * 100,
        _freedom(source),
    ]
    sheet.over(row, _SPANS, said, (words, figures, number, number, formats.derived(1), figures))
    sheet.height(row, row_height([str(said[0])], [_LETTERS], 13, 2))


def _unit_of(source: Input) -> Node:
    """Say how large the standard uncertainty of the source is; instruments are known in percent, but for the stand."""
    if source.unit:
        return join(source.uncertainty.fixed(2), f" {source.unit}").otherwise("")
    return join((source.uncertainty * 100).fixed(2), " %").otherwise("")


def _freedom(source: Input | None) -> Node:
    if source is None:
        return b.budget_scatter_freedom.fixed(0).otherwise("")
    return join("infinite") if source.freedom is None else source.freedom.fixed(0).otherwise("")


def _write_result(sheet: Sheet, row: int) -> None:
    formats = sheet.book.formats
    unit = join(" ", b.budget_unit)
    endless = (b.budget_freedom < INFINITE).where(b.budget_freedom.whole_part().fixed(0), "infinite")
    said = say(
        "y = {:.3f}{};  u = {:.4f}{};  ν = {};  k = {:.2f};  U = k·u = ± {:.3f}{}",
        b.budget_value,
        unit,
        b.budget_combined,
        unit,
        endless,
        b.budget_factor,
        b.budget_expanded,
        unit,
    ).otherwise("This figure is blank: what it needs was not read.")
    sheet.live(row, 0, said, formats.get(bold=True, font_size=11))


# --- ± of a single reading: a line a figure, from which the ± of every row follows ------------------------------


_SINGLE_HEADERS = (
    *("Figure", "± at highest thrust", "Share", "Power of thrust p"),
    *("Degrees of freedom", "Coverage factor k", "Behind it"),
)
_SINGLE_SPANS = ((0, 1), (2, 2), (3, 3), (4, 4), (5, 5), (6, 6), (7, 10))
_SHARE, _FREEDOM = _SINGLE_SPANS[2][0], _SINGLE_SPANS[4][0]
_BLANK = (
    "A line is blank where no reading has its figure. What stays unexplained of the watts has no line: it is a small "
    "difference of figures that have."
)
_SINGLE_LETTERS = (30, 44)  # of the first and the last span in a line
_ABOVE = 4
"""Rows of title, explanation and headers."""
_STAND = taken_thrust_accuracy * LIMIT_TO_DEVIATION
_AT_HIGHEST = _STAND / Named("best_thrust")


def _lines(layout: Layout) -> list[Single]:
    """Return the figures that something was read for."""
    return [each for each in SINGLES if not layout.is_left_out(each.share)]


def _write_singles(sheet: Sheet, content: Content, top: int) -> int:
    formats, lines, first = sheet.book.formats, _lines(sheet.book.layout), top + _ABOVE
    sheet.text(top, 0, SINGLE.name, formats.section)
    how = join(
        "Relative standard uncertainty u(y)/y = √(share² + (p·u(T)/T)²), with the thrust stand's u(T) = ",
        _STAND.fixed(2),
        " g; ± is k times that, k a little less where u(T)/T is large.",
    )
    sheet.live(top + 1, 0, how.otherwise(""), formats.subtitle)
    sheet.text(top + 2, 0, _BLANK, formats.subtitle)
    sheet.over(first - 1, _SINGLE_SPANS, _SINGLE_HEADERS, formats.header)
    sheet.height(first - 1, 44)
    for row, each in enumerate(lines, start=first):
        _write_single(sheet, row, each)
    return first + len(lines) + 1


def _write_single(sheet: Sheet, row: int, each: Single) -> None:
    formats, behind = sheet.book.formats, _behind(each)
    percent, plain, words = formats.derived(2, num_format="0.00%"), formats.derived(2), formats.derived(0, text=True)
    factor = coverage_factor(each.freedom)
    said = (each.label, each.expanded(_AT_HIGHEST), each.share, each.power, each.freedom, factor, behind)
    sheet.over(row, _SINGLE_SPANS, said, (words, percent, percent, plain, formats.derived(0), plain, words))
    sheet.height(row, row_height((each.label, behind), _SINGLE_LETTERS, 13))


def _behind(each: Single) -> str:
    """Name the sources of error that the figure feels."""
    names = ["Thrust stand"] if each.power != NOTHING else []
    names += [error.label for error, _ in each.shares]
    names += ["scatter of repeats"] if each.scatter != NOTHING else []
    return ", ".join(name if place == 0 else name[0].lower() + name[1:] for place, name in enumerate(names))


_LEVEL = join("“±” holds the true value with a confidence of ", coverage.fixed(0), " %, if the accuracies are right.")
_BASIS = (
    _LEVEL,
    join("Accuracies of the instruments: ", accuracies_basis, "."),
    join("Scatter is taken from ", scatter_basis, "."),
)
SHEET = SheetPlan(
    "Uncertainty",
    Kind.WORKING,
    "± of each figure, and where it comes from",
    heading="What “±” stands for, by the Guide to the expression of uncertainty in measurement (GUM).",
    parts=(
        Sentences((thrust_apart, efficiency_apart)),
        Sentences(_BASIS, bold=False),
        _write_budget,
        TablePart(GROUP_UNCERTAINTY, "Figures by propeller and cell count", header_height=46),
        _write_singles,
    ),
    widths=(20, 9, 9),
    measured=any_of(repeat_groups, thrust_accuracy, voltage_accuracy, current_accuracy, speed_accuracy),
    more="Name the accuracies of the instruments on Bench, or repeat readings, to see where each ± comes from",
)
