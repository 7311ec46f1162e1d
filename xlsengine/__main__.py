"""Run the command line with ``python -m xlsengine``."""

from xlsengine.cli import main

main()
