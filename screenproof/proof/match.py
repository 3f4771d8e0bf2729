"""The match: the drive values and the codes that show a sample on a display."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from screenproof.additive import Display
from screenproof.appearance import lab_de2000_shift, xyz_to_lab
from screenproof.errors import Note, bad
from screenproof.proof.nearest import nearest
from screenproof.proof.reach import Reach, reach_of
from screenproof.proof.viewing import Viewing
from screenproof.spectra import Array, Samples

BIT_DEPTHS = (8, 10, 12, 16)

_CHUNK = 32_768
# The code itself and its 26 neighbours, the nearest first, so that equals go to the plain rounding.
_NEIGHBOURS = np.array(sorted(product((-1, 0, 1), repeat=3), key=lambda step: sum(map(abs, step))))


@dataclass(frozen=True, eq=False)
class Match:
    """Samples matched on one display. Arrays have one row per sample.

    xyz, lab: of the sample under the viewing light, Y = 100 for the perfect diffuser, Lab relative to the
        light's white. target_xyz_cd: what the screen would have to show, XYZ in cd/m2.
    drive: (n, 3) in 0..1, exact when ``in_gamut``, else those of the nearest colour (smallest CIEDE2000).
    nearest_lab: the colour of ``drive`` in reference Lab; ``lab`` itself when in gamut.
    excess: CIEDE2000 between sample and ``nearest_lab``, exactly 0 when in gamut.
    code: (n, 3) integers at ``bits``; shown_lab: what they show, in reference Lab.
    residual: CIEDE2000 between the sample and ``shown_lab``.
    notes: what had to be assumed.
    """

    names: tuple[str, ...]
    display: str
    xyz: Array
    lab: Array
    target_xyz_cd: Array
    drive: Array
    code: NDArray[np.int64]
    bits: int
    in_gamut: NDArray[np.bool_]
    nearest_lab: Array
    excess: Array
    shown_lab: Array
    residual: Array
    notes: tuple[Note, ...] = ()

    def __len__(self) -> int:
        return len(self.names)


def check_bits(bits: int) -> None:
    """Raise InputError unless ``bits`` is a bit depth that codes come in."""
    if bits not in BIT_DEPTHS:
        raise bad(f"a bit depth of {bits}", field="bits", expected="one of " + ", ".join(map(str, BIT_DEPTHS)))


def seen_xyz(samples: Samples, viewing: Viewing) -> Array:
    """XYZ (n, 3) of the samples under the viewing light for its observer.

    Raises InputError for samples of colorimetry only under any but their own light and observer, and for
    samples with a value that is no number: they are named.
    """
    xyz = samples.xyz([viewing.light], [viewing.observer])[:, 0, 0]
    broken = ~np.isfinite(xyz).all(axis=1)
    if broken.any():
        names = ", ".join(repr(samples.names[i]) for i in np.flatnonzero(broken)[:5])
        raise bad(
            f"{int(broken.sum())} samples have a band that is no number: {names}",
            file=samples.source or None,
            expected="a reflectance in every band",
            mend="leave these samples out, or measure them again",
        )
    return xyz


def match(samples: Samples, display: Display, viewing: Viewing, bits: int = 8) -> Match:
    """Match samples on a display.

    The object's colour is put on the screen by the basis of ``viewing`` and the display's model is inverted.
    A colour that the display cannot show gets the drive values, inside the cube, of the colour nearest to it
    by CIEDE2000. The drive values are rounded to codes of ``bits``, and of the code and its 26 neighbours the
    one that looks nearest to the sample is kept.

    Raises InputError for another bit depth than 8, 10, 12, 16, for a camera as the viewing observer, and as
    :func:`seen_xyz` does.
    """
    check_bits(bits)
    if viewing.observer.kind == "camera":
        raise bad(
            "a camera cannot be the viewing observer: a match is made for an eye",
            field=f"observer {viewing.observer.name!r}",
            expected="cie1931, cie1964, cie2015-2 or cie2015-10",
            mend="match for an eye, and ask for the camera among the observers of the shift",
        )
    xyz = seen_xyz(samples, viewing)
    view = display.seen_by(viewing.observer)
    bridge = viewing.bridge(view)
    lab = xyz_to_lab(xyz, viewing.white)
    target = bridge.to_display(xyz)
    drive, inside = view.to_drive(target)
    reach = reach_of(view, bridge, viewing.white)
    nearest_lab, excess = lab.copy(), np.zeros(len(xyz))
    outside = np.flatnonzero(~inside)
    if outside.size:
        drive[outside], excess[outside] = nearest(lab[outside], reach)
        shown = bridge.to_reference(view.to_xyz(drive[outside]))
        nearest_lab[outside] = xyz_to_lab(shown, viewing.white)
    code, shown_lab, residual = round_to_code(drive, lab, reach, bits)
    return Match(
        names=samples.names,
        display=display.name,
        xyz=xyz,
        lab=lab,
        target_xyz_cd=target,
        drive=drive,
        code=code,
        bits=bits,
        in_gamut=np.asarray(inside),
        nearest_lab=nearest_lab,
        excess=excess,
        shown_lab=shown_lab,
        residual=residual,
        notes=(*view.notes, *bridge.notes),
    )


def round_to_code(drive: Array, lab: Array, reach: Reach, bits: int) -> tuple[NDArray[np.int64], Array, Array]:
    """Codes (n, 3) for drives (n, 3), the reference Lab (n, 3) that they show, and its distance to ``lab``.

    Of the rounded drive and its 26 neighbours in the code cube, the one with the smallest CIEDE2000 is kept.
    """
    top = 2**bits - 1
    code = np.empty(drive.shape, dtype=np.int64)
    shown = np.empty(drive.shape)
    residual = np.empty(drive.shape[0])
    for first in range(0, drive.shape[0], _CHUNK):
        part = slice(first, first + _CHUNK)
        plain = np.rint(drive[part] * top).astype(np.int64)
        tried = np.clip(plain[:, None, :] + _NEIGHBOURS, 0, top)
        xyz = reach.xyz_of_codes(tried, bits)
        distance = lab_de2000_shift(xyz, reach.white, lab[part])
        rows, best = np.arange(len(plain)), np.argmin(distance, axis=1)
        code[part], shown[part] = tried[rows, best], xyz_to_lab(xyz[rows, best], reach.white)
        residual[part] = distance[rows, best]
    return code, shown, residual
