"""What all tests share: the published tables in shared/, and colour-science as a second opinion."""

from __future__ import annotations

import csv
import os
import sys
import warnings
from pathlib import Path
from types import ModuleType

import pytest

ONE_THREAD = os.environ.get("OPENBLAS_NUM_THREADS", "" if "numpy" in sys.modules else "1") == "1"
"""Whether BLAS adds up in one thread. Not where pytest has loaded numpy before, for its filters of warnings; its
workers (-n) inherit what is set here."""
# Several workers share the cores: a thread pool of each library in each worker would make them queue for them.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Many tests start the command line anew: where a machine forbids Python its cache, each would compile all of it.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

SHARED = Path(__file__).parents[1] / "shared"


def shared_rows(name: str) -> list[dict[str, str]]:
    """The rows of the published table shared/NAME.csv; lines that start with # are its source."""
    text = (SHARED / f"{name}.csv").read_text(encoding="utf-8-sig")
    return list(csv.DictReader(line for line in text.splitlines() if line and not line.startswith("#")))


@pytest.fixture(scope="session")
def published():
    """A function: the rows of a table in shared/, by its name without suffix."""
    return shared_rows


@pytest.fixture(scope="session")
def colour() -> ModuleType:
    """colour-science, imported with its warnings about optional packages left out."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour as module
    return module
