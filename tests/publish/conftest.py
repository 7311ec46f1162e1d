"""A real browser for the page, where there is one; what is published of two sessions, written once."""

from collections.abc import Iterator
from pathlib import Path

import pytest

import xlsengine
from xlsengine.publish.files import Published, publish

DEMO = Path(__file__).parent.parent.parent / "demo_inputs" / "thimble-2207.xlsx"
CHROMIUM = Path("/usr/bin/chromium")


@pytest.fixture(scope="session")
def published(tmp_path_factory: pytest.TempPathFactory) -> Published:
    """Return what is published of a demo, with readings that are left out and flagged."""
    return publish(DEMO, tmp_path_factory.mktemp("published"))


@pytest.fixture(scope="session")
def assessment() -> xlsengine.Assessment:
    return xlsengine.evaluate(xlsengine.read_bench_test(DEMO))


@pytest.fixture(scope="module")
def browser() -> Iterator[object]:
    """Return a headless Chromium."""
    if not CHROMIUM.exists():
        pytest.skip("Chromium is not installed (apt-get install chromium)")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        yield started
        started.close()
