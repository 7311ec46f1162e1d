"""The page to publish: one HTML file that stands alone, needs no network and reads without its script too."""

import base64
import hashlib
from collections.abc import Iterator, Mapping, Sequence
from urllib.parse import quote

from markupsafe import Markup

from xlsengine.cautions import IN_FULL, ON_A_PICTURE
from xlsengine.publish.content import Content, Line, in_cells
from xlsengine.publish.tables import HEAD, MARKS, marks_of
from xlsengine.publish.templates import filled, own
from xlsengine.workbook.formats import CELL_COUNT_FILLS

_BOM = "\ufeff"  # tells spreadsheet programs that a .csv is in UTF-8


def html(
    content: Content, figures: Sequence[Mapping[str, object]], charts: Mapping[str, str], readings: str, name: str
) -> str:
    """Return the page. `figures` are the quoted ones, `charts` SVG by title, `readings` a .csv, `name` that of its file.

    Its policy lets it load nothing, and run and dress itself with its own parts alone.
    """
    style, script = own("publish/page.css"), own("publish/page.js")
    return filled(
        "publish/page.html",
        content=content,
        policy=f"default-src 'none'; style-src {_hash(style)}; script-src {_hash(script)}; img-src data:",
        style=style,
        script=script,
        who=" · ".join(each for each in (content.label, content.tester, content.date) if each),
        short_caution=" ".join(ON_A_PICTURE),
        cautions=IN_FULL,
        figures=[each for each in figures if each["value"] is not None],
        head=HEAD,
        marks=MARKS,
        marks_of=marks_of,
        in_cells=in_cells,
        cells=lambda line: _cells(content, line),
        colours=CELL_COUNT_FILLS,
        charts=[Markup(drawing) for drawing in charts.values()],
        name=name,
        readings=f"data:text/csv;charset=utf-8,{quote(_BOM + readings)}",
    )


def _hash(text: str) -> Markup:
    return Markup(f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'")


def _cells(content: Content, line: Line) -> Iterator[tuple[str | None, bool, str]]:
    """Yield for each figure of a line what it is sorted by, whether it is the best of its cell count, and its text."""
    for place, (number, shown) in enumerate(zip(line.numbers, line.shown, strict=True)):
        by = f"{number:.12g}" if number is not None else None if shown else ""
        yield by, content.is_best(line, place) and not line.doubtful, shown
