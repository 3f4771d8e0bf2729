"""Who will argue about the match, and on which screen?

python docs/gallery/who_argues.py [FOLDER]
"""

import numpy as np
from place import EYE, INK, LIGHT, figure, samples, save

from screenproof.additive import modelled_display
from screenproof.proof import Viewing, crowd, match
from screenproof.spectra import population

LIMIT = 3.0
SCREENS = {"white-led-lcd": "--", "quantum-dot-lcd": "-", "rgb-oled": ":", "laser": "-."}
DECADES = np.arange(20, 80, 10)

inks, viewing = samples("carton_inks.cgats"), Viewing(LIGHT, EYE)
people = population(600, seed=1)
displays = {name: modelled_display(name) for name in SCREENS}
# What one of the screens cannot show is no argument about eyes.
common = np.all([match(inks, display, viewing).in_gamut for display in displays.values()], axis=0)
inks = inks.select(np.flatnonzero(common))
board = inks.index("Carton, unprinted")
print(f"{len(inks)} inks that all can show, {len(people)} people; looks above {LIMIT:.0f} CIEDE2000")

drawn, axes = figure(9.2, 3.3, 2)
for (name, display), dash in zip(displays.items(), SCREENS.values(), strict=True):
    found = match(inks, display, viewing)
    together = crowd(inks, found, display, viewing, people).figures
    apart = crowd(inks, found, display, viewing, people, whites="own").figures
    ages = [np.median(together[board][(people.ages >= low) & (people.ages < low + 10)]) for low in DECADES]
    shares = [100 * (seen > LIMIT).mean() for seen in (together, apart)]
    print(f"{name}: {shares[0]:.0f} % side by side, {shares[1]:.0f} % one after the other")
    print("  the bare board, by decade from 20 on:", ", ".join(f"{value:.1f}" for value in ages))
    axes[0].plot(DECADES + 5, ages, color=INK, ls=dash, label=name)
    for seen, width in ((together, 1.6), (apart, 0.6)):
        axes[1].plot(np.sort(seen.ravel()), np.linspace(0, 100, seen.size), color=INK, ls=dash, lw=width)
axes[0].set(title="The bare board beside the screen", xlabel="age [years]", ylabel="median CIEDE2000")
axes[0].set_ylim(0, None)
axes[0].legend(fontsize=8)
axes[1].axvline(LIMIT, color=INK, lw=0.8)
axes[1].set(title="All inks; thin: one after the other", xlabel="CIEDE2000 that is seen", xlim=(0, 12))
axes[1].set(ylabel="looks below that [%]", ylim=(0, 100))
save(drawn, __file__)
