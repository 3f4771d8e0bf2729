"""What a population sees of matches and of pairs: against colour-science, and against the same one by one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from screenproof.additive import SpectralTable, display_from_primaries, modelled_display, named_transfer
from screenproof.errors import InputError
from screenproof.proof import (
    ToleranceSet,
    Viewing,
    crowd,
    crowd_on_display,
    gamut_share,
    kindest,
    match,
    pair_crowd,
    pair_shift,
    screen_shift,
)
from screenproof.proof.crowd import CrowdDifferences, by_age, worst_age
from screenproof.proof.eyes import WHITES, Onlookers
from screenproof.spectra import (
    VISIBLE,
    Colorimetry,
    Grid,
    Population,
    Samples,
    emission_weights,
    emission_weights_for_curves,
    light,
    observer,
    population,
    weights,
    weights_for_curves,
)

# The library says that it brings light, observer and curves onto one grid, which is wanted.
pytestmark = pytest.mark.filterwarnings("ignore::colour.utilities.verbose.ColourRuntimeWarning")

NM = np.arange(380.0, 731.0, 10.0)
TUBE_DOT_LASER = ("phosphor-tube", "quantum-dot-lcd", "laser")


def smooth(count, grid, seed=3):
    rng, nm = np.random.default_rng(seed), grid.wavelengths
    centre, width = rng.uniform(420, 680, (count, 1)), rng.uniform(40, 110, (count, 1))
    values = 0.05 + rng.uniform(0.2, 0.6, (count, 1)) * np.exp(-(((nm - centre) / width) ** 2))
    return Samples(tuple(f"sample {i}" for i in range(count)), values, grid)


def one_person(who):
    return Population((who.name,), np.array([32.0]), who.field or 2.0, 0, who.at_1nm[None], who.label)


def tabled_spectra(steps=3):
    """A display known by a table of spectra, that mixes its channels a little."""
    view = modelled_display("white-led-lcd", black=0.1).model
    axis = np.linspace(0.0, 1.0, steps)
    nodes = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), axis=-1).reshape(-1, 3)
    spectra = view.spectrum(nodes) * (1.0 - 0.05 * nodes.prod(axis=1, keepdims=True))
    table = SpectralTable((axis, axis, axis), spectra.reshape(steps, steps, steps, -1), view.grid)
    return replace(modelled_display("white-led-lcd"), name="tabled", model=table)


class AnyEmission:
    """A model that says no more of itself than every emission model has to."""

    def __init__(self, inner):
        self.grid, self.seen_by, self.spectrum = inner.grid, inner.seen_by, inner.spectrum


def any_other(display):
    return replace(display, model=AnyEmission(display.model))


SPECTRAL = {
    "in a room": lambda: modelled_display("white-led-lcd", black=0.2).with_room(150.0, "FL11", 0.04),
    "hlg": lambda: modelled_display("quantum-dot-lcd", curve="hlg", luminance=1000.0, black=0.0),
    "laser": lambda: modelled_display("laser"),
    "table": tabled_spectra,
    "any other model": lambda: any_other(modelled_display("rgb-oled")),
}
BASES = {
    "white": {},
    "bradford, half adapted": {"adaptation": "bradford", "degree": 0.5},
    "absolute": {"basis": "absolute"},
    "appearance": {"basis": "appearance", "display_surround": "dim"},
}


@pytest.fixture(scope="module")
def patches(colour):
    curves = colour.SDS_COLOURCHECKERS["ISO 17321-1"]
    values = np.array([np.interp(NM, curve.wavelengths, curve.values) for curve in curves.values()])
    return Samples(tuple(f"patch {i + 1}" for i in range(24)), values, Grid.of(NM))


@pytest.fixture(scope="module")
def people():
    return population(40, seed=4)


def test_the_narrower_the_primaries_the_more_people_differ(patches):
    """ISO 17321-1 under D50 on a tube, a quantum-dot screen and a laser; 300 people who see both sides at once.

    A quick trial, before any of this was written and with other spectra of the same kinds, gave medians of 0.5,
    1.6, 2.9 and 95th percentiles of 2.2, 6.2, 11.4 CIEDE2000.
    """
    for basis in ("absolute", "white"):
        viewing, people = Viewing(light("D50"), observer("cie1931"), basis=basis), population(300, seed=1)
        figures = []
        for name in TUBE_DOT_LASER:
            display = modelled_display(name)
            figures.append(crowd(patches, match(patches, display, viewing), display, viewing, people).figures)
        medians, p95 = ([float(np.quantile(each, q)) for each in figures] for q in (0.5, 0.95))
        assert medians[0] + 0.5 < medians[1] < medians[2] - 0.5 and p95[0] + 1.0 < p95[1] < p95[2] - 1.0
        assert np.allclose(medians, [0.5, 1.6, 2.9], atol=0.35)
        assert np.allclose(p95, [2.2, 6.2, 11.4], atol=1.2)
        again = crowd(patches, match(patches, display, viewing), display, viewing, population(300, seed=1))
        assert np.array_equal(figures[-1], again.figures)
        other = crowd(patches, match(patches, display, viewing), display, viewing, population(300, seed=2))
        assert not np.array_equal(figures[-1], other.figures)


def test_absolute_figures_are_those_of_plain_sums_and_colour_science(colour, people):
    """Every 1 nm: light, reflectance, screen spectrum and a person's curves; Lab and CIEDE2000 by colour-science.

    The light falls with one power for all: a perfect diffuser in it is as bright as the display's white for the
    viewing observer.
    """
    samples = smooth(6, VISIBLE)
    who, lamp = observer("cie1931"), light("D50")
    viewing = Viewing(lamp, who, basis="absolute")
    display = modelled_display("rgb-oled", luminance=160.0)
    found = crowd(samples, match(samples, display, viewing, bits=10), display, viewing, people)
    drive = match(samples, display, viewing, bits=10).code / 1023.0
    fine, screen = display.spectral_grid.wavelengths, display.spectrum(drive)
    power = lamp.at(VISIBLE.wavelengths)
    power = power * 160.0 / (683.0 * power @ who.at_1nm[:, 1])
    for p in (0, 11, 39):
        curves = people.curves[p]
        on_fine = curves[np.isin(VISIBLE.wavelengths, fine)]
        white = power @ curves
        lab_screen = colour.XYZ_to_Lab(screen @ on_fine / white[1], colour.XYZ_to_xy(white))
        lab_object = colour.XYZ_to_Lab((samples.reflectance * power) @ curves / white[1], colour.XYZ_to_xy(white))
        expected = colour.delta_E(lab_screen, lab_object, method="CIE 2000")
        # colour-science takes the white from its x, y: hence not to the last digit.
        assert np.allclose(found.figures[:, p], expected, atol=1e-6)


@pytest.mark.parametrize("basis", BASES)
@pytest.mark.parametrize("name", SPECTRAL)
def test_who_has_the_viewing_observers_eyes_sees_what_it_sees(name, basis, people):
    samples, display = smooth(9, Grid.of(NM)), SPECTRAL[name]()
    lamp = light("D50").with_illuminance(0.9 * np.pi * display.luminance)
    for stock in (None, smooth(1, Grid.of(NM), seed=9)):
        if basis == "absolute" and stock is not None:
            continue
        viewing = Viewing(lamp, observer("cie1964"), object_white=stock, **BASES[basis])
        matched = match(samples, display, viewing)
        same = one_person(viewing.observer)
        for whites in WHITES:
            found = crowd(samples, matched, display, viewing, same, whites=whites)
            assert np.allclose(found.figures[:, 0], matched.residual, atol=1e-9)
            assert np.allclose(found.standard, matched.residual, atol=1e-9)
        few = population(10, seed=2)
        found = crowd(samples, matched, display, viewing, few, whites="own")
        one = screen_shift(samples, matched, display, viewing, [viewing.light], few.observers[:2])
        assert np.allclose(found.figures[:, :2], one.de00[:, 0], atol=1e-9)


def test_each_metric_is_that_of_the_shift(people):
    samples, display = smooth(5, Grid.of(NM)), modelled_display("laser")
    viewing = Viewing(light("D50"), observer("cie1931"))
    matched = match(samples, display, viewing)
    one = screen_shift(samples, matched, display, viewing, [viewing.light], people.observers[:2])
    for tolerance in (
        ToleranceSet("a", "deab"),
        ToleranceSet("b", "cmc", cmc_l=1.5),
        ToleranceSet("c", "cam16ucs"),
        ToleranceSet("d", "de00", kl=2.0),
    ):
        found = crowd(samples, matched, display, viewing, people, tolerance=tolerance, whites="own")
        assert np.allclose(found.figures[:, :2], one.figure(tolerance)[:, 0], atol=1e-9)
        assert found.record(0).metric == tolerance.metric


def test_weights_of_many_eyes_are_those_of_each():
    few = population(10, seed=3)
    for grid in (Grid(380.0, 730.0, 10.0), Grid(400.0, 700.0, 3.0), Grid(380.0, 780.0, 0.5)):
        reflected = weights_for_curves(light("FL2"), few.curves, grid)
        emitted = emission_weights_for_curves(few.curves, grid)
        for p in (0, 9):
            assert np.allclose(reflected[:, p], weights(light("FL2"), few.observers[p], grid), rtol=0, atol=1e-11)
            assert np.allclose(emitted[:, p], emission_weights(few.observers[p], grid), rtol=0, atol=1e-11)


def test_what_a_record_says(patches):
    viewing, people = Viewing(light("D50"), observer("cie1931")), population(200, seed=6)
    display = modelled_display("laser")
    found = crowd(patches, match(patches, display, viewing), display, viewing, people)
    record, figures = found.record(12, 3.0), found.figures[12]
    assert record.median == pytest.approx(np.median(figures)) == pytest.approx(found.median[12])
    assert record.p95 == pytest.approx(np.percentile(figures, 95)) == pytest.approx(found.p95[12])
    assert len(record.quantiles) == 21
    assert record.quantiles[::10] == pytest.approx((figures.min(), np.median(figures), figures.max()))
    assert record.share_above == pytest.approx(np.mean(figures > 3.0))
    assert record.standard == pytest.approx(float(found.standard[12]))
    assert found.record(12).share_above is None and found.record(12).by_age[0].share_above is None
    assert [age.ages for age in record.by_age] == [(20 + 10.0 * i, 30 + 10.0 * i) for i in range(6)]
    assert sum(age.count for age in record.by_age) == 200
    forties = figures[(people.ages >= 40) & (people.ages < 50)]
    assert record.by_age[2].median == pytest.approx(np.median(forties))
    assert record.by_age[2].share_above == pytest.approx(np.mean(forties > 3.0))
    assert record.worst_age == max(record.by_age, key=lambda age: age.median).ages[0] + 5.0


def test_decades_of_odd_ages():
    whole = by_age(np.array([33.0, 33.0, 33.0]), np.array([1.0, 2.0, 3.0]))
    assert [(age.ages, age.count, age.median) for age in whole] == [((33.0, 33.0), 3, 2.0)]
    ends = by_age(np.array([25.0, 30.0, 39.9, 80.0, 71.0]), np.arange(5.0))
    assert [(age.ages, age.count) for age in ends] == [((25.0, 30.0), 1), ((30.0, 40.0), 2), ((70.0, 80.0), 2)]
    # One old man alone is no decade to be called the worst, as long as another has five people.
    many = by_age(np.array([75.0, *np.full(6, 34.0)]), np.array([9.0, *np.ones(6)]))
    assert worst_age(many) == 37.0 and worst_age(many[-1:]) == 72.5


def test_words_tell_both_sides_where_people_disagree():
    def seen(other):
        n = len(other)
        lab = np.tile([50.0, 0.0, 0.0], (n, 1))
        return CrowdDifferences(
            "D50", ToleranceSet("x"), population(10), np.ones((1, 10)), np.ones(1), lab[None], np.array([other])
        )

    greener, redder = [50.0, -4.0, 0.0], [50.0, 4.0, 0.0]
    assert seen([greener] * 9 + [redder]).words(0) == "greener"
    assert seen([greener] * 6 + [redder] * 4).words(0) == "greener; to others redder"
    assert seen([redder]).words(0) == "redder"


def test_pairs_are_what_each_person_sees_of_them(people):
    a, b = smooth(4, Grid.of(NM)), smooth(4, Grid.of(NM), seed=8)
    lights = [light("D50"), light("FL11")]
    found = pair_crowd(a, b, lights, people)
    one = pair_shift(a, b, lights[0], lights, people.observers[:2], "none")
    assert np.allclose(found.figures[:, :, :2], one.de00, atol=1e-9)
    own = pair_shift(a, b, lights[0], lights, [observer("cie1931")], "none")
    assert np.allclose(found.standard, own.de00[:, :, 0], atol=1e-9)
    records = found.records(2, 1.0)
    assert [record.light for record in records] == ["D50", "FL11"]
    assert records[1].p95 == pytest.approx(np.percentile(found.figures[2, 1], 95))
    assert np.allclose(pair_crowd(a, a, lights, people).figures, 0.0)
    # A metameric pair: b is a by the 1931 observer under D50, and for nobody else.
    table = weights(lights[0], observer("cie1931"), a.grid)
    bump = np.exp(-(((NM - 560.0) / 30.0) ** 2)) * 0.1
    metamer = a.reflectance + bump - bump @ table @ np.linalg.pinv(table)
    pair = pair_crowd(a, replace(a, reflectance=metamer), lights[:1], people)
    assert pair.standard.max() < 1e-6 and np.median(pair.figures) > 0.2


def test_what_cannot_be_known_is_refused(people, display):
    samples = smooth(3, Grid.of(NM))
    viewing = Viewing(light("D50"), observer("cie1931"))
    matched = match(samples, display, viewing)
    found = crowd(samples, matched, display, viewing, people)
    assert (found.refused is None) == display.spectral and found.figures.shape == (3, 40 * display.spectral)
    if not display.spectral:
        assert "spectra" in found.refused.reason
        with pytest.raises(ValueError, match="spectra"):
            found.record(0)
        with pytest.raises(InputError, match="spectra"):
            gamut_share(samples, display, viewing, people)
    xyz = samples.xyz([viewing.light], [viewing.observer])[:, 0, 0]
    flat = Samples(samples.names, colorimetry=Colorimetry(xyz, "D50", "cie1931"))
    assert "reflectance" in crowd(flat, matched, display, viewing, people).refused.reason
    assert pair_crowd(flat, samples, [viewing.light], people).refused is not None
    assert pair_crowd(flat, samples, [viewing.light], people).records(0) == ()
    with pytest.raises(InputError, match="3 standards for 2"):
        pair_crowd(samples, samples.select([0, 1]), [viewing.light], people)


def test_a_stock_known_as_xyz_belongs_to_one_observer(people):
    samples, display = smooth(3, Grid.of(NM)), modelled_display("laser")
    viewing = Viewing(light("D50"), observer("cie1931"), object_white=np.array([80.0, 83.0, 66.0]))
    matched = match(samples, display, viewing)
    assert "stock" in crowd(samples, matched, display, viewing, people, whites="own").refused.reason
    assert crowd(samples, matched, display, viewing, people, whites="shared").refused is None
    with pytest.raises(InputError, match="drive values of shape"):
        crowd(samples, matched, display, viewing, people, drive=np.zeros((2, 3)))


@pytest.mark.parametrize("basis", ["white", "appearance"])
def test_gamut_share_is_counted_person_by_person(basis):
    samples = smooth(30, Grid.of(NM), seed=12)
    samples = replace(samples, reflectance=np.clip(samples.reflectance**2 * 3.0, 0.002, 0.98))
    few = population(10, seed=5)
    viewing = Viewing(light("D50"), observer("cie1931"), basis=basis)
    for display in (modelled_display("phosphor-tube", black=0.0), tabled_spectra()):
        share = gamut_share(samples, display, viewing, few, whites="own")
        outside = []
        for person in few.observers:
            view, here = display.seen_by(person), viewing.seen_by(person)
            seen = samples.xyz([light("D50")], [person])[:, 0, 0]
            outside.append(~view.to_drive(here.bridge(view).to_display(seen))[1])
        assert np.allclose(share, np.mean(outside, axis=0))
        assert (share == 0).any() and (share == 1).any()


def test_what_the_screen_would_have_to_show_is_the_way_back(people):
    drive = np.random.default_rng(2).uniform(0.1, 0.9, (7, 3))
    for name, basis in (("in a room", "white"), ("hlg", "appearance"), ("laser", "absolute")):
        display = SPECTRAL[name]()
        for whites in WHITES:
            eyes = Onlookers(people, Viewing(light("D65"), observer("cie1931"), basis=basis), display, whites)
            seen = np.stack([display.seen_by(person).to_xyz(drive) for person in people.observers[:3]], axis=1)
            assert np.allclose(eyes.wanted(eyes.screen(drive))[:, :3], seen, rtol=1e-9)


def test_the_kindest_display_has_the_smallest_95th_percentile(patches, people):
    viewing = Viewing(light("D50"), observer("cie1931"))
    records = []
    for name in TUBE_DOT_LASER:
        display = modelled_display(name)
        both = [patches.select(np.arange(12)), patches.select(np.arange(12, 24))]
        crowds = [crowd(part, match(part, display, viewing), display, viewing, people) for part in both]
        record = crowd_on_display(name, crowds, [3.0, None])
        p95 = np.concatenate([each.p95 for each in crowds])
        assert record.largest == pytest.approx(p95.max()) and record.p95 == pytest.approx(np.median(p95))
        assert record.largest_sample == patches.names[int(p95.argmax())]
        assert record.share_above == pytest.approx(np.mean(crowds[0].figures > 3.0))
        assert crowd_on_display(name, crowds).share_above is None
        records.append(record)
    assert kindest(records) == "phosphor-tube" and kindest(records[:1]) is None
    plain = replace(display, model=display.seen_by().model)
    refused = crowd(patches, match(patches, plain, viewing), plain, viewing, people)
    assert crowd_on_display("x", [refused]) is None


def test_light_that_only_some_people_see_as_white():
    """A grey on a screen of the light's own spectrum is one for all; on a laser it is a tint for most."""
    nm = VISIBLE.wavelengths
    grey = Samples(("grey",), np.full((1, 36), 0.2), Grid.of(NM))
    viewing, people = Viewing(light("D50"), observer("cie1931")), population(100, seed=1)
    # Three channels of one and the same shape of light as D50: there a grey is a grey for everybody.
    share = np.stack([np.exp(-(((nm - centre) / 60.0) ** 2)) for centre in (620, 540, 455)]) + 1e-3
    same = light("D50").at(nm) * share / share.sum(axis=0)
    kind = display_from_primaries(same, VISIBLE, named_transfer("gamma2.2", 100.0, 0.0), luminance=100.0)
    laser = modelled_display("laser", white="D50", black=0.0)
    figures = {}
    for display in (kind, laser):
        matched = match(grey, display, viewing, bits=16)
        for whites in WHITES:
            figures[display.name, whites] = crowd(grey, matched, display, viewing, people, whites=whites).p95[0]
    assert figures[kind.name, "shared"] < 0.05 and figures[kind.name, "own"] < 0.05
    assert figures["laser", "own"] < 0.05 and figures["laser", "shared"] > 5.0
