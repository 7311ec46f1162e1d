"""A headless Chromium, for the pages."""

import shutil
from collections.abc import Iterator
from typing import Any

import pytest

from tests.instruments.recalculate import libreoffice_demanded


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Return a started Chromium; without one the test is skipped, and fails where programs are demanded."""
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if program is None and not libreoffice_demanded():
        pytest.skip("Chromium is not installed; Debian: chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=program, args=["--no-sandbox"])
        yield started
        started.close()
