"""Uncertainty: how sure each figure is, and where the doubt in a chosen one comes from."""

from typing import Any

from xlsengine.bench.groups.repeatability import repeat_groups, scatter_basis, scatter_freedom
from xlsengine.bench.inputs.conditions import current_accuracy, speed_accuracy, thrust_accuracy, voltage_accuracy
from xlsengine.bench.inputs.settings import BUDGET_FIGURES, budget_figure, coverage
from xlsengine.bench.propagation.accuracies import STAND, accuracies_basis
from xlsengine.bench.propagation.terms import INFINITE, NOTHING, Input, coverage_factor
from xlsengine.bench.uncertainty import budget as b
from xlsengine.bench.uncertainty.group_uncertainty import GROUP_UNCERTAINTY
from xlsengine.bench.uncertainty.row_uncertainty import ERRORS, SINGLE, SINGLES, Single
from xlsengine.bench.uncertainty.telling_apart import efficiency_apart, thrust_apart
from xlsengine.expression import Named, Node, call, join, say
from xlsengine.workbook.book import Said, Sheet
from xlsengine.workbook.formats import SKY
from xlsengine.workbook.sheets.parts import Content, Kind, Sentences, SheetPlan, TablePart, any_of, write_list

_LINES = (*ERRORS, None)
_SPANS = ((0, 1), (2, 3), (4, 5), (6, 7), (8, 8), (9, 10))
_LETTERS = (31,)  # of a source of error in a line
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
    last = write_list(sheet, top, _SPANS, _HEADERS, [_line(sheet, each) for each in _LINES], _LETTERS) - 1
    ends = {"min_type": "num", "max_type": "num", "min_value": 0, "max_value": 100}
    bar = {"type": "data_bar", "bar_solid": True, "bar_color": SKY, **ends}
    sheet.worksheet.conditional_format(top + 1, _SPANS[4][0], last, _SPANS[4][0], bar)
    _write_result(sheet, last + 1)
    return last + 3


def _line(sheet: Sheet, source: Input | None) -> tuple[list[Said], tuple[Any, ...]]:
    """Return one source of error; None stands for the scatter of the readings, which has no sensitivity of its own."""
    formats = sheet.book.formats
    part = b.budget_scatter if source is None else b.PARTS[source.name]
    number, words = formats.derived(5, num_format=_SCIENTIFIC), formats.derived(0, text=True)
    figures = formats.derived(1, num_format="0.0", align="right", indent=1)
    said: list[Said] = [
        "Scatter of the readings" if source is None else source.label,
        None if source is None else _unit_of(source),
        None if source is None else part / source.uncertainty,
        part,
        part**2 / b.budget_combined**2 * 100,
        _freedom(source),
    ]
    return said, (words, figures, number, number, formats.derived(1), figures)


def _unit_of(source: Input) -> Node:
    """Say how large the standard uncertainty of the source is; instruments are known in percent, but for the stand."""
    if source.unit:
        return join(source.uncertainty.fixed(2), f" {source.unit}").otherwise("")
    return join((source.uncertainty * 100).fixed(2), " %").otherwise("")


def _freedom(source: Input | None) -> Node:
    if source is None:
        return scatter_freedom.fixed(0).otherwise("")
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
_BLANK = "A line is blank where no reading has its figure. Where the watts went has no lines: the losses are estimates."
_SINGLE_LETTERS = (30, 99, 99, 99, 99, 99, 44)  # of the first and the last span in a line
_AT_HIGHEST = STAND / Named("best_thrust")


def _write_singles(sheet: Sheet, content: Content, top: int) -> int:
    """Write the figures that something was read for."""
    formats, layout = sheet.book.formats, sheet.book.layout
    sheet.text(top, 0, SINGLE.name, formats.section)
    how = join(
        "Relative standard uncertainty u(y)/y = √(share² + (p·u(T)/T)²), with the thrust stand's u(T) = ",
        STAND.fixed(2),
        " g; ± is k times that, k a little less where u(T)/T is large.",
    )
    sheet.live(top + 1, 0, how.otherwise(""), formats.subtitle)
    sheet.text(top + 2, 0, _BLANK, formats.subtitle)
    percent, plain, words = formats.derived(2, num_format="0.00%"), formats.derived(2), formats.derived(0, text=True)
    forms = (words, percent, percent, plain, formats.derived(0), plain, words)
    lines = [(_single(each), forms) for each in SINGLES if not layout.is_left_out(each.share)]
    below = write_list(sheet, top + 3, _SINGLE_SPANS, _SINGLE_HEADERS, lines, _SINGLE_LETTERS)
    sheet.height(top + 3, 44)
    return below + 1


def _single(each: Single) -> list[Said]:
    expanded, factor = each.expanded(_AT_HIGHEST), coverage_factor(each.freedom)
    return [each.label, expanded, each.share, each.power, each.freedom, factor, _behind(each)]


def _behind(each: Single) -> str:
    """Name the sources of error that the figure feels."""
    names = [error.label for error, _ in each.felt(STAND)]
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
