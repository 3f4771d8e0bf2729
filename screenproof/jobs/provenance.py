"""Where a result comes from: inputs by hash, versions, standards, formulae; and the cautions that go with it."""

from __future__ import annotations

import platform
import re
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING

from screenproof import __version__
from screenproof.jobs.doubts import doubt_is_known
from screenproof.jobs.fluorescence import as_standard, has_readings
from screenproof.proof.result import Provenance

if TYPE_CHECKING:
    from screenproof.jobs.job import Job

LIBRARIES = ("numpy", "scipy", "numba", "pillow", "tifffile", "matplotlib", "jinja2", "pydantic", "colour-cxf")


def provenance(job: Job) -> Provenance:
    """The inputs' hashes, the versions of what calculated, the standards and the formulae by name."""
    return Provenance(job.inputs, versions(), standards(job), formulae(job))


def versions() -> dict[str, str]:
    """Versions of this package, of Python and of the libraries that take part."""
    found = {"screenproof": __version__, "Python": platform.python_version()}
    for name in LIBRARIES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            continue
    return found


def standards(job: Job) -> tuple[str, ...]:
    """The standards that the job's numbers rest on, those that it used and no others."""
    found = ["CIE 15:2018 and ISO/CIE 11664-1 to -4: observers, illuminants, tristimulus values, CIELAB"]
    if any(group.samples.is_spectral for group in job.groups):
        found.append("ASTM E308 and E2022: weights of lights and observers on the samples' own wavelengths")
    found += _eye_standards(job)
    for display, table in zip(job.displays, job.display_tables, strict=True):
        if table.standard is not None and display.source:
            found.append(f"{display.source}: display {display.label}")
        if table.profile is not None:
            found.append(f"ICC.1:2022: profile of display {display.label}")
    found += _ink_standards(job)
    found.append("ISO/CIE 11664-5: u'v' chromaticity")
    found.append("CIE 248:2022: CIECAM16 and CAM16-UCS")
    if job.output.patches == "tiff":
        found.append("TIFF 6.0 with ICC profile (tag 34675): patch images")
    if job.output.patches == "png":
        found.append("ISO/IEC 15948 (PNG) with ICC profile (iCCP): patch images")
    return tuple(dict.fromkeys(found))


def formulae(job: Job) -> tuple[str, ...]:
    """The formulae by name, with the settings that the job used."""
    found = []
    bases = {
        "white": f"each side relative to its own white, adapted by {job.viewing.adaptation.upper()}, degree 1",
        "absolute": "equal tristimulus values at equal luminance, no adaptation",
        "appearance": "equal CIECAM16 lightness, chroma and hue, each side in its own conditions",
    }
    found.append(f"match: {bases[job.viewing.basis]}")
    found.append("excess: the smallest CIEDE2000 (ISO/CIE 11664-6) to any colour of the display")
    found.append("light shift: CAT16 to the white of the viewing light, differences there")
    if job.pairs:
        found.append(
            "pair shift: special metamerism index, change in illuminant (CIE 15:2018, 9.2.2), multiplicative"
        )
    found += _eye_formulae(job)
    found += _ink_formulae(job)
    found += [f"tolerance set {name}: {tolerance.metric_label}" for name, tolerance in job.tolerances.items()]
    return tuple(found)


def _eyes_by_age(job: Job) -> bool:
    """Whether the model of the eye by age and field takes part."""
    return job.people is not None or any(observer.age is not None for observer in job.observers)


def _eye_standards(job: Job) -> list[str]:
    """The standards of eyes, of doubt, and of readings with and without ultraviolet that the job used."""
    found = []
    if any(observer.name.startswith("cie2015") for observer in job.observers):
        found.append("CIE 170-2:2015: observers from cone fundamentals")
    if _eyes_by_age(job):
        found.append("CIE 170-1:2006: the eye by age and field")
        found.append("CIE 170-2:2015: XYZ from cone fundamentals")
    if doubt_is_known(job):
        found.append("JCGM 100:2008: doubt of readings carried to colour differences")
        found.append("JCGM 106:2012: pass, fail and undecided by a guard band")
    if has_readings(job):
        found.append("ISO 13655: readings with (M1), without (M2) ultraviolet, and in a lamp (M0)")
    presets = sorted({one.preset for one in job.tolerances.values() if one.preset})
    return found + [f"{job_source(job, preset)}: limits of the preset {preset}" for preset in presets]


def job_source(job: Job, preset: str) -> str:
    """Where the limits of a preset come from, as its tolerance set says it."""
    return next(one.source for one in job.tolerances.values() if one.preset == preset)


def _eye_formulae(job: Job) -> list[str]:
    """The formulae of populations, of doubt and of brightener that the job used."""
    found = []
    if job.people is not None:
        table = job.people.table
        found.append(
            f"population: {len(job.people.population)} people, seed {table.seed}, who differ as in Asano, "
            "Fairchild and Blonde (PLoS ONE 11(2) e0145671, 2016)"
        )
        if table.aim == "population":
            found.append("drive values: the smallest 95th percentile of the population, at a stated cost")
    if doubt_is_known(job):
        found.append(
            f"verdicts: risk {job.doubt.risk:g}, intervals of {job.doubt.coverage:.0%}; linear propagation, near "
            f"zero the length of a normal vector and {job.doubt.draws} draws, seed {job.doubt.seed}"
        )
    if has_readings(job):
        found.append("brightener: least and most over all excitations from 300 to 420 nm that the readings allow")
    return found


def _ink_standards(job: Job) -> list[str]:
    if not job.ink.presses:
        return []
    return [
        "ISO 13655: light and observer of printed matter, in which a press's error is told",
        "ISO 20654: tone values of spot colours",
    ]


def _ink_formulae(job: Job) -> list[str]:
    """The models of the ink side that the job used."""
    found = []
    if job.ink.sets:
        found.append(
            "overprint: product of the internal transmittances of the double pass, film weight as exponent "
            "(Bouguer, Lambert, Beer)"
        )
    if any(one.surface.k1 or one.surface.k2 for one in job.ink.sets):
        found.append("surface: Saunderson 1942")
    if job.ink.presses:
        found.append(
            "press: Demichel's areas in the equation of Neugebauer with the Yule-Nielsen factor, cellular where a "
            "full grid was measured"
        )
        found.append("printable: the smallest CIEDE2000 to any colour of the press within its limits")
    media = {one.library.medium for one in job.ink.recipes}
    if media & {"paint", "film"}:
        found.append("recipe: Kubelka-Munk with absorption and scattering of each pigment (Duncan 1940)")
    if "cloth" in media:
        found.append("recipe: Kubelka-Munk with a single constant for each dye")
    if "inks" in media:
        found.append("recipe: premixed transparent inks by the law of Bouguer, Lambert and Beer")
    return found


_FOOD = (
    r"food|drink|tea|coffee|cocoa|chocolate|confectionery|snack|bakery|dairy|wine|juice|spice|cadd(?:y|ies)|lunch"
)
_SAFETY = r"safety|warning sign|hazard|emergency|exit sign|signal|traffic|fire sign|prohibition|hi-?vis"
_ULTRAVIOLET = r"uv|uv-a|ultra-?violet|black ?light|wood'?s lamp"
_STAGE = r"stage|studio|theat(?:re|er)|film set|broadcast|television|camera"


UV_CAUTION = "Ultraviolet lamps can harm eyes and skin: follow their maker's instructions and local rules."


def cautions(job: Job) -> tuple[str, ...]:
    """The usual cautions, each only where the job gives a reason for it."""
    from screenproof.proof.brightener import uv_cautions

    words = _words(job)
    found = []
    if any(group.samples.fluorescent for group in job.groups) or has_readings(job):
        found.append(
            "Fluorescent samples change with the ultraviolet in the light, which reflectance factors do not "
            f"tell: judge them in the real light. {UV_CAUTION}"
        )
    elif _says(_ULTRAVIOLET, words):
        found.append(UV_CAUTION)
    found += [
        f"{note.about}: {note.what}; {note.mend}."
        for note in uv_cautions([as_standard(job, one) for one in job.lights])
    ]
    if _says(_FOOD, words):
        found.append(
            "Nothing here says whether an ink may touch food or be printed on a package for food. That is for "
            "the ink maker, the converter and the authority in charge, by the rules of the country of sale."
        )
    if _says(_SAFETY, words):
        found.append(
            "Safety and signal colours must lie within the limits of the codes that apply (such as ISO 3864-4 and "
            "national rules), measured on the finished object by a competent body. A match on a screen shows "
            "nothing of that."
        )
    found += _ink_cautions(job)
    if any(observer.kind == "camera" for observer in job.observers) or _says(_STAGE, words):
        found.append(
            "Lamps and screens may flicker, which neither a spectrum nor a measured colour shows; cameras can "
            "show bands, and flashing light can harm people with photosensitive epilepsy. Test with the real "
            "camera and lamps, and follow the local rules; electric light on a stage is work for licensed people."
        )
    return tuple(found)


def _ink_cautions(job: Job) -> list[str]:
    """What a recipe and a predicted overprint do not decide."""
    if not job.ink:
        return []
    from screenproof.subtractive import OVERPRINT_CAUTION, RECIPE_CAUTION

    found = [OVERPRINT_CAUTION] if job.ink.sets or job.ink.presses else []
    return [*found, RECIPE_CAUTION] if job.ink.recipes else found


def _words(job: Job) -> str:
    parts = [job.title, job.note]
    for group in job.groups:
        parts += [group.group, group.source, *group.samples.names]
    parts += [light.name for light in job.lights]
    return " ".join(parts).lower().replace("_", " ")


def _says(pattern: str, words: str) -> bool:
    return re.search(rf"\b(?:{pattern})s?\b", words) is not None
