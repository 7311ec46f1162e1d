"""A person's work in LibreOffice Calc over its UNO bridge, run by a Python that has `uno` (Debian's python3-uno).

Takes one argument, a JSON file: a list of jobs with `source`, `target`, `filter` (the kind to save as), `secret` (a
password or null) and `acts`, each a list of a verb, a sheet and what it takes:
``type`` place and value, ``insert`` or ``delete`` first row from 1 and how many, ``sort`` area, column from 0, ascending.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

PATIENCE = 60.0
"""Seconds that LibreOffice has to answer after its start."""


def main(jobs: list[dict[str, Any]]) -> None:
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        pipe = f"bench{os.getpid()}"
        command = ["soffice", f"-env:UserInstallation={Path(profile).as_uri()}", "--headless", "--norestore"]
        with subprocess.Popen([*command, f"--accept=pipe,name={pipe};urp;"], stdout=subprocess.DEVNULL) as office:
            try:
                desktop = desktop_of(pipe)
                for job in jobs:
                    work(desktop, job)
                desktop.terminate()
                office.wait(PATIENCE)
            finally:
                office.kill()


def desktop_of(pipe: str) -> Any:
    """Return LibreOffice's desktop, as soon as it answers."""
    import uno

    here = uno.getComponentContext()
    resolver = here.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", here)
    end = time.monotonic() + PATIENCE
    while True:
        try:
            there = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
            return there.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", there)
        except Exception:  # not there yet; UNO's own kind of error
            if time.monotonic() > end:
                raise
            time.sleep(0.1)


def work(desktop: Any, job: dict[str, Any]) -> None:
    book = desktop.loadComponentFromURL(Path(job["source"]).as_uri(), "_blank", 0, settings(Hidden=True))
    try:
        for verb, sheet, *what in job["acts"]:
            VERBS[verb](book.Sheets.getByName(sheet), *what)
        book.storeToURL(Path(job["target"]).as_uri(), settings(FilterName=job["filter"], **locks(job)))
    finally:
        book.close(True)


def locks(job: dict[str, Any]) -> dict[str, Any]:
    """Return how a file is saved under a password: Office Open XML takes it as a key of its own."""
    if not job["secret"]:
        return {}
    if not job["target"].endswith(".xlsx"):
        return {"Password": job["secret"]}
    import uno

    parts = {"CryptoType": "Standard", "OOXPassword": job["secret"]}
    key = tuple(named("NamedValue", name, value) for name, value in parts.items())
    return {"EncryptionData": uno.Any("[]com.sun.star.beans.NamedValue", key)}


def settings(**values: Any) -> tuple[Any, ...]:
    return tuple(named("PropertyValue", name, value) for name, value in values.items())


def named(kind: str, name: str, value: Any) -> Any:
    import uno

    made = uno.createUnoStruct(f"com.sun.star.beans.{kind}")
    made.Name, made.Value = name, value
    return made


def type_in(sheet: Any, place: str, value: float | str | None) -> None:
    cell = sheet.getCellRangeByName(place)
    if value is None or isinstance(value, str):
        cell.setString(value or "")
    else:
        cell.setValue(float(value))


def insert(sheet: Any, first: int, count: int) -> None:
    sheet.Rows.insertByIndex(first - 1, count)


def delete(sheet: Any, first: int, count: int) -> None:
    sheet.Rows.removeByIndex(first - 1, count)


def sort(sheet: Any, area: str, column: int, ascending: bool) -> None:
    import uno

    by = uno.createUnoStruct("com.sun.star.table.TableSortField")
    by.Field, by.IsAscending = column, ascending
    fields = uno.Any("[]com.sun.star.table.TableSortField", (by,))
    how = settings(SortFields=fields, ContainsHeader=False)
    sheet.getCellRangeByName(area).sort(how)


VERBS: dict[str, Callable[..., None]] = {"type": type_in, "insert": insert, "delete": delete, "sort": sort}

if __name__ == "__main__":
    main(json.loads(Path(sys.argv[1]).read_text(encoding="utf-8")))
