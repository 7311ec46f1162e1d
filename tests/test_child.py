"""A process that ends before its task is done: who asked for it is told why, as far as can be known."""

import os
import signal

import pytest

from xlsengine.child import Child

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals of a system of this kind")


def end_by(number: int) -> None:
    os.kill(os.getpid(), number)


@pytest.mark.parametrize(
    ("number", "why"),
    [
        (signal.SIGKILL, "ended from outside"),
        (signal.SIGTERM, "ended from outside"),
        (signal.SIGSEGV, "too much memory, or this program failed"),  # a library that got no memory and went on
        (signal.SIGABRT, "too much memory, or this program failed"),
        (signal.SIGXCPU, "more than 60 s"),
    ],
)
def test_why_a_process_ended_is_told(number: int, why: str) -> None:
    child = Child()
    answer, said = child.tried(60, end_by, number)
    assert answer is None
    assert why in said
    assert child.tried(60, len, "abc") == (3, "")
    child.stop()
