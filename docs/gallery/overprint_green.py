"""What green do this cyan and this yellow make?

python docs/gallery/overprint_green.py [FOLDER]
"""

from place import INK, QUIET, curves, figure, lab, mat, patch, samples, save, xyz

from screenproof.appearance import de2000
from screenproof.subtractive import Surface, Trapping, fit_trapping, ink_from_readings, overprint

file = "inks_on_carton.cgats"
grid, curve = samples(file).grid, curves(file)
stock, measured = curve["Coated carton"], curve["Cyan + Yellow"]
NAMES = ("Cyan", "Yellow")


def inks(surface):
    return [ink_from_readings(curve[name], stock, grid, surface, name) for name in NAMES]


# The product of two transmittances on the stock; the same below a surface; then with measured trapping.
below = Surface(0.04, 0.6, "excluded")
product = overprint(stock, inks(Surface.NONE))
corrected = overprint(stock, inks(below), surface=below)
fit = fit_trapping(measured, stock, inks(below), surface=below)
trapped = overprint(stock, inks(below), surface=below, trapping=Trapping({NAMES: fit.factor}))

greens = {
    "from two curves alone": product,
    "below a surface": corrected,
    "with trapping": trapped,
    "measured": measured,
}
for what, green in greens.items():
    tone = lab(green, grid)
    away = float(de2000(lab(measured, grid), tone))
    print(f"{what}: L* {tone[0]:.1f}, a* {tone[1]:.1f}, b* {tone[2]:.1f}; off by {away:.1f} CIEDE2000")
print(f"yellow keeps {fit.factor:.2f} of its film weight on the cyan")

drawn, (left, right) = figure()
nm = grid.wavelengths
left.plot(nm, stock, color=QUIET, lw=0.8, ls=":", label="carton")
left.plot(nm, curve["Cyan"], color=QUIET, lw=1, ls="--", label="cyan")
left.plot(nm, curve["Yellow"], color=QUIET, lw=1, ls="-.", label="yellow")
left.plot(nm, product, color=INK, lw=1.8, label="their product")
left.plot(nm[::2], measured[::2], "o", color=INK, mfc="white", ms=4, label="printed and measured")
left.set(xlabel="wavelength [nm]", ylabel="reflectance factor", ylim=(0, 1), title="cyan, then yellow")
left.legend(fontsize=8)
mat(right, "under D50")
for place, (text, tone) in enumerate((("cyan", curve["Cyan"]), ("yellow", curve["Yellow"]))):
    patch(right, 0.06 + 0.47 * place, 0.60, 0.41, 0.34, xyz(tone, grid), text)
# The two halves touch: a line between them would hide the difference.
patch(right, 0.06, 0.14, 0.44, 0.34, xyz(product, grid), "predicted")
patch(right, 0.50, 0.14, 0.44, 0.34, xyz(measured, grid), "measured")
save(drawn, __file__)
