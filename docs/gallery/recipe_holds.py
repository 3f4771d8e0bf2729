"""Which recipe holds under the shop tubes?

python docs/gallery/recipe_holds.py [FOLDER]
"""

import numpy as np
from place import DATA, EYE, INK, LIGHT, QUIET, WHITE, approved, figure, mat, patch, save

from screenproof.appearance import adapt
from screenproof.formats import read_light
from screenproof.formats.letdowns import read_library
from screenproof.spectra import light, weights, white_point
from screenproof.subtractive import Target, search

library = read_library(DATA / "lacquer_letdowns.csv").library
tubes = light("FL11")
target = Target.of_xyz(approved("Lid plum"), "D50", "cie1931", "Lid plum")
lights = [LIGHT, tubes, read_light(DATA / "shop_led.csv")]
found = search(library.mixture(), target, lights, EYE, components=3, batch=10, count=60)

# Only recipes that nobody could tell from the target in the booth.
alike = [recipe for recipe in found.recipes if recipe.de00 < 0.3]
shift = np.array([dict(recipe.shifts)["FL11"] for recipe in alike])
holds, breaks = alike[int(shift.argmin())], alike[int(shift.argmax())]
print(f"{len(alike)} recipes match within 0.3 CIEDE2000 in the booth")
for word, recipe in (("holds", holds), ("breaks", breaks)):
    grams = ", ".join(f"{n} {1000 * kg:.0f} g" for n, kg in zip(recipe.components, recipe.amounts, strict=True))
    print(f"{word}: {dict(recipe.shifts)['FL11']:.1f} under the tubes, {recipe.de00:.2f} in the booth: {grams}")

drawn, (left, middle, right) = figure(9.6, 3.2, 3, width_ratios=(1, 1.1, 1.1))
left.plot(np.sort(shift), np.arange(len(alike)) + 1, "o", color=INK, ms=3)
left.set(xlabel="shift under the tubes, CIEDE2000", ylabel="recipes", xlim=(0, None), title="alike in the booth")
nm = library.grid.wavelengths
lines = tubes.at(np.arange(380.0, 731.0, 2.0))
middle.fill_between(np.arange(380.0, 731.0, 2.0), 0.35 * lines / lines.max(), color="#dddddd", lw=0, label="tubes")
middle.plot(nm, holds.curve, color=INK, label="holds")
middle.plot(nm, breaks.curve, color=INK, ls="--", label="breaks")
middle.set(xlabel="wavelength [nm]", ylabel="reflectance factor", ylim=(0, 0.4), xlim=(380, 730))
middle.legend(fontsize=8, loc="upper center")
mat(right)
for row, (lamp, word) in enumerate(((LIGHT, "in the booth"), (tubes, "under the tubes"))):
    matrix, white = weights(lamp, EYE, library.grid), white_point(lamp, EYE)
    for place, recipe in enumerate((holds, breaks)):
        patch(
            right, 0.06 + 0.44 * place, 0.56 - 0.46 * row, 0.44, 0.36, adapt(recipe.curve @ matrix, white, WHITE)
        )
    right.text(0.5, 0.53 - 0.46 * row, f"holds | breaks, {word}", ha="center", va="top", color="white", fontsize=8)
right.set_title("eyes adapted to each light", color=QUIET)
save(drawn, __file__)
