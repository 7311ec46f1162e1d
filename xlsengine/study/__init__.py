"""Arithmetic over whole tests: outliers, fits, uncertainty, evaluation and comparison."""
