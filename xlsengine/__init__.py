"""Bench readings of small brushless motors in, a living results workbook out."""

from xlsengine.bench.bench_test import BenchTest, bench_test
from xlsengine.workbook.template import write_input_workbook, write_template

__all__ = ["BenchTest", "bench_test", "write_input_workbook", "write_template"]
