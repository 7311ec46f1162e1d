"""Files that are dropped onto the program: on Windows their window closes as the program ends, before it is read."""

import ctypes
import sys

import click

_OURS = 2  # the launcher that pip makes, and the program itself; a shell would be the third


def wait_for_a_reader() -> None:
    """Wait for a key where the program's window would close with it; else return at once."""
    if sys.platform == "win32" and 0 < programs_of_the_window() <= _OURS:
        click.pause("Press any key to close this window.")


def programs_of_the_window() -> int:
    """Return how many programs share the console's window on Windows, 0 where that cannot be told."""
    kernel = getattr(ctypes, "windll", None)
    return int(kernel.kernel32.GetConsoleProcessList((ctypes.c_uint32 * 8)(), 8)) if kernel else 0
