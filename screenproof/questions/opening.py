"""What a question names, made into things: samples, lights, observers, displays, presses, people.

Each is a name, a file, or the thing itself; within a job the names of the job come first. The fields of an
:class:`~screenproof.errors.InputError` that is raised here are those of the question's form, so that every door
can say them in its own way.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from screenproof.errors import InputError, Note, Problem, bad, did_you_mean
from screenproof.questions import sources
from screenproof.questions.tables import DisplayTable, ObjectInstrumentTable, ScreenInstrumentTable

if TYPE_CHECKING:
    from screenproof.additive import Display
    from screenproof.formats import LibraryFile
    from screenproof.proof import ToleranceSet, Viewing
    from screenproof.proof.judging import Judge
    from screenproof.questions.form import (
        DisplayLike,
        Form,
        LibraryLike,
        LightLike,
        ObserverLike,
        PressLike,
        SamplesLike,
    )
    from screenproof.questions.groups import DoubtOptions, PeopleOptions, SceneOptions, ScreenOptions
    from screenproof.spectra import Light, Observer, Population, Samples
    from screenproof.subtractive import Press

T = TypeVar("T")


@dataclass
class Open:
    """Opens what questions name.

    folder: from which the paths of files count; None is where the program runs. say: told what is being done.
    known: things by the names that a job gives them, by kind ('samples', 'lights', 'observers', 'displays',
    'presses').
    tolerances: the sets of a job. notes: what is to be said of how names were taken.
    """

    folder: Path | None = None
    say: Callable[[str], None] = lambda words: None
    known: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    tolerances: Mapping[str, ToleranceSet] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)

    def _known(self, kind: str, name: object) -> Any:
        """The thing of a job by its name, in any case; None where the job has none."""
        things = self.known.get(kind, {})
        if not isinstance(name, str):
            return None
        return things.get(name) or next((one for key, one in things.items() if key.lower() == name.lower()), None)

    def samples(self, named: SamplesLike | Sequence[SamplesLike], only: Sequence[str] | None = None) -> Samples:
        """Measured samples; with ``only``, those alone, in that order."""
        from screenproof.spectra import Samples

        if isinstance(named, Samples):
            found = named
        elif isinstance(named, (tuple, list)):
            parts = [self.samples(one) for one in named]
            found = parts[0] if len(parts) == 1 else Samples.joined(parts)
        else:
            found = self._known("samples", named) or sources.open_samples(_text(named, "samples"), self.folder)
        return found.select([found.index(name) for name in only]) if only else found

    def read(self, named: SamplesLike | Sequence[SamplesLike], doubt: DoubtOptions) -> Samples:
        """Measured samples with what their file and the options say of their readings."""
        from screenproof.questions.instruments import with_instrument

        given = {"kind": doubt.instrument, "readings": doubt.readings}
        given = {key: value for key, value in given.items() if value is not None}
        table = ObjectInstrumentTable(**given) if given else None  # type: ignore[arg-type]
        option = "instrument" if doubt.instrument is not None else "readings"
        try:
            return with_instrument(self.samples(named), table)
        except InputError as error:
            if table is None or all(p.file for p in error.problems):
                raise
            raise _retold(error, option, "add {instrument} and its class") from None

    def light(self, named: LightLike) -> Light:
        """A light by its name or file."""
        from screenproof.spectra import Light

        if isinstance(named, Light):
            return named
        found: Light = self._known("lights", named) or sources.open_light(_text(named, "light"), self.folder)
        return found

    def lights(self, named: Iterable[LightLike], option: str) -> list[Light]:
        """Several lights, with the mistakes of all of them at once. Raises InputError for one that stands
        twice."""
        found = _each(self.light, named)
        _once([one.name for one in found], option)
        return found

    def observer(self, named: ObserverLike) -> Observer:
        """An observer by its name, an eye such as age=60,field=2, or a camera's file."""
        from screenproof.spectra import Observer

        if isinstance(named, Observer):
            return named
        found: Observer | None = self._known("observers", named)
        if found is None:
            found = sources.open_observer(_text(named, "observer"), self.folder)
            self.notes += [note for note in found.notes if note not in self.notes]
        return found

    def observers(self, named: Iterable[ObserverLike], option: str = "observer") -> list[Observer]:
        """Several observers, as :meth:`lights`."""
        found = _each(self.observer, named)
        # age=60 and age=60,field=2 are one observer: what counts is the name that both have.
        _once([one.name for one in found], option)
        return found

    def plain_display(self, named: DisplayLike, **given: Any) -> Display:
        """A display by its name or file; given: curve, luminance, black where they are not None."""
        from screenproof.additive import Display
        from screenproof.questions.form import filled

        if not isinstance(named, (str, Path)) or (known := self._known("displays", named)) is not None:
            display: Any = named if not isinstance(named, (str, Path)) else known
            extra = [key for key, value in given.items() if value is not None]
            if not isinstance(display, Display):
                raise bad(f"{display!r} is no display", field="display", expected="a name, a file, or a Display")
            if extra:
                what = f"{', '.join(extra)} cannot be set on a display that is at hand"
                raise bad(what, field=extra[0], mend="leave it out")
            return display
        raw: dict[str, Any] = dict(sources.display_source(str(named), self.folder))
        raw |= {key: value for key, value in given.items() if value is not None}
        return sources.build_display(filled(DisplayTable, raw), self.folder)

    def display(self, screen: ScreenOptions, doubt: DoubtOptions | None = None) -> Display:
        """The display that the options describe, in its room, with what is known of its readings."""
        display = self.plain_display(
            screen.display, curve=screen.curve, luminance=screen.luminance, black=screen.black
        )
        display = self.lit(display, screen)
        return display if doubt is None else self._screen_read(display, doubt)

    def lit(self, display: Display, screen: ScreenOptions) -> Display:
        """A display in the room that the options describe."""
        if screen.room is None:
            return display
        reflectance = 0.04 if screen.screen_reflectance is None else screen.screen_reflectance
        return display.with_room(screen.room, self.light(screen.room_light or "D50"), reflectance)

    def _screen_read(self, display: Display, doubt: DoubtOptions) -> Display:
        from screenproof.questions.instruments import display_with_instrument

        kind = doubt.screen_instrument
        if kind is not None and display.kind in ("standard", "modelled"):
            raise bad(
                f"{display.label} is no screen that an instrument has read",
                field="screen_instrument",
                expected="a display from readings or a profile",
                mend="leave it out, or name the screen's readings with {display}",
            )
        try:
            return display_with_instrument(display, None if kind is None else ScreenInstrumentTable(kind=kind))
        except InputError as error:
            raise _retold(error, "screen_instrument", None) from None

    def viewing(self, scene: SceneOptions, samples: Samples) -> Viewing:
        """The viewing that the options describe; ``object_white`` may name the stock among ``samples``."""
        from screenproof.proof import Viewing

        light = self.light(scene.light)
        if scene.illuminance is not None:
            light = light.with_illuminance(scene.illuminance)
        white = None
        if scene.object_white != "diffuser":
            white = samples.select([_stock(samples, scene.object_white)])
        return Viewing(
            light,
            self.observer(scene.observer),
            scene.basis,
            adaptation=scene.adaptation,
            object_white=white,
            surround=scene.surround,
        )

    def library(self, named: LibraryLike) -> LibraryFile:
        """A library of pigments, dyes or inks, by its file."""
        from screenproof.formats import LibraryFile

        if isinstance(named, LibraryFile):
            return named
        known: LibraryFile | None = self._known("libraries", named)
        return known or sources.open_library(_text(named, "library"), self.folder)

    def press(self, named: PressLike) -> Press:
        """A press by its file, as it was fitted, or fitted here to a characterisation."""
        from screenproof.subtractive import Press

        if isinstance(named, Press):
            return named
        found: Press = self._known("presses", named) or sources.open_press(_text(named, "press"), self.folder)
        return found

    def people(self, asked: PeopleOptions) -> Population | None:
        """The people that the options describe, None when none are asked for."""
        from screenproof.spectra import population

        if asked.population is None:
            return None
        given: dict[str, Any] = {"seed": asked.seed, "field": asked.field}
        given["ages"] = None if asked.ages is None else _ages(asked.ages)
        try:
            return population(
                asked.population, **{key: value for key, value in given.items() if value is not None}
            )
        except InputError as error:
            names = {"count": "population", "seed": "seed", "ages": "ages", "field": "field"}
            raise InputError(
                replace(problem, field=names.get((problem.field or "").rpartition(".")[2], problem.field))
                for problem in error.problems
            ) from None

    def tolerance(self, named: str) -> ToleranceSet:
        """A tolerance set of the job, or a preset by its name."""
        from screenproof.proof.tolerance import read_tolerances

        if named in self.tolerances:
            return self.tolerances[named]
        return read_tolerances({named: {"preset": named}}, field="tolerance")[named]

    def judge(self, limit: float | None, doubt: DoubtOptions | None = None) -> Judge:
        """Who judges an answer that has one limit."""
        from screenproof.proof.judging import Judge

        return Judge.of_limit(limit, None if doubt is None else doubt.risk)


def _text(named: object, what: str) -> str:
    if isinstance(named, (str, Path)):
        return str(named)
    raise bad(f"{type(named).__name__} is none of the {what}", field=what, expected="a name, a file, or the thing")


def _retold(error: InputError, field: str, mend: str | None) -> InputError:
    """Problems of an instrument's table, told of the option that set it."""
    return InputError(
        Problem(p.what, p.file, p.line, field, p.expected, p.mend if p.expected else mend) for p in error.problems
    )


def _each(make: Callable[[Any], T], named: Iterable[Any]) -> list[T]:
    found: list[T] = []
    problems: list[Problem] = []
    for one in named:
        try:
            found.append(make(one))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return found


def _once(names: Sequence[str], option: str) -> None:
    twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
    if twice:
        wanted = "each once"
        raise bad(f"{', '.join(twice)} stands twice", field=option, expected=wanted, mend="name it once")


def _stock(samples: Samples, name: str) -> int:
    if name not in samples.names:
        raise bad(
            f"no sample is called {name!r}",
            field="object_white",
            expected="'diffuser', or the name of the sample that is the stock",
            mend=did_you_mean(name, samples.names),
        )
    return samples.names.index(name)


def _ages(text: str) -> tuple[float, float]:
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)(?:\s*-\s*(\d+(?:\.\d+)?))?\s*", text)
    if found is None:
        raise bad(f"{text!r} are no ages", field="ages", expected="youngest and oldest, such as 20-80, or one age")
    low = float(found[1])
    return low, low if found[2] is None else float(found[2])


def spoken(
    error: InputError, form: type[Form], call: Callable[[str], str], more: Mapping[str, str] | None = None
) -> InputError:
    """An error in the words of a door: ``call`` gives how it calls a field of ``form``, ``more`` what else it
    has."""
    from screenproof.questions.form import fields_of

    others = dict(more or {})
    names = {name for item in fields_of(form) for name in (item.name, item.key)}

    def named(name: str, otherwise: str) -> str:
        return call(name) if name in names else others.get(name, otherwise)

    def told(text: str | None) -> str | None:
        return None if text is None else re.sub(r"\{(\w+)\}", lambda m: named(m[1], m[0]), text)

    def place(field: str | None) -> str | None:
        head = re.match(r"\w+", field or "")
        return field if head is None or field is None else named(head[0], head[0]) + field[head.end() :]

    return InputError(
        replace(p, what=told(p.what) or "", field=place(p.field), expected=told(p.expected), mend=told(p.mend))
        for p in error.problems
    )
