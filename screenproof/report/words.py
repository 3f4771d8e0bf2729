"""Numbers and names as the page prints them.

A number has a true minus sign and a fixed count of decimals; a figure beside its limit gets one decimal more
when rounding would hide on which side it lies, and is told in words when that would not show it. Lights,
observers and displays go by the label that the job gives them, colour differences by the name of their formula.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any

from screenproof import english
from screenproof.appearance.words import SAME
from screenproof.proof.tolerance import METRIC_LABELS

if TYPE_CHECKING:
    from screenproof.proof.result import Result
    from screenproof.proof.tolerance import Judged

STATUS_WORDS = {
    "pass": "passes",
    "fail": "fails",
    "undecided": "undecided",
    "not known": "not known",
    "not judged": "not judged",
}

STATUS_VERBS: dict[str, tuple[str, str]] = {
    "pass": ("passes", "pass"),
    "fail": ("fails", "fail"),
    "undecided": ("is undecided", "are undecided"),
    "not known": ("is not known", "are not known"),
    "not judged": ("was not judged", "were not judged"),
}
"""What one does that has a status, and what several do."""

KIND_WORDS = {
    "standard": "by its standard",
    "profile": "from its ICC profile",
    "readings": "fitted to readings",
    "modelled": "not measured",
}

STANDARD_WORDS = {"srgb": "sRGB", "bt709": "BT.709", "p3-d65": "P3-D65", "bt2020": "BT.2020"}

STANDARD_EYES = ("cie1931", "cie1964", "cie2015-2", "cie2015-10")

BASIS_WORDS = {
    "white": "each colour relative to its own white: the screen's adapted to the white of the viewing light",
    "absolute": "at the same luminance, as when the sample is held beside the screen: no adaptation",
    "appearance": "by appearance (CIECAM16), with the surround and the luminance of each side",
}

WHAT_WORDS = {
    "match": "left after rounding to codes",
    "excess": "beyond the display's gamut",
    "light_shift": "object alone, light to light",
    "pair_shift": "pair under another light",
    "observer_shift": "object against screen, over lights and observers",
    "approval": "sample against the approved colour",
}

INK_WHAT_WORDS = {
    "printable": "beyond what a press prints",
    "recipe": "a recipe against its target",
}
"""As ``WHAT_WORDS``, for a job with an ink side."""

WHOLE_WHAT_WORDS = {
    "pair": "pair as it is, in the first light",
    "mean": "mean of a set",
    "p95": "95th percentile of a set",
    "worst": "largest of a set",
}
"""As ``WHAT_WORDS``, for limits that few jobs have."""


def fixed(value: float | None, digits: int = 2) -> str:
    """``value`` with so many decimals, a true minus sign, and no negative zero."""
    return english.fixed(value, digits, "\N{MINUS SIGN}")


def far(distance: float) -> str:
    """A distance with one decimal; below a tenth with two, so that it is not taken for none."""
    return fixed(distance, 1 if distance >= 0.1 else 2)


def numbers(values: Sequence[float], digits: int = 2) -> str:
    """Numbers to be read, parted by blanks that do not break."""
    return "\N{NO-BREAK SPACE} ".join(fixed(value, digits) for value in values)


def plain(values: Sequence[float], digits: int) -> str:
    """Numbers to be copied: parted by blanks, with the minus sign of a keyboard."""
    return " ".join(f"{value:.{digits}f}" for value in values)


def against(figure: float, limit: float, digits: int = 1) -> str:
    """``figure`` with ``digits`` decimals, or one more where that shows on which side of ``limit`` it lies.

    What would take more is told in words: 'just over 3'.
    """
    for count in (digits, digits + 1):
        shown = float(f"{figure:.{count}f}")
        if (shown > limit) == (figure > limit):
            return fixed(figure, count)
    return f"just {'over' if figure > limit else 'under'}\N{NO-BREAK SPACE}{limit:g}"


def made_on(made: str) -> str:
    """An ISO 8601 time as a date in words; a text that is none comes back as it is."""
    try:
        when = datetime.fromisoformat(made)
    except ValueError:
        return made
    months = "January February March April May June July August September October November December".split()
    return f"{when.day} {months[when.month - 1]} {when.year}"


def led(lead: str, direction: str) -> str:
    """``lead`` and the words for a direction, or nothing where there is no direction to tell."""
    return f"{lead}{direction}" if direction and direction != SAME else ""


_MODELS = {"matrix": "a matrix with tone curves", "table": "a three-dimensional table"}


def fit_words(fit: Mapping[str, Any]) -> str:
    """The report of a display's fit in sentences: its model, its error on readings held out, what else it found.

    What the report lacks is left out.
    """
    said = []
    model = str(fit.get("model") or "")
    if model:
        count = f" to {fit['readings']} readings" if fit.get("readings") else ""
        said.append(f"Fitted{count} as {_MODELS.get(model, model)}")
    held = fit.get("held_out") or {}
    figures = [
        f"{name} {fixed(held[key], 2)}"
        for key, name in (("mean", "mean"), ("p95", "95th percentile"), ("max", "largest"))
        if held.get(key) is not None
    ]
    if figures:
        count = f"{held['count']} " if held.get("count") else ""
        said.append(f"On {count}patches held out of the fit: {', '.join(figures)} CIEDE2000")
    if fit.get("repeatability_de00") is not None:
        said.append(f"Repeated readings differ by {fixed(fit['repeatability_de00'], 2)} CIEDE2000")
    added = (fit.get("additivity_failure") or {}).get("de00")
    if added is not None:
        said.append(f"Red, green and blue together miss the white by {fixed(added, 2)} CIEDE2000")
    apart = (fit.get("channel_independence_failure") or {}).get("mean")
    if apart is not None:
        said.append(f"Mixtures lie {fixed(apart, 2)} CIEDE2000 from the sum of their ramps in the mean")
    return " ".join(f"{part}." for part in said)


def _short(observer: str) -> str:
    """'CIE 1931, 2°', with a blank that does not break."""
    return observer.replace(" degrees", "°").replace("CIE ", "CIE\N{NO-BREAK SPACE}")


@dataclass(frozen=True)
class Labels:
    """What the page calls the lights, observers, displays and presses of a job."""

    lights: Mapping[str, str]
    observers: Mapping[str, str]
    displays: Mapping[str, str]
    metrics: Mapping[str, str]
    viewing_light: str
    viewing_observer: str
    presses: Mapping[str, str] = field(default_factory=dict)
    risk: float | None = None

    @classmethod
    def of(cls, result: Result) -> Labels:
        """The labels of ``result``; whatever has none goes by its name."""
        return cls(
            {light.name: light.label or light.name for light in result.lights},
            {eye.name: _short(eye.label or eye.name) for eye in result.observers},
            {display.name: display.label or display.name for display in result.displays},
            {name: tolerance.metric_label for name, tolerance in result.tolerances.items()},
            result.viewing.light,
            result.viewing.observer,
            {press.name: press.label or press.name for press in result.presses},
            None if result.doubt is None else result.doubt.risk,
        )

    def light(self, name: str | None) -> str:
        """A light by its label; None is the viewing light."""
        name = name or self.viewing_light
        return self.lights.get(name, name)

    def observer(self, name: str | None) -> str:
        """An observer by its label; None is the viewing observer."""
        name = name or self.viewing_observer
        return self.observers.get(name, name)

    @property
    def eye(self) -> str:
        """'the standard eye (CIE 1931, 2°)': the viewing observer, where it is a standard one."""
        label = self.observer(None)
        return f"the standard eye ({label})" if self.viewing_observer in STANDARD_EYES else label

    @property
    def eye_alone(self) -> str:
        """'the standard eye', or the viewing observer by its label."""
        return "the standard eye" if self.viewing_observer in STANDARD_EYES else self.observer(None)

    def display(self, name: str) -> str:
        """A display by its label, or a standard display by the trade's spelling."""
        return self.displays.get(name) or STANDARD_WORDS.get(name, name)

    def press(self, name: str) -> str:
        """A press by its label."""
        return self.presses.get(name, name)

    def metric(self, verdict: Judged | None = None) -> str:
        """The formula of a verdict's figures; without a verdict it is CIEDE2000."""
        if verdict is None:
            return METRIC_LABELS["de00"]
        return self.metrics.get(verdict.tolerance) or METRIC_LABELS[verdict.metric]

    def condition(self, light: str | None = None, observer: str | None = None) -> str:
        """'D50, CIE 1931, 2 degrees': the light and observer that a number is for."""
        return f"{self.light(light)}, {self.observer(observer)}"
