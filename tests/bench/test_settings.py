"""Settings stand under headings that no one can take for a field."""

from __future__ import annotations

from xlsengine.bench.inputs.forms import FORMS
from xlsengine.bench.inputs.settings import SETTINGS, TOPICS
from xlsengine.workbook.reading.findings import key
from xlsengine.workbook.reading.trade_words import header_meant


def test_no_heading_can_be_taken_for_a_field() -> None:
    fields = [declared for form in FORMS for declared in form.fields.values()]
    assert not {key(title) for title in TOPICS} & {key(declared.label) for declared in fields}
    assert not [(t, d.name) for t in TOPICS for d in SETTINGS.fields.values() if header_meant(t, d)]
