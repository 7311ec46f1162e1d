"""Everything to publish of a workbook, computed once and put into a folder: pictures, page, tables, readings, workbook."""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from xlsengine.errors import OutputRefused
from xlsengine.publish.charts import draw_chart
from xlsengine.publish.content import Content, air_of, answers_of, content_of
from xlsengine.publish.drawing import svg
from xlsengine.publish.page import html
from xlsengine.publish.pictures import TALL, WIDE, alt_text, picture
from xlsengine.publish.tables import readings_csv, table_csv, table_markdown
from xlsengine.study.assessment import Assessment, assess
from xlsengine.study.comparison import Comparing, Comparison
from xlsengine.workbook.book import Book, strict
from xlsengine.workbook.flag_places import doubt_lines
from xlsengine.workbook.layout import Layout
from xlsengine.workbook.output import numbered, refuse_input, whole_file
from xlsengine.workbook.reading.reader import read_sound
from xlsengine.workbook.results import results_layout, write_results
from xlsengine.workbook.sheets import charts_sheet
from xlsengine.workbook.sheets.charts_sheet import Pictures

_TEXTS = ("title", "kv", "tester", "date", "disclosure", "motor", "conditions", "left_out", "checks")
Step = Callable[[str], None]
Made = Callable[[Path], object]
LEFT_BEHIND = "notes on cells and pictures of the input sheets stay out of the workbook for readers"


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


# --- a folder of files ---


@dataclass(frozen=True)
class Published:
    """What was written, in the order of `names_of`, what else its sender should know, and which readings to look at."""

    title: str
    files: tuple[Path, ...]
    told: tuple[str, ...]
    doubts: tuple[str, ...]


def publish(
    path: Path,
    folder: Path | None = None,
    overwrite: bool = False,
    step: Step = lambda name: None,
    library: Comparing | None = None,
) -> Published:
    """Read a workbook and write what is published of it into `folder`, else into ``<name> to publish`` beside it.

    With a `library` the workbook for readers says how the motor stands in its class.
    Raises `WorkbookFaulty` where the workbook has faults, `WorkbookUnreadable` where it cannot be read, and `OutputRefused`
    where a file exists and `overwrite` is false, or cannot be written; the files that exist are looked for first.
    """
    step("reading")
    reading = read_sound(path)
    step("computing")
    name = numbered(path.stem)[0]
    target = path.with_name(f"{name} to publish") if folder is None else folder
    names = names_of(name)
    _prepare(target, names, path, overwrite)
    assessment = assess(reading.test)
    comparison = None if library is None else library(assessment)
    for file, make in zip(names, _makers(Publication(assessment), name, comparison), strict=True):
        step(file)
        with whole_file(target / file, overwrite) as unfinished:
            make(unfinished)
    extras = reading.test.extras
    left = (LEFT_BEHIND,) if extras.notes or extras.pictures else ()
    alone = comparison.told if comparison else ()
    title = str(assessment.figures()["motor_title"])
    told = (*reading.told, *alone, *left)
    return Published(title, tuple(target / file for file in names), told, doubt_lines(assessment, reading.where))


def names_of(name: str) -> tuple[str, ...]:
    """Return the names of the files that are written for a test of that name."""
    pictures, texts = (" 1920x1080.png", " 1080x1350.png"), (".html", " table.csv", " table.md", " readings.csv")
    return tuple(f"{name}{ending}" for ending in (*pictures, *texts, " for readers.xlsx"))


def _makers(publication: Publication, name: str, comparison: Comparison | None) -> Iterator[Made]:
    """Yield what makes each file, in the order of `names_of`."""
    content, assessment = publication.content, publication.assessment
    readings = readings_csv(assessment.scope)
    yield lambda file: file.write_bytes(picture(content, WIDE))
    yield lambda file: file.write_bytes(picture(content, TALL))
    page = html(content, assessment.headlines(), publication.charts_svg(), readings, name)
    pictures = [(wide, alt_text(content, size)) for wide, size in zip(names_of(name), (WIDE, TALL), strict=False)]
    yield _text(page)
    yield _text(table_csv(content), "utf-8-sig")
    yield _text(table_markdown(content, pictures))
    yield _text(readings, "utf-8-sig")
    yield lambda file: write_results(assessment, file, comparison=comparison, for_readers=True)


def _text(text: str, encoding: str = "utf-8") -> Made:
    return lambda file: file.write_bytes(text.encode(encoding, "replace"))


def _prepare(folder: Path, files: Sequence[str], source: Path, overwrite: bool) -> None:
    """Make the folder, and refuse before anything is written where a file stands already or is the input."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        raise OutputRefused(f"cannot make the folder {folder}: {getattr(error, 'strerror', None) or error}") from error
    standing = [file for file in files if (folder / file).exists()]
    if standing and not overwrite:
        raise OutputRefused(
            f"{folder} holds {', '.join(standing)} already; say --overwrite to replace, or name another folder with -o"
        )
    for file in files:
        refuse_input(folder / file, source)
