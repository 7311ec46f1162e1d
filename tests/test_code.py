"""The rules of the code itself: format, lint, strict types, layers, docstrings, sizes."""

import ast
import importlib
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "xlsengine"
LAYERS = (
    ("errors", "sources", "units", "cautions", "glossary", "child"),
    ("text_operations",),
    ("operations",),
    ("computing", "aggregates"),
    ("expression",),
    ("words",),
    ("blanks",),
    ("formula",),
    ("bench",),
    ("study",),
    ("workbook",),
    ("library",),
    ("publish",),
    ("guide",),
    ("outcome",),
    ("jobs",),
    ("doors",),
    ("commands",),
    ("cli", "__main__", "__init__"),
)
ROOMS = "declaring inputs judging propagation physics checks groups uncertainty advice comparison boxes model"
"""The rooms of bench/: each knows itself and those before it."""
LONGEST_FILE = 400
LONGEST_FUNCTION = 40
MODULES = sorted(PACKAGE.rglob("*.py"))


@pytest.mark.parametrize(
    "command", [("ruff", "check", "."), ("ruff", "format", "--check", "."), ("mypy",)], ids=["lint", "format", "types"]
)
def test_tools_are_content(command: tuple[str, ...]) -> None:
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


def layer_of(module: str) -> int:
    """Return the place of a module such as ``xlsengine.bench.inputs.readings`` in the list of layers."""
    part = module.split(".")[1] if "." in module else "__init__"
    return next(place for place, names in enumerate(LAYERS) if part in names)


def imported(tree: ast.Module) -> Iterator[str]:
    """Yield every module of this package that a file imports."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("xlsengine"):
            yield str(node.module)
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name.startswith("xlsengine"))


@cache
def parsed(path: Path) -> ast.Module:
    """Return the syntax tree of a file."""
    return ast.parse(path.read_text())


def module_of(path: Path) -> str:
    """Return the dotted name of a file of the package."""
    return ".".join(("xlsengine", *path.relative_to(PACKAGE).with_suffix("").parts))


def test_imports_point_one_way() -> None:
    wrong = [
        (module_of(path), name)
        for path in MODULES
        for name in imported(parsed(path))
        if layer_of(name) > layer_of(module_of(path))
    ]
    assert wrong == []


WITH_FIELDS = [module_of(path) for path in MODULES if "__getattr__: Callable" in path.read_text()]


def asked_of(module: str, tree: ast.Module) -> Iterator[str]:
    """Yield the names that a file asks of a module of this package."""
    room, _, last = module.rpartition(".")
    imports = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    yield from (each.name for node in imports if node.module == module for each in node.names)
    known = {
        each.asname or each.name for node in imports if node.module == room for each in node.names if each.name == last
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in known:
            yield node.attr


@pytest.mark.parametrize("module", WITH_FIELDS)
def test_every_field_that_is_asked_for_is_declared(module: str) -> None:
    """A module's `__getattr__` finds the cells of fields; the type checker takes any name for one."""
    asked = {name for path in MODULES for name in asked_of(module, parsed(path))}
    assert asked
    assert [name for name in asked if not hasattr(importlib.import_module(module), name)] == []


def room_of(module: str) -> int:
    """Return the place of a module such as ``xlsengine.bench.inputs.wire`` in the list of rooms."""
    return ROOMS.split().index(module.split(".")[2])


def test_rooms_know_those_before_them() -> None:
    inside = [
        path for path in (PACKAGE / "bench").rglob("*.py") if path.parent != PACKAGE / "bench" or path.stem == "model"
    ]
    assert len(inside) > 50
    wrong = [
        (module_of(path), name)
        for path in inside
        for name in imported(parsed(path))
        if name.startswith("xlsengine.bench.") and room_of(name) > room_of(module_of(path))
    ]
    assert wrong == []


def functions(path: Path) -> Iterator[ast.FunctionDef]:
    """Yield every function and method of a file."""
    yield from (node for node in ast.walk(parsed(path)) if isinstance(node, ast.FunctionDef))


def public_functions(path: Path) -> Iterator[ast.FunctionDef]:
    """Yield the public functions of a file, and the public methods of its public classes."""
    tree = parsed(path)
    bodies = [tree.body, *(node.body for node in tree.body if isinstance(node, ast.ClassDef) and node.name[0] != "_")]
    for body in bodies:
        yield from (node for node in body if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"))


def test_files_and_functions_stay_short() -> None:
    assert MODULES
    lengths = {module_of(path): len(path.read_text().splitlines()) for path in MODULES}
    assert {module: length for module, length in lengths.items() if length > LONGEST_FILE} == {}
    long = [
        (module_of(path), function.name)
        for path in MODULES
        for function in functions(path)
        if (function.end_lineno or 0) - function.lineno > LONGEST_FUNCTION
    ]
    assert long == []


def raised_names(function: ast.FunctionDef) -> set[str]:
    """Return the names of the errors that a function raises itself."""
    found = set()
    for node in ast.walk(function):
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call) and isinstance(node.exc.func, ast.Name):
            found.add(node.exc.func.id)
    return found - {"TypeError", "AssertionError"}


def test_public_docstrings_name_their_errors() -> None:
    """All but the commands, whose docstrings are the help that a person reads."""
    silent = [
        (module_of(path), function.name, name)
        for path in MODULES
        if path.parent.name != "commands"
        for function in public_functions(path)
        for name in raised_names(function)
        if name not in (ast.get_docstring(function) or "")
    ]
    assert silent == []


SHAPE_WORDS = "array|arrays|column|columns|rows|row|values|readings|one for|shape|points"


def takes_arrays(function: ast.FunctionDef) -> bool:
    """Tell whether a function's signature speaks of arrays."""
    text = ast.unparse(function.args) + (ast.unparse(function.returns) if function.returns else "")
    return "Array" in text or "ndarray" in text


def test_numeric_docstrings_give_shapes() -> None:
    silent = [
        (module_of(path), function.name)
        for path in MODULES
        if "bench" in path.parts or path.parent.name == "study"
        for function in public_functions(path)
        if takes_arrays(function)
        if not any(word in (ast.get_docstring(function) or "") for word in SHAPE_WORDS.split("|"))
    ]
    assert silent == []


FIRST = ("xlsengine.bench.model", "xlsengine.jobs", "xlsengine.bench.advice.suits", "xlsengine.library.kept")


def test_columns_stand_in_one_order_whatever_is_imported_first() -> None:
    asked = "import sys, importlib; importlib.import_module(sys.argv[1]); from xlsengine.bench import model as m; "
    asked += "print([(n, list(t.columns)) for n, t in m.TABLES.items()], [list(g.quantities) for g in m.FIGURES])"
    said = {
        subprocess.run(
            [sys.executable, "-c", asked, first], cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout
        for first in FIRST
    }
    assert len(said) == 1
