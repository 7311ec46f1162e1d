"""What every figure means, from the declarations: those of the sheets to read, what is typed, and the settings."""

from collections.abc import Iterable, Iterator, Sequence
from html import escape

from xlsengine.bench.declaring.declare import Field, Quantity
from xlsengine.bench.inputs.settings import SETTINGS
from xlsengine.glossary import GLOSSARY
from xlsengine.workbook.layout import SHEETS
from xlsengine.workbook.sheets.method_sheet import SECTIONS, equation

_LONGEST = 160


def meanings() -> str:
    """Return the part as HTML."""
    terms = "".join(f"<dt>{escape(term)}</dt><dd>{escape(meaning)}</dd>" for term, meaning in GLOSSARY)
    figures = "".join(
        f"<h3>{escape(title)}</h3>{_table(('Figure', 'Equation', 'Meaning', 'Source'), _figures(part))}"
        for title, part in SECTIONS.items()
    )
    typed = "".join(
        f"<h3>{escape(sheet)}</h3>{_table(_TYPED, _fields(sheet))}" for sheet in SHEETS if sheet != "Settings"
    )
    settings = _table(("Setting", "To begin with", "Meaning", "Source"), map(_setting, SETTINGS.fields.values()))
    return (
        '<h2 id="figures">What every figure means</h2><p>From the same declarations that compute the workbook. The sheet '
        f"Method of every results workbook holds all of them, with their equations.</p><dl>{terms}</dl>{figures}"
        f"<details><summary>What you type, sheet by sheet</summary>{typed}</details>"
        f"<details><summary>Settings: factors and limits, all yours to change</summary>{settings}</details>"
    )


_TYPED = ("Field", "Unit", "Meaning", "Wanted")


def _figures(part: Sequence[tuple[str, Quantity]]) -> Iterator[tuple[str, ...]]:
    for _, quantity in part:
        said = equation(quantity)
        unit = f" ({quantity.unit})" if quantity.unit else ""
        yield (
            f"{quantity.label}{unit}",
            said if len(said) <= _LONGEST else "on Method",
            quantity.meaning,
            quantity.source.text,
        )


def _fields(sheet: str) -> Iterator[tuple[str, ...]]:
    for part in SHEETS[sheet]:
        for field in part.fields.values():
            if not field.helper:
                yield field.label + " (needed)" * field.required, field.unit, field.meaning, field.wanted


def _setting(field: Field) -> tuple[str, ...]:
    default = "" if field.default is None else f"{field.default} {field.unit}".strip()
    return field.label, default, field.meaning, field.source.text


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    head = "".join(f'<th scope="col">{escape(each)}</th>' for each in heads)
    body = "\n".join(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in rows)
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{escape(heads[0])}s"><table>'
        f"<thead><tr>{head}</tr></thead><tbody>\n{body}\n</tbody></table></div>"
    )
