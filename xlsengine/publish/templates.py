"""HTML from templates: those of the published page, of the guide and of the page in the browser."""

from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

_PACKAGE = Path(__file__).parent.parent


@cache
def _templates() -> Environment:
    return Environment(
        loader=FileSystemLoader(_PACKAGE),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=lambda value: value.replace("\0", "\ufffd") if isinstance(value, str) else value,
        trim_blocks=True,
        keep_trailing_newline=True,
    )


def filled(template: str, **values: Any) -> Markup:
    """Return a template of this package with values in its places, each as text unless it is `Markup`."""
    return Markup(_templates().get_template(template).render(values))


def own(file: str) -> Markup:
    """Return a file of this package that stands in a page as it is: a style, a script, a part of HTML."""
    return Markup((_PACKAGE / file).read_text(encoding="utf-8"))
