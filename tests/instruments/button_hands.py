"""A person's work with the extension in LibreOffice Calc over its UNO bridge, run by a Python that has `uno`.

Takes one argument, a JSON file: `profile` (a folder in which the extension is installed), `engine` (where it lies),
`book` (the workbook to open), `options` of LibreOffice's, and `acts`, each a list: ``press`` an entry of the menu, ``type``
sheet, place and value, ``note`` sheet, place and text, ``select`` sheet and place, ``insert`` sheet and row, ``choose`` and
``click`` what stands in the window, ``save`` path, ``engine`` path, ``size`` width and height, ``run`` a command while
the window is shown, or ``look``. Prints a JSON list: for each look the notes, fills, the selected
cell, the window's title and lines, and the open workbooks.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import office_hands as office  # type: ignore[import-not-found]

SERVICE = "org.xlsengine.Button"
TITLE = "xlsengine"


def main(job: dict[str, Any]) -> list[dict[str, Any]]:
    pipe = f"button{os.getpid()}"
    command = [
        "soffice",
        f"-env:UserInstallation={Path(job['profile']).as_uri()}",
        *job["options"],
        "--norestore",
        "--nologo",
    ]
    own = {**os.environ, "XLSENGINE": job["engine"]}
    silent: dict[str, Any] = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "start_new_session": True}
    with subprocess.Popen([*command, f"--accept=pipe,name={pipe};urp;"], env=own, **silent) as running:
        try:
            hands = Hands(office.desktop_of(pipe, running), pipe, Path(job["book"]))
            for verb, *what in job["acts"]:
                getattr(hands, verb)(*what)
            hands.leave()
            running.wait(office.PATIENCE)
            return hands.seen
        finally:
            with suppress(ProcessLookupError):
                os.killpg(running.pid, signal.SIGKILL)  # soffice is a script, and leads others


class Hands:
    """The acts of a person, and what was seen on the way."""

    def __init__(self, desktop: Any, pipe: str, book: Path) -> None:
        import uno

        here = uno.getComponentContext()
        resolver = here.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", here)
        self.context = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        self.desktop = desktop
        self.book = desktop.loadComponentFromURL(book.as_uri(), "_blank", 0, ())
        self.seen: list[dict[str, Any]] = []

    def press(self, entry: str) -> None:
        """Choose an entry of the menu, in the window of the workbook."""
        helper = self.make("com.sun.star.frame.DispatchHelper")
        helper.executeDispatch(self.book.CurrentController.Frame, f"service:{SERVICE}?{entry}", "", 0, ())

    def engine(self, path: str) -> None:
        """Say where the engine lies, in the extension's setting."""
        provider = self.make("com.sun.star.configuration.ConfigurationProvider")
        node = office.settings(nodepath=f"/{SERVICE}/Engine")
        access = provider.createInstanceWithArguments("com.sun.star.configuration.ConfigurationUpdateAccess", node)
        access.Program = path
        access.commitChanges()

    def type(self, sheet: str, place: str, value: float | str | None) -> None:
        office.type_in(self.book.Sheets.getByName(sheet), place, value)

    def note(self, sheet: str, place: str, text: str) -> None:
        cells = self.book.Sheets.getByName(sheet)
        cells.Annotations.insertNew(cells.getCellRangeByName(place).CellAddress, text)

    def select(self, sheet: str, place: str) -> None:
        self.book.CurrentController.select(self.book.Sheets.getByName(sheet).getCellRangeByName(place))

    def insert(self, sheet: str, row: int) -> None:
        office.insert(self.book.Sheets.getByName(sheet), row, 1)

    def click(self, label: str) -> None:
        """Press a button of the extension's window."""
        for child in self.window():
            if child.getAccessibleName() == label:
                child.doAccessibleAction(0)

    def choose(self, place: int) -> None:
        """Choose a line of the list in the window."""
        for child in self.window():
            if hasattr(child, "selectAccessibleChild") and child.getAccessibleChildCount() > place:
                child.selectAccessibleChild(place)
                return

    def save(self, path: str) -> None:
        self.book.storeToURL(Path(path).as_uri(), office.settings(FilterName="Calc MS Excel 2007 XML"))

    def size(self, width: int, height: int) -> None:
        """Make the workbook's window so large, in pixels, from the screen's corner on."""
        every = 15  # com.sun.star.awt.PosSize
        self.book.CurrentController.Frame.ContainerWindow.setPosSize(0, 0, width, height, every)

    def run(self, *command: str) -> None:
        """Run a program once everything is drawn."""
        time.sleep(3)
        subprocess.run(command, check=True)

    def look(self) -> None:
        self.seen.append(
            {
                "notes": self.notes(),
                "fills": self.fills(),
                "selected": self.selected(),
                "title": self.title(),
                "words": self.words(),
                "books": self.books(),
            }
        )

    def notes(self) -> dict[str, str]:
        found = {}
        for sheet in self.book.Sheets:
            for note in sheet.Annotations:
                found[_name(sheet, note.Position.Column, note.Position.Row)] = note.getString()
        return found

    def fills(self) -> dict[str, str]:
        """Return the fills of the first cells of Readings, asked for by areas that look alike."""
        sheet = self.book.Sheets.getByName("Readings")
        found: dict[str, str] = {}
        alike = sheet.getCellRangeByPosition(0, 5, 15, 59).getCellFormatRanges()
        for number in range(alike.Count):
            area = alike.getByIndex(number)
            at, fill = area.RangeAddress, f"{area.CellBackColor & 0xFFFFFF:06X}"
            for row in range(at.StartRow, at.EndRow + 1):
                found |= {_name(sheet, column, row): fill for column in range(at.StartColumn, at.EndColumn + 1)}
        return found

    def selected(self) -> str:
        area = self.book.CurrentSelection.RangeAddress
        return _name(self.book.Sheets.getByIndex(area.Sheet), area.StartColumn, area.StartRow)

    def books(self) -> list[str]:
        return sorted({part.Title for part in self.components()})

    def components(self) -> list[Any]:
        parts, found = self.desktop.Components.createEnumeration(), []
        while parts.hasMoreElements():
            found.append(parts.nextElement())
        return found

    def leave(self) -> None:
        """Close LibreOffice without saving anything."""
        for part in self.components():
            if hasattr(part, "setModified"):
                part.setModified(False)
        self.desktop.terminate()

    def title(self) -> str:
        top = self.top_window()
        return top.getAccessibleName() if top else ""

    def words(self) -> list[str]:
        """Return the lines of the list in the window, and the text below it."""
        import uno

        text = uno.getConstantByName("com.sun.star.accessibility.AccessibleRole.SCROLL_PANE")  # that of many lines
        said = [child.getAccessibleName() for child in self.window() if child.getAccessibleRole() == text]
        return [*(item for child in self.window() for item in _items(child)), *filter(None, said)]

    def top_window(self) -> Any:
        toolkit = self.make("com.sun.star.awt.Toolkit")
        for number in range(toolkit.getTopWindowCount()):
            window = toolkit.getTopWindow(number)
            context = window.getAccessibleContext() if hasattr(window, "getAccessibleContext") else None
            if context is not None and context.getAccessibleName().startswith(TITLE):
                return context
        return None

    def window(self) -> list[Any]:
        """Return everything that stands in the extension's window."""
        top = self.top_window()
        return _within(top) if top else []

    def make(self, service: str) -> Any:
        return self.context.ServiceManager.createInstanceWithContext(service, self.context)


def _within(context: Any) -> list[Any]:
    found = []
    for number in range(min(context.getAccessibleChildCount(), 60)):
        child = context.getAccessibleChild(number).getAccessibleContext()
        found += [child, *_within(child)]
    return found


def _items(context: Any) -> list[str]:
    if not hasattr(context, "selectAccessibleChild"):
        return []
    count = context.getAccessibleChildCount()
    return [context.getAccessibleChild(number).getAccessibleContext().getAccessibleName() for number in range(count)]


def _name(sheet: Any, column: int, row: int) -> str:
    return f"{sheet.Name}!{chr(ord('A') + column)}{row + 1}"


if __name__ == "__main__":
    print(json.dumps(main(json.loads(Path(sys.argv[1]).read_text(encoding="utf-8")))))
