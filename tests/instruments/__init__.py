"""Instruments that judge a written .xlsx from outside the engine."""
