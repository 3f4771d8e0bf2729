"""Samples with brightener in other lights: what can be told from readings with and without ultraviolet.

M1 reads a sample in D50, M2 without ultraviolet, M0 in a lamp like illuminant A (ISO 13655, from memory). The
emission that M1 - M2 shows becomes more or less in another light. :mod:`screenproof.spectra.brightener` says what
it may become at one band, :mod:`screenproof.proof.brightener_body` which colours the bands give together; here
are the least and the greatest CIEDE2000 of these from the sample's colour as M1 read it, in figures and in words.

Taken for granted besides what :class:`~screenproof.spectra.brightener.Assumed` says: no emission below 400 nm;
emission that rises from 400 to 420 nm, where M2 has little light to read by and is not used; readings without
doubt (their own doubt comes on top).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from screenproof.appearance import de2000, difference_words, xyz_to_lab
from screenproof.errors import Note
from screenproof.proof.brightener_body import Body, Carried, Lit, difference_range
from screenproof.proof.brightener_readings import NOTHING, BrightenerReadings
from screenproof.proof.doubt_records import BrightenerLight, BrightenerRecord
from screenproof.spectra import Array, Light, Observer, Samples, light
from screenproof.spectra.brightener import CLEAR_NM, CUT_NM, Assumed, uv_power, uv_unknown


@dataclass(frozen=True)
class Brightened:
    """A record for each sample of M1 in its order, None for one that M2 does not have; and what is odd."""

    records: tuple[BrightenerRecord | None, ...]
    notes: tuple[Note, ...] = ()


def brightener(
    m1: Samples,
    m2: Samples,
    m0: Samples | None,
    lights: Sequence[Light],
    observer: Observer,
    viewing: Light,
    *,
    without_uv: Collection[str] = (),
    assumed: Assumed | None = None,
) -> Brightened:
    """What brightener does to samples in each of ``lights``, for an observer adapted to the light ``viewing``.

    m1, m2, m0: readings of the same samples with M1, M2 and (or None) M0; partners have the same name, and the
        same bands where M2 and M0 have any. without_uv: names of lights that are stated to have no power below the
        first wavelength of their spectrum.
    The figure of a light is the CIEDE2000 between the sample's colour as M1 read it (under D50) and its colour in
    that light, both carried by CAT16 to the white of ``viewing``; where it cannot be known, the reason.
    Raises InputError for readings that are no curves, of another measuring condition, on other bands, without a
    common name, or whose M2 lies above M1 where brighteners emit.
    """
    assumed = assumed or Assumed()
    readings = BrightenerReadings.of(m1, m2, m0)
    ready = [
        uv_unknown(one, assumed, one.name in without_uv)
        or Lit(one, readings, observer, viewing, assumed, one.name in without_uv)
        for one in lights
    ]
    home = Carried(light("D50"), observer, viewing)
    records: list[BrightenerRecord | None] = []
    unlike: list[str] = []
    for i in range(len(m1)):
        if not readings.known[i]:
            records.append(None)
            continue
        reference = xyz_to_lab(home.xyz(readings.m1[i], readings), home.white)
        there: list[BrightenerLight] = []
        agrees = True
        for one, made in zip(lights, ready, strict=True):
            if isinstance(made, str):
                there.append(BrightenerLight(one.name, None, None, made))
                continue
            body, fits = made.body(i)
            agrees &= fits
            there.append(_bounded(one, body, reference, home.white, made.carried.xyz(readings.m1[i], readings)))
        if not agrees:
            unlike.append(m1.names[i])
        records.append(_record(readings, i, reference, home, tuple(there)))
    return Brightened(tuple(records), _notes(m1, readings, unlike, lights, without_uv, assumed))


def _bounded(one: Light, body: Body, reference: Array, white: Array, plain: Array) -> BrightenerLight:
    """The figures of one light. plain: XYZ that the M1 curve alone would give there."""
    low, high, points = difference_range(body.support, reference, white)
    alone = float(de2000(reference, xyz_to_lab(plain, white)))
    middle = xyz_to_lab(points.mean(axis=0), white)
    span = f"between {low:.1f} and {high:.1f}" if low >= 0.05 else f"up to {high:.1f}"
    if high < 0.5:
        words = f"stays as it was read, within {high:.1f}"
    else:
        words = f"{span} from its colour as read, {difference_words(reference, middle)}"
    if not low - 0.1 <= alone <= high + 0.1:
        words += f"; the M1 curve alone would say {alone:.1f}, which cannot be"
    elif high - low >= 0.5:
        words += f"; the M1 curve alone would say {alone:.1f}"
    return BrightenerLight(one.name, low, high, "", words)


def _record(
    readings: BrightenerReadings, i: int, reference: Array, home: Carried, lights: tuple[BrightenerLight, ...]
) -> BrightenerRecord:
    clear = np.where(readings.edge, 0.0, readings.emission[i])
    peak = int(np.argmax(clear))
    without = xyz_to_lab(home.xyz(readings.m2[i], readings), home.white)
    apart = float(de2000(reference, without))
    emission = float(clear[peak])
    if emission <= NOTHING:
        words = f"no brightener to speak of: M1 and M2 differ by {emission:.3f} at most"
    else:
        words = (
            f"brightener adds up to {emission:.3f} of reflectance factor (at {readings.nm[peak]:g} nm); with it "
            f"the sample is {difference_words(without, reference)}, by {apart:.1f} CIEDE2000"
        )
    return BrightenerRecord(emission, float(readings.nm[peak]), apart, lights, words)


def _notes(
    m1: Samples,
    readings: BrightenerReadings,
    unlike: Sequence[str],
    lights: Sequence[Light],
    without_uv: Collection[str],
    assumed: Assumed,
) -> tuple[Note, ...]:
    notes = []
    alone = [name for name, known in zip(m1.names, readings.known, strict=True) if not known]
    if alone:
        notes.append(Note("info", f"not read without ultraviolet (M2): {_listed(alone)}", file=m1.source or None))
    if unlike:
        notes.append(
            Note(
                "odd",
                f"M0 does not go with M1 and M2 for {_listed(unlike)}: no excitation from {assumed.low_nm:g} to "
                f"{assumed.high_nm:g} nm gives all three with a lamp within {assumed.m0_uv:.0%} of illuminant A; "
                "M0 is left out where it does not",
                mend="M0's ultraviolet differs by make: state how far the instrument's lamp may be from A",
            )
        )
    notes += [
        Note("assumed", f"no ultraviolet below {one.grid.start:g} nm, as stated", about=one.name)
        for one in lights
        if one.name in without_uv and one.grid.start > assumed.low_nm
    ]
    return (*notes, *uv_cautions(lights))


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names[:5]) + (f" and {len(names) - 5} more" if len(names) > 5 else "")


def uv_cautions(lights: Sequence[Light]) -> tuple[Note, ...]:
    """The caution for lights that are mostly ultraviolet: more of it, for the visible, than blue sky has.

    The share of power from 300 to 400 nm in that from 300 to 700 nm is 0.15 in D75 and 0.25 in equal energy; above
    0.3 a light is taken for a viewing lamp for fluorescence (a choice, no source).
    """
    notes = []
    for one in lights:
        nm = np.arange(max(300.0, np.ceil(one.grid.start)), 701.0)
        power = uv_power(one, nm)
        share = power[nm < CUT_NM].sum() / power.sum() if power.any() else 0.0
        if share > 0.3:
            notes.append(
                Note(
                    "caution",
                    f"{share:.0%} of its power from {nm[0]:g} to 700 nm is ultraviolet: such viewing lamps can "
                    "hurt eyes and skin, and the light that hurts is not seen",
                    about=one.name,
                    mend="shield the lamp, keep to its maker's distances and times and to the local rules for "
                    "optical radiation, and leave its setting up to a qualified person",
                )
            )
    return tuple(notes)


def fluoresces(samples: Samples) -> tuple[bool, ...]:
    """For each sample whether it fluoresces, as far as its file declares it or can be seen in its curve.

    Seen is a reflectance factor above 1.01 from 420 to 500 nm, which no white gives that only reflects.
    """
    if samples.fluorescent or samples.reflectance is None or samples.grid is None:
        return (bool(samples.fluorescent),) * len(samples)
    nm = samples.grid.wavelengths
    blue = (nm >= CLEAR_NM) & (nm <= 500.0)
    if not blue.any():
        return (False,) * len(samples)
    return tuple(bool(above) for above in samples.reflectance[:, blue].max(axis=1) > 1.01)


def unknowable(samples: Samples) -> tuple[Note, ...]:
    """A note when samples fluoresce (:func:`fluoresces`) and were not read without ultraviolet.

    Their figures under a light with another ultraviolet than that of the reading do not hold.
    """
    found = [name for name, bright in zip(samples.names, fluoresces(samples), strict=True) if bright]
    if not found:
        return ()
    who = "samples declared fluorescent" if samples.fluorescent else _listed(found)
    return (
        Note(
            "caution",
            f"{who}: how the colour changes in another light cannot be known from these readings, for brightener "
            "gives more or less with the light's ultraviolet",
            file=samples.source or None,
            mend="read the same samples without ultraviolet (M2) as well, and name those readings",
        ),
    )
