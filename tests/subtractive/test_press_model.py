"""The press read forwards: nodes given back, slopes, the compiled kernel, what lies between nodes, errors."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from screenproof.appearance import large
from screenproof.errors import InputError
from screenproof.spectra import light, observer, tristimulus
from screenproof.subtractive import corners, coverage, fit_press, press_kernel, press_model
from screenproof.subtractive.press_cells import Cells, with_middles
from screenproof.subtractive.press_curves import CoverageCurve, fit_curve

TENTHS = np.arange(1, 11) / 10.0
LEVELS = np.array([0.0, 0.2, 0.5, 1.0])


def grid_of(levels, channels):
    return np.stack(np.meshgrid(*[levels] * channels, indexing="ij"), axis=-1).reshape(-1, channels)


@pytest.fixture(scope="module")
def invented(invented_press):
    return invented_press(("C", "M", "Y", "K"))


@pytest.fixture(scope="module")
def press(invented):
    """Cellular in three channels, two levels in the fourth."""
    inner = grid_of(LEVELS, 3)
    grid = np.vstack([np.column_stack([inner, np.full(len(inner), k)]) for k in (0.0, 1.0)])
    return fit_press(invented.samples(np.vstack([invented.ramps(TENTHS), grid])), n=2.0, folds=2)


@pytest.fixture(scope="module")
def tints():
    rng = np.random.default_rng(11)
    free = rng.random((3000, 4))
    free[::3] = np.round(free[::3] * 10) / 10  # on knots and nodes
    free[::7] = np.round(free[::7])
    return free


def test_it_is_cellular_where_the_chart_is(press):
    assert [len(level) for level in press.levels] == [4, 4, 4, 2]
    assert press.cells.order == (3, 3, 3, 2)


def test_measured_nodes_are_given_back(press, invented):
    nodes = grid_of(LEVELS, 4)
    nodes = nodes[np.isin(nodes[:, 3], [0.0, 1.0])]
    assert np.allclose(press.predict(nodes), invented.curves(nodes), rtol=1e-9)


def test_two_levels_are_the_neugebauer_equation(invented):
    """Against the sum over the sixteen overprints, written out, with the press's own tone values."""
    press = fit_press(invented.samples(np.vstack([invented.ramps(TENTHS), corners(4)])), n=1.7, folds=2)
    tints = np.random.default_rng(2).random((40, 4))
    total = np.zeros((40, press.cells.bands))
    for solid in corners(4):
        area = np.ones((40, press.cells.bands))
        for k, curve in enumerate(press.curves):
            share = curve.at(tints[:, k])
            area *= share if solid[k] else 1.0 - share
        total += area * invented.curves(solid[None])[0] ** (1 / 1.7)
    assert np.allclose(press.predict(tints), total**1.7, rtol=1e-9)


def test_the_compiled_kernel_equals_numpy(press, tints):
    assert large.can_compile()
    matrix = np.asarray(press.weights())
    slow, slow_slopes = press_model.values_and_slopes(press, tints, matrix)
    fast, fast_slopes = press_kernel.compiled_slopes(press, tints, matrix)
    assert np.allclose(fast, slow, atol=1e-9) and np.allclose(fast_slopes, slow_slopes, atol=1e-8)
    assert np.allclose(press_kernel.compiled_values(press, tints, matrix), slow, atol=1e-9)
    assert np.allclose(press_kernel.compiled_values(press, tints, None), press.predict(tints), atol=1e-12)


def test_the_kernel_takes_over_above_a_size(press, tints, monkeypatch):
    before = press.xyz(tints)
    monkeypatch.setattr(press_model, "LARGE", 1)
    called = []
    kernel = press_kernel.compiled_values
    monkeypatch.setattr(press_kernel, "compiled_values", lambda *given: called.append(1) or kernel(*given))
    assert np.allclose(press.xyz(tints), before, atol=1e-9) and called


@pytest.mark.parametrize("count", [1, 2, 6])
def test_the_kernel_for_other_numbers_of_channels(invented_press, count):
    invented = invented_press(("C", "M", "Y", "K", "Orange", "Green")[:count])
    press = fit_press(invented.samples(np.vstack([invented.ramps(TENTHS), corners(count)])), n=2.0, folds=2)
    tints = np.random.default_rng(3).random((200, count))
    matrix = np.asarray(press.weights())
    slow, slow_slopes = press_model.values_and_slopes(press, tints, matrix)
    fast, fast_slopes = press_kernel.compiled_slopes(press, tints, matrix)
    assert np.allclose(fast, slow, atol=1e-9) and np.allclose(fast_slopes, slow_slopes, atol=1e-8)


def test_slopes_are_those_of_small_steps(press, tints):
    inside = 0.01 + 0.98 * np.random.default_rng(4).random((400, 4))
    matrix = np.asarray(press.weights())
    _, slopes = press_model.values_and_slopes(press, inside, matrix)
    for channel in range(4):
        step = np.zeros(4)
        step[channel] = 1e-6
        rise = (press.xyz(inside + step) - press.xyz(inside - step)) / 2e-6
        # At a knot of a curve the two sides differ; few of 400 random tints are that near to one.
        assert np.quantile(np.abs(rise - slopes[:, :, channel]), 0.99) < 1e-4


def test_xyz_is_that_of_the_spectra_under_any_light(press, tints):
    some = tints[:50]
    a, eye = light("A"), observer("cie1964")
    expected = tristimulus(press.predict(some), press.grid, [a], [eye])[:, 0, 0]
    assert np.allclose(press.xyz(some, a, eye), expected, rtol=1e-12)
    samples = press.samples(some, [f"t{i}" for i in range(50)])
    assert np.allclose(samples.xyz([a], [eye])[:, 0, 0], expected, rtol=1e-12)
    assert samples.device.channels == press.channels and np.array_equal(samples.device.values, some)


def test_pieces_of_memory_do_not_show(press, tints, monkeypatch):
    whole = press.xyz(tints)
    monkeypatch.setattr(press_model, "_CHUNK", 37)
    monkeypatch.setattr("screenproof.subtractive.press_cells._PIECE_NUMBERS", 5000)
    assert np.allclose(press.xyz(tints), whole, rtol=1e-12)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0.02, 1.0), min_size=2, max_size=9),
    st.lists(st.floats(0.0, 1.0), min_size=2, max_size=9),
)
def test_between_rising_nodes_nothing_oscillates(steps, falls):
    """Whatever the spacing and the steps: values that fall from node to node fall between them."""
    count = min(len(steps), len(falls)) + 1
    level = np.concatenate([[0.0], np.cumsum(steps[: count - 1])])
    level /= level[-1]
    roots = 1.0 - np.concatenate([[0.0], np.cumsum(falls[: count - 1])])[:, None] / 10.0
    line = CoverageCurve(np.array([0.0, 1.0]), np.array([[0.0], [1.0]]), np.array([0.0, 1.0]))
    between = Cells.of([line], [level], roots).roots(np.linspace(0.0, 1.0, 501)[:, None])[:, 0]
    assert (np.diff(between) <= 1e-12).all()
    assert between.min() >= roots.min() - 1e-12 and between.max() <= roots.max() + 1e-12


def test_a_parabola_through_three_levels_is_kept():
    """Where nothing would oscillate, the bend that the nodes show is the bend between them."""
    level = np.array([0.0, 0.45, 1.0])
    line = CoverageCurve(np.array([0.0, 1.0]), np.array([[0.0], [1.0]]), np.array([0.0, 1.0]))
    at = np.linspace(0.0, 1.0, 101)
    bent = 0.9 - 0.8 * at + 0.15 * at**2
    cells = Cells.of([line], [level], (0.9 - 0.8 * level + 0.15 * level**2)[:, None])
    assert np.allclose(cells.roots(at[:, None])[:, 0], bent, atol=1e-12)


def test_middles_leave_nodes_and_two_levels_alone():
    nodes = np.random.default_rng(0).random((4, 2, 3, 5))
    rising = np.sort(np.random.default_rng(1).random((4, 5)), axis=0)
    fine = with_middles(nodes, 0, rising)
    assert fine.shape == (7, 2, 3, 5) and np.array_equal(fine[::2], nodes)
    assert with_middles(nodes, 1, rising[:2]) is nodes


def test_a_tone_value_curve_gives_each_band_its_own_coverage():
    """Against Yule-Nielsen in each band where the ink absorbs; where it does not, the ink as a whole decides."""
    tints = np.array([0.0, 0.3, 0.6, 1.0])
    share = np.array([[0.0, 0.45, 0.8, 1.0], [0.0, 0.38, 0.7, 1.0]]).T
    stock, solid = np.array([0.9, 0.85, 0.8]), np.array([0.2, 0.15, 0.7999])
    bands = stock + np.column_stack([share, [0.0, 1.0, -2.0, 1.0]]) * (solid - stock)
    curve, notes = fit_curve(tints, bands, 0.1, "C", ("a", "b", "c", "d"))
    assert not notes
    for band in range(2):
        assert curve.coverage[1:3, band] == pytest.approx(
            coverage(bands[1:3, band], stock[band], solid[band]), abs=2e-3
        )
    assert curve.coverage[1:3, 2] == pytest.approx(curve.whole[1:3], abs=1e-4)
    assert curve.at(tints) == pytest.approx(curve.coverage, abs=1e-12)
    assert curve.tint_of(curve.whole_at(np.array([0.17, 0.5]))) == pytest.approx([0.17, 0.5], abs=1e-3)


def test_tone_values_of_the_standard_for_spot_inks(press):
    values = press.tone_values("C", [0.0, 0.25, 0.5, 0.75, 1.0])
    assert values[0] == pytest.approx(0.0, abs=1e-9) and values[-1] == pytest.approx(1.0, abs=1e-9)
    assert (np.diff(values) > 0.1).all()


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda p: p.predict([[0.5, 0.2, 1.1, 0.0]]), "1.1 for Y"),
        (lambda p: p.predict([[-0.1, 0.2, 1.0, 0.0]]), "-0.1 for C"),
        (lambda p: p.predict([[50, 20, 10, 0]]), "divide percentages by 100"),
        (lambda p: p.predict([[0.5, 0.2, float("nan"), 0.0]]), "nan for Y"),
        (lambda p: p.predict([[0.5, 0.2, 0.1]]), "4 channels"),
        (lambda p: p.tone_values("Teal", [0.5]), "one of C, M, Y, K"),
    ],
)
def test_what_is_refused(press, call, says):
    with pytest.raises(InputError, match=says.replace(".", r"\.")):
        call(press)


def test_a_small_press_loads_neither_numba_nor_scipys_splines():
    """A prediction of a few tints from a file costs neither."""
    code = (
        "import sys, numpy as np; from screenproof.subtractive.press_curves import CoverageCurve;"
        "from screenproof.subtractive.press import Press, TintLimits;"
        "line = CoverageCurve([0, 1], [[0, 0, 0], [1, 1, 1]], [0, 1]);"
        "p = Press(('K',), 2.0, (line,), (np.array([0.0, 1.0]),), np.array([[80., 85, 70], [2, 2, 2]]),"
        "np.zeros(2, dtype=np.int8), TintLimits(1.0, (1.0,)), light='D50', observer='cie1931');"
        "p.lab([[0.5]]); print([m for m in ('numba', 'scipy', 'colour') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
