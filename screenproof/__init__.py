"""Matches colours between displays, which add light, and inks, paints and dyes, which take light away.

>>> import screenproof as sp
>>> colours = sp.samples(["Tea green", "Slate"], lab=[[55, -38, 36], [43, -1, -6]])
>>> answer = sp.match(colours, display="display-p3", limit=1.0)
>>> answer.status
'pass'

Every question of the command line is here by its name (``sp.match``, ``sp.compare``, ``sp.press_predict``), and
takes names, files or things; its answer has arrays, ``.judged``, ``.findings()``, ``.to_dict()`` and
``.to_frame()``. What is behind a name is loaded when it is used. The rooms below are for those who go on building:
``screenproof.spectra``, ``appearance``, ``additive``, ``subtractive``, ``proof``, ``formats``.
"""

from __future__ import annotations

# As from typing, which would be half of what this module costs; type checkers take it for true.
TYPE_CHECKING = False

__version__ = "0.1.0"

_FACE = (
    "read", "light", "observer", "display", "samples", "delta_e", "inconstancy", "metamerism", "people",
    "fit_display", "fit_press", "recipe", "proof", "run",
)  # fmt: skip
_TYPES = {
    "InputError": "errors",
    "Note": "errors",
    "Samples": "spectra",
    "Light": "spectra",
    "Observer": "spectra",
    "Display": "additive",
    "Viewing": "proof",
    "ToleranceSet": "proof",
    "Judged": "proof",
    "Finding": "proof",
}

if TYPE_CHECKING:
    from typing import Any

    from screenproof.additive import Display as Display
    from screenproof.errors import InputError as InputError
    from screenproof.errors import Note as Note
    from screenproof.face import delta_e as delta_e
    from screenproof.face import display as display
    from screenproof.face import fit_display as fit_display
    from screenproof.face import fit_press as fit_press
    from screenproof.face import inconstancy as inconstancy
    from screenproof.face import light as light
    from screenproof.face import metamerism as metamerism
    from screenproof.face import observer as observer
    from screenproof.face import people as people
    from screenproof.face import proof as proof
    from screenproof.face import read as read
    from screenproof.face import recipe as recipe
    from screenproof.face import run as run
    from screenproof.face import samples as samples
    from screenproof.proof import Finding as Finding
    from screenproof.proof import Judged as Judged
    from screenproof.proof import ToleranceSet as ToleranceSet
    from screenproof.proof import Viewing as Viewing
    from screenproof.spectra import Light as Light
    from screenproof.spectra import Observer as Observer
    from screenproof.spectra import Samples as Samples


def _questions() -> dict[str, str]:
    """The questions by the names that they have in Python."""
    from screenproof.questions import questions

    return {name.replace(" ", "_").replace("-", "_"): name for name in questions()}


def __getattr__(name: str) -> Any:
    import importlib

    if name in _FACE:
        return getattr(importlib.import_module("screenproof.face"), name)
    if name in _TYPES:
        return getattr(importlib.import_module(f"screenproof.{_TYPES[name]}"), name)
    if not name.startswith("_") and name in (known := _questions()):
        return importlib.import_module("screenproof.face").asking(known[name])
    raise AttributeError(f"module 'screenproof' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*_FACE, *_TYPES, *_questions(), "__version__"})
