"""Bench readings of small brushless motors in, a living results workbook out.

What the command line does, in Python: `read_bench_test`, `evaluate`, `write_results`, `compare_workbooks`,
`write_input_workbook` and `write_template`; `bench_test` builds a test from data frames or rows, `Assessment.frame` gives
data frames back.
Names are loaded when first used, so that a command imports only what it needs.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from xlsengine.bench.inputs.bench_test import BenchTest, bench_test
    from xlsengine.errors import Fault, OutputRefused, WorkbookFaulty, WorkbookUnreadable, XlsEngineError
    from xlsengine.study.assessment import Assessment
    from xlsengine.study.assessment import assess as evaluate
    from xlsengine.workbook.comparing import ChangeReport, compare_workbooks
    from xlsengine.workbook.reading.reader import read_bench_test
    from xlsengine.workbook.results import write_results
    from xlsengine.workbook.template import write_input_workbook, write_template

__all__ = [
    "Assessment",
    "BenchTest",
    "ChangeReport",
    "Fault",
    "OutputRefused",
    "WorkbookFaulty",
    "WorkbookUnreadable",
    "XlsEngineError",
    "bench_test",
    "compare_workbooks",
    "evaluate",
    "read_bench_test",
    "write_input_workbook",
    "write_results",
    "write_template",
]

_HOMES = {
    "bench.inputs.bench_test": ("BenchTest", "bench_test"),
    "errors": ("Fault", "OutputRefused", "WorkbookFaulty", "WorkbookUnreadable", "XlsEngineError"),
    "study.assessment": ("Assessment",),
    "workbook.comparing": ("ChangeReport", "compare_workbooks"),
    "workbook.reading.reader": ("read_bench_test",),
    "workbook.results": ("write_results",),
    "workbook.template": ("write_input_workbook", "write_template"),
}


def __getattr__(name: str) -> Any:
    if name == "evaluate":
        return import_module("xlsengine.study.assessment").assess
    for home, names in _HOMES.items():
        if name in names:
            return getattr(import_module(f"xlsengine.{home}"), name)
    raise AttributeError(f"module 'xlsengine' has no attribute '{name}'")
