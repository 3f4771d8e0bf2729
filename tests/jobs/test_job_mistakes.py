"""Mistakes in a job: each ends with exit code 2 and a text that names file, field and mend."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from screenproof.cli import main
from screenproof.errors import InputError
from screenproof.jobs import load_job
from screenproof.jobs.starter import new_job


@dataclass(frozen=True)
class Mistake:
    """A change to the starter job, and what the message must hold."""

    name: str
    change: Callable[[str], str]
    says: tuple[str, ...]


def swap(old: str, new: str) -> Callable[[str], str]:
    """Replace a piece of the job, which must be in it."""

    def change(text: str) -> str:
        assert old in text
        return text.replace(old, new, 1)

    return change


def add(more: str) -> Callable[[str], str]:
    """Add tables at the end."""
    return lambda text: f"{text}\n{more}\n"


def with_lights(more: str) -> Callable[[str], str]:
    return swap("[[approvals]]", f"[[lights]]\n{more}\n\n[[approvals]]")


COLORIMETRIC = "# light: D50\n# observer: cie1931\nname,LAB_L,LAB_A,LAB_B\nlone,50,10,10\n"

MISTAKES = [
    Mistake(
        "unknown key at the top", swap("note =", "notes ="), ("line 7, notes", "unknown key 'notes'", "'note'")
    ),
    Mistake(
        "unknown key in a table",
        swap('light = "D50"\nobs', 'lihgt = "D50"\nobs'),
        ("line 11, viewing.lihgt", "unknown key 'lihgt'", "did you mean 'light'?"),
    ),
    Mistake(
        "unknown key of a room",
        swap("illuminance = 64,", "illuminance = 64, colour = 3,"),
        ("displays[1].room.colour", "unknown key 'colour'", "illuminance, light, reflectance"),
    ),
    Mistake(
        "unknown table", add("[[light]]\nname = 'x'"), ("light: unknown key 'light'", "did you mean 'lights'?")
    ),
    Mistake("no version", swap("version = 1\n", ""), ("the version is missing", "version = 1")),
    Mistake(
        "another version", swap("version = 1", "version = 2"), ("line 5, version", "version 2", "version = 1")
    ),
    Mistake("version as a text", swap("version = 1", 'version = "1"'), ("version '1' is not known",)),
    Mistake("no title", swap("title =", "# title ="), ("title: the title is missing", 'add title = "..."')),
    Mistake(
        "empty title", swap('title = "First job: the colours of an invented bookmark"', 'title = " "'), ("title",)
    ),
    Mistake(
        "wrong type",
        swap("luminance = 160", 'luminance = "bright"'),
        ("displays[1].luminance", "the text 'bright' is of the wrong kind", "expected: a number"),
    ),
    Mistake(
        "boolean for a number", swap("black = 0.2", "black = true"), ("displays[1].black", "the boolean true")
    ),
    Mistake("bits 9", swap("bits = 8", "bits = 9"), ("viewing.bits", "the number 9", "expected: 8, 10, 12, 16")),
    Mistake(
        "unknown basis",
        swap('basis = "white"', 'basis = "wite"'),
        ("viewing.basis", "'wite'", "white, absolute, appearance", "did you mean 'white'?"),
    ),
    Mistake(
        "unknown light",
        swap('light = "D50"\nobs', 'light = "D51"\nobs'),
        ("line 11, viewing.light", "no light is called 'D51'", "D50"),
    ),
    Mistake(
        "unknown standard light",
        swap('standard = "FL11"', 'standard = "F11x"'),
        ("lights[2].standard", "'F11x'", "FL11"),
    ),
    Mistake(
        "the job's own light misspelt",
        swap('light = "D50"\nobs', 'light = "home lmap"\nobs'),
        ("viewing.light", "'home lmap'", "did you mean 'home lamp'?"),
    ),
    Mistake(
        "a light with a standard's name that is another",
        with_lights('name = "D65"\nstandard = "A"'),
        ("lights[4].name", "is the name of a standard light", "a name of its own"),
    ),
    Mistake("unknown observer", swap('"cie1931"', '"1931"'), ("viewing.observer", "1931", "mean 'cie1931'?")),
    Mistake(
        "a former name of the viewing observer",
        swap('"cie1931"', '"1931-2"'),
        ("line 12, viewing.observer: the observer '1931-2' is called cie1931 now", "write cie1931"),
    ),
    Mistake(
        "a former name of an observer",
        swap("[[approvals]]", "[[observers]]\nname = '1964-10'\n\n[[approvals]]"),
        ("line 46, observers[1].name: the observer '1964-10' is called cie1964 now",),
    ),
    Mistake(
        "one observer by two names",
        swap("[[approvals]]", "[[observers]]\nname = 'cie1964'\n\n[[observers]]\nname = '10'\n\n[[approvals]]"),
        ("observers[2].name: '10' and 'cie1964' are one observer, cie1964", "remove one"),
    ),
    Mistake(
        "an eye that is called by a field",
        swap("[[approvals]]", "[[observers]]\nname = '10'\nage = 60\n\n[[approvals]]"),
        ("observers[1].name: '10' is the name of a standard observer, but age is given", "a name of its own"),
    ),
    Mistake(
        "unknown display",
        swap('standard = "srgb"', 'standard = "sgrb"'),
        ("displays[1].standard", "'sgrb'", "srgb, bt709, p3-d65, bt2020"),
    ),
    Mistake(
        "two sources of a display",
        swap('standard = "srgb"', 'standard = "srgb"\ntechnology = "laser"'),
        ("displays[1]: given are standard and technology", "exactly one of"),
    ),
    Mistake(
        "no source of a display",
        swap('standard = "srgb"\n', ""),
        (
            "displays[1]: none of them is given",
            "exactly one of standard, profile, readings, technology, primaries",
        ),
    ),
    Mistake(
        "duplicate display names",
        swap("[[lights]]", '[[displays]]\nname = "office"\nstandard = "p3-d65"\n\n[[lights]]'),
        ("displays[2].name", "displays[1] is called 'office' already", "a name of its own"),
    ),
    Mistake(
        "duplicate light names", swap('name = "shop LED"', 'name = "home lamp"'), ("lights[3].name", "already")
    ),
    Mistake(
        "black above white", swap("black = 0.2", "black = 200"), ("displays[1]", "black is 200 cd/m2", "160 cd/m2")
    ),
    Mistake(
        "a curve for a profile",
        swap('standard = "srgb"', 'profile = "x.icc"\ncurve = "pq"'),
        ("displays[1]: curve cannot be set", "the profile already says it", "leave curve out"),
    ),
    Mistake(
        "unknown curve", swap('standard = "srgb"', 'standard = "srgb"\ncurve = "gama"'), ("displays[1]", "gama")
    ),
    Mistake(
        "reflectance above 1",
        swap("reflectance = 0.01", "reflectance = 4"),
        ("displays[1].room.reflectance", "a number of 1 or less"),
    ),
    Mistake(
        "missing samples file",
        swap('file = "colours.csv"', 'file = "colors.csv"'),
        ("samples[1].file", "there is no file 'colors.csv'", "did you mean 'colours.csv'?"),
    ),
    Mistake("samples are a folder", swap('file = "colours.csv"', 'file = "."'), ("samples[1].file", "a folder")),
    Mistake(
        "missing profile",
        swap('standard = "srgb"\nluminance = 160\nblack = 0.2', 'profile = "mine.icc"'),
        ("displays[1].profile", "there is no file 'mine.icc'", "the folder of the job file"),
    ),
    Mistake(
        "no such stock",
        swap('stock = "Stock"', 'stock = "Stok"'),
        ("samples[1].stock", "colours.csv has no sample 'Stok'", "did you mean 'Stock'?"),
    ),
    Mistake(
        "stock as white without a stock",
        lambda text: text.replace('stock = "Stock"\n', "").replace("bits = 8", 'bits = 8\nobject_white = "stock"'),
        ("samples[1].stock", "no stock is named here", 'object_white = "diffuser"'),
    ),
    Mistake(
        "only what is not there",
        swap('stock = "Stock"', 'only = ["Plum", "Plumb"]'),
        ("samples[1].only[2]", "'Plumb'", "did you mean 'Plum'?"),
    ),
    Mistake("only nothing", swap('stock = "Stock"', "only = []"), ("samples[1].only", "at least 1")),
    Mistake(
        "no samples at all",
        swap('[[samples]]\nfile = "colours.csv"\ngroup = "bookmark"\nstock = "Stock"', ""),
        ("samples: the job has no samples", "add [[samples]]"),
    ),
    Mistake("samples as one table", swap("[[samples]]", "[samples]"), ("samples: a single table", "[[samples]]")),
    Mistake(
        "approval of a missing sample",
        swap('sample = "Plum"', 'sample = "Plumb"'),
        ("approvals[1].sample", "the job has no sample 'Plumb'", "did you mean 'Plum'?"),
    ),
    Mistake(
        "approval on a missing display",
        swap('display = "office"', 'display = "ofice"'),
        ("approvals[1].display", "the job has no display 'ofice'", "did you mean 'office'?"),
    ),
    Mistake(
        "code out of range for its bits",
        swap("code = [132, 78, 150]", "code = [132, 78, 300]"),
        ("approvals[1]", "out of range for 8 bits", "0 to 255", "set bits"),
    ),
    Mistake(
        "code of two", swap("code = [132, 78, 150]", "code = [132, 78]"), ("approvals[1].code", "red, green, blue")
    ),
    Mistake(
        "code with a fraction", swap("[132, 78, 150]", "[0.5, 78, 150]"), ("approvals[1].code", "a whole number")
    ),
    Mistake(
        "approval with an unknown tolerance",
        swap('sample = "Plum"', 'sample = "Plum"\ntolerance = "strict"'),
        ("approvals[1].tolerance", "the job has no tolerance set 'strict'", "bookmark"),
    ),
    Mistake("pair of a missing sample", swap('a = "Slate"', 'a = "Slat"'), ("pairs[1].a", "'Slat'", "'Slate'")),
    Mistake("pair of one sample", swap('b = "Slate, mixed"', 'b = "Slate"'), ("pairs[1]", "the same sample")),
    Mistake(
        "bad tolerance metric",
        swap('metric = "de00"', 'metric = "de2000"'),
        ("tolerances.bookmark.metric", "unknown metric 'de2000'", "de00, deab, cmc, cam16ucs"),
    ),
    Mistake("negative limit", swap("match = 1.0", "match = -1.0"), ("line ", "tolerances.bookmark.match", "-1.0")),
    Mistake("unknown limit", swap("match = 1.0", "mach = 1.0"), ("tolerances.bookmark.mach", "'match'")),
    Mistake(
        "unknown default set",
        swap('default = "bookmark"', 'default = "bokmark"'),
        ("tolerances.default", "there is no tolerance set 'bokmark'", "did you mean 'bookmark'?"),
    ),
    Mistake(
        "two sets and no default",
        lambda text: text.replace('default = "bookmark"', "") + "\n[tolerances.other]\nmatch = 2.0\n",
        ("tolerances.default", "none is the default", "bookmark, other"),
    ),
    Mistake(
        "missing tolerance file",
        lambda text: text.split("[tolerances]")[0] + '[tolerances]\nfile = "limits.toml"\n',
        ("tolerances.file", "there is no file", "limits.toml"),
    ),
    Mistake(
        "unknown patches", swap('patches = "tiff"', 'patches = "jpeg"'), ("output.patches", "tiff, png, none")
    ),
    Mistake("syntax error", swap('name = "office"', "name = office"), ("line 24", "not valid TOML", "in quotes")),
    Mistake("key twice", swap("version = 1", "version = 1\nversion = 1"), ("not valid TOML", "line 6")),
    Mistake("cut short", lambda text: text[:200] + '\ntitle = "', ("not valid TOML", "line 4", "end of the file")),
    Mistake("nothing in it", lambda text: "", ("the version is missing", "the title is missing", "no samples")),
]


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return new_job(tmp_path / "job")[0]


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: mistake.name)
def test_a_mistake_is_told_with_its_place_and_mend(mistake, job, capsys):
    text = job.read_text(encoding="utf-8")
    changed = mistake.change(text)
    assert changed != text
    job.write_text(changed, encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        main(["run", str(job)])
    printed = capsys.readouterr()
    assert ended.value.code == 2
    assert printed.out == ""
    assert "Traceback" not in printed.err
    assert "job.toml" in printed.err
    for piece in mistake.says:
        assert piece.lower() in printed.err.lower(), f"{piece!r} is not in:\n{printed.err}"
    assert not (job.parent / "out").exists()


def refused(path: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """What running a job prints when it is refused."""
    with pytest.raises(SystemExit) as ended:
        main(["run", str(path)])
    printed = capsys.readouterr()
    assert ended.value.code == 2 and printed.out == ""
    return printed.err


def test_a_job_that_is_not_there(tmp_path, capsys):
    (tmp_path / "packaging.toml").write_text("", encoding="utf-8")
    text = refused(tmp_path / "packging.toml", capsys)
    assert "there is no file" in text and "did you mean" in text and "packaging.toml" in text


def test_a_job_that_is_a_folder(job, capsys):
    text = refused(job.parent, capsys)
    assert "this is a folder" in text and "job.toml" in text


def test_a_job_that_is_no_text(tmp_path, capsys):
    path = tmp_path / "photo.toml"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\x00\xff")
    assert "not UTF-8" in refused(path, capsys)


def test_a_job_in_latin_1_names_the_line(tmp_path, capsys):
    path = tmp_path / "old.toml"
    path.write_bytes('version = 1\ntitle = "Grün"\n'.encode("latin-1"))
    text = refused(path, capsys)
    assert "old.toml, line 2" in text and "UTF-8" in text


def test_a_byte_order_mark_does_no_harm(job):
    data = job.read_bytes()
    job.write_bytes(b"\xef\xbb\xbf" + data)
    assert load_job(job).title.startswith("First job")


def test_all_mistakes_are_told_at_once(job):
    text = job.read_text(encoding="utf-8")
    for old, new in (
        ("bits = 8", "bits = 9"),
        ('file = "colours.csv"', 'file = "colors.csv"'),
        ('standard = "A"', 'standard = "AA"'),
        ('display = "office"', 'display = "ofice"'),
        ("match = 1.0", "match = -1.0"),
        ('patches = "tiff"', 'patch = "tiff"'),
    ):
        text = text.replace(old, new)
    job.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_job(job)
    fields = [problem.field for problem in caught.value.problems]
    assert fields == [
        "viewing.bits",
        "output.patch",
        "lights[1].standard",
        "samples[1].file",
        "tolerances.bookmark.match",
        "approvals[1].display",
    ]
    assert all(problem.line is not None for problem in caught.value.problems)


def test_a_bad_input_file_is_told_with_its_own_line(job, capsys):
    colours = job.parent / "colours.csv"
    lines = colours.read_text(encoding="utf-8").splitlines()
    lines[8] = lines[8].replace("0.", "x.", 1)
    colours.write_text("\n".join(lines) + "\n", encoding="utf-8")
    text = refused(job, capsys)
    assert "colours.csv, line 9" in text and "no number" in text


def test_colorimetric_samples_of_another_light_are_refused_with_the_reason(job, capsys):
    (job.parent / "lab.csv").write_text(COLORIMETRIC.replace("D50", "D65"), encoding="utf-8")
    text = job.read_text(encoding="utf-8").replace(
        "[[displays]]", '[[samples]]\nfile = "lab.csv"\n\n[[displays]]', 1
    )
    job.write_text(text, encoding="utf-8")
    said = refused(job, capsys)
    assert "lab.csv" in said and "D65" in said and "reflectance curves" in said


def test_a_name_that_two_groups_use_needs_its_group(job, capsys):
    other = job.parent / "other.csv"
    other.write_bytes((job.parent / "colours.csv").read_bytes())
    text = job.read_text(encoding="utf-8").replace(
        "[[displays]]", '[[samples]]\nfile = "other.csv"\nonly = ["Plum"]\n\n[[displays]]', 1
    )
    job.write_text(text, encoding="utf-8")
    said = refused(job, capsys)
    assert "approvals[1].sample" in said and "'bookmark/Plum' or 'other/Plum'" in said
    job.write_text(text.replace('sample = "Plum"', 'sample = "other/Plum"'), encoding="utf-8")
    loaded = load_job(job)
    assert loaded.find("other/Plum") == (1, 0)
    assert loaded.name_of(1, 0) == "other/Plum" and loaded.name_of(0, 0) == "Stock"


def test_one_name_in_two_files_of_one_group_is_refused(job, capsys):
    other = job.parent / "other.csv"
    other.write_bytes((job.parent / "colours.csv").read_bytes())
    text = job.read_text(encoding="utf-8").replace(
        "[[displays]]", '[[samples]]\nfile = "other.csv"\ngroup = "bookmark"\nonly = ["Moss"]\n\n[[displays]]', 1
    )
    job.write_text(text, encoding="utf-8")
    said = refused(job, capsys)
    assert "'Moss' of group 'bookmark' is in colours.csv too" in said and "different groups" in said


def test_a_camera_cannot_be_the_viewing_observer(job, capsys):
    nm = range(400, 701, 10)
    rows = [f"{n},{max(0, 1 - abs(n - 600) / 99):.3f},{max(0, 1 - abs(n - 540) / 99):.3f},"
            f"{max(0, 1 - abs(n - 450) / 99):.3f}" for n in nm]  # fmt: skip
    (job.parent / "cam.csv").write_text("wavelength,red,green,blue\n" + "\n".join(rows) + "\n", encoding="utf-8")
    text = job.read_text(encoding="utf-8")
    text = text.replace('observer = "cie1931"', 'observer = "eye of glass"')
    text = text.replace("[[approvals]]", '[[observers]]\nname = "eye of glass"\nfile = "cam.csv"\n\n[[approvals]]')
    job.write_text(text, encoding="utf-8")
    said = refused(job, capsys)
    assert "viewing.observer" in said and "is a camera" in said
