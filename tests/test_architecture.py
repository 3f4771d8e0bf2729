"""The house's rules: an import never climbs, and `import screenproof` is cheap."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "screenproof"

FLOORS = [
    {"errors", "english"},
    {"spectra"},
    {"appearance"},
    {"additive", "subtractive"},
    {"proof", "imaging"},
    {"report"},
    {"questions"},
    {"jobs"},
    {"cli"},
]
FLOOR = {room: level for level, rooms in enumerate(FLOORS) for room in rooms}

HEAVY = ("colour", "cv2", "matplotlib", "numba", "scipy", "PIL", "pydantic", "jinja2", "rich", "tifffile", "numpy")


# Modules that import each other. They are to be parted; an entry that no longer holds fails as well.
CIRCLES: set[frozenset[str]] = set()


def rooms_imported_by(path: Path) -> set[str]:
    """The rooms of screenproof that a module imports, anywhere in it."""
    rooms = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [node.module or ""]
            if node.module == "screenproof":
                names = [f"screenproof.{alias.name}" for alias in node.names]
        rooms |= {name.split(".")[1] for name in names if name.startswith("screenproof.")}
    return rooms


MODULES = sorted(path for path in PACKAGE.rglob("*.py") if path.parent != PACKAGE)


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_an_import_never_climbs(path):
    room = path.relative_to(PACKAGE).parts[0]
    for other in rooms_imported_by(path) - {room, "__version__"}:
        if room == "formats":
            # Formats stand beside: they know the types of the rooms up to additive and subtractive.
            assert FLOOR.get(other, 99) <= FLOOR["additive"], f"{path.name} imports {other}"
        elif other == "formats":
            assert room in ("questions", "jobs", "cli"), f"{path.name}: nobody below questions imports formats"
        else:
            # Neighbours do not know each other either.
            assert FLOOR[other] < FLOOR[room], f"{path.name} imports {other}, which is not below it"


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_modules_have_one_idea_in_at_most_600_lines(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 600


def test_no_two_public_classes_share_a_name():
    """A class is known by its name alone: whoever reads ``Readings`` need not ask of which room."""
    places: dict[str, list[str]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places.setdefault(node.name, []).append(path.relative_to(PACKAGE).as_posix())
    assert {name: files for name, files in places.items() if len(files) > 1} == {}


def named(path: Path) -> str:
    """A module's name, as an import writes it."""
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def modules_imported_by(tree: ast.AST, known: set[str]) -> set[str]:
    """Modules of the package that code imports, inside functions too; not those under TYPE_CHECKING."""
    found = set()
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test) in ("TYPE_CHECKING", "typing.TYPE_CHECKING"):
            for other in node.orelse:
                found |= modules_imported_by(ast.Module([other], []), known)
            continue
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names} & known
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0 and node.module, "imports are written in full"
            # A name that is a module is imported itself; of any other the module that has it.
            whole = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= (whole if whole <= known else {*whole, node.module}) & known
        found |= modules_imported_by(node, known)
    return found


def circles(imports: dict[str, set[str]]) -> set[frozenset[str]]:
    """Sets of modules of which each imports, over others of the set, every other."""

    def reached(start: str) -> set[str]:
        seen: set[str] = set()
        ahead = [start]
        while ahead:
            new = imports[ahead.pop()] - seen
            seen |= new
            ahead.extend(new)
        return seen

    reach = {module: reached(module) for module in imports}
    return {
        frozenset(other for other in reach[module] if module in reach[other])
        for module in imports
        if module in reach[module]
    }


def test_a_circle_is_found():
    chain = {"a": {"b"}, "b": {"c"}, "c": {"b", "d"}, "d": set()}
    assert circles(chain) == {frozenset("bc")}
    assert circles({"a": {"b"}, "b": set()}) == set()
    text = "import m.a\nif TYPE_CHECKING:\n    import m.b\ndef f():\n    from m import c\n    from m.d import x"
    known = {"m", "m.a", "m.b", "m.c", "m.d"}
    assert modules_imported_by(ast.parse(text), known) == {"m.a", "m.c", "m.d"}
    assert modules_imported_by(ast.parse("from m import c, other"), known) == {"m", "m.c"}


def test_no_modules_of_a_room_import_each_other_in_a_circle():
    """A module can be read, and tested, with those below it alone."""
    trees = {named(path): ast.parse(path.read_text(encoding="utf-8")) for path in MODULES}
    imports = {}
    for module, tree in trees.items():
        room = {other for other in trees if other.split(".")[1] == module.split(".")[1]}
        imports[module] = modules_imported_by(tree, room) - {module}
    assert circles(imports) == CIRCLES


@pytest.mark.parametrize("statement", ["import screenproof", "import screenproof.cli"])
def test_import_loads_nothing_heavy(statement):
    code = f"{statement}; import sys; print([m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_nothing_names_a_folder_of_one_machine():
    """No path of the machine on which a file was made: the project must be the same on every machine."""
    import re

    odd = re.compile(r"(?<![\w.])/(work|root|tmp|home)/")
    top = PACKAGE.parent
    files = [p for p in top.rglob("*") if p.suffix in {".py", ".md", ".toml", ".csv", ".txt", ".html", ".lock"}]
    for path in files:
        if not any(part.startswith(".") or part == "out" for part in path.relative_to(top).parts):
            found = odd.search(path.read_text(encoding="utf-8", errors="replace"))
            assert not found or path == Path(__file__), f"{path.name}: {found and found.group()}"
