"""What do blue and yellow make?

python docs/gallery/blue_and_yellow.py [FOLDER]
"""

import numpy as np
from place import INK, QUIET, figure, lab, mat, patch, samples, save, xyz

from screenproof.additive import area_average, fusion_distance
from screenproof.subtractive import ink_from_readings, overprint
from screenproof.subtractive.kubelka_munk import ks, r_inf

chart = samples("inks_on_carton.cgats")
grid = chart.grid
stock, cyan, magenta, yellow = (
    chart.reflectance[chart.index(n)] for n in ("Coated carton", "Cyan", "Magenta", "Yellow")
)
inks = [ink_from_readings(curve, stock, grid, name=name) for name, curve in (("Cyan", cyan), ("Magenta", magenta))]
WEIGHT = 0.45  # of the magenta that turns the cyan blue
blue = overprint(stock, inks, [1.0, WEIGHT])

printed = overprint(
    stock, [inks[0], inks[1], ink_from_readings(yellow, stock, grid, name="Yellow")], [1.0, WEIGHT, 1.0]
)
# As two opaque paints of those colours, of equal scattering: half of each.
mixed = r_inf((ks(blue) + ks(yellow)) / 2, 1.0)
# Side by side, in checks or threads, with the areas at which neither wins.
shares = np.linspace(0, 1, 501)
blends = area_average(np.array([blue, yellow]), np.stack([shares, 1 - shares], axis=1))
share = int(np.hypot(*lab(blends, grid)[:, 1:].T).argmin())
beside = blends[share]

ways = {
    "printed on each other": printed,
    "mixed as paints": mixed,
    f"side by side, {100 * shares[share]:.0f} % blue": beside,
}
for name, curve in ways.items():
    tone, a, b = lab(curve, grid)
    hue = np.degrees(np.arctan2(b, a)) % 360
    print(f"{name}: L* {tone:.0f}, chroma {np.hypot(a, b):.0f}, hue {hue:.0f}")
print(f"details of 1 mm fuse from {float(fusion_distance(1.0)) / 1000:.1f} m on")

drawn, (left, right) = figure()
for (name, curve), dash in zip(ways.items(), ("-", "--", "-."), strict=True):
    left.plot(grid.wavelengths, curve, color=INK, ls=dash, label=name)
left.plot(grid.wavelengths, blue, color=QUIET, lw=0.8, ls=":", label="blue, yellow")
left.plot(grid.wavelengths, yellow, color=QUIET, lw=0.8, ls=":")
left.set(xlabel="wavelength [nm]", ylabel="reflectance factor", ylim=(0, 1), title="three ways to mix")
left.legend(fontsize=8)
mat(right, "under D50")
patch(right, 0.06, 0.60, 0.41, 0.34, xyz(blue, grid), "blue")
patch(right, 0.53, 0.60, 0.41, 0.34, xyz(yellow, grid), "yellow")
for place, (name, curve) in enumerate(ways.items()):
    patch(right, 0.06 + 0.30 * place, 0.14, 0.28, 0.34, xyz(curve, grid), name)
save(drawn, __file__)
