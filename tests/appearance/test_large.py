"""Large arrays: compiled kernels equal NumPy, numba loads for them only, memory is bounded, no cache needed.

The kernels are our own; NumPy is the other side, and that is held against published values and colour-science.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tracemalloc
from pathlib import Path

import numpy as np
import pytest

import screenproof
from screenproof.appearance import (
    CamConditions,
    adapt,
    adaptation_matrix,
    cam16_to_ucs,
    cam16ucs_shift,
    de76,
    de2000,
    de_cam16ucs,
    lab_de2000_shift,
    lab_shift,
    large,
    xyz_to_cam16,
    xyz_to_lab,
)
from screenproof.errors import InputError

D50 = np.array([96.422, 100.0, 82.521])
A = np.array([109.85, 100.0, 35.585])
SAME = {"atol": 1e-9, "rtol": 0.0}


@pytest.fixture
def compiled(monkeypatch):
    """Kernels for arrays of any size."""
    assert large.can_compile()
    monkeypatch.setattr(large, "LARGE", 1)


@pytest.fixture
def plain(monkeypatch):
    monkeypatch.setattr(large, "LARGE", 10**12)


def colours(shape, seed=1, chroma=40.0):
    rng = np.random.default_rng(seed)
    lab = rng.normal(0.0, chroma, (*shape, 3))
    lab[..., 0] = rng.uniform(0.0, 100.0, shape)
    return lab


def both_ways(monkeypatch, function):
    """The answers of NumPy and of the kernels."""
    answers = []
    for size in (10**12, 1):
        monkeypatch.setattr(large, "LARGE", size)
        answers.append(function())
    return answers


# CIEDE2000 of pairs


@pytest.mark.parametrize("chroma", [0.1, 3.0, 40.0, 100.0])
def test_de2000_kernel_equals_numpy(monkeypatch, chroma):
    first, second = colours((20_011,), 1, chroma), colours((20_011,), 2, chroma)
    near = first + colours((20_011,), 3, 0.5) * [0.01, 1.0, 1.0]
    for other in (second, near):
        plain, fast = both_ways(monkeypatch, lambda other=other: de2000(first, other, 2.0, 1.1, 0.9))
        assert np.allclose(fast, plain, **SAME)


def test_de2000_kernel_equals_numpy_where_hues_oppose_chromas_vanish_and_lightness_is_odd(monkeypatch):
    rng = np.random.default_rng(4)
    lab = colours((4000,), 5)
    opposed = lab * [1.0, -1.0, -1.0]
    nearly = opposed + rng.normal(0.0, 1e-6, lab.shape)
    grey = lab * [1.0, 0.0, 0.0]
    beyond = lab * [1.5, 4.0, 4.0] - [40.0, 0.0, 0.0]
    on_axes = np.array([[50.0, 10.0, 0.0], [50.0, -10.0, 0.0], [50.0, 0.0, 10.0], [50.0, 0.0, -10.0]] * 1000)
    for other in (opposed, nearly, grey, lab, beyond):
        plain, fast = both_ways(monkeypatch, lambda other=other: de2000(lab, other))
        assert np.allclose(fast, plain, **SAME)
    plain, fast = both_ways(monkeypatch, lambda: de2000(on_axes[:, np.newaxis], on_axes[:4]))
    assert np.allclose(fast, plain, **SAME)


def test_a_value_that_is_missing_stays_missing_and_alone(monkeypatch):
    first, second = colours((600,), 1), colours((600,), 2)
    first[17, 0] = first[100, 1] = second[599, 2] = np.nan
    plain, fast = both_ways(monkeypatch, lambda: de2000(first, second))
    assert np.flatnonzero(np.isnan(fast)).tolist() == [17, 100, 599]
    assert np.allclose(fast, plain, **SAME, equal_nan=True)


def test_any_shape_order_and_ownership(compiled):
    """Broadcast, transposed, reversed and read-only arrays, and lengths around that of a block."""
    base = colours((7, 5, 3), 6)
    frozen = base.copy()
    frozen.setflags(write=False)
    one = colours((), 7)
    expected = np.array([[[de2000(c, one) for c in row] for row in plane] for plane in base])
    assert expected.shape == (7, 5, 3)
    assert np.allclose(de2000(base, one), expected, **SAME)
    assert np.allclose(de2000(frozen, one), expected, **SAME)
    assert np.allclose(de2000(one, base[::-1, :, ::-1])[::-1, :, ::-1], expected, **SAME)
    assert np.allclose(de2000(base.transpose(2, 0, 1, 3), one).transpose(1, 2, 0), expected, **SAME)
    assert np.allclose(de2000(np.asfortranarray(base), one), expected, **SAME)
    assert de2000(np.empty((0, 4, 3)), one).shape == (0, 4)
    for count in (1, 511, 512, 513, 1025):
        first, second = colours((count,), 8), colours((count,), 9)
        singly = [de2000(a, b) for a, b in zip(first, second, strict=True)]
        assert np.allclose(de2000(first, second), singly, **SAME)


def test_pieces_of_numpy_equal_the_whole(plain):
    first, second = colours((3 * large.NUMPY_PIECE + 5,), 1), colours((3 * large.NUMPY_PIECE + 5,), 2)
    whole = de2000(first, second)
    assert np.array_equal(whole[-9:], de2000(first[-9:], second[-9:]))
    assert np.array_equal(whole[large.NUMPY_PIECE - 4 :][:9], de2000(first[8188:8197], second[8188:8197]))


# From XYZ to the shift


def seen(samples=50, lights=4, observers=3, seed=1):
    """Samples as seen in several ways, with a few negative and dark values, their whites and references."""
    rng = np.random.default_rng(seed)
    whites = np.linspace(D50, A, lights)[:, np.newaxis] * rng.uniform(0.97, 1.03, (lights, observers, 3))
    xyz = whites * rng.uniform(-0.02, 1.1, (samples, 1, 1, 3))
    xyz = xyz * rng.uniform(0.9, 1.0, (samples, lights, observers, 3))
    return xyz, whites, xyz_to_lab(xyz[:, 0, 0], whites[0, 0])


@pytest.mark.parametrize("size", [1, 10**12], ids=["compiled", "numpy"])
def test_lab_shift_is_adaptation_then_lab_then_the_difference(monkeypatch, size):
    xyz, whites, lab = seen()
    home = whites[0, 0]
    de00, deab = np.empty((50, 4, 3)), np.empty((50, 4, 3))
    for i, lamp, eye in np.ndindex(50, 4, 3):
        moved = xyz_to_lab(adapt(xyz[i, lamp, eye], whites[lamp, eye], home), home)
        de00[i, lamp, eye], deab[i, lamp, eye] = de2000(lab[i], moved), de76(lab[i], moved)
    monkeypatch.setattr(large, "LARGE", size)
    matrices = adaptation_matrix(whites, home)
    found = lab_shift(xyz, home, lab, adaptation=matrices)
    assert found[0].shape == (50, 4, 3)
    assert np.allclose(found[0], de00, **SAME) and np.allclose(found[1], deab, **SAME)
    assert np.allclose(lab_de2000_shift(xyz, home, lab, adaptation=matrices), de00, **SAME)
    assert np.abs(found[0][:, 0, 0]).max() < 1e-9 and found[0][:, 3].max() > 1.0
    # Without an adaptation each is relative to its own white; a reference for every way; factors of their own.
    own = xyz_to_lab(xyz, whites)
    found_own = lab_de2000_shift(xyz, whites, own[:, :, ::-1], kl=2.0, kc=1.5, kh=0.7)
    assert np.allclose(found_own, de2000(own[:, :, ::-1], own, 2.0, 1.5, 0.7), **SAME)


@pytest.mark.parametrize("size", [1, 10**12], ids=["compiled", "numpy"])
def test_cam16ucs_shift_is_the_model_then_the_difference(monkeypatch, size):
    """Relative to the difference, too: colours beyond all reason have differences of hundreds."""
    xyz, whites, _ = seen()
    la = np.array([[20.0], [64.0], [318.0], [1.0]])
    cond = CamConditions(whites, la, yb=np.array([18.0, 20.0, 25.0]))
    home = xyz_to_cam16(xyz[:, 0, 0], CamConditions(whites[0, 0], 64.0))
    reference = cam16_to_ucs(home.J, home.M, home.h)
    cam = xyz_to_cam16(xyz, cond)
    expected = de_cam16ucs(reference[:, np.newaxis, np.newaxis], cam16_to_ucs(cam.J, cam.M, cam.h))
    monkeypatch.setattr(large, "LARGE", size)
    found = cam16ucs_shift(xyz, cond, reference)
    assert found.shape == (50, 4, 3)
    assert np.allclose(found, expected, atol=1e-9, rtol=1e-11)
    high = cam16ucs_shift(3.0 * xyz, cond, reference)  # past the upper end of the power law
    monkeypatch.setattr(large, "LARGE", 10**12)
    assert np.allclose(high, cam16ucs_shift(3.0 * xyz, cond, reference), atol=1e-9, rtol=1e-11)


def test_more_ways_than_a_block_holds(monkeypatch):
    """One light box, very many lamps: the kernels work through the ways in blocks, too."""
    xyz, whites, lab = seen(3, 1300, 1)
    plain, fast = both_ways(monkeypatch, lambda: lab_de2000_shift(xyz, whites, lab))
    assert fast.shape == (3, 1300, 1) and np.allclose(fast, plain, **SAME)
    cond, jab = CamConditions(whites, 64.0), np.full((3, 3), 20.0)
    plain, fast = both_ways(monkeypatch, lambda: cam16ucs_shift(xyz, cond, jab))
    assert np.allclose(fast, plain, atol=1e-9, rtol=1e-11)


def test_missing_xyz_and_black_in_the_kernels(compiled):
    xyz, whites, lab = seen()
    xyz[3, 1, 1, 2], xyz[4] = np.nan, 0.0
    cond, jab = CamConditions(whites, 64.0), np.full((50, 3), 20.0)
    for found in (lab_de2000_shift(xyz, whites, lab), cam16ucs_shift(xyz, cond, jab)):
        assert np.argwhere(np.isnan(found)).tolist() == [[3, 1, 1]]
    assert np.allclose(cam16ucs_shift(xyz[4:5], cond, np.zeros((1, 3))), 0.0, atol=1e-9)


def test_shapes_that_do_not_go_together_are_refused():
    xyz, whites, lab = seen()
    with pytest.raises(InputError, match="one reference for each sample"):
        lab_shift(xyz, whites, lab[:7])
    with pytest.raises(InputError, match="white"):
        lab_shift(xyz, whites[:2], lab)
    with pytest.raises(InputError, match="adaptation"):
        lab_de2000_shift(xyz, whites, lab, adaptation=np.zeros((5, 3, 3)))
    with pytest.raises(InputError, match="cond"):
        cam16ucs_shift(xyz, CamConditions(whites[:, :2], 64.0), lab)
    with pytest.raises(InputError, match="samples"):
        lab_shift(xyz[0, 0, 0], whites[0, 0], lab[0])


# Cost and robustness


def test_memory_is_that_of_the_answer(compiled):
    """720,000 differences are 5.8 MB; their CIELAB alone would be 17 MB, and a plain NumPy way takes over 200."""
    xyz, whites, lab = seen(20_000, 12, 3)
    lab_de2000_shift(xyz[:10], whites, lab[:10])
    de2000(lab[:10, np.newaxis], lab[:36])  # compiled before its memory counts
    tracemalloc.start()
    try:
        found = lab_de2000_shift(xyz, whites, lab)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.reset_peak()
        pairs = de2000(lab[:, np.newaxis], lab[:36])
        peak_pairs = tracemalloc.get_traced_memory()[1] - found.nbytes
    finally:
        tracemalloc.stop()
    assert peak < found.nbytes + 2e6
    assert peak_pairs < pairs.nbytes + 2e6


def run(code, **environment):
    """What a fresh Python prints; warnings are errors there as well."""
    done = subprocess.run(
        [sys.executable, "-P", "-W", "error", "-c", code],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(screenproof.__file__).parents[1]), **environment},
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


SIZES = """
import sys
import numpy as np
from screenproof.appearance import de2000, large
rng = np.random.default_rng(1)
lab = np.abs(rng.normal(0.0, 20.0, (large.LARGE, 3)))
small = de2000(lab[:-1], lab[:0:-1])
print("numba" in sys.modules)
whole = de2000(lab, lab[::-1])
print("numba" in sys.modules, bool(np.allclose(whole[:9], de2000(lab[:9], lab[::-1][:9]), atol=1e-9)))
"""


@pytest.fixture(scope="module")
def first_run(tmp_path_factory):
    """A folder in which a fresh Python has kept its kernel, and what that Python printed."""
    cache = tmp_path_factory.mktemp("cache")
    return cache, run(SIZES, NUMBA_CACHE_DIR=str(cache))


def test_numba_is_loaded_for_large_arrays_only(first_run):
    assert first_run[1] == ["False", "True", "True"]


def test_a_place_where_nothing_can_be_cached_does_no_harm(tmp_path):
    """A cache folder below a plain file can never be made, whoever runs this: as in a read-only install."""
    blocker = tmp_path / "file"
    blocker.write_text("")
    assert run(SIZES, NUMBA_CACHE_DIR=str(blocker / "cache")) == ["False", "True", "True"]


def test_a_spoilt_cache_does_no_harm(first_run):
    """What numba keeps on disk is cut off or overwritten: the kernel is compiled afresh."""
    cache = first_run[0]
    kept = [path for path in cache.rglob("*") if path.suffix in (".nbi", ".nbc")]
    assert kept
    for path in kept:
        path.write_bytes(b"not what numba wrote")
    assert run(SIZES, NUMBA_CACHE_DIR=str(cache)) == ["False", "True", "True"]


NO_NUMBA = "sys.modules['numba'] = None"
NO_COMPILER = "import os; os.environ['NUMBA_DISABLE_JIT'] = '1'"


@pytest.mark.parametrize("hindrance", [NO_NUMBA, NO_COMPILER])
def test_without_numba_the_answers_are_the_same(hindrance):
    """numba of an older release than NumPy refuses to load; then NumPy serves for all sizes."""
    code = f"import sys; {hindrance}" + SIZES.replace('print("numba" in sys.modules)', "").replace(
        '"numba" in sys.modules, ', "large.can_compile(), "
    )
    assert run(code) == ["False", "True"]


def test_kernels_are_of_the_present_sources():
    """What is kept on disk belongs to all the sources as they are now, not only to the file of the kernel."""
    from screenproof.appearance import cam16_kernel, kernels, vector_math

    colour, none = np.zeros((1, 1, 3)), np.empty((0, 0))
    out, matrix, numbers = np.empty((1, 1)), np.eye(3)[np.newaxis], np.ones((1, 17))
    assert kernels.de2000_kernel()(colour, colour, 1.0, 1.0, 1.0, out) == kernels.SOURCES
    assert kernels.lab_shift_kernel()(colour, matrix, colour, 1.0, 1.0, 1.0, out, none) == kernels.SOURCES
    assert cam16_kernel.cam16ucs_shift_kernel()(colour, numbers, colour, out) == cam16_kernel.SOURCES
    assert vector_math.sources(kernels.__file__) != kernels.SOURCES


def test_a_change_of_the_elementary_functions_renews_the_kernels(tmp_path):
    """Here of a copy of the room, with the times of its files kept, so that nothing else can tell numba."""
    copy = tmp_path / "screenproof"
    shutil.copytree(Path(screenproof.__file__).parent, copy, ignore=shutil.ignore_patterns("__pycache__"))
    here, cache = {"PYTHONPATH": str(tmp_path)}, str(tmp_path / "cache")
    code = """
import numpy as np
from screenproof.appearance import de2000, large
large.LARGE = 1
print(float(de2000([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485])))
"""
    before = run(code, NUMBA_CACHE_DIR=cache, **here)
    module = copy / "appearance" / "vector_math.py"
    text = module.read_text()
    times = (module.stat().st_atime_ns, module.stat().st_mtime_ns)
    changed = text.replace("return polynomial(rest, _EXPONENTIAL)", "return 0.5 * polynomial(rest, _EXPONENTIAL)")
    assert changed != text
    module.write_text(changed)
    os.utime(module, ns=times)
    after = run(code, NUMBA_CACHE_DIR=cache, **here)
    assert float(before[0]) == pytest.approx(2.0425, abs=1e-4)
    assert abs(float(after[0]) - float(before[0])) > 0.01


# The elementary functions of the kernels


def test_elementary_functions_against_numpy():
    from screenproof.appearance.vector_math import cube_root, exponential, logarithm, power

    rng = np.random.default_rng(2)
    wide, usual = np.exp(rng.uniform(-300.0, 300.0, 1000)), rng.uniform(0.005, 2.0, 1000)
    x = np.concatenate([wide, usual, [1.0, 8.0, 2.0**0.5]])
    assert np.allclose([cube_root(v) for v in x], np.cbrt(x), rtol=1e-15, atol=0.0)
    assert np.allclose([logarithm(v) for v in x], np.log(x), rtol=1e-15, atol=3e-16)
    y = np.concatenate([rng.uniform(-700.0, 700.0, 1000), rng.uniform(-1.0, 1.0, 1000), [0.0]])
    assert np.allclose([exponential(v) for v in y], np.exp(y), rtol=2e-15, atol=0.0)
    z = rng.uniform(0.0, 200.0, 1000)
    for exponent in (0.42, 0.9, 0.3):
        assert np.allclose([power(v, exponent) for v in z], z**exponent, rtol=3e-15, atol=0.0)
        assert power(0.0, exponent) < 1e-80 and power(-1.0, exponent) < 1e-80
