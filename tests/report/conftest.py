"""A factory of plausible results for the page: smooth invented reflectances, displays of three narrow lights.

The figures are reckoned simply (linear displays that share the white of the viewing light, CIEDE2000 by the
package), so that patches, shifts and verdicts hang together as in a real job. The page does not care.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import numpy as np
import pytest

from screenproof.appearance import (
    adapt,
    de76,
    de2000,
    de_cam16ucs,
    lab_to_lch,
    xyz_to_lab,
    xyz_to_uv,
    xyz_to_xy,
)
from screenproof.errors import Note
from screenproof.proof.colours import with_statuses
from screenproof.proof.result import (
    ApprovalRecord,
    Curve,
    DisplayRecord,
    InputRecord,
    LightRecord,
    ObserverRecord,
    OnDisplay,
    PairFigure,
    PairRecord,
    PairStart,
    Provenance,
    Refusal,
    Result,
    SampleRecord,
    ShiftFigure,
    StandardGamut,
    Summary,
    TwoCurves,
    ViewingRecord,
)
from screenproof.proof.tolerance import Judged, ToleranceSet, What, judge, worst
from screenproof.report.findings import concluded
from screenproof.spectra import Array, Grid, cct, emission_weights, light, observer, weights, white_point

if TYPE_CHECKING:
    from playwright.sync_api import Browser

NAMES = ("Fern green", "Lake teal", "Rust", "Straw", "Plum", "Deep teal", "Ink black", "Stock")
LIGHTS = {"D50": "D50", "shop LED": "LED-B3", "shop tubes": "FL11", "home lamp": "A", "daylight": "D65"}
EYES = ("cie1931", "cie2015-2", "cie1964")
# From linear sRGB to XYZ (IEC 61966-2-1) and CIE 15's D65, for the page's own patches.
SRGB = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
D65 = np.array([95.047, 100.0, 108.883])


@dataclass
class Factory:
    """Makes results; the knobs are what the tests turn."""

    count: int = 8
    displays: int = 2
    names: tuple[str, ...] = NAMES
    title: str = "Tea caddies, spring line"
    note: str = "Invented data."
    colorimetric: bool = False
    limits: ToleranceSet = field(
        default_factory=lambda: ToleranceSet(
            "brand", match=1.0, excess=1.0, light_shift=6.0, pair_shift=2.0, observer_shift=4.0, approval=2.0
        )
    )

    def make(self) -> Result:
        """The result."""
        grid, fine = Grid(380, 730, 10), Grid(380, 780, 2)
        reflectance = _reflectances(self.count, grid.wavelengths)
        names = [
            self.names[i % len(self.names)] + (f" {i // len(self.names) + 1}" if i >= len(self.names) else "")
            for i in range(self.count)
        ]
        lamps = {name: light(standard) for name, standard in LIGHTS.items()}
        eyes = {name: observer(name) for name in EYES}
        xyz = {(lamp, eye): reflectance @ weights(lamps[lamp], eyes[eye], grid) for lamp in lamps for eye in eyes}
        whites = {(lamp, eye): white_point(lamps[lamp], eyes[eye]) for lamp in lamps for eye in eyes}
        seen = {
            (lamp, eye): adapt(xyz[lamp, eye], whites[lamp, eye], whites["D50", eye])
            for lamp in lamps
            for eye in eyes
        }
        lab = {key: xyz_to_lab(seen[key], whites["D50", key[1]]) for key in seen}
        patches = {lamp: _page(seen[lamp, "cie1931"], whites["D50", "cie1931"]) for lamp in lamps}
        screens = [_Screen(index, fine, eyes, whites) for index in range(self.displays)]
        samples = []
        for i, name in enumerate(names):
            alone = tuple(
                ShiftFigure(lamp, eye, *_apart(lab["D50", eye][i], lab[lamp, eye][i]), "warmer")
                for lamp in lamps
                for eye in eyes
                if lamp != "D50"
            )
            on = tuple(
                screen.match(i, reflectance, xyz, lab, whites, lamps, grid, self.limits) for screen in screens
            )
            judged = self._judged("light_shift", alone)
            status = worst([entry.status for entry in [*on, *judged]])
            here = lab["D50", "cie1931"][i]
            spectral = not self.colorimetric
            samples.append(
                SampleRecord(
                    name,
                    "coated carton" if i % 2 else "kraft",
                    "inks.cgats",
                    "Stock",
                    spectral,
                    tuple(xyz["D50", "cie1931"][i]),
                    tuple(here),
                    tuple(lab_to_lch(here)),
                    tuple(xyz_to_uv(xyz["D50", "cie1931"][i])),
                    {lamp: tuple(patches[lamp][i]) for lamp in (lamps if spectral else ["D50"])},
                    Curve(tuple(grid.wavelengths), tuple(reflectance[i])) if spectral else None,
                    alone if spectral else (),
                    () if spectral else (Refusal("only colour values are known, no spectrum"),),
                    judged if spectral else (),
                    on if spectral else tuple(_colorimetric(entry) for entry in on),
                    (Note("assumed", "the geometry is not stated; 45:0 is taken"),) if i == 0 else (),
                    status,
                    "every figure is within its limit" if status == "pass" else "over a limit on one display",
                )
            )
        approvals, pairs = self._approvals(samples), self._pairs(names, lab)
        found = Result(
            self.title,
            self.note,
            "2026-11-25T09:30:00+00:00",
            ViewingRecord("D50", "cie1931", "white", "cat16", "diffuser", 8, tuple(whites["D50", "cie1931"])),
            tuple(
                LightRecord(n, n, LIGHTS[n], tuple(xyz_to_xy(whites[n, "cie1931"])), cct(lamps[n]), None)
                for n in lamps
            ),
            tuple(ObserverRecord(n, eyes[n].label, "eye") for n in eyes),
            tuple(screen.record(whites) for screen in screens),
            (StandardGamut("sRGB", ((0.4507, 0.5229), (0.125, 0.5625), (0.1754, 0.1579))),
             StandardGamut("P3-D65", ((0.4964, 0.5256), (0.0986, 0.5777), (0.1754, 0.1579)))),
            with_statuses(samples, approvals, pairs),
            approvals,
            pairs,
            Summary(),
            {self.limits.name: self.limits},
            Provenance(
                (InputRecord("data/inks.cgats", "0f" * 32, 4821),),
                {"screenproof": "0.1.0", "numpy": "2.4.6"},
                ("ISO/CIE 11664-6:2022", "ASTM E308-18"),
                ("CIEDE2000", "CAT16"),
            ),
            ("Tubes that flicker are no proofing light.",),
            (Note("odd", "one reading is above 1", "Straw", "inks.cgats", 14),),
        )  # fmt: skip
        return concluded(found)

    def _judged(self, what: What, figures: Sequence[ShiftFigure | PairFigure]) -> tuple[Judged, ...]:
        found = [judge(self.limits, what, f.de00, light=f.light, observer=f.observer) for f in figures]
        return tuple(verdict for verdict in found if verdict is not None)

    def _approvals(self, samples: list[SampleRecord]) -> tuple[ApprovalRecord, ...]:
        if not self.displays:
            return ()
        first = samples[0]
        on = first.on[0]
        de00, deab, _ = _apart(np.array(first.lab), np.array(on.shown_lab) + [-4, 3, 2])
        verdict = judge(self.limits, "approval", de00, light="D50", observer="cie1931")
        return (
            ApprovalRecord("client, on the laptop", on.display, first.name, (60, 150, 90), 8, de00, deab,
                           "lighter, greener", tuple(np.array(first.lab) + [-4, 3, 2]), first.lab,
                           tuple(np.clip(np.array(on.shown_srgb) - 0.05, 0, 1)), first.patch["D50"], verdict),
        )  # fmt: skip

    def _pairs(self, names: list[str], lab: dict[tuple[str, str], Array]) -> tuple[PairRecord, ...]:
        if self.count < 6 or self.colorimetric:
            return ()
        figures = []
        for lamp, eye in lab:
            if lamp != "D50":
                de00, deab, _ = _apart(lab[lamp, eye][1], lab[lamp, eye][5])
                figures.append(PairFigure(lamp, eye, de00 / 3, deab / 3, de00, deab, "bluer"))
        verdicts = self._judged("pair_shift", figures)
        starts = tuple(PairStart("D50", eye, 0.4, 0.5) for eye in EYES)
        return (
            PairRecord("caddy and lid", names[1], names[5], starts, "multiplicative", tuple(figures), (), verdicts,
                       worst([verdict.status for verdict in verdicts])),
        )  # fmt: skip


class _Screen:
    """A linear display of three narrow lights with the white of the viewing light for the 1931 observer."""

    def __init__(
        self, index: int, grid: Grid, eyes: dict[str, object], whites: dict[tuple[str, str], Array]
    ) -> None:
        self.name = ("office", "wide", "third", "fourth")[index]
        self.label = ("Office LCD", "Wide-gamut display", "Third display", "Fourth display")[index]
        self.grid = grid
        peaks = (((612, 34), (540, 32), (453, 12)), ((632, 10), (529, 12), (452, 9)))[index % 2]
        lights = np.array([np.exp(-0.5 * ((grid.wavelengths - at) / wide) ** 2) for at, wide in peaks])
        mixtures = {eye: lights @ emission_weights(curves, grid) for eye, curves in eyes.items()}  # type: ignore[arg-type]
        level = np.linalg.solve(mixtures["cie1931"].T, whites["D50", "cie1931"])
        self.lights = lights * level[:, None]
        self.xyz = {eye: mixtures[eye] * level[:, None] for eye in eyes}

    def match(self, i, reflectance, xyz, lab, whites, lamps, grid, limits) -> OnDisplay:  # type: ignore[no-untyped-def]
        drive = np.linalg.solve(self.xyz["cie1931"].T, xyz["D50", "cie1931"][i])
        inside = bool((drive > -1e-9).all() and (drive < 1 + 1e-9).all())
        code = np.round(255 * np.clip(drive, 0, 1) ** (1 / 2.2)).astype(int)
        linear = (code / 255.0) ** 2.2
        shown = {eye: linear @ self.xyz[eye] for eye in EYES}
        # Each eye is adapted to this screen's white.
        own = {
            eye: xyz_to_lab(adapt(shown[eye], self.xyz[eye].sum(axis=0), whites["D50", eye]), whites["D50", eye])
            for eye in EYES
        }
        shift = tuple(
            ShiftFigure(lamp, eye, *_apart(own[eye], lab[lamp, eye][i]), "bluer, stronger")
            for lamp in LIGHTS
            for eye in EYES
        )
        de00 = _apart(own["cie1931"], lab["D50", "cie1931"][i])[0]
        excess = 0.0 if inside else de00
        found = [
            judge(limits, "match", 0.0 if not inside else de00, light="D50", observer="cie1931"),
            judge(limits, "excess", excess, light="D50", observer="cie1931"),
            *(judge(limits, "observer_shift", f.de00, light=f.light, observer=f.observer) for f in shift),
        ]
        verdicts = tuple(verdict for verdict in found if verdict is not None)
        nm = self.grid.wavelengths
        lit = np.interp(nm, grid.wavelengths, reflectance[i]) * lamps["D50"].at(nm)
        sent = linear @ self.lights
        bright = observer("cie1931").at(nm)[:, 1]
        curves = TwoCurves(tuple(nm), tuple(lit / (lit @ bright)), tuple(sent / (sent @ bright)))
        return OnDisplay(
            self.name,
            tuple(np.clip(drive, 0, 1) ** (1 / 2.2)),
            tuple(int(part) for part in code),
            8,
            inside,
            excess,
            "" if inside else "weaker, lighter",
            de00 if inside else 0.0,
            () if inside else ("p3-d65", "bt2020"),
            tuple(own["cie1931"]),
            tuple(_page(shown["cie1931"], whites["D50", "cie1931"])),
            curves,
            shift,
            (),
            verdicts,
            worst([verdict.status for verdict in verdicts]),
        )

    def record(self, whites: dict[tuple[str, str], Array]) -> DisplayRecord:
        white = whites["D50", "cie1931"]
        primaries = tuple(tuple(xyz_to_uv(row)) for row in self.xyz["cie1931"])
        cube = np.stack(np.meshgrid(*[np.linspace(0, 1, 14)] * 3), axis=-1).reshape(-1, 3)
        lch = lab_to_lch(xyz_to_lab(cube @ self.xyz["cie1931"], white))
        outline = []
        for hue in range(0, 360, 30):
            near = np.abs((lch[:, 2] - hue + 180) % 360 - 180) < 9
            edge = [(0.0, 0.0)]
            for low in range(0, 100, 10):
                level = near & (lch[:, 0] >= low) & (lch[:, 0] < low + 10)
                edge.append((low + 5.0, float(lch[level, 1].max()) if level.any() else 0.0))
            outline.append((float(hue), (*edge, (100.0, 0.0))))
        return DisplayRecord(
            self.name, self.label, "modelled", 120.0, 1000.0, tuple(xyz_to_xy(white)), primaries,
            tuple(xyz_to_uv(white)), True, 8, tuple(outline), (Note("assumed", "black is taken as 0.12 cd/m2"),),
            {"model": "matrix", "held_out": {"mean": 0.2, "p95": 0.5, "max": 0.9, "count": 40}},
        )  # fmt: skip


def _colorimetric(on: OnDisplay) -> OnDisplay:
    from dataclasses import replace

    verdicts = tuple(verdict for verdict in on.verdicts if verdict.what != "observer_shift")
    return replace(
        on,
        spectra=None,
        shift=(),
        refused=(Refusal("only colour values are known, no spectrum"),),
        verdicts=verdicts,
        status=worst([verdict.status for verdict in verdicts]),
    )


def _apart(one: Array, other: Array) -> tuple[float, float, float]:
    return float(de2000(one, other)), float(de76(one, other)), float(de_cam16ucs(one, other))


def _page(xyz: Array, white: Array) -> Array:
    linear = np.clip(adapt(xyz, white, D65) / 100 @ np.linalg.inv(SRGB).T, 0, 1)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)


def _reflectances(count: int, nm: Array) -> Array:
    hump = lambda at, wide: np.exp(-0.5 * ((nm - at) / wide) ** 2)  # noqa: E731
    step = lambda at, wide: 1 / (1 + np.exp(-(nm - at) / wide))  # noqa: E731
    first = [
        0.05 + 0.5 * hump(530, 32) + 0.1 * step(690, 12),
        0.04 + 0.42 * hump(485, 36) + 0.05 * step(690, 12),
        0.06 + 0.5 * step(590, 18),
        0.07 + 0.75 * step(505, 16),
        0.05 + 0.2 * hump(440, 40) + 0.35 * step(640, 22),
        0.02 + 0.1 * hump(500, 40),
        0.03 + 0.005 * step(600, 40),
        0.88 - 0.06 * hump(400, 30),
    ]
    random = np.random.default_rng(7)
    while len(first) < count:
        at, wide = random.uniform(420, 640), random.uniform(25, 70)
        base = hump(at, wide) if random.uniform() < 0.6 else step(at, random.uniform(10, 30))
        first.append(random.uniform(0.03, 0.3) + random.uniform(0.1, 0.6) * base)
    return np.clip(np.array(first[:count]), 0, 1)


@pytest.fixture(scope="session")
def make_result() -> Callable[..., Result]:
    """``make_result(count=8, displays=2, ...)``: a result with so many samples and displays."""
    return lambda **knobs: Factory(**knobs).make()


@pytest.fixture(scope="session")
def result(make_result: Callable[..., Result]) -> Result:
    """A result of eight samples on two displays, five lights and three observers, with troubles."""
    return make_result()


class Page(HTMLParser):
    """The page's tags with their attributes, its words by the section they stand in, faults of nesting."""

    void = {"meta", "input", "br", "path", "link", "img", "hr"}

    def __init__(self, html: str) -> None:
        super().__init__()
        self.stack: list[tuple[str, dict[str, str | None]]] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.by_section: dict[str, str] = {}
        self.faults: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in self.void:
            self.stack.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.void and (not self.stack or self.stack.pop()[0] != tag):
            self.faults.append(f"</{tag}> at {self.getpos()}")

    def handle_data(self, data: str) -> None:
        for name in [attrs["id"] for tag, attrs in self.stack if tag == "section" and attrs.get("id")]:
            self.by_section[name or ""] = self.by_section.get(name or "", "") + data
        if self.stack and self.stack[-1][1].get("class") == "lead":
            self.by_section["lead"] = self.by_section.get("lead", "") + data
        if len(self.stack) > 1 and self.stack[-2][1].get("class") == "lead":
            self.by_section["lead"] = self.by_section.get("lead", "") + data

    def said(self, section: str) -> str:
        """The words of a section, each run of blanks as one."""
        return re.sub(r"\s+", " ", self.by_section.get(section, ""))


@pytest.fixture(scope="session")
def read_page() -> Callable[[str], Page]:
    """``read_page(html)``: the page in tags and words."""
    return Page


BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
QUIET = (
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all tests of the page."""
    from playwright.sync_api import sync_playwright

    executable = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if executable is None:
        pytest.fail(
            f"no browser found (looked for {', '.join(BROWSERS)}): install Chromium, on Debian and Ubuntu with "
            "'apt-get install chromium', or leave these tests out with -m 'not browser'",
            pytrace=False,
        )
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=executable, args=list(QUIET))
        yield running
        running.close()
