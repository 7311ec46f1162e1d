"""What is published of an assessment, computed once: its texts and the workbook's charts."""

import re
from dataclasses import asdict, dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from xlsengine.publish.charts import draw_chart
from xlsengine.publish.content import Content, air_of, answers_of, content_of
from xlsengine.publish.drawing import svg
from xlsengine.study.assessment import Assessment
from xlsengine.workbook.book import Book, strict
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.results import results_layout
from xlsengine.workbook.sheets import charts_sheet
from xlsengine.workbook.sheets.charts_sheet import Pictures

_TEXTS = ("title", "kv", "tester", "date", "disclosure", "motor", "conditions", "left_out", "checks")


@dataclass(frozen=True)
class Publication:
    """An assessment to publish."""

    assessment: Assessment

    @cached_property
    def layout(self) -> Layout:
        """Return where the cells of its results workbook are."""
        return results_layout(self.assessment)

    @cached_property
    def content(self) -> Content:
        """Return its texts."""
        return content_of(self.assessment, self.layout)

    @cached_property
    def charts(self) -> Pictures:
        """Return the charts of the workbook's sheet Charts with their series.

        The sheet is written for them and thrown away, over a scope of its own, which then knows the chart's cells.
        """
        with strict():
            scope = self.assessment.scope.apart()
            book = Book(Path("charts.xlsx"), self.layout, scope)
            found, _ = charts_sheet.pictures(book.sheet(charts_sheet.SHEET.name), scope)
            return [(picture, drawn) for _, picture, drawn in found]

    def charts_svg(self) -> dict[str, str]:
        """Return the charts as SVG by their titles, each with title and description."""
        return {
            picture.title: svg(draw_chart(picture, drawn), slug(picture.title), picture.title, picture.described)
            for picture, drawn in self.charts
        }

    def headline(self) -> dict[str, Any]:
        """Return what is said first, as plain values.

        Keys: those of `_TEXTS`, empty where nothing was typed; `figures` is what `Assessment.headlines` gives; `answers`
        and `in_flight`, both for the tester's own craft, are mappings of `title`, `line` and `words`.
        """
        content, scope = self.content, self.assessment.scope
        return {
            **{name: getattr(content, name) for name in _TEXTS},
            "figures": self.assessment.headlines(),
            "answers": [asdict(each) for each in answers_of(scope)],
            "caveat": content.caveat,
            "in_flight": asdict(air_of(scope)),
        }


def slug(title: str) -> str:
    """Return a title as an id.

    >>> slug("Thrust at full throttle, by propeller")
    'thrust-at-full-throttle-by-propeller'
    """
    return re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")
