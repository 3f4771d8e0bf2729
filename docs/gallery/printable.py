"""Can this screen colour be printed?

python docs/gallery/printable.py [FOLDER]
"""

import numpy as np
from place import INK, WHITE, approved, mat, patch, plt, samples, save

from screenproof.appearance import lab_to_xyz, xyz_to_lab
from screenproof.subtractive import fit_press, gamut_of_inks, reach

names = ("Harbour teal", "Oolong brown", "Marigold", "Lantern blue")
wanted = xyz_to_lab(np.array([approved(name) for name in names]), WHITE)
hues = np.degrees(np.arctan2(wanted[:, 2], wanted[:, 1])) % 360

presses = {stock: fit_press(samples(f"{stock}_press.cgats")) for stock in ("carton", "kraft")}
found = {stock: reach(press, wanted) for stock, press in presses.items()}
for i, name in enumerate(names):
    for stock, press in presses.items():
        answer = found[stock]
        tints = " ".join(
            f"{c} {100 * t:.0f}" for c, t in zip(press.channels, answer.separation.tints[i], strict=True)
        )
        if answer.printable[i]:
            print(f"{name} on {stock}: yes, {tints}")
        else:
            print(f"{name} on {stock}: no, {answer.de00[i]:.1f} CIEDE2000 off at {tints} ({answer.direction[i]})")

drawn, axes = plt.subplots(2, 4, figsize=(9.2, 4.2), height_ratios=(2, 1))
outlines = {stock: gamut_of_inks(press).lc_outline(tuple(hues)) for stock, press in presses.items()}
for i, name in enumerate(names):
    top, low = axes[:, i]
    for (stock, outline), dash in zip(outlines.items(), ("-", "--"), strict=True):
        tone, chroma = np.array(outline[i][1]).T
        top.plot(chroma, tone, color=INK, ls=dash, label=stock)
    top.plot(np.hypot(*wanted[i, 1:]), wanted[i, 0], "o", color=INK, ms=6)
    top.set(xlim=(0, 115), ylim=(0, 100), title=f"{name}, hue {hues[i]:.0f}", xlabel="chroma C*")
    mat(low)
    patch(low, 0.06, 0.55, 0.88, 0.39, lab_to_xyz(wanted[i], WHITE))
    for place, stock in enumerate(presses):
        tone = lab_to_xyz(found[stock].separation.lab[i], WHITE)
        patch(low, 0.06 + 0.44 * place, 0.20, 0.44, 0.35, tone, stock)
axes[0, 0].set_ylabel("lightness L*")
axes[0, 0].legend(fontsize=8)
axes[1, 0].text(0.09, 0.9, "approved", color="white", fontsize=8, va="top")
save(drawn, __file__)
