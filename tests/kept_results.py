"""Results workbooks that the command line, the page and the folder ask for again are copied while the tests run.

A workbook is written anew for whatever it is written from: the test, its checks of groups, what was changed and told, the
comparison. That the same gives the same bytes, `tests/workbook/test_results_bytes.py` sees.
"""

from __future__ import annotations

import functools
import hashlib
import pickle
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unittest.mock import patch

import pytest

if TYPE_CHECKING:
    from xlsengine.study.assessment import Assessment

Progress = Callable[[str], None]


def keeping(write: Callable[..., Path]) -> Callable[..., Path]:
    """Return `write_results` with a memory of what it wrote, and of the steps it told of."""
    from xlsengine.workbook.output import whole_file

    kept: dict[bytes, tuple[bytes, list[str]]] = {}

    @functools.wraps(write)
    def written(assessment: Assessment, path: Path, overwrite: bool, progress: Progress, *others: Any) -> Path:
        # zip archives say on which system they were made, and some tests stand in for another
        from_what = (sys.platform, assessment.test, dict(assessment.scope.written), others)
        key = hashlib.sha256(pickle.dumps(from_what)).digest()
        if key in kept:
            content, steps = kept[key]
            with whole_file(Path(path), overwrite) as unfinished:
                unfinished.write_bytes(content)
            for step in steps:
                progress(step)
            return Path(path)
        steps = []

        def told(step: str) -> None:
            steps.append(step)
            progress(step)

        write(assessment, path, overwrite, told, *others)
        kept[key] = Path(path).read_bytes(), steps
        return Path(path)

    return written


@pytest.fixture(scope="session", autouse=True)
def kept_results() -> Iterator[None]:
    """Have the use cases write each results workbook once in a process; imported late, as `test_ci.py` starts many."""
    from xlsengine import jobs
    from xlsengine.workbook.results import write_results

    with patch.object(jobs, "write_results", keeping(write_results)):
        yield
