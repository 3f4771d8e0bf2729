"""Writers for the demo's input files, plain and by the standards' words, so that they are as if from elsewhere.

They are kept apart from the package's own writers on purpose: a reader that only reads what its own writer
wrote has not been tried.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from invented_matter import Array

INVENTED = "Invented demo data: nothing here was measured, no real product, brand or person is meant."
MADE_BY = "made by profiles_demo/make_data.py"
DATE = "2026-10-05"


def _cell(text: str) -> str:
    """A name as a CSV field: in quotes where it has a comma."""
    return f'"{text}"' if "," in text else text


def csv_spectra(
    names: Sequence[str],
    wavelengths: Array,
    values: Array,
    header: Sequence[str],
    *,
    digits: int,
    by_row: bool = False,
    corner: str = "name",
    columns: Mapping[str, Sequence[str]] | None = None,
) -> str:
    """Spectra as CSV: one sample a line, or (``by_row``) one wavelength a line. ``values`` is (n, w).

    columns: more columns after the name, each with a field for every sample (one sample a line only).
    """
    lines = [f"# {INVENTED}", f"# {MADE_BY}", *(f"# {line}" for line in header)]
    if by_row:
        lines.append(",".join([corner, *map(_cell, names)]))
        table, heads = values.T, [f"{nm:g}" for nm in wavelengths]
        more: list[list[str]] = [[] for _ in heads]
    else:
        lines.append(",".join([corner, *(columns or {}), *(f"{nm:g}" for nm in wavelengths)]))
        table, heads = values, list(names)
        more = [[column[i] for column in (columns or {}).values()] for i in range(len(heads))]
    lines += [
        ",".join([_cell(head), *map(_cell, fields), *(f"{v:.{digits}f}" for v in row)])
        for head, fields, row in zip(heads, more, table, strict=True)
    ]
    return "\n".join(lines) + "\n"


def csv_readings(drive: Array, header: Sequence[str], columns: Sequence[str], values: Array, form: str) -> str:
    """Display readings as CSV: drive values R, G, B (0..255), then the columns. ``form`` formats a value."""
    lines = [
        f"# {INVENTED}",
        f"# {MADE_BY}",
        *(f"# {line}" for line in header),
        ",".join(["R", "G", "B", *columns]),
    ]
    for rgb, row in zip(drive, values, strict=True):
        lines.append(",".join([*(f"{d:.0f}" for d in rgb), *(format(v, form) for v in row)]))
    return "\n".join(lines) + "\n"


def csv_lab(names: Sequence[str], lab: Array, header: Sequence[str]) -> str:
    """Colorimetry as CSV: name, L, a, b."""
    lines = [f"# {INVENTED}", f"# {MADE_BY}", *(f"# {line}" for line in header), "name,L,a,b"]
    lines += [
        f"{_cell(name)},{row[0]:.2f},{row[1]:.2f},{row[2]:.2f}" for name, row in zip(names, lab, strict=True)
    ]
    return "\n".join(lines) + "\n"


def cgats(
    names: Sequence[str],
    wavelengths: Array,
    values: Array,
    keywords: Mapping[str, str],
    tints: Mapping[str, Sequence[float]] | None = None,
) -> str:
    """Spectra as ISO 28178 text with SPECTRAL_NM fields; ``values`` are fractions, (n, w).

    tints: device fields (CMYK_C and so on) in percent, one number for every sample.
    """
    lines = ["ISO28178", f"# {INVENTED}", f"# {MADE_BY}"]
    lines += [f'{key}\t"{value}"' for key, value in keywords.items()]
    fields = ["SAMPLE_ID", "SAMPLE_NAME", *(tints or {}), *(f"SPECTRAL_NM{nm:.0f}" for nm in wavelengths)]
    lines += [f"NUMBER_OF_FIELDS\t{len(fields)}", "BEGIN_DATA_FORMAT", "\t".join(fields), "END_DATA_FORMAT"]
    lines += [f"NUMBER_OF_SETS\t{len(names)}", "BEGIN_DATA"]
    for number, (name, row) in enumerate(zip(names, values, strict=True), start=1):
        device = [f"{column[number - 1]:g}" for column in (tints or {}).values()]
        lines.append("\t".join([str(number), f'"{name}"', *device, *(f"{v:.4f}" for v in row)]))
    return "\n".join([*lines, "END_DATA"]) + "\n"


def cxf3(
    names: Sequence[str], wavelengths: Array, values: Array, description: str, backing: str, substrate: str
) -> str:
    """Reflectance spectra as CxF3 (ISO 17972-1), 45 degree annular illumination, M1; fractions, (n, w)."""
    when = f"{DATE}T09:00:00+00:00"
    start, stride = int(wavelengths[0]), int(wavelengths[1] - wavelengths[0])
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f"<!-- {INVENTED} {MADE_BY} -->",
        '<CxF xmlns="http://colorexchangeformat.com/CxF3-core">',
        "<FileInformation>",
        f"<Creator>{escape(MADE_BY)}</Creator>",
        f"<CreationDate>{when}</CreationDate>",
        f"<Description>{escape(description)}</Description>",
        f"<Comment>{escape(INVENTED)}</Comment>",
        "</FileInformation>",
        "<Resources>",
        "<ObjectCollection>",
    ]
    for number, (name, row) in enumerate(zip(names, values, strict=True), start=1):
        kind = "Substrate" if name == substrate else "Standard"
        lines += [
            f'<Object ObjectType="{kind}" Name={quoteattr(name)} Id="O{number}">',
            f"<CreationDate>{when}</CreationDate>",
            "<ColorValues>",
            f'<ReflectanceSpectrum StartWL="{start}" ColorSpecification="M1">'
            + " ".join(f"{v:.4f}" for v in row)
            + "</ReflectanceSpectrum>",
            "</ColorValues>",
            "</Object>",
        ]
    lines += [
        "</ObjectCollection>",
        "<ColorSpecificationCollection>",
        '<ColorSpecification Id="M1">',
        "<MeasurementSpec>",
        "<MeasurementType>Spectrum_Reflectance</MeasurementType>",
        "<GeometryChoice><SingleAngle>"
        "<SingleAngleConfiguration>Annular</SingleAngleConfiguration>"
        "<IlluminationAngle>45</IlluminationAngle><MeasurementAngle>0</MeasurementAngle>"
        "</SingleAngle></GeometryChoice>",
        f'<WavelengthRange StartWL="{start}" Increment="{stride}"/>',
        f"<Backing>{escape(backing)}</Backing>",
        "<Device>",
        "<Model>invented 45:0 spectrophotometer</Model>",
        "<DeviceIllumination>M1_Daylight</DeviceIllumination>",
        "</Device>",
        "</MeasurementSpec>",
        "</ColorSpecification>",
        "</ColorSpecificationCollection>",
        "</Resources>",
        "</CxF>",
    ]
    return "\n".join(lines) + "\n"


def spdx(wavelengths: Array, power: Array, description: str) -> str:
    """A lamp's spectrum as IES TM-27-14 XML."""
    lines = [
        '<?xml version="1.0" encoding="utf-8"?>',
        f"<!-- {INVENTED} {MADE_BY} -->",
        '<IESTM2714 xmlns="iestm2714" version="1.0">',
        "<Header>",
        "<Manufacturer>invented</Manufacturer>",
        "<CatalogNumber>N/A</CatalogNumber>",
        f"<Description>{escape(description)}</Description>",
        f"<DocumentCreator>{escape(MADE_BY)}</DocumentCreator>",
        "<UniqueIdentifier>invented-set-panel-1</UniqueIdentifier>",
        "<Laboratory>none</Laboratory>",
        "<ReportNumber>N/A</ReportNumber>",
        f"<ReportDate>{DATE}</ReportDate>",
        f"<DocumentCreationDate>{DATE}</DocumentCreationDate>",
        f"<Comments>{escape(INVENTED)}</Comments>",
        "</Header>",
        "<SpectralDistribution>",
        "<SpectralQuantity>relative</SpectralQuantity>",
        "<BandwidthFWHM>2.0</BandwidthFWHM>",
        "<BandwidthCorrected>true</BandwidthCorrected>",
    ]
    lines += [
        f'<SpectralData wavelength="{nm:.1f}">{v:.5f}</SpectralData>'
        for nm, v in zip(wavelengths, power, strict=True)
    ]
    return "\n".join([*lines, "</SpectralDistribution>", "</IESTM2714>"]) + "\n"


def _fixed(*values: float) -> bytes:
    return struct.pack(f">{len(values)}i", *(round(v * 65536) for v in values))


def _words(text: str) -> bytes:
    body = text.encode("utf-16-be")
    return b"mluc" + bytes(4) + struct.pack(">2I2s2s2I", 1, 12, b"en", b"US", len(body), 28) + body


def icc_matrix_profile(description: str, primaries: Array, white: Array, luminance: float, curves: Array) -> bytes:
    """An ICC v4 matrix/TRC display profile (ICC.1:2022) from XYZ of the primaries and the white, Y of white 1.

    ``primaries`` (3, 3) has one primary a row; ``curves`` (3, k) are sampled tone curves 0..1. Colours go to
    the D50 of the connection space by the linear Bradford transform, which the 'chad' tag records.
    """
    bradford = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
    d50 = np.array([0.9642, 1.0, 0.8249])
    chad = np.linalg.inv(bradford) @ np.diag((bradford @ d50) / (bradford @ white)) @ bradford
    adapted = primaries @ chad.T
    tags: list[tuple[bytes, bytes]] = [
        (b"desc", _words(description)),
        (b"cprt", _words(f"{INVENTED} No rights reserved.")),
        (b"wtpt", b"XYZ " + bytes(4) + _fixed(*d50)),
        (b"chad", b"sf32" + bytes(4) + _fixed(*chad.ravel())),
        (b"lumi", b"XYZ " + bytes(4) + _fixed(0, luminance, 0)),
    ]
    tags += [
        (name, b"XYZ " + bytes(4) + _fixed(*row))
        for name, row in zip((b"rXYZ", b"gXYZ", b"bXYZ"), adapted, strict=True)
    ]
    for name, curve in zip((b"rTRC", b"gTRC", b"bTRC"), curves, strict=True):
        steps = np.round(curve * 65535).astype(int)
        tags.append((name, b"curv" + bytes(4) + struct.pack(f">I{len(steps)}H", len(steps), *steps)))
    offset = 128 + 4 + 12 * len(tags)
    table, body = struct.pack(">I", len(tags)), b""
    for name, data in tags:
        padded = data + bytes(-len(data) % 4)
        table += name + struct.pack(">2I", offset + len(body), len(data))
        body += padded
    year, month, day = (int(part) for part in DATE.split("-"))
    header = struct.pack(
        ">I4s4s4s4s4s6H4s4s4s4s4s8s4s",
        offset + len(body),
        bytes(4),
        b"\x04\x40\x00\x00",
        b"mntr",
        b"RGB ",
        b"XYZ ",
        year,
        month,
        day,
        9,
        0,
        0,
        b"acsp",
        bytes(4),
        bytes(4),
        bytes(4),
        bytes(4),
        bytes(8),
        bytes(4),
    )
    header += _fixed(*d50)
    return header + bytes(128 - len(header)) + table + body
