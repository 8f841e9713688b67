"""Rules of the house for the package, which no general tool checks; each is shown to catch a bad sample."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "costmodel"
LONGEST_MODULE = 400
UNIT_FACTORS = {60.0, 3600.0, 1000.0, 0.001, 25.4, 0.0254}
REDUCTIONS = {"sum", "mean", "min", "max", "prod", "median", "average", "amin", "amax", "item"}


def python_files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*.py") if "__pycache__" not in path.parts)


def in_files(rule: object, files: list[Path]) -> list[str]:
    """The faults that a rule finds in the syntax tree of each file, with their place."""
    assert callable(rule)
    return [
        f"{path.relative_to(ROOT)}:{line}: {fault}"
        for path in files
        for line, fault in rule(ast.parse(path.read_text(encoding="utf-8")))
    ]


def in_sample(rule: object, text: str) -> list[str]:
    assert callable(rule)
    return [fault for _, fault in rule(ast.parse(text))]


Faults = Iterator[tuple[int, str]]


# --- formulas broadcast ------------------------------------------------------------------------------


def annotations(function: ast.FunctionDef) -> dict[str, str]:
    """The annotation of each parameter; one without may be anything, so draws too."""
    arguments = (*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs)
    return {it.arg: ast.unparse(it.annotation) if it.annotation else "Number" for it in arguments}


def knows_draws(function: ast.FunctionDef, classes: dict[str, str]) -> bool:
    """Whether a Number goes in or comes out. What takes logged data to plain numbers meets no draws."""
    returned = ast.unparse(function.returns) if function.returns else ""
    return any(
        "Number" in text for text in (*annotations(function).values(), returned, classes.get(returned, ""))
    )


def whole_names(function: ast.FunctionDef) -> set[str]:
    """Names that hold whole numbers: by annotation, as counters of loops, or calculated from such."""
    found = {name for name, text in annotations(function).items() if text == "int"}
    for node in ast.walk(function):
        if isinstance(node, ast.For | ast.comprehension) and isinstance(node.iter, ast.Call):
            iterator = ast.unparse(node.iter.func)
            target = node.target.elts[0] if isinstance(node.target, ast.Tuple) else node.target
            if iterator in ("range", "enumerate") and isinstance(target, ast.Name):
                found.add(target.id)
        elif isinstance(node, ast.Assign) and is_whole(node.value, found):
            found |= {target.id for target in node.targets if isinstance(target, ast.Name)}
    return found


def is_whole(node: ast.expr, whole: set[str]) -> bool:
    if isinstance(node, ast.Constant):
        return isinstance(node.value, int)
    if isinstance(node, ast.Call):
        return isinstance(node.func, ast.Name) and node.func.id == "len"
    if isinstance(node, ast.BinOp):
        return not isinstance(node.op, ast.Div) and is_whole(node.left, whole) and is_whole(node.right, whole)
    return isinstance(node, ast.Name) and (node.id in whole or node.id.isupper())


def scalar_only(tree: ast.Module) -> Faults:
    """What works on one number and fails, or reduces, where draws come in."""
    for node in ast.walk(tree):
        imported = [it.name for it in node.names] if isinstance(node, ast.Import) else []
        if "math" in (*imported, getattr(node, "module", "")):
            yield getattr(node, "lineno", 0), "math takes no arrays"
    classes = {node.name: ast.unparse(node) for node in tree.body if isinstance(node, ast.ClassDef)}
    for function in (node for node in tree.body if isinstance(node, ast.FunctionDef)):
        if knows_draws(function, classes):
            whole = whole_names(function)
            for call in calls(function):
                if fault := call_fault(call, whole):
                    yield call.lineno, fault


def calls(node: ast.AST) -> Iterator[ast.Call]:
    """All calls below a node but those that only say how often a loop runs."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Call):
            if ast.unparse(child.func) == "range":
                continue
            yield child
        yield from calls(child)


def call_fault(call: ast.Call, whole: set[str]) -> str:
    name = call.func.attr if isinstance(call.func, ast.Attribute) else ast.unparse(call.func)
    if isinstance(call.func, ast.Attribute):
        named_axis = any(keyword.arg == "axis" for keyword in call.keywords)
        return f".{name}() reduces the draws" if name in REDUCTIONS and not named_axis else ""
    if name in ("min", "max", "float", "int") and not all(is_whole(it, whole) for it in call.args):
        return f"{name}() takes no arrays"
    if name == "sum" and not isinstance(call.args[0], ast.GeneratorExp):
        return "sum() of anything but the items of a loop reduces the draws"
    return "isinstance() asks whether a number is an array" if name == "isinstance" else ""


def formula_files() -> list[Path]:
    return [path for path in python_files(PACKAGE / "formulas") if not path.name.startswith("_")]


def test_formulas_take_arrays() -> None:
    found = in_files(scalar_only, formula_files())
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "text",
    [
        "import math",
        "from math import pi",
        "def f(a, b): return min(a, b)",
        "def f(a): return max(0, a)",
        "def f(a): return float(a)",
        "def f(a): return int(a)",
        "def f(a): return sum(a)",
        "def f(a): return a if isinstance(a, float) else a",
        "def f(a): return a.sum()",
        "def f(a): return np.mean(a)",
        "def f(log: Series) -> Number: return np.mean(log)",
        "class Mean(NamedTuple):\n    share: Number\ndef f(log: Series) -> Mean: return Mean(log.mean())",
        "def f(a, b: int): return max(b, a)",
    ],
)
def test_a_scalar_only_formula_is_caught(text: str) -> None:
    assert len(in_sample(scalar_only, text)) == 1


@pytest.mark.parametrize(
    "text",
    [
        "def f(a, b): return np.minimum(a, b)",
        "def f(teeth: int, a): return a * max(1, teeth)",
        "def f(stages): return max(len(stages), 1)",
        "def f(stages, share): return sum(share * stage for stage in stages)",
        "def f(months: int): return float(months)",
        "TERMS = 7\ndef f(a): return a + float(TERMS)",
        "def f(points): return np.sum(points, axis=0)",
        "def f(first: int, last: int, a):\n    months = last - first + 1\n    return a * float(months)",
        "def f(count):\n    for step in range(int(np.max(count))): count = count + step\n    return count",
        "def f(log: Series) -> float: return float(np.mean(log))",
    ],
)
def test_a_formula_over_whole_counts_and_stages_passes(text: str) -> None:
    assert in_sample(scalar_only, text) == []


# --- one mechanism, one place for units --------------------------------------------------------------


def copies_a_record(tree: ast.Module) -> Faults:
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr == "model_copy":
            yield node.lineno, "model_copy checks nothing: use with_inputs"


def copiers(folder: Path) -> set[str]:
    """The modules of a folder that copy records unchecked."""
    trees = {
        path.relative_to(folder).as_posix(): ast.parse(path.read_text()) for path in python_files(folder)
    }
    return {name for name, tree in trees.items() if any(True for _ in copies_a_record(tree))}


def test_records_are_copied_in_one_place() -> None:
    found = copiers(PACKAGE)
    assert len(found) <= 1, found
    assert all(name.startswith("records/") for name in found), found


def test_a_copied_record_is_caught(tmp_path: Path) -> None:
    (tmp_path / "records").mkdir()
    for name in ("part_cost.py", "records/study.py"):
        (tmp_path / name).write_text("new = part.model_copy(update={'mass': -5})\n")
    (tmp_path / "supply.py").write_text("new = part.with_inputs({'mass': 5})\n")
    assert copiers(tmp_path) == {"part_cost.py", "records/study.py"}


def unit_factor(tree: ast.Module) -> Faults:
    """A written factor between units in a product or quotient, unless it defines a named constant."""
    named: set[ast.AST] = set()
    for statement in tree.body:
        targets = statement.targets if isinstance(statement, ast.Assign) else []
        if isinstance(statement, ast.AnnAssign):
            targets = [statement.target]
        if targets and all(isinstance(it, ast.Name) and it.id.isupper() for it in targets):
            named |= set(ast.walk(statement))
    for node in ast.walk(tree):
        if isinstance(node, ast.BinOp | ast.AugAssign) and isinstance(
            node.op, ast.Mult | ast.Div | ast.FloorDiv
        ):
            sides = (node.left, node.right) if isinstance(node, ast.BinOp) else (node.value,)
            values = [side.value for side in sides if isinstance(side, ast.Constant)]
            written = [it for it in values if isinstance(it, int | float) and float(it) in UNIT_FACTORS]
            if written and node not in named:
                yield (
                    node.lineno,
                    f"{written[0]} converts a unit: units.py does that, or a named constant of a formula",
                )


def named_unit_factor(tree: ast.Module) -> Faults:
    """A named constant that holds a factor between units, which only formulas may define."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign | ast.AnnAssign) and isinstance(node.value, ast.Constant):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names = [it.id for it in targets if isinstance(it, ast.Name) and it.id.isupper()]
            if names and "_PER_" in names[0] and node.value.value in UNIT_FACTORS:
                yield node.lineno, f"{names[0]} belongs in the formulas"


def other_than_units() -> list[Path]:
    return [path for path in python_files(PACKAGE) if path != PACKAGE / "units.py"]


def test_units_are_converted_in_one_place() -> None:
    outside = [path for path in other_than_units() if PACKAGE / "formulas" not in path.parents]
    found = in_files(unit_factor, other_than_units()) + in_files(named_unit_factor, outside)
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "text", ["hours = minutes / 60.0", "mm = 25.4 * inches", "def f(v): return 1000 * v", "time *= 60"]
)
def test_a_written_unit_factor_is_caught(text: str) -> None:
    assert len(in_sample(unit_factor, text)) == 1


def test_a_named_unit_factor_passes_in_formulas_only() -> None:
    text = "MM_PER_M = 1000.0\nMINUTES_PER_DAY = 24 * 60\ndef f(v):\n    return MM_PER_M * v"
    assert in_sample(unit_factor, text) == []
    assert in_sample(named_unit_factor, text) == ["MM_PER_M belongs in the formulas"]


# --- readable ----------------------------------------------------------------------------------------


def too_long(folder: Path) -> list[str]:
    lengths = {path.name: len(path.read_text(encoding="utf-8").splitlines()) for path in python_files(folder)}
    return [f"{name}: {length} lines" for name, length in lengths.items() if length >= LONGEST_MODULE]


def test_modules_are_short() -> None:
    assert too_long(PACKAGE) == []


def test_a_long_module_is_caught(tmp_path: Path) -> None:
    (tmp_path / "short.py").write_text("a = 1\n" * (LONGEST_MODULE - 1))
    (tmp_path / "long.py").write_text("a = 1\n" * LONGEST_MODULE)
    assert too_long(tmp_path) == [f"long.py: {LONGEST_MODULE} lines"]


def undocumented(tree: ast.Module) -> Faults:
    """Public modules, classes, functions, methods without a docstring; a property's name may speak for it."""
    if not ast.get_docstring(tree):
        yield 1, "the module has no docstring"
    nodes: list[ast.stmt] = list(tree.body)
    nodes += [
        item for node in tree.body if is_public(node, ast.ClassDef) for item in getattr(node, "body", ())
    ]
    for node in nodes:
        if is_public(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) and not speaks(node):
            yield node.lineno, f"{getattr(node, 'name', '')} has no docstring"


def is_public(node: ast.stmt, kinds: object) -> bool:
    return isinstance(node, kinds) and not getattr(node, "name", "_").startswith("_")  # type: ignore[arg-type]


def speaks(node: ast.stmt) -> bool:
    decorators = {ast.unparse(it).rpartition(".")[2] for it in getattr(node, "decorator_list", ())}
    return bool(
        ast.get_docstring(node) or decorators & {"property", "cached_property", "overload", "override"}
    )  # type: ignore[arg-type]


def test_everything_public_has_a_docstring() -> None:
    found = in_files(undocumented, python_files(PACKAGE))
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "text",
    [
        "a = 1",
        '"""Module."""\ndef f(): pass',
        '"""Module."""\nclass A: pass',
        '"""Module."""\nclass A:\n    """A."""\n    def f(self): pass',
    ],
)
def test_a_missing_docstring_is_caught(text: str) -> None:
    assert len(in_sample(undocumented, text)) == 1


def test_private_names_and_properties_may_be_bare() -> None:
    text = '"""M."""\ndef _f(): pass\nclass A:\n    """A."""\n'
    text += "    def __len__(self): pass\n    @property\n    def x(self): pass"
    assert in_sample(undocumented, text) == []
