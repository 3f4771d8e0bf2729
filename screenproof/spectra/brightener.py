"""What a light's ultraviolet does to a brightener, as far as readings with and without ultraviolet can tell.

A brightener takes in ultraviolet and violet and gives it back as blue. What it gives at one wavelength is, for
any bispectral matrix D (Donaldson's: excitation mu, emission l),

    E(l; S) = sum over mu of D(mu, l) S(mu),        R(l; S) = r(l) + E(l; S) / S(l),

with r the reflectance proper. M1 reads R in D50, M2 in D50 without ultraviolet (ISO 13655, from memory), and
their difference is what the ultraviolet excites. How that changes in another light depends on where within the
range the excitation lies, which the readings do not say: only the least and the most can be told, from what
:class:`Assumed` takes for granted. Every excitation is a mixture, with weights of 0 or more, of bands as narrow as
is taken for granted, and all that is asked for is linear in the weights. So the answers are the points of a convex
polytope (its corners are single bands), and a reading in a third light (M0) cuts a slice of it: a linear
programme with two constraints, solved by its corners.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from screenproof.errors import bad
from screenproof.spectra._arrays import Array, frozen
from screenproof.spectra.light import Light, light, planck

CUT_NM, CLEAR_NM = 400.0, 420.0
"""M2 lets nothing through below the first and everything above the second; what is between differs by make."""

_PLANCKIAN = {"A": (2848.0, 1.435e-2)}


@dataclass(frozen=True)
class Assumed:
    """What is taken for granted, so that a bound can be given.

    low_nm, high_nm: all excitation lies in this range [nm]. Brighteners of paper and board are excited from about
        300 to 420 nm, most at 350 to 380: common practice, no source. width_nm: it is no narrower than a band of
        this width (a molecule in a solid takes in a band of some 60 nm, never a line).
    near: the largest share of the excitation in D50 that lies above 400 nm. M2's cut lets a part of that through,
        any part. A bell around 370 nm with a standard deviation of 22 nm has 0.16, one around 380 nm 0.25.
    m1_uv: how far the instrument's ultraviolet may be from that of D50, relative to its visible light. ISO 3664
        allows an ultraviolet metamerism index of 1.5 (from memory), about this part of what a strong one does.
    m0_uv: the same for M0 and illuminant A. The standard leaves M0's ultraviolet open: set it wide, or narrow
        when the lamp is known.
    noise: how far a difference of two readings may be off by chance, in reflectance factor.

    Raises InputError for values outside their range.
    """

    low_nm: float = 300.0
    high_nm: float = 420.0
    width_nm: float = 20.0
    near: float = 0.3
    m1_uv: float = 0.15
    m0_uv: float = 0.3
    noise: float = 0.003

    def __post_init__(self) -> None:
        if not 300.0 <= self.low_nm < CUT_NM <= self.high_nm <= 460.0:
            raise bad(
                f"an excitation from {self.low_nm:g} to {self.high_nm:g} nm",
                field="excitation",
                expected=f"a range within 300 to 460 nm that reaches across {CUT_NM:g} nm, such as 300,420",
                mend="below 300 nm D50 has no power; what visible light excites cannot be told from M1 and M2",
            )
        if not 1.0 <= self.width_nm <= self.high_nm - self.low_nm:
            raise bad(
                f"an excitation {self.width_nm:g} nm wide",
                field="width",
                expected=f"1 nm or more, and no more than the range of {self.high_nm - self.low_nm:g} nm",
            )
        for field, value in (("near", self.near), ("m1_uv", self.m1_uv), ("m0_uv", self.m0_uv)):
            if not 0.0 <= value <= 0.6:
                raise bad(f"{value:g}", field=field, expected="a share from 0 to 0.6")
        if not 0.0 <= self.noise <= 0.05:
            raise bad(f"{self.noise:g}", field="noise", expected="a reflectance factor from 0 to 0.05")

    @property
    def wavelengths(self) -> Array:
        """The wavelengths (m,) of the excitation, by 1 nm."""
        return np.arange(np.ceil(self.low_nm), np.floor(self.high_nm) + 1.0)


def _by_formula(one: Light) -> bool:
    """Whether a light is the standard one of its name that a formula gives at every wavelength."""
    if one.name not in _PLANCKIAN and one.name != "E" and not (one.name[:1] == "P" and one.name[-1:] == "K"):
        return False
    standard = light(one.name)
    return standard.grid == one.grid and np.array_equal(standard.power, one.power)


def uv_unknown(one: Light, assumed: Assumed, without_uv: bool = False) -> str:
    """Why a light's power in the range of excitation is not known; empty when it is.

    without_uv: it is stated that the light has no power below the first wavelength of its spectrum.
    """
    start = one.grid.start
    if _by_formula(one) or start <= assumed.low_nm:
        return ""
    if without_uv and start <= CUT_NM:
        return ""
    if without_uv:
        return (
            f"{one.name} is known from {start:g} nm only: even without ultraviolet, its power from {CUT_NM:g} to "
            f"{start:g} nm excites brighteners and is not known"
        )
    return (
        f"{one.name} is known from {start:g} nm only: its ultraviolet, which excites brighteners, is not known "
        f"(measure it from {assumed.low_nm:g} nm, or state that it has none)"
    )


def uv_power(one: Light, wavelengths: Array, without_uv: bool = False) -> Array:
    """Relative power of a light at ``wavelengths`` (m,) in nm, on the scale of its visible part.

    A and the Planck radiators continue by their formula; what is stated to have no ultraviolet has none below the
    first wavelength of its spectrum. Ask :func:`uv_unknown` first.
    """
    if one.name in _PLANCKIAN and _by_formula(one):
        kelvin, c2 = _PLANCKIAN[one.name]
        return planck(wavelengths, kelvin, c2)
    if one.name.startswith("P") and _by_formula(one):
        return planck(wavelengths, float(one.name[1:-1]))
    power = one.at(wavelengths)
    return np.where(wavelengths < one.grid.start - 1e-9, 0.0, power) if without_uv else power


@dataclass(frozen=True, eq=False)
class EmissionRange:
    """What the emission that M1 - M2 shows may become: the corners (v, 3) of a polytope and its edges (e, 2).

    The columns, for each part of M1 - M2 (all in units of the power at the band, D50's visible light as it is):
    ``seen in A``: the emission in illuminant A (M0); ``here``: the emission in the light asked for; ``left``: what
    M2 still had of the emission in D50. R(S) = M2 + (M1 - M2) (here S_D50 / S - left).
    """

    corners: Array
    edges: np.ndarray

    def candidates(self, ratio: float | None = None, low: float = 0.0, high: float = 0.0) -> Array:
        """Points (c, 2), ``here`` and ``left``, whose hull is what is possible.

        ratio: power of D50 over that of A at the band; then only what M0 allows: (M0 - M2) / (M1 - M2), which is
        ``seen in A`` times ratio less ``left``, lies between ``low`` and ``high``. Empty when nothing does.
        """
        if ratio is None:
            return self.corners[:, 1:]
        seen = self.corners[:, 0] * ratio - self.corners[:, 2]
        inside = [self.corners[(seen >= low) & (seen <= high), 1:]]
        first, second = self.edges.T
        for plane in (low, high):
            # The corners of a slice are the corners of the body within it and the edges where the planes cut them.
            gap = seen[second] - seen[first]
            crossed = (seen[first] - plane) * (seen[second] - plane) < 0
            part = (plane - seen[first][crossed]) / gap[crossed]
            start, end = self.corners[first[crossed]], self.corners[second[crossed]]
            inside.append((start + part[:, None] * (end - start))[:, 1:])
        return np.concatenate(inside)


def emission_range(
    one: Light, assumed: Assumed | None = None, *, without_uv: bool = False, incandescent: bool = False
) -> EmissionRange:
    """The range of what M1 - M2 may become in a light.

    incandescent: with the column ``seen in A``, for a slice by M0; else it is 0 and the polytope is flat.
    Raises InputError when the light's ultraviolet is not known (:func:`uv_unknown`).
    """
    assumed = assumed or Assumed()
    reason = uv_unknown(one, assumed, without_uv)
    if reason:
        raise bad(reason, field=f"light {one.name!r}")
    nm = assumed.wavelengths
    day, lamp, here = light("D50").at(nm), uv_power(light("A"), nm), uv_power(one, nm, without_uv)
    width = round(assumed.width_nm)
    below, above = nm < CUT_NM, nm >= CUT_NM
    ultraviolet = _bands(nm, width, below, day, lamp, here, incandescent)
    violet = _bands(nm, width, above, day, lamp, here, incandescent)

    # Columns: M1 - M2, seen in A, here, left. All is linear in how the excitation is made up: the extremes are at
    # the ends of every slack: the instruments' ultraviolet, what M2 lets through, the share near its cut.
    m1 = (1.0 - assumed.m1_uv, 1.0 + assumed.m1_uv)
    m0 = (1.0 - assumed.m0_uv, 1.0 + assumed.m0_uv) if incandescent else (0.0,)
    far = np.array([[a, k[0] * b, k[1], 0.0] for k in ultraviolet for a in m1 for b in m0])
    share = assumed.near / (1.0 - assumed.near)
    near = np.array([[a - t, k[0] * b, k[1], t] for k in violet for a in m1 for b in m0 for t in (0.0, 1.0)])
    rays = [far]
    if share > 0 and near.size:
        rays.append((far[:, None, :] + share * near[None, :, :]).reshape(-1, 4))
    every = np.concatenate(rays)
    points = every[:, 1:] / every[:, :1]
    if not incandescent:
        corners = points[_outline(points[:, 1:])]
        return EmissionRange(frozen(corners), np.empty((0, 2), dtype=np.intp))
    corners, edges = _hull(points)
    return EmissionRange(frozen(corners), edges)


def _bands(
    nm: Array, width: int, within: np.ndarray, day: Array, lamp: Array, here: Array, incandescent: bool
) -> Array:
    """Emission (b, 2) in A and in the light, for one in D50, by every band of excitation on a side of the cut."""
    found = []
    for start in range(nm.size - width + 1):
        part = np.zeros(nm.size)
        part[start : start + width] = 1.0
        part *= within
        total = part @ day
        if total > 0:
            found.append((part @ lamp / total, part @ here / total))
    curve = np.array(found).reshape(-1, 2)
    if not curve.size:
        return curve
    if not incandescent:
        return curve[[np.argmin(curve[:, 1]), np.argmax(curve[:, 1])]]
    return np.asarray(curve[_outline(curve)])


def _outline(points: Array) -> np.ndarray:
    """Which of points (m, 2) are the corners of their convex hull: Andrew's monotone chain."""
    order = np.lexsort((points[:, 1], points[:, 0]))
    kept: list[int] = []
    for run in (order, order[::-1]):
        chain: list[int] = []
        for i in run:
            while len(chain) >= 2:
                u, v = points[chain[-1]] - points[chain[-2]], points[i] - points[chain[-2]]
                if u[0] * v[1] - u[1] * v[0] > 1e-15:
                    break
                chain.pop()
            chain.append(int(i))
        kept += chain
    return np.unique(kept)


def _hull(points: Array) -> tuple[Array, np.ndarray]:
    """Corners (v, 3) and edges (e, 2) of the convex hull of points (m, 3)."""
    from scipy.spatial import ConvexHull, QhullError

    points = np.unique(points.round(12), axis=0)
    for options in ("Qt", "QJ"):
        # Without slacks the body is flat, which only a joggled hull takes; the joggle is far below any reading.
        try:
            hull = ConvexHull(points, qhull_options=options)
        except QhullError:
            continue
        corners, sides = hull.vertices, hull.simplices
        pairs = np.sort(np.concatenate([sides[:, [0, 1]], sides[:, [1, 2]], sides[:, [0, 2]]]), axis=1)
        place = np.zeros(len(points), dtype=np.intp)
        place[corners] = np.arange(corners.size)
        return np.asarray(points[corners]), place[np.unique(pairs, axis=0)]
    # A few points: every pair stands for an edge, which adds nothing outside.
    first, second = np.triu_indices(len(points), 1)
    return points, np.stack([first, second], axis=1)
