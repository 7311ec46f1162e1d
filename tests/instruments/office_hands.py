"""A person's work in LibreOffice Calc over its UNO bridge, run by a Python that has `uno` (Debian's python3-uno).

One LibreOffice does what comes in, until there is no more: each line names two JSON files and is answered by another. The
first file is read, a list of jobs with `source`, `target` (blank where nothing is saved), `filter` (the kind to save as),
`secret` (a password or null) and `acts`, each a list of a verb, a sheet and what it takes: ``type`` place and value,
``insert`` or ``delete`` first row from 1 and how many, ``sort`` area, column from 0, ascending. ``recalculate`` and ``look``
take nothing. The second file gets, job by job, what each look saw: by sheet the rows of values.
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


def main() -> None:
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        pipe = f"bench{os.getpid()}"
        command = ["soffice", f"-env:UserInstallation={Path(profile).as_uri()}", "--headless", "--norestore"]
        command.append(f"--accept=pipe,name={pipe};urp;")
        with subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=sys.stderr) as office:
            try:
                desktop = desktop_of(pipe, office)
                for line in sys.stdin:
                    jobs, seen = map(Path, json.loads(line))
                    looks = [work(desktop, job) for job in json.loads(jobs.read_text(encoding="utf-8"))]
                    seen.write_text(json.dumps(looks), encoding="utf-8")
                    print("done", flush=True)
                desktop.terminate()
                office.wait(PATIENCE)
            finally:
                office.kill()


def desktop_of(pipe: str, office: subprocess.Popen[bytes]) -> Any:
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
            if time.monotonic() > end or office.poll() is not None:
                raise
            time.sleep(0.1)


def work(desktop: Any, job: dict[str, Any]) -> list[Any]:
    book = desktop.loadComponentFromURL(Path(job["source"]).as_uri(), "_blank", 0, settings(Hidden=True))
    seen: list[Any] = []
    try:
        for verb, *what in job["acts"]:
            if verb == "look":
                seen.append({sheet.Name: rows_of(sheet) for sheet in book.Sheets})
            elif verb == "recalculate":
                book.calculateAll()
            else:
                VERBS[verb](book.Sheets.getByName(what[0]), *what[1:])
        if job["target"]:
            book.storeToURL(Path(job["target"]).as_uri(), settings(FilterName=job["filter"], **locks(job)))
    finally:
        book.close(True)
    return seen


def rows_of(sheet: Any) -> list[list[Any]]:
    """Return the values of all rows in use: "" for what is blank, and an error as a list of its name."""
    cursor = sheet.createCursor()
    cursor.gotoEndOfUsedArea(False)
    end = cursor.RangeAddress
    data = sheet.getCellRangeByPosition(0, 0, end.EndColumn, end.EndRow).getDataArray()
    rows = [
        [[sheet.getCellByPosition(at, row).String] if value is None else value for at, value in enumerate(values)]
        for row, values in enumerate(data)
    ]
    for row, at in shown_as_truth(sheet):
        rows[row][at] = rows[row][at] if isinstance(rows[row][at], str) else bool(rows[row][at])
    return rows


def shown_as_truth(sheet: Any) -> list[tuple[int, int]]:
    """Return the cells that show TRUE or FALSE: as values they are the numbers 1 and 0."""
    sought = sheet.createSearchDescriptor()
    sought.SearchString, sought.SearchRegularExpression = "TRUE|FALSE", True
    sought.SearchWords, sought.SearchType = True, 1  # whole cells, by value
    found = sheet.findAll(sought)
    return [
        (row, at)
        for area in (found.RangeAddresses if found else ())
        for row in range(area.StartRow, area.EndRow + 1)
        for at in range(area.StartColumn, area.EndColumn + 1)
    ]


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
    main()
