"""The page to publish: one HTML file that stands alone, needs no network and reads without its script too."""

import base64
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from html import escape
from pathlib import Path
from urllib.parse import quote

from xlsengine.cautions import IN_FULL, ON_A_PICTURE
from xlsengine.publish.choice import cell
from xlsengine.publish.content import HEADERS, Content, Line, in_cells
from xlsengine.publish.tables import HEAD, MARKS, marks_of
from xlsengine.workbook.formats import CELL_COUNT_FILLS

_HERE = Path(__file__).parent
_BOM = "\ufeff"  # tells spreadsheet programs that a .csv is in UTF-8


def html(
    content: Content, figures: Sequence[Mapping[str, object]], charts: Mapping[str, str], readings: str, name: str
) -> str:
    """Return the page. `figures` are the quoted ones, `charts` SVG by title, `readings` a .csv, `name` that of its file."""
    parts = (
        _head(content),
        "<body>",
        _header(content),
        "<main>",
        _answers(content),
        _figures(figures),
        _table(content),
        _charts(charts),
        _readings(content, readings, name),
        "</main>",
        _footer(),
        f"<script>{_own('page.js')}</script>",
        "</body>",
        "</html>",
    )
    return "\n".join(parts) + "\n"


@cache
def _own(file: str) -> str:
    return (_HERE / file).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _head(content: Content) -> str:
    """Return the head; its policy lets the page load nothing, and run and dress itself with its own parts alone."""
    policy = (
        f"default-src 'none'; style-src {_hash(_own('page.css'))}; script-src {_hash(_own('page.js'))}; img-src data:"
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{_text(content.title)}: bench test</title>\n<style>{_own('page.css')}</style>\n</head>"
    )


def _header(content: Content) -> str:
    kv = f"{content.kv} (label)" if content.kv else "Kv of the label not given"
    who = " · ".join(each for each in (kv, content.tester, content.date) if each)
    told = "".join(f"<p>{_text(each)}</p>" for each in (content.disclosure, content.motor, content.conditions))
    caution = f'<p class="caution">{_text(" ".join(ON_A_PICTURE))}</p>'
    return f'<header><h1>{_text(content.title)}</h1><p class="who">{_text(who)}</p>{told}{caution}</header>'


def _answers(content: Content) -> str:
    first, second, lift = content.answers
    listed = "".join(
        f"<div><h3>{_text(each.title)}</h3><strong>{_text(each.line)}</strong><p>{_text(each.words)}</p></div>"
        for each in (first, content.air, second, lift)
    )
    caveat = f'<p class="caution">{_text(content.caveat)}</p>' if content.caveat else ""
    return f'<section aria-label="Answers"><h2>What most people ask</h2><div class="answers">{listed}</div>{caveat}</section>'


def _figures(figures: Iterable[Mapping[str, object]]) -> str:
    listed = "".join(
        f"<div><dt>{_text(each['label'])}</dt><dd><b>{_text(each['shown'])}</b> {_text(each['place'] or '')}"
        f"{_note(each['note'])}</dd></div>"
        for each in figures
        if each["value"] is not None
    )
    return f'<section><h2>Figures to quote</h2><dl class="figures">{listed}</dl></section>' if listed else ""


def _note(note: object) -> str:
    return f"<br><small>{_text(note)}</small>" if note else ""


def _table(content: Content) -> str:
    counts = "".join(
        f'<option value="{_text(count)}">{_text(in_cells(count))}</option>' for count in content.cell_counts
    )
    tools = (
        '<div class="tools" hidden><label>Propeller contains <input id="by-name" type="search" autocomplete="off"></label>'
        f'<label>Cells <select id="by-cells"><option value="">all</option>{counts}</select></label>'
        '<p id="shown" role="status"></p></div>'
    )
    heads = "".join(
        f'<th scope="col" aria-sort="none"><button type="button">{_text(each)}</button></th>' for each in HEAD
    )
    rows = "\n".join(_row(content, line) for line in content.lines)
    best = "Shaded green: the best on its cell count."
    caption = f"Static figures at full throttle. {content.left_out} * {content.estimate} {MARKS} {best}"
    return (
        f'<section><h2>Every propeller</h2><p id="about">{_text(caption)}</p>{tools}'
        '<div class="scroll" tabindex="0" role="region" '
        f'aria-label="Table of propellers"><table id="figures" aria-describedby="about">'
        f"<thead><tr>{heads}</tr></thead><tbody>\n{rows}\n</tbody></table></div></section>"
    )


def _row(content: Content, line: Line) -> str:
    colour = CELL_COUNT_FILLS[line.place % len(CELL_COUNT_FILLS)]
    square = (
        f'<svg class="cells" viewBox="0 0 1 1" aria-hidden="true"><rect width="1" height="1" fill="{colour}"/></svg>'
    )
    cells = "".join(_cell(content, line, place) for place in range(len(HEADERS)))
    doubt = ' class="doubt"' if line.doubtful else ""
    return (
        f'<tr data-cells="{_text(line.cells)}"{doubt}><th scope="row">{_text(line.prop)}</th>'
        f'<td data-by="{_text(line.cells)}">{square}{_text(line.cells)}</td>{cells}<td>{marks_of(line)}</td></tr>'
    )


def _cell(content: Content, line: Line, place: int) -> str:
    number = line.numbers[place]
    by = "" if number is None and line.shown[place] else f' data-by="{"" if number is None else f"{number:.12g}"}"'
    best = ' class="best"' if cell(content, line, place).best else ""
    return f"<td{by}{best}>{_text(line.shown[place])}</td>"


def _charts(charts: Mapping[str, str]) -> str:
    shown = "\n".join(f"<figure>{drawing}</figure>" for drawing in charts.values())
    return f'<section><h2>Charts</h2><div class="charts">\n{shown}\n</div></section>' if shown else ""


def _readings(content: Content, readings: str, name: str) -> str:
    link = f"data:text/csv;charset=utf-8,{quote(_BOM + readings)}"
    return (
        f"<section><h2>The readings</h2><p>{_text(content.left_out)} {_text(content.checks)}</p>"
        f'<p><a class="button" download="{_text(name)} readings.csv" href="{link}">Download the readings (.csv)</a></p>'
        "</section>"
    )


def _footer() -> str:
    told = "".join(f"<p>{_text(each)}</p>" for each in IN_FULL)
    return f"<footer><h2>Cautions</h2>{told}</footer>"


def _text(value: object) -> str:
    return escape(str(value).replace("\0", "\ufffd"))
