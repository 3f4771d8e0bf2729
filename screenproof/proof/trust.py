"""How far one observer's figures are to be trusted on a screen, and what the CIE 2015 functions would change.

Three signs are looked for.

Narrow primaries. The wider a primary, the more of what differs from eye to eye averages out over it. Three equal
Gaussians at 455, 535 and 620 nm that show the 24 patches of ISO 17321-1 under D50, beside the patches, to 300
people of 20 to 80 years: half of what they see is more than 0.6, 0.8, 1.1, 1.9 and 2.3 CIEDE2000 when the peaks
are 60, 50, 40, 20 and 2 nm wide at half their height. So a primary counts as narrow below 45 nm, where that median
passes 1. One narrow primary among wide ones does less, and a red of europium's lines beside broad green and blue
phosphors least: a screen counts as narrow when two of its primaries do.

Screens of unlike technology. Of each primary, scaled to the same power, the part that two screens have in common
is the sum of the lesser of both spectra. Two equal peaks have 60 % in common when they stand not quite half their
width apart; below that the screens are of unlike technology. Equal figures are then no equal colours: it is told
how far two whites are apart for the CIE 2015 functions that are equal for the viewing observer.

What the CIE 2015 functions say of the job's own samples: more than 1 CIEDE2000, in the median, between the samples
and their matches is a sign of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

import numpy as np

from screenproof.additive import Display, EmissionModel
from screenproof.additive.curves import CHANNELS
from screenproof.appearance import de2000, xyz_to_lab
from screenproof.proof.crowd import crowd
from screenproof.proof.eye_records import TrustRecord
from screenproof.proof.eyes import Whites
from screenproof.proof.match import Match
from screenproof.proof.viewing import Viewing
from screenproof.spectra import VISIBLE, Array, Observer, Population, Samples, emission_xyz, observer

NARROW_NM = 45.0
"""Full width at half height below which a primary counts as narrow."""

NARROW_PRIMARIES = 2
"""How many of a screen's primaries are narrow when the screen is called so."""

COMMON = 0.6
"""The part of a primary's light in common with another screen's, below which they are of unlike technology."""

NOTICEABLE = 1.0
"""CIEDE2000: what the CIE 2015 functions change, in the median, from which on it is a reason of its own. About
what is just seen at a seam (common practice, no source)."""

_WIDEST_SMALL_FIELD = 4.0  # degrees, up to which CIE 15:2018 recommends the 1931 observer


def primary_spectra(display: Display) -> Array:
    """Spectra (3, 471) of a spectral display's primaries above the black, 360 to 830 nm by 1 nm, none below 0.

    Raises InputError for a display without spectra.
    """
    grid = display.spectral_grid
    spectra = cast(EmissionModel, display.model).spectrum(np.vstack([np.eye(3), np.zeros(3)]))
    above = np.maximum(spectra[:3] - spectra[3], 0.0)
    return np.stack([np.interp(VISIBLE.wavelengths, grid.wavelengths, row, left=0, right=0) for row in above])


def widths(spectra: Array) -> Array:
    """Widths (k,) in nm at half of the height of spectra (k, 471) by 1 nm: all parts above the half together."""
    return np.asarray((spectra >= spectra.max(axis=1, keepdims=True) / 2.0).sum(axis=1), dtype=np.float64)


def common_light(first: Array, second: Array) -> Array:
    """The part 0..1 (k,) of the light of spectra (k, 471) that is in common when each has the same power."""
    shares = (spectra / spectra.sum(axis=1, keepdims=True) for spectra in (first, second))
    return np.asarray(np.minimum(*shares).sum(axis=1))


def like_field(who: Observer) -> Observer:
    """The CIE 2015 functions for the field of an observer: 2 degrees up to a field of 4, else 10."""
    return observer("cie2015-2" if (who.field or 2.0) <= _WIDEST_SMALL_FIELD else "cie2015-10")


def trust(
    shown: Sequence[tuple[Display, Sequence[tuple[Samples, Match] | tuple[Samples, Match, Viewing]]]],
    viewing: Viewing,
    *,
    whites: Whites = "shared",
) -> tuple[TrustRecord, ...]:
    """How far the viewing observer is to be trusted on each display of a job that has spectra.

    shown: the displays, each with the job's samples (one or more sets) and their match on it; a set that was
    matched in a viewing of its own (its own stock as white) brings that too. whites: see
    :func:`~screenproof.proof.crowd.crowd`. Displays without spectra are left out: it cannot be said of them.
    ``median``, ``largest``, ``sample`` are None when no sample has a curve, or when the viewing observer has these
    functions already.
    """
    spectral = [(display, sets) for display, sets in shown if display.spectral]
    spectra = {i: primary_spectra(display) for i, (display, _) in enumerate(spectral)}
    modern = like_field(viewing.observer)
    records = []
    for i, (display, sets) in enumerate(spectral):
        changes = [] if modern.name == viewing.observer.name else _changes(display, sets, viewing, modern, whites)
        figures = np.array([change for change, _ in changes])
        reasons = _narrow(spectra[i])
        for j, (other, _) in enumerate(spectral):
            if j != i:
                reasons += _unlike(display, spectra[i], other, spectra[j], viewing.observer, modern)
        if changes and np.median(figures) > NOTICEABLE:
            reasons.append(
                f"the CIE 2015 functions find its matches {np.median(figures):.1f} CIEDE2000 off, in the median"
            )
        worst = changes[int(figures.argmax())] if changes else None
        records.append(
            TrustRecord(
                display=display.name,
                trusted=not reasons,
                reasons=tuple(reasons),
                observer=modern.name,
                median=float(np.median(figures)) if changes else None,
                largest=worst[0] if worst else None,
                sample=worst[1] if worst else None,
            )
        )
    return tuple(records)


def _changes(
    display: Display,
    sets: Sequence[tuple[Samples, Match] | tuple[Samples, Match, Viewing]],
    viewing: Viewing,
    modern: Observer,
    whites: Whites,
) -> list[tuple[float, str]]:
    """CIEDE2000 and name of each sample with a curve, beside its match, for the CIE 2015 functions."""
    alone = Population((modern.name,), np.array([32.0]), modern.field or 2.0, 0, modern.at_1nm[None], modern.label)
    found: list[tuple[float, str]] = []
    for samples, matched, *own in sets:
        seen = crowd(samples, matched, display, own[0] if own else viewing, alone, whites=whites)
        if seen.refused is None:
            found += zip(map(float, seen.figures[:, 0]), samples.names, strict=True)
    return found


def _narrow(spectra: Array) -> list[str]:
    wide = widths(spectra)
    if (wide < NARROW_NM).sum() < NARROW_PRIMARIES:
        return []
    told = ", ".join(f"{name} {width:.0f}" for name, width in zip(CHANNELS, wide, strict=True))
    return [
        f"its primaries are narrow ({told} nm wide at half their height): people differ most on such screens, and "
        f"no one observer's figures hold for all of them"
    ]


def _unlike(
    display: Display, spectra: Array, other: Display, others: Array, who: Observer, modern: Observer
) -> list[str]:
    common = common_light(spectra, others)
    least = int(common.argmin())
    if common[least] >= COMMON:
        return []
    text = (
        f"it is of a technology unlike that of {other.label} (its {CHANNELS[least]} primary has "
        f"{100.0 * common[least]:.0f} % of its light in common with the other's)"
    )
    apart = white_difference(spectra, others, who, modern)
    if apart is not None and who.name != modern.name:
        text += (
            f": of two whites that are equal for observer {who.name}, the CIE 2015 functions find one "
            f"{apart:.1f} CIEDE2000 off the other"
        )
    return [text]


def white_difference(spectra: Array, others: Array, equal_for: Observer, seen_by: Observer) -> float | None:
    """CIEDE2000 between the whites of two screens that are equal for one observer, as another sees them.

    spectra, others: primaries (3, 471) by 1 nm. The second screen's channels are set so that its white is the
    first's for ``equal_for``; both are seen by an eye adapted to the first. None when they cannot be set so.
    """
    white = spectra.sum(axis=0)
    wanted = emission_xyz(white, VISIBLE, equal_for)[0]
    gains = np.linalg.solve(emission_xyz(others, VISIBLE, equal_for).T, wanted)
    if (gains <= 0).any():
        return None
    pair = emission_xyz(np.stack([white, gains @ others]), VISIBLE, seen_by)
    lab = xyz_to_lab(pair, pair[0])
    return float(de2000(lab[0], lab[1]))
