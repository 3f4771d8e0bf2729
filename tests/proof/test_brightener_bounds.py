"""What is said of brightener, against synthetic samples whose whole bispectral matrix is known.

The truth is Donaldson's matrix (R. Donaldson, Br. J. Appl. Phys. 5, 1954; ASTM E2152, E2153: from memory) at
1 nm, summed here by itself: reflected light and emitted light, seen through the observer's curves. The instruments
that read the samples have a lamp that is only about right, and a cut that lets through what it likes from 400 to
420 nm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from screenproof.appearance import adapt, de2000, xyz_to_lab
from screenproof.errors import InputError
from screenproof.proof.brightener import brightener, unknowable, uv_cautions
from screenproof.spectra import Condition, Grid, Light, Samples, light, observer, planck, white_point
from screenproof.spectra.brightener import Assumed

EXCITED = np.arange(300.0, 421.0)
ALL = np.arange(300.0, 831.0)
EYE = observer("cie1931")
D50 = light("D50")
BANDS = Grid(380.0, 730.0, 5.0)


@dataclass
class Truth:
    """Reflectance proper (531,) from 300 to 830 nm, and the matrix (excitation, emission), by 1 nm."""

    reflected: np.ndarray
    matrix: np.ndarray

    def leaving(self, power):
        """Light that leaves a sample lit by ``power`` from 300 to 830 nm."""
        return self.reflected * power + power[: EXCITED.size] @ self.matrix


def powers(one):
    """Power from 300 to 830 nm; A by Planck's formula, as CIE 15 writes it."""
    return planck(ALL, 2848.0, 1.435e-2) if one.name == "A" else one.at(ALL)


def excitation(rng, kind):
    """A curve of excitation, at most 0.3 of it (in D50) above 400 nm."""
    while True:
        if kind == "bell":
            curve = np.exp(-0.5 * ((EXCITED - rng.uniform(340, 380)) / rng.uniform(10, 20)) ** 2)
        elif kind == "band":
            start = rng.integers(0, 100)
            curve = ((EXCITED >= 300 + start) & (EXCITED < 320 + start)).astype(float)
        else:
            weights = rng.exponential(1.0, 102) * (rng.random(102) < 0.1)
            curve = np.convolve(weights, np.ones(20))[:121]
        share = (curve * D50.at(EXCITED))[EXCITED >= 400].sum() / max((curve * D50.at(EXCITED)).sum(), 1e-9)
        if curve.sum() > 0 and share <= 0.3:
            return curve


def truth(rng, kinds, strength):
    """A stock or a tint with one brightener for each of ``kinds``."""
    reflected = 0.85 - rng.uniform(0.1, 0.4) * np.exp(-(ALL - 300) / rng.uniform(40, 120))
    reflected -= rng.uniform(0, 0.5) * np.exp(-0.5 * ((ALL - rng.uniform(450, 650)) / 40) ** 2)
    matrix = np.zeros((EXCITED.size, ALL.size))
    day = D50.at(EXCITED)
    for kind in kinds:
        curve = excitation(rng, kind)
        emitted = np.exp(-0.5 * ((ALL - rng.uniform(432, 455)) / rng.uniform(14, 26)) ** 2) * (ALL >= 400)
        matrix += strength / len(kinds) * np.outer(curve / (curve @ day), emitted) * D50.at([440.0])
    return Truth(reflected, matrix)


def slack(rng, size):
    """A smooth error of a lamp, within ``size`` at every wavelength."""
    bend = np.sin(ALL / rng.uniform(20, 80) + rng.uniform(0, 6))
    return 1.0 + size * np.where(ALL < 420, np.clip(rng.uniform(-1, 1) + 0.5 * bend, -1, 1), 0.0)


def read(rng, truths, *, m1_uv=0.15, m0_uv=0.3):
    """M1, M2 and M0 of the samples, by instruments as good as is taken for granted and no better."""
    day, lamp = powers(D50), powers(light("A"))
    at = np.searchsorted(ALL, BANDS.wavelengths)
    curves = {"M1": [], "M2": [], "M0": []}
    for one in truths:
        cut = 1.0 / (1.0 + np.exp(-(ALL - rng.uniform(398, 422)) / rng.uniform(0.5, 4)))
        cut = np.where(ALL < 400, 0.0, np.where(ALL >= 420, 1.0, cut))
        for name, power, known in (
            ("M1", day * slack(rng, m1_uv), day),
            ("M2", day * cut, day * np.maximum(cut, 1e-3)),
            ("M0", lamp * slack(rng, m0_uv), lamp),
        ):
            # The instrument divides by its white, which it reads in its own light.
            white = known if name == "M2" else power
            curves[name].append(np.clip(one.leaving(power) / white, 0, 2)[at])
    names = tuple(f"sample {i}" for i in range(len(truths)))
    return [Samples(names, np.array(curves[key]), BANDS, condition=Condition(filter=key)) for key in curves]


def seen(one, lit):
    """XYZ of the truth in a light, carried to D50's white."""
    power = powers(lit)
    visible = slice(60, 531)
    whole = powers(lit)[visible] @ EYE.at_1nm[:, 1]
    xyz = one.leaving(power)[visible] @ EYE.at_1nm * (100.0 / whole)
    return adapt(xyz, white_point(lit, EYE), white_point(D50, EYE))


def made_up(rng, k):
    """A lamp that nobody sells: a smooth slope, some ultraviolet, a few lines."""
    power = planck(ALL, rng.uniform(2500, 9000))
    power = power * np.where(ALL < 400, rng.uniform(0, 2.5), 1.0)
    for line in rng.choice([365.0, 405.0, 436.0, 490.0, 546.0, 611.0], 3, replace=False):
        power = power + rng.uniform(0, 300) * np.exp(-0.5 * ((ALL - line) / 3) ** 2)
    return Light(f"made up {k}", Grid(300.0, 830.0, 1.0), power)


@pytest.fixture(scope="module")
def scene():
    rng = np.random.default_rng(20)
    kinds = [("bell",), ("band",), ("mixed",), ("bell", "bell"), ("band", "mixed"), ("band", "band", "bell")]
    truths = [truth(rng, kinds[i % 6], rng.uniform(0.03, 0.3)) for i in range(18)]
    lights = [light(name) for name in ("D50", "D65", "A", "ID65", "C")] + [made_up(rng, k) for k in range(3)]
    home = white_point(D50, EYE)
    readings = read(rng, truths)
    reference = xyz_to_lab(readings[0].xyz([D50], [EYE])[:, 0, 0], home)
    actual = np.array([[seen(one, lit) for lit in lights] for one in truths])
    return truths, lights, readings, de2000(reference[:, None], xyz_to_lab(actual, home))


def told(readings, lights, *, lamp=False, assumed=None):
    """low, high (n, L)."""
    found = brightener(readings[0], readings[1], readings[2] if lamp else None, lights, EYE, D50, assumed=assumed)
    return np.moveaxis([[(at.low, at.high) for at in one.lights] for one in found.records], 2, 0)


@pytest.mark.parametrize("lamp", [False, True])
def test_the_bound_holds(scene, lamp):
    truths, lights, readings, actual = scene
    low, high = told(readings, lights, lamp=lamp)
    assert np.all(low <= actual), (low - actual).max()
    assert np.all(actual <= high), (actual - high).max()
    # It says something, too: how wide the range is for what the brightener does (M1 to M2), in D50, D65 and A.
    doing = np.array([record.de00 for record in brightener(*readings[:2], None, [], EYE, D50).records])
    widths = np.median((high - low)[:, :3] / doing[:, None], axis=0)
    assert np.all(widths < [0.4, 1.3, 0.9]), widths


def test_without_its_slacks_the_bound_would_not_hold(scene):
    truths, lights, readings, actual = scene
    low, high = told(readings, lights, assumed=Assumed(near=0.0, m1_uv=0.0))
    assert np.mean((low <= actual) & (actual <= high)) < 0.9


def test_a_reading_in_a_lamp_tightens_the_bound():
    """With a lamp that is known well, M0 tells more of where the excitation lies; never does it widen a bound."""
    rng = np.random.default_rng(3)
    truths = [truth(rng, (kind,), 0.2) for kind in ("bell", "band", "mixed") * 4]
    readings = read(rng, truths, m1_uv=0.02, m0_uv=0.03)
    lights = [light("A"), light("D65"), light("ID65"), light("P3200K")]
    assumed = Assumed(m1_uv=0.02, m0_uv=0.03)
    widths = []
    for lamp in (False, True):
        low, high = told(readings, lights, lamp=lamp, assumed=assumed)
        widths.append(high - low)
    assert np.all(widths[1] <= widths[0] + 0.05)
    assert np.median(widths[1][:, 0]) < 0.75 * np.median(widths[0][:, 0])
    home = white_point(D50, EYE)
    reference = xyz_to_lab(readings[0].xyz([D50], [EYE])[:, 0, 0], home)
    for i in range(3):
        actual = de2000(reference, xyz_to_lab([seen(one, lights[i]) for one in truths], home))
        assert np.all((low[:, i] <= actual) & (actual <= high[:, i]))


def test_the_worst_sample_reaches_the_bound():
    """Excited in one band, read by a lamp at the end of its slack: as far as the bound says, or nearly."""
    grey = np.full(ALL.size, 0.8)
    worst = []
    for start in range(0, 81, 4):
        curve = ((EXCITED >= 300 + start) & (EXCITED < 320 + start)).astype(float)
        emitted = np.exp(-0.5 * ((ALL - 440.0) / 20) ** 2) * (ALL >= 400)
        # The lamp has 0.85 of D50's ultraviolet, and reads the same M1 - M2 for all.
        worst.append(Truth(grey, np.outer(curve / (curve @ D50.at(EXCITED)) / 0.85, 10.0 * emitted)))
    at = np.searchsorted(ALL, BANDS.wavelengths)
    day = powers(D50)
    weak = day * np.where(ALL < 400, 0.85, 1.0)
    m1 = Samples(("it",), (worst[0].leaving(weak) / weak)[at][None], BANDS)
    m2 = Samples(("it",), grey[at][None], BANDS)
    home = white_point(D50, EYE)
    reference = xyz_to_lab(m1.xyz([D50], [EYE])[0, 0], home)
    lights = [light("D65"), light("ID65")]
    low, high = told((m1, m2), lights, assumed=Assumed(near=0.0))
    for k, lit in enumerate(lights):
        actual = de2000(reference, xyz_to_lab([seen(one, lit) for one in worst], home))
        assert actual.max() <= high[0, k]
        if k == 0:
            assert actual.max() > 0.93 * high[0, k] - 0.02


def test_what_is_said_of_a_sample():
    """The emission is what was put in; that a lamp has no ultraviolet must be stated before it is answered."""
    rng = np.random.default_rng(5)
    one = Truth(np.full(ALL.size, 0.85), truth(rng, ("bell",), 0.2).matrix)
    readings = read(rng, [one], m1_uv=0.0)
    lights = [light("FL11"), light("LED-B3"), Light("late", Grid(410.0, 700.0, 5.0), np.ones(59))]
    record = brightener(*readings[:2], None, lights, EYE, D50, without_uv=("LED-B3", "late")).records[0]
    emitted = powers(D50)[:121] @ one.matrix / powers(D50)
    peak = int(np.argmax(np.where(ALL >= 420, emitted, 0)))
    assert record.emission <= emitted[peak] + 1e-9 and record.emission > 0.7 * emitted[peak]
    assert abs(record.peak_nm - ALL[peak]) <= 5
    assert "bluer" in record.words and record.de00 > 1.0
    tube, lamp, late = record.lights
    assert tube.low is None and "380 nm only" in tube.reason
    assert lamp.low > 1.0 and "yellower" in lamp.words
    assert late.low is None and "410 nm" in late.reason


def test_what_cannot_be_known_is_said():
    bright = np.full((2, BANDS.count), 0.8)
    bright[1, (BANDS.wavelengths > 425) & (BANDS.wavelengths < 460)] = 1.06
    both = Samples(("plain", "bright"), bright, BANDS)
    (note,) = unknowable(both)
    assert note.kind == "caution" and "bright" in note.what and "plain" not in note.what and "(M2)" in note.mend
    assert unknowable(both.select([0])) == ()
    assert "declared" in unknowable(Samples(("plain",), bright[:1], BANDS, fluorescent=True))[0].what
    assert uv_cautions([light("D65"), light("D75"), light("A"), light("FL11"), light("E")]) == ()
    nm = np.arange(320.0, 501.0)
    lamp = Light("black lamp", Grid(320.0, 500.0, 1.0), np.exp(-0.5 * ((nm - 368) / 8) ** 2) + 1e-4)
    (caution,) = uv_cautions([lamp])
    assert "eyes and skin" in caution.what and "local rules" in caution.mend
    assert uv_cautions([Light("heat", Grid(300.0, 800.0, 10.0), np.repeat([0.0, 1.0], [46, 5]))]) == ()


def test_readings_that_do_not_belong_together():
    names = ("a", "b")
    high = Samples(names, np.full((2, BANDS.count), 0.8), BANDS)
    lower = Samples(names, np.full((2, BANDS.count), 0.7), BANDS)
    mistakes = [
        ((lower, high), "reads 0.100 higher than with it"),
        ((high, Samples(("c", "d"), lower.reflectance, BANDS)), "no sample of the readings without ultraviolet"),
        ((high, Samples(names, lower.reflectance[:, ::2], Grid(380.0, 730.0, 10.0))), "nothing is resampled"),
        ((high, Samples(names, lower.reflectance, BANDS, condition=Condition(filter="M3"))), "measured with M3"),
        ((high, Samples(names, np.full((2, BANDS.count), np.nan), BANDS)), "has no reading"),
    ]
    for (m1, m2), words in mistakes:
        with pytest.raises(InputError, match=words.replace("(", r"\(").replace(")", r"\)")):
            brightener(m1, m2, None, [D50], EYE, D50)
    # A lamp that no excitation goes with is told, and left out; a sample without M2 has no record.
    rng = np.random.default_rng(8)
    m1, m2, m0 = read(rng, [truth(rng, ("bell",), 0.25), truth(rng, ("bell",), 0.25)])
    far = Samples(m0.names, m2.reflectance + 3.0 * (m1.reflectance - m2.reflectance), BANDS)
    found = brightener(m1, m2.select([0]), far, [D50], EYE, D50)
    assert found.records[1] is None and found.records[0] is not None
    said = " ".join(note.what for note in found.notes)
    assert "M0 does not go with M1 and M2 for sample 0" in said
    assert "not read without ultraviolet (M2): sample 1" in said
    plain = brightener(m1, m2.select([0]), None, [D50], EYE, D50).records[0]
    assert found.records[0].lights[0].high == pytest.approx(plain.lights[0].high)
