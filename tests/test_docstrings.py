"""Every public formula says what it takes, in which unit, what it gives, where it stops and who says so."""

from __future__ import annotations

import ast
import inspect
import itertools
import re
from pathlib import Path

import pytest

FORMULAS = Path(__file__).parent.parent / "costmodel" / "formulas"
UNIT = re.compile(r"\[[^\[\]\n]+\]")
NUMERIC = re.compile(r"\b(Number|float|int|NDArray|Series)\b")
Sections = dict[str, list[str]]
Function = ast.FunctionDef


def modules(folder: Path) -> dict[str, ast.Module]:
    """The parsed modules of a folder by name."""
    return {path.stem: ast.parse(path.read_text(encoding="utf-8")) for path in sorted(folder.glob("*.py"))}


def functions(tree: ast.Module) -> dict[str, Function]:
    return {node.name: node for node in tree.body if isinstance(node, Function)}


def sections(docstring: str) -> Sections:
    """The lines below each underlined heading; what stands before the first is under ""."""
    found: Sections = {"": []}
    name = ""
    lines = [*inspect.cleandoc(docstring).splitlines(), ""]
    for line, following in itertools.pairwise(lines):
        if re.fullmatch(r"-{3,}", following) and line.strip():
            name = line.strip()
            found[name] = []
        elif not re.fullmatch(r"-{3,}", line):
            found[name].append(line)
    return found


def entries(lines: list[str]) -> dict[str, str]:
    """Entry names of a section, each with the indented text below it."""
    found: dict[str, str] = {}
    name = ""
    for line in lines:
        if line and not line.startswith(" "):
            name = line.strip()
            found[name] = ""
        elif line.strip():
            found[name] = f"{found[name]} {line.strip()}".strip()
    return found


def parameters(function: Function) -> list[str]:
    arguments = function.args
    return [argument.arg for argument in (*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs)]


def called(function: Function) -> set[str]:
    names = {node.func for node in ast.walk(function) if isinstance(node, ast.Call)}
    return {getattr(name, "id", None) or getattr(name, "attr", "") for name in names}


def raises_itself(function: Function) -> bool:
    raised = (node.exc for node in ast.walk(function) if isinstance(node, ast.Raise) and node.exc)
    return any("LimitError" in ast.unparse(exception) for exception in raised)


def limited(trees: dict[str, ast.Module]) -> set[str]:
    """Names of the functions that raise LimitError, by themselves or through another formula."""
    everything = {name: function for tree in trees.values() for name, function in functions(tree).items()}
    found = {name for name, function in everything.items() if raises_itself(function)}
    while more := {name for name, function in everything.items() if called(function) & found} - found:
        found |= more
    return found


def result_tables(trees: dict[str, ast.Module]) -> dict[str, ast.ClassDef]:
    """The NamedTuple classes, which are results of several values."""
    return {
        node.name: node
        for tree in trees.values()
        for node in tree.body
        if isinstance(node, ast.ClassDef)
        and "NamedTuple" in {ast.unparse(base).rpartition(".")[2] for base in node.bases}
    }


def table_faults(table: ast.ClassDef) -> list[str]:
    """Whether fewer units than numeric fields stand in the docstring and in the texts below the fields."""
    texts = [node for node in table.body if isinstance(node, ast.Expr)]
    units = [unit for text in texts for unit in UNIT.findall(ast.unparse(text))]
    fields = [node for node in table.body if isinstance(node, ast.AnnAssign)]
    numeric = [field for field in fields if NUMERIC.search(ast.unparse(field.annotation))]
    if any(re.search(r"\b(?:every field|each) in \[", ast.unparse(text)) for text in texts):
        return []
    missing = len(numeric) - len(units)
    return [f"{table.name}: {missing} fields without a unit"] if missing > 0 else []


def faults(function: Function, may_raise: set[str], tables: dict[str, ast.ClassDef]) -> list[str]:
    """What the docstring of a public formula lacks."""
    parts = sections(ast.get_docstring(function) or "")
    listed = entries(parts.get("Parameters", []))
    result = " ".join(parts.get("Returns", []))
    found = []
    if not parts[""] or not parts[""][0].endswith("."):
        found.append("the first line is no sentence")
    if list(listed) != parameters(function):
        found.append(f"lists {list(listed)}, takes {parameters(function)}")
    found += [f"no unit for {name}" for name, text in listed.items() if not UNIT.search(text)]
    returned = ast.unparse(function.returns) if function.returns else ""
    if not result.strip() or not (UNIT.search(result) or returned in tables):
        found.append("no unit for the result")
    if function.name in may_raise and not any("LimitError" in line for line in parts.get("Raises", [])):
        found.append("raises LimitError and does not say so")
    if not "".join(parts.get("References", [])).strip():
        found.append("names no source")
    return [f"{function.name}: {fault}" for fault in found]


def package_faults(folder: Path) -> list[str]:
    """Faults of all public formulas and results of a folder."""
    trees = modules(folder)
    may_raise, tables = limited(trees), result_tables(trees)
    found = []
    for module, tree in trees.items():
        for name, function in functions(tree).items():
            if not module.startswith("_") and not name.startswith("_"):
                found += [f"{module}.{fault}" for fault in faults(function, may_raise, tables)]
        for name, table in result_tables({module: tree}).items():
            if not module.startswith("_") and not name.startswith("_"):
                found += [f"{module}.{fault}" for fault in table_faults(table)]
    return found


def test_every_public_formula_states_units_limits_and_source() -> None:
    found = package_faults(FORMULAS)
    assert not found, "\n".join(found)


GOOD = '''
class Fit(NamedTuple):
    """A line: its `slope` [mm/min] and `start` [mm]."""
    slope: Number
    start: Number
    length: Number
    """Distance covered [mm]."""
    closed: bool

def _check(width):
    positive(width=width)

def area(width: Number, *, height: Number) -> Number:
    """Area of a rectangle.

    a = w h

    Parameters
    ----------
    width
        Short side [mm], > 0.
    height
        Long side,
        measured along the edge [mm].

    Returns
    -------
    Number
        Area [mm2].

    Raises
    ------
    LimitError
        A side that is not positive.

    References
    ----------
    Euclid, Elements, book 1, proposition 35.
    """
    _check(width)
    return width * height

def fit(values: Number) -> Fit:
    """Straight line through points.

    Parameters
    ----------
    values
        Measured places [mm].

    Returns
    -------
    Fit
        Slope and start.

    References
    ----------
    Legendre, Nouvelles methodes, 1805, appendix.
    """
    return Fit(values, values, values, False)
'''

LIMITS = "def positive(**values):\n    raise LimitError('a', 1, 'b')\n"


def sample_faults(folder: Path, text: str) -> list[str]:
    (folder / "_limits.py").write_text(LIMITS)
    (folder / "sample.py").write_text(text)
    return package_faults(folder)


def test_a_complete_docstring_passes(tmp_path: Path) -> None:
    assert sample_faults(tmp_path, GOOD) == []


@pytest.mark.parametrize(
    ("good", "bad", "message"),
    [
        ("Area of a rectangle.", "Area of a rectangle", "area: the first line is no sentence"),
        ("    height\n", "    tall\n", "area: lists ['width', 'tall'], takes ['width', 'height']"),
        (
            "(width: Number, *, height: Number)",
            "(height: Number, width: Number)",
            "takes ['height', 'width']",
        ),
        ("(width: Number,", "(depth: Number, width: Number,", "takes ['depth', 'width', 'height']"),
        ("Short side [mm]", "Short side", "area: no unit for width"),
        ("Area [mm2].", "Area.", "area: no unit for the result"),
        ("Returns\n    -------\n    Number\n        Area [mm2].\n", "", "area: no unit for the result"),
        (
            "Raises\n    ------\n    LimitError\n        A side that is not positive.\n",
            "",
            "area: raises LimitError",
        ),
        ("Euclid, Elements, book 1, proposition 35.", "", "area: names no source"),
        ("`slope` [mm/min] and", "`slope` and", "Fit: 1 fields without a unit"),
        ("and `start` [mm]", "and more", "Fit: 1 fields without a unit"),
        ("Distance covered [mm].", "Distance covered.", "Fit: 1 fields without a unit"),
    ],
)
def test_an_incomplete_docstring_is_caught(tmp_path: Path, good: str, bad: str, message: str) -> None:
    assert good in GOOD
    found = sample_faults(tmp_path, GOOD.replace(good, bad, 1))
    assert any(message in fault for fault in found), found


def test_a_function_without_docstring_is_caught(tmp_path: Path) -> None:
    assert "sample.bare: names no source" in sample_faults(tmp_path, "def bare(width):\n    return width\n")
