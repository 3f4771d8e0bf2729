"""The tables of ICC profiles: read through LittleCMS, made for displays that have no matrix."""

from __future__ import annotations

import struct

import numpy as np

from screenproof.additive import ColourModel
from screenproof.appearance import lab_to_xyz, xyz_to_lab
from screenproof.errors import bad
from screenproof.formats.icc_tags import D50_PCS, DAMAGED, Profile
from screenproof.spectra import Array

RELATIVE_COLORIMETRIC = 1
STEPS = 33
_SURFACE_STEPS = 65
# Nodes of the table that lie farther than this from every colour of the display are no neighbours of one.
_FAR = 12.0


def connection_xyz(profile: Profile, drive: Array) -> Array:
    """XYZ (n, 3) in the connection space, D50 with Y = 1 for white, of drives (n, 3), by LittleCMS in doubles.

    Colorimetric: A2B1 where the profile has it, else A2B0. Raises InputError when LittleCMS cannot use it.
    """
    # Pillow's binding to LittleCMS takes 8 bits a channel: too coarse for drive values.
    import imagecodecs
    from PIL import ImageCms

    target = ImageCms.ImageCmsProfile(ImageCms.createProfile("XYZ")).tobytes()
    try:
        sent = imagecodecs.cms_transform(
            np.ascontiguousarray(drive[None], dtype=np.float64),
            profile.data,
            target,
            colorspace="rgb",
            outcolorspace="xyz",
            outdtype="f8",
            intent=RELATIVE_COLORIMETRIC,
        )
    except (RuntimeError, ValueError) as error:
        raise bad(
            f"LittleCMS cannot use the profile's tables ({error})", file=profile.file, mend=DAMAGED
        ) from None
    xyz = np.asarray(sent, dtype=np.float64).reshape(-1, 3)
    if not np.isfinite(xyz).all():
        raise bad("the profile's tables give values that are no numbers", file=profile.file, mend=DAMAGED)
    return xyz


def table_tags(model: ColourModel, to_pcs: Array) -> dict[str, bytes]:
    """A2B0 and B2A0 of a display as lut16 elements (ICC.1:2022, 10.10), over 33 steps of drive and of CIELAB.

    model: the display. to_pcs: (3, 3) from its XYZ to the connection space. Lut16 elements hold CIELAB in the
    encoding of version 2 (10.10, table 42): L* 100 is 65280. Colours that the display cannot show are given the
    drive of the nearest one on its surface.
    """
    white = D50_PCS * 100.0
    axis = np.linspace(0.0, 1.0, STEPS)
    drives = _cube(axis, axis, axis)
    lab = xyz_to_lab(model.to_xyz(drives) @ to_pcs.T * 100.0, white)
    full = 65535.0 / 65280.0
    nodes = _cube(axis * 100.0 * full, axis * 255.0 * full - 128.0, axis * 255.0 * full - 128.0)
    encoded = np.stack([lab[:, 0] / 100.0, (lab[:, 1] + 128.0) / 255.0, (lab[:, 2] + 128.0) / 255.0], axis=-1)
    return {
        "A2B0": _lut16(encoded / full),
        "B2A0": _lut16(_drives_of(model, nodes, lab, to_pcs)),
    }


def _drives_of(model: ColourModel, nodes: Array, shown: Array, to_pcs: Array) -> Array:
    """Drives (m, 3) of CIELAB nodes: exact inside the gamut, else of the nearest colour on its surface.

    shown: CIELAB of the display's own lattice, which tells nodes far outside from those worth solving.
    """
    from scipy.spatial import cKDTree

    white = D50_PCS * 100.0
    axis = np.linspace(0.0, 1.0, _SURFACE_STEPS)
    cube = _cube(axis, axis, axis)
    surface = cube[((cube == 0.0) | (cube == 1.0)).any(axis=1)]
    outer = cKDTree(xyz_to_lab(model.to_xyz(surface) @ to_pcs.T * 100.0, white))
    drive = surface[outer.query(nodes)[1]]
    near = np.flatnonzero(cKDTree(shown).query(nodes, distance_upper_bound=_FAR)[0] < _FAR)
    wanted = lab_to_xyz(nodes[near], white) / 100.0 @ np.linalg.inv(to_pcs).T
    solved, inside = model.to_drive(wanted)
    drive[near[inside]] = solved[inside]
    return np.asarray(np.clip(drive, 0.0, 1.0))


def _cube(first: Array, second: Array, third: Array) -> Array:
    return np.stack(np.meshgrid(first, second, third, indexing="ij"), axis=-1).reshape(-1, 3)


def _lut16(values: Array) -> bytes:
    head = b"mft2" + bytes(4) + struct.pack(">BBBx", 3, 3, STEPS)
    unit = np.round(np.eye(3).ravel() * 65536.0).astype(">i4").tobytes()
    straight = _u16(np.array([0.0, 1.0] * 3))
    return head + unit + struct.pack(">HH", 2, 2) + straight + _u16(np.clip(values, 0.0, 1.0).ravel()) + straight


def _u16(values: Array) -> bytes:
    return np.round(values * 65535.0).astype(">u2").tobytes()
