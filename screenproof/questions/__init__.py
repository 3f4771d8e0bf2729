"""One folder for each thing that a user can ask: question, answer, findings, figure, its piece of the page.

A folder is found by itself: its module ``question`` holds one :class:`~screenproof.questions.question.Question` or
more, and from them come commands, job tables, Python calls and the reference.
"""

from __future__ import annotations

import importlib
import pkgutil
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from screenproof.questions.question import Question

ORDER = (
    "match", "gamut", "shift", "compare", "people", "approve", "brightener", "blend", "overprint", "press",
    "printable", "recipe", "screen", "light", "room",
)  # fmt: skip
"""In which order folders are shown; others come after them by their names."""


@lru_cache(maxsize=1)
def questions() -> dict[str, type[Question]]:
    """Every question by its name."""
    from screenproof.questions.question import Question

    folders = [one.name for one in pkgutil.iter_modules(__path__) if one.ispkg]
    folders.sort(key=lambda name: (ORDER.index(name) if name in ORDER else len(ORDER), name))
    found: dict[str, type[Question]] = {}
    for folder in folders:
        module = importlib.import_module(f"{__name__}.{folder}.question")
        for one in vars(module).values():
            if isinstance(one, type) and issubclass(one, Question) and one.__module__ == module.__name__:
                found[one.name] = one
    return found
