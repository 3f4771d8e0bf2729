"""How good is my press model?

python docs/gallery/press_trust.py [FOLDER]
"""

import numpy as np
from place import INK, QUIET, figure, lab, samples, save

from screenproof.appearance import de2000
from screenproof.subtractive import corners, fit_press, neugebauer

chart, kept_out = samples("carton_press.cgats"), samples("carton_check.cgats")
press = fit_press(chart)
tints, measured = kept_out.device.values, lab(kept_out.reflectance, kept_out.grid)

# The same chart in the textbook model: dots as large as the file says, no spread of light.
solids = fit_press(chart, fit=((chart.device.values == 0) | (chart.device.values == 1)).all(axis=1), n=1)
plain = lab(neugebauer(tints, solids.predict(corners(4))), kept_out.grid)

errors = {"dots as the file has them": de2000(measured, plain), "fitted": de2000(measured, press.lab(tints))}
for name, error in errors.items():
    worst = kept_out.names[int(error.argmax())]
    p95 = np.percentile(error, 95)
    print(f"{name}: mean {error.mean():.2f}, 95 % {p95:.2f}, at most {error.max():.2f} ({worst})")
held = press.held_out
figures = f"mean {held.mean:.2f}, 95 % {held.p95:.2f}, at most {held.max:.2f} of {held.count} tints"
print(f"held out by the fit itself: {figures}")

drawn, (left, right) = figure()
rank = np.linspace(0, 100, len(kept_out))
for (name, error), dash in zip(errors.items(), ("--", "-"), strict=True):
    left.plot(np.sort(error), rank, ls=dash, color=INK, label=name)
left.axvline(1, color=QUIET, lw=0.8, ls=":")
left.set(
    xscale="log",
    xlabel="CIEDE2000 from the print",
    ylabel="percent of mixtures at or below",
    title=f"{len(kept_out)} mixtures that the fit never saw",
)
left.legend(fontsize=8, loc="upper left")
steps = np.linspace(0, 1, 41)
for channel, dash in zip(press.channels, ("-", "--", "-.", ":"), strict=True):
    right.plot(100 * steps, 100 * (press.tone_values(channel, steps) - steps), ls=dash, color=INK, label=channel)
right.set(xlabel="tint in the file [%]", ylabel="tone value increase [%]", title="dots grow (ISO 20654)")
right.legend(fontsize=8)
save(drawn, __file__)
