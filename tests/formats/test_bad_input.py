"""The table of bad input: what a user gives, and what the error must say of place, fault and mending.

Every row makes one file (or place) and names the reader that gets it. The message must hold the file's name and
every text of the last column; a text that starts with "line" is the line number that it must give.
"""

# ruff: noqa: E501  (a table is read best with one row on a line)
from __future__ import annotations

import gzip
import io
import os
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from screenproof.errors import InputError
from screenproof.formats import read_camera, read_light, read_samples, write_samples
from screenproof.spectra import Colorimetry, Grid, Samples

CXF = "http://colorexchangeformat.com/CxF3-core"


@dataclass(frozen=True)
class Row:
    """One kind of bad input. ``make`` is the file's content, or a function that prepares the place."""

    name: str
    file: str
    make: str | bytes | Callable[[Path], Any]
    says: tuple[str, ...]
    read: Callable[[Path], Any] = read_samples


def zipped(inner: str) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("content.xml", inner)
    return stream.getvalue()


def png() -> bytes:
    from PIL import Image

    stream = io.BytesIO()
    Image.new("RGB", (4, 4)).save(stream, "png")
    return stream.getvalue()


def icc() -> bytes:
    from PIL import ImageCms

    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def cgats(fields: str, rows: str, sets: int | str = 1, count: int | None = None, end: str = "END_DATA\n") -> str:
    return (
        f"ISO28178\nNUMBER_OF_FIELDS {count or len(fields.split())}\nBEGIN_DATA_FORMAT\n{fields}\nEND_DATA_FORMAT\n"
        f"NUMBER_OF_SETS {sets}\nBEGIN_DATA\n{rows}{end}"
    )


def cxf(objects: str, specification: str | None = None, namespace: str = CXF, head: str = "") -> str:
    if specification is None:
        specification = '<WavelengthRange StartWL="400" Increment="10"/>'
    return (
        f'<?xml version="1.0"?>\n{head}<CxF xmlns="{namespace}"><Resources><ObjectCollection>\n{objects}\n'
        '</ObjectCollection><ColorSpecificationCollection><ColorSpecification Id="S"><MeasurementSpec>'
        "<MeasurementType>Spectrum_Reflectance</MeasurementType><GeometryChoice><UnknownGeometry>x"
        f"</UnknownGeometry></GeometryChoice>{specification}</MeasurementSpec></ColorSpecification>"
        "</ColorSpecificationCollection></Resources></CxF>\n"
    )


def thing(name: str, values: str, kind: str = "ReflectanceSpectrum") -> str:
    return (
        f'<Object ObjectType="Standard" Name="{name}" Id="{name}"><CreationDate>2026-10-05T09:00:00Z</CreationDate>'
        f'<ColorValues><{kind} ColorSpecification="S">{values}</{kind}></ColorValues></Object>'
    )


def spdx(data: str, quantity: str = "relative") -> str:
    return (
        '<?xml version="1.0"?>\n<IESTM2714 xmlns="iestm2714" version="1.0"><Header/><SpectralDistribution>'
        f"<SpectralQuantity>{quantity}</SpectralQuantity>\n{data}\n</SpectralDistribution></IESTM2714>\n"
    )


def lamp(
    power: Callable[[int], object], first: int = 380, last: int = 780, step: int = 5, head: str = "nm,power"
) -> str:
    return head + "\n" + "".join(f"{nm},{power(nm)}\n" for nm in range(first, last + 1, step))


def unreadable(path: Path) -> None:
    # A loop of links cannot be read by anybody, root included.
    os.symlink(path, path)


BOMB = (
    '<!DOCTYPE CxF [<!ENTITY a "0.1 0.1">'
    + "".join(f'<!ENTITY {b} "{("&" + a + ";") * 10}">' for a, b in zip("abcdefgh", "bcdefghi", strict=True))
    + "]>\n"
)
OUTSIDE = '<!DOCTYPE CxF SYSTEM "http://example.org/evil.dtd">\n'
SPECTRAL = "name,400,410,420\n"
EVEN = "# unit: fraction\n" + SPECTRAL

# fmt: off
TABLE = [
    # The file as such.
    Row("empty file", "a.csv", b"", ("the file is empty", "export it again")),
    Row("blank file", "a.csv", "\n \n\t\n", ("the file is empty",)),
    Row("missing file", "inks.csv", lambda p: (p.parent / "inks2.csv").write_text("x"), ("no such file", "inks2.csv")),
    Row("missing folder", "deep/inks.csv", lambda p: None, ("no such file", "check the folder")),
    Row("a folder", "a.csv", lambda p: p.mkdir(), ("this is a folder", "name a file in that folder")),
    Row("unreadable file", "a.csv", unreadable, ("cannot be read", "check its permissions")),
    Row("zip renamed", "a.cxf", zipped("<CxF/>"), ("zip archive", "export the data as text")),
    Row("spreadsheet renamed", "a.csv", zipped("<sheet/>"), ("zip archive", ".xlsx")),
    Row("picture renamed", "a.csv", png(), ("PNG picture", "a text file")),
    Row("gzip renamed", "a.cgats", gzip.compress(b"x"), ("gzip archive",)),
    Row("document renamed", "a.txt", b"%PDF-1.7\n%\xe2\xe3", ("PDF document",)),
    Row("profile as samples", "a.icc", icc(), ("ICC profile", "name the file as a display")),
    Row("binary data", "a.csv", b"name,400,410\nred,\x00\x01\x02,0.2\n", ("binary data", "line 2", "damaged")),
    Row("UTF-16 cut short", "a.csv", "name,400\n".encode("utf-16")[:-1], ("breaks off", "save the file as UTF-8")),
    Row("a job file", "a.toml", 'version = 1\ntitle = "x"\n', ("no column holds reflectances",)),
    # Tables.
    Row("only comments", "a.csv", "# unit: percent\n# nothing else\n", ("only comments", "at least one row")),
    Row("only column names", "a.csv", SPECTRAL, ("no row holds a sample", "line 1")),
    Row("no known columns", "a.csv", "name,gloss,size\nred,80,3\n", ("no column holds", "gloss", "rename the columns")),
    Row("one band", "a.csv", "name,550\nred,0.2\n", ("one band only (550 nm)", "line 1", "nm400, nm410")),
    Row("missing wavelength", "a.csv", EVEN.replace("420", "420,440") + "red,.1,.2,.3,.4\n", ("missing band: 430 nm",)),
    Row("missing wavelength in rows", "a.csv", "nm,red\n400,.1\n410,.1\n430,.1\n440,.2\n", ("missing band: 420 nm",)),
    Row("descending", "a.csv", "name,420,410,400\nred,.1,.2,.3\n", ("descend from 420 to 400", "line 1", "turn the order")),
    Row("descending rows", "a.csv", "nm,red\n420,.1\n410,.2\n400,.3\n", ("descend from 420 to 400", "line 2")),
    Row("unsorted", "a.csv", "name,400,420,410,430\nred,.1,.2,.3,.4\n", ("go back from 420 to 410", "ascending")),
    Row("uneven grid", "a.csv", "name,400,410,423,431\nred,.1,.2,.3,.4\n", ("step by", "evenly spaced")),
    Row("one band twice", "a.csv", "name,400,410,410\nred,.1,.2,.3\n", ("410 nm stands twice", "keep one")),
    Row("micrometres", "a.csv", "wavelength,red\n0.40,.1\n0.41,.2\n", ("0.4 is no wavelength", "nanometres")),
    Row("empty cell", "a.csv", EVEN + "red,0.1,,0.3\n", ("line 3, 410: an empty cell", "fill it in")),
    Row("NaN", "a.csv", EVEN + "red,0.1,NaN,0.3\n", ("line 3, 410: 'NaN' is no reading", "measure it again")),
    Row("infinity", "a.csv", EVEN + "red,0.1,-inf,0.3\n", ("'-inf' is no reading",)),
    Row("a word", "a.csv", EVEN + "red,0.1,dark,0.3\n", ("'dark' is no number", "correct the cell")),
    Row("figure past a double", "a.csv", EVEN + "red,0.1,1e999,0.3\n", ("'1e999' is no number",)),
    Row("grouped digits", "a.csv", EVEN + "red,0.1,1_0,0.3\n", ("'1_0' is no number",)),
    Row("row cut short", "a.csv", EVEN + "red,0.1,0.2,0.3\nblue,0.1,0.\n", ("line 4: the row has 3 cells", "add or remove")),
    Row("row too long", "a.csv", EVEN + "red,0.1,0.2,0.3,0.4\n", ("line 3: the row has 5 cells, the column names 4",)),
    Row("decimal commas between commas", "a.csv", SPECTRAL + "red,0,1,0,2,0,3\n", ("line 2", "semicolons or tabs")),
    Row("two decimal marks", "a.csv", "nm;red;blue\n400;0,1;0,2\n410;0.3;0,4\n", ("line 3", "one decimal mark")),
    Row("quotation not closed", "a.csv", EVEN + '"red,0.1,0.2,0.3\n', ("line 3: a quotation mark", "close the quotation")),
    Row("two headers", "a.csv", EVEN + "red,.1,.2,.3\n" + SPECTRAL + "blue,.1,.2,.3\n", ("line 4: the column names stand again", "split")),
    Row("row of units", "a.csv", EVEN + ",%,%,%\nred,.1,.2,.3\n", ("line 3: no value of this row is a number", "put # before it")),
    Row("one column name twice", "a.csv", "name,X,Y,Z,Y\na,30,20,10,20\n", ("Y stands 2 times (columns 3, 5)", "rename")),
    Row("no name in a row", "a.csv", EVEN + ",0.1,0.2,0.3\nred,.1,.2,.3\n", ("line 3: the sample has no name",)),
    Row("duplicate names", "a.csv", EVEN + "red,.1,.2,.3\nblue,.1,.2,.3\nred,.2,.2,.3\n", ("'red' stands 2 times", "(lines 3, 5)", "its own name")),
    Row("duplicate names in rows layout", "a.csv", "nm,red,red\n400,.1,.2\n410,.1,.2\n", ("'red' stands 2 times with different values (columns 2, 3)",)),
    # Scales.
    Row("percent among fractions", "a.csv", SPECTRAL + "a,.1,.2,.3\nb,.2,.2,.3\nc,10,20,30\n", ("line 4, c", "percent among fractions")),
    Row("fraction stated, percent given", "a.csv", EVEN + "red,10,20,30\n", ("stated as fraction", "up to 30", "# unit: percent")),
    Row("percent stated, fraction given", "a.csv", "# unit: %\n" + SPECTRAL + "red,.1,.2,.3\n", ("stated as percent", "0.3", "# unit: fraction")),
    Row("unknown unit", "a.csv", "# unit: volts\n" + SPECTRAL + "red,.1,.2,.3\n", ("line 1: unit 'volts'", "'percent' or 'fraction'")),
    Row("a million", "a.csv", EVEN + "red,0.1,1e6,0.3\n", ("a reading of 1e+06", "line 3, red", "decimal mark")),
    Row("very negative", "a.csv", EVEN + "red,0.1,-999,0.3\n", ("a reading of -999",)),
    Row("unknown light", "a.csv", "# light: sun\nname,L,a,b\nred,50,0,0\n", ("line 1, light: the light 'sun'", "D50")),
    Row("unknown observer", "a.csv", "# observer: me\nname,L,a,b\nred,50,0,0\n", ("line 1, observer", "cie1931")),
    Row("L* of 400", "a.csv", "name,L,a,b\nred,400,0,0\n", ("line 2, red: L* a* b* of 400 0 0", "0 to 100")),
    Row("XYZ of 0..1", "a.csv", "name,X,Y,Z\nred,.3,.2,.1\n", ("no Y is above 0.2", "xyz_scale: 1")),
    Row("XYZ of 5000", "a.csv", "name,X,Y,Z\nred,3000,5000,1000\n", ("a tristimulus value of 5000", "line 2, red")),
    Row("no chromaticity", "a.csv", "name,XYY_X,XYY_Y,XYY_CAPY\nred,0.7,0.6,20\n", ("x = 0.7, y = 0.6", "together at most 1")),
    Row("tint of 120 percent", "a.csv", "name,CMYK_C,CMYK_M,CMYK_Y,CMYK_K,L,a,b\nred,120,0,0,0,50,0,0\n", ("a device value of 120", "0 to 100")),
    Row("readings as samples", "a.csv", "R,G,B,X,Y,Z\n0,0,0,.1,.1,.1\n255,255,255,90,95,100\n", ("readings of a display",)),
    Row("light as samples", "a.csv", lamp(lambda nm: 1), ("this is a light, not a sample", "name the file as a light")),
    Row("camera by its own word", "a.csv", "# kind: camera\nnm,R,G,B\n400,1,1,1\n", ("line 1", "a camera's sensitivities")),
    # CGATS.
    Row("without BEGIN_DATA", "a.cgats", "ISO28178\nBEGIN_DATA_FORMAT\nSAMPLE_ID NM400\nEND_DATA_FORMAT\n", ("no BEGIN_DATA", "cut short")),
    Row("without field names", "a.cgats", "ISO28178\nNUMBER_OF_SETS 1\nBEGIN_DATA\n1 0.1\nEND_DATA\n", ("no field names", "END_DATA_FORMAT")),
    Row("field names not closed", "a.cgats", "ISO28178\nBEGIN_DATA_FORMAT\nSAMPLE_ID NM400 NM410\nBEGIN_DATA\n1 .1 .2\nEND_DATA\n", ("BEGIN_DATA before END_DATA_FORMAT", "line 4")),
    Row("without END_DATA", "a.cgats", cgats("SAMPLE_ID NM400 NM410", "1 .1 .2\n", 5, end=""), ("END_DATA is missing after 1 rows of 5", "line 8", "cut short")),
    Row("too few values", "a.cgats", cgats("SAMPLE_ID NM400 NM410", "1 .1 .2\n2 .1\n", 2), ("line 9: the row has 2 values, there are 3 fields",)),
    Row("name with a blank", "a.cgats", cgats("SAMPLE_NAME NM400 NM410", "deep red .1 .2\n"), ("the row has 4 values", "quotation marks")),
    Row("NUMBER_OF_SETS wrong", "a.cgats", cgats("SAMPLE_ID NM400 NM410", "1 .1 .2\n", 7), ("line 6: NUMBER_OF_SETS says 7, but there are 1 rows", "restore")),
    Row("NUMBER_OF_FIELDS wrong", "a.cgats", cgats("SAMPLE_ID NM400 NM410", "1 .1 .2\n", 1, 9), ("line 2: NUMBER_OF_FIELDS says 9, but 3 fields",)),
    Row("unknown fields only", "a.cgats", cgats("SAMPLE_ID D_RED D_GREEN", "1 .1 .2\n"), ("no column holds reflectances", "D_RED")),
    Row("no number in a row", "a.cgats", cgats("SAMPLE_ID NM400 NM410", "1 .1 x\n"), ("line 8, NM410: 'x' is no number",)),
    Row("wavelengths that change", "a.cgats", cgats("SAMPLE_ID " + "SPECTRAL_NM SPECTRAL_DEC " * 2, "1 400 .1 410 .2\n2 400 .1 420 .2\n", 2), ("line 9", "420 nm where the first row has 410 nm")),
    Row("spot channel missing", "a.cgats", cgats("SAMPLE_ID 3CLR_1 3CLR_2 LAB_L LAB_A LAB_B", "1 0 0 50 0 0\n"), ("3 channels, but 2 columns", "add 3CLR_3")),
    Row("no such table", "a.cgats#4", lambda p: p.with_name("a.cgats").write_text(cgats("SAMPLE_ID NM400 NM410", "1 .1 .2\n")), ("no table '4'", "a number from 1 to 1")),
    # CxF3 and other XML.
    Row("XML bomb", "a.cxf", cxf(thing("red", "&i;"), head=BOMB), ("refused", "remove the declaration", "line 2")),
    Row("external document type", "a.cxf", cxf(thing("red", "1 1 1"), head=OUTSIDE), ("refused", "<!DOCTYPE>")),
    Row("XML cut short", "a.cxf", cxf(thing("red", "0.1 0.2 0.3"))[:250], ("the XML is damaged", "line 3", "cut short")),
    Row("not well formed", "a.cxf", cxf("<Object>"), ("the XML is damaged: mismatched tag", "line 4")),
    Row("CxF of another namespace", "a.cxf", cxf(thing("red", "1 1 1"), namespace="http://colorexchangeformat.com/v2"), ("namespace 'http://colorexchangeformat.com/v2'", "version 3")),
    Row("CxF without a namespace", "a.cxf", "<CxF><Resources/></CxF>", ("namespace '(none)'", CXF)),
    Row("another XML", "a.xml", '<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"/>', ("begins with <svg>", "line 2", "CxF3")),
    Row("no objects", "a.cxf", cxf(""), ("no object in the file", "export again with the colours chosen")),
    Row("a word in a spectrum", "a.cxf", cxf(thing("red", "0.1 dark 0.3")), ("line 3, red: 'dark' is no number",)),
    Row("an empty spectrum", "a.cxf", cxf(thing("red", "")), ("no number (ReflectanceSpectrum)", "line 3, red")),
    Row("no wavelengths", "a.cxf", cxf(thing("red", "0.1 0.2 0.3"), ""), ("step between wavelengths is not stated", "WavelengthRange")),
    Row("spectra of two lengths", "a.cxf", cxf(thing("red", ".1 .2 .3") + "\n" + thing("blue", ".1 .2")), ("line 4, blue: 2 bands from 400 nm", "3 from 400 nm")),
    Row("transmittance", "a.cxf", cxf(thing("red", ".1 .2 .3", "TransmittanceSpectrum")), ("no object has a reflectance", "TransmittanceSpectrum")),
    Row("an element of nobody", "a.cxf", cxf(thing("red", ".1 .2 .3")).replace("<Resources>", "<Foo/><Resources>"), ("not as the schema of CxF3", "Foo")),
    Row("light as samples in XML", "a.spdx", spdx(""), ("a light (IES TM-27)", "name the file as a light")),
    # JSON.
    Row("JSON cut short", "a.json", '{"schema": "screenproof-samples/1",\n "names": ["a', ("the JSON is damaged", "line 2")),
    Row("JSON of another kind", "a.json", '{"a": 1}', ("JSON of another kind", "screenproof-samples/1")),
    # Lights.
    Row("light of zeros", "a.csv", lamp(lambda nm: 0), ("a light of zeros", "lamp on"), read_light),
    Row("negative light", "a.csv", lamp(lambda nm: -1 if nm == 500 else 1), ("negative power at 1 wavelength(s), -1 at 500 nm", "line 26", "dark reading"), read_light),
    Row("one point", "a.csv", "nm,power\n555,1\n", ("1 wavelength only", "line 2", "whole curve"), read_light),
    Row("half a light", "a.csv", lamp(lambda nm: 1, 380, 600), ("known only from 380 to 600 nm", "380 to 780"), read_light),
    Row("too coarse", "a.csv", lamp(lambda nm: 1, 380, 780, 50), ("too few for a light", "finer step"), read_light),
    Row("descending light", "a.csv", "nm,power\n780,1\n500,1\n380,1\n", ("descend from 780 to 380", "sort the rows"), read_light),
    Row("a wavelength twice", "a.csv", "nm,power\n400,1\n500,1\n500,2\n700,1\n", ("500 nm after 500 nm", "line 4"), read_light),
    Row("light without power", "a.csv", "nm\n400\n500\n", ("no column beside the wavelengths",), read_light),
    Row("wavelengths as columns", "a.csv", "name,400,410,420\nlamp,1,1,1\n", ("wavelengths stand as column names", "transpose"), read_light),
    Row("illuminance of nothing", "a.csv", lamp(lambda nm: 1, head="# illuminance: bright\nnm,power"), ("line 1: illuminance 'bright'",), read_light),
    Row("exponent slipped", "a.csv", lamp(lambda nm: "1e300" if nm == 500 else 1), ("a power of 1e+300 at 500 nm", "line 26"), read_light),
    Row("samples as light", "a.cgats", cgats("SAMPLE_ID NM400 NM410", "1 .1 .2\n"), ("a CGATS file of samples",), read_light),
    Row("readings as light", "a.csv", "# kind: readings\nR,G,B,X,Y,Z\n0,0,0,0,0,0\n", ("line 1: the file says that it holds readings",), read_light),
    Row("SPDX without SpectralData", "a.spdx", spdx(""), ("no SpectralData", "line 2"), read_light),
    Row("SPDX with a word", "a.spdx", spdx('<SpectralData wavelength="400">dark</SpectralData>'), ("'dark' is no number", "line 3"), read_light),
    Row("SPDX without a wavelength", "a.spdx", spdx("<SpectralData>1</SpectralData>"), ("no wavelength", "line 3"), read_light),
    Row("SPDX of a reflectance", "a.spdx", spdx('<SpectralData wavelength="400">1</SpectralData>', "reflectance"), ("quantity is reflectance: no light",), read_light),
    Row("XML bomb as light", "a.spdx", BOMB + "<IESTM2714>&i;</IESTM2714>", ("refused",), read_light),
    Row("CxF as light", "a.cxf", cxf(thing("red", "1 1 1")), ("begins with <CxF>", "IES TM-27"), read_light),
    Row("no light of that name", "a.csv#sun", lambda p: p.with_name("a.csv").write_text(lamp(lambda nm: 1)), ("no light is called 'sun'",), read_light),
    # Cameras.
    Row("camera with two columns", "a.csv", "nm,R,G\n" + "".join(f"{nm},1,1\n" for nm in range(400, 710, 10)), ("2 column(s) beside the wavelength", "red, green and blue"), read_camera),
    Row("camera with a dead channel", "a.csv", "nm,R,G,B\n" + "".join(f"{nm},1,0,1\n" for nm in range(400, 710, 10)), ("the green curve has no value above zero",), read_camera),
    Row("matching functions as camera", "a.csv", "nm,R,G,B\n" + "".join(f"{nm},{-1 if nm == 500 else 1},1,1\n" for nm in range(400, 710, 10)), ("the red curve is -1 at 500 nm", "line 12"), read_camera),
    Row("camera with a gap", "a.csv", "nm,R,G,B\n" + "".join(f"{nm},1,1,1\n" for nm in range(400, 710, 10) if nm != 550), ("missing band: 550 nm",), read_camera),
    Row("camera of the blue end", "a.csv", "nm,R,G,B\n400,1,1,1\n410,1,1,1\n", ("known only from 400 to 410 nm",), read_camera),
    Row("camera with an empty cell", "a.csv", "nm,R,G,B\n400,1,,1\n410,1,1,1\n", ("line 2, G: an empty cell",), read_camera),
    Row("light as camera", "a.spdx", spdx(""), ("this is a light (IES TM-27)",), read_camera),
    # Writing.
    Row("unknown suffix", "out.xlsx", lambda p: None, ("ending '.xlsx'", ".csv, .cgats"), lambda p: write_samples(GREY, p)),
    Row("no suffix", "out", lambda p: None, ("no ending", ".json"), lambda p: write_samples(GREY, p)),
    Row("overwriting", "out.csv", "mine", ("exists and is not overwritten", "force"), lambda p: write_samples(GREY, p)),
    Row("writing to a folder", "out.csv", lambda p: p.mkdir(), ("this is a folder",), lambda p: write_samples(GREY, p)),
    Row("folder missing", "no/out.csv", lambda p: None, ("no folder", "make the folder first"), lambda p: write_samples(GREY, p)),
    Row("light that no reader knows", "out.csv", lambda p: None, ("'shop LED'", "write the reflectance curves"), lambda p: write_samples(SHOP, p)),
]
# fmt: on

GREY = Samples(("grey",), [[0.2] * 31], Grid(400, 700, 10))
SHOP = Samples(("grey",), colorimetry=Colorimetry([[20, 20, 20]], "shop LED", "cie1931"))


@pytest.mark.parametrize("row", TABLE, ids=[row.name for row in TABLE])
def test_bad_input(tmp_path, row):
    path = tmp_path / row.file
    if callable(row.make):
        row.make(path)
    else:
        path.write_bytes(row.make if isinstance(row.make, bytes) else row.make.encode())
    before = {entry: entry.read_bytes() for entry in tmp_path.iterdir() if entry.is_file()}
    with pytest.raises(InputError) as caught:
        row.read(path)
    message = str(caught.value)
    assert Path(row.file).name.partition("#")[0] in message, f"the file is not named: {message}"
    for text in row.says:
        assert text in message
    assert "Error" not in message and "Traceback" not in message
    for problem in caught.value.problems:
        assert problem.expected or problem.mend, f"nothing says how to mend it: {problem}"
    after = {entry: entry.read_bytes() for entry in tmp_path.iterdir() if entry.is_file()}
    assert after == before, "a file of the user was changed"


def test_the_table_is_long_and_every_row_is_a_kind_of_its_own():
    assert len(TABLE) >= 40
    assert len({row.name for row in TABLE}) == len(TABLE)


@pytest.mark.parametrize("seed", range(6))
def test_torn_and_scratched_files_give_samples_or_an_error_and_nothing_else(tmp_path, seed):
    """Good files of every format, cut, scratched and shuffled: no other exception may come out."""
    import numpy as np

    random = np.random.default_rng(seed)
    good = Samples(
        ("a", "b c"),
        random.random((2, 31)),
        Grid(400, 700, 10),
        Colorimetry(random.random((2, 3)) * 90, "D50", "cie1931"),
    )
    sources = [write_samples(good, tmp_path / f"good{suffix}") for suffix in (".csv", ".cgats", ".cxf", ".json")]
    (tmp_path / "lamp.csv").write_text(lamp(lambda nm: nm))
    (tmp_path / "lamp.spdx").write_text(
        spdx("".join(f'<SpectralData wavelength="{nm}">1</SpectralData>\n' for nm in range(380, 790, 10)))
    )
    sources += [tmp_path / "lamp.csv", tmp_path / "lamp.spdx"]
    marks = b'0123456789.,;\t\n\r "#<>/-+eE{}[]ABCnNaA\x00\xff'
    outcomes = {"read": 0, "refused": 0}
    for turn in range(120):
        source = sources[turn % len(sources)]
        data = bytearray(source.read_bytes())
        where = int(random.integers(len(data)))
        if turn % 3 == 0:
            data = data[:where]
        elif turn % 3 == 1:
            for _ in range(int(random.integers(1, 4))):
                data[int(random.integers(len(data)))] = marks[int(random.integers(len(marks)))]
        else:
            del data[where : where + int(random.integers(1, 40))]
        torn = tmp_path / f"torn{source.suffix}"
        torn.write_bytes(data)
        for read in (read_samples, read_light, read_camera):
            try:
                read(torn)
                outcomes["read"] += 1
            except InputError as error:
                assert str(error)
                outcomes["refused"] += 1
    assert outcomes["read"] > 0 and outcomes["refused"] > 100
