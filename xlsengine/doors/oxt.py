"""The extension for LibreOffice, put together from the files of `office/`: menu, toolbar, setting and script.

Its parts are named in the OpenOffice.org Developer's Guide, chapters Extensions and Add-Ons: a zip archive with
META-INF/manifest.xml, description.xml, an Addons.xcu for menu and toolbar, and a schema (.xcs) for the setting.
"""

from importlib.metadata import version
from io import BytesIO
from pathlib import Path
from xml.sax.saxutils import escape
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from xlsengine.doors.office.component import SERVICE
from xlsengine.workbook.output import whole_file

PACKAGE = "xlsengine_button"
NAME = "xlsengine.oxt"
ACTS = (
    ("check", "Check"),
    ("previous", "Previous mark"),
    ("next", "Next mark"),
    ("clear", "Take marks off"),
    ("results", "Results"),
    ("template", "Template"),
    ("engine", "Where is the engine"),
)
"""The entries of the menu: what the component is told, and what a person reads."""
ON_TOOLBAR = ("check", "previous", "next", "results", "template")
ABOUT = (
    "Checks the bench test in the open workbook, marks what is wrong or looks odd in its cells, and writes its results. "
    "Needs the program xlsengine on this computer."
)
_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
_OOR = 'xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema"'
_CALC = "com.sun.star.sheet.SpreadsheetDocument"
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
    scripts = {f"pythonpath/{PACKAGE}/{file.name}": file.read_text("utf-8") for file in sorted(sources.glob("*.py"))}
    return {
        "META-INF/manifest.xml": _manifest(),
        "description.xml": _description(),
        "about.txt": ABOUT,
        "Addons.xcu": _addons(),
        "CalcWindowState.xcu": _bar_state(),
        "Button.xcs": _schema(),
        "button.py": _SCRIPT,
        **scripts,
    }


def _manifest() -> str:
    kinds = {
        "button.py": "application/vnd.sun.star.uno-component;type=Python",
        "Button.xcs": "application/vnd.sun.star.configuration-schema",
        "Addons.xcu": "application/vnd.sun.star.configuration-data",
        "CalcWindowState.xcu": "application/vnd.sun.star.configuration-data",
    }
    entries = "".join(
        f'  <manifest:file-entry manifest:media-type="{kind}" manifest:full-path="{name}"/>\n'
        for name, kind in kinds.items()
    )
    return (
        f'{_HEAD}<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">\n{entries}'
        "</manifest:manifest>\n"
    )


def _description() -> str:
    return (
        f'{_HEAD}<description xmlns="http://openoffice.org/extensions/description/2006" '
        'xmlns:xlink="http://www.w3.org/1999/xlink">\n'
        f'  <identifier value="{SERVICE}"/>\n  <version value="{version("xlsengine")}"/>\n'
        '  <display-name><name lang="en">xlsengine</name></display-name>\n'
        '  <extension-description><src lang="en" xlink:href="about.txt"/></extension-description>\n</description>\n'
    )


def _addons() -> str:
    """Write the menu and the toolbar; both stand in Calc alone."""
    menu = "".join(_entry(f"m{place}", name, title) for place, (name, title) in enumerate(ACTS, start=1))
    titles = dict(ACTS)
    bar = "".join(_entry(f"b{place}", name, titles[name]) for place, name in enumerate(ON_TOOLBAR, start=1))
    return (
        f'{_HEAD}<oor:component-data {_OOR} oor:name="Addons" oor:package="org.openoffice.Office">\n'
        f'<node oor:name="AddonUI">\n<node oor:name="OfficeMenuBar"><node oor:name="{SERVICE}" oor:op="replace">\n'
        f'{_value("Title", "xlsengine")}{_value("Context", _CALC)}<node oor:name="Submenu">\n{menu}</node>\n'
        f'</node></node>\n<node oor:name="OfficeToolBar"><node oor:name="{SERVICE}.bar" oor:op="replace">\n{bar}'
        "</node></node>\n</node>\n</oor:component-data>\n"
    )


def _bar_state() -> str:
    """Name the toolbar, and dock it below the others."""
    states = (
        ("UIName", "string", "xlsengine"),
        ("Visible", "boolean", "true"),
        ("Docked", "boolean", "true"),
        ("DockingArea", "int", "0"),
        ("DockPos", "string", "0,2"),
    )
    props = "".join(
        f'<prop oor:name="{name}" oor:type="xs:{kind}"><value{_language(name)}>{value}</value></prop>'
        for name, kind, value in states
    )
    return (
        f'{_HEAD}<oor:component-data {_OOR} oor:name="CalcWindowState" oor:package="org.openoffice.Office.UI">\n'
        '<node oor:name="UIElements"><node oor:name="States">\n'
        f'<node oor:name="private:resource/toolbar/addon_{SERVICE}.bar" oor:op="replace">{props}</node>\n'
        "</node></node>\n</oor:component-data>\n"
    )


def _language(name: str) -> str:
    return ' xml:lang="en-US"' if name in ("Title", "UIName") else ""


def _entry(node: str, name: str, title: str) -> str:
    values = (("URL", f"service:{SERVICE}?{name}"), ("Title", title), ("Target", "_self"), ("Context", _CALC))
    return f'<node oor:name="{node}" oor:op="replace">{"".join(_value(key, text) for key, text in values)}</node>\n'


def _value(name: str, text: str) -> str:
    return f'<prop oor:name="{name}" oor:type="xs:string"><value{_language(name)}>{escape(text)}</value></prop>'


def _schema() -> str:
    """Write the schema of the one setting: the path of the program, empty where the usual places are looked at."""
    package, _, name = SERVICE.rpartition(".")
    return (
        f'{_HEAD}<oor:component-schema {_OOR} oor:name="{name}" oor:package="{package}" xml:lang="en-US">\n'
        '<component><group oor:name="Engine"><prop oor:name="Program" oor:type="xs:string" oor:nillable="false">'
        "<value></value></prop></group></component>\n</oor:component-schema>\n"
    )
