"""The button in LibreOffice: what its own Python runs. Nothing here may need more than the standard library and UNO."""
