"""Charts: one large chart a page, with the cells they are drawn from to the right of the print area."""

from __future__ import annotations

from xlsengine.bench import readings as r
from xlsengine.bench import speed_figures as f
from xlsengine.workbook.book import Book
from xlsengine.workbook.chart_data import ChartData, Drawn
from xlsengine.workbook.charts import SIZE, Picture, scatter

NAME = "Charts"
_PAGE_ROWS = 34
_PAGE_COLUMNS, _COLUMN_WIDTH = 15, 9
CURRENT = Picture(
    "Thrust against current", "Current (A)", "Thrust (g)",
    "Scatter chart of static thrust in grams against current in amps, one colour and mark for each cell count.",
)  # fmt: skip
POWER = Picture(
    "Thrust against power", "Power (W)", "Thrust (g)",
    "Scatter chart of static thrust in grams against electrical power in watts, one colour and mark for each cell count.",
)  # fmt: skip
EFFICIENCY = Picture(
    "Grams per watt at equal thrust", "Thrust (g)", "Thrust per power (g/W)",
    "Line chart of grams per watt at round thrusts, one line for each propeller and cell count; it falls with thrust.",
    lines=True,
)  # fmt: skip
SPEED = Picture(
    "Thrust against speed", "Speed (rpm)", "Thrust (g)",
    "Scatter chart of static thrust in grams against propeller speed, one colour and mark for each cell count.",
)  # fmt: skip
RATIO = Picture(
    "Speed over Kv times volts against speed", "Speed (rpm)", "Speed over Kv times volts",
    "Scatter chart of the ratio of speed to labelled Kv times volts against speed; a loaded motor lies below one.",
)  # fmt: skip
HOVER = Picture(
    "Hover efficiency against thrust", "Thrust (g)", "Ideal over electrical power",
    "Scatter chart of ideal hover power over electrical power against thrust, one colour and mark for each cell count.",
)  # fmt: skip
SPLIT = Picture(
    "Efficiency of propeller and motor against speed", "Speed (rpm)", "Efficiency",
    "Scatter chart against propeller speed of the figure of merit, the efficiency of motor and ESC, and the hover "
    "efficiency, which is the product of the two; the bars are their expanded uncertainties.",
)  # fmt: skip
COEFFICIENTS = Picture(
    "Thrust and power coefficient against speed", "Speed (rpm)", "Coefficient",
    "Scatter chart of the static thrust coefficient CT and power coefficient CP against propeller speed; the bars are "
    "their expanded uncertainties.",
)  # fmt: skip
TRIAL = Picture(
    "Predicted against measured thrust", "Measured thrust (g)", "Predicted thrust (g)",
    "Scatter chart of the thrust predicted for each tested cell count, left out and told from the propeller's others, "
    "against the thrust measured; the line is where both are equal.",
)  # fmt: skip
Pictures = list[tuple[Picture, list[Drawn]]]


def write_charts(book: Book) -> Pictures:
    """Write the sheet; returns the pictures with their series, for the Report to show two of them."""
    assert book.scope is not None
    sheet = book.sheet(NAME)
    sheet.heading("Charts", "Drawn from live cells to the right; a point follows its reading.")
    data = ChartData(sheet, book.scope)
    pictures: Pictures = [
        (CURRENT, data.reading_series(r.current, r.thrust)),
        (EFFICIENCY, data.equal_thrust_series()),
        (POWER, data.reading_series(r.power, r.thrust)),
        (HOVER, data.reading_series(r.thrust, r.hover_efficiency)),
        (SPEED, data.reading_series(r.speed, r.thrust)),
        (RATIO, data.reading_series(r.speed, r.speed_ratio)),
        (SPLIT, data.speed_series((f.figure_of_merit, f.motor_efficiency, r.hover_efficiency))),
        (COEFFICIENTS, data.speed_series((f.thrust_coefficient, f.power_coefficient))),
        (TRIAL, data.trial_series()),
    ]
    pictures = [(picture, drawn) for picture, drawn in pictures if drawn]  # a chart without a series is refused
    for place, (picture, drawn) in enumerate(pictures):
        chart = scatter(book, picture, drawn)
        chart.set_size({"width": SIZE[0], "height": SIZE[1]})
        options = {"description": picture.described, "object_position": 2, "y_offset": 4}
        sheet.worksheet.insert_chart(3 + place * _PAGE_ROWS, 0, chart, options)
    sheet.worksheet.set_column(0, _PAGE_COLUMNS - 1, _COLUMN_WIDTH)
    sheet.print_setup(scale=76)
    sheet.worksheet.set_h_pagebreaks([3 + place * _PAGE_ROWS for place in range(1, len(pictures))])
    sheet.worksheet.print_area(0, 0, 3 + len(pictures) * _PAGE_ROWS - 2, _PAGE_COLUMNS - 1)
    return pictures
