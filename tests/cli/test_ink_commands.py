"""The commands overprint, other-stock, press and printable: figures against textbook formulae, texts, exit
codes."""

from __future__ import annotations

import json

import numpy as np
import pytest

from screenproof.formats import read_press, read_samples
from tests.conftest import SHARED
from tests.ink_scenes import ABSORBANCE, STOCKS, halftone, printed, write_shop


@pytest.fixture
def shop(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return write_shop(tmp_path)


def answer(done):
    assert done.code in (0, 1) and done.err == "", done.err
    return json.loads(done.out)


OVERPRINT = ["overprint", "inks.csv", "--stock", "Board"]


def test_the_green_of_cyan_and_yellow_is_the_product_of_the_transmittances(shop, cli):
    """The reflectance is the product of both over that of the stock: common practice, no source."""
    found = answer(cli(*OVERPRINT, "--inks", "Cyan,Yellow", "--json"))
    assert [one["name"] for one in found["samples"]] == ["Cyan", "Yellow", "Cyan + Yellow"]
    green = found["samples"][-1]
    cyan, yellow, board = printed("Board", "Cyan"), printed("Board", "Yellow"), STOCKS["Board"]
    np.testing.assert_allclose(green["reflectance"], cyan * yellow / board, atol=2e-6)
    assert green["measured"] == "Cyan + Yellow" and green["de00"] < 0.01
    assert green["lab"][1] < -30 and found["schema"] == "screenproof-overprint/2"
    assert found["notes"][-1]["kind"] == "caution" and "about colour only" in found["notes"][-1]["what"]


def test_every_overprint_of_three_inks_with_film_weights(shop, cli):
    found = answer(cli(*OVERPRINT, "--inks", "Cyan,Magenta,Yellow", "--film", "Cyan=0.5,Yellow=1.5", "--json"))
    by_name = {one["name"]: one for one in found["samples"]}
    assert len(by_name) == 7
    wanted = STOCKS["Board"] * np.exp(-0.5 * ABSORBANCE["Cyan"] - 1.5 * ABSORBANCE["Yellow"])
    np.testing.assert_allclose(by_name["Cyan + Yellow"]["reflectance"], wanted, atol=1e-5)
    assert [one["film_weight"] for one in found["inks"]] == [0.5, 1.0, 1.5]


def test_the_surface_is_taken_off_and_put_on(shop, cli):
    found = answer(cli(*OVERPRINT, "--inks", "Cyan,Yellow", "--k1", "0.03", "--k2", "0.5", "--json"))

    def inside(measured):
        """Saunderson 1942, specular excluded."""
        return measured / ((1 - 0.03) * (1 - 0.5) + 0.5 * measured)

    cyan, yellow, board = (inside(printed("Board", *ink)) for ink in (("Cyan",), ("Yellow",), ()))
    layered = cyan * yellow / board
    wanted = (1 - 0.03) * (1 - 0.5) * layered / (1 - 0.5 * layered)
    np.testing.assert_allclose(found["samples"][-1]["reflectance"], wanted, atol=5e-6)
    assert found["surface"] == {"k1": 0.03, "k2": 0.5, "specular": "excluded"}
    by_index = answer(cli(*OVERPRINT, "--inks", "Cyan", "--index", "1.5", "--json"))["surface"]
    assert by_index["k1"] == pytest.approx(0.04) and by_index["k2"] == pytest.approx(0.59635, abs=1e-5)


def test_trapping_is_fitted_to_what_was_measured(shop, cli):
    path = shop / "wet.csv"
    thin = STOCKS["Board"] * np.exp(-ABSORBANCE["Cyan"] - 0.8 * ABSORBANCE["Yellow"])
    text = (shop / "inks.csv").read_text(encoding="utf-8")
    path.write_text(text + "Wet green," + ",".join(f"{v:.6f}" for v in thin) + "\n", encoding="utf-8")
    words = ["--inks", "Cyan,Yellow", "--measured", "Wet green", "--fit-trapping"]
    found = answer(cli("overprint", "wet.csv", "--stock", "Board", *words, "--json"))
    (fit,) = found["trapping"]
    assert fit["inks"] == ["Cyan", "Yellow"] and fit["factor"] == pytest.approx(0.8, abs=1e-3)
    assert fit["de00"] < 0.01 < fit["de00_without"]
    told = cli("overprint", "wet.csv", "--stock", "Board", *words)
    assert "trapping" in told.out and "0.80" in told.out


def test_a_limit_fails_an_overprint_that_was_measured_otherwise(shop, cli):
    words = ["--inks", "Cyan,Yellow", "--measured", "Magenta", "--limit", "2"]
    failed = cli(*OVERPRINT, *words)
    assert failed.code == 1 and "fail" in failed.out
    assert cli(*OVERPRINT, "--inks", "Cyan,Yellow", "--limit", "2").code == 0


def test_overprints_are_written_and_nothing_is_overwritten(shop, cli):
    done = cli(*OVERPRINT, "--inks", "Cyan,Yellow", "-o", "out.cxf")
    assert done.code == 0 and "written: out.cxf" in done.out
    made = read_samples(shop / "out.cxf")
    np.testing.assert_allclose(made.reflectance[1], printed("Board", "Yellow"), atol=2e-6)
    again = cli(*OVERPRINT, "--inks", "Cyan,Yellow", "-o", "out.cxf")
    assert again.code == 2 and "the file exists" in again.err and again.out == ""
    assert cli(*OVERPRINT, "--inks", "Cyan,Yellow", "-o", "out.cxf", "--force").code == 0
    own = cli(*OVERPRINT, "--inks", "Cyan,Yellow", "-o", "inks.csv", "--force")
    assert own.code == 2 and "this is the input itself" in own.err


OTHER_STOCK = ["other-stock", "inks.csv", "--stock", "Board", "--onto", "Kraft", "--onto-file", "kraft.csv"]


def test_an_ink_on_kraft_is_what_was_printed_there(shop, cli):
    found = answer(cli(*OTHER_STOCK, "--ink", "Magenta,Yellow", "--json"))
    assert [one["name"] for one in found["samples"]] == ["Magenta on Kraft", "Yellow on Kraft"]
    for one, ink in zip(found["samples"], ("Magenta", "Yellow"), strict=True):
        np.testing.assert_allclose(one["reflectance"], printed("Kraft", ink), atol=1e-5)
        assert "darker" in one["words"] and one["de00"] > 5.0
    assert any(note["kind"] == "assumed" and "drinks ink" in note["what"] for note in found["notes"])
    told = cli(*OTHER_STOCK, "--ink", "Magenta")
    assert "From Board to Kraft" in told.out and "caution: overprint" in told.out


def test_what_a_dark_stock_and_a_hidden_band_make_doubtful_is_said(shop, cli):
    dark = answer(cli(*OTHER_STOCK[:-4], "--onto", "Slate", "--onto-file", "slate.csv", "--ink", "Cyan", "--json"))
    assert any("too dark" in note["what"] for note in dark["notes"])
    black = answer(cli(*OTHER_STOCK, "--ink", "Black", "--json"))
    doubtful = black["samples"][0]["doubtful"]
    assert len(doubtful) == 16 and not any(
        answer(cli(*OTHER_STOCK, "--ink", "Yellow", "--json"))["samples"][0]["doubtful"]
    )
    assert max(black["samples"][0]["spread"]) > 0.0


def test_a_white_underprint_brings_the_colour_back(shop, cli):
    k, s, x = 0.01, 3.0, 1.0
    a = 1.0 + k / s
    b = np.sqrt(a * a - 1.0)
    coth = 1.0 / np.tanh(b * s * x)

    def over(ground):
        """Kubelka 1948."""
        return (1.0 - ground * (a - b * coth)) / (a - ground + b * coth) * np.ones(16)

    rows = {"Black card": 0.04, "White card": 0.84, "White over black": over(0.04), "White over white": over(0.84)}
    from tests.ink_scenes import samples_csv

    curves = {name: np.ones(16) * value for name, value in rows.items()}
    (shop / "white.csv").write_text(samples_csv(curves), encoding="utf-8")
    bare = answer(cli(*OTHER_STOCK, "--ink", "Cyan", "--json"))["samples"][0]
    over_white = answer(cli(*OTHER_STOCK, "--ink", "Cyan", "--underprint", "white.csv", "--json"))["samples"][0]
    two = answer(
        cli(*OTHER_STOCK, "--ink", "Cyan", "--underprint", "white.csv", "--underprint-weight", "2", "--json")
    )["samples"][0]
    assert bare["de00"] > over_white["de00"] > two["de00"]
    ground = np.array([over(value)[0] for value in STOCKS["Kraft"]])
    np.testing.assert_allclose(over_white["reflectance"], ground * np.exp(-ABSORBANCE["Cyan"]), atol=1e-4)


def test_a_press_is_fitted_written_and_read_back(shop, cli):
    found = answer(cli("press", "fit", "press.csv", "-o", "press.json", "--name", "shop", "--json"))
    assert found["press"] == "press.json" and found["channels"] == ["Cyan", "Magenta", "Yellow", "Black"]
    held = found["held_out"]
    assert held["mean"] < held["p95"] <= held["max"] and held["count"] == len(held["patches"]) > 50
    assert held["max"] < 2.0 and held["worst"] in held["patches"] and "parts" in held["how"]
    assert found["spectral"] and found["limits"] == {"total": 4.0, "channels": [1.0, 1.0, 1.0, 1.0]}
    assert "at 0 40 100 %" in found["cells"][0]
    assert read_press(shop / "press.json").name == "shop"
    told = cli("press", "fit", "press.csv")
    assert "held out" in told.out and "Yule-Nielsen n" in told.out and "full grid" in told.out
    assert "written" not in told.out


def test_a_published_characterisation_within_the_bars_of_its_own_patches(cli):
    """FOGRA39L, fitted on 184 patches, judged on the other 1,433: to be within 0.45, 0.95 and 2.0."""
    done = cli("press", "fit", SHARED / "FOGRA39L.txt", "--levels", "0,40,100", "--limit", "0.95", "--json")
    found = answer(done)
    held = found["held_out"]
    assert (found["fitted_on"], held["count"], len(held["patches"])) == (184, 1433, 1433)
    assert held["mean"] <= 0.45 and held["p95"] <= 0.95 and held["max"] <= 2.0
    assert done.code == 0 and found["status"] == "pass"
    assert cli("press", "fit", SHARED / "FOGRA39L.txt", "--levels", "0,40,100", "--limit", "0.1").code == 1


def test_only_some_channels_are_fitted(shop, cli):
    found = answer(cli("press", "fit", "press.csv", "--channels", "Cyan,Yellow", "--n", "2", "--json"))
    assert found["channels"] == ["Cyan", "Yellow"] and found["n"] == 2.0 and found["fitted_on"] == 19


def test_tints_are_predicted_with_xyz_lab_and_curve(shop, cli):
    cli("press", "fit", "press.csv", "-o", "press.json")
    found = answer(cli("press", "predict", "press.json", "tints.csv", "--json"))
    assert [one["name"] for one in found["samples"]] == ["t1", "t2"]
    for one, tints in zip(found["samples"], ((0.5, 0, 0, 0), (0.3, 0.6, 0.2, 0.1)), strict=True):
        np.testing.assert_allclose(one["tints"], tints)
        np.testing.assert_allclose(one["reflectance"], halftone(tints), atol=0.006)
        assert len(one["xyz"]) == len(one["lab"]) == 3 and one["doubt"] == 0.0
    told = cli("press", "predict", "press.json", "tints.csv")
    assert "t2" in told.out and "30.0" in told.out


def test_a_characterisation_is_a_press_a_list_and_its_own_measure(shop, cli):
    found = answer(cli("press", "predict", "press.csv", "press.csv", "--against", "press.csv", "--json"))
    assert found["differences"]["count"] == 101 and found["differences"]["max"] < 1.0
    # What the press misses by its own statement is more than this limit: it cannot say that it fails.
    strict = cli("press", "predict", "press.csv", "press.csv", "--against", "press.csv", "--limit", "0.00001")
    assert strict.code == 0 and "undecided" in strict.out and "from what was measured: mean" in strict.out


def test_a_press_of_xyz_has_no_curves(cli, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "tints.csv").write_text("# tints: percent\nname,C,M,Y,K\ngrey,0,0,0,50\n", encoding="utf-8")
    found = answer(cli("press", "predict", SHARED / "FOGRA39L.txt", "tints.csv", "--json"))
    assert "reflectance" not in found["samples"][0] and found["wavelengths"] is None
    # The set has this very patch.
    own = read_samples(SHARED / "FOGRA39L.txt")
    row = int(np.argmin(np.abs(own.device.values - [0, 0, 0, 0.5]).sum(axis=1)))
    np.testing.assert_allclose(found["samples"][0]["xyz"], own.colorimetry.xyz[row], atol=0.15)


def test_targets_are_separated_under_limits_and_print_again_what_was_wanted(shop, cli):
    from tests.ink_scenes import samples_csv

    curves = {"a": halftone((0.3, 0.6, 0.2, 0.1)), "b": halftone((0.6, 0.5, 0.5, 0.3))}
    (shop / "wanted.csv").write_text(samples_csv(curves), encoding="utf-8")
    cli("press", "fit", "press.csv", "-o", "press.json")
    limits = ["--total", "240", "--channel-limit", "Black=70"]
    blacks = {}
    for black in ("least", "most", "smooth"):
        done = cli("press", "separate", "press.json", "wanted.csv", *limits, "--black", black, "--json")
        found = answer(done)
        assert done.code == 0 and all(one["printable"] for one in found["samples"])
        assert all(one["coverage"] <= 2.4 + 1e-9 and one["tints"]["Black"] <= 0.7 for one in found["samples"])
        blacks[black] = found["samples"][1]["tints"]["Black"]
    assert blacks["least"] <= blacks["smooth"] <= blacks["most"] and blacks["least"] < blacks["most"] - 0.05
    done = cli("press", "separate", "press.json", "wanted.csv", *limits, "-o", "out.csv")
    assert "written: out.csv" in done.out and "All 2 can be printed." in done.out
    again = answer(cli("press", "predict", "press.json", "out.csv", "--against", "wanted.csv", "--json"))
    assert again["differences"]["max"] < 0.1


def test_what_cannot_be_printed_is_told_first_and_fails_a_limit(shop, cli):
    (shop / "neon.csv").write_text(
        "# light: D50\n# observer: cie1931\nname,L,a,b\nneon,80,-90,40\n", encoding="utf-8"
    )
    done = cli("press", "separate", "press.csv", "neon.csv", "--limit", "1")
    assert done.code == 1 and "1 of 1 cannot be printed" in done.out and "NO" in done.out


def test_for_curves_the_tints_of_least_shift(shop, cli):
    from tests.ink_scenes import samples_csv

    (shop / "wanted.csv").write_text(samples_csv({"a": halftone((0.5, 0.4, 0.4, 0.2))}), encoding="utf-8")
    plain = answer(cli("press", "separate", "press.csv", "wanted.csv", "--black", "least", "--json"))
    held = answer(cli("press", "separate", "press.csv", "wanted.csv", "--to", "A,FL11", "--json"))
    assert held["black"] is None and [one["light"] for one in held["samples"][0]["shift"]] == ["A", "FL11"]
    assert max(one["de00"] for one in held["samples"][0]["shift"]) < 0.3
    assert held["samples"][0]["tints"]["Black"] == pytest.approx(0.2, abs=0.05)
    assert plain["samples"][0]["shift"] == []


def test_printable_of_samples_and_of_codes(shop, cli):
    cli("press", "fit", "press.csv", "-o", "press.json", "--name", "shop press")
    found = answer(cli("printable", "press.json", "kraft.csv", "--json"))
    assert len(found["samples"]) == 9 and all(isinstance(one["printable"], bool) for one in found["samples"])
    codes = ["--code", "0,255,0", "--code", "120,105,95"]
    done = cli("printable", "press.json", "--display", "srgb", *codes, "--limit", "2", "--json")
    green, taupe = answer(done)["samples"]
    assert done.code == 1 and (green["printable"], taupe["printable"]) == (False, True)
    assert (green["status"], taupe["status"]) == ("fail", "pass") and green["code"] == [0, 255, 0]
    assert green["obstacles"] and green["sentence"].startswith("0,255,0 cannot be printed on shop press")
    told = cli("printable", "press.json", "--display", "srgb", *codes)
    assert told.code == 0 and green["sentence"] in told.out and "1 of 2 cannot be printed." in told.out
    white = answer(
        cli("printable", "press.json", "--display", "srgb", "--code", "255,255,255", "--own-stock", "--json")
    )
    assert white["samples"][0]["printable"] and white["samples"][0]["coverage"] < 0.01
