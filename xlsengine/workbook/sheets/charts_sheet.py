"""Charts, only of what was read: two a page of what the Report does not draw; below, not printed, the others.

Their cells stand to the right.
"""

from dataclasses import replace

from xlsengine.bench.groups import summary as g
from xlsengine.bench.inputs import readings as r
from xlsengine.bench.judging.counting import standing
from xlsengine.bench.physics import speed_figures as f
from xlsengine.study.evaluation import Scope
from xlsengine.workbook import chart_data as c
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.charts import Picture, draw
from xlsengine.workbook.formats import GREY
from xlsengine.workbook.page_widths import MARGINS
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan, any_of
from xlsengine.workbook.sheets.report_charts import stepped_looks

MOST_BARS = 24
_TOP, _CHART_ROWS, _A_PAGE = 3, 22, 2
_SIZE = (1280, 430)
_PAGE_COLUMNS, _COLUMN_WIDTH, _SCALE = 20, 8.5, 73
_ALSO_ON_REPORT = "Not printed: what the Report draws too, here larger, and what the charts above say in another way"
_FOR_ENGINEERS = "For engineers: figures by speed (not printed)"
_BY_PACK = "one colour for each cell count, the propeller with the highest thrust first."
_A_LINE = "one line for each propeller and cell count, a colour and mark a propeller and a dash a cell count."
_A_COLOUR = "one colour and mark for each cell count."
_THROTTLE, _THRUST, _CURRENT, _PER_WATT = "Throttle (%)", "Thrust (g)", "Current (A)", "Thrust per power (g/W)"


def _bars_of(what: str, y: str, said: str, decimals: int = 0) -> Picture:
    title, described = f"{what} at full throttle, by propeller", f"Bar chart of {said} by propeller, {_BY_PACK}"
    return Picture(title, "", y, described, bars=True, decimals=decimals)


def _steps_of(x: str, y: str, said: str) -> Picture:
    up, across = ("Grams per watt" if y == _PER_WATT else y.partition(" (")[0]), x.partition(" (")[0].lower()
    described = f"Line chart of {said} against {across}, {_A_LINE}"
    return Picture(f"{up} against {across}", x, y, described, lines=True, x_max=100 if x == _THROTTLE else None)


_BARS = {
    "thrust": _bars_of("Thrust", _THRUST, "the static thrust at full throttle in grams"),
    "current": _bars_of("Current", _CURRENT, "the static current at full throttle in amps", 1),
    "grams_per_watt": _bars_of("Grams per watt", _PER_WATT, "grams per watt at full throttle", 2),
}
"""The last one where there are no throttle steps; the others are on the Report too."""
_STEPS = {
    ("throttle", "thrust_up"): _steps_of(_THROTTLE, _THRUST, "measured static thrust in grams"),
    ("throttle", "current"): _steps_of(_THROTTLE, _CURRENT, "measured current in amps"),
    ("thrust", "efficiency"): _steps_of(_THRUST, _PER_WATT, "measured grams per watt"),
}
"""By what is drawn across and up; the last one is on the Report too where it was read at round thrusts."""
POWER = Picture(
    "Thrust against power",
    "Power (W)",
    "Thrust (g)",
    f"Scatter chart of static thrust in grams against electrical power in watts, {_A_COLOUR}",
)
SPEED = Picture(
    "Thrust against speed",
    "Speed (rpm)",
    "Thrust (g)",
    f"Scatter chart of static thrust in grams against propeller speed, {_A_COLOUR}",
)
RATIO = Picture(
    "Speed ratio n/(Kv·V) against speed",
    "Speed (rpm)",
    "Speed ratio n/(Kv·V)",
    "Scatter chart of the ratio of speed to labelled Kv times volts against speed; a loaded motor lies below one.",
)
HOVER = Picture(
    "Overall static efficiency against thrust",
    "Thrust (g)",
    "Ideal over electrical power",
    f"Scatter chart of ideal hover power over electrical power against thrust, {_A_COLOUR}",
)
SPLIT = Picture(
    "Efficiency of propeller and motor against speed",
    "Speed (rpm)",
    "Efficiency",
    "Scatter chart against propeller speed of the figure of merit, the efficiency of motor and ESC, and the hover "
    "efficiency, which is the product of the two; the bars are their expanded uncertainties.",
)
COEFFICIENTS = Picture(
    "Thrust and power coefficient against speed",
    "Speed (rpm)",
    "Coefficient",
    "Scatter chart of the static thrust coefficient CT and power coefficient CP against propeller speed; the bars are "
    "their expanded uncertainties.",
)
Pictures = list[tuple[Picture, list[c.Drawn]]]


def pictures(sheet: Sheet, scope: Scope) -> tuple[list[tuple[bool, Picture, list[c.Drawn]]], Pictures]:
    """Write what the charts are drawn from; return those for all, and whether the Report draws them, then for engineers."""
    data, steps = c.ChartData(sheet, scope), c.throttle_sweeps(scope)
    of, on_report = c.looks(steps), bool(stepped_looks(scope))
    lines = {
        words: {of[each.place]: c.write_sweep(data, each) for each in put} for words, put in c.plots(steps).items()
    }
    stepped = [
        (
            on_report and y == "efficiency",
            replace(picture, title=picture.title + words),
            [c.Drawn(line[x], line[y], look=look) for look, line in drawn.items()],
        )
        for (x, y), picture in _STEPS.items()
        for words, drawn in lines.items()
    ]
    found = [each for each in (*_bars(data, scope, not steps), *stepped) if each[-1]]
    power = data.reading_series(r.power, r.thrust) if steps or not found else []  # else a few dots that nobody can name
    found += [(bool(stepped), POWER, power)] if power else []
    speeds = scope.this_row(r.speed)[scope.this_row(standing) > 0]
    engineers = [each for each in _engineers(data) if each[-1]] if (speeds > 0).any() else []
    return found, engineers  # a chart without a series is refused


def _bars(data: c.ChartData, scope: Scope, with_efficiency: bool) -> list[tuple[bool, Picture, list[c.Drawn]]]:
    """Return bars by propeller, and whether the Report draws them too."""
    rows = c.propellers_drawn(scope)
    thinned = f" ({MOST_BARS} of {rows} propellers)" if rows > MOST_BARS else ""
    shown = [part for part in _BARS if with_efficiency or part != "grams_per_watt"]
    titled = {part: replace(_BARS[part], title=_BARS[part].title + thinned) for part in shown}
    wanted = min(rows, MOST_BARS)
    return [(part != "grams_per_watt", titled[part], data.bar_series(g.full[part], wanted)) for part in shown]


def _engineers(data: c.ChartData) -> Pictures:
    return [
        (SPLIT, data.speed_series((f.figure_of_merit, f.motor_efficiency, f.hover_efficiency))),
        (COEFFICIENTS, data.speed_series((f.thrust_coefficient, f.power_coefficient))),
        (HOVER, data.reading_series(r.thrust, r.hover_efficiency)),
        (SPEED, data.reading_series(r.speed, r.thrust)),
        (RATIO, data.reading_series(r.speed, r.speed_ratio)),
    ]


def _write_charts(sheet: Sheet, content: Content, top: int) -> int:
    """Write the charts below each other; return the row below those that are printed."""
    found, engineers = pictures(sheet, content.scope)
    printed, others = (
        [(picture, drawn) for on_report, picture, drawn in found if on_report is which] for which in (False, True)
    )
    printed, others = (printed, others) if printed else (others, [])
    sheet.heading("Charts", "")
    cut = any(sweep.points > c.MOST_POINTS for sweep in c.throttle_sweeps(content.scope))
    about = _about(bool(printed), bool(engineers), cut)
    sheet.text(1, 0, about, sheet.book.formats.get(font_color=GREY, italic=True, font_size=12))
    bottom = below = _insert(sheet, printed, _TOP)
    for title, more in ((_ALSO_ON_REPORT, others), (_FOR_ENGINEERS, engineers)):
        if more:
            sheet.text(bottom, 0, title, sheet.book.formats.section)
            bottom = _insert(sheet, more, bottom + 2)
    return below


def _about(shown: bool, engineers: bool, cut: bool) -> str:
    """Say what the charts are drawn from."""
    if not shown:
        return "Nothing to draw: no reading counts."
    told = [
        "Drawn from live cells to the right, readings left out excepted, and of lines the doubtful ones.",
        "At full throttle: steady readings, peaks where none is steady.",
    ]
    if cut:
        told.append(f"A line shows the {c.MOST_POINTS} readings with the most thrust.")
    if engineers:
        told.append("More for engineers below.")
    return " ".join(told)


def _insert(sheet: Sheet, pictures: Pictures, top: int) -> int:
    """Put charts below each other; return the row below them."""
    for place, (picture, drawn) in enumerate(pictures):
        chart = draw(sheet.book, picture, drawn)
        sheet.chart((top + place * _CHART_ROWS, 0), chart, _SIZE, picture.described, y_offset=4)
    return top + len(pictures) * _CHART_ROWS


def _set_page(sheet: Sheet, content: Content, below: int) -> None:
    """Print two charts a page; fitting them to pages would make page breaks void."""
    sheet.worksheet.set_column(0, _PAGE_COLUMNS - 1, _COLUMN_WIDTH)
    sheet.print_setup(scale=_SCALE, margins=MARGINS)
    sheet.worksheet.set_h_pagebreaks(list(range(_TOP + _A_PAGE * _CHART_ROWS, below, _A_PAGE * _CHART_ROWS)))
    sheet.worksheet.print_area(0, 0, max(below, _TOP + _CHART_ROWS) - 1, _PAGE_COLUMNS - 1)


SHEET = SheetPlan(
    "Charts",
    Kind.READ,
    "the readings drawn; each point follows its reading",
    parts=(_write_charts,),
    page=_set_page,
    printed=True,
    measured=any_of(r.power),
    more="Read volts, amps and grams to see charts",
)
