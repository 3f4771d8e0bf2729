"""What does kraft do to my inks?

python docs/gallery/kraft.py [FOLDER]
"""

import numpy as np
from place import INK, QUIET, curves, figure, lab, mat, patch, samples, save, xyz

from screenproof.appearance import de2000
from screenproof.subtractive import OpaqueFilm, ink_from_readings, restock

file = "inks_on_carton.cgats"
grid, carton, printed = samples(file).grid, curves(file), curves("inks_on_kraft.csv")
cards = curves("underprint.csv")
white = OpaqueFilm.from_drawdowns(
    cards["White underprint over black card"],
    cards["White underprint over white card"],
    cards["Black card"],
    cards["White card"],
    grid,
)
names = ("Cyan", "Magenta", "Yellow", "Harbour teal", "Ember orange")
GROUNDS = ("on carton", "kraft over white", "on kraft")
rows = []
for name in names:
    ink = ink_from_readings(carton[name], carton["Coated carton"], grid, name=name, stock_name="carton")
    bare = restock(ink, printed["Kraft board"], stock_name="kraft").curve
    helped = restock(ink, printed["Kraft board"], stock_name="kraft", underprint=[white]).curve
    rows.append((carton[name], helped, bare, printed[f"{name} on kraft"]))

colours = lab(np.array(rows), grid)
chroma = np.hypot(colours[..., 1], colours[..., 2])
print("chroma C*: on carton, on kraft over white, on kraft, printed on kraft; CIEDE2000 of the last two")
for name, row, tones in zip(names, chroma, colours, strict=True):
    print(name, *(f"{value:.0f}" for value in row), f"{float(de2000(tones[2], tones[3])):.1f}")

drawn, (left, right) = figure(8.6, 3.8, width_ratios=(1, 1.3))
for index, name in enumerate(names):
    tones = colours[index, :3]
    left.plot(chroma[index, :3], tones[:, 0], color=QUIET, lw=0.8)
    for place, (mark, what) in enumerate(zip("osD", GROUNDS, strict=True)):
        filled = "white" if place < 2 else INK
        left.plot(
            chroma[index, place], tones[place, 0], mark, color=INK, mfc=filled, ms=5, label=None if index else what
        )
    left.annotate(name, (chroma[index, 0], tones[0, 0]), (-14, 6), textcoords="offset points", fontsize=8)
left.set(xlabel="chroma C*", ylabel="lightness L*", ylim=(0, 100), xlim=(0, 130), title="the same film of ink")
left.legend(fontsize=8, loc="lower right")
mat(right, "under D50")
for index, name in enumerate(names):
    y = 0.82 - 0.185 * index
    for place in range(3):
        patch(right, 0.26 + 0.24 * place, y, 0.24, 0.15, xyz(rows[index][place], grid))
    right.text(0.02, y + 0.075, name, va="center", color="white", fontsize=8)
for place, text in enumerate(GROUNDS):
    right.text(0.38 + 0.24 * place, 0.06, text, ha="center", va="top", color="white", fontsize=8)
save(drawn, __file__)
