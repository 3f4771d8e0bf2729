"""What do I add to a batch that is off?

python docs/gallery/correct_batch.py [FOLDER]
"""

import numpy as np
from place import DATA, EYE, INK, LIGHT, QUIET, approved, figure, mat, patch, samples, save, xyz

from screenproof.formats import read_light
from screenproof.formats.batches import read_batch
from screenproof.formats.letdowns import read_library
from screenproof.spectra import light
from screenproof.subtractive import Target, correct_batch

library = read_library(DATA / "lacquer_letdowns.csv").library
trial = samples("lid_trial.csv")
amounts = read_batch(DATA / "lid_batch.csv").amounts
target = Target.of_xyz(approved("Lid plum"), "D50", "cie1931", "Lid plum")
lights = [LIGHT, light("FL11"), read_light(DATA / "shop_led.csv")]
answer = correct_batch(library.mixture(), amounts, trial.reflectance[0], target, lights, EYE, resolution=0.001)

print(f"the trial: {answer.de00_before:.1f} CIEDE2000 off, {answer.words_before}")
for name, put, real, add in zip(answer.components, answer.amounts, answer.effective, answer.add, strict=True):
    print(f"{name}: {1000 * put:.0f} g weighed, {1000 * real:.0f} g in effect, add {1000 * add:.0f} g")
print(f"the batch grows by {100 * answer.growth:.1f} percent and is then {answer.de00:.2f} off")

drawn, (left, right) = figure(8.6, 3.0, width_ratios=(1.2, 1))
rows = np.arange(len(answer.components))[::-1]
share, after = answer.effective / answer.amounts, (answer.effective + answer.add) / answer.amounts
left.axvline(1, color=QUIET, lw=0.8, ls=":")
left.hlines(rows, share, after, color=INK, lw=2)
left.plot(share, rows, "o", color=INK, mfc="white", ms=7, label="in effect")
left.plot(after, rows, "D", color=INK, ms=5, label="after the addition")
left.set(yticks=rows, yticklabels=answer.components, ylim=(-0.6, len(rows) - 0.4), xlabel="of what was weighed")
left.legend(fontsize=8, loc="lower center", bbox_to_anchor=(0.5, 1), ncols=2)
mat(right, "under D50")
for row, (curve, word) in enumerate(((trial.reflectance[0], "trial"), (answer.curve, "corrected"))):
    patch(right, 0.06, 0.58 - 0.46 * row, 0.44, 0.36, target.xyz)
    patch(right, 0.50, 0.58 - 0.46 * row, 0.44, 0.36, xyz(curve, trial.grid))
    right.text(0.5, 0.55 - 0.46 * row, f"approved | {word}", ha="center", va="top", color="white", fontsize=8)
save(drawn, __file__)
