"""A fresh job of the starter for each test."""

from __future__ import annotations

from pathlib import Path

import pytest

from screenproof.jobs.starter import new_job


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return new_job(tmp_path / "job")[0]
