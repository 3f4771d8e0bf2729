"""Libraries from letdowns of every medium, held against the formulae that made them; batches; what is wrong."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.formats import inspect_file, read_batch, read_library
from tests.ink_scenes import (
    ABSORBANCE,
    LETDOWN_HEAD,
    NM,
    PIGMENTS,
    STOCKS,
    band,
    letdowns_csv,
    paint,
    printed,
)


def made(tmp_path, text, name="letdowns.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_pigments_are_found_again_from_their_letdowns(tmp_path):
    found = read_library(made(tmp_path, letdowns_csv()))
    assert found.medium == "paint" and found.readings == 1 + 4 * len(PIGMENTS) and found.stock is None
    library = found.library
    assert [one.name for one in library.components] == list(PIGMENTS) and library.base.name == "White"
    assert [one.cost for one in library.components] == [8.0, 13.0, 18.0, 23.0, 28.0, 33.0]
    assert library.base.cost == 3.0
    for one in library.components:
        # What was written has six decimals, which is coarse for the K/S of a dark masstone.
        np.testing.assert_allclose(
            one.k / one.s, PIGMENTS[one.name][0] / PIGMENTS[one.name][1], rtol=2e-3, atol=2e-3
        )
        assert one.fit.worst < 0.02
    shares = np.array([0.15, 0.05, 0.0, 0.0, 0.0, 0.0, 0.8])
    np.testing.assert_allclose(library.mixture().reflect(shares), paint(Red_earth=0.15, Blue=0.05), atol=2e-4)


def test_a_library_is_read_back_from_its_json(tmp_path):
    first = read_library(made(tmp_path, letdowns_csv())).library
    again = read_library(made(tmp_path, first.to_json(), "library.json"))
    assert again.medium == "paint" and again.readings == 0
    np.testing.assert_allclose(again.library.components[1].k, first.components[1].k)


def test_concentrations_in_percent(tmp_path):
    head = LETDOWN_HEAD.replace("# concentration: fraction", "# concentration: percent")
    text = letdowns_csv(head)
    for share in ("1", "0.4", "0.1", "0.02"):
        text = "\n".join(
            line.replace(f",{share},", f",{100 * float(share):g},", 1) if not line.startswith("#") else line
            for line in text.splitlines()
        )
    said = read_library(made(tmp_path, text))
    assert said.library.components[0].concentrations == pytest.approx((0.02, 1.0))
    silent = read_library(made(tmp_path, text.replace("# concentration: percent\n", ""), "silent.csv"))
    assert any("taken for percent" in note.what for note in silent.notes)
    np.testing.assert_allclose(silent.library.components[0].k, said.library.components[0].k)


def inks_text(names=("Cyan", "Magenta", "Yellow"), more="", head=""):
    rows = [",".join(["pigment", "concentration", "cost", *(f"{nm:g}" for nm in NM)])]
    rows.append(",".join(["Board", "0", "", *(f"{v:.6f}" for v in STOCKS["Board"])]))
    rows += [",".join([name, "1", "20", *(f"{v:.6f}" for v in printed("Board", name))]) for name in names]
    start = "# medium: inks\n# base: Board\n# unit: fraction\n"
    return start + head + "\n".join(rows) + "\n" + more


def half(name, factor=1.0):
    curve = STOCKS["Board"] * np.exp(-0.5 * factor * ABSORBANCE[name])
    return ",".join([name, "0.5", "20", *(f"{v:.6f}" for v in curve)]) + "\n"


def test_inks_are_transmittances_on_their_stock(tmp_path):
    found = read_library(made(tmp_path, inks_text(more=half("Cyan"))))
    assert found.medium == "inks" and found.stock_name == "Board"
    np.testing.assert_allclose(found.stock, STOCKS["Board"], atol=1e-6)
    for ink in found.library.components:
        np.testing.assert_allclose(ink.absorbance, ABSORBANCE[ink.name], atol=2e-4)
    assert found.library.base.name == "extender"
    assert any("taken to be clear" in note.what for note in found.notes)
    assert not any("the law of Beer" in note.what for note in found.notes)


def test_an_ink_that_does_not_follow_beer_is_told_with_its_line(tmp_path):
    found = read_library(made(tmp_path, inks_text(more=half("Cyan", 1.6))))
    (note,) = [note for note in found.notes if "law of Beer" in note.what]
    assert note.about == "Cyan" and note.line == 9 and "print at 0.5" in note.what


def test_a_measured_extender(tmp_path):
    clear = ",".join(["Clear", "1", "2", *(f"{v:.6f}" for v in STOCKS["Board"] * np.exp(-0.02 * band(420, 60)))])
    found = read_library(made(tmp_path, inks_text(more=clear + "\n", head="# extender: Clear\n")))
    assert found.library.base.name == "Clear" and len(found.library.components) == 3
    with pytest.raises(InputError, match="no reading of the extender 'Clera'"):
        read_library(made(tmp_path, inks_text(more=clear + "\n", head="# extender: Clera\n")))


def cloth_text(unit="percent", scale=1.0, cloth="Cotton"):
    """Dyeings by the single-constant law, K/S = cloth + c times the dye."""
    ground = 0.03 + 0.05 * band(400, 40)
    rows = [",".join(["pigment", "concentration", *(f"{nm:g}" for nm in NM)])]

    def dyed(ks):
        return ",".join(f"{v:.6f}" for v in 1.0 + ks - np.sqrt(ks**2 + 2.0 * ks))

    rows.append(f"{cloth},0,{dyed(ground)}")
    for level in (0.5, 1.0, 2.0):
        rows.append(f"Madder,{scale * level:g},{dyed(ground + level * 2.0 * band(510, 50))}")
    return f"# medium: cloth\n# base: Cotton\n# unit: fraction\n# concentration: {unit}\n" + "\n".join(rows) + "\n"


@pytest.mark.parametrize(("unit", "scale"), [("percent", 1.0), ("g/kg", 10.0), ("fraction", 0.01)])
def test_dyes_by_a_single_constant(tmp_path, unit, scale):
    found = read_library(made(tmp_path, cloth_text(unit, scale)))
    assert found.medium == "cloth"
    (dye,) = found.library.components
    assert dye.kind == "dye" and dye.concentrations[1] == pytest.approx(2.0)
    np.testing.assert_allclose(dye.k, 2.0 * band(510, 50), atol=2e-3)


def film_text(skip=()):
    """Films of finite thickness over black and white, by the formula of Kubelka 1948."""
    k, s = 0.6 * band(450, 60) + 0.02, 0.8 + 0.0 * NM
    backing = {"black": np.full(NM.size, 0.04), "white": np.full(NM.size, 0.82)}

    def over(ground):
        a = 1.0 + k / s
        b = np.sqrt(a**2 - 1.0)
        coth = 1.0 / np.tanh(b * s)
        return (1.0 - ground * (a - b * coth)) / (a - ground + b * coth)

    rows = [",".join(["pigment", "concentration", "over", *(f"{nm:g}" for nm in NM)])]
    for name, ground in backing.items():
        if name not in skip:
            rows.append(",".join(["", "0", name, *(f"{v:.7f}" for v in ground)]))
        rows.append(",".join(["Lemon", "1", name, *(f"{v:.7f}" for v in over(ground))]))
    return "# medium: film\n# unit: fraction\n" + "\n".join(rows) + "\n", k, s


def test_films_over_black_and_white_give_absolute_pigments(tmp_path):
    text, k, s = film_text()
    found = read_library(made(tmp_path, text))
    (lemon,) = found.library.components
    assert found.medium == "film" and lemon.kind == "absolute" and found.library.base is None
    np.testing.assert_allclose(lemon.k, k, atol=1e-4)
    np.testing.assert_allclose(lemon.s, s, atol=1e-4)


def replaced(old, new):
    text = letdowns_csv()
    assert old in text
    return text.replace(old, new, 1)


def row_of(name, share, curve):
    return ",".join([name, share, "", *(f"{v:.6f}" for v in curve)]) + "\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (replaced("pigment,concentration", "pigment,conzentration"), ("no column 'concentration'", "line 9")),
        (replaced("# base: White", "# base: Wite"), ("no reading of the base 'Wite'", "line 3")),
        (replaced("# base: White\n", ""), ("the base is not named", "the name of the white")),
        (replaced("# medium: paint", "# medium: paste"), ("the medium 'paste'", "line 2", "paint, film, cloth")),
        (replaced("# medium: paint", "# medium: film"), ("a film without the column 'over'",)),
        (replaced("Red earth,0.4", "Red earth,40"), ("a concentration of 40 on a scale of 0 to 1", "percent")),
        (replaced("Red earth,1,", "Red earth,0.9,"), ("no masstone: the highest concentration is 0.9", "line 11")),
        (replaced("Red earth,0.4", ",0.4"), ("no pigment is named", "line 12")),
        (letdowns_csv(extra=row_of("Blue", "0.4", paint(Green=0.4))), ("2 readings that disagree by", "Blue")),
        (letdowns_csv(extra=row_of("White", "1", paint(Blue=0.01))), ("2 readings of White disagree", "line 35")),
        (letdowns_csv(extra=row_of("Rose", "1", 0.0 * NM)), ("a reflectance of 0 at 400", "Rose", "line 35")),
        (letdowns_csv(extra=row_of("Rose", "1", paint() + 0.5)), ("a reflectance of 1.30872", "Rose")),
        (letdowns_csv(extra=row_of("Rose", "1", paint(Blue=1.0))), ("letdowns of one concentration (1)", "Rose")),
        (replaced("# k1: 0.04", "# k1: four"), ("k1 'four'", "line 6")),
        (replaced("# k1: 0.04", "# k1: 1.4"), ("k1 = 1.4", "a share from 0 to below 1")),
        (letdowns_csv(extra="Rose,1,,\n"), ("the row has 4 cells",)),
        (letdowns_csv(pigments=()), ("readings of the base alone",)),
        (letdowns_csv().replace("# kind: letdowns", "# kind: tints"), ("a list of tints", "line 1")),
        (cloth_text("pounds"), ("concentrations in 'pounds'", "g/kg")),
        (cloth_text(cloth="Linen"), ("no reading of the base 'Cotton'", "the undyed cloth")),
        (film_text(("black",))[0], ("no reading of the bare black backing",)),
        (inks_text(more=row_of("Ghost", "1", STOCKS["Board"] + 0.05)), ("the stock Board is darker than Ghost",)),
        ("# medium: paint\nname,L,a,b\nx,1,2,3\n", ("no column 'pigment'",)),
        ("pigment,concentration,LAB_L,LAB_A,LAB_B\nx,1,50,0,0\n", ("no column holds reflectances", "of mixtures")),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said(tmp_path, text, says):
    with pytest.raises(InputError) as caught:
        read_library(made(tmp_path, text))
    message = str(caught.value)
    assert "letdowns.csv" in message
    for part in says:
        assert part in message, message


def test_all_mistakes_are_said_at_once(tmp_path):
    text = replaced("# medium: paint", "# medium: paste").replace("# base: White", "# base: Wite")
    with pytest.raises(InputError) as caught:
        read_library(made(tmp_path, text.replace("Red earth,0.4", "Red earth,40", 1)))
    assert len(caught.value.problems) == 3


@pytest.mark.parametrize(("unit", "kilograms"), [("kg", 2.0), ("g", 0.002), ("lb", 0.90718474)])
def test_what_was_weighed_in_kilograms(tmp_path, unit, kilograms):
    batch = read_batch(
        made(tmp_path, f"# unit: {unit}\ncomponent,amount\nWhite,2\nRed,0.5\nWhite,0\n", "batch.csv")
    )
    assert batch.amounts == {"White": pytest.approx(kilograms), "Red": pytest.approx(kilograms / 4)}
    assert [note.about for note in batch.notes] == ["White"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("component,weighed\nWhite,2\n", ("no column 'amount'", "line 1")),
        ("# unit: stone\ncomponent,amount\nWhite,2\n", ("amounts in 'stone'", "line 1", "kg, g, mg, lb, oz")),
        ("component,amount\nWhite,-2\n", ("-2 of White", "line 2")),
        ("component,amount\nWhite,0\n", ("a batch of nothing",)),
        ("component,amount\n,2\n", ("no component is named", "line 2")),
        ("component,amount\nWhite,two\n", ("'two' is no number", "line 2")),
    ],
)
def test_what_is_wrong_with_a_batch_is_said(tmp_path, text, says):
    with pytest.raises(InputError) as caught:
        read_batch(made(tmp_path, text, "batch.csv"))
    for part in ("batch.csv", *says):
        assert part in str(caught.value)


def test_what_is_in_letdowns_libraries_and_batches(tmp_path):
    path = made(tmp_path, letdowns_csv())
    found = inspect_file(path)
    assert found.kind == "letdowns" and found.summary["components"] == 6 and found.summary["base"] == "White"
    assert found.summary["worst fit (CIEDE2000)"] < 0.02
    silent = made(tmp_path, letdowns_csv().replace("# kind: letdowns\n", ""), "silent.csv")
    assert inspect_file(silent).kind == "letdowns"
    library = made(tmp_path, read_library(path).library.to_json(), "library.json")
    assert inspect_file(library).kind == "library" and inspect_file(library).summary["medium"] == "paint"
    batch = inspect_file(made(tmp_path, "component,amount\nWhite,2\n", "batch.csv"))
    assert batch.kind == "batch" and batch.summary["total (kg)"] == 2.0
