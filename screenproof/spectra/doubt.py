"""What is known of the doubt of readings: how well an instrument repeats, and how well instruments agree.

Two kinds of error are kept apart, because they behave unlike (JCGM 100:2008, 4 and F.1.2):

random
    New in every reading: ``repeatability``, the standard deviation of one reading. The mean of m readings has it
    divided by the root of m. Errors of neighbouring bands go together: the correlation of two bands is
    exp(-|dl| / L), with L = ``correlation_nm``.
fixed
    The same in every reading of one instrument, and unknown: the agreement between instruments. It does not get
    smaller with more readings, and it cancels, wholly or in part, between two readings of one instrument.
    For reflectances it has three shapes: R -> R + s R (scale: the white tile), R -> R + z (zero: the light trap),
    R -> R(l + d) (wavelength). For screens: the luminance and the two chromaticity coordinates.

All figures are standard uncertainties (one standard deviation). They carry to colour differences in
:mod:`screenproof.proof.covariance`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from screenproof.errors import bad, did_you_mean
from screenproof.spectra._arrays import Array, frozen

if TYPE_CHECKING:
    from screenproof.spectra.samples import Samples

CORRELATION_NM = 20.0
"""How far errors of bands reach, where nothing is known: two bands of 10 nm. Common practice, no source."""


def _check(doubt: object, names: Sequence[str]) -> None:
    """Refuse what is no standard deviation; numbers become floats, arrays read-only."""
    for name in names:
        values = np.asarray(getattr(doubt, name), dtype=np.float64)
        if not (np.isfinite(values).all() and (values >= 0.0).all()):
            wrong = values[~(np.isfinite(values) & (values >= 0.0))].flat[0]
            raise bad(f"{wrong:g} is no standard deviation", field=name, expected="a number, 0 or more")
        object.__setattr__(doubt, name, float(values) if values.ndim == 0 else frozen(values))
    given = np.asarray(doubt.readings)  # type: ignore[attr-defined]
    whole = given.astype(np.float64)
    if given.ndim > 1 or not (np.isfinite(whole).all() and (whole >= 1).all() and (whole == np.rint(whole)).all()):
        raise bad(f"{given} readings", field="readings", expected="a whole number, 1 or more, for each sample")
    counts = whole.astype(np.int64)
    counts.setflags(write=False)
    object.__setattr__(doubt, "readings", int(counts) if given.ndim == 0 else counts)


@dataclass(frozen=True, eq=False)
class ReflectanceDoubt:
    """The doubt of readings of reflectance factor.

    repeatability: standard deviation of one reading in reflectance factor (a fraction): one number, one for each
        sample (n,), or one for each sample and band (n, w). correlation_nm: errors of bands a distance dl apart
        correlate as exp(-dl / correlation_nm); 0 for independent bands.
    scale, zero, wavelength_nm: agreement between instruments, as a share of the reading, in reflectance factor,
        and in nm; the same for all readings of one instrument.
    readings: how many each sample is the mean of, one number or (n,).
    instrument: two sets with the same instrument (not '') share the fixed error.
    stated: where this comes from: 'file', 'repeated readings', 'job', 'class'.

    Raises InputError for a value below 0 or no number, fewer than 1 reading, or a wrong shape.
    """

    repeatability: float | Array = 0.0
    correlation_nm: float = CORRELATION_NM
    scale: float = 0.0
    zero: float = 0.0
    wavelength_nm: float = 0.0
    readings: int | NDArray[np.int64] = 1
    instrument: str = ""
    stated: str = "job"

    def __post_init__(self) -> None:
        _check(self, ("repeatability", "correlation_nm", "scale", "zero", "wavelength_nm"))
        if np.ndim(self.repeatability) > 2:
            raise bad("a repeatability of more than two axes", field="repeatability", expected="one for each band")

    def select(self, indices: Sequence[int] | ArrayLike) -> ReflectanceDoubt:
        """The doubt of the samples at ``indices``."""
        return replace(
            self, repeatability=_rows(self.repeatability, indices), readings=_rows(self.readings, indices)
        )

    @property
    def known(self) -> bool:
        """Whether any part of it is above 0."""
        return bool(np.any(np.asarray(self.repeatability) > 0.0) or self.scale or self.zero or self.wavelength_nm)

    def words(self) -> str:
        """The whole in words, with units."""
        said = []
        if np.any(np.asarray(self.repeatability) > 0.0):
            amount = _span(self.repeatability)
            reach = f"over {self.correlation_nm:g} nm" if self.correlation_nm else "not at all"
            said.append(f"one reading repeats within {amount} in reflectance factor (bands go together {reach})")
        parts = [(100 * self.scale, "% of the reading"), (self.zero, "in the dark"), (self.wavelength_nm, "nm")]
        agree = [f"{value:.2g} {unit}" for value, unit in parts if value]
        return _sentence(said, agree, self.readings)


@dataclass(frozen=True, eq=False)
class ColorimetryDoubt:
    """The doubt of readings of which only XYZ or Lab are known.

    repeatability_de: standard deviation of one reading in each of L*, a*, b*, one number or (n,).
    agreement_de: standard uncertainty of the instrument in each of L*, a*, b*, the same for all its readings.
    readings, instrument, stated: as for :class:`ReflectanceDoubt`. Raises InputError likewise.
    """

    repeatability_de: float | Array = 0.0
    agreement_de: float = 0.0
    readings: int | NDArray[np.int64] = 1
    instrument: str = ""
    stated: str = "job"

    def __post_init__(self) -> None:
        _check(self, ("repeatability_de", "agreement_de"))
        if np.ndim(self.repeatability_de) > 1:
            raise bad("a repeatability of more than one axis", field="repeatability_de", expected="one a sample")

    def select(self, indices: Sequence[int] | ArrayLike) -> ColorimetryDoubt:
        """The doubt of the samples at ``indices``."""
        return replace(
            self, repeatability_de=_rows(self.repeatability_de, indices), readings=_rows(self.readings, indices)
        )

    @property
    def known(self) -> bool:
        """Whether any part of it is above 0."""
        return bool(np.any(np.asarray(self.repeatability_de) > 0.0) or self.agreement_de)

    def words(self) -> str:
        """The whole in words, with units."""
        said = []
        if np.any(np.asarray(self.repeatability_de) > 0.0):
            said.append(f"one reading repeats within {_span(self.repeatability_de)} in each of L*, a*, b*")
        agree = [f"{self.agreement_de:.2g} in each of L*, a*, b*"] if self.agreement_de else []
        return _sentence(said, agree, self.readings)


@dataclass(frozen=True, eq=False)
class EmissionDoubt:
    """The doubt of what a screen shows.

    luminance: relative standard deviation of one reading. chromaticity: standard deviation of x and of y.
    luminance_agreement, chromaticity_agreement: the same of the instrument, alike in all its readings.
    model_de: what the display model misses on readings that it was not fitted to, as mean CIEDE2000; its own for
        every colour, and not made smaller by more readings.
    readings: how often each patch was read. instrument, stated: as for :class:`ReflectanceDoubt`.

    Raises InputError for a value below 0 or no number, or fewer than 1 reading.
    """

    luminance: float = 0.0
    chromaticity: float = 0.0
    luminance_agreement: float = 0.0
    chromaticity_agreement: float = 0.0
    model_de: float = 0.0
    readings: int = 1
    instrument: str = ""
    stated: str = "job"

    def __post_init__(self) -> None:
        names = ("luminance", "chromaticity", "luminance_agreement", "chromaticity_agreement", "model_de")
        _check(self, names)
        if any(np.ndim(getattr(self, name)) for name in (*names, "readings")):
            raise bad("more than one value for a screen", field="doubt", expected="one number for each part")

    @property
    def known(self) -> bool:
        """Whether any part of it is above 0."""
        return any((self.luminance, self.chromaticity, self.luminance_agreement, self.chromaticity_agreement,
                    self.model_de))  # fmt: skip

    def words(self) -> str:
        """The whole in words, with units."""
        said = []
        if self.luminance or self.chromaticity:
            parts = [(100 * self.luminance, "% in luminance"), (self.chromaticity, "in x and y")]
            once = " and ".join(f"{value:.2g} {unit}" for value, unit in parts if value)
            said.append(f"one reading repeats within {once}")
        if self.model_de:
            said.append(f"the display's model misses colours it was not made of by {self.model_de:.2g} CIEDE2000")
        parts = [(100 * self.luminance_agreement, "% in luminance"), (self.chromaticity_agreement, "in x and y")]
        agree = [f"{value:.2g} {unit}" for value, unit in parts if value]
        return _sentence(said, agree, self.readings)


SamplesDoubt = ReflectanceDoubt | ColorimetryDoubt


@dataclass(frozen=True)
class InstrumentClass:
    """A class of instruments for objects, in plain words, with what it is taken to know."""

    name: str
    label: str
    reflectance: ReflectanceDoubt
    colorimetry: ColorimetryDoubt


@dataclass(frozen=True)
class EmissionClass:
    """A class of instruments for screens, in plain words, with what it is taken to know."""

    name: str
    label: str
    emission: EmissionDoubt


def _object_class(
    name: str, label: str, repeats: float, scale: float, zero: float, nm: float, lab: tuple[float, float]
) -> InstrumentClass:
    curve = ReflectanceDoubt(repeats, scale=scale, zero=zero, wavelength_nm=nm, stated="class")
    return InstrumentClass(name, label, curve, ColorimetryDoubt(*lab, stated="class"))


INSTRUMENT_CLASSES: dict[str, InstrumentClass] = {
    made.name: made
    for made in (
        _object_class("reference", "a reference instrument, kept and checked daily",
                      0.0002, 0.001, 0.0002, 0.1, (0.02, 0.08)),
        _object_class("laboratory", "a bench instrument of a laboratory",
                      0.0004, 0.002, 0.0004, 0.2, (0.03, 0.15)),
        _object_class("production", "a hand-held instrument of a press room, serviced yearly",
                      0.001, 0.004, 0.0008, 0.3, (0.08, 0.3)),
        _object_class("basic", "a simple hand-held instrument, or one whose service is not known",
                      0.003, 0.01, 0.002, 0.8, (0.2, 0.7)),
    )
}  # fmt: skip
"""Classes of instruments that read objects. The values are common practice, no source: the instrument's own
papers, or repeated readings, are better."""

EMISSION_CLASSES: dict[str, EmissionClass] = {
    made.name: made
    for made in (
        EmissionClass("reference", "a spectroradiometer of a calibration laboratory",
                      EmissionDoubt(0.001, 0.0001, 0.01, 0.0005, stated="class")),
        EmissionClass("laboratory", "a spectroradiometer",
                      EmissionDoubt(0.003, 0.0002, 0.02, 0.001, stated="class")),
        EmissionClass("production", "a hand-held spectral instrument, or filters matched to the display",
                      EmissionDoubt(0.005, 0.0005, 0.04, 0.002, stated="class")),
        EmissionClass("basic", "a filter instrument that was not matched to the display",
                      EmissionDoubt(0.01, 0.001, 0.06, 0.006, stated="class")),
    )
}  # fmt: skip
"""Classes of instruments that read screens. The values are common practice, no source."""


def instrument_class(name: str) -> InstrumentClass:
    """The class of instruments for objects called ``name``; InputError with the near names for another."""
    return INSTRUMENT_CLASSES[_class_name(name, INSTRUMENT_CLASSES, "objects")]


def emission_class(name: str) -> EmissionClass:
    """The class of instruments for screens called ``name``; InputError with the near names for another."""
    return EMISSION_CLASSES[_class_name(name, EMISSION_CLASSES, "screens")]


def doubt_of(samples: Samples) -> SamplesDoubt | None:
    """What is known of the readings of ``samples``: their ``doubt``, else what their ``repeatability`` says.

    None when nothing is known. A repeatability in reflectance factor says nothing about colorimetry.
    """
    if samples.doubt is not None:
        return samples.doubt if samples.doubt.known else None
    if samples.repeatability and samples.is_spectral:
        return ReflectanceDoubt(float(samples.repeatability), stated="file")
    return None


def joined_doubt(parts: Sequence[Samples]) -> SamplesDoubt | None:
    """The doubt of all samples of ``parts`` in one; None when nothing is known of any.

    Repeatability and readings stay each sample's own. Of agreements (and reaches of correlation) that are unlike
    the largest holds for all, and an instrument that is not the same for all has no name any more. What is not
    known of a part counts as 0: its share of the doubt is missing, as it is without joining.
    """
    found = [doubt_of(part) for part in parts]
    known = [doubt for doubt in found if doubt is not None]
    if not known:
        return None
    first = known[0]
    if any(type(doubt) is not type(first) for doubt in known):
        raise bad("doubt of reflectances and of colorimetry in one set", field="doubt", expected="one of the two")
    repeats = "repeatability" if isinstance(first, ReflectanceDoubt) else "repeatability_de"
    values: dict[str, Any] = {}
    for field in fields(first):
        own = [getattr(doubt, field.name) for doubt in known]
        if field.name in (repeats, "readings"):
            fill = 1 if field.name == "readings" else 0.0
            whole = [fill if doubt is None else getattr(doubt, field.name) for doubt in found]
            values[field.name] = _stacked(whole, [len(part) for part in parts])
        elif field.name in ("instrument", "stated"):
            alike = len(set(own)) == 1 and (field.name == "stated" or len(known) == len(found))
            values[field.name] = own[0] if alike else {"instrument": "", "stated": "job"}[field.name]
        else:
            values[field.name] = max(own)
    return replace(first, **values)


def shares_instrument(first: Samples, second: Samples) -> bool:
    """Whether one instrument read both: they name the same one, or name none and come from one file."""
    names = [doubt.instrument if (doubt := doubt_of(side)) is not None else None for side in (first, second)]
    if None in names:
        return False
    if names == ["", ""]:
        return first is second or (bool(first.source) and first.source == second.source)
    return names[0] == names[1]


def _class_name(name: str, classes: dict[str, Any], what: str) -> str:
    key = str(name).strip().lower()
    if key in classes:
        return key
    raise bad(
        f"no class of instruments for {what} is called {name!r}",
        field="instrument",
        expected="one of " + ", ".join(classes),
        mend=did_you_mean(key, classes, 0.5) or "or give repeatability and agreement themselves",
    )


def check_rows(doubt: SamplesDoubt, count: int, bands: int | None) -> None:
    """InputError unless ``doubt`` is of the kind of the samples, and its arrays for ``count`` of ``bands`` (None:
    colorimetry only)."""
    if isinstance(doubt, ReflectanceDoubt) != (bands is not None):
        what = "of reflectances for samples of Lab" if bands is None else "of Lab for samples with curves"
        raise bad(f"doubt {what}", field="doubt", expected="the kind that the samples have")
    name = "repeatability" if isinstance(doubt, ReflectanceDoubt) else "repeatability_de"
    for field, values in ((name, np.asarray(getattr(doubt, name))), ("readings", np.asarray(doubt.readings))):
        wrong = values.ndim >= 1 and values.shape[0] != count or values.ndim == 2 and values.shape[1] != bands
        if wrong:
            size = f"{count} samples" + ("" if bands is None else f" of {bands} bands")
            raise bad(f"{field} of shape {values.shape} for {size}", field=field, expected="one for each")


def _rows(values: Any, indices: Sequence[int] | ArrayLike) -> Any:
    """The rows at ``indices`` of an array; one number for all stays."""
    return values if np.ndim(values) == 0 else values[np.atleast_1d(np.asarray(indices, dtype=np.intp))]


def _stacked(parts: Sequence[Any], counts: Sequence[int]) -> Any:
    """Values of parts, numbers or arrays by sample (and band), as one; a number where all are that number."""
    if all(np.ndim(part) == 0 for part in parts) and len(set(map(float, parts))) == 1:
        return parts[0]
    deep = [np.asarray(part) for part in parts]
    bands = max((part.shape[1] for part in deep if part.ndim == 2), default=None)
    whole = []
    for part, count in zip(deep, counts, strict=True):
        column = part if part.ndim == 2 or bands is None else np.reshape(part, (-1, 1))
        whole.append(np.broadcast_to(column, (count,) if bands is None else (count, bands)))
    return np.concatenate(whole)


def _span(values: float | Array) -> str:
    low, high = float(np.min(values)), float(np.max(values))
    return f"{low:.2g}" if f"{low:.2g}" == f"{high:.2g}" else f"{low:.2g} to {high:.2g}"


def _sentence(said: list[str], agree: list[str], readings: Any) -> str:
    if agree:
        said = [*said, "instruments agree within " + ", ".join(agree)]
    if not said:
        return "nothing is known"
    low, high = int(np.min(readings)), int(np.max(readings))
    many = f"{low}" if low == high else f"{low} to {high}"
    return "; ".join([*said, f"{many} reading{'s' if high > 1 else ''} of each"])
