"""The guide as one HTML file that stands alone: its parts, what the declarations say, the cautions, its pictures inside."""

import base64
import re
import webbrowser
from collections.abc import Iterator, Sequence
from pathlib import Path

from markupsafe import Markup
from platformdirs import user_cache_path

from xlsengine.bench.declaring.declare import Field, Quantity
from xlsengine.bench.inputs.settings import SETTINGS
from xlsengine.cautions import IN_FULL
from xlsengine.errors import OutputRefused
from xlsengine.glossary import ENGINEERING, GLOSSARY
from xlsengine.publish.templates import filled, own
from xlsengine.workbook.layout import SHEETS
from xlsengine.workbook.output import whole_file
from xlsengine.workbook.sheets.method_sheet import SECTIONS, equation

PICTURES = Path(__file__).parent / "pictures"
BEFORE_FIGURES, AFTER_FIGURES = ("1_first_test", "2_paper_to_page", "3_for_readers", "4_groups"), ("6_python",)
_LONGEST = 160


def guide() -> str:
    """Return the guide."""
    before, after = ([own(f"guide/parts/{name}.html") for name in names] for names in (BEFORE_FIGURES, AFTER_FIGURES))
    body = re.sub(r'src="([\w-]+\.png)"', _inside, "\n".join((*before, meanings(), *after)))
    contents = [(place, Markup(title)) for place, title in re.findall(r'<h2 id="(\w+)">(.*?)</h2>', body)]
    style = own("guide/guide.css")
    return filled("guide/guide.html", body=Markup(body), contents=contents, cautions=IN_FULL, style=style)


def _inside(found: re.Match[str]) -> str:
    """Return a picture's source with the picture in it."""
    data = base64.b64encode((PICTURES / found[1]).read_bytes()).decode()
    return f'src="data:image/png;base64,{data}"'


def meanings() -> str:
    """Return what every figure means as HTML: those of the sheets to read, what is typed, and the settings."""
    return filled(
        "guide/meanings.html",
        glossary=(*GLOSSARY, *ENGINEERING),
        figures=[(title, _figures(part)) for title, part in SECTIONS.items()],
        typed=[(sheet, _fields(sheet)) for sheet in SHEETS if sheet != "Settings"],
        settings=map(_setting, SETTINGS.fields.values()),
    )


def _figures(part: Sequence[tuple[str, Quantity]]) -> Iterator[tuple[str, ...]]:
    for _, quantity in part:
        said = equation(quantity)
        unit = f" ({quantity.unit})" if quantity.unit else ""
        shown = said if len(said) <= _LONGEST else "on Method"
        yield f"{quantity.label}{unit}", shown, quantity.meaning, quantity.source.text


def _fields(sheet: str) -> Iterator[tuple[str, ...]]:
    for part in SHEETS[sheet]:
        for field in part.fields.values():
            if not field.helper:
                yield field.label + " (needed)" * field.required, field.unit, field.meaning, field.wanted


def _setting(field: Field) -> tuple[str, ...]:
    default = "" if field.default is None else f"{field.default} {field.unit}".strip()
    return field.label, default, field.meaning, field.source.text


def write_guide(path: Path, overwrite: bool = False) -> Path:
    """Write the guide as one HTML file; returns its path.

    Raises `OutputRefused` when the file exists and `overwrite` is false, or cannot be written.
    """
    with whole_file(path, overwrite) as unfinished:
        unfinished.write_bytes(guide().encode())
    return path


def open_guide() -> tuple[Path, bool]:
    """Write the guide into the user's cache and open it; returns its path, and whether a browser took it.

    Raises `OutputRefused` where it cannot be written.
    """
    folder = user_cache_path("xlsengine", appauthor=False)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / "guide.html"
        path.write_bytes(guide().encode())
    except OSError as error:
        raise OutputRefused(f"cannot write the guide into {folder}: {error.strerror}; name a file with -o") from error
    return path, webbrowser.open(path.as_uri())
