"""Characterisations: channels by name, and what a press must not be fitted to."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import inspect_file, read_characterisation, read_press, write_press
from screenproof.formats.characterisation import with_channels
from screenproof.subtractive import fit_press
from tests.conftest import SHARED
from tests.ink_scenes import CHANNELS, chart, chart_csv, chart_rows, halftone


def made(tmp_path, text, name="chart.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_channels_of_any_name_are_read_in_percent(tmp_path):
    samples = read_characterisation(made(tmp_path, chart_csv()))
    assert samples.device is not None and samples.device.channels == CHANNELS
    np.testing.assert_allclose(samples.device.values, chart())
    np.testing.assert_allclose(samples.reflectance[7], halftone(chart()[7]), atol=1e-6)


def test_a_published_set_is_read_whole():
    samples = read_characterisation(SHARED / "FOGRA39L.txt")
    assert len(samples) == 1617 and samples.device.channels == ("C", "M", "Y", "K")
    assert (samples.colorimetry.light, samples.colorimetry.observer) == ("D50", "cie1931")


def test_the_channels_of_cgats_can_be_named_by_a_keyword(tmp_path):
    text = (
        'ISO28178\nKEYWORD "CHANNELS"\nCHANNELS "Teal, Ember"\nBEGIN_DATA_FORMAT\n'
        "SAMPLE_ID Teal Ember LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
        "BEGIN_DATA\n1 0 0 95 0 0\n2 100 0 50 -30 0\n3 0 100 60 40 50\nEND_DATA\n"
    )
    samples = read_characterisation(made(tmp_path, text, "chart.txt"))
    assert samples.device.channels == ("Teal", "Ember")
    np.testing.assert_allclose(samples.device.values, [[0, 0], [1, 0], [0, 1]])


def test_some_channels_with_the_patches_that_print_no_other(tmp_path):
    samples = with_channels(read_characterisation(made(tmp_path, chart_csv())), ("Magenta", "Yellow"))
    assert samples.device.channels == ("Magenta", "Yellow") and len(samples) == 9 + 10
    with pytest.raises(InputError, match="no channel is called 'Orange'"):
        with_channels(read_characterisation(tmp_path / "chart.csv"), ("Orange",))


def table(rows, inks=CHANNELS):
    return chart_csv(inks, rows=rows)


def rows():
    return chart_rows(chart())


def test_doubles_that_nearly_agree_are_kept_and_those_that_cannot_are_refused(tmp_path):
    near, far = rows(), rows()
    near.append(["again", *near[40][1:]])
    assert len(read_characterisation(made(tmp_path, table(near)))) == len(near)
    # The reading of another patch under the tints of this one.
    far.append(["again", *far[40][1:5], *far[3][5:]])
    with pytest.raises(InputError) as caught:
        read_characterisation(made(tmp_path, table(far)))
    message = str(caught.value)
    assert "p41 and again are both Cyan 40, Magenta 40, Yellow 40, Black 40 %" in message
    assert "CIEDE2000" in message and "within 6 CIEDE2000" in message


def test_how_far_doubles_disagree_is_the_ciede2000_of_a_second_library(tmp_path, colour):
    far = rows()
    far.append(["again", *far[40][1:5], *far[3][5:]])
    with pytest.raises(InputError) as caught:
        read_characterisation(made(tmp_path, table(far)))
    from screenproof.appearance import xyz_to_lab
    from screenproof.spectra import Grid, light, observer, weights, white_point

    lamp, eye = light("D50"), observer("cie1931")
    curves = np.array([[float(v) for v in row[5:]] for row in (far[40], far[-1])])
    lab = xyz_to_lab(curves @ weights(lamp, eye, Grid(400.0, 700.0, 20.0)), white_point(lamp, eye))
    assert f"differ by {colour.delta_E(lab[0], lab[1], method='CIE 2000'):.1f} CIEDE2000" in str(caught.value)


def blackless(step):
    return [[row[0], *row[1:4], step, *row[5:]] for row in rows()]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("name,400,500,600\na,1,2,3\nb,2,3,4\n", ("no tints stand beside the readings", "# channels:")),
        ("name,R,G,B,LAB_L,LAB_A,LAB_B\na,0,0,0,1,0,0\n", ("R, G, B, which are no inks", "display fit")),
        (
            chart_csv(channels="Cyan, Magenta, Yelow, Black"),
            ("no column is called 'Yelow'", "did you mean 'Yellow'"),
        ),
        (chart_csv(channels="Cyan, Magenta, Cyan"), ("'Cyan' is stated twice",)),
        (table(blackless("0")), ("Black is 0 % in every patch", "leave the channel out")),
        (table(blackless("30")), ("Black is 30 % in every patch", "add patches without this ink")),
        (table(rows()[:3]), ("3 patches for 4 channels", "5 patches at the least")),
        (table([*rows(), ["x", "120", "0", "0", "0", *rows()[0][5:]]]), ("a device value of 120", "0 to 100")),
    ],
)
def test_what_is_wrong_is_said(tmp_path, text, says):
    with pytest.raises(InputError) as caught:
        read_characterisation(made(tmp_path, text))
    message = str(caught.value)
    assert "chart.csv" in message
    for part in says:
        assert part in message, message


def test_a_press_is_written_and_read_back(tmp_path):
    press = fit_press(read_characterisation(made(tmp_path, chart_csv())), name="shop")
    path = write_press(press, tmp_path / "press.json")
    again = read_press(path)
    assert again.channels == press.channels and again.name == "shop"
    tints = np.random.default_rng(3).random((200, 4))
    np.testing.assert_allclose(again.lab(tints), press.lab(tints), atol=2e-3)
    with pytest.raises(InputError, match="the file exists"):
        write_press(press, path)


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda text: text[:-300], "this is no JSON"),
        (lambda text: text.replace("screenproof-press/1", "screenproof-press/7"), "the schema is"),
        (lambda text: text.replace('"channels"', '"chanels"', 1), "channels"),
        (lambda text: text.replace('"yule_nielsen_n": ', '"yule_nielsen_n": -'), "yule_nielsen_n"),
    ],
)
def test_a_damaged_press_is_refused(tmp_path, spoil, says):
    path = write_press(fit_press(read_characterisation(made(tmp_path, chart_csv()))), tmp_path / "press.json")
    path.write_text(spoil(path.read_text(encoding="utf-8")), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_press(path)
    assert "press.json" in str(caught.value) and says in str(caught.value)


def test_what_is_in_the_files_of_a_press(tmp_path):
    path = made(tmp_path, chart_csv())
    summary = inspect_file(path).summary
    assert summary["device"] == list(CHANNELS) and summary["missing for a press"] is None
    assert summary["ramps"] == {ink: 7 for ink in CHANNELS} and summary["overprints of solids"] == 11
    assert summary["overprinted tints"] == 81 - 1 - 8 - 11 and summary["highest total (percent)"] == 400.0
    less = made(tmp_path, table([row for row in rows() if row[1:5] != ["0", "100", "0", "0"]]), "less.csv")
    assert inspect_file(less).summary["missing for a press"] == ["the solid of Magenta"]
    press = write_press(fit_press(read_characterisation(path), name="shop"), tmp_path / "press.json")
    found = inspect_file(press)
    assert found.kind == "press" and found.summary["channels"] == list(CHANNELS)
    assert found.summary["limits (percent)"]["total"] == 400.0 and found.summary["held out (CIEDE2000)"]["of"] > 0
    tints = made(tmp_path, "# kind: tints\nname,Teal,Ember\na,10,20\nb,30,40\n", "tints.csv")
    found = inspect_file(tints)
    assert found.kind == "tints" and found.summary["channels"] == ["Teal", "Ember"]
    assert found.summary["highest total (percent)"] == 70.0
