"""Interpolation in a three-dimensional table of drives, and the solved inverse of such a table.

A lattice has ascending nodes on each of three axes and values at every combination. It is read by tetrahedra
(each cell in six, along its diagonal of greys, so that greys mix with greys) or trilinearly.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from itertools import permutations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from screenproof.additive.curves import CHANNELS
from screenproof.appearance import xyz_to_lab
from screenproof.errors import bad
from screenproof.spectra import Array

Interpolation = Literal["tetrahedral", "trilinear"]
Index = NDArray[np.intp]
_CHUNK = 20000
_NEAR = 8


@dataclass(frozen=True, eq=False)
class Lattice:
    """Nodes of the three axes, each ascending from 0 to 1.

    Raises InputError for axes that do not.
    """

    axes: tuple[Array, Array, Array]
    interpolation: Interpolation = "tetrahedral"

    def __post_init__(self) -> None:
        for name, axis in zip(CHANNELS, self.axes, strict=True):
            ends = axis.ndim == 1 and axis.size >= 2 and abs(axis[0]) < 1e-12 and abs(axis[-1] - 1) < 1e-12
            if not ends or (np.diff(axis) <= 0).any():
                raise bad(
                    f"the table's {name} steps do not ascend from 0 to 1",
                    field=name,
                    expected="at least the drives 0 and 1, and ascending steps between them",
                    mend="measure every combination of the same steps, with 0 and full drive among them",
                )
        if self.interpolation not in ("tetrahedral", "trilinear"):
            raise bad(
                f"no interpolation is called '{self.interpolation}'",
                field="interpolation",
                expected="'tetrahedral' or 'trilinear'",
            )

    @property
    def shape(self) -> tuple[int, int, int]:
        """Nodes on each axis."""
        return (self.axes[0].size, self.axes[1].size, self.axes[2].size)

    @cached_property
    def strides(self) -> Index:
        """Steps in the flat node list for one step along each axis."""
        return np.array([self.shape[1] * self.shape[2], self.shape[2], 1], dtype=np.intp)

    @cached_property
    def nodes(self) -> Array:
        """Drives (m, 3) of all nodes, in the order of the flat list."""
        return np.stack(np.meshgrid(*self.axes, indexing="ij"), axis=-1).reshape(-1, 3)

    def _cell(self, drive: Array) -> tuple[Index, Array, Array]:
        """First node (n,) of the cell of each drive, place (n, 3) in the cell 0..1, cell widths (n, 3)."""
        held = np.clip(drive, 0.0, 1.0)
        first = np.empty(held.shape, dtype=np.intp)
        place, width = np.empty_like(held), np.empty_like(held)
        for i, axis in enumerate(self.axes):
            cell = np.clip(np.searchsorted(axis, held[:, i], side="right") - 1, 0, axis.size - 2)
            first[:, i] = cell
            width[:, i] = axis[cell + 1] - axis[cell]
            place[:, i] = (held[:, i] - axis[cell]) / width[:, i]
        return first @ self.strides, np.minimum(place, 1.0), width

    def parts(self, drive: Array) -> tuple[Index, Array]:
        """Nodes (n, k) and their shares (n, k) that make up each drive: 4 of a tetrahedron, 8 of a cell."""
        first, place, _ = self._cell(drive)
        if self.interpolation == "tetrahedral":
            order = np.argsort(-place, axis=1, kind="stable")
            ranked = np.take_along_axis(place, order, axis=1)
            steps = np.cumsum(self.strides[order], axis=1)
            index = np.concatenate([first[:, None], first[:, None] + steps], axis=1)
            ends = np.concatenate([np.ones((len(drive), 1)), ranked, np.zeros((len(drive), 1))], axis=1)
            return index, ends[:, :-1] - ends[:, 1:]
        corners = np.array([[r, g, b] for r in (0, 1) for g in (0, 1) for b in (0, 1)], dtype=np.intp)
        share = np.where(corners[None] == 1, place[:, None, :], 1.0 - place[:, None, :]).prod(axis=2)
        return first[:, None] + corners @ self.strides, share

    def read(self, values: Array, drive: Array) -> Array:
        """Values (n, q) at drives (n, 3) from node values (m, q). Drives outside 0..1 are held at the faces."""
        result = np.empty((len(drive), values.shape[1]))
        for start in range(0, len(drive), _CHUNK):
            index, share = self.parts(drive[start : start + _CHUNK])
            total = share[:, 0, None] * values[index[:, 0]]
            for k in range(1, index.shape[1]):
                total += share[:, k, None] * values[index[:, k]]
            result[start : start + _CHUNK] = total
        return result

    def slopes(self, values: Array, drive: Array) -> Array:
        """Derivatives (n, q, 3) of the values by each drive, one-sided where the table bends."""
        first, place, width = self._cell(drive)
        if self.interpolation == "tetrahedral":
            order = np.argsort(-place, axis=1, kind="stable")
            steps = np.cumsum(self.strides[order], axis=1)
            index = np.concatenate([first[:, None], first[:, None] + steps], axis=1)
            rise = np.diff(values[index], axis=1)
            slope = np.empty_like(rise)
            np.put_along_axis(slope, order[:, :, None], rise, axis=1)
        else:
            slope = np.zeros((len(drive), 3, values.shape[1]))
            for axis in range(3):
                others = [i for i in range(3) if i != axis]
                for near in (0, 1):
                    for far in (0, 1):
                        base = first + near * self.strides[others[0]] + far * self.strides[others[1]]
                        weight = np.where(near, place[:, others[0]], 1 - place[:, others[0]]) * np.where(
                            far, place[:, others[1]], 1 - place[:, others[1]]
                        )
                        slope[:, axis] += weight[:, None] * (values[base + self.strides[axis]] - values[base])
        return np.moveaxis(slope / width[:, :, None], 1, 2)

    @cached_property
    def tetrahedra(self) -> Index:
        """Nodes (t, 4) of all tetrahedra: six in each cell, along the diagonal from its first to last node."""
        counts = np.array(self.shape) - 1
        cells = np.stack(np.meshgrid(*[np.arange(n) for n in counts], indexing="ij"), axis=-1).reshape(-1, 3)
        first = cells @ self.strides
        paths = [np.concatenate([[0], np.cumsum(self.strides[list(order)])]) for order in permutations(range(3))]
        nodes: Index = (first[:, None, None] + np.array(paths)[None]).reshape(-1, 4)
        return nodes


class LatticeInverse:
    """Finds the drives of values (n, 3) in a lattice; made once for a table, then used for many colours."""

    def __init__(self, lattice: Lattice, values: Array, white: Array) -> None:
        from scipy.spatial import cKDTree

        self.lattice, self.values, self.white = lattice, values, white
        corners = values[lattice.tetrahedra]
        edges = np.moveaxis(corners[:, 1:] - corners[:, :1], 1, 2)
        volume = np.abs(np.linalg.det(edges))
        sound = volume > 1e-12 * np.abs(edges).max(axis=(1, 2), initial=1e-300) ** 3
        if not sound.any():
            raise bad(
                "the table of readings is flat: no cell of it spans a volume of colours",
                expected="three channels that each change the colour",
                mend="look whether one channel was driven at all",
            )
        self.tetrahedra = lattice.tetrahedra[sound]
        self.origin = corners[sound, 0]
        self.solver = np.linalg.inv(edges[sound])
        self.centres = cKDTree(xyz_to_lab(corners[sound].mean(axis=1), white))
        self.corners = cKDTree(xyz_to_lab(values, white))

    def _contained(self, xyz: Array, near: int) -> tuple[Array, NDArray[np.bool_]]:
        """Drives of the colours that lie in one of the ``near`` tetrahedra whose centres are closest."""
        count = min(near, self.origin.shape[0])
        found = self.centres.query(xyz_to_lab(xyz, self.white), k=count)[1].reshape(len(xyz), count)
        share = np.einsum("nkij,nkj->nki", self.solver[found], xyz[:, None, :] - self.origin[found])
        full = np.concatenate([1.0 - share.sum(axis=2, keepdims=True), share], axis=2)
        least = full.min(axis=2)
        best = least.argmax(axis=1)
        rows = np.arange(len(xyz))
        shares = full[rows, best]
        nodes = self.lattice.nodes[self.tetrahedra[found[rows, best]]]
        drive = np.clip(np.einsum("nk,nkc->nc", shares, nodes), 0.0, 1.0)
        return drive, least[rows, best] >= -1e-9

    def drives(self, xyz: Array) -> tuple[Array, NDArray[np.bool_]]:
        """Drives (n, 3) within 0..1 of values (n, 3), and whether they give them exactly.

        Where nothing in the lattice gives the value, the drive of a near one on CIELAB's scale.
        """
        drive = np.empty_like(xyz)
        inside = np.zeros(len(xyz), dtype=np.bool_)
        for start in range(0, len(xyz), _CHUNK):
            part = slice(start, start + _CHUNK)
            drive[part], inside[part] = self._contained(xyz[part], _NEAR)
        if self.lattice.interpolation == "trilinear":
            inside[:] = False
        for stage in (self._settle, self._search, self._settle, self._nearest):
            rest = np.flatnonzero(~inside)
            if not rest.size:
                break
            drive[rest], inside[rest] = stage(xyz[rest], drive[rest])
        return drive, inside

    def _exact(self, xyz: Array, drive: Array) -> NDArray[np.bool_]:
        error = np.abs(self.lattice.read(self.values, drive) - xyz).max(axis=1)
        return np.asarray(error <= 1e-9 * np.abs(self.white).max())

    def _search(self, xyz: Array, drive: Array) -> tuple[Array, NDArray[np.bool_]]:
        """Look through many more tetrahedra; where none contains the colour, start from the nearest node."""
        found = np.empty_like(drive)
        inside = np.zeros(len(xyz), dtype=np.bool_)
        for start in range(0, len(xyz), _CHUNK // 16):
            part = slice(start, start + _CHUNK // 16)
            found[part], inside[part] = self._contained(xyz[part], 16 * _NEAR)
        near = self.lattice.nodes[self.corners.query(xyz_to_lab(xyz, self.white))[1]]
        start_at = np.where(inside[:, None], found, near)
        return start_at, inside & self._exact(xyz, start_at)

    def _settle(self, xyz: Array, drive: Array) -> tuple[Array, NDArray[np.bool_]]:
        """Newton's steps in the value itself: exact where the colour is inside."""
        drive = self._descend(xyz, drive, lambda values: values / np.abs(self.white).max(), 12)
        return drive, self._exact(xyz, drive)

    def _nearest(self, xyz: Array, drive: Array) -> tuple[Array, NDArray[np.bool_]]:
        """The smallest distance on CIELAB's scale, from where :meth:`_settle` stopped or the nearest node."""

        def scale(values: Array) -> Array:
            return xyz_to_lab(values, self.white)

        node = self.lattice.nodes[self.corners.query(scale(xyz))[1]]
        goal = scale(xyz)
        by_node = self._descend(xyz, node, scale, 30)
        by_start = self._descend(xyz, drive, scale, 30)
        far_node = np.linalg.norm(scale(self.lattice.read(self.values, by_node)) - goal, axis=1)
        far_start = np.linalg.norm(scale(self.lattice.read(self.values, by_start)) - goal, axis=1)
        best = np.where((far_node < far_start)[:, None], by_node, by_start)
        return best, self._exact(xyz, best)

    def _descend(self, xyz: Array, drive: Array, scale: Callable[[Array], Array], rounds: int) -> Array:
        """Damped Gauss-Newton within the cube (Levenberg 1944) on |scale(values) - scale(xyz)|."""
        drive = drive.copy()
        goal = scale(xyz)
        miss = scale(self.lattice.read(self.values, drive)) - goal
        cost = (miss**2).sum(axis=1)
        damping = np.full(len(xyz), 1e-9)
        active = np.flatnonzero(cost > 1e-28 * (goal**2).sum(axis=1))
        for _ in range(rounds):
            if not active.size:
                break
            at, error = drive[active], miss[active]
            slope = self._scaled_slopes(at, scale)
            gradient = np.einsum("nqc,nq->nc", slope, error)
            stuck = ((at <= 0.0) & (gradient > 0)) | ((at >= 1.0) & (gradient < 0))
            slope = np.where(stuck[:, None, :], 0.0, slope)
            normal = np.einsum("nqc,nqd->ncd", slope, slope)
            size = np.trace(normal, axis1=1, axis2=2)[:, None] + 1e-300
            diagonal = np.einsum("ncc->nc", normal)
            diagonal += np.where(stuck, size, damping[active, None] * size + 1e-15 * size)
            step = np.linalg.solve(normal, np.where(stuck, 0.0, gradient)[:, :, None])[:, :, 0]
            trial = np.clip(at - step, 0.0, 1.0)
            missed = scale(self.lattice.read(self.values, trial)) - goal[active]
            new = (missed**2).sum(axis=1)
            better = new < cost[active]
            won = active[better]
            gain = cost[won] - new[better]
            drive[won], miss[won], cost[won] = trial[better], missed[better], new[better]
            damping[won] *= 0.1
            damping[active[~better]] = np.maximum(damping[active[~better]] * 30.0, 1e-6)
            done = np.zeros(active.size, dtype=np.bool_)
            done[better] = gain <= 1e-16 * cost[won]
            done |= damping[active] > 1e6
            done |= cost[active] <= 1e-28 * (goal[active] ** 2).sum(axis=1)
            active = active[~done]
        return drive

    def _scaled_slopes(self, drive: Array, scale: Callable[[Array], Array]) -> Array:
        """Derivatives (n, 3, 3) of scale(values) by drive: the chain rule with differences for the scale."""
        slope = self.lattice.slopes(self.values, drive)
        here = self.lattice.read(self.values, drive)
        base = scale(here)
        result = np.empty_like(slope)
        for c in range(3):
            delta = 1e-6
            result[:, :, c] = (scale(here + delta * slope[:, :, c]) - base) / delta
        return result
