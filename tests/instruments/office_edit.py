"""A person's work in LibreOffice Calc, done by a headless macro: open, type into cells, insert rows, save as .xlsx."""

from __future__ import annotations

import os
import signal
import subprocess
import tempfile
from collections.abc import Iterable
from pathlib import Path

from tests.instruments.editing import Edit

_LIBRARY = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE library:library PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "library.dtd">
<library:library xmlns:library="http://openoffice.org/2000/library" library:name="Standard" library:readonly="false"
 library:passwordprotected="false"><library:element library:name="Hands"/></library:library>
"""
_LIBRARIES = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE library:libraries PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "libraries.dtd">
<library:libraries xmlns:library="http://openoffice.org/2000/library" xmlns:xlink="http://www.w3.org/1999/xlink">
<library:library library:name="Standard" xlink:href="$(USER)/basic/Standard/script.xlb/" xlink:type="simple"
 library:link="false"/></library:libraries>
"""
_MODULE = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE script:module PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "module.dtd">
<script:module xmlns:script="http://openoffice.org/2000/script" script:name="Hands" script:language="StarBasic">
{code}</script:module>
"""
# Without this, LibreOffice takes the profile for a new one and puts its own empty macro library there.
_INSTALLED = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"><item oor:path="/org.openoffice.Setup/Office">
<prop oor:name="ooSetupInstCompleted" oor:op="fuse"><value>true</value></prop></item></oor:items>
"""
_MACRO = """Sub Work
  Dim hidden(0) As New com.sun.star.beans.PropertyValue
  hidden(0).Name = "Hidden" : hidden(0).Value = True
  book = StarDesktop.loadComponentFromURL("{source}", "_blank", 0, hidden())
{edits}
  Dim saving(0) As New com.sun.star.beans.PropertyValue
  saving(0).Name = "FilterName" : saving(0).Value = "Calc MS Excel 2007 XML"
  book.storeToURL("{target}", saving())
  book.close(True)
End Sub
"""


def edited_in_libreoffice(
    path: Path, target: Path, edits: Iterable[Edit], insert_rows: Iterable[tuple[str, int]] = (), timeout: float = 180
) -> Path:
    """Open a workbook in LibreOffice Calc, insert blank rows (sheet, row from 1), type into cells, and save it anew.

    Formulas that follow from the cells are recalculated by LibreOffice as after typing. RuntimeError when it fails.
    """
    lines = [_insertion(sheet, row) for sheet, row in insert_rows] + [_typing(*edit) for edit in edits]
    macro = _MACRO.format(source=path.resolve().as_uri(), target=target.resolve().as_uri(), edits="\n".join(lines))
    with tempfile.TemporaryDirectory() as folder:
        profile = profile_with(macro, Path(folder, "profile"))
        command = ["soffice", f"-env:UserInstallation={profile.as_uri()}", "--headless", "--norestore"]
        told = run_office([*command, "macro:///Standard.Hands.Work"], timeout)
    if not target.exists():
        raise RuntimeError(f"LibreOffice saved nothing: {told}")
    return target


def _insertion(sheet: str, row: int) -> str:
    return f'  book.Sheets.getByName("{sheet}").Rows.insertByIndex({row - 1}, 1)'


def _typing(sheet: str, place: str, value: float | str | bool | None) -> str:
    cell = f'book.Sheets.getByName("{sheet}").getCellRangeByName("{place}")'
    if value is None:
        return f'  {cell}.setString("")'
    if isinstance(value, str):
        return f'  {cell}.setString("{value.replace(chr(34), chr(34) * 2)}")'
    return f"  {cell}.setValue({float(value)!r})"


def profile_with(macro: str, profile: Path) -> Path:
    """Make a LibreOffice profile that holds the macro."""
    basic = profile / "user" / "basic"
    (basic / "Standard").mkdir(parents=True)
    escaped = macro.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    (basic / "Standard" / "Hands.xba").write_text(_MODULE.format(code=escaped), encoding="utf-8")
    (basic / "Standard" / "script.xlb").write_text(_LIBRARY, encoding="utf-8")
    (basic / "script.xlc").write_text(_LIBRARIES, encoding="utf-8")
    (profile / "user" / "registrymodifications.xcu").write_text(_INSTALLED, encoding="utf-8")
    return profile


def run_office(command: list[str], timeout: float) -> str:
    """Run LibreOffice and return what it says; RuntimeError when it takes longer than `timeout` seconds."""
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True
    ) as process:
        try:
            return process.communicate(timeout=timeout)[0]
        except subprocess.TimeoutExpired as error:
            os.killpg(process.pid, signal.SIGKILL)
            raise RuntimeError(f"LibreOffice took more than {timeout:g} s") from error
