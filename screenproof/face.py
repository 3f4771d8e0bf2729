"""The public face: a few functions that take names, files or things, and every question by its name.

``import screenproof as sp`` finds these, and loads what they need when one is called.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from screenproof.errors import InputError, bad

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from screenproof.additive import Display
    from screenproof.questions.answer import Answer
    from screenproof.questions.form import DisplayLike, LightLike, ObserverLike, SamplesLike
    from screenproof.questions.opening import Open
    from screenproof.questions.proof import Proof
    from screenproof.questions.question import Question
    from screenproof.spectra import Array, Light, Observer, Samples


def read(path: str | Path) -> Any:
    """What is in a file: samples, a light (or several), an observer, readings of a screen, a display, a press.

    Raises InputError for a file that is none of these, or damaged.
    """
    from screenproof import formats
    from screenproof.questions.sources import existing_file

    place = existing_file(str(path))
    if formats.is_press(place):
        return formats.read_press(place)
    kind = formats.inspect_file(place).kind
    if kind in ("light", "lights"):
        lights = formats.read_lights(place)[0]
        return lights[0] if len(lights) == 1 else list(lights)
    readers: dict[str, Callable[[Path], Any]] = {
        "camera": formats.read_camera,
        "display readings": formats.read_readings,
        "ICC profile": formats.read_profile,
    }
    return readers.get(kind, formats.read_samples)(place)


def light(named: LightLike) -> Light:
    """A light by its name (D50, A, FL11, D5000K, P3200K) or file."""
    return _open().light(named)


def observer(named: ObserverLike) -> Observer:
    """An observer by its name (cie1931, age=60,field=2) or file."""
    return _open().observer(named)


def display(
    named: DisplayLike = "srgb",
    *,
    curve: str | None = None,
    luminance: float | None = None,
    black: float | None = None,
) -> Display:
    """A display by its name (display-p3, rgb-oled) or file; luminance and black in cd/m2."""
    return _open().plain_display(named, curve=curve, luminance=luminance, black=black)


def samples(
    names: Sequence[str],
    *,
    reflectance: ArrayLike | None = None,
    wavelengths: ArrayLike | None = None,
    lab: ArrayLike | None = None,
    xyz: ArrayLike | None = None,
    light: LightLike = "D50",
    observer: ObserverLike = "cie1931",
) -> Samples:
    """Samples from numbers: reflectance factors (n, w) 0..1 at wavelengths (w,) in nm, or Lab or XYZ (n, 3).

    Lab is relative to the white of ``light``; XYZ has the perfect diffuser at Y = 100. Raises InputError for none
    or several of them, and for shapes that do not fit.
    """
    import numpy as np

    from screenproof.appearance import lab_to_xyz
    from screenproof.spectra import Colorimetry, Grid, Samples, white_point

    given = [key for key, value in (("reflectance", reflectance), ("lab", lab), ("xyz", xyz)) if value is not None]
    if len(given) != 1:
        said = " and ".join(given) if given else "none of them"
        raise bad(f"{said} given", expected="exactly one of reflectance, lab, xyz")
    if reflectance is not None:
        if wavelengths is None:
            raise bad("reflectances without their wavelengths", field="wavelengths", mend="give them in nm")
        return Samples(
            tuple(names), np.atleast_2d(np.asarray(reflectance, float)), Grid.of(np.asarray(wavelengths))
        )
    lamp, eye = _open().light(light), _open().observer(observer)
    values = np.atleast_2d(np.asarray(lab if xyz is None else xyz, dtype=np.float64))
    found = values if lab is None else np.asarray(lab_to_xyz(values, white_point(lamp, eye)))
    return Samples(tuple(names), colorimetry=Colorimetry(found, lamp.name, eye.name))


def delta_e(lab_a: ArrayLike, lab_b: ArrayLike, method: str = "de00") -> Array:
    """Differences (...) of Lab (..., 3) from Lab (..., 3), the first the reference: de00 (CIEDE2000), deab or cmc
    (2:1)."""
    import numpy as np

    from screenproof import appearance
    from screenproof.errors import did_you_mean

    methods: dict[str, Callable[..., Any]] = {
        "de00": appearance.de2000,
        "deab": appearance.de76,
        "cmc": appearance.de_cmc,
    }
    if method not in methods:
        mend = did_you_mean(method, methods)
        raise bad(f"no difference is called {method!r}", field="method", expected=", ".join(methods), mend=mend)
    return np.asarray(methods[method](lab_a, lab_b))


def inconstancy(samples: SamplesLike, **asked: Any) -> Answer:
    """Colour inconstancy: how far each sample moves when the light changes. Keywords are those of ``shift``."""
    made: Answer = asking("shift")(samples, **asked)
    return made


def metamerism(a: SamplesLike, b: SamplesLike, **asked: Any) -> Answer:
    """The metamerism index (change in illuminant) of pairs that match in the first light; keywords of
    ``shift``."""
    made: Answer = asking("shift")(a, against=b, **asked)
    return made


def people(samples: SamplesLike, display: DisplayLike = "srgb", population: int = 200, **asked: Any) -> Answer:
    """What many people see of each sample beside the screen. Keywords are those of ``match``."""
    made: Answer = asking("match")(samples, display=display, population=population, **asked)
    return made


def fit_display(readings: Any, **asked: Any) -> Answer:
    """A display fitted to readings; ``.fitted`` is the display. Keywords are those of ``display fit``."""
    made: Answer = asking("display fit")(readings, **asked)
    return made


def fit_press(characterisation: SamplesLike, **asked: Any) -> Answer:
    """A press fitted to a characterisation; ``.press`` is the press. Keywords are those of ``press fit``."""
    made: Answer = asking("press fit")(characterisation, **asked)
    return made


def recipe(library: Any, samples: SamplesLike | None = None, **asked: Any) -> Answer:
    """Recipes for a colour out of a library. Keywords are those of ``recipe find``."""
    made: Answer = asking("recipe find")(library, samples, **asked)
    return made


def proof(answers: Sequence[Answer], *, title: str = "Proof", note: str = "") -> Proof:
    """Answers put together under a title, with one verdict; ``.save(folder)`` writes result.json and the page."""
    from screenproof.questions.proof import Proof

    return Proof(tuple(answers), title, note)


def run(job: str | Path, *, write: bool = False) -> Any:
    """Run a job file; ``write``: its output folder as well. ``.answers`` are those of its questions."""
    from screenproof.jobs import check_outputs, load_job, run_job, write_outputs

    loaded = load_job(job)
    if write:
        check_outputs(loaded)
    result = run_job(loaded)
    if write:
        displays = {one.name: one for one in loaded.displays}
        output = loaded.output
        write_outputs(result, loaded.output_folder, displays, patches=output.patches, page=output.page)
    return result


def _open() -> Open:
    from screenproof.questions.opening import Open

    return Open()


def asking(name: str) -> Callable[..., Any]:
    """The function that puts a question: its parameters are the question's fields."""
    from screenproof.questions import questions
    from screenproof.questions.form import fields_of

    question = questions()[name]
    items = fields_of(question)
    places = [item.name for item in items if item.ask.positional]

    def put(*things: Any, **asked: Any) -> Any:
        if len(things) > len(places):
            raise TypeError(f"{name} takes {len(places)} things by their place ({', '.join(places)})")
        twice = [place for place in places[: len(things)] if place in asked]
        if twice:
            raise TypeError(f"{name} has {twice[0]} twice")
        return answer(question, dict(zip(places, things, strict=False)) | asked)

    kinds = inspect.Parameter
    put.__name__ = name.replace(" ", "_").replace("-", "_")
    put.__doc__ = question.__doc__
    put.__signature__ = inspect.Signature(  # type: ignore[attr-defined]
        [
            kinds(
                item.name,
                kinds.POSITIONAL_OR_KEYWORD if item.ask.positional else kinds.KEYWORD_ONLY,
                default=kinds.empty if item.required else item.default,
            )
            for item in sorted(items, key=lambda item: (not item.ask.positional, not item.required))
        ]
    )
    return put


def answer(question: type[Question], asked: dict[str, Any]) -> Answer:
    """The answer to a question with these values of its fields. InputError speaks of keywords."""
    from screenproof.questions.form import filled
    from screenproof.questions.opening import Open, spoken

    try:
        return filled(question, asked).ask(Open())
    except InputError as error:
        raise spoken(error, question, lambda name: name) from None
