"""Lights from CSV and IES TM-27, with what is odd about them said."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import read_light, read_light_noted, read_lights

NM = np.arange(380, 785, 5)
LAMP = np.round(np.exp(-(((NM - 560) / 90.0) ** 2)), 6)


def table(*columns: np.ndarray, header: str = "", mark: str = ",", nm: np.ndarray = NM) -> str:
    rows = [mark.join(repr(v) for v in row) for row in np.column_stack([nm, *columns]).tolist()]
    return (header + "\n" if header else "") + "\n".join(rows) + "\n"


def spdx(nm: np.ndarray, power: np.ndarray, quantity: str = "relative", namespace: str = "iestm2714") -> str:
    data = "\n".join(f'<SpectralData wavelength="{w}">{p}</SpectralData>' for w, p in zip(nm, power, strict=True))
    return (
        f'<?xml version="1.0"?>\n<IESTM2714 xmlns="{namespace}" version="1.0">\n<Header>'
        "<Manufacturer>made up</Manufacturer><Description>Lamp over the table</Description></Header>\n"
        f"<SpectralDistribution><SpectralQuantity>{quantity}</SpectralQuantity>\n{data}\n"
        "</SpectralDistribution></IESTM2714>\n"
    )


def write(folder: Path, text: str, name: str = "lamp.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("header", ["", "wavelength,power", "nm,lamp", "# a comment\nwavelength (nm),W/nm"])
def test_two_columns_with_and_without_names(tmp_path, header):
    light, notes = read_light_noted(write(tmp_path, table(LAMP, header=header)))
    assert light.name == "lamp" and notes == ()
    assert (light.grid.start, light.grid.stop, light.grid.step) == (380.0, 780.0, 5.0)
    np.testing.assert_array_equal(light.power, LAMP)


def test_statements_of_a_light(tmp_path):
    head = "# kind: light\n# name: table lamp\n# label: Lamp over the table\n# illuminance: 500 lx\nnm;power"
    text = table(LAMP, header=head, mark=";").replace(".", ",")
    light = read_light(write(tmp_path, text))
    assert (light.name, light.label, light.illuminance) == ("table lamp", "Lamp over the table", 500.0)
    np.testing.assert_array_equal(light.power, LAMP)


def test_one_of_several_is_picked_by_name(tmp_path):
    path = write(tmp_path, table(LAMP, LAMP[::-1], header="wavelength,shop LED,tubes"), "lamps.csv")
    lights, _ = read_lights(path)
    assert [light.name for light in lights] == ["shop LED", "tubes"]
    np.testing.assert_array_equal(read_light(f"{path}#tubes").power, LAMP[::-1])
    np.testing.assert_array_equal(read_light(f"{path}#Shop led").power, LAMP)
    with pytest.raises(InputError, match="lamps.csv#shop LED"):
        read_light(path)
    with pytest.raises(InputError, match="expected: one of shop LED, tubes"):
        read_light(f"{path}#sun")


def test_a_file_with_the_mark_in_its_own_name(tmp_path):
    assert read_light(write(tmp_path, table(LAMP), "lamp#2.csv")).name == "lamp#2"


@pytest.mark.parametrize("namespace", ["iestm2714", "http://www.ies.org/iestm2714"])
def test_tm_27(tmp_path, namespace):
    light, notes = read_light_noted(write(tmp_path, spdx(NM, LAMP, "flux", namespace), "lamp.spdx"))
    assert (light.name, light.label) == ("lamp", "Lamp over the table")
    assert light.grid.step == 5.0 and notes == ()
    np.testing.assert_array_equal(light.power, LAMP)


def test_tm_27_is_known_by_its_content_in_any_encoding(tmp_path):
    path = tmp_path / "lamp.txt"
    path.write_bytes(spdx(NM, LAMP).replace('"1.0"?', '"1.0" encoding="UTF-16"?', 1).encode("utf-16"))
    np.testing.assert_array_equal(read_light(path).power, LAMP)


def test_the_same_as_another_reader_reads(tmp_path):
    """An even sample file of colour-science, read by colour-science itself."""
    import colour

    path = write(tmp_path, spdx(NM, LAMP), "lamp.spdx")
    theirs = colour.SpectralDistribution_IESTM2714(str(path)).read()
    ours = read_light(path)
    np.testing.assert_array_equal(ours.grid.wavelengths, theirs.wavelengths)
    np.testing.assert_array_equal(ours.power, theirs.values)


def test_an_uneven_lamp_keeps_its_colour():
    """The fluorescent lamp of the examples to TM-27: lines at uneven wavelengths, as the standard allows.

    Its chromaticity by straight lines between the readings, summed at 0.01 nm with colour-science's 1931
    functions, is what ours on 1 nm must have.
    """
    import colour

    from screenproof.spectra import observer, white_point

    path = files("colour") / "io" / "tests" / "resources" / "Fluorescent.spdx"
    theirs = colour.SpectralDistribution_IESTM2714(str(path)).read()
    light, notes = read_light_noted(str(path))
    assert "unevenly spaced" in "\n".join(str(note) for note in notes)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    fine = np.arange(400, 700.005, 0.01)
    power = np.interp(fine, theirs.wavelengths, theirs.values)
    curves = np.stack([np.interp(fine, cmfs.wavelengths, cmfs.values[:, k]) for k in range(3)], axis=1)
    wanted = power @ curves
    # Past 400 and 700 nm, where the file ends, a light is held: count ours inside only.
    inside = (light.grid.wavelengths >= 400) & (light.grid.wavelengths <= 700)
    nm = light.grid.wavelengths[inside]
    ours = light.power[inside] @ np.stack(
        [np.interp(nm, cmfs.wavelengths, cmfs.values[:, k]) for k in range(3)], 1
    )
    np.testing.assert_allclose(ours[:2] / ours.sum(), wanted[:2] / wanted.sum(), atol=4e-4)
    # And held past its ends it is still nearly that colour.
    white = white_point(light, observer("cie1931"))
    np.testing.assert_allclose(white[:2] / white.sum(), wanted[:2] / wanted.sum(), atol=2e-3)


def test_a_lamp_read_finer_than_1_nm_loses_no_line(tmp_path):
    # A line of 0.2 nm between whole wavelengths, on an uneven array spectrometer's pixels.
    nm = np.cumsum(np.concatenate([[380.0], np.tile([0.31, 0.33], 640)]))
    power = 0.01 + np.exp(-(((nm - 546.5) / 0.3) ** 2))
    light, notes = read_light_noted(write(tmp_path, table(power, nm=nm)))
    assert light.grid.step == 1.0 and "unevenly spaced" in str(notes[0])
    drawn = np.trapezoid(power, nm)
    assert np.trapezoid(light.power, light.grid.wavelengths) == pytest.approx(drawn, rel=0.01)


@pytest.mark.parametrize(
    ("nm", "power", "words"),
    [
        (np.arange(420, 681, 5), np.ones(53), "known only from 420 to 680 nm"),
        (np.arange(380, 781, 20), np.ones(21), "readings up to 20 nm apart"),
        (NM, np.where(NM == 500, -0.005, LAMP), "a hair below zero"),
    ],
)
def test_what_is_odd_is_said(tmp_path, nm, power, words):
    light, notes = read_light_noted(write(tmp_path, table(power, nm=nm)))
    assert words in "\n".join(str(note) for note in notes if note.kind == "odd")
    assert light.power.min() >= 0


def test_columns_without_names_are_numbered_and_said(tmp_path):
    path = write(tmp_path, table(LAMP, LAMP[::-1]))
    lights, notes = read_lights(path)
    assert [light.name for light in lights] == ["1", "2"]
    assert "called 1 to 2" in str(notes[0])


def test_notes_of_a_picked_light_are_its_own(tmp_path):
    noisy = np.where(NM == 500, -0.005, LAMP)
    path = write(tmp_path, table(LAMP, noisy, header="nm,good,noisy"))
    assert read_light_noted(f"{path}#good")[1] == ()
    assert "noisy" in str(read_light_noted(f"{path}#noisy")[1][0])
