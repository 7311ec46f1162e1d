"""The extension for LibreOffice: the files of `office/extension/` as they lie there, and the scripts of `office/`.

They are named in the OpenOffice.org Developer's Guide, chapters Extensions and Add-Ons: Addons.xcu holds the menu and the
toolbar, CalcWindowState.xcu where that docks, Button.xcs the one setting: the path of the program, empty where the usual
places are looked at.
"""

from importlib.metadata import version
from io import BytesIO
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from xlsengine.workbook.output import whole_file

PACKAGE = "xlsengine_button"
_DATE = (2020, 1, 1, 0, 0, 0)
_SCRIPT = f'"""Leads LibreOffice to the button."""\n\nfrom {PACKAGE}.component import helper\n\n' + (
    "g_ImplementationHelper = helper()\n"
)


def write_extension(path: str | Path, overwrite: bool = False) -> Path:
    """Write the extension; returns its path. The same version gives the same bytes.

    Raises `OutputRefused` when the file exists and `overwrite` is false, or cannot be written.
    """
    target = Path(path)
    with whole_file(target, overwrite) as unfinished:
        unfinished.write_bytes(extension())
    return target


def extension() -> bytes:
    """Return the extension's archive."""
    packed = BytesIO()
    with ZipFile(packed, "w", ZIP_DEFLATED) as archive:
        for name, content in sorted(parts().items()):
            archive.writestr(ZipInfo(name, _DATE), content, ZIP_DEFLATED)
    return packed.getvalue()


def parts() -> dict[str, str]:
    """Return the files of the extension by their names."""
    sources = Path(__file__).with_name("office")
    plain = {file.relative_to(sources / "extension").as_posix(): file for file in sources.glob("extension/**/*.*")}
    scripts = {f"pythonpath/{PACKAGE}/{file.name}": file for file in sources.glob("*.py")}
    found = {name: file.read_text("utf-8") for name, file in (plain | scripts).items()}
    about = found["description.xml"].replace("{version}", version("xlsengine"))
    return {**found, "description.xml": about, "button.py": _SCRIPT}
