"""Readings over the screen and over time: read, kept, and left out of the fit of the display's colours."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.additive import fit_display
from screenproof.errors import InputError
from screenproof.formats import read_readings
from tests.additive.fit_scenes import WHITE, additive, drives

DRIVES = drives(9, 3)
XYZ = additive("gamma")(DRIVES)
GRID = [f"{row}-{column}" for row in (1, 2, 3) for column in (1, 2, 3)]


def rows_of(drive: np.ndarray, xyz: np.ndarray, *more: str) -> list[str]:
    return [
        ",".join([*(f"{v:.10g}" for v in row), *more])
        for row in np.hstack([np.atleast_2d(drive), np.atleast_2d(xyz)])
    ]


def written(tmp_path, columns: str, rows: list[str]):
    path = tmp_path / "screen.csv"
    path.write_text("\n".join([f"R,G,B,X,Y,Z,{columns}", *rows]) + "\n", encoding="utf-8")
    return path


def test_places_and_a_series_are_kept_and_left_out_of_the_fit(tmp_path):
    # Edges a third darker and a cold start at half the light: in the fit they would halve the white.
    rows = rows_of(DRIVES, XYZ, "", "")
    for place in GRID:
        rows += rows_of(np.ones(3), WHITE * (1.0 if place == "2-2" else 0.67), place, "")
    rows += [r for t in (0, 5, 30) for r in rows_of(np.ones(3), WHITE * (0.5 + t / 60), "", str(t))]
    readings = read_readings(written(tmp_path, "position,minutes", rows))
    count = len(DRIVES)
    assert readings.positions[count : count + 9] == tuple(place.replace("-", ",") for place in GRID)
    assert readings.positions[:count] == (None,) * count and readings.grid_shape == (3, 3)
    assert np.isnan(readings.minutes[: count + 9]).all() and readings.minutes[count + 9 :].tolist() == [0, 5, 30]
    assert np.flatnonzero(~readings.at_centre).tolist() == [count + i for i in (0, 1, 2, 3, 5, 6, 7, 8)]
    assert np.flatnonzero(readings.in_series).tolist() == [count + 9, count + 10, count + 11]
    told = fit_display(readings, "desk")
    plain = fit_display(readings.select(slice(0, count)), "desk")
    assert told.luminance == pytest.approx(plain.luminance, rel=1e-3)
    assert told.fit.readings == count + 1
    (note,) = [note for note in told.notes if "not used to fit" in note.what]
    assert "8 away from the centre" in note.what and "3 of a series over time" in note.what


def test_white_that_was_read_in_the_series_only_is_the_last_one(tmp_path):
    white = (DRIVES == 1.0).all(axis=1)
    rows = rows_of(DRIVES[~white], XYZ[~white], "")
    rows += [r for t in (60, 0, 10) for r in rows_of(np.ones(3), XYZ[white][0] * (0.7 + t / 200), str(t))]
    fitted = read_readings(written(tmp_path, "minutes", rows)).for_fit()
    at = np.flatnonzero((fitted.drive == 1.0).all(axis=1))
    assert at.size == 1 and fitted.xyz_cd[at[0]] == pytest.approx(XYZ[white][0])


def test_a_log_of_a_session_is_no_series(tmp_path):
    rows = [r for i, (d, x) in enumerate(zip(DRIVES, XYZ, strict=True)) for r in rows_of(d, x, f"{i / 4:g}")]
    readings = read_readings(written(tmp_path, "minutes", rows))
    assert not readings.in_series.any() and readings.for_fit() is readings
    rows += [r for t in (100, 110, 120) for r in rows_of(np.ones(3), WHITE, str(t))]
    series = read_readings(written(tmp_path, "minutes", rows)).in_series
    assert series[-3:].all() and not series[:-3].any()


@pytest.mark.parametrize(
    ("columns", "cells", "place"),
    [
        ("position", ["r1c3"], "1,3"),
        ("position", ["Top left"], "1,1"),
        ("position", ["right, bottom".replace(",", "")], "3,3"),
        ("position", ["centre"], "2,2"),
        ("position", ['"5,4"'], "5,4"),
        ("row,column", ["2", "3"], "2,3"),
    ],
)
def test_ways_of_writing_a_place(tmp_path, columns, cells, place):
    readings = read_readings(written(tmp_path, columns, rows_of(np.ones(3), WHITE, *cells)))
    assert readings.positions == (place,)


@pytest.mark.parametrize(
    ("columns", "cells", "words"),
    [
        ("position", ["11"], ["'11' is no place on a screen", "line 2", "1-1 to 3-3"]),
        ("position", ["0-1"], ["'0-1' is no place on a screen"]),
        ("position", ["north"], ["'north' is no place", "top left"]),
        ("row", ["1"], ["a column 'row' and no column 'column'", "line 1"]),
        ("minutes", ["-5"], ["'-5' minutes", "line 2", "0 or more"]),
        ("minutes", ["soon"], ["'soon' minutes", "from switching on"]),
    ],
)
def test_a_place_or_a_time_that_is_none(tmp_path, columns, cells, words):
    with pytest.raises(InputError) as raised:
        read_readings(written(tmp_path, columns, rows_of(np.ones(3), WHITE, *cells)))
    assert all(word in str(raised.value) for word in words), str(raised.value)


def test_readings_of_the_edges_alone_make_no_display(tmp_path):
    rows = [r for place in ("1-1", "2-2") for r in rows_of(DRIVES, XYZ, place)]
    with pytest.raises(InputError, match="no reading was made at the centre"):
        fit_display(read_readings(written(tmp_path, "position", rows)), "desk")


def test_another_column_of_times_is_said(tmp_path):
    readings = read_readings(written(tmp_path, "time", rows_of(np.ones(3), WHITE, "10:31")))
    assert readings.minutes is None
    assert any("'time' is not used" in note.what and "'minutes'" in note.mend for note in readings.notes)
