"""Grids, lights, observers, samples and their plausibility: behaviour that no published table covers."""

from __future__ import annotations

import numpy as np
import pytest

from screenproof.errors import InputError
from screenproof.spectra import (
    Colorimetry,
    Condition,
    Grid,
    Light,
    Observer,
    Samples,
    check_plausible,
    emission_xyz,
    light,
    light_names,
    observer,
    tristimulus,
    weights,
    white_point,
)

NM10 = Grid(380.0, 730.0, 10.0)


def test_grid_of_even_wavelengths():
    grid = Grid.of(np.arange(400, 701, 20))
    assert (grid.start, grid.stop, grid.step, grid.count) == (400.0, 700.0, 20.0, 16)
    assert np.array_equal(grid.wavelengths, np.arange(400, 701, 20))
    thirds = Grid.of(np.round(np.linspace(380, 780, 121), 4))
    assert thirds.count == 121


@pytest.mark.parametrize(
    ("wavelengths", "said"),
    [
        ([700, 600, 500], "descend"),
        ([400, 410, 420, 440, 450], "from 420 to 440"),
        ([400, 410, 410, 420], "410 nm stands twice"),
        ([400, 420, 410, 430], "go back from 420 to 410"),
        ([0.4, 0.5, 0.6], "nanometres"),
        ([550], "no spectrum"),
        ([400, float("nan"), 420], "no wavelength"),
    ],
)
def test_wavelengths_that_are_no_grid_are_said(wavelengths, said):
    with pytest.raises(InputError, match=said):
        Grid.of(wavelengths)


@pytest.mark.parametrize(
    "grid",
    [
        Grid(400.0, 700.0, 10.0),
        Grid(380.0, 730.0, 10.0),
        Grid(360.0, 780.0, 10.0),
        Grid(400.0, 700.0, 20.0),
        Grid(380.0, 780.0, 5.0),
        Grid(380.0, 780.0, 1.0),
        Grid(365.0, 725.0, 12.0),
        Grid(380.0, 780.0, 4.0),
        Grid(300.0, 900.0, 10.0),
    ],
)
@pytest.mark.parametrize("name", ["A", "D65", "FL11", "LED-B3"])
def test_weights_of_any_grid_sum_to_the_white_point(grid, name):
    total = weights(light(name), observer("cie1931"), grid).sum(axis=0)
    assert np.allclose(total, white_point(light(name), observer("cie1931")), atol=1e-9)


def test_a_line_between_two_bands_is_counted():
    """A 1 nm line at 545 nm, samples at 10 nm: a straight reflectance is known in between."""
    nm = np.arange(360.0, 831.0)
    line = Light("line", Grid(360.0, 830.0, 1.0), np.where(nm == 545.0, 1.0, 0.0))
    ramp = (NM10.wavelengths - 380.0) / 350.0
    y = tristimulus(ramp, NM10, [line], [observer("cie1931")])[0, 0, 0, 1]
    assert y == pytest.approx(100.0 * (545.0 - 380.0) / 350.0, abs=1e-9)


def test_a_light_finer_than_1_nm_keeps_its_line():
    grid = Grid(500.0, 600.0, 0.25)
    power = np.zeros(grid.count)
    power[grid.wavelengths == 550.5] = 1.0
    power[grid.wavelengths == 550.25] = 1.0
    lamp = Light("laser", grid, power)
    assert white_point(lamp, observer("cie1931"))[1] == pytest.approx(100.0)
    assert lamp.at(np.arange(500.0, 601.0)).sum() > 0


def test_many_lights_and_observers_are_one_product():
    rng = np.random.default_rng(1)
    curves = rng.uniform(0.05, 0.9, (7, NM10.count))
    lights = [light(n) for n in ("D50", "A", "FL11")]
    observers = [observer(n) for n in ("cie1931", "cie2015-10")]
    together = tristimulus(curves, NM10, lights, observers)
    assert together.shape == (7, 3, 2, 3)
    alone = curves @ weights(lights[2], observers[1], NM10)
    assert np.allclose(together[:, 2, 1], alone, rtol=1e-13)


def test_readings_that_miss_the_visible_range_are_refused():
    with pytest.raises(InputError, match="visible range"):
        weights(light("D50"), observer("cie1931"), Grid(500.0, 700.0, 10.0))


def test_light_names_in_any_case_and_older_spelling():
    assert light("fl11") is light("F11") is light(" FL11 ")
    assert light("d5000k").name == "D5000K"
    assert len(light_names()) == 50
    with pytest.raises(InputError, match="LED-B3"):
        light("LEDB3")


@pytest.mark.parametrize("name", ["D3000K", "P100K", "Dx", ""])
def test_unknown_lights_say_what_is_expected(name):
    with pytest.raises(InputError, match="expected"):
        light(name)


@pytest.mark.parametrize(
    ("power", "said"),
    [([0, 0, 0], "light of zeros"), ([1, -1, 1], "negative power"), ([1, np.nan, 1], "no number")],
)
def test_lights_that_cannot_be(power, said):
    with pytest.raises(InputError, match=said):
        Light("odd", Grid(400.0, 700.0, 150.0), np.array(power, dtype=float))


def test_a_light_outside_the_visible_range_is_refused():
    power = np.zeros(61)
    power[:5] = 1.0
    with pytest.raises(InputError, match="no power between"):
        Light("lamp", Grid(300.0, 900.0, 10.0), power)


def test_an_uneven_measured_light_is_carried_onto_1_nm():
    nm = np.array([380.0, 381.5, 400.0, 500.0, 640.0, 780.0])
    lamp = Light.from_readings("lamp", nm, np.array([0.0, 1.0, 2.0, 3.0, 2.0, 1.0]))
    assert lamp.grid.step == 1.0
    assert lamp.at([500.0])[0] == pytest.approx(3.0)
    assert lamp.at([450.0])[0] == pytest.approx(2.5)


def test_an_uneven_light_finer_than_1_nm_keeps_its_power():
    nm = np.array([400.0, 500.0, 550.3, 550.5, 550.7, 600.0, 700.0])
    lamp = Light.from_readings("lamp", nm, np.array([0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0]))
    assert lamp.power.sum() == pytest.approx(0.2)  # a triangle of 0.4 nm and height 1


def test_a_camera_is_an_observer():
    grid = Grid(400.0, 700.0, 10.0)
    nm = grid.wavelengths
    curves = np.stack([np.exp(-(((nm - peak) / 40.0) ** 2)) for peak in (600.0, 540.0, 460.0)], axis=-1)
    camera = Observer("camera", grid, curves, kind="camera")
    white = white_point(light("D65"), camera)
    assert white[1] == pytest.approx(100.0)
    with pytest.raises(InputError, match="curve 2"):
        Observer("camera", grid, curves * [1.0, 0.0, 1.0], kind="camera")


def test_observers_are_named():
    with pytest.raises(InputError, match="cie1931"):
        observer("1931")


def test_emission_of_a_known_radiance():
    """1 W/(sr m2) at 555 nm alone is 683 cd/m2 for the 1931 observer: the definition of K_m, CIE 15:2018 7.2."""
    grid = Grid(380.0, 780.0, 1.0)
    spectrum = np.where(grid.wavelengths == 555.0, 1.0, 0.0)
    assert emission_xyz(spectrum, grid, observer("cie1931"))[0, 1] == pytest.approx(683.0, rel=1e-3)


def test_emission_on_coarser_grids_agrees_for_a_smooth_spectrum():
    def bell(nm):
        return np.exp(-(((nm - 540.0) / 60.0) ** 2))

    fine, coarse, finest = (Grid(380.0, 780.0, step) for step in (1.0, 5.0, 0.5))
    at_1 = emission_xyz(bell(fine.wavelengths), fine, observer("cie1931"))
    assert np.allclose(emission_xyz(bell(coarse.wavelengths), coarse, observer("cie1931")), at_1, rtol=2e-3)
    assert np.allclose(emission_xyz(bell(finest.wavelengths), finest, observer("cie1931")), at_1, rtol=1e-4)


def spectral(curve, **more):
    return Samples(("one",), np.atleast_2d(curve), NM10, **more)


def test_samples_refuse_what_does_not_fit():
    flat = np.full((2, NM10.count), 0.5)
    with pytest.raises(InputError, match="stands twice"):
        Samples(("a", "a"), flat, NM10)
    with pytest.raises(InputError, match="no sample"):
        Samples((), flat, NM10)
    with pytest.raises(InputError, match="shape"):
        Samples(("a", "b"), flat[:, 1:], NM10)
    with pytest.raises(InputError, match="neither"):
        Samples(("a", "b"))
    with pytest.raises(InputError, match="M0, M1"):
        Condition(filter="M7")


def test_samples_with_colorimetry_are_not_carried_to_another_light():
    samples = Samples(("a",), colorimetry=Colorimetry(np.array([[20.0, 21.0, 18.0]]), "D50", "cie1931"))
    own = samples.xyz([light("D50")], [observer("cie1931")])
    assert own.shape == (1, 1, 1, 3)
    assert np.array_equal(own[0, 0, 0], [20.0, 21.0, 18.0])
    with pytest.raises(InputError, match="measure the reflectance curves"):
        samples.xyz([light("A")], [observer("cie1931")])


def test_select_and_index():
    curves = np.linspace(0.1, 0.9, 3)[:, None] * np.ones(NM10.count)
    samples = Samples(("a", "b", "c"), curves, NM10)
    assert samples.select([2, 0]).names == ("c", "a")
    assert samples.select([2]).reflectance[0, 0] == pytest.approx(0.9)
    assert samples.index("b") == 1
    with pytest.raises(InputError, match="nearest names: a, b, c"):
        samples.index("zz")
    with pytest.raises(ValueError, match="read-only"):
        samples.reflectance[0, 0] = 2.0


def test_joined_needs_one_grid():
    a, b = spectral(np.full(NM10.count, 0.4)), Samples(("two",), np.full((1, NM10.count), 0.6), NM10)
    assert Samples.joined([a, b]).names == ("one", "two")
    other = Grid(400.0, 700.0, 10.0)
    with pytest.raises(InputError, match="not measured alike"):
        Samples.joined([a, Samples(("three",), np.full((1, other.count), 0.5), other)])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda c: c * 100.0, "percent"),
        (lambda c: c - 0.6, "negative"),
        (lambda c: c + 0.6, "no fluorescence declared"),
        (lambda c: np.where(NM10.wavelengths == 550.0, np.nan, c), "no reading at 550 nm"),
        (lambda c: np.where(NM10.wavelengths == 550.0, 0.95, c), "a spike at 550 nm"),
    ],
)
def test_implausible_readings_are_said(change, said):
    notes = check_plausible(spectral(change(np.full(NM10.count, 0.5))))
    assert len(notes) == 1
    assert said in notes[0].what
    assert notes[0].about == "one"
    assert notes[0].mend


def test_plausible_readings_pass_without_a_word():
    assert check_plausible(spectral(np.linspace(0.0, 1.0, NM10.count))) == ()
    assert check_plausible(spectral(np.full(NM10.count, 1.1), fluorescent=True)) == ()
