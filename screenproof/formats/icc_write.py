"""ICC profiles of displays, version 4.4: matrix and tone curves where the display is additive, else tables.

XYZ = M (g(d) + k) is a matrix display with black: the black is written into the tone curves' foot, which is
exact as long as the black is a mixture of the primaries. What has no such form (hybrid log-gamma, a table of
readings) is written as A2B0 and B2A0 tables over 33 drives and 33 steps of CIELAB a channel: measured on HLG, that
is within 0.1 CIEDE2000 in the mean and 3.4 at worst, near black. Room light is left out: a profile is of the
display. ICC.1:2022.
"""

from __future__ import annotations

import datetime
import hashlib
import os
import struct
from pathlib import Path
from typing import cast

import numpy as np
from numpy.typing import ArrayLike

from screenproof.additive import ChannelCurves, ColourModel, Display, EmissionModel, MatrixModel, ToneCurve
from screenproof.additive.curves import Power, SrgbCurve
from screenproof.additive.parametric import ParametricCurve
from screenproof.appearance import adaptation_matrix, lab_to_xyz, xyz_to_lab
from screenproof.formats._write import write_beside
from screenproof.spectra import Array, observer

D50_PCS = np.array([0.9642, 1.0, 0.8249])
_VERSION = 0x04400000
_CURVE_ENTRIES = 4096
_STEPS = 33
_COPYRIGHT = "No copyright. Made from the display's own figures."


def profile_bytes(display: Display) -> bytes:
    """The bytes of an ICC v4 profile of ``display``, as the 1931 observer sees it, without the room.

    The date in the header is now, or SOURCE_DATE_EPOCH where that is set, so that a build can be repeated.
    """
    who = observer("1931-2")
    model: ColourModel = (
        cast(EmissionModel, display.model).seen_by(who) if display.spectral else cast(ColourModel, display.model)
    )
    white = model.to_xyz(np.ones((1, 3)))[0]
    to_pcs = adaptation_matrix(white / white[1], D50_PCS, "bradford")
    tags: dict[str, bytes] = {
        "desc": _words(display.label or display.name),
        "cprt": _words(_COPYRIGHT),
        "wtpt": _xyz(D50_PCS),
        "chad": b"sf32" + bytes(4) + _fixed(to_pcs.ravel()),
        "lumi": _xyz([0.0, white[1], 0.0]),
    }
    if isinstance(model, MatrixModel) and isinstance(model.curves, ChannelCurves):
        tags |= _matrix_tags(model, to_pcs / white[1])
        connection = b"XYZ "
    else:
        tags |= _table_tags(model, to_pcs / white[1])
        connection = b"Lab "
    return _assembled(tags, connection)


def write_profile(display: Display, path: str | Path, *, force: bool = False) -> Path:
    """Write :func:`profile_bytes` to ``path``; InputError when the file exists and ``force`` is not given."""
    return write_beside(path, profile_bytes(display), force=force)


def _matrix_tags(model: MatrixModel, to_pcs: Array) -> dict[str, bytes]:
    # The foot of each channel's curve: the share of the primaries that the black is made of.
    foot = np.maximum(np.linalg.solve(model.matrix, model.black), 0.0)
    colorants = to_pcs @ (model.matrix * (1.0 + foot))
    names = "rgb"
    curves = cast(ChannelCurves, model.curves)
    tags = {f"{c}XYZ": _xyz(colorants[:, i]) for i, c in enumerate(names)}
    tags |= {f"{c}TRC": _curve(curves[i], float(foot[i])) for i, c in enumerate(names)}
    return tags


def _curve(curve: ToneCurve, foot: float) -> bytes:
    """(g(d) + foot) / (1 + foot): a parametric curve where the curve has that form, else 4096 samples."""
    scale, lift = 1.0 / (1.0 + foot), foot / (1.0 + foot)
    form: tuple[float, ...] | None = None
    if isinstance(curve, Power):
        form = (curve.gamma, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    elif isinstance(curve, SrgbCurve):
        # IEC 61966-2-1:1999 in the form of type 4.
        form = (2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045, 0.0, 0.0)
    elif isinstance(curve, ParametricCurve):
        form = (curve.g, curve.a, curve.b, curve.c, curve.d, curve.e, curve.f)
    if form is None:
        drive = np.linspace(0.0, 1.0, _CURVE_ENTRIES)
        light = np.clip(curve.forward(drive) * scale + lift, 0.0, 1.0)
        return b"curv" + bytes(4) + struct.pack(">I", _CURVE_ENTRIES) + _u16(light)
    g, a, b, c, d, e, f = form
    root = scale ** (1.0 / g)
    values = (g, a * root, b * root, c * scale, d, e * scale + lift, f * scale + lift)
    if foot == 0.0 and (a, b, d, e) == (1.0, 0.0, 0.0, 0.0):
        return b"para" + bytes(4) + struct.pack(">HH", 0, 0) + _fixed([g])
    return b"para" + bytes(4) + struct.pack(">HH", 4, 0) + _fixed(values)


def _table_tags(model: ColourModel, to_pcs: Array) -> dict[str, bytes]:
    """A2B0 and B2A0 as lut16 elements (ICC.1:2022, 10.12); their CIELAB is in the encoding of version 2."""
    white = D50_PCS * 100.0
    axis = np.linspace(0.0, 1.0, _STEPS)
    drives = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    lab = xyz_to_lab(model.to_xyz(drives) @ to_pcs.T * 100.0, white)
    full = 65535.0 / 65280.0
    lattice = np.stack(
        np.meshgrid(axis * 100.0 * full, axis * 255.0 * full - 128.0, axis * 255.0 * full - 128.0, indexing="ij"),
        axis=-1,
    ).reshape(-1, 3)
    wanted = lab_to_xyz(lattice, white) / 100.0 @ np.linalg.inv(to_pcs).T
    back, _ = model.to_drive(wanted)
    encoded = np.stack([lab[:, 0] / 100.0, (lab[:, 1] + 128.0) / 255.0, (lab[:, 2] + 128.0) / 255.0], axis=-1)
    return {
        "A2B0": _lut16(encoded * (65280.0 / 65535.0)),
        "B2A0": _lut16(np.clip(back, 0.0, 1.0)),
    }


def _lut16(values: Array) -> bytes:
    head = b"mft2" + bytes(4) + struct.pack(">BBBx", 3, 3, _STEPS) + _fixed(np.eye(3).ravel())
    straight = _u16(np.array([0.0, 1.0] * 3))
    return head + struct.pack(">HH", 2, 2) + straight + _u16(np.clip(values, 0.0, 1.0).ravel()) + straight


def _u16(values: Array) -> bytes:
    return np.round(values * 65535.0).astype(">u2").tobytes()


def _fixed(values: ArrayLike) -> bytes:
    return np.round(np.asarray(values, dtype=np.float64) * 65536.0).astype(">i4").tobytes()


def _xyz(values: ArrayLike) -> bytes:
    return b"XYZ " + bytes(4) + _fixed(values)


def _words(text: str) -> bytes:
    """A multiLocalizedUnicodeType with one entry, English."""
    encoded = text.encode("utf-16-be")
    return b"mluc" + bytes(4) + struct.pack(">II4sII", 1, 12, b"enUS", len(encoded), 28) + encoded


def _assembled(tags: dict[str, bytes], connection: bytes) -> bytes:
    """Header, tag table and elements on 4-byte boundaries, with the profile ID of ICC.1:2022, 7.2.18."""
    table, body = b"", b""
    start = 128 + 4 + 12 * len(tags)
    placed: dict[bytes, tuple[int, int]] = {}
    for signature, element in tags.items():
        if element not in placed:
            placed[element] = (start + len(body), len(element))
            body += element + bytes(-len(element) % 4)
        table += signature.encode("ascii") + struct.pack(">II", *placed[element])
    epoch = os.environ.get("SOURCE_DATE_EPOCH")
    utc = datetime.UTC
    now = datetime.datetime.fromtimestamp(int(epoch), utc) if epoch else datetime.datetime.now(utc)
    size = start + len(body)

    def header(flags_to_id: bytes) -> bytes:
        date = struct.pack(">6H", now.year, now.month, now.day, now.hour, now.minute, now.second)
        return (
            struct.pack(">I4sI4s4s4s", size, bytes(4), _VERSION, b"mntr", b"RGB ", connection)
            + date
            + b"acsp"
            + bytes(24)
            + struct.pack(">I", 1)
            + _fixed(D50_PCS)
            + bytes(4)
            + flags_to_id
            + bytes(28)
        )

    # The ID is the MD5 of the profile with flags, rendering intent and ID set to zero.
    rest = struct.pack(">I", len(tags)) + table + body
    plain = bytearray(header(bytes(16)) + rest)
    plain[44:48], plain[64:68] = bytes(4), bytes(4)
    identity = hashlib.md5(bytes(plain), usedforsecurity=False).digest()
    return header(identity) + rest
