"""Objects and situations at the edge of what there is: every figure stays a number, and no warning comes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from screenproof.additive import modelled_display, standard_display
from screenproof.errors import InputError
from screenproof.proof import BASES, Viewing, gamut, lc_outline, light_shift, match, screen_shift
from screenproof.spectra import Grid, Observer, Samples, light, observer

NM = np.arange(380.0, 731.0, 10.0)
EXTREMES = np.array(
    [
        np.zeros(36),
        np.ones(36),
        np.full(36, 1.3),
        np.where(NM == 450, 0.9, 0.0),
        np.where(NM > 700, 1.0, 0.0),
        np.where(NM < 400, 1.0, 0.0),
    ]
)
CAMERA = Observer(
    "camera",
    Grid.of(NM),
    np.stack([np.exp(-(((NM - centre) / 40.0) ** 2)) for centre in (600, 540, 460)], axis=-1),
    kind="camera",
)


@pytest.mark.parametrize("basis", BASES)
@pytest.mark.parametrize("lamp", ["D50", "A", "HP1", "LED-RGB1"])
def test_extreme_objects_in_extreme_lights_for_eyes_and_a_camera(basis, lamp):
    names = ("black", "white", "fluorescent", "one band", "far red", "far violet")
    samples = Samples(names, EXTREMES, Grid.of(NM), fluorescent=True)
    viewing = Viewing(light(lamp).with_illuminance(500.0), observer("cie1931"), basis)
    for display in (standard_display("srgb"), modelled_display("laser", black=0.01)):
        found = match(samples, display, viewing)
        who = [viewing.observer, CAMERA] if display.spectral else [viewing.observer]
        moved = screen_shift(samples, found, display, viewing, [light("A"), light("HP1")], who)
        assert len(moved.observers) == len(who)
        figures = (found.drive, found.excess, found.residual, found.shown_lab, moved.de00, moved.cam16ucs)
        assert all(np.isfinite(values).all() for values in figures)
        assert found.drive.min() >= 0.0 and found.drive.max() <= 1.0
        assert not found.in_gamut[2] or basis == "absolute"
        assert gamut(samples, display, viewing, matched=found).direction[1] == "" or not found.in_gamut[1]
        assert all(chroma >= 0.0 for _, points in lc_outline(display, viewing, (40.0,)) for _, chroma in points)


def test_a_camera_has_no_match_of_its_own_and_its_figures_are_told_as_such():
    samples = Samples(("grey",), np.full((1, 36), 0.4), Grid.of(NM))
    display = modelled_display("laser", black=0.01)
    with pytest.raises(InputError, match="for an eye"):
        match(samples, display, Viewing(light("D50"), CAMERA))
    viewing = Viewing(light("D50"), observer("cie1931"))
    moved = screen_shift(samples, match(samples, display, viewing), display, viewing, [light("A")], [CAMERA])
    assert any("not what an eye sees" in note.what for note in moved.notes)


def test_without_another_light_there_is_no_light_shift_and_no_fault():
    samples = Samples(("grey",), np.full((1, 36), 0.4), Grid.of(NM))
    assert light_shift(samples, light("D50"), [], [observer("cie1931")]).de00.shape == (1, 0, 1)


def test_the_benchmark_runs_and_agrees_with_colour_science():
    # The script ends with 1 when drive values, codes, residuals or shifts are not those of the library's calls.
    script = Path(__file__).parents[2] / "benchmarks" / "proof_speed.py"
    command = [sys.executable, str(script), "--samples", "300", "--subset", "2"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=110)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "ratio, warm" in done.stdout
