"""The data of the journey of a client who sees it differently: what the files hold, and that the story is in them.

The truth is in profiles_demo/make_eye_data.py, where the cartons are known before an instrument reads them.
Colours and differences are those of colour-science. What screen and board are to do is read off the files by hand.
"""

from __future__ import annotations

import csv
import json
import sys
from pathlib import Path

import numpy as np
import pytest

DEMO = Path(__file__).parents[2] / "profiles_demo"
DATA = DEMO / "data"
NM = np.arange(380.0, 731.0, 10.0)
TEAL = "Harbour teal, spot"


@pytest.fixture(scope="module")
def making():
    sys.path.insert(0, str(DEMO))
    try:
        import make_eye_data

        yield make_eye_data
    finally:
        sys.path.remove(str(DEMO))


def rows_of(name: str) -> tuple[list[str], list[list[str]]]:
    """Header and rows of a CSV, by the standard library."""
    lines = [line for line in (DATA / name).read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    header, *rows = csv.reader(lines)
    assert {len(row) for row in rows} == {len(header)}
    return header, rows


def spectra(name: str) -> tuple[list[str], np.ndarray]:
    """Names and reflectance curves of a CSV in percent."""
    header, rows = rows_of(name)
    assert header[1:] == [f"{nm:g}" for nm in NM]
    return [row[0] for row in rows], np.array([row[1:] for row in rows], dtype=float) / 100


def proof_of(name: str) -> np.ndarray:
    lines = (DATA / "carton_inks.cgats").read_text(encoding="utf-8").splitlines()
    row = next(line.split("\t") for line in lines if f'"{name}"' in line)
    return np.array(row[2:], dtype=float)


def de_of(colour, one: np.ndarray, other: np.ndarray) -> float:
    """CIEDE2000 of two curves under D50 by colour-science's own tables, summed at 5 nm."""
    fine = np.arange(380.0, 731.0, 5.0)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    table = np.stack([np.interp(fine, cmfs.wavelengths, cmfs.values[:, i]) for i in range(3)], axis=1)
    power = colour.SDS_ILLUMINANTS["D50"]
    weights = np.interp(fine, power.wavelengths, power.values)[:, None] * table
    weights /= weights[:, 1].sum()
    white = weights.sum(axis=0)
    xyz = np.stack([np.interp(fine, NM, curve) for curve in (one, other)]) @ weights
    lab = colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(white))
    return float(colour.delta_E(lab[0], lab[1], method="CIE 2000"))


def test_the_cartons_are_read_once_and_again(making):
    import colour

    truth = making.delivered(NM)
    once, again = spectra("delivery.csv"), spectra("delivery_again.csv")
    assert once[0] == list(truth) and again[0] == list(truth) * making.READINGS
    errors = again[1].reshape(making.READINGS, len(truth), NM.size) - np.stack(list(truth.values()))
    bright = np.stack(list(truth.values())) > 5 * making.REPEATABILITY
    assert errors[:, bright].std() == pytest.approx(making.REPEATABILITY, rel=0.15)
    # Neighbouring bands err together, as the theory of doubt takes it: exp(-10 / 20) from band to band.
    pairs = bright[:, 1:] & bright[:, :-1]
    both = np.corrcoef(errors[:, :, 1:][:, pairs].ravel(), errors[:, :, :-1][:, pairs].ravel())[0, 1]
    assert both == pytest.approx(np.exp(-0.5), abs=0.1)
    # The print is within its contract, which allows 2, and near enough to it to be argued about.
    assert 1.2 < de_of(colour, truth[TEAL], proof_of(TEAL)) < 1.8


def test_one_reading_leaves_it_undecided_and_as_many_as_it_asks_for_decide(making, capsys):
    from screenproof.cli import main

    def asked(file):
        against = ["--against", str(DATA / "carton_inks.cgats"), "--only", TEAL, "--from", "D65", "--to", "D50"]
        with pytest.raises(SystemExit) as ended:
            main(["shift", str(DATA / file), *against, "--correction", "none", "--limit", "2", "--json"])
        printed = capsys.readouterr()
        assert ended.value.code == 0, printed.err
        (pair,) = json.loads(printed.out)["pairs"]
        return pair

    once, again = asked("delivery.csv"), asked("delivery_again.csv")
    assert once["status"] == "undecided" and again["status"] == "pass"
    remedy = once["judged"][0]["remedy"]
    ((_, more),) = remedy["extra"]
    # Both sides have a sample of that name: the advice says which file it means.
    assert f"{TEAL} of delivery.csv {more} more times" in remedy["words"]
    assert making.READINGS == 1 + more
    assert again["judged"][0]["high"] < once["judged"][0]["high"]


def test_the_client_s_screen_settles_and_has_one_dim_corner(making):
    header, rows = rows_of("client_screen.csv")
    assert header == ["R", "G", "B", "X", "Y", "Z", "position", "minutes"]
    white = [row for row in rows if row[:3] == ["255", "255", "255"]]
    centre = np.mean([[float(v) for v in row[3:6]] for row in white if row[6:] == ["", ""]], axis=0)
    assert centre[1] == pytest.approx(160, rel=0.01)
    assert centre[:2] / centre.sum() == pytest.approx([0.3127, 0.3290], abs=0.001)
    places = {row[6]: float(row[4]) / centre[1] for row in white if row[6]}
    assert set(places) == {f"{r}-{c}" for r in (1, 2, 3) for c in (1, 2, 3)}
    # More than a tenth off fails the limit of ISO 12646 for white (Amd 1:2010); only one place does.
    assert [place for place, share in places.items() if abs(share - 1) > 0.10] == ["3-3"]
    warm = [(float(row[7]), float(row[4])) for row in white if row[7]]
    assert [at for at, _ in warm] == making.MINUTES.tolist()
    assert warm[0][1] < 0.9 * warm[-1][1]
    assert all(y == pytest.approx(warm[-1][1], rel=0.015) for at, y in warm if at >= 30)


def test_one_board_has_brightener_and_one_has_none():
    names, with_uv = spectra("board_m1.csv")
    again, without = spectra("board_m2.csv")
    assert names == again
    plain, bright = with_uv - without
    assert np.abs(plain).max() < 0.002
    # It gives blue, between 410 and 500 nm, and nothing in the green and the red.
    assert 420 <= NM[bright.argmax()] <= 450 and bright.max() > 0.10
    assert np.abs(bright[NM >= 520]).max() < 0.002 and np.abs(bright[NM <= 400]).max() < 0.01
    assert with_uv[1].max() > 0.95
