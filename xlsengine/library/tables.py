"""The tables of a library: what was typed, what came before, and the kept figures, whose columns are declarations.

`entry` and `earlier` hold what nothing can give back: the typed inputs. The tables of kept figures are made from them
and are made again whenever a newer engine keeps more, or computes otherwise.
"""

from collections.abc import Mapping
from importlib.metadata import version

from sqlalchemy import Column, Double, Index, Integer, LargeBinary, MetaData, Table, Text

from xlsengine.bench.declaring.declare import Field
from xlsengine.library.kept import GROUP_COLUMNS, STEP_COLUMNS, TEST_COLUMNS, Declared

ENGINE = version("xlsengine")
MARKED = "library of bench tests, xlsengine"

BASE = MetaData()
KEPT = MetaData()

about = Table("xlsengine_about", BASE, Column("name", Text, primary_key=True), Column("value", Text, nullable=False))
"""What the library says of itself: `format`, `engine` and `kept`, the names of the figures in it."""


def _version_columns() -> list[Column[object]]:
    return [
        Column("test_id", Text),
        Column("model", Text),
        Column("input_hash", Text, nullable=False),
        Column("source", Text, nullable=False),
        Column("added", Text, nullable=False),
        Column("engine", Text, nullable=False),
        Column("inputs", LargeBinary, nullable=False),
    ]


entry = Table(
    "xlsengine_entry",
    BASE,
    Column("id", Integer, primary_key=True, autoincrement=True),
    Column("identity", Text, nullable=False, unique=True),
    *_version_columns(),
    sqlite_autoincrement=True,
)
"""One row a test that stands in the library; `identity` is its typed id and model, and `inputs` all that was typed."""
earlier = Table(
    "xlsengine_earlier",
    BASE,
    Column("version", Integer, primary_key=True, autoincrement=True),
    Column("entry", Integer, nullable=False, index=True),
    *_version_columns(),
    Column("ended", Text, nullable=False),
    Column("why", Text, nullable=False),
)
"""What stood there before: replaced by a changed workbook, or removed."""


def _columns(kept: Mapping[str, Declared]) -> list[Column[object]]:
    return [Column(name, Text if is_text(declared) else Double) for name, declared in kept.items()]


def is_text(declared: Declared) -> bool:
    """Tell whether a kept figure is text; dates are, written as in ISO 8601."""
    return declared.is_text or (isinstance(declared, Field) and declared.kind == "date")


test = Table(
    "xlsengine_test", KEPT, Column("id", Integer, primary_key=True, autoincrement=False), *_columns(TEST_COLUMNS)
)


def _of_tests(name: str, kept: Mapping[str, Declared]) -> Table:
    """Return a table with several rows a test, in their order."""
    place = (Column(key, Integer, primary_key=True) for key in ("test", "place"))
    return Table(name, KEPT, *place, *_columns(kept))


group = _of_tests("xlsengine_group", GROUP_COLUMNS)
step = _of_tests("xlsengine_step", STEP_COLUMNS)
Index("xlsengine_entry_inputs", entry.c.input_hash, unique=True)
Index("xlsengine_entry_named", entry.c.test_id)
Index("xlsengine_test_class", test.c.stator_diameter, test.c.stator_height, test.c.label_kv)
Index("xlsengine_group_pair", group.c.prop_key, group.c.cells)


def kept_names() -> str:
    """Return the names of everything that is kept, in one text: what a library is held against."""
    return " ".join(
        f"{table.name}:{','.join(sorted(column.name for column in table.c))}" for table in KEPT.sorted_tables
    )
