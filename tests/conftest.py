"""How the suite is spread over processes."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """Keep the tests of a file in one process: what they share, such as runs of LibreOffice, is then made once."""
    from xdist.scheduler import LoadFileScheduling

    return LoadFileScheduling(config, log) if config.getoption("dist") == "load" else None
