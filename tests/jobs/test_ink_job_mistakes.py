"""Mistakes in the ink tables of a job: exit code 2, the line, the field, the fault, and how to mend it."""

# ruff: noqa: E501  (a table is read best with one row on a line)
from __future__ import annotations

from dataclasses import dataclass

import pytest

from screenproof.errors import InputError
from screenproof.jobs import load_job
from tests.ink_jobs import JOB, write_job


@dataclass(frozen=True)
class Mistake:
    """What is exchanged in the job, in a file beside it, and what the message must hold."""

    name: str
    old: str
    new: str
    says: tuple[str, ...]
    file: str = "job.toml"


MISTAKES = [
    Mistake("unknown key of inks", "trapping = true", "traping = true", ("inks[1].traping", "did you mean 'trapping'?")),
    Mistake("unknown key of a press", "total = 300", "totl = 300", ("presses[1].totl", "did you mean 'total'?")),
    Mistake("unknown key of a surface", "trapping = true", "surface = { k3 = 0.1 }", ("inks[1].surface.k3", "k1, k2, index")),
    Mistake("a surface of two kinds", "trapping = true", "surface = { k1 = 0.1, index = 1.5 }", ("inks[1].surface", "a refractive index beside k1")),
    Mistake("a surface of nothing", "trapping = true", "surface = {}", ("inks[1].surface", "leave surface out")),
    Mistake("a surface that reflects all", "trapping = true", "surface = { k1 = 0.5, k2 = 0.6 }", ("inks[1].surface", "k1 + k2 = 1.1")),
    Mistake("an ink twice", '"Magenta", "Yellow"]', '"Cyan", "Yellow"]', ("inks[1]", "'Cyan' stands twice in inks")),
    Mistake("no such ink", '"Magenta", "Yellow"]', '"Magneta", "Yellow"]', ("inks[1].inks[2]", "'Magneta'", "did you mean 'Magenta'?")),
    Mistake("no such stock", 'stock = "board"\ninks', 'stock = "bord"\ninks', ("inks[1].stock", "the job has no stock 'bord'", "did you mean 'board'?")),
    Mistake("no such other stock", 'onto = ["kraft"]', 'onto = ["craft"]', ("inks[1].onto[1]", "did you mean 'kraft'?")),
    Mistake("onto itself", 'onto = ["kraft"]', 'onto = ["board"]', ("inks[1]", "which is their own stock")),
    Mistake("a film weight of nobody", "trapping = true", "film = { Cian = 1.0 }", ("inks[1]", "film has a weight for 'Cian'")),
    Mistake("a film weight of 0", "trapping = true", "film = { Cyan = 0 }", ("inks[1].film.Cyan", "a number above 0")),
    Mistake("an overprint of one ink", "trapping = true", 'overprints = [{ inks = ["Cyan"], sample = "Magenta" }]', ("overprints[1].inks", "at least 2")),
    Mistake("an overprint of others", "trapping = true", 'overprints = [{ inks = ["Cyan", "Black"], sample = "Magenta" }]', ("overprints[1].inks", "no ink in this set 'Black'")),
    Mistake("an overprint elsewhere", "trapping = true", 'overprints = [{ inks = ["Cyan", "Yellow"], sample = "Magenta", stock = "film" }]', ("overprints[1].stock", "no stock in this set 'film'")),
    Mistake("a partner that is none", "trapping = true", 'overprints = [{ inks = ["Cyan", "Yellow"], sample = "Gren" }]', ("overprints[1].sample", "'Gren'")),
    Mistake("a stock of no sample", 'sample = "Kraft"', 'sample = "Kraftt"', ("stocks[2].sample", "did you mean 'Kraft'?")),
    Mistake("a stock of several samples", 'sample = "Kraft"', 'sample = "Cyan"', ("stocks[2].sample", "2 samples are called 'Cyan'", "'board/Cyan' or 'kraft/Cyan'")),
    Mistake("two stocks of one name", 'name = "kraft"\nsample', 'name = "board"\nsample', ("stocks[2].name", "is called 'board' already")),
    Mistake("no press of that file", 'file = "press.csv"', 'file = "pres.csv"', ("presses[1].file", "there is no file 'pres.csv'", "did you mean 'press.csv'?")),
    Mistake("a press of samples", 'file = "press.csv"', 'file = "inks.csv"', ("inks.csv", "no tints stand beside the readings")),
    Mistake("a total of 0", "total = 300", "total = 0", ("presses[1].total", "a number above 0")),
    Mistake("a total above all inks", "total = 300", "total = 500", ("presses[1].limits", "up to 400 for 4 channels")),
    Mistake("a limit above the solid", "Black = 95", "Black = 195", ("presses[1].limits.Black", "100 or less")),
    Mistake("a limit of nobody", "Black = 95", "K = 95", ("presses[1].limits", "the press has no channel 'K'", "Cyan, Magenta, Yellow, Black")),
    Mistake("an unknown black", "total = 300", 'total = 300\nblack = "mots"', ("presses[1].black", "did you mean 'most'?")),
    Mistake("a factor below 1", "total = 300", "total = 300\nn = 0.5", ("presses[1].n", "1 or more")),
    Mistake("an approval that is none", "total = 300", 'total = 300\napprovals = ["Leef"]', ("presses[1].approvals[1]", "did you mean 'Leaf'?")),
    Mistake("a sample that is none", '"board/Yellow"]', '"board/Yelow"]', ("presses[1].samples[2]", "'board/Yelow'")),
    Mistake("a press by an unknown set", "total = 300", 'total = 300\ntolerance = "strict"', ("presses[1].tolerance", "no tolerance set 'strict'")),
    Mistake("no library", 'library = "letdowns.csv"', 'library = "letdown.csv"', ("recipes[1].library", "did you mean 'letdowns.csv'?")),
    Mistake("two targets", 'sample = "Lid"\nbatch', 'sample = "Lid"\napproval = "Leaf"\nbatch', ("recipes[1]", "given are sample and approval")),
    Mistake("no target", 'sample = "Lid"\nbatch', "batch", ("recipes[1]", "exactly one of sample, approval")),
    Mistake("a target that is none", 'sample = "Lid"\nbatch', 'sample = "Lit"\nbatch', ("recipes[1].sample", "did you mean 'Lid'?")),
    Mistake("an approval to mix that is none", 'approval = "Leaf"', 'approval = "Loaf"', ("recipes[2].approval", "did you mean 'Leaf'?")),
    Mistake("a batch of 0", "batch = 10", "batch = 0", ("recipes[1].batch", "a number above 0")),
    Mistake("half a component", "components = 3", "components = 2.5", ("recipes[2].components", "a whole number")),
    Mistake("a light that is none", "batch = 10", 'batch = 10\nlights = ["shpo"]', ("recipes[1].lights[1]", "did you mean 'shop'?")),
    Mistake("a component to do without that is none", "batch = 10", 'batch = 10\nwithout = ["Bleu"]', ("recipes[1]", "no component 'Bleu'")),
    Mistake("a stock for paint", "batch = 10", 'batch = 10\nstock = "board"', ("recipes[1]", "a film needs a stock below it and a thickness")),
    Mistake("a display without a code", "code = [120, 150, 105]\n", "", ("approvals[1]", "display is given without code")),
    Mistake("nothing approved", 'sample = "Lid"\n\n[[stocks]]', "\n[[stocks]]", ("approvals[3]", "nothing is approved")),
    Mistake("no bare stock", "p1,0,0,0,0", "p1,0,0,0,1", ("press.csv", "no patch of the bare stock"), "press.csv"),
    Mistake("a masstone missing", "Green,1,", "Green,0.9,", ("letdowns.csv", "no masstone", "line 23"), "letdowns.csv"),
    Mistake("a reading above 1", "White,1,3,0.", "White,1,3,1.", ("letdowns.csv", "White"), "letdowns.csv"),
]  # fmt: skip


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda one: one.name)
def test_a_mistake_is_told_in_words(mistake, tmp_path, capsys):
    from screenproof.cli import main

    path = write_job(tmp_path)
    target = tmp_path / mistake.file
    text = target.read_text(encoding="utf-8")
    assert mistake.old in text, mistake.old
    target.write_text(text.replace(mistake.old, mistake.new, 1), encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        main(["run", str(path)])
    said = capsys.readouterr()
    assert ended.value.code == 2 and said.out == "" and "Traceback" not in said.err
    for part in mistake.says:
        assert part in said.err, said.err
    assert "job.toml" in said.err or mistake.says[0] in ("inks.csv", mistake.file)
    assert not (tmp_path / "out").exists()


def test_all_mistakes_are_told_at_once_with_their_lines(tmp_path):
    text = JOB
    for old, new in (("total = 300", "totl = 300"), ('onto = ["kraft"]', 'onto = ["craft"]'), ("batch = 10", "batch = 0")):
        text = text.replace(old, new, 1)
    with pytest.raises(InputError) as caught:
        load_job(write_job(tmp_path, text))
    fields = [problem.field for problem in caught.value.problems]
    assert sorted(fields) == ["inks[1].onto[1]", "presses[1].totl", "recipes[1].batch"]
    assert all(problem.line is not None for problem in caught.value.problems)


def test_an_approval_for_nothing_is_told(tmp_path):
    cut = JOB[: JOB.index("[[stocks]]")] + "[tolerances.house]\nexcess = 5.0\n"
    with pytest.raises(InputError) as caught:
        load_job(write_job(tmp_path, cut))
    said = str(caught.value)
    assert "there is no sample to hold it against, no press to print it, and no recipe for it" in said
    assert "there is no display to hold it against" in said


def test_there_are_many_kinds():
    assert len({one.name for one in MISTAKES}) == len(MISTAKES) >= 40
