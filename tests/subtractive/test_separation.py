"""From colours to tints: printed again within bounds, limits kept, black as chosen, the nearest where none fits.

On FOGRA39L fitted to 184 of its patches (real inks), and on invented presses with more inks.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from screenproof.appearance import de2000, lch_to_lab, xyz_to_lab
from screenproof.formats import read_samples
from screenproof.spectra import light, observer
from screenproof.subtractive import (
    TintLimits,
    corners,
    fit_press,
    gamut_of_inks,
    reach,
    separate,
    separate_spectra,
)
from screenproof.subtractive.ink_colours import TintBounds
from screenproof.subtractive.ink_nodes import InkNodes
from screenproof.subtractive.separation import PRINTABLE

SHARED = Path(__file__).parents[2] / "shared"
TENTHS = np.arange(1, 11) / 10.0
LIMITS = TintLimits(3.0, (1.0, 1.0, 1.0, 0.95))


@pytest.fixture(scope="module")
def press():
    samples = read_samples(SHARED / "FOGRA39L.txt")
    tints = samples.device.values
    fit = ((tints > 0.0).sum(axis=1) <= 1) | np.isin(np.round(tints, 6), [0.0, 0.4, 1.0]).all(axis=1)
    return fit_press(samples, fit=fit)


@pytest.fixture(scope="module")
def printable(press):
    """Tints inside the limits, 1,000 of them, and the colours that they print."""
    rng = np.random.default_rng(12647)
    tints = rng.random((8000, 4)) * LIMITS.channels
    # Some at the very limits of channels.
    tints[::5] = np.where(rng.random((1600, 4)) < 0.3, np.round(tints[::5]) * LIMITS.channels, tints[::5])
    tints = tints[tints.sum(axis=1) <= LIMITS.total][:1000]
    return tints, press.lab(tints)


def kept(tints, limits):
    return (
        (tints >= 0.0).all()
        and (tints <= np.array(limits.channels)).all()
        and (tints.sum(axis=1) <= limits.total + 1e-9).all()
    )


@pytest.mark.parametrize("black", ["least", "most", "smooth"])
def test_a_thousand_printable_colours(press, printable, black):
    tints, lab = printable
    found = separate(press, lab, limits=LIMITS, black=black)
    assert found.printable.all() and kept(found.tints, LIMITS)
    again = press.lab(found.tints)
    assert np.max(de2000(lab, again)) < 0.1
    assert np.allclose(again, found.lab, atol=1e-9)
    assert found.de00 == pytest.approx(np.asarray(de2000(lab, again)), abs=1e-6)
    # The tints that the colours came from have no less black than the least, and no more than the most.
    if black == "least":
        assert (found.tints[:, 3] <= tints[:, 3] + 0.002).all()
    if black == "most":
        assert (found.tints[:, 3] >= tints[:, 3] - 0.002).all()


def test_least_and_most_are_the_ends_of_what_is_possible(press, printable):
    """Against a search with the black held at each of many values: no other black inside the limits, no gap."""
    _, lab = printable
    lab = lab[::40]
    ends = [separate(press, lab, limits=LIMITS, black=black).tints[:, 3] for black in ("least", "most")]
    for share in (0.0, 0.5, 1.0):
        held = ends[0] + share * (ends[1] - ends[0])
        for row, black in enumerate(held):
            assert _best_with_black(press, lab[row], black) < 0.05
    for end, away in zip(ends, (-0.03, 0.03), strict=True):
        for row, black in enumerate(end + away):
            if 0.0 <= black <= LIMITS.channels[3]:
                assert _best_with_black(press, lab[row], black) > 0.05


def _best_with_black(press, lab, black):
    """Smallest CIEDE2000 with the black at one value: SciPy least squares, several starts, limits as penalty."""
    from scipy.optimize import least_squares

    high = np.minimum(np.array(LIMITS.channels[:3]), 1.0)

    def apart(cmy):
        over = max(0.0, cmy.sum() + black - LIMITS.total)
        shown = press.lab(np.append(cmy, black)[None])[0]
        return np.append(shown - lab, 300.0 * over)

    best = np.inf
    for start in (
        [0.2, 0.2, 0.2],
        [0.7, 0.6, 0.6],
        [0.5, 0.1, 0.1],
        [0.1, 0.5, 0.5],
        [0.5, 0.6, 0.1],
        [0.6, 0.1, 0.6],
    ):
        found = least_squares(apart, np.array(start), bounds=(0.0, high), xtol=1e-10, ftol=1e-10, max_nfev=60)
        if apart(found.x)[3] < 0.3:
            best = min(best, float(de2000(lab, press.lab(np.append(found.x, black)[None])[0])))
        if best < 0.02:
            break
    return best


def test_smooth_black_has_no_step(press):
    """Along the greys: little black in the lights, much in the darks, rising all the way, and no ink jumps."""
    grey = np.column_stack([np.linspace(14.0, 92.0, 157), np.zeros(157), np.linspace(0.0, -2.0, 157)])
    tints = separate(press, grey, limits=LIMITS, black="smooth").tints
    black = tints[:, 3]
    assert (np.diff(black[5:]) <= 1e-6).all() and black[-1] < 0.01 and black[10] > 0.8
    assert np.abs(np.diff(tints, axis=0)).max() < 0.08
    least, most = (separate(press, grey, limits=LIMITS, black=b).tints[:, 3] for b in ("least", "most"))
    assert (black >= least - 1e-3).all() and (black <= most + 1e-3).all()


@pytest.fixture(scope="module")
def outside(press):
    """Colours of an sRGB display (IEC 61966-2-1, adapted to D50 by the ICC's matrix) that are not printable."""
    drive = np.random.default_rng(61966).random((160, 3)) ** np.array([0.3, 0.6, 1.5])
    drive = np.vstack([drive, corners(3)])
    linear = np.where(drive <= 0.04045, drive / 12.92, ((drive + 0.055) / 1.055) ** 2.4)
    matrix = np.array(
        [
            [0.4360747, 0.3850649, 0.1430804],
            [0.2225045, 0.7168786, 0.0606169],
            [0.0139322, 0.0971045, 0.7141733],
        ]
    )
    lab = xyz_to_lab(100.0 * linear @ matrix.T, press.white())
    return lab[~separate(press, lab, limits=LIMITS).printable]


def dense_search(press, lab, room, rng):
    """The nearest printable colour by brute force: a fine lattice of tints, then ever smaller random steps."""
    steps = np.linspace(0.0, 1.0, 13)
    nodes = np.stack(np.meshgrid(*[steps] * 4, indexing="ij"), axis=-1).reshape(-1, 4)
    tints = room.allowed(nodes * room.high)
    best = np.asarray(de2000(lab, press.lab(tints)))
    for size in (0.08, 0.03, 0.01, 0.004, 0.0015, 0.0005):
        order = np.argsort(best)[:12]
        step = size * rng.standard_normal((600, 4)) * (rng.random((600, 4)) < 0.6)
        tried = room.allowed((tints[order][:, None, :] + step).reshape(-1, 4))
        tints = np.vstack([tints[order], tried])
        best = np.concatenate([best[order], np.asarray(de2000(lab, press.lab(tried)))])
    return float(best.min())


def test_what_cannot_be_printed_gets_the_nearest(press, outside):
    assert len(outside) > 60
    found = separate(press, outside, limits=LIMITS)
    assert not found.printable.any() and kept(found.tints, LIMITS)
    assert np.allclose(found.de00, de2000(outside, press.lab(found.tints)), atol=1e-6)
    rng, room = np.random.default_rng(1), TintBounds.of(press, LIMITS)
    chosen = np.linspace(0, len(outside) - 1, 12).astype(int)
    dense = np.array([dense_search(press, outside[i], room, rng) for i in chosen])
    assert (found.de00[chosen] <= dense + 0.05).all()
    # And the search is no worse than ours by much either, so that the bound means something.
    assert (dense <= found.de00[chosen] + 0.05).all()


def test_few_and_many_colours_have_the_same_answer(press, outside, printable):
    """Below a size NumPy works, above it the compiled kernels."""
    lab = np.vstack([printable[1][:100], outside[:40]])
    many = np.tile(lab, (3, 1))
    few, more = separate(press, lab, limits=LIMITS), separate(press, many, limits=LIMITS)
    assert np.allclose(np.tile(few.de00, 3), more.de00, atol=1e-3)
    assert np.quantile(np.abs(np.tile(few.tints, (3, 1)) - more.tints), 0.99) < 2e-3


def test_hue_can_be_kept_where_the_nearest_is_a_grey(press):
    """CIEDE2000 rates a grey nearest to this violet of a display; with the hue kept, a violet is printed."""
    violet = np.array([[32.8, 67.4, -93.0]])
    plain, kept_hue = separate(press, violet, limits=LIMITS), separate(press, violet, limits=LIMITS, keep_hue=True)
    assert plain.de00 < kept_hue.de00 < plain.de00 + 5.0
    hue = np.degrees(np.arctan2(kept_hue.lab[0, 2] - 0.0, kept_hue.lab[0, 1]))
    assert abs(hue - np.degrees(np.arctan2(-93.0, 67.4))) <= 60.5
    assert np.hypot(*kept_hue.lab[0, 1:]) > np.hypot(*plain.lab[0, 1:])


def test_tighter_limits_cost_colour_and_are_kept(press, printable):
    _, lab = printable
    tight = TintLimits(2.2, (0.9, 0.9, 0.95, 0.8))
    wide, narrow = separate(press, lab, limits=LIMITS), separate(press, lab, limits=tight)
    assert kept(narrow.tints, tight)
    assert narrow.printable.sum() < wide.printable.sum()
    assert (narrow.de00 >= wide.de00 - 0.02).all()


def test_reach_says_how_far_and_what_stands_in_the_way(press):
    stock = press.lab([[0, 0, 0, 0]])[0]
    wanted = np.array(
        [
            [60.0, 20.0, 10.0],
            [99.0, 0.0, -2.0],
            [4.0, 0.0, 0.0],
            [48.0, 95.0, -4.0],
            [50.0, -85.0, 30.0],
        ]
    )
    found = reach(press, wanted, limits=LIMITS)
    assert found.printable.tolist() == [True, False, False, False, False]
    assert found.in_the_way[0] == found.direction[0] == ""
    assert found.in_the_way[1] == "nothing is lighter than the bare stock" and "darker" in found.direction[1]
    assert stock[0] < 99.0
    assert "the total coverage of 300 % is reached" in found.in_the_way[2] and "lighter" in found.direction[2]
    assert "M at the solid already" in found.in_the_way[3] and "weaker" in found.direction[3]
    assert "K" in found.in_the_way[4] and "at 0 already" in found.in_the_way[4]
    assert (found.de00[1:] > 1.0).all()


def test_the_outline_is_where_printable_ends(press):
    gamut = gamut_of_inks(press, limits=LIMITS)
    inside, beyond = [], []
    for hue, edge in gamut.lc_outline():
        assert len(edge) > 60 and edge[0][0] < 25.0 and edge[-1][0] > 90.0
        for lightness, chroma in edge[8:-4:9]:
            if chroma > 10.0:
                inside.append([lightness, chroma - 1.0, hue])
                beyond.append([lightness, chroma + 1.0, hue])
    assert len(inside) > 60
    assert separate(press, lch_to_lab(np.array(inside)), limits=LIMITS).printable.all()
    assert not separate(press, lch_to_lab(np.array(beyond)), limits=LIMITS).printable.any()


def test_the_chromaticity_outline_goes_round_all_that_is_printed(press, printable):
    from screenproof.appearance import xyz_to_uv

    outline = gamut_of_inks(press, limits=LIMITS).uv_outline(120)
    centre = np.asarray(xyz_to_uv(press.white()))
    angle = np.arctan2(*(outline - centre).T[::-1])
    order = np.argsort(angle)
    reached = np.hypot(*(outline - centre).T)[order]
    away = np.asarray(xyz_to_uv(press.xyz(printable[0]))) - centre
    allowed = np.interp(np.arctan2(away[:, 1], away[:, 0]), angle[order], reached, period=2 * np.pi)
    assert len(outline) > 100 and (np.hypot(*away.T) <= allowed + 0.006).all()


@pytest.fixture(scope="module")
def spots(invented_press):
    invented = invented_press(("C", "M", "Y", "K", "Orange", "Green"))
    return fit_press(invented.samples(np.vstack([invented.ramps(TENTHS), corners(6)])), n=2.0, folds=2)


def test_spot_inks_print_only_what_process_inks_cannot(spots):
    limits = TintLimits(3.0, (1.0,) * 6)
    rng = np.random.default_rng(5)
    tints = np.zeros((60, 6))
    tints[:40, :4] = 0.7 * rng.random((40, 4))
    tints[40:, 4], tints[40:, 2] = rng.uniform(0.8, 1.0, 20), rng.uniform(0.0, 0.3, 20)
    lab = spots.lab(tints)
    found = separate(spots, lab, limits=limits, black="smooth")
    assert found.printable.all() and kept(found.tints, limits)
    assert np.max(de2000(lab, spots.lab(found.tints))) < 0.1
    assert (found.tints[:40, 4:] == 0.0).all()
    assert (found.tints[40:, 4] > 0.0).sum() >= 15
    # Where spot inks print, the total is not above that of the tints that the colours came from.
    with_spots = found.tints[:, 4:].any(axis=1)
    assert (found.tints[with_spots].sum(axis=1) <= tints[with_spots].sum(axis=1) + 0.01).all()


def test_a_press_without_black_takes_the_least_total(invented_press):
    invented = invented_press(("C", "M", "Orange", "Green"))
    press = fit_press(invented.samples(np.vstack([invented.ramps(TENTHS), corners(4)])), n=2.0, folds=2)
    tints = 0.75 * np.random.default_rng(6).random((80, 4))
    found = separate(press, press.lab(tints))
    assert found.printable.all() and np.max(de2000(press.lab(tints), found.lab)) < 0.1
    assert (found.tints.sum(axis=1) <= tints.sum(axis=1) + 0.005).all()
    assert any("no channel is called K" in note.what for note in found.notes)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_fewer_inks_than_a_colour_has_numbers(invented_press, count):
    """With three inks a printable colour has one set of tints; with fewer it is found where it exists."""
    invented = invented_press(("C", "M", "Y")[:count])
    press = fit_press(invented.samples(np.vstack([invented.ramps(TENTHS), corners(count)])), n=2.0, folds=2)
    tints = 0.02 + 0.96 * np.random.default_rng(7).random((60, count))
    found = separate(press, press.lab(tints))
    assert found.printable.all() and np.allclose(found.tints, tints, atol=2e-3)
    far = separate(press, [[50.0, 60.0, 60.0]])
    assert (far.de00 > PRINTABLE).all() and not far.printable.any()


def test_a_curve_finds_the_tints_that_shift_least(invented_press):
    """A curve that the press itself prints is matched under every light: by its own tints."""
    invented = invented_press(("C", "M", "Y", "K"))
    press = fit_press(invented.samples(np.vstack([invented.ramps(TENTHS), corners(4)])), n=2.0, folds=2)
    tints = 0.05 + 0.6 * np.random.default_rng(8).random((30, 4))
    curves = press.predict(tints)
    d50, others, eye = light("D50"), [light("A"), light("FL11")], observer("cie1931")
    found = separate_spectra(press, curves, press.grid, under=d50, others=others, seen_by=eye)
    assert found.lights == ("A", "FL11") and found.shift.shape == (30, 2)
    assert found.match.printable.all() and found.shift.max() < 0.02
    # The same colours with another black shift more.
    plain = separate(press, press.lab(tints), black="most")
    white = press.white(others[1], eye)
    shift = de2000(
        xyz_to_lab(curves @ press.weights(others[1], eye), white), press.lab(plain.tints, others[1], eye)
    )
    assert shift.mean() > 10.0 * found.shift[:, 1].mean()


def test_a_foreign_curve_shifts_less_than_with_any_fixed_black(invented_press):
    """A curve of other colorants: the first light is matched, and no black generation shifts less."""
    invented = invented_press(("C", "M", "Y", "K"))
    press = fit_press(invented.samples(np.vstack([invented.ramps(TENTHS), corners(4)])), n=2.0, folds=2)
    nm = press.grid.wavelengths
    curves = np.array(
        [
            0.15 + 0.35 / (1.0 + np.exp(-(nm - edge) / 25.0)) + 0.1 * np.exp(-(((nm - 450.0) / 30.0) ** 2))
            for edge in (560, 590)
        ]
    )
    d50, others, eye = light("D50"), [light("A"), light("FL2")], observer("cie1931")
    found = separate_spectra(press, curves, press.grid, under=d50, others=others, seen_by=eye)
    assert found.match.printable.all()
    best = np.sum(found.shift**2, axis=1)
    lab = xyz_to_lab(curves @ press.weights(d50, eye), press.white(d50, eye))
    for black in ("least", "most", "smooth"):
        tints = separate(press, lab, under=d50, seen_by=eye, black=black).tints
        other = 0.0
        for one in others:
            target = xyz_to_lab(curves @ press.weights(one, eye), press.white(one, eye))
            other = other + np.asarray(de2000(target, press.lab(tints, one, eye))) ** 2
        assert (best <= other + 1e-3).all()


def test_a_press_of_xyz_cannot_be_asked_for_other_lights(press):
    from screenproof.errors import InputError
    from screenproof.spectra import Grid

    with pytest.raises(InputError, match="only known by XYZ"):
        separate_spectra(
            press,
            np.ones((1, 36)),
            Grid(380, 730, 10),
            under=light("D50"),
            others=[light("A")],
            seen_by=observer("cie1931"),
        )


def test_starts_lie_inside_the_limits(press):
    from screenproof.subtractive.ink_colours import InkColours

    room = TintBounds.of(press, LIMITS)
    nodes = InkNodes.of(InkColours.of(press), room)
    assert kept(nodes.tints, LIMITS)
    owner, starts = nodes.starts(np.array([[30.0, 60.0, -90.0], [95.0, -20.0, 90.0]]))
    assert set(owner.tolist()) == {0, 1} and kept(starts, LIMITS)
