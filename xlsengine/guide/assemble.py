"""The guide as one HTML file that stands alone: its parts, what the declarations say, the cautions, its pictures inside."""

import base64
import re
import webbrowser
from html import escape
from pathlib import Path

from platformdirs import user_cache_path

from xlsengine.cautions import IN_FULL
from xlsengine.errors import OutputRefused
from xlsengine.guide.meanings import meanings
from xlsengine.workbook.output import whole_file

_HERE = Path(__file__).parent
PICTURES = _HERE / "pictures"
TITLE = "xlsengine: a guide"
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
BEFORE_FIGURES, AFTER_FIGURES = ("1_first_test", "2_paper_to_page", "3_for_readers", "4_groups"), ("6_python",)
_INTRODUCTION = (
    "You tested a small brushless motor on a static thrust stand. Readings go into a workbook; one step checks them, "
    "computes what follows, flags the odd ones, and writes a workbook for people who have nothing but a spreadsheet. All "
    "motors, makers and people in the pictures are invented."
)


def guide() -> str:
    """Return the guide."""
    parts = [*map(_part, BEFORE_FIGURES), meanings(), *map(_part, AFTER_FIGURES)]
    body = _with_pictures("\n".join(parts))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{TITLE}</title>\n<style>{(_HERE / 'guide.css').read_text(encoding='utf-8')}</style>\n</head>\n<body>\n"
        f"<header><h1>{TITLE}</h1><p>{_INTRODUCTION}</p>{_cautions()}</header>\n{_contents(body)}\n<main>\n{body}\n</main>\n"
        "</body>\n</html>\n"
    )


def _part(name: str) -> str:
    return (_HERE / "parts" / f"{name}.html").read_text(encoding="utf-8")


def _contents(body: str) -> str:
    titles = re.findall(r'<h2 id="(\w+)">(.*?)</h2>', body)
    listed = "".join(f'<li><a href="#{place}">{title}</a></li>' for place, title in titles)
    return f'<nav aria-label="Contents"><ol>{listed}</ol></nav>'


def _cautions() -> str:
    told = "".join(f"<p>{escape(each)}</p>" for each in IN_FULL)
    return f'<div class="caution">{told}</div>'


def _with_pictures(body: str) -> str:
    """Return the parts with each picture inside."""

    def inside(found: re.Match[str]) -> str:
        data = base64.b64encode((PICTURES / found[1]).read_bytes()).decode()
        return f'src="data:image/png;base64,{data}"'

    return re.sub(r'src="([\w-]+\.png)"', inside, body)


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
