"""Jobs: a job file and its inputs, its run, and the folder that it writes; the answers of the direct commands.

What a name stands for is imported when it is first asked for: a direct command needs no page and no schema.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from screenproof.jobs.job import Job as Job
    from screenproof.jobs.load import load_job as load_job
    from screenproof.jobs.outputs import check_outputs as check_outputs
    from screenproof.jobs.outputs import write_outputs as write_outputs
    from screenproof.jobs.run import run_job as run_job
    from screenproof.jobs.starter import new_job as new_job

_HOME = {
    "Job": "job",
    "check_outputs": "outputs",
    "load_job": "load",
    "new_job": "starter",
    "run_job": "run",
    "write_outputs": "outputs",
}

__all__ = sorted(_HOME)


def __getattr__(name: str) -> Any:
    home = _HOME.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(importlib.import_module(f"{__name__}.{home}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOME])
