"""Mistakes in what a job says of eyes, instruments, doubt and brightener: each is told with its line and mend."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from screenproof.cli import main
from screenproof.errors import InputError
from screenproof.jobs import load_job
from screenproof.jobs.starter import new_job

READ = (Path(__file__).parents[2] / "profiles_demo" / "data" / "wide_readings.csv").as_posix()


@dataclass(frozen=True)
class Mistake:
    """A change to the starter job, the field and line that the message must name, and what else it must hold.

    ``line`` is a piece of the changed text: the message must give the number of the line on which it stands.
    """

    name: str
    change: Callable[[str], str]
    field: str
    line: str
    says: tuple[str, ...]


def swap(old: str, new: str) -> Callable[[str], str]:
    """Replace a piece of the job, which must be in it."""

    def change(text: str) -> str:
        assert old in text
        return text.replace(old, new, 1)

    return change


def people(more: str, *also: Callable[[str], str]) -> Callable[[str], str]:
    """The job with a population, on a display with spectra."""

    def change(text: str) -> str:
        text = swap('standard = "srgb"', 'technology = "rgb-oled"')(text)
        for one in also:
            text = one(text)
        return f"{text}\n[population]\n{more}\n"

    return change


def eye(more: str) -> Callable[[str], str]:
    """The job with another observer."""
    return swap("[[approvals]]", f"[[observers]]\n{more}\n\n[[approvals]]")


def samples(more: str) -> Callable[[str], str]:
    """The job with more said of its samples."""
    return swap('stock = "Stock"', f'stock = "Stock"\n{more}')


def display(more: str, source: str = 'readings = "screen.csv"') -> Callable[[str], str]:
    """The job with a display that was read, and more said of it."""
    return swap('standard = "srgb"\nluminance = 160\nblack = 0.2', f"{source}\n{more}")


def pair(more: str) -> Callable[[str], str]:
    """The job with its pair named otherwise."""
    return swap('a = "Slate"\nb = "Slate, mixed"', more)


PRODUCTION = samples('instrument = "production"')

MISTAKES = [
    Mistake(
        "an age out of range",
        eye('name = "child"\nage = 8'),
        "observers[1].age",
        "age = 8",
        ("age is 8", "20 to 80 years", "CIE 170-1:2006"),
    ),
    Mistake(
        "two values of an eye out of range",
        eye('name = "client"\nfield = 15\ndeutan = 30'),
        "observers[1].field",
        "field = 15",
        ("field is 15", "1 to 10 degrees", "observers[1].deutan", "deutan is 30", "0 to 20 nm"),
    ),
    Mistake(
        "an age for a camera",
        eye('name = "camera"\nfile = "cam.csv"\nage = 40'),
        "observers[1]",
        "[[observers]]",
        ("age beside a file: a camera has none", "remove age, or the file"),
    ),
    Mistake(
        "an age for a standard observer",
        eye('name = "cie1931"\nage = 60'),
        "observers[1].name",
        'name = "cie1931"',
        ("name of a standard observer, but age is given", "give the eye a name of its own"),
    ),
    Mistake(
        "an eye that is said twice",
        eye('name = "age=60,field=2"\nage = 50'),
        "observers[1]",
        "[[observers]]",
        ("says which eye this is, and age beside it again", "one or the other"),
    ),
    Mistake(
        "an eye with an unknown key in its name",
        eye('name = "age=60,feld=2"'),
        "observers[1].name",
        'name = "age=60',
        ("an eye has no 'feld'", "did you mean field=2?"),
    ),
    Mistake(
        "an eye misspelt as the viewing observer",
        swap('observer = "cie1931"', 'observer = "age=old"'),
        "viewing.observer",
        'observer = "age=old"',
        ("age is 'old'", "a number, 20 to 80 years"),
    ),
    Mistake(
        "an unknown key of an observer",
        eye('name = "client"\nyears = 60'),
        "observers[1].years",
        "years = 60",
        ("unknown key 'years'", "name, file, age, field, protan, deutan, tritan"),
    ),
    Mistake(
        "too few people",
        people("count = 5"),
        "population.count",
        "count = 5",
        ("the number 5 is out of range", "a number of 10 or more"),
    ),
    Mistake(
        "an unknown key of the population",
        people("cuont = 100"),
        "population.cuont",
        "cuont = 100",
        ("unknown key 'cuont'", "did you mean 'count'?"),
    ),
    Mistake(
        "ages the wrong way round",
        people("ages = [70, 30]"),
        "population",
        "[population]",
        ("ages from 70 to 30", "20 to 80 years, the younger first"),
    ),
    Mistake(
        "ages that are neither a span nor groups",
        people("ages = [20, 40, 60]"),
        "population",
        "[population]",
        ("cannot be read", "[[20, 39, 3], [40, 80, 1]]", "write ages = [20, 80]"),
    ),
    Mistake(
        "ages with no weight at all",
        people("ages = [[20, 40, 0], [40, 80, 0]]"),
        "population",
        "[population]",
        ("the weights [0.0, 0.0]", "not all of them 0"),
    ),
    Mistake(
        "a cost that has no effect",
        people("cost = 2.0"),
        "population",
        "[population]",
        ("cost has no effect", 'aim = "population"'),
    ),
    Mistake(
        "an unknown aim",
        people('aim = "people"'),
        "population.aim",
        'aim = "people"',
        ("'people' is not one of the choices", "observer, population"),
    ),
    Mistake(
        "people of whom nothing can be said",
        lambda text: text.split("[[pairs]]")[0] + "[population]\n\n[tolerances" + text.split("[tolerances", 1)[1],
        "population",
        "[population]",
        ("no display has spectra, and there are no pairs", "remove [population]"),
    ),
    Mistake(
        "drive values for people on a screen without spectra",
        lambda text: text + '\n[population]\naim = "population"\n',
        "population.aim",
        'aim = "population"',
        ("drive values cannot be made for the population: no display has spectra",),
    ),
    Mistake(
        "an unknown kind of instrument",
        samples('instrument = "prodution"'),
        "samples[1].instrument",
        'instrument = "prodution"',
        ("no class of instruments for objects is called 'prodution'", "did you mean 'production'?"),
    ),
    Mistake(
        "an unknown figure of an instrument",
        samples("instrument = { repeatabilty = 0.001 }"),
        "samples[1].instrument.repeatabilty",
        "instrument = {",
        ("unknown key 'repeatabilty'", "did you mean 'repeatability'?"),
    ),
    Mistake(
        "a screen's figure for samples",
        samples("instrument = { luminance = 0.01 }"),
        "samples[1].instrument.luminance",
        "instrument = {",
        ("unknown key 'luminance'", "agreement_scale"),
    ),
    Mistake(
        "a negative repeatability",
        samples("instrument = { repeatability = -0.001 }"),
        "samples[1].instrument.repeatability",
        "instrument = {",
        ("the number -0.001 is out of range", "a number of 0 or more"),
    ),
    Mistake(
        "no reading",
        samples('instrument = { kind = "basic", readings = 0 }'),
        "samples[1].instrument.readings",
        "instrument = {",
        ("the number 0 is out of range", "a number of 1 or more"),
    ),
    Mistake(
        "a figure of L*, a*, b* for curves",
        samples("instrument = { agreement = 0.2 }"),
        "samples[1].instrument.agreement",
        "instrument = {",
        ("agreement says nothing of these samples: their file has curves", "agreement_scale"),
    ),
    Mistake(
        "an instrument of which nothing is known",
        samples('instrument = { id = "press room" }'),
        "samples[1].instrument",
        "instrument = {",
        ("nothing is known of how well it reads these samples", "add kind = ..."),
    ),
    Mistake(
        "how often, but not how well",
        samples("instrument = { readings = 4 }"),
        "samples[1].instrument",
        "instrument = {",
        ("4 readings of each are stated, but not how well one of them repeats", "add kind = ..."),
    ),
    Mistake(
        "a repeatability in percent",
        samples("instrument = { repeatability = 0.3 }"),
        "samples[1].instrument.repeatability",
        "instrument = {",
        ("0.3 is 30% of what is read", "at most 0.1", "write 0.003 if 0.3 percent are meant"),
    ),
    Mistake(
        "an agreement of screens in percent",
        swap(
            'standard = "srgb"\nluminance = 160\nblack = 0.2',
            f'readings = "{READ}"\ninstrument = {{ kind = "basic", luminance = 2.0 }}',
        ),
        "displays[1].instrument.luminance",
        "instrument = {",
        ("200% of what is read", "at most 0.5", "write 0.02 if 2 percent are meant"),
    ),
    Mistake(
        "a light whose ultraviolet is known stated to have none",
        swap('standard = "A"', 'standard = "A"\nwithout_uv = true'),
        "lights[1].without_uv",
        "without_uv = true",
        ("the ultraviolet of A is known by its own spectrum", "begins above 300 nm"),
    ),
    Mistake(
        "an empty instrument",
        samples("instrument = {}"),
        "samples[1].instrument",
        "instrument = {}",
        ("nothing is said of it", 'write instrument = "production"'),
    ),
    Mistake(
        "an instrument for a display that nobody read",
        swap('standard = "srgb"', 'standard = "srgb"\ninstrument = "production"'),
        "displays[1]",
        "[[displays]]",
        ("a display from a standard was not read with any", "give the readings"),
    ),
    Mistake(
        "an unknown kind of instrument for a display",
        display('instrument = { kind = "colorimeter" }'),
        "displays[1].instrument.kind",
        "instrument = {",
        (
            "no class of instruments for screens is called 'colorimeter'",
            "reference, laboratory, production, basic",
        ),
    ),
    Mistake(
        "a risk out of range",
        lambda text: PRODUCTION(text) + "\n[doubt]\nrisk = 0.6\n",
        "doubt.risk",
        "risk = 0.6",
        ("the number 0.6 is out of range", "a number of 0.25 or less"),
    ),
    Mistake(
        "doubt of which nothing is known",
        lambda text: text + "\n[doubt]\nrisk = 0.01\n",
        "doubt",
        "[doubt]",
        ("nothing is known of any reading", "add instrument = ..."),
    ),
    Mistake(
        "one sample against a whole group",
        pair('a = "bookmark/*"\nb = "Slate, mixed"'),
        "pairs[1]",
        "[[pairs]]",
        ("a is a whole group and b is one sample", "'aims/*' and 'proof/*'"),
    ),
    Mistake(
        "a group against itself",
        pair('a = "bookmark/*"\nb = "bookmark/*"'),
        "pairs[1]",
        "[[pairs]]",
        ("the same group 'bookmark/*'", "name two groups"),
    ),
    Mistake(
        "a pair of a group that is not there",
        pair('a = "bookmark/*"\nb = "bookmarks/*"'),
        "pairs[1].b",
        'b = "bookmarks/*"',
        ("the job has no group 'bookmarks'", "did you mean 'bookmark'?"),
    ),
    Mistake(
        "a pair with an unknown tolerance set",
        pair('a = "Slate"\nb = "Slate, mixed"\ntolerance = "bokmark"'),
        "pairs[1].tolerance",
        'tolerance = "bokmark"',
        ("the job has no tolerance set 'bokmark'", "did you mean 'bookmark'?"),
    ),
    Mistake(
        "a lamp's readings without those that exclude ultraviolet",
        samples('incandescent = "colours.csv"'),
        "samples[1]",
        "[[samples]]",
        ("incandescent (M0) readings alone", "add uv_excluded"),
    ),
    Mistake(
        "readings without ultraviolet that are not there",
        samples('uv_excluded = "colors.csv"'),
        "samples[1].uv_excluded",
        'uv_excluded = "colors.csv"',
        ("there is no file 'colors.csv'", "did you mean 'colours.csv'?"),
    ),
    Mistake(
        "a light's ultraviolet that is no boolean",
        swap('standard = "LED-B3"', 'standard = "LED-B3"\nwithout_uv = "yes"'),
        "lights[3].without_uv",
        "without_uv",
        ("the text 'yes' is of the wrong kind", "true or false"),
    ),
]


def screen_readings() -> str:
    """Readings of an invented display, XYZ of sRGB primaries at 100 cd/m2 with a gamma of 2.2."""
    matrix = np.array([[41.24, 35.76, 18.05], [21.26, 71.52, 7.22], [1.93, 11.92, 95.05]])
    ramps = [mix for mix in product((0, 1), repeat=3) if any(mix)]
    codes = [(0, 0, 0), *(tuple(v * on for on in mix) for mix in ramps for v in range(32, 256, 32))]
    codes += [(255 * r, 255 * g, 255 * b) for r, g, b in ramps]
    rows = ["R,G,B,X,Y,Z"]
    for code in codes:
        xyz = matrix @ (np.array(code) / 255.0) ** 2.2 + 0.1
        rows.append(",".join(f"{value:.5g}" for value in (*code, *xyz)))
    return "\n".join(rows) + "\n"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return new_job(tmp_path / "job")[0]


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: mistake.name)
def test_a_mistake_of_eyes_or_doubt_is_told_with_its_place_and_mend(mistake, job):
    (job.parent / "screen.csv").write_text(screen_readings(), encoding="utf-8")
    text = job.read_text(encoding="utf-8")
    changed = mistake.change(text)
    assert changed != text
    job.write_text(changed, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_job(job)
    first = caught.value.problems[0]
    lines = [number for number, line in enumerate(changed.splitlines(), 1) if mistake.line in line]
    assert first.field == mistake.field and first.line in lines, str(first)
    said = str(caught.value)
    assert "job.toml" in said
    for piece in mistake.says:
        assert piece in said, f"{piece!r} is not in:\n{said}"


def test_the_command_ends_with_2_and_without_a_traceback(job, capsys):
    job.write_text(job.read_text(encoding="utf-8") + "\n[population]\ncount = 5\n", encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        main(["run", str(job)])
    printed = capsys.readouterr()
    assert ended.value.code == 2 and printed.out == "" and "Traceback" not in printed.err
    assert "population.count" in printed.err and not (job.parent / "out").exists()


def test_two_groups_without_a_name_in_common_are_told_what_they_have(job):
    proof = (job.parent / "colours.csv").read_text(encoding="utf-8")
    (job.parent / "proof.csv").write_text(proof.replace("\nStock,", "\nSheet,"), encoding="utf-8")
    text = pair('a = "bookmark/*"\nb = "proof/*"')(job.read_text(encoding="utf-8"))
    second = '[[samples]]\nfile = "proof.csv"\nonly = ["Sheet"]\n\n[[displays]]'
    job.write_text(text.replace("[[displays]]", second, 1), encoding="utf-8")
    with pytest.raises(InputError, match=r"pairs\[1\].*no sample of 'bookmark' has the name of one of 'proof'"):
        load_job(job)


def test_readings_with_ultraviolet_in_the_place_of_those_without_are_found_out(job):
    """M2 reads higher than M1 from 420 to 500 nm: ultraviolet only adds light, so the files are mixed up."""
    plain = (job.parent / "colours.csv").read_text(encoding="utf-8")
    brighter = re.sub(r",(0\.\d+)", lambda cell: f",{float(cell[1]) + 0.1:.4f}", plain)
    (job.parent / "m2.csv").write_text(brighter.replace("M1", "M2"), encoding="utf-8")
    text = samples('uv_excluded = "m2.csv"')(job.read_text(encoding="utf-8"))
    job.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=r"reads 0\.100 higher than with it") as caught:
        load_job(job)
    assert "exchange the files" in str(caught.value)
