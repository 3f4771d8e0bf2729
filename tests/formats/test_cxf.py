"""CxF3 (ISO 17972-1): reading what instruments write, refusing what XML can do, writing what reads back."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from pathlib import Path

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import read_samples, write_samples
from screenproof.spectra import Colorimetry, Condition, Device, Grid, Samples

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n<CxF xmlns="http://colorexchangeformat.com/CxF3-core">\n'


def spec(identifier: str = "CS1", extra: str = "", tristimulus: str = "") -> str:
    return (
        f'<ColorSpecification Id="{identifier}">{tristimulus}<MeasurementSpec>'
        "<MeasurementType>Spectrum_Reflectance</MeasurementType><GeometryChoice><SingleAngle>"
        "<SingleAngleConfiguration>Annular</SingleAngleConfiguration><IlluminationAngle>45</IlluminationAngle>"
        "<MeasurementAngle>0</MeasurementAngle></SingleAngle></GeometryChoice>"
        f'<WavelengthRange StartWL="400" Increment="10"/>{extra}</MeasurementSpec></ColorSpecification>\n'
    )


TRISTIMULUS = (
    "<TristimulusSpec><Illuminant>D65</Illuminant><Observer>10_Degree</Observer>"
    "<Method>E308_Table5</Method></TristimulusSpec>"
)


def thing(name: str, values: str, identifier: str | None = None, device: str = "") -> str:
    return (
        f'<Object ObjectType="Standard" Name="{name}" Id="{identifier or name}">\n'
        f"<CreationDate>2026-10-05T09:00:00Z</CreationDate><ColorValues>{values}</ColorValues>{device}</Object>\n"
    )


def spectrum(values: str, identifier: str = "CS1", start: str = ' StartWL="400"') -> str:
    return f'<ReflectanceSpectrum{start} ColorSpecification="{identifier}">{values}</ReflectanceSpectrum>'


def document(objects: str, specs: str | None = None, tail: str = "") -> str:
    return (
        HEAD
        + "<FileInformation><Creator>made up</Creator></FileInformation>\n<Resources><ObjectCollection>\n"
        + objects
        + f"</ObjectCollection><ColorSpecificationCollection>\n{spec() if specs is None else specs}"
        + f"</ColorSpecificationCollection></Resources>{tail}</CxF>\n"
    )


def read(folder: Path, text: str, name: str = "samples.cxf"):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return read_samples(path)


def said(samples, kind: str) -> str:
    return "\n".join(str(note) for note in samples.notes if note.kind == kind)


def test_spectra_with_their_condition(tmp_path):
    device = (
        "<Backing>black tile</Backing><Device><Manufacturer>Made</Manufacturer><Model>Up</Model>"
        "<DeviceIllumination>M1_Daylight</DeviceIllumination></Device>"
    )
    objects = thing("red", spectrum("0.1 0.2 0.3")) + thing("blue", spectrum("0.4 0.35 0.05", start=""))
    samples = read(tmp_path, document(objects, spec(extra=device)))
    assert samples.names == ("red", "blue")
    assert (samples.grid.start, samples.grid.stop, samples.grid.step) == (400.0, 420.0, 10.0)
    np.testing.assert_array_equal(samples.reflectance, [[0.1, 0.2, 0.3], [0.4, 0.35, 0.05]])
    condition = samples.condition
    assert (condition.geometry, condition.filter, condition.backing) == ("45a:0", "M1", "black tile")
    assert (condition.instrument, condition.date) == ("Made Up", "2026-10-05T09:00:00Z")
    assert not samples.notes


@pytest.mark.parametrize(
    ("device", "expected"),
    [
        ("<DeviceIllumination>M0_Incandescent</DeviceIllumination>", "M0"),
        ("<DeviceIllumination>M2_UVExcluded</DeviceIllumination>", "M2"),
        ("<DeviceIllumination>M3_Polarized</DeviceIllumination>", "M3"),
        ("<DeviceFilter>Filter_UVExcluded</DeviceFilter>", "M2"),
        ("<DevicePolarization>true</DevicePolarization>", "M3"),
        ("<DeviceIllumination>LED</DeviceIllumination>", None),
    ],
)
def test_measurement_conditions(tmp_path, device, expected):
    text = document(thing("red", spectrum("0.1 0.2 0.3")), spec(extra=f"<Device>{device}</Device>"))
    assert read(tmp_path, text).condition.filter == expected


def test_several_readings_of_an_object_are_said_and_named(tmp_path):
    m0 = spec("A", "<Device><DeviceIllumination>M0_Incandescent</DeviceIllumination></Device>")
    m1 = spec("B", "<Device><DeviceIllumination>M1_Daylight</DeviceIllumination></Device>")
    both = spectrum("0.1 0.2 0.3", "A") + spectrum("0.11 0.21 0.31", "B")
    path = tmp_path / "both.cxf"
    path.write_text(document(thing("red", both), m0 + m1))
    first = read_samples(path)
    assert first.condition.filter == "M0" and "A (M0), B (M1); A was read" in said(first, "assumed")
    for selector in ("B", "M1"):
        second = read_samples(f"{path}#{selector}")
        np.testing.assert_array_equal(second.reflectance, [[0.11, 0.21, 0.31]])
        assert second.condition.filter == "M1"
    with pytest.raises(InputError, match=r"A \(M0\) or B \(M1\)"):
        read_samples(f"{path}#M2")


@pytest.mark.parametrize(
    "values",
    [
        '<ColorCIEXYZ ColorSpecification="CS1"><X>30</X><Y>20</Y><Z>10</Z></ColorCIEXYZ>',
        '<ColorCIExyY ColorSpecification="CS1"><x>0.5</x><y>0.3333333333333333</y><Y>20</Y></ColorCIExyY>',
    ],
)
def test_colorimetry_only(tmp_path, values):
    samples = read(tmp_path, document(thing("red", values), spec(tristimulus=TRISTIMULUS)))
    assert not samples.is_spectral
    assert (samples.colorimetry.light, samples.colorimetry.observer) == ("D65", "cie1964")
    np.testing.assert_allclose(samples.colorimetry.xyz, [[30, 20, 10]], rtol=1e-12)


def test_lab_and_lch_are_one_colour(tmp_path):
    lab = '<ColorCIELab ColorSpecification="CS1"><L>50</L><A>30</A><B>-40</B></ColorCIELab>'
    hue = np.degrees(np.arctan2(-40, 30)) % 360
    lch = f'<ColorCIELCh ColorSpecification="CS1"><L>50</L><C>50</C><H>{hue!r}</H></ColorCIELCh>'
    specs = spec(tristimulus=TRISTIMULUS)
    one = read(tmp_path, document(thing("a", lab), specs)).colorimetry.xyz
    two = read(
        tmp_path, document(thing("a", lch.replace("np.float64(", "").replace(")", "")), specs)
    ).colorimetry.xyz
    np.testing.assert_allclose(one, two, rtol=1e-12)


@pytest.mark.parametrize(
    ("device", "channels", "values"),
    [
        (
            '<ColorRGB ColorSpecification="CS1"><R>255</R><G>51</G><B>0</B></ColorRGB>',
            ("R", "G", "B"),
            [1, 0.2, 0],
        ),
        (
            '<ColorRGB ColorSpecification="CS1"><MaxRange>1000</MaxRange><R>1000</R><G>200</G><B>0</B></ColorRGB>',
            ("R", "G", "B"),
            [1, 0.2, 0],
        ),
        (
            '<ColorCMYK ColorSpecification="CS1"><Cyan>100</Cyan><Magenta>50</Magenta><Yellow>0</Yellow>'
            "<Black>25</Black></ColorCMYK>",
            ("C", "M", "Y", "K"),
            [1, 0.5, 0, 0.25],
        ),
        (
            '<ColorCMYKPlusN ColorSpecification="CS1"><Cyan>0</Cyan><Magenta>0</Magenta><Yellow>0</Yellow>'
            "<Black>0</Black><SpotColor><Name>Ember</Name><Percentage>75</Percentage></SpotColor></ColorCMYKPlusN>",
            ("C", "M", "Y", "K", "Ember"),
            [0, 0, 0, 0, 0.75],
        ),
    ],
)
def test_device_values(tmp_path, device, channels, values):
    made = thing("red", spectrum("0.1 0.2 0.3"), device=f"<DeviceColorValues>{device}</DeviceColorValues>")
    samples = read(tmp_path, document(made))
    assert samples.device.channels == channels
    np.testing.assert_allclose(samples.device.values, [values], rtol=1e-15)


def test_objects_without_a_spectrum_are_left_out_and_said(tmp_path):
    lab = '<ColorCIELab ColorSpecification="CS1"><L>50</L><A>0</A><B>0</B></ColorCIELab>'
    samples = read(tmp_path, document(thing("red", spectrum("0.1 0.2 0.3")) + thing("target", lab)))
    assert samples.names == ("red",)
    assert "target" in said(samples, "odd") and "only ColorCielab" in said(samples, "odd")


def test_names_that_stand_twice_get_their_id(tmp_path):
    objects = thing("red", spectrum("0.1 0.2 0.3"), "7") + thing("red", spectrum("0.1 0.2 0.31"), "8")
    assert read(tmp_path, document(objects)).names == ("red (7)", "red (8)")


def test_percent_where_the_standard_has_fractions_is_said(tmp_path):
    samples = read(tmp_path, document(thing("red", spectrum("10 20 30"))))
    np.testing.assert_allclose(samples.reflectance, [[0.1, 0.2, 0.3]], rtol=1e-15)
    assert "taken for percent" in said(samples, "odd")


def test_resources_of_others_are_passed_over_and_said(tmp_path):
    tail = (
        '<CustomResources><o:Thing xmlns:o="http://example.org/other" a="1"><o:Part/></o:Thing></CustomResources>'
    )
    samples = read(tmp_path, document(thing("red", spectrum("0.1 0.2 0.3")), tail=tail))
    assert len(samples) == 1 and "CustomResources are not read" in said(samples, "info")


def test_a_date_in_another_form_stops_nothing(tmp_path):
    text = document(thing("red", spectrum("0.1 0.2 0.3"))).replace("2026-10-05T09:00:00Z", "last Monday")
    assert read(tmp_path, text).condition.date == "last Monday"


def test_every_wrong_number_is_told_with_its_line(tmp_path):
    objects = (
        thing("red", spectrum("0.1 x 0.3"))
        + thing("blue", spectrum("0.1 0,2 0.3"))
        + thing("ok", spectrum("1 1 1"))
    )
    with pytest.raises(InputError) as caught:
        read(tmp_path, document(objects))
    message = str(caught.value)
    assert "line 6, red: 'x' is no number" in message
    assert "line 8, blue: '0,2' is no number" in message
    assert len(caught.value.problems) == 2


def test_nothing_outside_the_file_is_read(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("0.1 0.2 0.3")
    text = document(thing("red", spectrum("&leak;"))).replace(
        "<CxF ", f'<!DOCTYPE CxF [<!ENTITY leak SYSTEM "{secret.as_uri()}">]>\n<CxF ', 1
    )
    with pytest.raises(InputError, match="document type declaration, which is refused"):
        read(tmp_path, text)


def made() -> Samples:
    random = np.random.default_rng(3)
    return Samples(
        names=("Carton, white", 'Ember "deep"', "gr\u00fcn & <blau>"),
        reflectance=random.random((3, 36)),
        grid=Grid(380, 730, 10),
        colorimetry=Colorimetry(random.random((3, 3)) * 90, "FL11", "cie2015-10"),
        condition=Condition("45a:0", "M1", "black", "made up, 45:0", "2026-10-05"),
        device=Device(("C", "M", "Y", "K", "Ember"), random.random((3, 5))),
        repeatability=0.0017,
        fluorescent=True,
    )


def required_parts(node: object, path: str = "CxF") -> list[str]:
    """Everything that the bindings' schema requires or bounds and that ``node`` does not keep."""
    found: list[str] = []
    if not is_dataclass(node):
        return found
    for part in fields(node):
        value, rule = getattr(node, part.name), part.metadata
        where = f"{path}.{part.name}"
        if rule.get("required") and (value is None or value == ""):
            found.append(f"{where} is required")
        many = value if isinstance(value, list) else [value]
        if len([v for v in many if v is not None]) < rule.get("min_occurs", 0):
            found.append(f"{where} is too short")
        for item in many:
            if isinstance(item, int | float):
                if not rule.get("min_inclusive", -np.inf) <= item <= rule.get("max_inclusive", np.inf):
                    found.append(f"{where} is {item}")
                if not rule.get("min_exclusive", -np.inf) < item < rule.get("max_exclusive", np.inf):
                    found.append(f"{where} is {item}")
            found += required_parts(item, where)
    return found


@pytest.mark.parametrize("what", ["all", "spectra", "colorimetry"])
def test_written_documents_keep_the_schema(tmp_path, what):
    import colour_cxf

    samples = made()
    if what == "spectra":
        samples = Samples(samples.names, samples.reflectance, samples.grid)
    elif what == "colorimetry":
        samples = Samples(samples.names, colorimetry=samples.colorimetry)
    path = write_samples(samples, tmp_path / "out.cxf")
    typed = colour_cxf.read_cxf(path.read_bytes())  # warns, and so fails here, where a value does not convert
    assert required_parts(typed) == []
    assert path.read_bytes().startswith(b"<?xml")
    broken = colour_cxf.read_cxf(path.read_bytes())
    broken.resources.object_collection.object_value[0].name = None
    assert required_parts(broken), "the check itself must notice a missing attribute"


def test_what_the_schema_cannot_hold_is_refused(tmp_path):
    grid = Grid(340, 700, 10)
    early = Samples(("a",), np.full((1, grid.count), 0.5), grid)
    with pytest.raises(InputError, match="from 360 to 400 nm"):
        write_samples(early, tmp_path / "early.cxf")
    high = Samples(("bright",), np.full((1, 31), 3.2), Grid(400, 700, 10))
    with pytest.raises(InputError, match=r"(?s)bright.*between -0\.1 and 3"):
        write_samples(high, tmp_path / "high.cxf")
    below = Samples(("dark",), colorimetry=Colorimetry(np.array([[0.1, 0.1, -0.1]]), "D50", "cie1931"))
    with pytest.raises(InputError, match="XYZ of 0 or more"):
        write_samples(below, tmp_path / "below.cxf")
    assert list(tmp_path.iterdir()) == []
