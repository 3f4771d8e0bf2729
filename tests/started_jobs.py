"""The starter's job with its text changed, as the tests of people and of doubt need it."""

from __future__ import annotations

from pathlib import Path

from screenproof.jobs import load_job, run_job


def changed(job: Path, *swaps: tuple[str, str], more: str = "") -> Path:
    """The job with pieces of its text replaced, each of which must be there, and tables added."""
    text = job.read_text(encoding="utf-8")
    for old, new in swaps:
        assert old in text, old
        text = text.replace(old, new)
    job.write_text(text + more, encoding="utf-8")
    return job


def run(job: Path):
    return run_job(load_job(job))
