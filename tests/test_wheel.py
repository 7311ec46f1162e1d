"""What people install is a wheel, without the developers' tools: it does the job from any folder as the checkout does."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "demo_inputs" / "thimble-2207.xlsx"
BUILD = "import sys; from setuptools import build_meta; build_meta.build_wheel(sys.argv[1])"


def _run(*command: str, cwd: Path, path: str = "") -> None:
    environment = {"PATH": "/usr/bin:/bin", "PYTHONPATH": path, "HOME": str(cwd)}
    done = subprocess.run(command, cwd=cwd, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build from a copy of what is shipped, so that the checkout stays as it is."""
    place = tmp_path_factory.mktemp("wheel")
    source = place / "source"
    source.mkdir()
    for name in ("pyproject.toml", "README.md", "xlsengine"):
        _run("cp", "-r", str(ROOT / name), str(source), cwd=place)
    _run(sys.executable, "-c", BUILD, str(place), cwd=source)
    return next(place.glob("*.whl"))


def test_a_wheel_holds_every_file_of_the_package(wheel: Path) -> None:
    packed = set(zipfile.ZipFile(wheel).namelist())
    ours = {
        str(path.relative_to(ROOT))
        for path in (ROOT / "xlsengine").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert ours - packed == set()


def test_a_wheel_does_the_job_as_the_checkout_does(wheel: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path / "installed")
    for name, path in (("by wheel", tmp_path / "installed"), ("by checkout", ROOT)):
        (tmp_path / name).mkdir()
        asked = "import sys, xlsengine; sys.exit(not xlsengine.__file__.startswith(sys.argv[1]))"
        _run(sys.executable, "-P", "-c", asked, str(path), cwd=tmp_path, path=str(path))
        output = tmp_path / name / "results.xlsx"
        _run(
            sys.executable,
            "-P",
            "-m",
            "xlsengine",
            "results",
            str(DEMO),
            "-o",
            str(output),
            cwd=tmp_path,
            path=str(path),
        )
    by_wheel, by_checkout = ((tmp_path / name / "results.xlsx").read_bytes() for name in ("by wheel", "by checkout"))
    assert by_wheel == by_checkout
