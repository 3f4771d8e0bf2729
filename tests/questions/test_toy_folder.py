"""A capability is one folder: a toy that is put beside the others is found by every door."""

from __future__ import annotations

import json
import sys
from textwrap import dedent

import pytest

import screenproof as sp
from screenproof import questions as rooms
from screenproof.cli import main
from screenproof.jobs import load_job
from screenproof.jobs.asking import answers

QUESTION = '''
    """What is asked of the toy."""

    from __future__ import annotations

    from screenproof.questions.form import SamplesLike, ask
    from screenproof.questions.question import Question


    class AskLightest(Question):
        """Which sample is the lightest, and whether it is light enough."""

        name = "lightest"
        short = "Which sample is the lightest."
        example = "screenproof lightest inks.csv --darkest 90"

        samples: SamplesLike = ask("Measured samples.", positional=True, metavar="SAMPLES")
        darkest: float | None = ask("How far it may be from white.", default=None, metavar="DE00", at_least=0)

        def ask(self, open):
            from screenproof.questions.lightest.answer import lightest

            return lightest(self, open)
'''
ANSWER = '''
    """The answer of the toy."""

    from __future__ import annotations

    from dataclasses import dataclass
    from typing import ClassVar

    import numpy as np

    from screenproof.proof.finding import Finding
    from screenproof.questions.answer import Answer
    from screenproof.report.plain import row
    from screenproof.report.table import Column, Table


    @dataclass(frozen=True, eq=False, repr=False)
    class Lightest(Answer):
        """The lightness of samples."""

        schema: ClassVar[str] = "screenproof-lightest/1"
        names: tuple = row("name", ())
        lightness: np.ndarray = row(default=())
        figures: tuple = row("judged", ())
        notes: tuple = ()

        @property
        def judged(self):
            return self.figures

        def heading(self):
            return f"The lightest is {self.names[int(np.argmax(self.lightness))]}"

        def tables(self):
            columns = [Column("sample", left=True), Column("L*", 1)]
            return (Table.of(columns, zip(self.names, (float(one) for one in self.lightness))),)

        def findings(self):
            for name, one in zip(self.names, self.figures):
                if one.trouble:
                    yield Finding("lightness", name, "", one, f"{name} is too dark.", "bleach it")


    def lightest(asked, open):
        samples = open.samples(asked.samples)
        lab = samples.lab("D50", "cie1931")
        judge = open.judge(asked.darkest)
        figures = tuple(judge.plain("match", 100.0 - float(one)) for one in lab[:, 0])
        return Lightest(samples.names, lab[:, 0], figures)
'''
PAGE = '<p class="toy">Toys say: {{ answer.heading() }}</p>\n{{ tables }}\n'
LAB = "# light: D50\n# observer: cie1931\nname,LAB_L,LAB_A,LAB_B\nChalk,92,0,2\nCoal,12,0,0\n"


@pytest.fixture
def toy(tmp_path, monkeypatch):
    """A folder with the toy's one folder, in which questions are looked for as well, and a file of two samples."""
    place = tmp_path / "more" / "lightest"
    place.mkdir(parents=True)
    for name, text in (("question", QUESTION), ("answer", ANSWER), ("__init__", '"""A toy."""\n')):
        (place / f"{name}.py").write_text(dedent(text), encoding="utf-8")
    (place / "page.html").write_text(PAGE, encoding="utf-8")
    (tmp_path / "two.csv").write_text(LAB, encoding="utf-8")
    monkeypatch.setattr(rooms, "__path__", [*rooms.__path__, str(place.parent)])
    rooms.questions.cache_clear()
    yield tmp_path
    rooms.questions.cache_clear()
    for name in [name for name in sys.modules if name.startswith("screenproof.questions.lightest")]:
        del sys.modules[name]


def command(*arguments: str) -> int:
    with pytest.raises(SystemExit) as left:
        main(list(arguments))
    return int(left.value.code or 0)


def test_it_is_a_command_with_help_json_limit_and_mistakes(toy, monkeypatch, capsys):
    monkeypatch.chdir(toy)
    assert command("--help") == 0
    assert "lightest" in capsys.readouterr().out
    assert command("lightest", "--help") == 0
    assert "How far it may be from white." in capsys.readouterr().out
    assert command("lightest", "two.csv") == 0
    assert "The lightest is Chalk" in capsys.readouterr().out
    assert command("lightest", "two.csv", "--darkest", "50", "--json") == 1
    data = json.loads(capsys.readouterr().out)
    assert data["schema"] == "screenproof-lightest/1"
    assert [(one["name"], one["judged"]["status"]) for one in data["samples"]] == [
        ("Chalk", "pass"),
        ("Coal", "fail"),
    ]
    assert command("lightest", "two.csv", "--darkest", "-1") == 2
    assert "--darkest: the number -1.0 is out of range" in capsys.readouterr().err
    assert command("lightset", "two.csv") == 2
    assert "did you mean 'lightest'?" in capsys.readouterr().err
    assert command("lightest", "two.csv", "-o", "two_out.csv") == 0
    assert (toy / "two_out.csv").read_text(encoding="utf-8").splitlines()[0] == "sample,L*"


def test_it_is_a_call_in_python(toy):
    assert "lightest" in dir(sp)
    answer = sp.lightest(str(toy / "two.csv"), darkest=50)
    assert answer.status == "fail" and [one.subject for one in answer.findings()] == ["Coal"]
    with pytest.raises(sp.InputError, match="darkest"):
        sp.lightest(str(toy / "two.csv"), darkest="much")


def test_it_is_a_table_of_a_job_in_result_and_page(toy):
    job = toy / "job.toml"
    text = 'version = 1\ntitle = "Toy"\n\n[[lightest]]\ntitle = "Which is light?"\nsamples = "two.csv"\ndarkest = 50\n'  # noqa: E501
    job.write_text(text, encoding="utf-8")
    loaded = load_job(job)
    assert (
        answers(loaded, lambda words: None)[0].to_dict() == sp.lightest(str(toy / "two.csv"), darkest=50).to_dict()
    )
    proof = sp.proof(answers(loaded, lambda words: None), title="Which is light?")
    assert proof.status == "fail" and [one.subject for one in proof.findings] == ["Coal"]
    folder = proof.save(toy / "out")
    data = json.loads((folder / "result.json").read_text(encoding="utf-8"))
    assert [one["name"] for one in data["answers"][0]["samples"]] == ["Chalk", "Coal"]
    page = (folder / "index.html").read_text(encoding="utf-8")
    assert "Which is light?" in page and "Toys say: The lightest is Chalk" in page and "Coal is too dark." in page
    job.write_text(text.replace("darkest", "darkets"), encoding="utf-8")
    with pytest.raises(sp.InputError, match=r"line 7, lightest\[1\].darkets(.|\n)*did you mean 'darkest'"):
        load_job(job)
