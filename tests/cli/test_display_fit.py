"""``display fit``: the report, the profile that it writes, and that it replaces no file unasked."""

from __future__ import annotations

import io
import json

import numpy as np
import pytest
from PIL import ImageCms

SRGB = np.array(
    [[0.4123908, 0.3575843, 0.1804808], [0.2126390, 0.7151687, 0.0721923], [0.0193308, 0.1191948, 0.9505322]]
)
"""IEC 61966-2-1 with Amd 1: the normalised primary matrix, seven decimals."""

WHITE, BLACK = 120.0, 0.15


def shown(drive: np.ndarray) -> np.ndarray:
    """XYZ in cd/m2 of an additive display with gamma 2.2, the primaries of sRGB and a neutral black."""
    return WHITE * (drive**2.2 @ SRGB.T) + BLACK * SRGB.sum(axis=1)


@pytest.fixture
def readings(tmp_path):
    """Readings of that display: ramps, greys, mixtures, white and black three times; 0.1 percent of noise."""
    random = np.random.default_rng(3)
    steps = np.linspace(0, 1, 11)
    ramps = [step * row for row in (*np.eye(3), np.ones(3)) for step in steps[1:]]
    drive = np.array([*ramps, *random.random((40, 3)), *np.zeros((3, 3)), *np.ones((2, 3))])
    xyz = shown(drive) * (1 + 0.001 * random.standard_normal((len(drive), 1)))
    rows = [",".join(f"{value:.6f}" for value in row) for row in np.hstack([drive, xyz])]
    path = tmp_path / "readings.csv"
    path.write_text("R,G,B,X,Y,Z\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_the_fit_finds_the_display_and_says_how_well(cli, readings):
    done = cli("display", "fit", readings, "--json")
    assert done.code == 0 and done.err == ""
    answer = json.loads(done.out)
    assert answer["fit"]["model"] == "matrix" and answer["profile"] is None
    assert answer["fit"]["held_out"]["p95"] < 0.3 and answer["fit"]["held_out"]["count"] > 20
    assert answer["fit"]["repeatability_percent"] == pytest.approx(0.1, abs=0.08)
    display = answer["display"]
    assert display["luminance"] == pytest.approx(WHITE + BLACK, rel=3e-3)
    assert display["luminances"]["black"] == pytest.approx(BLACK, abs=0.02)
    assert display["xy"]["red"] == pytest.approx([0.64, 0.33], abs=2e-3)
    text = cli("display", "fit", readings).out
    assert "a matrix with tone curves" in text and "CIEDE2000" in text and "repeatability" in text


def test_the_profile_is_read_by_littlecms_and_by_us(cli, readings, tmp_path):
    profile = tmp_path / "display.icc"
    done = cli("display", "fit", readings, "-o", profile)
    assert done.code == 0 and profile.as_posix() in done.out
    opened = ImageCms.ImageCmsProfile(io.BytesIO(profile.read_bytes()))
    assert opened.profile.xcolor_space.strip() == "RGB" and opened.profile.version >= 4
    answer = json.loads(cli("display", "show", profile, "--json").out)
    assert answer["kind"] == "profile"
    assert answer["xy"]["green"] == pytest.approx([0.30, 0.60], abs=5e-3)
    assert answer["xy"]["white"] == pytest.approx([0.3127, 0.3290], abs=2e-3)


def test_a_profile_is_replaced_only_when_asked(cli, readings, tmp_path):
    profile = tmp_path / "mine.icc"
    profile.write_bytes(b"mine")
    refused = cli("display", "fit", readings, "-o", profile)
    assert refused.code == 2 and refused.out == "" and "--force" in refused.err
    assert profile.read_bytes() == b"mine"
    assert cli("display", "fit", readings, "-o", profile, "--force").code == 0
    assert profile.read_bytes()[36:40] == b"acsp"


def test_the_readings_are_never_replaced_by_their_profile(cli, readings):
    before = readings.read_bytes()
    assert cli("display", "fit", readings, "-o", readings, "--force").code == 2
    assert readings.read_bytes() == before


def test_a_fitted_display_takes_the_samples_drive_values_that_its_maker_knows(cli, readings, colours):
    """The same match by hand: CAT16 by its published matrix, the sRGB matrix inverted, the exponent undone."""
    m16 = np.array(
        [[0.401288, 0.650173, -0.051461], [-0.250268, 1.204414, 0.045854], [-0.002079, 0.048952, 0.953127]]
    )
    call = ("match", colours, "--display", readings, "--light", "D50", "--json")
    answer = json.loads(cli(*call).out)
    d50 = np.array([96.422, 100.0, 82.521])
    white = shown(np.ones((1, 3)))[0]
    compared = 0
    for sample in answer["samples"]:
        if not sample["in_gamut"]:
            continue
        xyz = np.linalg.inv(m16) @ ((m16 @ white) / (m16 @ d50) * (m16 @ np.array(sample["xyz"])))
        linear = np.linalg.inv(SRGB) @ ((xyz - BLACK * SRGB.sum(axis=1)) / WHITE)
        assert sample["drive"] == pytest.approx(np.maximum(linear, 0) ** (1 / 2.2), abs=0.01)
        compared += 1
    assert compared >= 6


def test_readings_that_make_no_display_are_refused(cli, tmp_path):
    path = tmp_path / "few.csv"
    path.write_text("R,G,B,X,Y,Z\n0,0,0,0.1,0.1,0.1\n1,1,1,90,100,110\n", encoding="utf-8")
    done = cli("display", "fit", path)
    assert done.code == 2 and "few.csv" in done.err and done.out == ""


def test_readings_are_inspected_and_drawn(cli, readings, tmp_path):
    done = cli("inspect", readings, "--plot", tmp_path / "readings.png", "--json")
    assert done.code == 0 and json.loads(done.out)["kind"] == "display readings"
    assert (tmp_path / "readings.png").stat().st_size > 10000
