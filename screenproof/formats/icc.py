"""Displays from ICC profiles: matrix and tone curves read here, tables through LittleCMS.

A profile speaks of colours adapted to D50, the white of its connection space. A display's own white comes back
through the profile's 'chad' matrix, or, in version 2, by Bradford adaptation to its 'wtpt' (ICC.1:2022, annexes E
and F).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from screenproof.additive import ChannelCurves, Display, MatrixModel, ProfileModel
from screenproof.appearance import adaptation_matrix
from screenproof.errors import InputError, Note, bad
from screenproof.formats.icc_tags import Profile
from screenproof.formats.icc_write import profile_bytes, write_profile
from screenproof.spectra import Array

__all__ = ["D50_PCS", "profile_bytes", "read_profile", "write_profile"]

D50_PCS = np.array([0.9642, 1.0, 0.8249])
"""XYZ of the connection space's white, ICC.1:2022, 7.2.16."""

DEFAULT_LUMINANCE = 100.0
_COLORANTS = ("rXYZ", "gXYZ", "bXYZ")
_CURVES = ("rTRC", "gTRC", "bTRC")
_TABLE_STEPS = 33


def read_profile(path: str | Path) -> Display:
    """The display that an ICC profile of version 2 or 4 describes.

    A matrix/TRC profile becomes a matrix display, exactly as its numbers say. A profile with tables (A2B) goes
    through LittleCMS in double precision, relative colorimetric, once over a lattice of 33 drives a channel.
    Its luminance is the 'lumi' tag, or 100 cd/m2 with a note that this was assumed.

    Raises InputError for a file that is no profile, is cut short or damaged, or is not of an RGB display.
    """
    profile = Profile.read(path)
    if profile.colour_space != "RGB":
        raise bad(
            f"a profile for {profile.colour_space or 'no'} colours",
            file=path,
            expected="the profile of a display: RGB",
            mend="a press or printer is no display; name the profile of your screen",
        )
    if profile.device_class not in ("mntr", "spac", "scnr"):
        raise bad(
            f"a profile of class {profile.device_class!r}",
            file=path,
            expected="a display's profile (class 'mntr')",
            mend="name the profile of your screen",
        )
    notes: list[Note] = []
    to_own = _own_white(profile, notes)
    luminance = DEFAULT_LUMINANCE
    if profile.has("lumi"):
        luminance = float(profile.xyz("lumi")[1])
        if not luminance > 0:
            raise profile.fault("lumi", f"a luminance of {luminance:g} cd/m2", "a luminance above 0 cd/m2")
    else:
        notes.append(
            Note(
                "assumed",
                f"the profile does not say how bright the display is; {DEFAULT_LUMINANCE:g} cd/m2 is taken",
                file=str(path),
                mend="give luminance = ... cd/m2 with the display",
            )
        )
    label = profile.text("desc") or Path(path).stem
    if profile.has("A2B0") or profile.has("A2B1"):
        table = _table_model(profile, to_own, luminance).as_table(_TABLE_STEPS)
        return Display(Path(path).stem, label, "profile", table, notes=tuple(notes), source=str(path))
    missing = [tag for tag in (*_COLORANTS, *_CURVES) if not profile.has(tag)]
    if missing:
        raise bad(
            f"neither a matrix with tone curves nor tables: {', '.join(missing)} missing",
            file=path,
            expected="rXYZ gXYZ bXYZ rTRC gTRC bTRC, or A2B0",
            mend="export the profile again",
        )
    red, green, blue = (profile.curve(tag) for tag in _CURVES)
    matrix = to_own @ np.stack([profile.xyz(tag) for tag in _COLORANTS], axis=1)
    # The curves' ends are what the profile says of black and white: a curve may begin above 0.
    white = float(matrix.sum(axis=1)[1])
    try:
        model = MatrixModel(ChannelCurves(red, green, blue), matrix * (luminance / white))
        return Display(Path(path).stem, label, "profile", model, notes=tuple(notes), source=str(path))
    except InputError as error:
        first = error.problems[0]
        raise bad(first.what, file=path, field=first.field, expected=first.expected, mend=first.mend) from None


def _own_white(profile: Profile, notes: list[Note]) -> Array:
    """Matrix (3, 3) from the connection space back to the display's own white."""
    if profile.has("chad"):
        adapted = profile.matrix("chad")
        if abs(np.linalg.det(adapted)) < 1e-3:
            raise profile.fault("chad", "a matrix that cannot be inverted")
        return np.asarray(np.linalg.inv(adapted))
    if not profile.has("wtpt"):
        notes.append(
            Note("assumed", "the profile does not say its display's white; D50 is taken", file=profile.file)
        )
        return np.eye(3)
    white = profile.xyz("wtpt")
    if not (white > 0).all():
        raise profile.fault("wtpt", f"a white of {white}", "XYZ above 0")
    white = white / white[1]
    if np.abs(white - D50_PCS).max() < 2e-3 and profile.device_class == "mntr":
        notes.append(
            Note(
                "assumed",
                "the profile says D50 for its display's white, as some writers do whatever the white is",
                file=profile.file,
                mend="give readings of the display if its white is another",
            )
        )
    return np.asarray(adaptation_matrix(D50_PCS, white, "bradford"))


def _table_model(profile: Profile, to_own: Array, luminance: float) -> ProfileModel:
    """The profile's tables through LittleCMS, in double precision."""
    import imagecodecs
    from PIL import ImageCms

    pcs = ImageCms.ImageCmsProfile(ImageCms.createProfile("XYZ")).tobytes()

    def send(values: Array, source: bytes, target: bytes, spaces: tuple[str, str]) -> Array:
        try:
            sent = imagecodecs.cms_transform(
                np.ascontiguousarray(values[None]),
                source,
                target,
                colorspace=spaces[0],
                outcolorspace=spaces[1],
                outdtype="f8",
                intent=1,
            )
        except (RuntimeError, ValueError) as error:
            raise bad(
                f"LittleCMS cannot use the profile's tables: {error}",
                file=profile.file,
                mend="export the profile again, or as a matrix profile",
            ) from None
        return np.asarray(sent, dtype=np.float64).reshape(-1, 3)

    def forward(drive: Array) -> Array:
        return send(drive, profile.data, pcs, ("rgb", "xyz")) @ to_own.T * gain

    def backward(xyz: Array) -> Array:
        relative = xyz / gain @ np.linalg.inv(to_own).T
        return np.clip(send(relative, pcs, profile.data, ("xyz", "rgb")), 0.0, 1.0)

    gain = 1.0
    gain = luminance / float(forward(np.ones((1, 3)))[0, 1])
    return ProfileModel(forward, backward)
