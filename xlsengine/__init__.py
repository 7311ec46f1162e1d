"""Bench readings of small brushless motors in, a living results workbook out."""

from xlsengine.bench.bench_test import BenchTest, bench_test

__all__ = ["BenchTest", "bench_test"]
