"""Mistakes on the ink side: exit code 2, nothing on standard output, the file or option, the fault, how to mend
it.

A row may change one file of the invented shop first (see tests/ink_scenes.py).
"""

# ruff: noqa: E501  (a table is read best with one row on a line)
from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from tests.ink_scenes import NM, chart, chart_csv, chart_rows, samples_csv, write_shop

Change = Callable[[Path], None]


@dataclass(frozen=True)
class Mistake:
    """A command line, what is spoilt before, and what the message must hold."""

    name: str
    words: tuple[str, ...]
    says: tuple[str, ...]
    change: Change | None = None


def edit(file: str, old: str, new: str) -> Change:
    def change(folder: Path) -> None:
        text = (folder / file).read_text(encoding="utf-8")
        assert old in text, old
        (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8")

    return change


def press_rows(spoil: Callable[[list[list[str]]], list[list[str]]]) -> Change:
    def change(folder: Path) -> None:
        rows = spoil(chart_rows(chart()))
        (folder / "press.csv").write_text(chart_csv(rows=rows), encoding="utf-8")

    return change


def without(*tints: str) -> Change:
    return press_rows(lambda rows: [row for row in rows if tuple(row[1:5]) != tints])


def backwards(rows: list[list[str]]) -> list[list[str]]:
    """The tints of two steps of the ramp of cyan exchanged."""
    a = next(row for row in rows if row[1:5] == ["25", "0", "0", "0"])
    b = next(row for row in rows if row[1:5] == ["85", "0", "0", "0"])
    a[1], b[1] = b[1], a[1]
    return rows


def misread(rows: list[list[str]]) -> list[list[str]]:
    return [*rows, ["again", *rows[40][1:5], *rows[3][5:]]]


def colorimetric(folder: Path) -> None:
    text = "# light: D50\n# observer: cie1931\nname,L,a,b\nBoard,94,0,2\nCyan,55,-35,-50\nMagenta,48,74,-3\n"
    (folder / "inks.csv").write_text(text, encoding="utf-8")


def other_grid(folder: Path) -> None:
    lines = ["# unit: fraction", "name,400,450,500,550,600,650,700", "Kraft,0.2,0.2,0.3,0.4,0.5,0.5,0.6"]
    (folder / "kraft.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def covering(folder: Path) -> None:
    """An ink that reads lighter than the stock it lies on."""
    curves = {"Slate": np.full(NM.size, 0.05), "Cream": np.full(NM.size, 0.6)}
    (folder / "slate.csv").write_text(samples_csv(curves), encoding="utf-8")


def black_reading(folder: Path) -> None:
    curves = {"Board": np.full(NM.size, 0.8), "Void": np.zeros(NM.size)}
    (folder / "void.csv").write_text(samples_csv(curves), encoding="utf-8")


OVER = ("overprint", "inks.csv", "--stock", "Board")
OTHER_STOCK = ("other-stock", "inks.csv", "--stock", "Board", "--ink", "Cyan")
FIND = ("recipe", "find", "letdowns.csv")
TARGET = ("target.csv",)
CORRECT = ("recipe", "correct", "letdowns.csv", *TARGET, "--trial", "trial.csv")

MISTAKES = [
    # overprint and other-stock
    Mistake("no such file", ("overprint", "ink.csv", *OVER[2:], "--inks", "Cyan"), ("'ink.csv'", "did you mean")),
    Mistake("no such ink", (*OVER, "--inks", "Cian"), ("--inks", "'Cian'", "did you mean 'Cyan'?")),
    Mistake("two such inks", (*OVER, "--inks", "Cian,Yelow"), ("'Cian'", "'Yelow'")),
    Mistake("an ink twice", (*OVER, "--inks", "Cyan,Cyan"), ("--inks", "Cyan stands twice")),
    Mistake("no ink", (*OVER, "--inks", ","), ("--inks", "no name is given")),
    Mistake("the stock as an ink", (*OVER, "--inks", "Board,Cyan"), ("'Board' is the stock and an ink",)),
    Mistake("no such stock", ("overprint", "inks.csv", "--stock", "Bord", "--inks", "Cyan"), ("--stock", "'Board'")),
    Mistake("only Lab", (*OVER, "--inks", "Cyan"), ("inks.csv", "only XYZ or Lab", "band by band"), colorimetric),
    Mistake(
        "a stock darker than the ink",
        ("overprint", "slate.csv", "--stock", "Slate", "--inks", "Cream"),
        ("slate.csv", "the stock Slate is darker than Cream on it", "were not swapped"),
        covering,
    ),
    Mistake(
        "a reading of nothing",
        ("overprint", "void.csv", "--stock", "Board", "--inks", "Void"),
        ("void.csv", "a reflectance of 0 at 400", "more than 0 in every band"),
        black_reading,
    ),
    Mistake("a film weight below 0", (*OVER, "--inks", "Cyan", "--film", "Cyan=-1"), ("--film", "0 or above")),
    Mistake("a film weight of words", (*OVER, "--inks", "Cyan", "--film", "Cyan=thin"), ("--film", "'thin'")),
    Mistake("a film weight of nobody", (*OVER, "--inks", "Cyan", "--film", "Yellow=1"), ("--film", "'Yellow'")),
    Mistake("a film weight without a name", (*OVER, "--inks", "Cyan", "--film", "0.9"), ("--film", "Cyan=0.9")),
    Mistake("k1 of 1", (*OVER, "--inks", "Cyan", "--k1", "1"), ("--k1", "a share from 0 to below 1")),
    Mistake("k2 and an index", (*OVER, "--inks", "Cyan", "--k2", "0.5", "--index", "1.5"), ("--index", "either")),
    Mistake("an index below 1", (*OVER, "--inks", "Cyan", "--index", "0.9"), ("--index", "refractive index of 0.9")),
    Mistake("specular alone", (*OVER, "--inks", "Cyan", "--specular", "excluded"), ("--specular", "--k1 and --k2")),
    Mistake(
        "readings below the surface",
        (*OVER, "--inks", "Black", "--k1", "0.2", "--specular", "included"),
        ("inks.csv", "0.2"),
    ),
    Mistake(
        "trapping of nothing measured",
        (*OVER, "--inks", "Cyan,Black", "--fit-trapping"),
        ("--fit-trapping", "no measured overprint", "'Cyan + Black'"),
    ),
    Mistake("a limit of nothing", (*OVER, "--inks", "Cyan", "--limit", "1"), ("--limit", "nothing is judged")),
    Mistake("no such partner", (*OVER, "--inks", "Cyan,Yellow", "--measured", "Gren"), ("--measured", "'Gren'")),
    Mistake("an unknown light", (*OVER, "--inks", "Cyan", "--light", "D51"), ("D51", "D50")),
    Mistake("an unknown ending", (*OVER, "--inks", "Cyan", "-o", "out.pdf"), ("out.pdf", ".csv")),
    Mistake("an output in no folder", (*OVER, "--inks", "Cyan", "-o", "no/out.csv"), ("--out", "no folder")),
    Mistake("no such other stock", (*OTHER_STOCK, "--onto", "Kraft"), ("--onto", "'Kraft'", "inks.csv")),
    Mistake(
        "another grid",
        (*OTHER_STOCK, "--onto", "Kraft", "--onto-file", "kraft.csv"),
        ("400 to 700 nm by 50 nm", "by 20 nm", "nothing is resampled"),
        other_grid,
    ),
    Mistake(
        "no white to weigh", (*OTHER_STOCK, "--onto", "Board", "--underprint-weight", "2"), ("--underprint-weight",)
    ),
    Mistake(
        "a white that is none",
        (*OTHER_STOCK, "--onto", "Board", "--underprint", "kraft.csv"),
        ("kraft.csv", "'over black'", "name them so"),
    ),
    # press fit
    Mistake("no tints", ("press", "fit", "inks.csv"), ("inks.csv", "no tints stand beside the readings")),
    Mistake("a ramp that goes back", ("press", "fit", "press.csv"), ("press.csv", "ramp of Cyan goes back"), press_rows(backwards)),
    Mistake(
        "a missing solid",
        ("press", "fit", "press.csv"),
        ("press.csv", "no solid of Magenta", "100 %"),
        without("0", "100", "0", "0"),
    ),
    Mistake("no bare stock", ("press", "fit", "press.csv"), ("press.csv", "no patch of the bare stock"), without("0", "0", "0", "0")),
    Mistake(
        "doubles that disagree",
        ("press", "fit", "press.csv"),
        ("press.csv", "p41 and again", "CIEDE2000", "misread or mislabelled"),
        press_rows(misread),
    ),
    Mistake(
        "an unknown channel",
        ("press", "fit", "press.csv"),
        ("press.csv, line 4", "no column is called 'Magnta'", "did you mean 'Magenta'?"),
        edit("press.csv", "# channels: Cyan, Magenta", "# channels: Cyan, Magnta"),
    ),
    Mistake(
        "a constant channel",
        ("press", "fit", "press.csv"),
        ("Black is 0 % in every patch", "leave the channel out"),
        press_rows(lambda rows: [[*row[:4], "0", *row[5:]] for row in rows if row[4] == "0"]),
    ),
    Mistake("tints above the solid", ("press", "fit", "press.csv"), ("a device value of 140",), press_rows(lambda rows: [*rows, ["x", "140", "0", "0", "0", *rows[0][5:]]])),
    Mistake("a factor below 1", ("press", "fit", "press.csv", "--n", "0.5"), ("0.5", "1")),
    Mistake("no such channel", ("press", "fit", "press.csv", "--channels", "Cyan,Blak"), ("--channels", "'Blak'", "did you mean 'Black'?")),
    Mistake("levels without a solid", ("press", "fit", "press.csv", "--levels", "0,40"), ("--levels", "0 and 100 among them")),
    Mistake("levels of words", ("press", "fit", "press.csv", "--levels", "low,high"), ("--levels", "0,40,100")),
    Mistake("the press as its own input", ("press", "fit", "press.csv", "-o", "press.csv", "--force"), ("press.csv", "the input itself")),
    Mistake("a press that exists", ("press", "fit", "press.csv", "-o", "batch.csv"), ("batch.csv", "the file exists", "--force")),
    Mistake("a press as its characterisation", ("press", "fit", "press.json"), ("press.json", "this is a press, fitted already"), lambda folder: (folder / "press.json").write_text('{"schema": "screenproof-press/1"}') and None),
    # press predict, press separate, printable
    Mistake("a damaged press", ("press", "predict", "broken.json", "tints.csv"), ("broken.json", "this is no JSON", "cut short"), lambda folder: (folder / "broken.json").write_text('{"schema": "screenproof-press/1", ') and None),
    Mistake("a tint list without a channel", ("press", "predict", "press.csv", "tints.csv"), ("tints.csv", "no column for the channel Black", "0 where the ink is not printed"), edit("tints.csv", ",Black", ",Blakk")),
    Mistake("an ink that the press has not", ("press", "predict", "press.csv", "tints.csv"), ("tints.csv, line 2", "the press has no channel 'Orange'"), lambda folder: (folder / "tints.csv").write_text("# tints: percent\nname,Cyan,Magenta,Yellow,Black,Orange\na,1,2,3,4,50\n") and None),
    Mistake("a tint of 130", ("press", "predict", "press.csv", "tints.csv"), ("tints.csv, line 3", "a tint of 130", "0 (bare stock) to 100 (solid)"), edit("tints.csv", "t1,50", "t1,130")),
    Mistake("a unit that cannot be told", ("press", "predict", "press.csv", "tints.csv"), ("a solid, or one percent?",), lambda folder: (folder / "tints.csv").write_text("name,Cyan,Magenta,Yellow,Black\na,1,0,0,1\n") and None),
    Mistake("tints without a partner", ("press", "predict", "press.csv", "tints.csv", "--against", "inks.csv"), ("inks.csv", "2 tints have no measured sample: t1 and t2")),
    Mistake("a limit without a partner", ("press", "predict", "press.csv", "tints.csv", "--limit", "1"), ("--limit", "--against")),
    Mistake("a total of 0", ("press", "separate", "press.csv", "target.csv", "--total", "0"), ("--total", "above 0")),
    Mistake("a total of 900", ("press", "separate", "press.csv", "target.csv", "--total", "900"), ("--total", "up to 400 for 4 channels")),
    Mistake("a limit on nobody", ("press", "separate", "press.csv", "target.csv", "--channel-limit", "Key=90"), ("--channel-limit", "'Key'", "Black")),
    Mistake("a limit above the solid", ("press", "separate", "press.csv", "target.csv", "--channel-limit", "Black=120"), ("--channel-limit", "100 or less")),
    Mistake("an unknown black", ("press", "separate", "press.csv", "target.csv", "--black", "mots"), ("--black", "'mots'", "did you mean 'most'?")),
    Mistake("other lights without curves", ("press", "separate", "press.csv", "lab.csv", "--to", "A"), ("lab.csv", "--to", "have no curves"), lambda folder: (folder / "lab.csv").write_text("# light: D50\n# observer: cie1931\nname,L,a,b\nx,50,0,0\n") and None),
    Mistake("nothing to look for", ("printable", "press.csv"), ("SAMPLES", "--display NAME_OR_FILE with --code")),
    Mistake("two things to look for", ("printable", "press.csv", "inks.csv", "--display", "srgb", "--code", "1,2,3"), ("give one of the two",)),
    Mistake("a display without a code", ("printable", "press.csv", "--display", "srgb"), ("--display", "add --code")),
    Mistake("a code without a display", ("printable", "press.csv", "inks.csv", "--code", "1,2,3"), ("--code", "add --display")),
    Mistake("a code of two", ("printable", "press.csv", "--display", "srgb", "--code", "10,20"), ("--code", "'10,20' is no code", "0,128,255")),
    Mistake("a code beyond its bits", ("printable", "press.csv", "--display", "srgb", "--code", "10,20,300"), ("code 10, 20, 300", "0 to 255 at 8 bits")),
    Mistake("the old name", ("reach", "press.csv", "--samples", "inks.csv"), ("'reach' is called printable now", "write screenproof printable")),
    Mistake("the old option", ("printable", "press.csv", "--samples=inks.csv"), ("--samples", "stand behind the press", "printable PRESS SAMPLES")),
    Mistake("a depth without a display", ("printable", "press.csv", "inks.csv", "--bits", "10"), ("--bits", "no display takes part")),
    Mistake("an own stock without a display", ("printable", "press.csv", "inks.csv", "--own-stock"), ("--own-stock", "no display takes part")),
    Mistake("an instrument without samples", ("printable", "press.csv", "--display", "srgb", "--code", "1,2,3", "--limit", "1", "--instrument", "basic"), ("--instrument", "no samples take part")),
    Mistake("a risk without a limit", ("printable", "press.csv", "inks.csv", "--risk", "0.1"), ("--risk", "no limit", "add --limit")),
    Mistake("an instrument for nothing measured", ("press", "predict", "press.csv", "tints.csv", "--instrument", "basic"), ("--instrument", "no limit to decide by")),
    # recipes
    Mistake("no target", FIND, ("SAMPLES with --name", "--display NAME_OR_FILE with --code")),
    Mistake("two targets", (*FIND, *TARGET, "--display", "srgb", "--code", "1,2,3"), ("two targets",)),
    Mistake("several samples and no name", (*FIND, "inks.csv"), ("inks.csv has 9 samples", "name it by --name")),
    Mistake("no such target", (*FIND, *TARGET, "--name", "Lit"), ("--name", "'Lit'", "did you mean 'Lid'?")),
    Mistake("a target on another grid", (*FIND, "kraft.csv", "--name", "Kraft"), ("by 50 nm", "by 20 nm", "nothing is resampled"), other_grid),
    Mistake("letdowns without a masstone", (*FIND, *TARGET), ("letdowns.csv, line 19", "no masstone", "Yellow ochre"), edit("letdowns.csv", "Yellow ochre,1,", "Yellow ochre,0.95,")),
    Mistake("a concentration of 40", (*FIND, *TARGET), ("letdowns.csv, line 12", "a concentration of 40", "# concentration: percent"), edit("letdowns.csv", "Red earth,0.4,", "Red earth,40,")),
    Mistake("no white", (*FIND, *TARGET), ("letdowns.csv", "no reading of the base 'White'"), edit("letdowns.csv", "\nWhite,1", "\nWeiss,1")),
    Mistake("a library that is none", ("recipe", "find", "inks.csv", *TARGET), ("inks.csv", "no column 'pigment'")),
    Mistake("a press as a library", ("recipe", "find", "press.json", *TARGET), ("press.json", "JSON of another kind", "name the file of the letdowns"), lambda folder: (folder / "press.json").write_text('{"schema": "screenproof-press/1"}') and None),
    Mistake("a batch of 0 kg", (*FIND, *TARGET, "--batch", "0"), ("0 kg", "above 0")),
    Mistake("no component", (*FIND, *TARGET, "--components", "0"), ("--components", "a number of 1 or more")),
    Mistake("to do without nobody", (*FIND, *TARGET, "--without", "Bleu"), ("--without", "'Bleu'", "did you mean 'Blue'?")),
    Mistake("a stock for paint", (*FIND, *TARGET, "--stock-file", "kraft.csv", "--stock", "Kraft"), ("a film needs a stock below it and a thickness",)),
    Mistake("a stock without its file", (*FIND, *TARGET, "--stock", "Kraft"), ("--stock", "--stock-file")),
    Mistake("a scale coarser than the batch", (*FIND, *TARGET, "--resolution", "5"), ("resolution", "5 kg")),
    Mistake("an unknown component in the batch", (*CORRECT, "--batch", "batch.csv"), ("batch.csv", "no component 'Read earth'", "did you mean 'Red earth'?"), edit("batch.csv", "Red earth", "Read earth")),
    Mistake("a batch of nothing", (*CORRECT, "--batch", "White=0"), ("a batch of nothing",)),
    Mistake("a batch without amounts", (*CORRECT, "--batch", "White=some"), ("--batch", "'some' is no number")),
    Mistake("amounts in stones", (*CORRECT, "--batch", "batch.csv"), ("batch.csv, line 2", "amounts in 'stone'", "kg, g"), edit("batch.csv", "# unit: kg", "# unit: stone")),
    Mistake("no trial of that name", (*CORRECT, "--batch", "batch.csv", "--trial-name", "Second"), ("--trial-name", "'Second'")),
    Mistake("a growth of nothing", (*CORRECT, "--batch", "batch.csv", "--growth", "0"), ("growth",)),
    Mistake("to allow nobody", (*CORRECT, "--batch", "batch.csv", "--allow", "Bleu"), ("'Bleu'", "Blue")),
]  # fmt: skip


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda one: one.name)
def test_a_mistake_is_told_in_words(mistake, tmp_path, cli, monkeypatch):
    write_shop(tmp_path)
    if mistake.change is not None:
        mistake.change(tmp_path)
    monkeypatch.chdir(tmp_path)
    done = cli(*mistake.words)
    assert done.code == 2 and done.out == "", done.out
    assert "Traceback" not in done.err
    for part in mistake.says:
        assert part in done.err, done.err


def test_there_are_many_kinds():
    assert len(MISTAKES) >= 75 and len({one.name for one in MISTAKES}) == len(MISTAKES)


def test_nothing_is_written_when_the_input_cannot_be_used(tmp_path, cli, monkeypatch):
    write_shop(tmp_path)
    press_rows(backwards)(tmp_path)
    monkeypatch.chdir(tmp_path)
    before = sorted(path.name for path in tmp_path.iterdir())
    assert cli("press", "fit", "press.csv", "-o", "press.json").code == 2
    assert cli("press", "predict", "press.csv", "tints.csv", "-o", "out.csv").code == 2
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_a_real_process_leaves_with_2_and_no_traceback(tmp_path):
    write_shop(tmp_path)
    done = subprocess.run(
        [sys.executable, "-m", "screenproof", "press", "fit", "inks.csv"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 2 and done.stdout == "" and done.stderr.startswith("screenproof: inks.csv: no tints")
