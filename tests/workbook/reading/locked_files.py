"""Workbooks under a real password, made by LibreOffice Calc through a headless macro."""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.instruments.office_edit import profile_with, run_office

FILTERS = {".xlsx": "Calc MS Excel 2007 XML", ".ods": "calc8"}
_MACRO = """Sub Work
  Dim hidden(0) As New com.sun.star.beans.PropertyValue
  hidden(0).Name = "Hidden" : hidden(0).Value = True
  book = StarDesktop.loadComponentFromURL("{source}", "_blank", 0, hidden())
  Dim key(1) As New com.sun.star.beans.NamedValue
  key(0).Name = "CryptoType" : key(0).Value = "Standard"
  key(1).Name = "OOXPassword" : key(1).Value = "secret"
  Dim saving(1) As New com.sun.star.beans.PropertyValue
  saving(0).Name = "FilterName" : saving(0).Value = "{filter}"
  {secret}
  book.storeToURL("{target}", saving())
  book.close(True)
End Sub
"""


# LibreOffice takes the password of an Office Open XML workbook as a key of its own.
SECRETS = {
    ".xlsx": 'saving(1).Name = "EncryptionData" : saving(1).Value = key()',
    ".ods": 'saving(1).Name = "Password" : saving(1).Value = "secret"',
}


def locked(path: Path, target: Path) -> Path:
    """Save a workbook under a password, as the kind that the target's ending says."""
    macro = _MACRO.format(
        source=path.resolve().as_uri(), target=target.resolve().as_uri(), filter=FILTERS[target.suffix],
        secret=SECRETS[target.suffix],
    )  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        profile = profile_with(macro, Path(folder, "profile"))
        command = ["soffice", f"-env:UserInstallation={profile.as_uri()}", "--headless", "--norestore"]
        told = run_office([*command, "macro:///Standard.Hands.Work"], 180)
    if not target.exists():
        raise RuntimeError(f"LibreOffice saved nothing: {told}")
    return target
