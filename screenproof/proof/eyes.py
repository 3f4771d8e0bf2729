"""One screen and its objects as each of many people sees them, in one pass.

For the basis 'white' and 'absolute' all that is linear is put into one matrix: from the light of the channels (or
the nodes of a table) of the screen straight to what each person sees of it, as reference XYZ of the viewing light.

Whose white? ``shared``: object and screen are in view at once, and no eye can adapt to both. The two sides stand
to each other as they do for the viewing observer, and who sees a tint between the two whites that the viewing
observer does not see sees it on every colour. ``own``: each person looks at one side after the other, and adapts
wholly to the white of each as that person sees it. This is what the basis says of any one observer, and takes out
of a difference what the whites have in it: most of what people disagree on. The basis 'absolute', a sample held
beside the screen without adaptation, is always shared: the light falls with one and the same power for all people.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal, cast

import numpy as np
from numpy.typing import NDArray

from screenproof.additive import Display, EmissionModel, SpectralModel, SpectralTable
from screenproof.additive.lattice import Lattice
from screenproof.additive.models import TOLERANCE, inside_cube
from screenproof.appearance import (
    CamConditions,
    adaptation_matrix,
    cam16_to_xyz,
    lab_de2000_shift,
    xyz_to_cam16,
    xyz_to_lab,
)
from screenproof.proof.difference import figure
from screenproof.proof.result import Refusal
from screenproof.proof.shift import refuse_colorimetry
from screenproof.proof.tolerance import ToleranceSet
from screenproof.proof.viewing import SURROUNDS, AppearanceBridge, Viewing
from screenproof.spectra import (
    VISIBLE,
    Array,
    Light,
    Population,
    Samples,
    emission_weights_for_curves,
    weights_for_curves,
)

Whites = Literal["own", "shared"]
WHITES: tuple[Whites, ...] = ("shared", "own")

CIEDE2000 = ToleranceSet("CIEDE2000")
"""What figures are in when no tolerance set names another metric."""

_PAIRS_AT_ONCE = 1_000_000


@dataclass(frozen=True, eq=False)
class Beholders:
    """People who look at objects in one light: the white that each sees, and what they see of the objects."""

    people: Population
    viewing: Viewing

    @cached_property
    def white(self) -> Array:
        """XYZ (P, 3) of the perfect diffuser, Y = 100, for each person."""
        return light_white(self.viewing.light, self.people)

    @cached_property
    def conditions(self) -> CamConditions:
        """Those of CAM16-UCS, one for each person."""
        base = self.viewing.conditions()
        return CamConditions(self.white, base.la, base.yb, base.surround)

    def objects(self, samples: Samples) -> Array:
        """XYZ (n, P, 3) of samples with curves under the viewing light."""
        assert samples.reflectance is not None and samples.grid is not None
        table = weights_for_curves(self.viewing.light, self.people.curves, samples.grid)
        flat = samples.reflectance @ table.reshape(samples.grid.count, -1)
        return np.asarray(flat).reshape(len(samples), -1, 3)

    def lab(self, xyz: Array) -> Array:
        """Lab (..., P, 3) of reference XYZ, each relative to the white that the person sees."""
        return xyz_to_lab(xyz, self.white)

    def differences(self, reference: Array, objects: Array, tolerance: ToleranceSet = CIEDE2000) -> Array:
        """Differences (n, ..., P) of reference XYZ (n, ..., P, 3) from that of objects (n, P, 3)."""
        middle = (1,) * (reference.ndim - objects.ndim)
        lab = self.lab(objects).reshape(objects.shape[0], *middle, *objects.shape[1:])
        if tolerance.metric == "de00":  # the same both ways, so that the many may stand in the place of the sample
            factors = {"kl": tolerance.kl, "kc": tolerance.kc, "kh": tolerance.kh}
            return lab_de2000_shift(reference, self.white, np.broadcast_to(lab, reference.shape), **factors)
        return figure(tolerance, self.lab(reference), lab, self.white, self.conditions)


def light_white(light: Light, people: Population) -> Array:
    """XYZ (P, 3) of the perfect diffuser under a light for each person, Y = 100."""
    total = np.einsum("w,pwk->pk", light.at(VISIBLE.wavelengths), people.curves)
    return np.asarray(total * (100.0 / total[:, 1:2]))


def no_crowd(samples: Samples, display: Display, viewing: Viewing, whites: Whites = "shared") -> Refusal | None:
    """Why it cannot be said what people see of the samples on the display; None when it can."""
    missing = refuse_colorimetry(samples)
    if missing is not None:
        return missing
    if not display.spectral:
        return Refusal(
            f"{display.label} is known by its XYZ for observer {display.observer_name} only: what other people "
            f"see on it depends on its spectra, which are not known"
        )
    stock = viewing.object_white
    own = viewing.basis != "absolute" and whites == "own"
    if own and stock is not None and not (isinstance(stock, Samples) and stock.is_spectral):
        return Refusal(
            f"the stock is only known as XYZ under {viewing.light.name} for {viewing.observer.name}: what other "
            f"people see of it depends on its reflectance curve, which was not measured"
        )
    return None


@dataclass(frozen=True, eq=False)
class Onlookers(Beholders):
    """People who look at a spectral display and at objects beside it. Ask :func:`no_crowd` first."""

    display: Display
    whites: Whites = "shared"

    @cached_property
    def _model(self) -> EmissionModel:
        return cast(EmissionModel, self.display.model)

    @cached_property
    def _emission(self) -> tuple[Array, Array]:
        """(f, P, 3) in cd/m2, which :meth:`_mixed` makes into XYZ for a drive, and (P, 3) that is always there."""
        model, people = self._model, self.people
        table = emission_weights_for_curves(people.curves, model.grid)
        always = np.zeros((len(people), 3))
        if self.display.room is not None:
            falling = self.display.room.spectrum(VISIBLE)
            always += np.tensordot(falling, emission_weights_for_curves(people.curves, VISIBLE), axes=(0, 0))
        if isinstance(model, SpectralModel):
            always += np.tensordot(model.black, table, axes=(0, 0))
            table = np.tensordot(model.primaries, table, axes=(1, 0))
        elif isinstance(model, SpectralTable):
            table = np.tensordot(model.values.reshape(-1, model.grid.count), table, axes=(1, 0))
        return table, always

    @cached_property
    def _lattice(self) -> Lattice | None:
        model = self._model
        return Lattice(model.axes, model.interpolation) if isinstance(model, SpectralTable) else None

    def _mixed(self, table: Array, drive: Array) -> Array:
        """What (m, P, 3) a table (f, P, 3) comes to for drives (m, 3).

        Its rows are the primaries, the nodes of a table, or the wavelengths of any other model's spectrum.
        """
        flat, model = table.reshape(table.shape[0], -1), self._model
        if isinstance(model, SpectralModel):
            mixed = model.curves.forward(drive) @ flat
        elif self._lattice is not None:
            mixed = self._lattice.read(flat, drive)
        else:
            mixed = model.spectrum(drive) @ flat
        return np.asarray(mixed).reshape(-1, *table.shape[1:])

    def _xyz_cd(self, drive: Array) -> Array:
        table, always = self._emission
        return np.asarray(self._mixed(table, drive) + always)

    @cached_property
    def screen_white(self) -> Array:
        """XYZ (P, 3) in cd/m2 of the full white, black and room light included."""
        return np.asarray(self._xyz_cd(np.ones((1, 3)))[0])

    @cached_property
    def _stock(self) -> Array:
        """XYZ (P, 3) of the object's white for each person."""
        stock = self.viewing.object_white
        if stock is None:
            return self.white
        assert isinstance(stock, Samples)
        return np.asarray(self.objects(stock)[0])

    @cached_property
    def _power(self) -> Array:
        """(P,) from a person's own luminance to the viewing observer's, in the viewing light."""
        light = self.viewing.light.at(VISIBLE.wavelengths)
        theirs = self.people.curves[:, :, 1] @ light
        return np.asarray((light @ self.viewing.observer.at_1nm[:, 1]) / theirs)

    @cached_property
    def shared(self) -> bool:
        """Whether the two sides stand to each other as they do for the viewing observer."""
        return self.whites == "shared" or self.viewing.basis == "absolute"

    @cached_property
    def _matrix(self) -> Array | None:
        """(P, 3, 3) from XYZ in cd/m2 to reference XYZ; None for the basis 'appearance'."""
        viewing = self.viewing
        if viewing.basis == "appearance":
            return None
        if self.shared:
            bridge = viewing.bridge(self.display.seen_by(viewing.observer))
            return (
                np.stack([bridge.to_reference(axis) for axis in np.eye(3)], axis=-1) * self._power[:, None, None]
            )
        forth = adaptation_matrix(self._stock, self.screen_white, viewing.adaptation, viewing.degree)
        return np.asarray(np.linalg.inv(forth), dtype=np.float64)

    @cached_property
    def _straight(self) -> tuple[Array, Array] | None:
        """As :attr:`_emission`, but straight to the reference XYZ of each person."""
        if self._matrix is None:
            return None
        table, always = self._emission
        return np.einsum("pij,fpj->fpi", self._matrix, table), np.einsum("pij,pj->pi", self._matrix, always)

    @cached_property
    def _sides(self) -> tuple[CamConditions, CamConditions, Array, Array]:
        """For 'appearance': the screen's and the object's side, and the scales (P, 1) of each to Y = 100."""
        viewing, count = self.viewing, len(self.people)
        base = viewing.conditions()
        around = SURROUNDS[viewing.display_surround or viewing.surround]
        if self.shared:
            bridge = cast(AppearanceBridge, viewing.bridge(self.display.seen_by(viewing.observer)))
            scale = bridge.display_scale * self._power[:, None]
            return bridge.display_side, bridge.object_side, scale, np.full((count, 1), bridge.object_scale)
        scale, own = 100.0 / self.screen_white[:, 1:2], 100.0 / self._stock[:, 1:2]
        level = self.screen_white[:, 1] * (viewing.yb / 100.0)
        la = level if viewing.display_la is None else np.full(count, viewing.display_la)
        here = CamConditions(self.screen_white * scale, la, viewing.yb, around)
        return here, CamConditions(self._stock * own, base.la, base.yb, base.surround), scale, own

    def screen(self, drive: Array) -> Array:
        """Reference XYZ (m, P, 3) of what each person sees on the screen for drives (m, 3)."""
        if self._straight is not None:
            table, always = self._straight
            return np.asarray(self._mixed(table, drive) + always)
        here, home, scale, own = self._sides
        cam = xyz_to_cam16(self._xyz_cd(drive) * scale, here)
        return np.asarray(cam16_to_xyz(cam.J, cam.C, cam.h, home) / own)

    def wanted(self, objects: Array) -> Array:
        """XYZ (n, P, 3) in cd/m2 that the screen would have to show each person for objects (n, P, 3)."""
        if self._matrix is not None:
            return np.asarray(np.einsum("pij,npj->npi", np.linalg.inv(self._matrix), objects))
        here, home, scale, own = self._sides
        cam = xyz_to_cam16(objects * own, home)
        return np.asarray(cam16_to_xyz(cam.J, cam.C, cam.h, here) / scale)

    def shows(self, objects: Array) -> NDArray[np.bool_]:
        """Whether (n, P) the display can show each person the colour of objects (n, P, 3)."""
        wanted, model = self.wanted(objects), self._model
        if isinstance(model, SpectralModel):
            table, always = self._emission
            linear = np.einsum("pif,npi->npf", np.linalg.inv(np.moveaxis(table, 1, 0)), wanted - always)
            _, inside = inside_cube(model.curves.inverse(linear), model.curves.within(linear, TOLERANCE))
            return inside
        views = [self.display.seen_by(person) for person in self.people.observers]
        return np.stack([view.to_drive(wanted[:, p])[1] for p, view in enumerate(views)], axis=1)

    def figures(self, drive: Array, objects: Array, tolerance: ToleranceSet = CIEDE2000) -> Array:
        """Differences (n, P) or (n, K, P) of objects (n, P, 3) from the screen at drives (n, 3) or (n, K, 3)."""
        shape = drive.shape[:-1]
        found = np.empty((*shape, len(self.people)))
        rows = max(1, _PAIRS_AT_ONCE // max(1, found[0].size)) if len(found) else 1
        for first in range(0, len(drive), rows):
            part = slice(first, first + rows)
            shown = self.screen(drive[part].reshape(-1, 3)).reshape(*drive[part].shape[:-1], -1, 3)
            found[part] = self.differences(shown, objects[part], tolerance)
        return found
