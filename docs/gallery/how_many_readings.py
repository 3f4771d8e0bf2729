"""How many readings does a verdict need?

python docs/gallery/how_many_readings.py [FOLDER]
"""

from dataclasses import replace

import numpy as np
from place import EYE, INK, LIGHT, QUIET, WHITE, curves, figure, lab, save

from screenproof.proof import Decision, Viewing, judge_doubted, pair_spread
from screenproof.proof.tolerance import ToleranceSet
from screenproof.spectra import Grid, Samples, instrument_class

LIMIT, READINGS = 2.0, (1, 2, 4, 8, 16)
grid = Grid(380.0, 730.0, 10.0)
proof = curves("carton_inks.cgats")["Harbour teal, spot"]
# Prints of the same ink, thinner and thinner: from equal to some 5 CIEDE2000 off.
weights = np.linspace(1.0, 0.8, 301)
prints = proof[None] ** weights[:, None]
tolerance, conditions = ToleranceSet("delivery", pair=LIMIT), Viewing(LIGHT, EYE).conditions()


def edges(kind: str, readings: int, same: bool) -> tuple[float, float]:
    """The largest figure that passes and the smallest that fails; both files by one instrument, or not."""
    doubt = replace(instrument_class(kind).reflectance, readings=readings, instrument="bench" if same else "")
    sides = [
        Samples(tuple(f"{side} {i}" for i in range(len(weights))), values, grid, doubt=doubt)
        for side, values in (("proof", np.broadcast_to(proof, prints.shape)), ("print", prints))
    ]
    colours = [lab(side.reflectance, grid) for side in sides]
    spread = pair_spread(*sides, LIGHT, EYE)
    found = judge_doubted(tolerance, "pair", *colours, WHITE, conditions, spread, Decision())
    figures = np.array([verdict.figure for verdict in found])
    status = np.array([verdict.status for verdict in found])
    return figures[status == "pass"].max(), figures[status == "fail"].min()


drawn, axes = figure(9.2, 3.0, 3, sharey=True)
for axis, (kind, same) in zip(axes, (("basic", True), ("basic", False), ("production", False)), strict=True):
    found = np.array([edges(kind, count, same) for count in READINGS])
    whose = "one instrument for both" if same else "two instruments"
    print(f"{kind}, {whose}, limit {LIMIT:.0f}: undecided between")
    print("  " + ", ".join(f"{a:.1f} and {b:.1f} ({n})" for n, (a, b) in zip(READINGS, found, strict=True)))
    axis.fill_between(READINGS, *found.T, color=QUIET, alpha=0.25, lw=0)
    axis.plot(READINGS, found, color=INK, marker="o", ms=4)
    axis.axhline(LIMIT, color=INK, lw=0.8)
    axis.set(title=f"{kind}, {whose}", xlabel="readings of each", xscale="log", ylim=(0, 4.5))
    axis.set_xticks(READINGS, [str(count) for count in READINGS])
    axis.minorticks_off()
    axis.text(1.1, 0.2, "pass", fontsize=9)
    axis.text(1.1, 2.05, "undecided", fontsize=9)
    axis.text(1.1, 4.1, "fail", fontsize=9)
axes[0].set_ylabel("CIEDE2000 that is read")
save(drawn, __file__)
