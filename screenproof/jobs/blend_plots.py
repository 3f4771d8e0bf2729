"""The figure of a blend: its curves, its pattern from near and from afar, and what is left of it by distance."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from screenproof.jobs.blend_words import length_mm
from screenproof.jobs.blends import BlendWords, Scene, answer_of, scene_of
from screenproof.jobs.direct import Answer
from screenproof.questions.writing import check_target, save_figure
from screenproof.report.drawing import DASHES, INK, MARKERS, QUIET, RULE, new_figure, short_name, titled

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from screenproof.spectra import Array

_REPEATS = 4  # periods of the pattern in its picture


def plot_blend(file: str, words: BlendWords, path: Path, *, force: bool = False) -> Answer:
    """Write the figure of a blend, and give its answer."""
    check_target(path, force)
    scene = scene_of(file, words)
    answer = answer_of(file, words, scene)
    distance = None if words.distance is None else length_mm(words.distance, "--distance")
    save_figure(_drawn(scene, answer, distance), path, force)
    return answer


def _drawn(scene: Scene, answer: Answer, distance: float | None) -> Figure:
    panels = [_colours]
    if scene.parts.reflectance is not None:
        panels.insert(0, _curves)
    seen = scene.seen is not None
    count = len(panels) + (2 if seen else 0)
    figure, axes = new_figure(4.6 * count, 4.2, count)
    for draw, one in zip(panels, axes, strict=False):
        draw(one, scene, answer)
    if seen:
        _pictures(axes[-2], scene, distance)
        _by_distance(axes[-1], scene, answer, distance)
    return figure


def _curves(axes: Axes, scene: Scene, answer: Answer) -> None:
    assert scene.parts.grid is not None and scene.parts.reflectance is not None
    nm = scene.parts.grid.wavelengths
    for index, (name, row) in enumerate(zip(scene.parts.names, scene.parts.reflectance, strict=True)):
        label = f"{short_name(name)}, {100 * scene.areas[index]:.1f} %"
        axes.plot(nm, row, color=QUIET, lw=0.9, ls=DASHES[1 + index % (len(DASHES) - 1)], label=label)
    axes.plot(nm, answer["blend"]["reflectance"]["values"], color=INK, lw=1.6, label="blend")
    target = scene.target
    if target is not None and target.reflectance is not None and target.grid is not None:
        label = f"target, {short_name(target.names[0])}"
        every = max(1, target.grid.count // 20)
        nm, row = target.grid.wavelengths[::every], target.reflectance[0, ::every]
        axes.plot(nm, row, "o", color=INK, mfc="none", ms=3, label=label)
    axes.set_ylim(bottom=0.0)
    axes.legend(fontsize=6.5, frameon=False, loc="best")
    titled(axes, "Curves", "wavelength, nm", "reflectance factor")


def _colours(axes: Axes, scene: Scene, answer: Answer) -> None:
    """a* and b* of the parts, the blend and the target."""
    axes.axhline(0.0, color=RULE, lw=0.6)
    axes.axvline(0.0, color=RULE, lw=0.6)
    for index, part in enumerate(answer["parts"]):
        label = f"{short_name(part['name'])}, L* {part['lab'][0]:.0f}"
        axes.plot(*part["lab"][1:], MARKERS[index % len(MARKERS)], color=INK, mfc="none", ms=5, label=label)
    blend = answer["blend"]["lab"]
    axes.plot(*blend[1:], "o", color=INK, ms=6, label=f"blend, L* {blend[0]:.0f}")
    if answer["match"] is not None:
        target = answer["match"]["target_lab"]
        axes.plot(*target[1:], "x", color=INK, ms=8, label=f"target, L* {target[0]:.0f}")
    axes.set_aspect("equal", adjustable="datalim")
    axes.legend(fontsize=6.5, frameon=False, loc="best")
    titled(axes, f"Light {answer['light']}, observer {answer['observer']}", "a*", "b*")


def _srgb(xyz: Array, scene: Scene) -> Array:
    """Colours of a picture (h, w, 3) for the page."""
    from screenproof.proof import Viewing
    from screenproof.proof.sides import page_srgb

    shown = page_srgb(xyz.reshape(-1, 3), Viewing(scene.light, scene.observer))
    return np.asarray(np.clip(shown, 0.0, 1.0).reshape(xyz.shape))


def _tiled(tile: Array, scene: Scene) -> Array:
    """A few periods of a tile (h, w, 3), as a square; a disc is one already."""
    pattern = scene.pattern
    assert pattern is not None
    if pattern.kind == "sectors":
        edge = tile.shape[0] * 3 // 16
        return tile[edge:-edge, edge:-edge]
    side = max(1, round(_REPEATS * pattern.period_mm / pattern.pitch_mm))
    rows, columns = (np.arange(side) % count for count in tile.shape[:2])
    return np.asarray(tile[np.ix_(rows, columns)])


def _pictures(axes: Axes, scene: Scene, distance: float | None) -> None:
    """The pattern as it is, and beside it as it is seen from the distance."""
    assert scene.pattern is not None and scene.seen is not None
    near = _tiled(scene.pattern.image(scene.xyz), scene)
    halves, words = [near], "from very near"
    if distance is not None:
        halves.append(_tiled(scene.seen.blurred(distance), scene))
        words += f", and as seen from {distance / 1000:.3g} m"
    # The gap has the mean colour: it is what both sides average to.
    gap = np.broadcast_to(scene.seen.mean_xyz, (near.shape[0], max(1, near.shape[1] // 12), 3))
    row = halves[0] if len(halves) == 1 else np.concatenate([halves[0], gap, halves[1]], axis=1)
    axes.imshow(_srgb(row, scene), interpolation="nearest")
    axes.set_xticks([])
    axes.set_yticks([])
    axes.spines[:].set_visible(False)
    titled(axes, f"{scene.pattern.kind.capitalize()}\n{words}", "sRGB; the gap has the mean colour", "")


def _by_distance(axes: Axes, scene: Scene, answer: Answer, distance: float | None) -> None:
    """CIEDE2000 from the mean colour over the distance, with the distances from which it fuses."""
    assert scene.seen is not None and scene.pattern is not None
    fusion = answer["fusion"]
    ends = fusion["feature_mm"] / 300.0, fusion["feature_mm"] * 2.0
    at = np.geomspace(*ends, 40)
    figures = np.array([scene.seen.at(one).de00 for one in at])
    axes.plot(at / 1000.0, figures[:, 0], color=INK, lw=1.2, label="mean")
    axes.plot(at / 1000.0, figures[:, 1], color=INK, lw=1.0, ls=DASHES[1], label="95 %")
    marks = {"one minute": fusion["feature_mm"], "half a period": fusion["half_period_mm"]}
    for (name, where), dash in zip(marks.items(), DASHES[2:], strict=False):
        axes.axvline(where / 1000.0, color=QUIET, lw=0.9, ls=dash, label=name)
    if distance is not None:
        axes.axvline(distance / 1000.0, color=INK, lw=0.7, label="seen from")
    axes.axhline(fusion["vanishing_de00"], color=RULE, lw=0.8)
    axes.set_xscale("log")
    axes.set_ylim(bottom=0.0)
    # Upright lines may run below it, so that it needs a ground.
    axes.legend(fontsize=6.5, facecolor="white", edgecolor="none", framealpha=1.0, loc="best")
    titled(axes, "What is left of the pattern (S-CIELAB)", "distance, m", "CIEDE2000 from the mean colour")
