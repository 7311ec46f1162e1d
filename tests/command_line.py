"""The command line as a function."""

import pytest

from xlsengine.cli import main


def run(*arguments: object) -> int:
    """Run a command and return its exit code."""
    with pytest.raises(SystemExit) as stopped:
        main([str(argument) for argument in arguments])
    return int(stopped.value.code or 0)


def run_apart(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    """Run a command and return its exit code, what it printed, and what it complained of."""
    return run(*arguments), *capsys.readouterr()


def run_and_hear(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str]:
    """Run a command and return its exit code and all that it said."""
    code, printed, complained = run_apart(capsys, *arguments)
    return code, printed + complained
