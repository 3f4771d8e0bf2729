"""ICC profiles of displays, version 4.4: matrix and tone curves where the display is additive, else tables.

XYZ = M (g(d) + k) is a matrix display with black: the black is written into the tone curves' foot, which is
exact as long as the black is a mixture of the primaries. What has no such form (hybrid log-gamma, a table of
readings) is written as A2B0 and B2A0 tables. Room light is left out: a profile is of the display. ICC.1:2022.
"""

from __future__ import annotations

import datetime
import os
import struct
from pathlib import Path
from typing import cast

import numpy as np
from numpy.typing import ArrayLike

from screenproof.additive import ChannelCurves, ColourModel, Display, EmissionModel, MatrixModel, ToneCurve
from screenproof.additive.curves import Bt1886, Power, SrgbCurve
from screenproof.additive.parametric import ParametricCurve
from screenproof.appearance import adaptation_matrix
from screenproof.formats._write import write_beside
from screenproof.formats.icc_tags import D50_PCS, identity_of
from screenproof.spectra import Array, observer

_VERSION = 0x04400000
_CURVE_ENTRIES = 4096
_COPYRIGHT = "No copyright. Made from the display's own figures."


def profile_bytes(display: Display) -> bytes:
    """The bytes of an ICC v4 profile of ``display``, as the 1931 observer sees it, without the room.

    Tone curves that are a power, sRGB, BT.1886 or parametric are written as such, others as 4096 entries of 16
    bits. The date in the header is now, or SOURCE_DATE_EPOCH where that is set, so that a build can be repeated.
    """
    who = observer("cie1931")
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
        return _assembled(tags, b"XYZ ")
    from screenproof.formats.icc_tables import table_tags

    return _assembled(tags | table_tags(model, to_pcs / white[1]), b"Lab ")


def write_profile(display: Display, path: str | Path, *, force: bool = False) -> Path:
    """Write :func:`profile_bytes` to ``path``; InputError when the file exists and ``force`` is not given."""
    return write_beside(path, profile_bytes(display), force=force)


def _matrix_tags(model: MatrixModel, to_pcs: Array) -> dict[str, bytes]:
    # The foot of each channel's curve: the share of the primaries that the black is made of.
    foot = np.maximum(np.linalg.solve(model.matrix, model.black), 0.0)
    curves = cast(ChannelCurves, model.curves)
    # A curve that ends above or below 1 is written ending at 1, its colorant taking the rest.
    ends = curves.forward(np.ones(3))
    colorants = _rounded_to_white(to_pcs @ (model.matrix * (ends + foot)))
    names = "rgb"
    tags = {f"{c}XYZ": b"XYZ " + bytes(4) + colorants[:, i].astype(">i4").tobytes() for i, c in enumerate(names)}
    tags |= {f"{c}TRC": _curve(curves[i], float(foot[i]), float(ends[i])) for i, c in enumerate(names)}
    return tags


def _rounded_to_white(colorants: Array) -> Array:
    """Columns as s15Fixed16 integers (3, 3) whose sum is that of the white, so that white stays neutral.

    Rounded one by one, the three add up to within 1.5 units of D50; the largest of each row takes the difference.
    """
    whole = np.round(colorants * 65536.0)
    wanted = np.round(colorants.sum(axis=1) * 65536.0)
    for row in range(3):
        whole[row, np.argmax(np.abs(whole[row]))] += wanted[row] - whole[row].sum()
    return np.asarray(whole)


def _curve(curve: ToneCurve, foot: float, end: float = 1.0) -> bytes:
    """(g(d) + foot) / (end + foot): a parametric curve where the curve has that form, else 4096 samples."""
    scale, lift = 1.0 / (end + foot), foot / (end + foot)
    form: tuple[float, ...] | None = None
    if isinstance(curve, Power):
        form = (curve.gamma, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    elif isinstance(curve, SrgbCurve):
        # IEC 61966-2-1:1999 in the form of type 4.
        form = (2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045, 0.0, 0.0)
    elif isinstance(curve, Bt1886):
        # (a (V + b)^2.4 - Lb) / (Lw - Lb) with the a and b of ITU-R BT.1886:2011, Annex 1.
        span = curve.lw - curve.lb
        root = curve.lw ** (1 / 2.4) - curve.lb ** (1 / 2.4)
        form = (2.4, root / span ** (1 / 2.4), (curve.lb / span) ** (1 / 2.4), 0.0, 0.0, -curve.lb / span, 0.0)
    elif isinstance(curve, ParametricCurve):
        form = (curve.g, curve.a, curve.b, curve.c, curve.d, curve.e, curve.f)
    if form is None:
        drive = np.linspace(0.0, 1.0, _CURVE_ENTRIES)
        light = np.clip(curve.forward(drive) * scale + lift, 0.0, 1.0)
        entries = np.round(light * 65535.0).astype(">u2").tobytes()
        return b"curv" + bytes(4) + struct.pack(">I", _CURVE_ENTRIES) + entries
    g, a, b, c, d, e, f = form
    if (a, b, d, e, lift, scale) == (1.0, 0.0, 0.0, 0.0, 0.0, 1.0):
        return b"para" + bytes(4) + struct.pack(">HH", 0, 0) + _fixed([g])
    gain = scale ** (1.0 / g)
    values = (g, a * gain, b * gain, c * scale, d, e * scale + lift, f * scale + lift)
    if (values[5], values[6]) == (0.0, 0.0) and d > 0:
        return b"para" + bytes(4) + struct.pack(">HH", 3, 0) + _fixed(values[:5])
    return b"para" + bytes(4) + struct.pack(">HH", 4, 0) + _fixed(values)


def _fixed(values: ArrayLike) -> bytes:
    return np.round(np.asarray(values, dtype=np.float64) * 65536.0).astype(">i4").tobytes()


def _xyz(values: ArrayLike) -> bytes:
    return b"XYZ " + bytes(4) + _fixed(values)


def _words(text: str) -> bytes:
    """A multiLocalizedUnicodeType with one entry, English (ICC.1:2022, 10.15)."""
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
    header = (
        struct.pack(">I4sI4s4s4s", start + len(body), bytes(4), _VERSION, b"mntr", b"RGB ", connection)
        + struct.pack(">6H", *_now().timetuple()[:6])
        + b"acsp"
        + bytes(24)
        + struct.pack(">I", 1)
        + _fixed(D50_PCS)
        + bytes(48)
    )
    data = header + struct.pack(">I", len(tags)) + table + body
    return data[:84] + identity_of(data) + data[100:]


def _now() -> datetime.datetime:
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    if epoch.isdigit():
        return datetime.datetime.fromtimestamp(int(epoch), datetime.UTC)
    return datetime.datetime.now(datetime.UTC)
