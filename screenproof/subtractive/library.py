"""A library: the pigments, dyes or ink bases of a workshop with their base, kept as one file of JSON.

``mixture`` gives the mixing model for a medium. The file (schema ``screenproof-library/1``) holds what was
fitted, with its doubt, so that letdowns need to be read and fitted once only.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from screenproof.errors import Note, bad
from screenproof.spectra import Grid
from screenproof.subtractive._checks import no_doubles, same_grid
from screenproof.subtractive.layers import Ink
from screenproof.subtractive.letdowns import Letdowns
from screenproof.subtractive.mixing import Mixture, cloth, film, inks, paint
from screenproof.subtractive.pigment_fit import NOISE, fit_pigments, fit_white
from screenproof.subtractive.pigments import LetdownFit, Pigment
from screenproof.subtractive.surface import Surface

SCHEMA = "screenproof-library/1"


@dataclass(frozen=True, eq=False)
class Library:
    """Components of one kind, and what they are mixed into.

    components: pigments, dyes, or inks; base: the white (of pigments), the undyed cloth (of dyes), the extender
    (of inks), or None; surface: the one under which all were measured.

    Raises InputError for an empty library, a name that stands twice, unlike grids, inks beside pigments.
    """

    name: str
    components: tuple[Pigment, ...] | tuple[Ink, ...]
    base: Pigment | Ink | None = None
    surface: Surface = Surface.NONE

    def __post_init__(self) -> None:
        if not self.components:
            raise bad("an empty library", field=f"library {self.name}", expected="at least one pigment or ink")
        together = [*self.components, *([] if self.base is None else [self.base])]
        no_doubles([one.name for one in together], f"library {self.name}")
        same_grid([(one.name, one.grid) for one in together])
        if len({type(one) for one in together}) > 1:
            raise bad(
                "inks and pigments in one library",
                field=f"library {self.name}",
                expected="one kind: a transparent ink is no pigment",
            )

    @property
    def grid(self) -> Grid:
        """The wavelengths of all components."""
        return self.components[0].grid

    @property
    def transparent(self) -> bool:
        """Whether these are inks, which need a stock."""
        return isinstance(self.components[0], Ink)

    @classmethod
    def from_letdowns(
        cls,
        name: str,
        sets: Sequence[Letdowns],
        base: ArrayLike,
        *,
        base_name: str = "white",
        base_cost: float | None = None,
        base_density: float | None = None,
        noise: float = NOISE,
    ) -> Library:
        """Fit all letdowns; base: the reading (w,) of the white, or of the undyed cloth.

        All letdowns have one surface. Raises InputError as :func:`fit_pigments` does.
        """
        if not sets:
            raise bad("no letdowns", field=f"library {name}", expected="the letdowns of at least one pigment")
        first = sets[0]
        for one in sets[1:]:
            if one.surface != first.surface:
                raise bad(
                    f"{one.name} was measured under {one.surface}, {first.name} under {first.surface}",
                    field=f"library {name}",
                    expected="one surface for all",
                )
        white = fit_white(
            base_name, base, first.grid, first.surface, noise=noise, cost=base_cost, density=base_density
        )
        return cls(name, fit_pigments(sets, white, noise=noise), white, first.surface)

    def mixture(
        self, *, stock: ArrayLike | None = None, thickness: float | None = None, film_weight: float = 1.0
    ) -> Mixture:
        """The mixing model for a medium.

        stock: (w,) measured reflectance factor that inks are printed on, or that lies below a film of pigments;
        thickness: of a film of pigments, which are opaque without one; film_weight: of printed inks. Raises
        InputError for inks without a stock, a film without one, or a stock where there is none to see.
        """
        what = f"library {self.name}"
        pigments = [one for one in self.components if isinstance(one, Pigment)]
        if self.transparent:
            if stock is None:
                raise bad("transparent inks without a stock", field=what, expected="the curve of the stock")
            if thickness is not None:
                raise bad("a thickness for inks", field=what, expected="a film weight instead")
            base = self.base if isinstance(self.base, Ink) else None
            bases = [one for one in self.components if isinstance(one, Ink)]
            return inks(bases, stock, base, self.surface, film_weight=film_weight)
        ground = self.base if isinstance(self.base, Pigment) else None
        if film_weight != 1.0:
            raise bad("a film weight for pigments", field=what, expected="a thickness, for a film over a stock")
        if (stock is None) != (thickness is None):
            raise bad(
                "a film needs a stock below it and a thickness",
                field=what,
                expected="both, or neither for an opaque layer",
            )
        if pigments[0].kind == "dye":
            if ground is None:
                raise bad("dyes without their cloth", field=what, expected="the undyed cloth as base")
            if stock is not None:
                raise bad("a stock below a cloth", field=what, expected="none: the cloth is the base")
            return cloth(pigments, ground, self.surface)
        if stock is not None and thickness is not None:
            return film(pigments, stock, thickness, ground, self.surface)
        return paint(pigments, ground, self.surface)

    def to_json(self) -> str:
        """The library as JSON, schema ``screenproof-library/1``."""
        grid = self.grid
        record = {
            "schema": SCHEMA,
            "name": self.name,
            "grid": [grid.start, grid.stop, grid.step],
            "surface": {"k1": self.surface.k1, "k2": self.surface.k2, "specular": self.surface.specular},
            "components": [_record(one) for one in self.components],
            "base": None if self.base is None else _record(self.base),
        }
        return json.dumps(record, indent=1)

    @classmethod
    def from_json(cls, text: str, *, file: str | None = None) -> Library:
        """A library from its JSON. Raises InputError for what is not one."""
        try:
            record = json.loads(text)
        except json.JSONDecodeError as error:
            raise bad(
                f"no JSON: {error.msg}", file=file, line=error.lineno, expected=f"JSON of schema {SCHEMA}"
            ) from None
        found = record.get("schema") if isinstance(record, dict) else None
        if found != SCHEMA:
            raise bad(f"schema {found!r}", file=file, field="schema", expected=SCHEMA)
        try:
            grid = Grid(*(float(value) for value in record["grid"]))
            surface = Surface(**record["surface"])
            components = tuple(_component(one, grid) for one in record["components"])
            base = None if record["base"] is None else _component(record["base"], grid)
            return cls(str(record["name"]), components, base, surface)  # type: ignore[arg-type]
        except KeyError as error:
            raise bad(
                f"{error.args[0]!r} is missing",
                file=file,
                field="library",
                expected=f"a library of schema {SCHEMA}",
            ) from None
        except (TypeError, AttributeError) as error:
            raise bad(
                f"a value of the wrong kind ({error})", file=file, field="library", expected=f"schema {SCHEMA}"
            ) from None


def _record(one: Pigment | Ink) -> dict[str, Any]:
    notes = [{"kind": n.kind, "what": n.what, "about": n.about, "mend": n.mend} for n in one.notes]
    if isinstance(one, Ink):
        return {
            "name": one.name,
            "transmittance": one.transmittance.tolist(),
            "doubtful": one.doubtful.tolist(),
            "spread": one.spread.tolist(),
            "stock": one.stock,
            "cost": one.cost,
            "notes": notes,
        }
    fit = one.fit
    return {
        "name": one.name,
        "kind": one.kind,
        "k": one.k.tolist(),
        "s": one.s.tolist(),
        "cost": one.cost,
        "density": one.density,
        "concentrations": list(one.concentrations),
        "covariance": one.covariance.tolist(),
        "strength_sd": one.strength_sd,
        "fit": None
        if fit is None
        else {name: getattr(fit, name).tolist() for name in ("concentrations", "rms", "de00", "strength")},
        "notes": notes,
    }


def _component(record: Mapping[str, Any], grid: Grid) -> Pigment | Ink:
    notes = tuple(Note(n["kind"], n["what"], about=n["about"], mend=n["mend"]) for n in record["notes"])
    if "transmittance" in record:
        return Ink(
            record["name"],
            grid,
            np.asarray(record["transmittance"], dtype=np.float64),
            np.asarray(record["doubtful"], dtype=bool),
            np.asarray(record["spread"], dtype=np.float64),
            record["stock"],
            record["cost"],
            notes,
        )
    fit = record["fit"]
    parts = ("concentrations", "rms", "de00", "strength")
    low, high = record["concentrations"]
    return Pigment(
        record["name"],
        grid,
        np.asarray(record["k"], dtype=np.float64),
        np.asarray(record["s"], dtype=np.float64),
        record["kind"],
        record["cost"],
        record["density"],
        (float(low), float(high)),
        np.asarray(record["covariance"], dtype=np.float64),
        float(record["strength_sd"]),
        None if fit is None else LetdownFit(*(np.asarray(fit[part], dtype=np.float64) for part in parts)),
        notes,
    )
