"""The house's rules: an import never climbs, and `import screenproof` is cheap."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "screenproof"

FLOORS = [
    {"errors"},
    {"spectra"},
    {"appearance"},
    {"additive", "subtractive"},
    {"proof", "imaging"},
    {"report", "jobs"},
    {"cli"},
]
FLOOR = {room: level for level, rooms in enumerate(FLOORS) for room in rooms}

HEAVY = ("colour", "cv2", "matplotlib", "numba", "scipy", "PIL", "pydantic", "jinja2", "rich", "tifffile", "numpy")


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
            assert room in ("jobs", "cli"), f"{path.name}: nobody below jobs imports formats"
        elif FLOOR[other] == FLOOR[room]:
            # Neighbours do not know each other, but that a job writes the page of its result.
            assert (room, other) == ("jobs", "report"), f"{path.name} imports {other}"
        else:
            assert FLOOR[other] < FLOOR[room], f"{path.name} imports {other}, which is above it"


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_modules_have_one_idea_in_at_most_420_lines(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 420


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
