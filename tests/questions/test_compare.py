"""``compare``: figures against colour-science, refusals of readings that do not compare, sets as a whole."""

from __future__ import annotations

import json

import numpy as np
import pytest

import screenproof as sp
from screenproof.cli import main
from screenproof.proof.difference import lab_parts

PAIRS = 40


@pytest.fixture
def cli(capsys):
    def run(*arguments):
        with pytest.raises(SystemExit) as left:
            main([str(one) for one in arguments])
        printed = capsys.readouterr()
        return int(left.value.code or 0), printed.out, printed.err

    return run


@pytest.fixture
def lab():
    """Targets and prints, drawn: (n, 3) each, neutral ones and hues on both sides of 0 degrees among them."""
    random = np.random.default_rng(5)
    a = np.column_stack([random.uniform(15, 95, PAIRS), random.uniform(-70, 70, (PAIRS, 2))])
    a[:3] = [[50, 0, 0], [60, 30, 0.5], [70, 40, -1]]
    return a, a + random.normal(0, 2, a.shape)


def table(path, lab, *, head=("light: D50", "observer: cie1931"), names=None):
    names = names or [f"patch {i}" for i in range(len(lab))]
    rows = [f"{name},{','.join(f'{value:.6f}' for value in row)}" for name, row in zip(names, lab, strict=True)]
    text = "\n".join([*(f"# {line}" for line in head), "name,LAB_L,LAB_A,LAB_B", *rows])
    path.write_text(text + "\n", encoding="utf-8")
    return path


def test_differences_are_those_of_colour_science(lab, colour):
    """CIEDE2000, CIE 1976 and CMC(2:1) by colour-science 0.4.7."""
    a, b = lab
    names = [f"patch {i}" for i in range(PAIRS)]
    for metric, theirs in (("de00", "CIE 2000"), ("deab", "CIE 1976"), ("cmc", "CMC")):
        found = sp.compare(sp.samples(names, lab=a), sp.samples(names, lab=b), metric=metric, limit=2)
        wanted = colour.delta_E(a, b, method=theirs)
        # XYZ between the two Lab costs some digits.
        np.testing.assert_allclose([one.figure for one in found.figures], wanted, atol=1e-8)
        assert [one.status for one in found.figures] == ["pass" if one <= 2 else "fail" for one in wanted]


def test_the_parts_make_the_whole_and_hue_has_its_sign(lab):
    """dE*ab^2 = dL*^2 + dC*^2 + dH*^2 (CIE 15:2018, 8.2.1); dH* is above 0 anticlockwise."""
    a, b = lab
    parts = lab_parts(a, b)
    whole = np.sqrt(parts.dl**2 + parts.dc**2 + parts.dh**2)
    np.testing.assert_allclose(whole, np.linalg.norm(b - a, axis=1), atol=1e-9)
    np.testing.assert_allclose(np.column_stack([parts.dl, parts.da, parts.db]), b - a)
    red, over = np.array([[50.0, 40.0, -1.0]]), np.array([[50.0, 40.0, 1.0]])
    assert lab_parts(red, over).dh[0] == pytest.approx(2.0, abs=1e-3)
    assert lab_parts(over, red).dh[0] == pytest.approx(-2.0, abs=1e-3)


def test_the_set_has_its_mean_percentile_and_largest(lab):
    a, b = lab
    names = [f"patch {i}" for i in range(PAIRS)]
    found = sp.compare(sp.samples(names, lab=a), sp.samples(names, lab=b), mean=0.5, p95=50)
    mean, p95, worst = found.whole
    assert mean.figure == pytest.approx(found.de00.mean()) and mean.status == "fail"
    assert p95.figure == pytest.approx(np.percentile(found.de00, 95)) and p95.status == "pass"
    assert worst.figure == pytest.approx(found.de00.max()) and worst.status == "not judged"
    assert found.worst_name == names[int(found.de00.argmax())]
    assert found.status == "fail" and [one.kind for one in found.findings()] == ["whole"]


def test_what_shift_passes_for_its_correction_fails_here(tmp_path, cli):
    """Two sets of curves that are apart in D50: the pair shift corrects for that, a comparison does not."""
    nm = np.arange(400, 701, 10)
    grey = np.full((1, nm.size), 0.5)
    a, b = (sp.samples(["grey"], reflectance=curve, wavelengths=nm) for curve in (grey, 0.45 * grey / 0.5))
    assert sp.metamerism(a, b, from_light="D50", to="A", limit=1).status == "pass"
    found = sp.compare(a, b, limit=1)
    assert found.status == "fail" and found.de00[0] > 2.0


def test_lab_of_one_light_is_compared_in_it_whatever_the_default(tmp_path, cli, lab):
    a, b = (table(tmp_path / f"{name}.csv", one[:3], head=("light: D65", "observer: cie1964")) for name, one in
            zip("ab", lab, strict=True))  # fmt: skip
    code, out, _ = cli("compare", a, b, "--json")
    data = json.loads(out)
    assert code == 0 and (data["light"], data["observer"]) == ("D65", "cie1964")
    assert {one["status"] for one in data["pairs"]} == {"not judged"}


UNLIKE = [
    (("filter: M0",), ("filter: M1",), "M0 against M1"),
    (("backing: white",), ("backing: black",), "white backing against black"),
    (("geometry: 45a:0",), ("geometry: di:8",), "geometry 45a:0 against di:8"),
    (("geometry: de:8",), ("geometry: di:8",), "geometry de:8 against di:8"),
]
HEAD = ("light: D50", "observer: cie1931")


@pytest.mark.parametrize(("first", "second", "says"), UNLIKE, ids=lambda value: str(value))
def test_readings_taken_unlike_are_refused_or_widened(tmp_path, cli, lab, first, second, says):
    a = table(tmp_path / "a.csv", lab[0][:3], head=(*HEAD, *first))
    b = table(tmp_path / "b.csv", lab[0][:3] + [0.3, 0, 0], head=(*HEAD, *second))
    code, out, err = cli("compare", a, b, "--limit", 1)
    assert code == 2 and out == "" and says in err and "--unlike" in err
    code, out, _ = cli("compare", a, b, "--limit", 1, "--unlike", 2)
    assert code == 0 and "3 are undecided" in out and says in out and "take both readings alike" in out
    code, out, _ = cli("compare", a, b, "--limit", 30, "--unlike", 2, "--json")
    assert code == 0 and {one["status"] for one in json.loads(out)["pairs"]} == {"pass"}


def test_like_readings_compare(tmp_path, cli, lab):
    """45a:0, 45x:0 and 0:45 are one kind of geometry; what is not stated is not held against a file."""
    a = table(tmp_path / "a.csv", lab[0][:3], head=(*HEAD, "geometry: 45a:0", "filter: M1"))
    b = table(tmp_path / "b.csv", lab[0][:3], head=(*HEAD, "geometry: 45x:0"))
    assert cli("compare", a, b, "--limit", 1)[0] == 0


MISTAKES = [
    (["compare", "a.csv"], ["PRINT"]),
    (["compare", "a.csv", "nowhere.csv"], ["there is no file 'nowhere.csv'"]),
    (["compare", "a.csv", "fewer.csv"], ["without a partner: 'patch 2'", "--only"]),
    (["compare", "a.csv", "other.csv"], ["without a partner", "(is it 'patch 1' there?)"]),
    (["compare", "a.csv", "twice.csv"], ["the name 'patch 0' stands 2 times"]),
    (["compare", "a.csv", "d65.csv"], ["unlike lights or observers: D50, cie1931 against D65, cie1931"]),
    (["compare", "a.csv", "ten.csv"], ["D50, cie1931 against D50, cie1964"]),
    (["compare", "a.csv", "b.csv", "--light", "A"], ["only XYZ or Lab for D50"]),
    (["compare", "a.csv", "b.csv", "--light", "D51"], ["D51", "D50"]),
    (["compare", "a.csv", "b.csv", "--metric", "de2000"], ["--metric: the text 'de2000'", "did you mean 'de00'?"]),
    (["compare", "a.csv", "b.csv", "--limit", "-1"], ["--limit: the number -1.0 is out of range", "0 or more"]),
    (["compare", "a.csv", "b.csv", "--limit", "much"], ["--limit: 'much' is no number"]),
    (["compare", "a.csv", "b.csv", "--limit", "1", "--limit", "2"], ["--limit: it is given twice"]),
    (["compare", "a.csv", "b.csv", "--metric=de00", "--metric", "cmc"], ["--metric: it is given twice"]),
    (["compare", "a.csv", "b.csv", "--mean", "3", "--worst", "2"], ["--mean: 3 is above", "raise --worst"]),
    (["compare", "a.csv", "b.csv", "--tolerance", "contract"], ["contract", "did you mean 'contract-proof'?"]),
    (["compare", "a.csv", "b.csv", "--tolerance", "contract-proof", "--limit", "1"], ["--limit: the set by name"]),
    (["compare", "a.csv", "b.csv", "--unlike", "2"], ["--unlike: both were read alike"]),
    (["compare", "a.csv", "b.csv", "--unlike", "0"], ["--unlike: the number 0.0 is out of range", "above 0"]),
    (["compare", "a.csv", "b.csv", "--instrument", "basic"], ["--instrument: there is no limit", "add --limit"]),
    (["compare", "a.csv", "b.csv", "--limit", "1", "--instrument", "bsic"], ["--instrument", "bsic", "basic"]),
    (["compare", "a.csv", "b.csv", "--only", "patch 9"], ["no sample is called 'patch 9'"]),
    (["compare", "a.csv", "b.csv", "-o", "out.pdf"], ["--out", ".csv or .json"]),
    (["compare", "a.csv", "b.csv", "-o", "a.csv"], ["--out: the file exists"]),
    (["compare", "a.csv", "b.csv", "--limt", "1"], ["--limt", "--limit"]),
    (["match", "a.csv", "a.csv"], ["the name 'patch 0' stands twice"]),
    (["match", "a.csv", "--display", "srgb", "--display", "bt709"], ["--display: it is given twice"]),
    (["compair", "a.csv", "b.csv"], ["no command is called 'compair'", "did you mean 'compare'?"]),
]


@pytest.fixture
def here(tmp_path, lab, monkeypatch):
    """A folder with files that compare, and some that do not."""
    a = lab[0][:3]
    table(tmp_path / "a.csv", a)
    table(tmp_path / "b.csv", lab[1][:3])
    table(tmp_path / "fewer.csv", a[:2])
    table(tmp_path / "other.csv", a, names=["patch 0", "pach 1", "patch 2"])
    table(tmp_path / "twice.csv", a, names=["patch 0", "patch 0", "patch 2"])
    table(tmp_path / "d65.csv", a, head=("light: D65", "observer: cie1931"))
    table(tmp_path / "ten.csv", a, head=("light: D50", "observer: cie1964"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(("arguments", "says"), MISTAKES, ids=lambda value: " ".join(value)[:60])
def test_a_mistake_ends_with_2_and_words_that_help(cli, here, arguments, says):
    before = {path.name: path.read_bytes() for path in here.iterdir()}
    code, out, err = cli(*arguments)
    assert code == 2 and out == "" and "Traceback" not in err
    for piece in says:
        assert piece.lower() in err.lower(), f"{piece!r} is not in:\n{err}"
    assert {path.name: path.read_bytes() for path in here.iterdir()} == before
