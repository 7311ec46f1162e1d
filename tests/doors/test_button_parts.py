"""The extension's parts without LibreOffice: what it needs, how the engine is found, and what a mark says."""

import ast
import io
import re
import sys
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pytest

from xlsengine.doors import oxt
from xlsengine.doors.office import component, engine, marks

SOURCES = sorted(Path("xlsengine/doors/office").glob("*.py"))


@pytest.mark.parametrize("source", SOURCES, ids=lambda path: path.name)
def test_it_needs_no_more_than_the_python_of_libreoffice(source: Path) -> None:
    """Which is 3.8 in LibreOffice 7.4 as its makers pack it (from memory), and has nothing installed but UNO."""
    tree = ast.parse(source.read_text("utf-8"), feature_version=(3, 8))
    named = {
        node.module.split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module and not node.level
    }
    named |= {
        alias.name.split(".")[0] for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names
    }
    assert named <= {*sys.stdlib_module_names, "uno"}


def test_the_archive_names_all_that_it_holds() -> None:
    with zipfile.ZipFile(io.BytesIO(oxt.extension())) as archive:
        names = set(archive.namelist())
        manifest = ElementTree.fromstring(archive.read("META-INF/manifest.xml"))
        for name in names:
            if name.endswith((".xml", ".xcu", ".xcs")):
                ElementTree.fromstring(archive.read(name))
    listed = {value for entry in manifest for key, value in entry.attrib.items() if key.endswith("full-path")}
    assert listed < names
    assert {f"pythonpath/{oxt.PACKAGE}/{path.name}" for path in SOURCES} < names


def test_menu_and_toolbar_ask_for_acts_that_the_button_knows() -> None:
    asked = re.findall(r"service:([\w.]+)\?(\w+)<", oxt.parts()["Addons.xcu"])
    assert {service for service, _ in asked} == {component.SERVICE}
    known = Path("xlsengine/doors/office/component.py").read_text("utf-8")
    assert len(asked) == 12
    assert all(f'"{act}": ' in known for _, act in asked)


def test_the_same_version_gives_the_same_bytes() -> None:
    assert oxt.extension() == oxt.extension()


def program(folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / ("xlsengine.exe" if sys.platform == "win32" else "xlsengine")
    path.write_text("#!/bin/sh\necho no answer\n")
    path.chmod(0o755)
    return path


def test_the_engine_is_found_in_its_order(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The setting, the environment, the path, the usual places; and a setting that leads nowhere is told."""
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    monkeypatch.setenv("PATH", str(tmp_path / "on the path"))
    monkeypatch.delenv(engine.VARIABLE, raising=False)
    monkeypatch.setattr(engine, "_places", lambda places=engine._places: (p for p in places() if str(tmp_path) in p))
    with pytest.raises(engine.EngineMissing, match="was not found on this computer"):
        engine.engine_path()
    usual = program(tmp_path / ".local" / "bin")
    assert engine.engine_path() == str(usual)
    on_path = program(tmp_path / "on the path")
    assert engine.engine_path() == str(on_path)
    named = program(tmp_path / "named")
    monkeypatch.setenv(engine.VARIABLE, str(named))
    assert engine.engine_path() == str(named)
    assert engine.engine_path(str(usual)) == str(usual)
    with pytest.raises(engine.EngineMissing, match="was set to /nowhere, and no file is there"):
        engine.engine_path("/nowhere")


def test_a_program_that_is_another_is_told(tmp_path: Path) -> None:
    """What gives no answer is never taken for one that finds nothing."""
    with pytest.raises(engine.EngineMissing, match="gave no answer that can be read"):
        engine.run(str(program(tmp_path)), ["check", "x.xlsx"])
    with pytest.raises(engine.EngineMissing, match="cannot be started"):
        engine.run(str(tmp_path), ["check", "x.xlsx"])


def test_how_entries_were_read_is_listed_above_faults_and_marks_no_cell() -> None:
    fault = {"place": "Readings!J7", "label": "Current (A)", "found": "x", "wanted": "y", "fix": "z"}
    told = ['Readings!K6 Thrust (g): "12 oz" read as 340 g', "Readings, Prop: blank", "'No load'!B5: a formula"]
    *read, last = marks.findings({"faults": [fault], "told": told})
    assert [each.line for each in read] == [f"to know: {line}" for line in told]
    assert [(each.sheet, each.cell) for each in read] == [("Readings", "K6"), ("", ""), ("", "")]
    assert last.kind == "fault"
    assert marks.put_marks(None, read) == 0


@pytest.mark.parametrize(
    ("place", "sheet", "cell"),
    [
        ("Readings!J14", "Readings", "J14"),
        ("'No load'!B5", "No load", "B5"),
        ("Readings!A110:P110", "Readings", "A110"),
        ("'It''s'!C3", "It's", "C3"),
        ("Readings", "", ""),
        ("Start template version", "", ""),
    ],
)
def test_places_of_faults_are_cells(place: str, sheet: str, cell: str) -> None:
    fault = {"place": place, "label": "Kind", "found": '"peek"', "wanted": "“peak”", "fix": "choose “peak”"}
    (found,) = marks.findings({"faults": [fault]})
    assert (found.sheet, found.cell) == (sheet, cell)
    assert found.line == f'fault: {place} Kind: found "peek"; wanted “peak”; choose “peak”'
