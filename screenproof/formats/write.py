"""Samples out: CSV and CGATS (ISO 28178) here, CxF3 and JSON in their own modules.

Every number is written so that it reads back as the same double, save where a format has its own scale (tints
in percent, drive values to 255): there it is the same to 1e-15. What is known of the doubt of the readings is kept
whole by JSON; CSV and CGATS have one repeatability a row, CxF3 one a file, and the fewest readings of any.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from screenproof.errors import InputError, bad
from screenproof.formats._doubt import doubt_columns, doubt_statements
from screenproof.formats._stated import light_of
from screenproof.formats._write import write_beside
from screenproof.formats.json_samples import samples_json
from screenproof.spectra import Array, Samples, observer_names

SUFFIXES = {".csv": "csv", ".cgats": "cgats", ".txt": "cgats", ".cxf": "cxf", ".json": "json"}
"""What is written for a file name's ending."""


def write_samples(samples: Samples, path: str | Path, *, force: bool = False) -> Path:
    """Write ``samples`` as CSV (.csv), CGATS (.cgats, .txt), CxF3 (.cxf) or JSON (.json) and give the path back.

    An existing file is refused unless ``force``. Raises InputError for another ending, and for samples that
    the format cannot hold.
    """
    suffix = Path(path).suffix.lower()
    kind = SUFFIXES.get(suffix)
    if kind is None:
        raise bad(
            f"no format is written for the ending {suffix!r}" if suffix else "the file name has no ending",
            file=path,
            expected=", ".join(SUFFIXES),
            mend="end the file name with one of these",
        )
    if not samples.is_spectral and samples.colorimetry is not None:
        own = samples.colorimetry
        if light_of(own.light) is None or own.observer not in observer_names():
            raise bad(
                f"the XYZ hold for light {own.light!r} and observer {own.observer!r}, which no reader would know",
                file=path,
                expected="a CIE light and a standard observer",
                mend="write the reflectance curves instead",
            )
    content: str | bytes
    try:
        if kind == "csv":
            content = samples_csv(samples)
        elif kind == "cgats":
            content = samples_cgats(samples)
        elif kind == "json":
            content = samples_json(samples)
        else:
            from screenproof.formats.cxf_write import samples_cxf

            content = samples_cxf(samples)
    except ValueError as error:
        if isinstance(error, InputError):
            raise
        raise bad(f"a value that is no number: {error}", file=path, expected="finite numbers") from None
    return write_beside(path, content, force=force)


def _statements(samples: Samples) -> Iterable[tuple[str, str]]:
    """Key and value of what the numbers do not say, in the words of the CSV comments."""
    for key in ("geometry", "filter", "backing", "instrument", "date"):
        value = getattr(samples.condition, key)
        if value is not None and value.strip():
            yield key, " ".join(value.split())
    if samples.fluorescent:
        yield "fluorescent", "yes"
    if samples.doubt is not None:
        yield from doubt_statements(samples.doubt).items()
    elif samples.repeatability is not None:
        yield "repeatability", repr(float(samples.repeatability))
    if samples.colorimetry is not None:
        yield "light", samples.colorimetry.light
        yield "observer", samples.colorimetry.observer
    if samples.device is not None:
        yield "device_scale", f"{_scale(samples):g}"
        if _device_fields(samples)[0].endswith("CLR_1"):
            yield "device_channels", "|".join(samples.device.channels)


def _scale(samples: Samples) -> float:
    assert samples.device is not None
    return 255.0 if samples.device.channels == ("R", "G", "B") else 100.0


def _device_fields(samples: Samples) -> list[str]:
    assert samples.device is not None
    channels = samples.device.channels
    joined = "".join(channels)
    if joined in ("RGB", "CMYK", "CMY") and len(joined) == len(channels):
        return [f"{joined}_{channel}" for channel in channels]
    return [f"{len(channels)}CLR_{i + 1}" for i in range(len(channels))]


def _blocks(samples: Samples) -> list[tuple[list[str], Array]]:
    """Field names and numbers (n, m) of everything but the spectra."""
    blocks: list[tuple[list[str], Array]] = []
    if samples.device is not None:
        blocks.append((_device_fields(samples), samples.device.values * _scale(samples)))
    if samples.colorimetry is not None:
        blocks.append((["XYZ_X", "XYZ_Y", "XYZ_Z"], samples.colorimetry.xyz))
    return blocks


def _plain(nm: float) -> str:
    """A wavelength as 400 rather than 400.0."""
    return str(int(nm)) if nm == int(nm) else repr(round(float(nm), 6))


def samples_csv(samples: Samples) -> str:
    """CSV with one row per sample, wavelengths as columns, reflectance factors as fractions."""
    _finite(samples)
    fields, rows = ["name"], [[_csv_cell(name)] for name in samples.names]
    _add_doubt(samples, fields, rows)
    blocks = _blocks(samples)
    lines = []
    if samples.reflectance is not None and samples.grid is not None:
        lines.append("# unit: fraction")
        blocks.append(([f"nm{_plain(nm)}" for nm in samples.grid.wavelengths], samples.reflectance))
    lines.extend(f"# {key}: {value}" for key, value in _statements(samples))
    if samples.colorimetry is not None:
        lines.append("# xyz_scale: 100")
    for names, values in blocks:
        fields.extend(names)
        for row, numbers in zip(rows, values.tolist(), strict=True):
            row.extend(map(repr, numbers))
    lines.append(",".join(fields))
    lines.extend(",".join(row) for row in rows)
    return "\n".join(lines) + "\n"


def _add_doubt(samples: Samples, fields: list[str], rows: list[list[str]]) -> None:
    """Columns of what is known of each row's readings, where the rows are unlike."""
    for name, cells in ({} if samples.doubt is None else doubt_columns(samples.doubt)).items():
        fields.append(name.upper() if fields[0] == "SAMPLE_ID" else name)
        for row, cell in zip(rows, cells, strict=True):
            row.append(cell)


def _csv_cell(text: str) -> str:
    text = re.sub(r"[\r\n]+", " ", text)
    if any(mark in text for mark in ',;\t"') or text != text.strip() or text.startswith("#"):
        return '"' + text.replace('"', '""') + '"'
    return text


def samples_cgats(samples: Samples) -> str:
    """ISO 28178 text; spectra as pairs SPECTRAL_NM SPECTRAL_DEC, which state wavelength and unit themselves."""
    _finite(samples)
    lines = ["ISO28178", 'ORIGINATOR "screenproof"', f"FILE_DESCRIPTOR {_quoted(Path(samples.source).name)}"]
    keywords = {
        "geometry": "MEASUREMENT_GEOMETRY",
        "filter": "FILTER",
        "backing": "SAMPLE_BACKING",
        "instrument": "INSTRUMENTATION",
        "date": "CREATED",
    }
    for key, value in _statements(samples):
        if key == "light":
            lines.append(f"WEIGHTING_FUNCTION {_quoted('ILLUMINANT, ' + value)}")
        elif key == "observer":
            lines.append(f"WEIGHTING_FUNCTION {_quoted('OBSERVER, ' + value)}")
        elif key in keywords:
            lines.append(f"{keywords[key]} {_quoted(value)}")
        else:
            # Not of the standard: declared as the standard asks.
            lines.append(f'KEYWORD "{key.upper()}"')
            lines.append(f"{key.upper()} {_quoted(value)}")
    if samples.colorimetry is not None:
        lines += ['KEYWORD "XYZ_SCALE"', 'XYZ_SCALE "100"']
    fields = ["SAMPLE_ID", "SAMPLE_NAME"]
    rows = [[str(i + 1), _quoted(name)] for i, name in enumerate(samples.names)]
    _add_doubt(samples, fields, rows)
    for names, values in _blocks(samples):
        fields.extend(names)
        for row, numbers in zip(rows, values.tolist(), strict=True):
            row.extend(map(repr, numbers))
    if samples.reflectance is not None and samples.grid is not None:
        nm = [_plain(value) for value in samples.grid.wavelengths]
        fields.extend(["SPECTRAL_NM", "SPECTRAL_DEC"] * len(nm))
        for row, numbers in zip(rows, samples.reflectance.tolist(), strict=True):
            for wavelength, number in zip(nm, numbers, strict=True):
                row += [wavelength, repr(number)]
    lines += [
        f"NUMBER_OF_FIELDS {len(fields)}",
        "BEGIN_DATA_FORMAT",
        "\t".join(fields),
        "END_DATA_FORMAT",
        f"NUMBER_OF_SETS {len(rows)}",
        "BEGIN_DATA",
        *("\t".join(row) for row in rows),
        "END_DATA",
    ]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return '"' + re.sub(r"[\r\n\t]+", " ", text).replace('"', '""') + '"'


def _finite(samples: Samples) -> None:
    import numpy as np

    values = [
        None if samples.reflectance is None else samples.reflectance,
        None if samples.colorimetry is None else samples.colorimetry.xyz,
        None if samples.device is None else samples.device.values,
    ]
    for block in values:
        if block is not None and not np.all(np.isfinite(block)):
            row = int(np.argmax(~np.isfinite(block).all(axis=1)))
            raise bad(
                "a reading that is no number cannot be written",
                field=samples.names[row],
                expected="finite numbers",
                mend="measure the sample again, or leave it out",
            )
