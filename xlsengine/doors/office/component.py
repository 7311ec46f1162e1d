"""The button's acts in LibreOffice: check, next and previous mark, results, template, take marks off, where the engine is.

Menu and toolbar call them as ``service:org.xlsengine.Button?check``.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from pathlib import Path
from typing import Any

from . import engine, marks, window

SERVICE = "org.xlsengine.Button"
TITLE = "xlsengine"
_XLSX = "Calc MS Excel 2007 XML"
_SETTING = f"/{SERVICE}/Engine"
_NOTHING = "Nothing to complain about: no faults, and no reading looks odd."


class Button:
    """The acts, for the workbook that is in front."""

    def __init__(self, context: Any) -> None:
        self.context = context
        self.desktop = self._make("com.sun.star.frame.Desktop")

    def act(self, name: str) -> None:
        """Do one of the acts; what goes wrong on the way is said in words."""
        acts: dict[str, Callable[[], None]] = {
            "check": self.check,
            "next": lambda: self.jump(1),
            "previous": lambda: self.jump(-1),
            "clear": self.clear,
            "results": self.results,
            "template": self.template,
            "engine": self.choose_engine,
        }
        try:
            acts[name]()
        except engine.EngineMissing as error:
            self._say(str(error))
        except OSError as error:
            self._say(f"That did not work: {error.strerror or error}")

    # --- acts ------------------------------------------------------------------------------------------------

    def check(self) -> None:
        """Mark what the engine finds in the workbook, and list it."""
        book = self._book()
        if book is None:
            return
        with self._one_step(book, "Check"), self._copy(book) as copy:
            report = self._run("check", str(copy))
            of_file = report if report.get("error") else report["files"][0]
            found = marks.findings(of_file)
            marks.put_marks(book, found)
        if of_file.get("error"):
            self._say(of_file["error"])
        elif odd := [each for each in found if each.kind != marks.TO_KNOW]:
            lines = [each.line for each in found]
            window.show(self.context, f"{TITLE}: {_counted(odd)}", lines, lambda place: self._go(book, found[place]))
        else:
            self._say(_NOTHING, *(each.line for each in found))

    def jump(self, step: int) -> None:
        """Select the next marked cell, or the one before."""
        book = self._book()
        if book is None:
            return
        selected = book.CurrentSelection
        here = (-1, -1, -1)
        if hasattr(selected, "RangeAddress"):
            area = selected.RangeAddress
            here = (area.Sheet, area.StartRow, area.StartColumn)
        cell = marks.neighbour(book, here, step)
        if cell is None:
            self._say("No cell is marked. Check marks what is wrong or looks odd.")
        else:
            _select(book, cell)

    def clear(self) -> None:
        """Take the marks off."""
        book = self._book()
        if book is not None:
            with self._one_step(book, "Take marks off"):
                marks.take_marks_off(book)
            window.close()

    def results(self) -> None:
        """Write the results workbook beside the open one, and open it."""
        book = self._book()
        if book is None:
            return
        with self._one_step(book, "Results"), self._copy(book) as copy:
            report = self._run("results", str(copy))
            if report.get("results"):
                written = _put_beside(Path(report["results"]), _folder_of(book))
        if not report.get("results"):
            self._say(f"{report.get('error') or 'The workbook has faults.'}\nCheck marks each of them in its cell.")
            return
        self._open(written)

    def template(self) -> None:
        """Write an empty workbook and open it."""
        place = Path(tempfile.mkdtemp(prefix="xlsengine-")) / "motor bench.xlsx"
        done = engine.start(self._program(), ["template", "-o", str(place)])
        if place.is_file():
            self._open(place, as_template=True)
        else:
            self._say(" ".join(done.stderr.split()) or "No workbook was written.")

    def choose_engine(self) -> None:
        """Let a person say where the engine lies, and keep it."""
        picker = self._make("com.sun.star.ui.dialogs.FilePicker")
        picker.setTitle("Where is the program xlsengine?")
        if picker.execute():
            import uno

            self.set_engine(uno.fileUrlToSystemPath(picker.getSelectedFiles()[0]))

    # --- the engine ------------------------------------------------------------------------------------------

    def set_engine(self, path: str) -> None:
        """Keep where the engine lies."""
        access = self._settings("com.sun.star.configuration.ConfigurationUpdateAccess")
        access.Program = path
        access.commitChanges()

    def _program(self) -> str:
        return engine.engine_path(self._settings("com.sun.star.configuration.ConfigurationAccess").Program)

    def _run(self, *arguments: str) -> dict[str, Any]:
        return engine.run(self._program(), arguments)

    def _settings(self, kind: str) -> Any:
        provider = self._make("com.sun.star.configuration.ConfigurationProvider")
        return provider.createInstanceWithArguments(kind, (_property("nodepath", _SETTING),))

    # --- the workbook ----------------------------------------------------------------------------------------

    def _book(self) -> Any:
        """Return the workbook in front, or the only one that is open; None, and a word, where there is none."""
        front = self.desktop.getCurrentComponent()
        books = [front] if _is_workbook(front) else [each for each in self._components() if _is_workbook(each)]
        if len(books) == 1:
            return books[0]
        self._say("Click into the workbook first: no spreadsheet is in front.")
        return None

    def _components(self) -> Iterator[Any]:
        parts = self.desktop.Components.createEnumeration()
        while parts.hasMoreElements():
            yield parts.nextElement()

    @contextmanager
    def _one_step(self, book: Any, title: str) -> Any:
        """Take the old marks off, and make all that is done one step to undo."""
        undo = book.getUndoManager()
        undo.enterUndoContext(f"{TITLE}: {title}")
        book.lockControllers()
        try:
            if title != "Results":
                marks.take_marks_off(book)
            yield
        finally:
            book.unlockControllers()
            undo.leaveUndoContext()

    @contextmanager
    def _copy(self, book: Any) -> Any:
        """Save a copy of the workbook under its own name in a folder that is thrown away."""
        folder = Path(tempfile.mkdtemp(prefix="xlsengine-"))
        try:
            copy = folder / f"{_stem(book)}.xlsx"
            book.storeToURL(copy.as_uri(), (_property("FilterName", _XLSX),))
            yield copy
        finally:
            shutil.rmtree(folder, ignore_errors=True)

    def _go(self, book: Any, found: marks.Found) -> None:
        if found.cell and book.Sheets.hasByName(found.sheet):
            _select(book, book.Sheets.getByName(found.sheet).getCellRangeByName(found.cell))

    def _open(self, path: Path, as_template: bool = False) -> None:
        self.desktop.loadComponentFromURL(path.as_uri(), "_blank", 0, (_property("AsTemplate", as_template),))

    def _say(self, *lines: str) -> None:
        window.show(self.context, TITLE, lines)

    def _make(self, service: str) -> Any:
        return self.context.ServiceManager.createInstanceWithContext(service, self.context)


def _is_workbook(part: Any) -> bool:
    return hasattr(part, "supportsService") and part.supportsService("com.sun.star.sheet.SpreadsheetDocument")


def _counted(found: list[marks.Found]) -> str:
    kinds = dict.fromkeys(each.kind for each in found)
    counts = {kind: sum(each.kind == kind for each in found) for kind in kinds}
    return ", ".join(
        f"{count} {kind}" + "s" * (count != 1 and kind in ("fault", "note")) for kind, count in counts.items()
    )


def _select(book: Any, cell: Any) -> None:
    with suppress(AttributeError):  # a workbook without a window
        book.CurrentController.select(cell)


def _stem(book: Any) -> str:
    """Return the name of the workbook without its ending; results come under it."""
    title = Path(_path(book) or book.Title).name
    return Path(title).stem or "workbook"


def _path(book: Any) -> str:
    import uno

    return str(uno.fileUrlToSystemPath(book.URL)) if book.URL.startswith("file:") else ""


def _folder_of(book: Any) -> Path:
    """Return where the results go: beside the workbook; for one without a file yet, in a folder of their own."""
    path = _path(book)
    return Path(path).parent if path else Path(tempfile.mkdtemp(prefix="xlsengine-"))


def _put_beside(written: Path, folder: Path) -> Path:
    """Move results beside the workbook; what stood there stays as ``NAME (before).xlsx``."""
    target = folder / written.name
    if target.exists():
        target.replace(target.with_name(f"{target.stem} (before){target.suffix}"))
    shutil.move(str(written), str(target))
    return target


def _property(name: str, value: Any) -> Any:
    import uno

    made = uno.createUnoStruct("com.sun.star.beans.PropertyValue")
    made.Name, made.Value = name, value
    return made


def helper() -> Any:
    """Return what LibreOffice makes the service by: a component that does an act when it is triggered."""
    import uno

    unohelper = import_module("unohelper")
    base = uno.getClass("com.sun.star.task.XJobExecutor")
    methods = {
        "__init__": lambda self, context: setattr(self, "button", Button(context)),
        "trigger": lambda self, name: self.button.act(name),
    }
    made = unohelper.ImplementationHelper()
    made.addImplementation(type("Component", (unohelper.Base, base), methods), SERVICE, ("com.sun.star.task.Job",))
    return made
