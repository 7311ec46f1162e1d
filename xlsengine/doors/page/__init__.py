"""A page in the browser, served to this machine alone: drop a workbook, see its faults or figures, take the results."""
