"""The answer of the command ``brightener``: what brightener does in lights with and without ultraviolet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from screenproof.errors import InputError, Note, Problem, bad
from screenproof.jobs.direct import Answer, chosen, plain_notes, several
from screenproof.questions.sources import open_light, open_observer, open_samples

if TYPE_CHECKING:
    from screenproof.spectra import Light, Samples
    from screenproof.spectra.brightener import Assumed


def assumed_of(
    excitation: str | None = None,
    near: float | None = None,
    m1_uv: float | None = None,
    m0_uv: float | None = None,
) -> Assumed:
    """What the options take for granted. InputError with the option's name."""
    from screenproof.spectra.brightener import Assumed

    stated: dict[str, Any] = {"near": near, "m1_uv": m1_uv, "m0_uv": m0_uv}
    stated = {key: value for key, value in stated.items() if value is not None}
    if excitation is not None:
        parts = [part.strip() for part in excitation.split(",")]
        try:
            low, high = (float(part) for part in parts)
        except ValueError:
            low = high = math.nan
        if not (math.isfinite(low) and math.isfinite(high)):
            raise bad(
                f"{excitation!r} is no range of wavelengths",
                field="--excitation",
                expected="the least and the greatest wavelength in nm with a comma, such as 320,420",
            )
        stated |= {"low_nm": low, "high_nm": high}
    try:
        return Assumed(**stated)
    except InputError as error:
        raise InputError(
            Problem(p.what, None, None, f"--{(p.field or '').replace('_', '-')}", p.expected, p.mend)
            for p in error.problems
        ) from None


def _lights(to: str, without_uv: str | None) -> tuple[list[Light], tuple[str, ...]]:
    """The lights of --to, and the names among them that --without-uv says have no ultraviolet."""
    lights: list[Light] = []
    written = several(to, "--to")
    problems: list[Problem] = []
    for name in written:
        try:
            lights.append(open_light(name))
        except InputError as error:
            problems += error.problems
    named = [] if without_uv is None else several(without_uv, "--without-uv")
    stray = [name for name in named if name not in written]
    if stray:
        problems.append(
            Problem(
                f"{', '.join(stray)} is stated to have no ultraviolet and is not asked for",
                field="--without-uv",
                expected=f"some of the lights of --to: {', '.join(written)}",
                mend="name it in --to as well, written alike, or leave it out",
            )
        )
    if problems:
        raise InputError(problems)
    return lights, tuple(one.name for name, one in zip(written, lights, strict=True) if name in named)


def _check_unknown(stated: Sequence[Light], assumed: Assumed) -> None:
    """InputError for lights that are stated to have no ultraviolet, though theirs is known."""
    from screenproof.spectra.brightener import uv_unknown

    known = [one for one in stated if not uv_unknown(one, assumed)]
    if known:
        raise InputError(
            Problem(
                f"the ultraviolet of {one.name} is known by its own spectrum, and the option would do nothing",
                field="--without-uv",
                expected=f"lights whose spectrum begins above {assumed.low_nm:g} nm",
                mend="leave it out; for a lamp like it without ultraviolet, give the spectrum of the lamp",
            )
            for one in known
        )


def brightener_answer(
    file: str,
    uv_excluded: str,
    incandescent: str | None = None,
    *,
    to: str = "D65,A",
    without_uv: str | None = None,
    observer: str = "cie1931",
    from_light: str = "D50",
    assumed: Assumed | None = None,
    only: Sequence[str] | None = None,
) -> Answer:
    """What the brightener of the samples in ``file`` (M1) does in the lights ``to``, by M2 and, if given, M0.

    Raises InputError for readings that do not belong together, and for a camera: what it makes of ultraviolet is
    another question.
    """
    from screenproof.proof.brightener import brightener
    from screenproof.spectra.brightener import Assumed

    assumed = assumed or Assumed()
    lights, dark = _lights(to, without_uv)
    eye = open_observer(observer)
    if eye.kind != "eye":
        raise bad(
            f"{observer} is a camera",
            field="--observer",
            expected="an eye, such as cie1931",
            mend="a camera sees ultraviolet itself, or not, which its curves here do not say",
        )
    samples = chosen(open_samples(file), only)
    m2 = open_samples(uv_excluded)
    m0 = None if incandescent is None else open_samples(incandescent)
    home = open_light(from_light)
    _check_unknown([one for one in lights if one.name in dark], assumed)
    found = brightener(samples, m2, m0, lights, eye, home, without_uv=dark, assumed=assumed)
    assert samples.reflectance is not None and samples.grid is not None
    entries = []
    for i, (name, record) in enumerate(zip(samples.names, found.records, strict=True)):
        if record is not None:
            without = m2.reflectance[m2.index(name)] if m2.reflectance is not None else []
            curves = {"m1": samples.reflectance[i].tolist(), "m2": list(map(float, without))}
            entries.append(
                {"name": name, **asdict(record), "lights": [asdict(at) for at in record.lights], **curves}
            )
    assert m2.grid is not None
    return {
        "schema": "screenproof-brightener/1",
        "file": file,
        "uv_excluded": uv_excluded,
        "incandescent": incandescent,
        "viewing": home.name,
        "observer": eye.name,
        "assumed": asdict(assumed),
        "wavelengths": {"m1": samples.grid.wavelengths.tolist(), "m2": m2.grid.wavelengths.tolist()},
        "samples": entries,
        "notes": plain_notes(
            *(eye.notes, _of_readings(samples), _of_readings(m2)),
            *(() if m0 is None else _of_readings(m0), found.notes),
        ),
    }


def _of_readings(samples: Samples) -> tuple[Note, ...]:
    """What is odd about readings, but for reflectances above 1: here they are expected."""
    return tuple(note for note in samples.notes if "no fluorescence declared" not in note.what)
