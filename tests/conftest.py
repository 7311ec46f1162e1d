"""How the suite is spread over processes, and that LibreOffice's tests ran where they are demanded."""

import gc
import os
import sys
from typing import Any

import pytest

from tests.instruments.chromium import browser
from tests.instruments.recalculate import libreoffice_demanded
from tests.kept_results import kept_results

__all__ = ["browser", "kept_results"]

# Hundreds of processes are started, each of which would compile the whole engine where that is forbidden to be kept.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # each of them, else, starts a thread a core

collect_ignore = ["instruments/button_hands.py", "instruments/office_hands.py"]
"""Run by a Python that has `uno`, never imported here: the search for doctests would try to."""

SHARING = (
    "test_results_agree.py test_results_edits.py test_results_bytes.py test_results_sound.py "
    "test_results_names.py test_comparing.py test_extras.py test_rows_moved.py test_page_widths.py "
    "test_method_equations.py test_flag_places.py test_told.py"
)
"""Files that look at the same results workbooks (`tests/workbook/conftest.py`)."""

LONGEST = (
    "test_page_browser.py test_watch.py test_adding.py test_page_requests.py test_fuzz.py test_button.py "
    "test_large_tables.py test_page_library.py test_foreign_files.py test_gate.py test_comparison_sheet.py "
    "test_guide.py test_flying_said.py test_found_rates.py test_one_word.py test_honest_mistakes.py test_files.py "
    "test_console.py test_page.py test_reader.py test_pictures.py test_group_checks.py test_esc.py test_code.py"
)
"""Other files that take long, the longest first."""

LEAST_RUN = 90
"""How many tests recalculate in LibreOffice at the least: fewer mean that marks or files were lost."""


class RunInLibreOffice:
    """Counts the tests marked `libreoffice` that ran, in whichever process, and fails the session without enough."""

    def __init__(self, least: int) -> None:
        self.least = least
        self.ran = self.skipped = 0

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if "libreoffice" in report.keywords:
            self.ran += report.when == "call" and not report.skipped
            self.skipped += report.skipped

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        if self.fell_short():
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        if self.fell_short():
            terminalreporter.write_line(
                f"LibreOffice's tests: {self.ran} ran, {self.skipped} were skipped; "
                f"wanted {self.least} or more, and none skipped",
                red=True,
            )

    def fell_short(self) -> bool:
        return self.ran < self.least or self.skipped > 0


def pytest_collection_finish() -> None:
    """Look for garbage less often: what the tests share is large, lives on, and is gone through each time."""
    gc.freeze()
    gc.set_threshold(200_000, 50, 100)


def pytest_configure(config: pytest.Config) -> None:
    """Count in the process that gathers the reports of all others."""
    if libreoffice_demanded() and not hasattr(config, "workerinput") and not config.option.collectonly:
        config.pluginmanager.register(RunInLibreOffice(LEAST_RUN))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the files that take longest, so that no process ends long before the others."""
    ranks = {name: rank for rank, name in enumerate(f"{SHARING} {LONGEST}".split())}
    items.sort(key=lambda item: ranks.get(item.path.name, len(ranks)))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Keep the tests of a file in one process: what they share, such as runs of LibreOffice, is then made once.

    So are the files that share results workbooks.
    """
    from xdist.scheduler import LoadFileScheduling

    class Sharing(LoadFileScheduling):  # type: ignore[misc]
        def _split_scope(self, nodeid: str) -> str:
            file = str(super()._split_scope(nodeid))
            return "results" if file.rpartition("/")[2] in SHARING.split() else file

    config.option.loadscopereorder = False
    return Sharing(config, log) if config.getoption("dist") in ("load", "loadfile") else None
