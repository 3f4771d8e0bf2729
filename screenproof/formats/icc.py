"""Displays from ICC profiles: matrix and tone curves read here, tables through LittleCMS.

A profile speaks of colours adapted to D50, the white of its connection space. A display's own white comes back
through the profile's 'chad' matrix or, in version 2, by Bradford adaptation to its 'wtpt' (ICC.1:2022, 9.2.15 and
annex E).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from screenproof.additive import ChannelCurves, Display, MatrixModel, TableModel, ToneCurve
from screenproof.appearance import adaptation_matrix
from screenproof.errors import InputError, Note
from screenproof.formats._text import Problems
from screenproof.formats.icc_tags import CLASSES, D50_PCS, DAMAGED, Profile
from screenproof.formats.icc_write import profile_bytes, write_profile
from screenproof.spectra import Array

__all__ = ["D50_PCS", "profile_bytes", "read_profile", "write_profile"]

DEFAULT_LUMINANCE = 100.0
_COLORANTS = ("rXYZ", "gXYZ", "bXYZ")
_CURVES = ("rTRC", "gTRC", "bTRC")
# Even steps, as most tables have, and closer ones near black, where light changes by more than its own amount.
_TABLE_AXIS = np.unique(np.concatenate([np.linspace(0.0, 1.0, 33), [1 / 128, 1 / 64, 3 / 64, 5 / 64]]))
_WHITE_OFF = 0.01
_D50_NEAR = 2e-3


def read_profile(path: str | Path) -> Display:
    """The display that an ICC profile of version 2 or 4 describes, in XYZ of the CIE 1931 observer.

    A matrix/TRC profile becomes a matrix display, exactly as its numbers say. A profile with tables (A2B1, else
    A2B0) goes through LittleCMS in double precision, colorimetric, once over a lattice of 37 drives a channel.
    Its luminance is the 'lumi' tag, or 100 cd/m2 with a note that this was assumed.

    Raises InputError, with every fault of the file, for what is no profile, is cut short or damaged, or is not of
    an RGB display (a press, a printer, a scanner).
    """
    profile = Profile.read(path)
    _refuse_others(profile)
    problems = Problems(profile.file)
    notes = list(profile.notes)
    to_own = _own_white(profile, problems, notes)
    luminance = _luminance(profile, problems, notes)
    model: MatrixModel | TableModel | None
    if profile.has("A2B0") or profile.has("A2B1"):
        problems.raise_any()
        model = _table_model(profile, to_own, luminance, notes)
    else:
        model = _matrix_model(profile, to_own, luminance, problems, notes)
    problems.raise_any()
    assert model is not None  # a problem was raised otherwise
    try:
        return Display(
            Path(path).stem,
            profile.text("desc") or Path(path).stem,
            "profile",
            model,
            notes=tuple(notes),
            source=str(path),
        )
    except InputError as error:
        raise _located(error, profile.file) from None


def _located(error: InputError, file: str, field: str | None = None) -> InputError:
    """The same problems with the file's name, and the field where they have none of their own.

    How to mend what another part of the package found wrong is, for a profile, to make it again.
    """
    return InputError(
        p if p.file else replace(p, file=file, field=field or p.field, mend=DAMAGED) for p in error.problems
    )


def _refuse_others(profile: Profile) -> None:
    """Raise InputError for a profile that is not of an RGB display."""
    called = CLASSES.get(profile.device_class, f"class {profile.device_class!r}")
    if profile.device_class in ("mntr", "spac") and profile.colour_space == "RGB":
        return
    problems = Problems(profile.file)
    if profile.device_class == "prtr" or profile.colour_space in ("CMYK", "CMY"):
        mend = "a press or printer is no display: name it where a press is wanted, and a screen's profile here"
    else:
        mend = "name the profile of your screen"
    problems.add(
        f"the profile is of {called} with {profile.colour_space or 'no'} colours",
        expected="the profile of an RGB display (class 'mntr')",
        mend=mend,
    )
    problems.raise_any()


def _luminance(profile: Profile, problems: Problems, notes: list[Note]) -> float:
    """Luminance of the white in cd/m2 from the 'lumi' tag, or the usual one and a note."""
    stated = 0.0
    if profile.has("lumi"):
        try:
            stated = float(profile.xyz("lumi")[1])
        except InputError as error:
            problems.take(error)
            return DEFAULT_LUMINANCE
    if stated > 0:
        return stated
    notes.append(
        Note(
            "assumed",
            f"the profile does not say how bright the display is; {DEFAULT_LUMINANCE:g} cd/m2 is taken",
            file=profile.file,
            mend="give the luminance in cd/m2 with the display",
        )
    )
    return DEFAULT_LUMINANCE


def _own_white(profile: Profile, problems: Problems, notes: list[Note]) -> Array:
    """Matrix (3, 3) from the connection space back to the display's own white."""
    try:
        if profile.has("chad"):
            adapted = profile.matrix("chad")
            if abs(np.linalg.det(adapted)) < 1e-3:
                raise profile.fault("chad", "a matrix that cannot be inverted", "the adaptation to D50")
            return np.asarray(np.linalg.inv(adapted))
        white = profile.xyz("wtpt") if profile.has("wtpt") else D50_PCS
        if not (white > 0).all():
            raise profile.fault("wtpt", "a white of " + " ".join(f"{v:g}" for v in white), "XYZ above 0")
        white = white / white[1]
        if np.abs(white - D50_PCS).max() >= _D50_NEAR:
            return np.asarray(adaptation_matrix(D50_PCS, white, "bradford"))
    except InputError as error:
        problems.take(_located(error, profile.file, "tag 'wtpt'"))
        return np.eye(3)
    # Many writers put D50 here whatever the display's white is, and say nothing of the adaptation.
    notes.append(
        Note(
            "assumed",
            "the profile does not say how its display's white was adapted; its white is taken to be D50",
            file=profile.file,
            mend="give readings of the display if its white is another",
        )
    )
    return np.eye(3)


def _matrix_model(
    profile: Profile, to_own: Array, luminance: float, problems: Problems, notes: list[Note]
) -> MatrixModel | None:
    if not any(profile.has(tag) for tag in (*_COLORANTS, *_CURVES)):
        problems.add(
            "neither a matrix with tone curves nor tables; tags are " + " ".join(profile.tags),
            expected="rXYZ gXYZ bXYZ rTRC gTRC bTRC, or A2B0",
            mend="export the profile again",
        )
        return None
    colorants: list[Array] = []
    curves: list[ToneCurve] = []
    for tag in _COLORANTS:
        try:
            colorants.append(profile.xyz(tag))
        except InputError as error:
            problems.take(error)
    for tag in _CURVES:
        try:
            curves.append(profile.curve(tag, notes))
        except InputError as error:
            problems.take(error)
    if problems:
        return None
    sum_of_three = np.sum(colorants, axis=0)
    if np.abs(sum_of_three - D50_PCS).max() > _WHITE_OFF:
        notes.append(
            Note(
                "odd",
                "red, green and blue add up to XYZ "
                + " ".join(f"{value:.4f}" for value in sum_of_three)
                + ", not to D50 (0.9642 1 0.8249): the display's white is theirs",
                file=profile.file,
            )
        )
    matrix = to_own @ np.stack(colorants, axis=1)
    try:
        model = MatrixModel(ChannelCurves(*curves), matrix)
        return model.scaled(luminance / float(model.to_xyz(np.ones((1, 3)))[0, 1]))
    except InputError as error:
        problems.take(_located(error, profile.file))
        return None


def _table_model(profile: Profile, to_own: Array, luminance: float, notes: list[Note]) -> TableModel:
    """The profile's tables read over a lattice by LittleCMS, in double precision."""
    from screenproof.formats.icc_tables import connection_xyz

    if not profile.has("A2B1"):
        notes.append(
            Note(
                "info",
                "the profile has one table (A2B0) for all intents; it is taken for colorimetric",
                file=profile.file,
            )
        )
    steps = _TABLE_AXIS.size
    nodes = np.stack(np.meshgrid(*[_TABLE_AXIS] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
    xyz = np.maximum(connection_xyz(profile, nodes) @ to_own.T, 0.0)
    try:
        model = TableModel((_TABLE_AXIS,) * 3, xyz.reshape(steps, steps, steps, 3))
    except InputError as error:
        raise _located(error, profile.file) from None
    return model.scaled(luminance / float(model.to_xyz(np.ones((1, 3)))[0, 1]))
