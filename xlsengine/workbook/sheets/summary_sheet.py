"""Summary: the headline figures, and one row for each propeller and cell count."""

from xlsengine.bench.groups.headline import HEADLINE_LIST, HEADLINES
from xlsengine.bench.groups.summary import SUMMARY
from xlsengine.bench.judging.round_thrusts import round_thrusts
from xlsengine.expression import Named, join
from xlsengine.workbook.book import Sheet
from xlsengine.workbook.sheets.parts import Content, Kind, SheetPlan, TablePart

_LEFT = 2  # clear of the columns that every page begins with
_PARTS = ((5, ""), (7, "_place"), (9, "_clean"), (10, "_all"), (11, "_note"), (15, "_row"))
_NOTE = 36  # letters of a note in a line
_SPANS = (
    (2, 4, "Headline"),
    (5, 5, "Value"),
    (6, 6, "Unit"),
    (7, 8, "Seen with"),
    (9, 9, "Without flagged readings"),
    (10, 10, "With readings left out"),
    (11, 14, "Note"),
    (15, 15, "Summary row"),
)
_ROUND = {
    f"round_efficiency_{place}": join(f"{place}: ", thrust.fixed(0), " g")
    for place, thrust in enumerate(round_thrusts, start=1)
}


def _write_headlines(sheet: Sheet, content: Content, top: int) -> int:
    formats = sheet.book.formats
    for left, right, words in _SPANS:
        sheet.across(top, left, right, words, formats.header)
    sheet.height(top, 42)
    for row, headline in enumerate(HEADLINE_LIST, start=top + 1):
        name = headline.value.name
        number, words = formats.derived(headline.shown), formats.derived(0, text=True)
        for left, right, _ in _SPANS:
            sheet.merged(row, left, right, formats.label)
        sheet.live(row, _LEFT, headline.label, words)
        for column, part in _PARTS:
            is_text = HEADLINES.quantities[f"{name}{part}"].is_text
            form = words if is_text else formats.derived(0) if part == "_row" else number
            sheet.live(row, column, Named(f"{name}{part}", is_text), form)
        sheet.text(row, 6, headline.unit, formats.label)
        sheet.height(row, max(30, 14 * sheet.lines(Named(f"{name}_note", True), _NOTE) + 3))
    return top + len(HEADLINE_LIST) + 2


SHEET = SheetPlan(
    "Summary",
    Kind.WORKING,
    "full-throttle means by propeller and cell count, and how the headlines were found",
    heading="One row for each propeller and cell count; means of full-throttle readings, leads trimmed.",
    parts=(
        _write_headlines,
        TablePart(SUMMARY, "By propeller and cell count", above=_ROUND, header_height=84),
    ),
    widths=(15, 5.5),
    others=8.1,
    freeze=(2, 2),
)
