"""Samples out as CxF3 (ISO 17972-1), through the typed bindings of colour-cxf."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np

from screenproof.errors import bad
from screenproof.formats._cxf_spec import FILTERS
from screenproof.formats._doubt import doubt_columns, doubt_statements
from screenproof.spectra import Samples

LOWEST, HIGHEST = -0.1, 3.0
"""Reflectance factors that the schema allows, ends excluded."""

FIRST_NM, LAST_FIRST_NM = 360, 400
"""Where the schema lets a spectrum begin."""

_RGB_RANGES = (255, 1023, 4095, 65535)
_CODE = 1e-9


def samples_cxf(samples: Samples) -> bytes:
    """The CxF3 document of ``samples``: UTF-8 XML with an object per sample and one specification.

    Reflectances and XYZ keep full precision. Tints go into ColorCMYK or ColorCMYKPlusN as percent, RGB that
    are whole code values into ColorRGB; other device values into tags of the object, as fractions.

    Raises InputError for wavelengths or readings that the schema of CxF3 does not allow.
    """
    import colour_cxf
    from colour_cxf import cxf3

    _check(samples)
    device = None if samples.device is None else _DeviceWriter(samples)
    objects = []
    for i, name in enumerate(samples.names):
        values: list[Any] = []
        if samples.reflectance is not None and samples.grid is not None:
            values.append(
                cxf3.ReflectanceSpectrum(
                    value=samples.reflectance[i].tolist(),
                    start_wl=int(samples.grid.start),
                    color_specification="CS1",
                )
            )
        if samples.colorimetry is not None:
            x, y, z = samples.colorimetry.xyz[i].tolist()
            values.append(cxf3.ColorCiexyz(x=x, y=y, z=z, color_specification="CS1"))
        made = cxf3.Object(
            creation_date=_creation(samples.condition.date),
            color_values=cxf3.ColorValues(choice=values),
            object_type="Standard",
            name=re.sub(r"[\r\n\t]+", " ", name),
            id=f"S{i + 1}",
        )
        if device is not None:
            device.put(made, i)
        objects.append(made)
    document = cxf3.CxF(
        file_information=_information(samples),
        resources=cxf3.Resources(
            object_collection=cxf3.ObjectCollection(object_value=objects),
            color_specification_collection=cxf3.ColorSpecificationCollection(
                color_specification=[_specification(samples)]
            ),
        ),
    )
    return bytes(colour_cxf.write_cxf(document))


def _check(samples: Samples) -> None:
    where = "CxF3"
    grid, values = samples.grid, samples.reflectance
    if grid is not None and values is not None:
        whole = all(float(nm) == int(nm) for nm in (grid.start, grid.step))
        if not whole or not FIRST_NM <= grid.start <= LAST_FIRST_NM:
            raise bad(
                f"spectra from {grid}",
                field=where,
                expected=f"whole nm, the first from {FIRST_NM} to {LAST_FIRST_NM} nm, as the schema has it",
                mend="write CSV or CGATS",
            )
        wrong = ~(np.isfinite(values) & (values > LOWEST) & (values < HIGHEST)).all(axis=1)
        if wrong.any():
            row = int(np.argmax(wrong))
            raise bad(
                f"readings from {values[row].min():.4g} to {values[row].max():.4g}",
                field=f"{where}, {samples.names[row]}",
                expected=f"reflectance factors between {LOWEST:g} and {HIGHEST:g}, as the schema of CxF3 has it",
                mend="look at the reading, or write CSV or CGATS",
            )
    own = samples.colorimetry
    if own is not None and not np.all(own.xyz >= 0):
        row = int(np.argmax(~(own.xyz >= 0).all(axis=1)))
        raise bad(
            f"XYZ of {own.xyz[row].min():.4g}",
            field=f"{where}, {samples.names[row]}",
            expected="XYZ of 0 or more, as the schema of CxF3 has it",
            mend="look at the reading, or write CSV or CGATS",
        )


class _DeviceWriter:
    """Puts the device values of a sample into its object, in the most telling of the forms of the standard."""

    def __init__(self, samples: Samples) -> None:
        assert samples.device is not None
        self.channels, self.values = samples.device.channels, samples.device.values
        self.top = next(
            (top for top in _RGB_RANGES if np.abs(self.values * top - np.round(self.values * top)).max() < _CODE),
            None,
        )

    def put(self, made: Any, i: int) -> None:
        from colour_cxf import cxf3

        row = self.values[i].tolist()
        if self.channels == ("R", "G", "B") and self.top is not None:
            r, g, b = (round(v * self.top) for v in row)
            value: Any = cxf3.ColorRgb(
                max_range=None if self.top == 255 else self.top, r=r, g=g, b=b, color_specification="CS1"
            )
        elif self.channels[:4] == ("C", "M", "Y", "K"):
            c, m, y, k, *more = (100.0 * v for v in row)
            if more:
                spots = [
                    cxf3.SpotColor(name=name, percentage=v)
                    for name, v in zip(self.channels[4:], more, strict=True)
                ]
                value = cxf3.ColorCmykplusN(
                    cyan=c, magenta=m, yellow=y, black=k, spot_color=spots, color_specification="CS1"
                )
            else:
                value = cxf3.ColorCmyk(cyan=c, magenta=m, yellow=y, black=k, color_specification="CS1")
        else:
            made.tag_collection = [
                cxf3.TagCollection(
                    name="Device",
                    tag=[
                        cxf3.Tag(name=channel, value=repr(v))
                        for channel, v in zip(self.channels, row, strict=True)
                    ],
                )
            ]
            return
        made.device_color_values = cxf3.DeviceColorValues(choice=[value])


def _creation(date: str | None) -> Any:
    """The schema wants a date and time for every object: the measurement's where it is one, else now."""
    from datetime import UTC, datetime

    from colour_cxf import cxf3
    from xsdata.models.datatype import XmlDateTime

    try:
        when = datetime.fromisoformat(date or "")
        when = when if when.tzinfo else when.replace(tzinfo=UTC)
    except ValueError:
        when = datetime.now(UTC).replace(microsecond=0)
    return cxf3.CreationDate(value=XmlDateTime.from_datetime(when))


def _information(samples: Samples) -> Any:
    from colour_cxf import cxf3

    tags = []
    if samples.condition.date is not None:
        tags.append(cxf3.Tag(name="Date", value=samples.condition.date))
    if samples.condition.instrument is not None:
        tags.append(cxf3.Tag(name="Instrument", value=samples.condition.instrument))
    if samples.condition.geometry is not None:
        tags.append(cxf3.Tag(name="Geometry", value=samples.condition.geometry))
    if samples.fluorescent:
        tags.append(cxf3.Tag(name="Fluorescent", value="yes"))
    for name, value in _doubt(samples).items():
        tags.append(cxf3.Tag(name="".join(part.capitalize() for part in name.split("_")), value=value))
    return cxf3.FileInformation(creator="screenproof", creation_date=_creation(None), tag=tags)


def _doubt(samples: Samples) -> dict[str, str]:
    """What is known of the readings, as one number for the file: it has no place for one a sample."""
    if samples.doubt is None:
        return {} if samples.repeatability is None else {"repeatability": repr(float(samples.repeatability))}
    columns = doubt_columns(samples.doubt)
    said = doubt_statements(samples.doubt)
    if "repeatability" in columns:
        squares = [float(cell) ** 2 for cell in columns["repeatability"]]
        said["repeatability"] = repr(math.sqrt(sum(squares) / len(squares)))
    if "readings" in columns and (fewest := min(map(int, columns["readings"]))) > 1:
        said["readings"] = str(fewest)
    return said


def _specification(samples: Samples) -> Any:
    from colour_cxf import cxf3

    condition, grid = samples.condition, samples.grid
    spectral = samples.reflectance is not None
    measured = cxf3.EspectrumType.SPECTRUM_REFLECTANCE if spectral else cxf3.EspectrumType.COLORIMETRIC_REFLECTANCE
    measurement = cxf3.MeasurementSpec(
        measurement_type=cxf3.MeasurementType(value=measured),
        geometry_choice=cxf3.GeometryChoice(choice=_geometry(condition.geometry)),
        backing=condition.backing,
    )
    if grid is not None:
        measurement.wavelength_range = cxf3.WavelengthRange(start_wl=int(grid.start), increment=int(grid.step))
    if condition.filter is not None:
        name = next(name for name, m in FILTERS.items() if m == condition.filter)
        measurement.device = cxf3.Device(
            device_illumination=cxf3.DeviceIllumination(value=cxf3.EdeviceIlluminationType[name])
        )
    return cxf3.ColorSpecification(id="CS1", measurement_spec=measurement, tristimulus_spec=_tristimulus(samples))


def _geometry(text: str | None) -> Any:
    """45a:0 and the like as a single angle, di:8 and de:8 as a sphere, else the text itself."""
    from colour_cxf import cxf3

    single = re.fullmatch(r"(\d+(?:\.\d+)?)(a|x)[:/](\d+(?:\.\d+)?)", text or "")
    if single:
        sort = cxf3.EsingleAngleConfigurationType["ANNULAR" if single[2] == "a" else "UNIPLANAR"]
        return cxf3.SingleAngleType(
            single_angle_configuration=cxf3.SingleAngleConfiguration(value=sort),
            illumination_angle=float(single[1]),
            measurement_angle=float(single[3]),
        )
    if text in ("di:8", "de:8"):
        return cxf3.EsphereType["SPECULAR_INCLUDED" if text == "di:8" else "SPECULAR_EXCLUDED"]
    return text or "unknown"


def _tristimulus(samples: Samples) -> Any:
    from colour_cxf import cxf3

    own = samples.colorimetry
    if own is None:
        return None
    known = {member.value: member for member in cxf3.EilluminantType}
    name = own.light.replace("FL", "F") if own.light.startswith("FL") else own.light
    if name in known and name != "Custom":
        illuminant = cxf3.Illuminant(value=known[name])
    else:
        illuminant = cxf3.Illuminant(value=cxf3.EilluminantType.CUSTOM, name=own.light)
    standard = {"cie1931": "VALUE_2_DEGREE", "cie1964": "VALUE_10_DEGREE"}
    if own.observer in standard:
        observer = cxf3.Observer(value=cxf3.EobserverType[standard[own.observer]])
    else:
        observer = cxf3.Observer(value=cxf3.EobserverType.CUSTOM_CMF, name=own.observer)
    return cxf3.TristimulusSpec(
        illuminant_or_custom_illuminant=illuminant,
        observer=observer,
        method=cxf3.Method(value=cxf3.EastmTableType.UNKNOWN),
    )
