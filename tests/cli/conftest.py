"""A command line run in this process, and a folder with a starter job to run it on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from screenproof.cli import main
from screenproof.jobs.starter import colours_csv, new_job


@dataclass(frozen=True)
class Done:
    """How a command ended, and what it printed."""

    code: int
    out: str
    err: str


@pytest.fixture
def cli(capsys: pytest.CaptureFixture[str]) -> Callable[..., Done]:
    """Run a command line; its exit code, standard output and standard error."""

    def run(*arguments: object) -> Done:
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            main([str(argument) for argument in arguments])
        printed = capsys.readouterr()
        assert isinstance(ended.value.code, int)
        return Done(ended.value.code, printed.out, printed.err)

    return run


@pytest.fixture
def colours(tmp_path: Path) -> Path:
    """The starter's nine invented samples as a CSV file."""
    path = tmp_path / "colours.csv"
    path.write_text(colours_csv(), encoding="utf-8")
    return path


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A starter job, not run yet."""
    return new_job(tmp_path / "job")[0]
