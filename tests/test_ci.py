"""What continuous integration holds: LibreOffice's tests ran, and the lowest versions are those that are allowed."""

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
CONFTEST = """
import pytest
from tests.conftest import RunInLibreOffice

def pytest_configure(config):
    if not hasattr(config, "workerinput"):
        config.pluginmanager.register(RunInLibreOffice(2))
"""
MARKED = "@pytest.mark.libreoffice\ndef test_{}():\n    {}\n\n"


@pytest.mark.parametrize(
    ("tests", "code", "processes"),
    [
        ([("one", "pass"), ("two", "pass")], 0, "2"),
        ([("one", "pass")], 1, "0"),
        ([("one", "pass"), ("two", "pass"), ("three", "pytest.skip('missing')")], 1, "0"),
    ],
    ids=["enough in two processes", "too few in one", "one is skipped"],
)
def test_a_session_without_libreoffice_s_tests_fails(
    tests: list[tuple[str, str]], code: int, processes: str, tmp_path: Path
) -> None:
    (tmp_path / "conftest.py").write_text(CONFTEST)
    marked = "".join(MARKED.format(name, body) for name, body in tests)
    (tmp_path / "test_marked.py").write_text(f"import pytest\n\n{marked}def test_plain():\n    pass\n")
    (tmp_path / "pytest.ini").write_text("[pytest]\nmarkers = libreoffice\n")
    command = [sys.executable, "-m", "pytest", "-q", "-n", processes, "-p", "no:cacheprovider", str(tmp_path)]
    environment = {name: value for name, value in os.environ.items() if name != "CI"} | {"PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True)
    assert done.returncode == code, done.stdout + done.stderr
    assert ("wanted 2 or more, and none skipped" in done.stdout) == bool(code)


def test_the_lowest_versions_are_those_that_are_allowed() -> None:
    allowed = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["dependencies"]
    lowest = dict(re.findall(r"^([\w-]+)>=([\d.]+),", "\n".join(allowed), re.MULTILINE))
    pinned = dict(re.findall(r"^([\w-]+)==([\d.]+)$", (ROOT / ".ci" / "lowest.txt").read_text(), re.MULTILINE))
    assert len(lowest) == len(allowed)
    assert {name: version.removesuffix(".0") for name, version in pinned.items()} == {
        name: version.removesuffix(".0") for name, version in lowest.items()
    }


def test_what_ci_runs_on_the_lowest_versions_is_there() -> None:
    text = (ROOT / ".ci" / "run").read_text()
    assert "-c .ci/lowest.txt" in text
    named = re.findall(r"tests/[\w/]+(?:\.py)?", text)
    assert len(named) > 5
    assert [name for name in named if not (ROOT / name).exists()] == []
