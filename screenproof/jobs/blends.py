"""The answer of the command ``blend``: parts that mix by area, or the sector angles that match a colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from screenproof.errors import InputError, Note, Problem, bad, nearest
from screenproof.jobs.blend_words import length_mm, names_of, parts_of
from screenproof.jobs.direct import Answer, check_limit, plain_notes, several, status_of
from screenproof.questions.sources import open_light, open_observer, open_samples

if TYPE_CHECKING:
    from screenproof.additive import AreaMatch, Pattern, Seen
    from screenproof.spectra import Array, Light, Observer, Samples

JUST_VISIBLE = 1.0
"""CIEDE2000 that can just be seen side by side: common practice, no source."""

LIGHT_SPREADS_MM = 0.3
"""Patterns finer than this come out darker on paper, for light spreads in it. Common practice, no source."""

KINDS = ("check", "stripes", "dots", "sectors")


@dataclass(frozen=True)
class BlendWords:
    """A blend as the command line describes it; each field is the option of its name."""

    parts: tuple[str, ...] = ()
    match: str | None = None
    of: tuple[str, ...] = ()
    target_file: str | None = None
    pattern: str | None = None
    size: str | None = None
    distance: str | None = None
    angle: float | None = None
    light: str = "D50"
    observer: str = "cie1931"
    to: str | None = None
    rpm: float | None = None
    sectors: int | None = None
    illuminance: float | None = None
    limit: float | None = None


@dataclass(frozen=True, eq=False)
class Scene:
    """What is blended and how it is looked at: parts (k), areas (k,), XYZ (k, 3), and the light's white (3,)."""

    parts: Samples
    areas: Array
    xyz: Array
    white: Array
    light: Light
    observer: Observer
    pattern: Pattern | None
    seen: Seen | None
    match: AreaMatch | None
    target: Samples | None


def _check_words(words: BlendWords) -> None:
    """InputError, with every problem, for options that do not go together."""
    problems: list[Problem] = []

    def wrong(option: str, what: str, mend: str) -> None:
        problems.append(Problem(what, field=f"--{option}", mend=mend))

    if words.parts and words.match is not None:
        wrong("match", "--parts gives the areas, --match asks for them", "give one of the two")
    elif not words.parts and words.match is None:
        wrong("parts", "nothing to blend", "add --parts NAME=AREA,NAME=AREA, or --match TARGET --of NAME,NAME")
    if words.of and words.match is None:
        wrong("of", "there is no colour to match with them", "add --match TARGET")
    if words.match is not None and not words.of:
        wrong("match", "nothing to match it with", "add --of and the names of the papers, best four or more")
    for option in ("target_file", "to"):
        if getattr(words, option) is not None and words.match is None:
            wrong(option.replace("_", "-"), "there is no colour to match", "add --match TARGET")
    if words.pattern is not None and words.pattern not in KINDS:
        near = nearest(words.pattern, list(KINDS))
        mend = f"did you mean {near!r}?" if near else f"take one of {', '.join(KINDS)}"
        wrong("pattern", f"no pattern is called {words.pattern!r}", mend)
    if words.distance is not None and words.size is None:
        wrong("distance", "nothing can be said from a distance without a size", "add --size, such as 2mm")
    if words.angle is not None and (words.pattern != "dots" or words.size is None):
        wrong("angle", "there are no rows of dots to turn", "add --pattern dots and --size")
    for option in ("rpm", "sectors"):
        if getattr(words, option) is not None and words.pattern not in (None, "sectors"):
            wrong(option, f"a pattern of {words.pattern} does not spin", "take --pattern sectors")
    if words.illuminance is not None and words.rpm is None:
        wrong("illuminance", "there is no spinning disc to use it for", "add --rpm")
    if words.limit is not None and words.match is None and words.distance is None:
        wrong("limit", "nothing is judged", "add --match, or --size and --distance")
    if problems:
        raise InputError(problems)


def _kind(words: BlendWords) -> str:
    """The pattern: as given; sectors for a disc and for a match; else a check."""
    if words.pattern is not None:
        return words.pattern
    disc = words.match is not None or words.rpm is not None or words.sectors is not None
    return "sectors" if disc else "check"


def scene_of(file: str, words: BlendWords) -> Scene:
    """Open and lay out all that the options describe. Raises InputError as :func:`blend_answer` does."""
    from screenproof.additive import Seen, sector_angles
    from screenproof.additive.blends import checked_areas
    from screenproof.spectra import white_point

    _check_words(words)
    check_limit(words.limit)
    light, observer = open_light(words.light), open_observer(words.observer)
    size = None if words.size is None else length_mm(words.size, "--size", ruling=True)
    samples = open_samples(file)
    match, target = None, None
    if words.match is not None:
        papers = names_of(words.of, samples.names)
        target = _target(words, samples)
        parts = _chosen(samples, papers, "--of")
        if words.target_file is None and target.names[0] in papers:
            what = f"{target.names[0]!r} is the target and one of the papers"
            raise bad(what, field="--of", mend="leave it out of --of")
        match = sector_angles(target, parts, light, observer)
        areas = match.areas
    else:
        named, whole = parts_of(words.parts)
        parts = _chosen(samples, list(named), "--parts")
        areas = checked_areas(list(named.values()), parts.names, whole=whole)
    if len(parts) < 2:
        raise bad("one part is no blend", field="--parts", expected="two parts or more")
    xyz = parts.xyz([light], [observer])[:, 0, 0]
    white = white_point(light, observer)
    pattern = None
    if size is not None or words.pattern is not None:
        # Without a size it is laid out all the same, to see that the areas can be.
        laid_out = _pattern(_kind(words), areas, size or 1.0, words)
        pattern = laid_out if size is not None else None
    eye = pattern is not None and observer.kind == "eye"
    seen = Seen(pattern, xyz, white) if pattern is not None and eye else None
    return Scene(parts, areas, xyz, white, light, observer, pattern, seen, match, target)


def _chosen(samples: Samples, names: Sequence[str], option: str) -> Samples:
    """The named samples; all unknown and doubled names in one InputError."""
    problems: list[Problem] = []
    indices = []
    for name in dict.fromkeys(names):
        try:
            indices.append(samples.index(name))
        except InputError as error:
            problems += error.problems
    for name in dict.fromkeys(name for name in names if list(names).count(name) > 1):
        problems.append(Problem(f"{name} stands twice", field=option, mend="name it once"))
    if problems:
        raise InputError(problems)
    if not indices:
        raise bad("no name is given", field=option, expected="names of samples with commas between them")
    return samples.select(indices)


def _target(words: BlendWords, samples: Samples) -> Samples:
    """The one sample that is to be matched."""
    assert words.match is not None
    where = samples if words.target_file is None else open_samples(words.target_file)
    return where.select([where.index(words.match)])


def _pattern(kind: str, areas: Array, size: float, words: BlendWords) -> Pattern:
    from screenproof.additive import PATTERNS, sets_of_sectors

    if kind == "sectors":
        return PATTERNS[kind](areas, size, sets_of_sectors(words.sectors, areas.size))
    if kind == "dots":
        return PATTERNS[kind](areas, size, words.angle or 0.0)
    return PATTERNS[kind](areas, size)


def blend_answer(file: str, words: BlendWords) -> Answer:
    """What a blend looks like, from where it fuses, and how a disc flickers, as plain data.

    Raises InputError for words that cannot be read or do not go together, and as the blend itself does.
    """
    return answer_of(file, words, scene_of(file, words))


def answer_of(file: str, words: BlendWords, scene: Scene) -> Answer:
    """The answer of a scene that is laid out already: see :func:`blend_answer`."""
    distance = None if words.distance is None else length_mm(words.distance, "--distance")
    kind = _kind(words)
    notes = _notes(scene, words)
    answer: Answer = {
        "schema": "screenproof-blend/1",
        "file": file,
        "light": scene.light.name,
        "observer": scene.observer.name,
        "parts": _parts(scene),
        "blend": _blend(scene),
        "match": None if scene.match is None else _match(scene, words),
        "pattern": _laid_out(scene) or {"kind": kind},
        "fusion": _fusion(scene),
        "visibility": None if distance is None else _visibility(scene, distance),
        "disc": None if kind != "sectors" else _disc(scene, words),
        "limit": words.limit,
    }
    judged = _judged(answer)
    answer["judged"] = judged
    answer["status"] = None if not judged else "fail" if any(j["status"] == "fail" for j in judged) else "pass"
    answer["notes"] = plain_notes(scene.observer.notes, scene.parts.notes, notes)
    return answer


def _parts(scene: Scene) -> list[Answer]:
    from screenproof.appearance import xyz_to_lab

    lab = xyz_to_lab(scene.xyz, scene.white)
    return [
        {
            "name": name,
            "area": float(scene.areas[i]),
            "degrees": float(360.0 * scene.areas[i]),
            "xyz": scene.xyz[i].tolist(),
            "lab": lab[i].tolist(),
        }
        for i, name in enumerate(scene.parts.names)
    ]


def _blend(scene: Scene) -> Answer:
    from screenproof.additive import area_average
    from screenproof.appearance import hue_name, lab_to_lch, xyz_to_lab

    xyz = area_average(scene.xyz, scene.areas)
    lab = xyz_to_lab(xyz, scene.white)
    curve = None
    if scene.parts.reflectance is not None and scene.parts.grid is not None:
        values = area_average(scene.parts.reflectance, scene.areas)
        curve = {"wavelengths": scene.parts.grid.wavelengths.tolist(), "values": values.tolist()}
    return {
        "xyz": xyz.tolist(),
        "lab": lab.tolist(),
        "lch": lab_to_lch(lab).tolist(),
        "hue": hue_name(lab),
        "reflectance": curve,
    }


def _match(scene: Scene, words: BlendWords) -> Answer:
    from screenproof.appearance import difference_words

    match, target = scene.match, scene.target
    assert match is not None and target is not None
    return {
        "target": target.names[0],
        "target_xyz": match.target_xyz.tolist(),
        "target_lab": match.target_lab.tolist(),
        "exact": match.exact,
        "de00": match.de00,
        "words": difference_words(match.target_lab, match.lab),
        "reason": match.reason,
        "free": match.free,
        "linear": None if match.linear is None else match.linear.tolist(),
        "per_degree": match.per_degree,
        "shift": [] if words.to is None else _shift(scene, words.to),
    }


def _shift(scene: Scene, to: str) -> list[Answer]:
    """How target and blend part in other lights, as they are."""
    from screenproof.additive.blends import blend_of
    from screenproof.proof import pair_shift

    assert scene.target is not None
    lights = [open_light(name) for name in several(to, "--to")]
    blend = blend_of(scene.parts, scene.areas)
    found = pair_shift(scene.target, blend, scene.light, lights, [scene.observer], "none")
    if found.refused:
        raise bad(found.refused[0].reason, field="--to", mend="leave --to out, or measure the curves")
    return [asdict(figure) for figure in found.figures(0)]


def _laid_out(scene: Scene) -> Answer | None:
    if scene.pattern is None:
        return None
    pattern = scene.pattern
    angle = pattern.angle if pattern.kind == "dots" else None
    return {"kind": pattern.kind, "size_mm": pattern.size_mm, "period_mm": pattern.period_mm, "angle": angle}


def _fusion(scene: Scene) -> Answer | None:
    """The distances [mm] from which the pattern fuses: by acuity in two ways, and by the spatial filter."""
    from screenproof.additive import fusion_distance

    pattern = scene.pattern
    if pattern is None:
        return None
    return {
        "feature_mm": float(fusion_distance(pattern.size_mm)),
        "half_period_mm": float(fusion_distance(pattern.period_mm, "half_period")),
        "vanishes_from_mm": None if scene.seen is None else scene.seen.vanishes_from(JUST_VISIBLE),
        "vanishing_de00": JUST_VISIBLE,
    }


def _three(figures: Array) -> Answer:
    return dict(zip(("mean", "p95", "max"), (float(value) for value in figures), strict=True))


def _visibility(scene: Scene, distance: float) -> Answer:
    if scene.seen is None:
        raise bad(
            f"{scene.observer.name} is a camera",
            field="--observer",
            expected="an eye, for what is seen from a distance: the spatial filter is that of eyes",
            mend="leave --distance out, or take cie1931",
        )
    found = scene.seen.at(distance)
    return {
        "distance_mm": distance,
        "samples_per_degree": found.samples_per_degree,
        "cycles_per_degree": found.cycles_per_degree,
        "de00": _three(found.de00),
        "deab": _three(found.deab),
        "unblurred_de00": _three(found.unblurred_de00),
        "unblurred_deab": _three(found.unblurred_deab),
        "share": found.share,
        "kernels": found.kernels,
    }


def _disc(scene: Scene, words: BlendWords) -> Answer:
    from screenproof.additive import flicker, sets_of_sectors

    repeats = sets_of_sectors(words.sectors, len(scene.parts))
    used = [i for i, area in enumerate(scene.areas) if area > 0]
    found = None
    if words.rpm is not None:
        found = asdict(flicker(words.rpm, repeats, luminous=scene.xyz[used, 1], lux=words.illuminance))
    return {"sectors": repeats * len(scene.parts), "flicker": found}


def _judged(answer: Answer) -> list[Answer]:
    """Each figure against the limit: the match, and what is left of the pattern."""
    limit = answer["limit"]
    if limit is None:
        return []
    figures: dict[str, float] = {}
    if answer["match"] is not None:
        figures["match"] = answer["match"]["de00"]
    if answer["visibility"] is not None:
        figures["visibility, 95 %"] = answer["visibility"]["de00"]["p95"]
    return [
        {"what": what, "figure": figure, "limit": limit, "status": status_of(figure, limit)}
        for what, figure in figures.items()
    ]


def _notes(scene: Scene, words: BlendWords) -> list[Note]:
    from screenproof.additive import spinning_cautions

    notes: list[Note] = []
    pattern = scene.pattern
    if scene.match is not None and scene.match.free:
        what = "other areas match as well: those were taken whose curve is nearest to the target's, or most even"
        notes.append(Note("assumed", what))
    if words.angle is not None and pattern is not None and abs(pattern.angle - words.angle % 90.0) > 0.05:
        what = f"rows at {pattern.angle:.2f} degrees stand for {words.angle:g}: they must close in a tile"
        notes.append(Note("assumed", what))
    if scene.seen is not None and scene.observer.name != "cie1931":
        what = f"the spatial filter is for the observer cie1931; its figures are taken for {scene.observer.name}"
        notes.append(Note("assumed", what))
    if pattern is not None and pattern.kind != "sectors" and pattern.size_mm < LIGHT_SPREADS_MM:
        what = f"{pattern.size_mm:.3g} mm is fine: light spreads in paper, and print this fine is darker than that"
        notes.append(Note("odd", what, mend="use a press model for halftones"))
    if _kind(words) == "sectors":
        notes += spinning_cautions()
    return notes


def failed(answer: dict[str, Any]) -> bool:
    """Whether a figure of a blend is above the limit."""
    return bool(answer["status"] == "fail")
