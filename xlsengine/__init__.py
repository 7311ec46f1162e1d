"""Bench readings of small brushless motors in, a living results workbook out."""
