"""Judge a written .xlsx by its zip parts, without any spreadsheet library.

It looks for what spreadsheet programs repair in silence, refuse, or compute differently from one another.
"""

from pathlib import Path

from tests.instruments.cells import cell_findings
from tests.instruments.charts import chart_findings
from tests.instruments.dressing import dressing_findings
from tests.instruments.findings import Finding, Rule
from tests.instruments.parts import read_book
from tests.instruments.tables import name_findings, table_findings

__all__ = ["Finding", "Rule", "lint"]


def lint(path: Path | str) -> list[Finding]:
    """Return everything that breaks a rule in the workbook; [] for a clean one.

    Where the parts cannot be followed at all, only the findings about the package are returned.
    """
    book, findings = read_book(Path(path))
    if book is not None:
        for judge in (cell_findings, table_findings, name_findings, chart_findings, dressing_findings):
            findings.extend(judge(book))
    return findings
