"""How much black should a grey have?

python docs/gallery/black.py [FOLDER]
"""

import numpy as np
from place import INK, figure, samples, save

from screenproof.appearance import de2000
from screenproof.subtractive import TintLimits, fit_press, separate

press = fit_press(samples("carton_press.cgats"))
limits = TintLimits(3.0, (1.0, 1.0, 1.0, 1.0))
tone = np.linspace(20, 90, 71)
greys = np.stack([tone, np.zeros(71), np.zeros(71)], axis=1)
DRIFT = 0.03

drawn, axes = figure(9.2, 3.0, 3, sharey=True)
for axis, black in zip(axes, ("least", "smooth", "most"), strict=True):
    tints = separate(press, greys, limits=limits, black=black).tints
    for ink, dash, values in zip(press.channels, ("-", "--", "-.", ":"), tints.T, strict=True):
        axis.plot(tone, 100 * values, color=INK, ls=dash, lw=2 if ink == "K" else 1, label=ink)
    axis.set(title=f"{black} black", xlabel="lightness L* of the grey", ylim=(0, 100))
    # What a press does in an afternoon: one ink a little heavier.
    drifted = tints.copy()
    drifted[:, 0] = np.minimum(drifted[:, 0] + DRIFT, 1)
    moved = de2000(press.lab(tints), press.lab(drifted))
    middle = int(np.abs(tone - 50).argmin())
    ink, key = 100 * tints[middle].sum(), 100 * tints[middle, 3]
    print(f"{black} black at L* 50: {ink:.0f} % ink in all, {key:.0f} % black")
    print(f"  if cyan gains {100 * DRIFT:.0f} %, the grey moves by {moved[middle]:.1f} CIEDE2000")
axes[0].set_ylabel("tint [%]")
axes[0].legend(fontsize=8)
save(drawn, __file__)
