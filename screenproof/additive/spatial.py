"""How visible a pattern still is at a distance: the spatial filter of S-CIELAB (Zhang & Wandell).

XYZ -> three opponent channels -> each blurred as the eye blurs it, by a sum of Gaussians whose widths are in
degrees of visual angle -> XYZ -> CIELAB. The difference of the blurred pattern from its mean colour is what can
still be seen of it: all of the difference between its parts from very near, none from very far.

X. Zhang & B. A. Wandell, "A spatial extension of CIELAB for digital color image reproduction", SID 1996, and J.
SID 5(1), 61-63, 1997; widths after A. B. Poirson & B. A. Wandell, "Appearance of colored patterns: pattern-color
separability", J. Opt. Soc. Am. A 10(12), 1993. The figures, and how they were obtained: shared/scielab.csv.

A spread s stands for exp(-r^2 / s^2), which leaves exp(-(pi s f)^2) of a grating of f cycles per degree. Such a
Gaussian is one along the rows times one along the columns. The blur is done on the frequencies of the image, where
it is exact for any width: no kernel is cut off.

Degrees are counted flat: one degree is distance times tan(1 deg), as the authors count it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from screenproof.additive.fusion import checked_length
from screenproof.additive.patterns import Pattern
from screenproof.appearance import de76, de2000, xyz_to_lab
from screenproof.errors import bad
from screenproof.spectra import Array, frozen

XYZ_TO_OPPONENT = frozen(
    [
        [0.2787336, 0.7218031, -0.106552],
        [-0.4487736, 0.2898056, 0.0771569],
        [0.0859513, -0.5899859, 0.5011089],
    ]
)
"""Luminance, red-green and blue-yellow of XYZ (CIE 1931): the authors' matrix. Some printed copies have
-0.077 in the second row; with it white is far from neutral."""

HALF_WIDTH = 2.0 * float(np.sqrt(np.log(2.0)))
"""Full width at half height of a Gaussian exp(-r^2 / s^2), in units of its spread s: 1.665."""

LEAST_LIMIT = 1e-3
"""CIEDE2000 below which a difference is not looked for: far below any eye, and above rounding."""

Sum = tuple[tuple[float, float], ...]
Edges = Literal["periodic", "mirror"]


@dataclass(frozen=True)
class Kernels:
    """Three sums of Gaussians: (weight, spread in degrees) for luminance, red-green and blue-yellow.

    The weights of each sum to 1, so that a flat colour stays as it is.
    """

    name: str
    luminance: Sum
    red_green: Sum
    blue_yellow: Sum

    @classmethod
    def normalised(cls, name: str, *channels: Sum) -> Kernels:
        """Kernels whose weights are divided by their sum, as the authors do."""
        sums = [sum(weight for weight, _ in channel) for channel in channels]
        luminance, red_green, blue_yellow = (
            tuple((weight / total, spread) for weight, spread in channel)
            for channel, total in zip(channels, sums, strict=True)
        )
        return cls(name, luminance, red_green, blue_yellow)

    def response(self, frequency: ArrayLike) -> Array:
        """What is left (..., 3) of gratings of ``frequency`` (...) in cycles per degree, by channel."""
        square = -((np.pi * np.asarray(frequency, dtype=np.float64)) ** 2)
        channels = (self.luminance, self.red_green, self.blue_yellow)
        left = [sum(weight * np.exp(square * spread**2) for weight, spread in channel) for channel in channels]
        return np.stack([np.asarray(one) for one in left], axis=-1)


def _by_half_width(*pairs: tuple[float, float]) -> Sum:
    return tuple((weight, width / HALF_WIDTH) for weight, width in pairs)


REFERENCE_CODE = Kernels.normalised(
    "reference code",
    _by_half_width((1.00327, 0.05), (0.114416, 0.225), (-0.117686, 7.0)),
    _by_half_width((0.616725, 0.0685), (0.383275, 0.826)),
    _by_half_width((0.567885, 0.0920), (0.432115, 0.6451)),
)
"""As in the authors' published code, in half widths. The default: these figures were seen."""

PAPER = Kernels.normalised(
    "paper",
    ((0.921, 0.0283), (0.105, 0.133), (-0.108, 4.336)),
    ((0.531, 0.0392), (0.330, 0.494)),
    ((0.488, 0.0536), (0.371, 0.386)),
)
"""As in the papers, in spreads. From memory; weights agree with the code to 3e-4, widths to 6 percent."""


def samples_per_degree(pitch_mm: float, distance_mm: float) -> float:
    """How many points ``pitch_mm`` apart lie in one degree of visual angle seen from ``distance_mm``.

    distance tan(1 deg) / pitch. Raises InputError for lengths that are not above 0.
    """
    pitch, distance = checked_length(pitch_mm, "pitch"), checked_length(distance_mm, "distance")
    return float(distance * np.tan(np.radians(1.0)) / pitch)


def _image(xyz: ArrayLike) -> Array:
    image = np.asarray(xyz, dtype=np.float64)
    if image.ndim != 3 or image.shape[2] != 3 or 0 in image.shape:
        raise bad(f"an image of shape {image.shape}", field="xyz", expected="rows, columns, and X Y Z last")
    return image


def filtered_xyz(
    xyz: ArrayLike,
    samples_per_degree: float,
    kernels: Kernels = REFERENCE_CODE,
    edges: Edges = "periodic",
) -> Array:
    """XYZ (h, w, 3) as the eye blurs it.

    xyz: (h, w, 3), any scale, points equally far apart both ways. edges: 'periodic', the image is a tile of a
    pattern that goes on, or 'mirror', it is a picture that is mirrored at its edges.
    The mean of the image is kept. Raises InputError for a shape that is no image, for a number of points per
    degree that is not above 0, and for unknown edges.
    """
    image = _image(xyz)
    if not (np.isfinite(samples_per_degree) and samples_per_degree > 0.0):
        raise bad(
            f"{samples_per_degree:g} points per degree", field="samples_per_degree", expected="a number above 0"
        )
    if edges not in ("periodic", "mirror"):
        raise bad(f"edges {edges!r}", field="edges", expected="periodic or mirror")
    opponent = image @ XYZ_TO_OPPONENT.T
    blur = _blur_periodic if edges == "periodic" else _blur_mirror
    return np.asarray(blur(opponent, samples_per_degree, kernels) @ np.linalg.inv(XYZ_TO_OPPONENT).T)


def _blur_periodic(opponent: Array, per_degree: float, kernels: Kernels) -> Array:
    h, w, _ = opponent.shape
    left = kernels.response(_frequencies(h, w) * per_degree)
    return np.asarray(np.fft.irfft2(np.fft.rfft2(opponent, axes=(0, 1)) * left, s=(h, w), axes=(0, 1)))


def _frequencies(h: int, w: int) -> Array:
    """Cycles per point (h, w // 2 + 1) of the real transform."""
    return np.asarray(np.hypot(np.fft.fftfreq(h)[:, None], np.fft.rfftfreq(w)[None, :]))


def _blur_mirror(opponent: Array, per_degree: float, kernels: Kernels) -> Array:
    """The same on an image mirrored at half a point past its edges, which the cosine transform is."""
    from scipy.fft import dctn, idctn

    h, w, _ = opponent.shape
    frequency = np.hypot(np.arange(h)[:, None] / (2.0 * h), np.arange(w)[None, :] / (2.0 * w))
    waves = dctn(opponent, axes=(0, 1), norm="ortho") * kernels.response(frequency * per_degree)
    return np.asarray(idctn(waves, axes=(0, 1), norm="ortho"))


@dataclass(frozen=True, eq=False)
class Visibility:
    """What is still seen of a pattern from a distance.

    cycles_per_degree: of its coarsest grating. de00, deab: mean, 95th percentile and largest CIEDE2000 and CIE
    1976 difference (3,) of the blurred pattern from its mean colour; unblurred_de00, unblurred_deab: as seen from
    very near. xyz: (h, w, 3) as the eye sees it. mean_xyz: (3,). kernels: the name of the filter's figures.
    """

    distance_mm: float
    samples_per_degree: float
    cycles_per_degree: float
    de00: Array
    deab: Array
    unblurred_de00: Array
    unblurred_deab: Array
    xyz: Array
    mean_xyz: Array
    kernels: str

    @property
    def share(self) -> float:
        """Mean de00 over the unblurred one, 0 to about 1 (a little more where the eye sharpens); 0 for none."""
        return float(self.de00[0] / self.unblurred_de00[0]) if self.unblurred_de00[0] > 0.0 else 0.0


def _figures(differences: Array) -> Array:
    """Mean, 95th percentile, largest."""
    return np.array([differences.mean(), np.percentile(differences, 95.0), differences.max()])


class Seen:
    """A pattern of given colours, ready to be looked at from several distances.

    pattern: of k parts. xyz: (k, 3) of the parts, and white (3,) of the light, on one scale (Y = 100 for the
    perfect diffuser). The frequencies of the tile are found once.
    """

    def __init__(
        self, pattern: Pattern, xyz: ArrayLike, white: ArrayLike, kernels: Kernels = REFERENCE_CODE
    ) -> None:
        self.pattern, self.kernels = pattern, kernels
        self._white = np.asarray(white, dtype=np.float64)
        self._image = pattern.image(xyz)
        self.mean_xyz = frozen(pattern.areas @ np.asarray(xyz, dtype=np.float64))
        self._mean_lab = xyz_to_lab(self.mean_xyz, self._white)
        self._waves = np.fft.rfft2(self._image @ XYZ_TO_OPPONENT.T, axes=(0, 1))
        self._back = np.linalg.inv(XYZ_TO_OPPONENT).T
        self._unblurred = self._differences(self._image)

    def _differences(self, image: Array) -> tuple[Array, Array]:
        lab = xyz_to_lab(image[self.pattern.counted], self._white)
        return _figures(de2000(self._mean_lab, lab)), _figures(de76(self._mean_lab, lab))

    def blurred(self, distance_mm: float) -> Array:
        """XYZ (h, w, 3) of the tile as seen from ``distance_mm``."""
        h, w, _ = self._image.shape
        per_degree = samples_per_degree(self.pattern.pitch_mm, distance_mm)
        left = self.kernels.response(_frequencies(h, w) * per_degree)
        return np.asarray(np.fft.irfft2(self._waves * left, s=(h, w), axes=(0, 1)) @ self._back)

    def at(self, distance_mm: float) -> Visibility:
        """What is seen from a distance in mm. Raises InputError for one that is not above 0."""
        image = self.blurred(distance_mm)
        de00, deab = self._differences(image)
        degree = float(distance_mm * np.tan(np.radians(1.0)))
        return Visibility(
            distance_mm=float(distance_mm),
            samples_per_degree=degree / self.pattern.pitch_mm,
            cycles_per_degree=degree / self.pattern.period_mm,
            de00=de00,
            deab=deab,
            unblurred_de00=self._unblurred[0],
            unblurred_deab=self._unblurred[1],
            xyz=image,
            mean_xyz=self.mean_xyz,
            kernels=self.kernels.name,
        )

    def vanishes_from(self, limit: float = 1.0) -> float:
        """The distance in mm from which on the 95th percentile of CIEDE2000 stays below ``limit``.

        0 when it is never above. About 1 can just be seen side by side. Found within 0.01 percent.
        Raises InputError for a limit below 0.001.
        """
        if not (np.isfinite(limit) and limit >= LEAST_LIMIT):
            raise bad(f"a limit of {limit:g}", field="limit", expected=f"a CIEDE2000 of {LEAST_LIMIT:g} or more")

        def seen(degrees: float) -> float:
            image = self.blurred(self.pattern.period_mm / np.tan(np.radians(1.0)) / degrees)
            return float(self._differences(image)[0][1])

        return _last_above(seen, limit) * self.pattern.period_mm / float(np.tan(np.radians(1.0)))


def _last_above(seen: Callable[[float], float], limit: float) -> float:
    """The greatest 1 / d at which ``seen(d)`` is ``limit``; d is the size of a period in degrees. 0: nowhere."""
    # The figure may rise before it falls (the eye sharpens at middle distances), so look from far to near.
    degrees = 2.0**-9
    while seen(degrees) >= limit:
        degrees /= 4.0
    while seen(degrees) < limit:
        if degrees > 2.0**9:
            return 0.0
        degrees *= 2.0**0.25
    near, far = degrees, degrees / 2.0**0.25
    while near / far > 1.0001:
        middle = float(np.sqrt(near * far))
        near, far = (middle, far) if seen(middle) >= limit else (near, middle)
    return 1.0 / near


def visibility(
    pattern: Pattern,
    xyz: ArrayLike,
    white: ArrayLike,
    distance_mm: float,
    kernels: Kernels = REFERENCE_CODE,
) -> Visibility:
    """What is still seen of a pattern from a distance in mm: xyz (k, 3) of its parts, white (3,) of the light.

    For several distances of one pattern use :class:`Seen`.
    """
    return Seen(pattern, xyz, white, kernels).at(distance_mm)
