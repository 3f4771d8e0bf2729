"""The situation in which an object and a screen are compared, and the two maps that it gives.

A basis of comparison says how the colours of an object, XYZ with the perfect diffuser at Y = 100 ("reference
XYZ"), and those of a screen, XYZ in cd/m2, are put side by side:

``white``
    Each side relative to its own white. xyz_cd = M(W_object, W_display) xyz with the chromatic adaptation M
    (CAT16 or Bradford, with a degree) from the object's white to the display's, on the display's luminance.
``absolute``
    A sample held beside the screen: the same luminance, no adaptation. xyz_cd = xyz L_d / 100, where
    L_d = E / pi is the luminance of the perfect diffuser under the illuminance E of the light; for another
    observer than the 1931 one, whose luminances these are, that observer's reading of the same light.
``appearance``
    The CIECAM16 J, C and h of the object's side, carried to the display's side: each with its own white,
    adapting luminance, background and surround (CIE 248:2022).

The object's white is that of the perfect diffuser, or that of the object's own stock. Differences are always
in CIELAB relative to the white of the viewing light, the screen's colours brought back by the inverse map:
Lab_screen = Lab(map^-1(xyz_cd); W_light). With the own stock as the object's white it is the stock that is
shown as the display's white, while the Lab keep the light's white: they are then the figures that a press
room reads off its instrument, and a stock of L* 95 shown as the display's white is L* 95 on both sides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike

from screenproof.additive import View
from screenproof.appearance import (
    AVERAGE,
    DARK,
    DIM,
    CamConditions,
    Surround,
    adaptation_matrix,
    cam16_to_xyz,
    xyz_to_cam16,
)
from screenproof.errors import InputError, Note, Problem, bad
from screenproof.spectra import (
    VISIBLE,
    Array,
    Light,
    Observer,
    Samples,
    as_light,
    as_observer,
    observer,
    white_point,
)

Basis = Literal["white", "absolute", "appearance"]
BASES = ("white", "absolute", "appearance")
ADAPTATIONS = ("cat16", "bradford")
SURROUNDS: dict[str, Surround] = {"average": AVERAGE, "dim": DIM, "dark": DARK}

USUAL_ILLUMINANCE = 500.0
"""lx, taken for CIECAM16 where none is known: practical appraisal P2 of ISO 3664:2009."""


class Bridge(Protocol):
    """The two maps of a basis, for one display and one observer. Arrays (..., 3) to the same shape."""

    @property
    def notes(self) -> tuple[Note, ...]:
        """What had to be assumed."""
        ...

    def to_display(self, xyz: Array) -> Array:
        """Reference XYZ (perfect diffuser Y = 100) to XYZ in cd/m2 on the screen."""
        ...

    def to_reference(self, xyz_cd: Array) -> Array:
        """XYZ in cd/m2 on the screen to reference XYZ: the inverse."""
        ...


@dataclass(frozen=True, eq=False)
class LinearBridge:
    """A basis that is one matrix: xyz_cd = matrix @ xyz."""

    matrix: Array
    inverse: Array
    notes: tuple[Note, ...] = ()

    def to_display(self, xyz: Array) -> Array:
        return np.asarray(xyz @ self.matrix.T)

    def to_reference(self, xyz_cd: Array) -> Array:
        return np.asarray(xyz_cd @ self.inverse.T)


@dataclass(frozen=True, eq=False)
class AppearanceBridge:
    """The same CIECAM16 J, C, h on both sides; the scales take each side's own white to Y = 100."""

    object_side: CamConditions
    display_side: CamConditions
    object_scale: float
    display_scale: float
    notes: tuple[Note, ...] = ()

    def to_display(self, xyz: Array) -> Array:
        cam = xyz_to_cam16(xyz * self.object_scale, self.object_side)
        return np.asarray(cam16_to_xyz(cam.J, cam.C, cam.h, self.display_side) / self.display_scale)

    def to_reference(self, xyz_cd: Array) -> Array:
        cam = xyz_to_cam16(xyz_cd * self.display_scale, self.display_side)
        return np.asarray(cam16_to_xyz(cam.J, cam.C, cam.h, self.object_side) / self.object_scale)


@dataclass(frozen=True, eq=False)
class Viewing:
    """A light, an observer, and the basis on which an object and a screen are compared.

    light, observer: under which and for whom the samples are seen, as such or by name.
    basis: 'white', 'absolute' or 'appearance', see above.
    adaptation, degree: the transform of the basis ``white``, 'cat16' or 'bradford', and its degree 0..1.
    object_white: None for the perfect diffuser; or the object's own stock, as XYZ (3,) under this light for
        this observer, or as one spectral sample, from which other lights and observers follow too.
    surround, display_surround: 'average', 'dim' or 'dark'; the display's is the object's unless given.
    la, display_la: adapting luminances in cd/m2; the object's is yb % of E / pi unless given (E = 500 lx
        where the light has none), the display's yb % of its white.
    yb: relative luminance of the background, 20 for a mid grey.

    Raises InputError for an unknown name, a value out of range, and a setting that the basis would not use.
    """

    light: Light
    observer: Observer
    basis: Basis = "white"
    adaptation: str = "cat16"
    degree: float = 1.0
    object_white: Array | Samples | None = None
    surround: str = "average"
    display_surround: str | None = None
    la: float | None = None
    display_la: float | None = None
    yb: float = 20.0

    if TYPE_CHECKING:
        # A name is taken for a light or an observer, and is one no more once the viewing is made.
        def __init__(
            self,
            light: Light | str,
            observer: Observer | str,
            basis: Basis = "white",
            adaptation: str = "cat16",
            degree: float = 1.0,
            object_white: ArrayLike | Samples | None = None,
            surround: str = "average",
            display_surround: str | None = None,
            la: float | None = None,
            display_la: float | None = None,
            yb: float = 20.0,
        ) -> None: ...

    def __post_init__(self) -> None:
        problems: list[Problem] = []
        for name, as_such in (("light", as_light), ("observer", as_observer)):
            try:
                object.__setattr__(self, name, as_such(getattr(self, name)))
            except InputError as error:
                problems += error.problems
        problems += self._mistakes()
        if problems:
            raise InputError(problems)
        if self.object_white is not None and not isinstance(self.object_white, Samples):
            stock = np.array(self.object_white, dtype=np.float64)
            if stock.shape != (3,) or not (np.isfinite(stock).all() and stock[1] > 0):
                raise bad(f"{stock} is no white", field="object_white", expected="XYZ of the stock, Y above 0")
            object.__setattr__(self, "object_white", stock)

    def _mistakes(self) -> list[Problem]:
        found = []

        def fault(field: str, what: str, expected: str, mend: str | None = None) -> None:
            found.append(Problem(what, field=field, expected=expected, mend=mend))

        if self.basis not in BASES:
            fault("basis", f"no basis is called {self.basis!r}", ", ".join(BASES))
        if self.adaptation not in ADAPTATIONS:
            fault("adaptation", f"no adaptation is called {self.adaptation!r}", ", ".join(ADAPTATIONS))
        for field, value in (("surround", self.surround), ("display_surround", self.display_surround)):
            if value is not None and value not in SURROUNDS:
                fault(field, f"no surround is called {value!r}", ", ".join(SURROUNDS))
        if not 0 < self.degree <= 1:
            fault("degree", f"a degree of adaptation of {self.degree:g}", "above 0, up to 1")
        for field, level in (("la", self.la), ("display_la", self.display_la), ("yb", self.yb)):
            if level is not None and not 0 < level < math.inf:
                fault(field, f"{level:g}", "a number above 0")
        if isinstance(self.object_white, Samples) and len(self.object_white) != 1:
            fault("object_white", f"{len(self.object_white)} samples", "the one sample that is the stock")
        only = f"has no effect in the basis {self.basis!r}"
        if self.basis != "white" and (self.adaptation != "cat16" or self.degree != 1.0):
            fault(
                "adaptation",
                f"the adaptation {only}",
                "basis 'white'",
                "leave it out, or set basis = 'white'",
            )
        if self.basis == "absolute" and self.object_white is not None:
            fault("object_white", f"the own stock as white {only}", "no stock as white", "leave it out")
        if self.basis != "appearance" and (self.display_surround, self.display_la) != (None, None):
            fault("display_surround", f"the display's surround or level {only}", "basis 'appearance'")
        return found

    @property
    def white(self) -> Array:
        """XYZ (3,) of the perfect diffuser under the viewing light: the white of every Lab."""
        return white_point(self.light, self.observer)

    def seen_by(self, observer: Observer) -> Viewing:
        """The same situation for another observer.

        Raises InputError when the own stock is only known as XYZ, which belongs to one observer.
        """
        if observer.name == self.observer.name:
            return self
        self._refuse_other_stock(self.light, observer)
        return replace(self, observer=observer)

    def _refuse_other_stock(self, light: Light, observer: Observer) -> None:
        stock = self.object_white
        if stock is None or (light.name, observer.name) == (self.light.name, self.observer.name):
            return
        if not isinstance(stock, Samples) or not stock.is_spectral:
            raise bad(
                f"the stock is only known as XYZ under {self.light.name} for {self.observer.name}, and "
                f"{light.name} for {observer.name} was asked for",
                field="object_white",
                mend="give the stock's reflectance curve, or take the perfect diffuser as white",
            )

    def object_white_under(self, light: Light, observer: Observer) -> Array:
        """XYZ (3,) of the object's white (perfect diffuser Y = 100) in another light for another observer."""
        self._refuse_other_stock(light, observer)
        if self.object_white is None:
            return white_point(light, observer)
        if isinstance(self.object_white, Samples):
            return np.asarray(self.object_white.xyz([light], [observer])[0, 0, 0])
        return self.object_white

    def conditions(self, light: Light | None = None, *, own_stock: bool = False) -> CamConditions:
        """CIECAM16 conditions of the object's side under ``light`` (the viewing light unless given).

        The white is the light's, or with ``own_stock`` the object's white, scaled to Y = 100.
        """
        under = self.light if light is None else light
        white = self.object_white_under(under, self.observer) if own_stock else None
        if white is None:
            white = white_point(under, self.observer)
        la = self.la
        if la is None:
            la = (under.illuminance or USUAL_ILLUMINANCE) / math.pi * self.yb / 100.0
        return CamConditions(white * (100.0 / white[1]), la, self.yb, SURROUNDS[self.surround])

    def bridge(self, view: View) -> Bridge:
        """The maps between reference XYZ and the screen, for a display as this observer sees it.

        Notes of kind 'assumed' tell what was taken where the light's illuminance is not known.
        """
        white = np.asarray(view.white, dtype=np.float64)
        if self.basis == "white":
            own = self.object_white_under(self.light, self.observer)
            method = adapts_by(self.observer, self.adaptation)
            matrix = adaptation_matrix(own, white, method=method, degree=self.degree)
            return LinearBridge(matrix, np.asarray(np.linalg.inv(matrix), dtype=np.float64))
        if self.basis == "absolute":
            notes: tuple[Note, ...] = ()
            if self.light.illuminance is None:
                diffuser = float(white[1])
                notes = (
                    _assumed(
                        self.light,
                        f"the perfect diffuser is taken at {diffuser:.4g} cd/m2, as bright as the display's white",
                    ),
                )
            else:
                diffuser = self.light.illuminance / math.pi * _luminance_for(self.observer, self.light)
            return LinearBridge(np.eye(3) * (diffuser / 100.0), np.eye(3) * (100.0 / diffuser), notes)
        notes = ()
        if self.light.illuminance is None and self.la is None:
            notes = (_assumed(self.light, f"{USUAL_ILLUMINANCE:g} lx are taken (ISO 3664:2009, P2)"),)
        own = self.object_white_under(self.light, self.observer)
        display_la = float(white[1]) * self.yb / 100.0 if self.display_la is None else self.display_la
        surround = SURROUNDS[self.display_surround or self.surround]
        scale = 100.0 / float(white[1])
        display_side = CamConditions(white * scale, display_la, self.yb, surround)
        return AppearanceBridge(self.conditions(own_stock=True), display_side, 100.0 / float(own[1]), scale, notes)

    def carry_matrix(self, light: Light, observer: Observer) -> Array | None:
        """The matrix (3, 3) of :meth:`carry`, or None in the basis ``appearance``, which is not linear."""
        if self.basis == "appearance":
            return None
        if self.basis == "absolute":
            here_lx, there_lx = self.light.illuminance, light.illuminance
            return np.eye(3) * (1.0 if here_lx is None or there_lx is None else there_lx / here_lx)
        here = self.seen_by(observer)
        there_white, own = (here.object_white_under(under, observer) for under in (light, self.light))
        method = adapts_by(observer, self.adaptation)
        return adaptation_matrix(there_white, own, method=method, degree=self.degree)

    def carry(self, xyz: Array, light: Light, observer: Observer) -> Array:
        """The object in another light, (..., 3), as reference XYZ of this viewing light, for ``observer``.

        It is the object's half of a comparison with a screen that stays as it is. ``white``: adapted from the
        object's white in that light to its white in the viewing light. ``absolute``: no adaptation; brighter
        or darker by E / E_viewing where both illuminances are known. ``appearance``: the same J, C, h.
        """
        matrix = self.carry_matrix(light, observer)
        if matrix is not None:
            return np.asarray(xyz @ matrix.T)
        here = self.seen_by(observer)
        there_white, own = (here.object_white_under(under, observer) for under in (light, self.light))
        cam = xyz_to_cam16(xyz * (100.0 / there_white[1]), here.conditions(light, own_stock=True))
        home = here.conditions(own_stock=True)
        return np.asarray(cam16_to_xyz(cam.J, cam.C, cam.h, home) * (own[1] / 100.0))


def adapts_by(observer: Observer, adaptation: str) -> str:
    """The transform by which an observer adapts: an eye by ``adaptation``, a camera by its own channels.

    The cone responses of CAT16 and Bradford are made of X, Y and Z; a camera's signals are none. What it does is
    white balance: a gain for each channel.
    """
    return "xyz" if observer.kind == "camera" else adaptation


def _luminance_for(who: Observer, light: Light) -> float:
    """What an observer makes of 1 cd/m2 of a light: lux are for the 1931 observer, whose y is V of photometry."""
    power = light.at(VISIBLE.wavelengths)
    return float((power @ who.at_1nm[:, 1]) / (power @ observer("cie1931").at_1nm[:, 1]))


def _assumed(light: Light, what: str) -> Note:
    return Note(
        "assumed",
        f"the illuminance of {light.name} is not known: {what}",
        about=f"light {light.name}",
        mend="give the light its illuminance in lx",
    )
