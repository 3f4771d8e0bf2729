"""What a command costs before it works: the libraries that it loads, and its time."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

HEAVY = ("numpy", "scipy", "numba", "matplotlib", "pydantic", "jinja2", "PIL", "cv2", "colour", "tifffile", "rich")


def loaded_by(code: str) -> list[str]:
    """The heavy libraries that are loaded when ``code`` has run in a new process."""
    script = f"import sys\ntry:\n    {code}\nexcept SystemExit:\n    pass\n"
    script += f"print('LOADED', [name for name in {HEAVY!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    return eval(done.stdout.splitlines()[-1].removeprefix("LOADED "))


@pytest.mark.parametrize("arguments", [["--help"], ["--version"]], ids=" ".join)
def test_help_loads_nothing_heavy(arguments):
    assert loaded_by(f"from screenproof.cli import main; main({arguments!r})") == []


# Typer itself asks pydantic to make sense of a command's options.
@pytest.mark.parametrize("command", [["match"], ["shift"], ["run"], ["display"], ["display", "fit"]], ids=" ".join)
def test_help_on_a_command_loads_no_room(command):
    call = [*command, "--help"]
    assert set(loaded_by(f"from screenproof.cli import main; main({call!r})")) <= {"pydantic"}


def test_a_list_of_observers_loads_no_plotting():
    found = loaded_by("from screenproof.cli import main; main(['observers'])")
    assert set(found) <= {"numpy", "pydantic"}


def test_a_match_loads_neither_plotting_nor_page(colours):
    call = ["match", str(colours), "--display", "srgb"]
    assert not {"matplotlib", "jinja2", "numba", "colour", "rich"} & set(
        loaded_by(f"from screenproof.cli import main; main({call!r})")
    )


def best_seconds(*arguments: str) -> float:
    """Processor time of the fastest of three whole processes: other work on the machine is not in it."""
    times = []
    for _ in range(3):
        before = os.times()
        subprocess.run([sys.executable, "-m", "screenproof", *arguments], capture_output=True, check=True)
        after = os.times()
        times.append(after.children_user - before.children_user + after.children_system - before.children_system)
    assert max(times) > 0.0
    return min(times)


def test_help_takes_less_than_300_ms():
    assert best_seconds("--help") < 0.3


def test_a_match_of_24_samples_takes_less_than_2_s(tmp_path):
    from screenproof.jobs.starter import colours_csv

    *comments, header = [line for line in colours_csv().splitlines() if line.startswith(("#", "name"))]
    body = [line for line in colours_csv().splitlines() if not line.startswith(("#", "name", '"'))]
    rows = [f"{turn} {line}" for turn in range(3) for line in body]
    path = tmp_path / "many.csv"
    path.write_text("\n".join([*comments, header, *rows]) + "\n", encoding="utf-8")
    assert len(rows) == 24
    assert best_seconds("match", str(path), "--display", "srgb", "--light", "D50", "--json") < 2.0
