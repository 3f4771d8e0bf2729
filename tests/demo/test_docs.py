"""What the documents show is run: commands against the real command line, Python as it stands.

A fenced block marked ``python`` is executed, all blocks of a page in one namespace. In a block marked ``console``
a line that begins with ``$`` is a command, and the lines after it are what it prints: word for word, but
that runs of blanks count as one and a line ``...`` stands for any lines. Without such lines only the exit code
is checked: ``exit=1`` beside the mark, else 0. A block with ``file=NAME`` is written under that name first. All
of it happens in a temporary folder that holds a copy of the demo and nothing else, one for each page; see
``pages.py``. Blocks marked ``sh`` (to install, to fetch), or not at all in the README, are not run.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from tests.demo.pages import FENCE, PAGES, TOP, blocks_of, copy_of_the_demo, matches, plain, ran_page, run

MARKS = {"python", "pycon", "console", "sh", "toml", "text", "csv", "json", "xml"}


@pytest.fixture(scope="module")
def folder() -> Path:
    """A folder with a copy of the demo, as a reader has it who stands in the clone."""
    return copy_of_the_demo()


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.parent.name + "/" + p.name)
def test_the_page_shows_what_happens(page):
    ran = ran_page(page)
    for step in ran.steps:
        done, expected = step.done, step.expected
        shown = f"{page.name}, line {step.block.line}: {step.command}\n{done.stdout}\n{done.stderr}"
        assert done.returncode == int(step.block.options.get("exit", "0")), shown
        printed = plain(done.stdout) if done.returncode != 2 else plain(done.stderr)
        assert not expected or matches(plain(expected), printed), shown
    if ran.error is not None:
        raise ran.error


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.parent.name + "/" + p.name)
def test_every_block_is_marked_and_every_toml_block_is_toml(page):
    for block in blocks_of(page):
        assert block.mark in MARKS or page.name == "README.md", (
            f"{page.name}, line {block.line}: a block marked {block.mark!r}"
        )
        if block.mark == "toml":
            tomllib.loads(block.body)


def anchors_of(page: Path) -> set[str]:
    """The anchors that a page's headings get: lower case, blanks to hyphens, punctuation dropped."""
    text = FENCE.sub("", page.read_text(encoding="utf-8"))
    heads = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.strip().lower()).replace(" ", "-") for head in heads}


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.parent.name + "/" + p.name)
def test_every_link_leads_somewhere(page):
    text = FENCE.sub("", page.read_text(encoding="utf-8"))
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if target.startswith(("http://", "https://")):
            continue
        file, _, anchor = target.partition("#")
        other = page if not file else (page.parent / file)
        assert other.exists(), f"{page.name}: {target}"
        if anchor and other.suffix == ".md":
            assert anchor in anchors_of(other), f"{page.name}: {target}"


def tables_under(page: Path, heading: str) -> list[list[str]]:
    """Rows of the Markdown tables between a heading and the next of its level, without their header."""
    text = page.read_text(encoding="utf-8")
    part = text[text.index(f"\n{heading}\n") + len(heading) + 2 :]
    level = heading.split()[0]
    after = re.search(rf"^{level} ", part, re.MULTILINE)
    part = part[: after.start()] if after else part
    rows = [
        [cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]]
        for line in part.splitlines()
        if line.startswith("|")
    ]
    return [row for row in rows if row[0] not in ("key", "---")]


def job_tables() -> list[tuple[str, str]]:
    """Heading in job-file.md and class in the schema, for every table of a job."""
    return [
        ("## [viewing]", "ViewingTable"),
        ("## [[samples]]", "SamplesTable"),
        ("## [[displays]]", "DisplayTable"),
        ("## [[lights]]", "LightTable"),
        ("## [[observers]]", "ObserverTable"),
        ("## [[approvals]]", "ApprovalTable"),
        ("## [[pairs]]", "PairTable"),
        ("## [population]", "PopulationTable"),
        ("## instrument", "ObjectInstrumentTable"),
        ("## [doubt]", "DoubtTable"),
        ("## [[stocks]]", "StockTable"),
        ("## [[inks]]", "InksTable"),
        ("## [[presses]]", "PressTable"),
        ("## [[recipes]]", "RecipeTable"),
        ("## [output]", "OutputTable"),
    ]


@pytest.mark.parametrize(("heading", "model"), job_tables())
def test_the_job_file_page_has_every_key_with_its_default(heading, model):
    from screenproof.jobs import schema
    from screenproof.questions import tables
    from screenproof.questions.form import fields_of

    def keys_of(form):
        return {item.key: item for item in fields_of(form)}

    fields = keys_of(getattr(schema, model, None) or getattr(tables, model))
    if model == "DisplayTable":
        fields |= keys_of(tables.RoomTable)
    if model == "ObjectInstrumentTable":
        fields |= keys_of(tables.ScreenInstrumentTable)
    told = {row[0].strip("`"): row[2] for row in tables_under(TOP / "docs" / "job-file.md", heading)}
    assert set(told) == set(fields)
    for key, field in fields.items():
        if field.required:
            assert told[key] == "required", key
        elif field.default is not None:
            value = field.default
            written = f'"{value}"'
            if isinstance(value, bool | int | float):
                written = str(value).lower() if isinstance(value, bool) else f"{value:g}"
            if isinstance(value, tuple):
                written = f"[{', '.join(f'{item:g}' for item in value)}]"
            assert told[key] == f"`{written}`", key


def test_the_job_file_page_has_every_limit_and_top_key():
    from screenproof.jobs import schema
    from screenproof.proof.tolerance import LIMITS, METRICS, WHOLE_LIMITS, ToleranceSet

    page = TOP / "docs" / "job-file.md"
    told = {row[0].strip("`"): row for row in tables_under(page, "## [tolerances]")}
    assert set(told) == {"preset", "metric", *LIMITS, *WHOLE_LIMITS, "kl", "kc", "kh", "l", "c"}
    assert all(metric in told["metric"][3] for metric in METRICS)
    fields = {"kl": "kl", "kc": "kc", "kh": "kh", "l": "cmc_l", "c": "cmc_c"}
    for key, name in fields.items():
        assert told[key][2] == f"`{getattr(ToleranceSet('x'), name):g}`"
    text = page.read_text(encoding="utf-8")
    assert all(f"[{key}]" in text or f"`{key}`" in text for key in schema.TOP_KEYS)


@pytest.mark.parametrize(
    "name",
    "Result ViewingRecord LightRecord ObserverRecord DisplayRecord StandardGamut SampleRecord OnDisplay "
    "ShiftFigure ApprovalRecord PairRecord Judged Summary Provenance Refusal StockRecord OverprintRecord "
    "InkRecord PrintRecord PressRecord HeldOutRecord SolidRecord ReachRecord RecipeRecord RecipeCard "
    "ComponentRecord RecipeShift PopulationRecord CrowdOnDisplay CrowdRecord AgeRecord TrustRecord DoubtRecord "
    "DoubtSource Remedy WholeRecord WholeFigure BrightenerRecord BrightenerLight".split(),
)
def test_the_reference_has_every_key_of_the_result(name):
    import dataclasses

    from screenproof.proof import result, tolerance

    kind = getattr(result, name, None) or getattr(tolerance, name)
    rows = tables_under(TOP / "docs" / "reference.md", f"### {name}")
    told = [key for row in rows for key in re.findall(r"`([^`]+)`", row[0])]
    assert sorted(told) == sorted(field.name.rstrip("_") for field in dataclasses.fields(kind))


def test_the_reference_has_every_command():
    from screenproof.cli import app
    from screenproof.questions import questions

    names = [*questions(), *(command.name for command in app.registered_commands)]
    names += [
        f"{group.name} {command.name}"
        for group in app.registered_groups
        for command in group.typer_instance.registered_commands
    ]
    rows = tables_under(TOP / "docs" / "reference.md", "## Commands")
    told = [re.match(r"`([a-z -]+?)(?: \[?[A-Z].*)?`", row[0])[1] for row in rows if row[0].startswith("`")]
    assert sorted(told) == sorted(names)


def test_the_reference_has_every_file_of_an_output_folder(folder):
    done = run("screenproof run profiles_demo/stage_set.toml", folder)
    assert done.returncode == 1, done.stderr
    out = folder / "profiles_demo" / "out" / "stage_set"
    rows = tables_under(TOP / "docs" / "reference.md", "## The output folder")
    told = {row[0].strip("`").split("/")[0] for row in rows if row[0].startswith("`")}
    assert told == {path.name for path in out.iterdir()}


@pytest.mark.parametrize(
    ("told", "command"),
    [
        ("match", "match profiles_demo/data/labels.csv"),
        ("gamut", "gamut profiles_demo/data/labels.csv"),
        ("shift", "shift profiles_demo/data/labels.csv"),
        ("shift --against", "shift profiles_demo/data/labels.csv --against profiles_demo/data/labels.csv"),
        ("overprint", "overprint profiles_demo/data/inks_on_carton.cgats --stock 'Coated carton' --inks Cyan"),
        (
            "other-stock",
            "other-stock profiles_demo/data/inks_on_carton.cgats --stock 'Coated carton' --ink Cyan "
            "--onto 'Kraft board' --onto-file profiles_demo/data/inks_on_kraft.csv",
        ),
        (
            "press predict",
            "press predict profiles_demo/data/kraft_press.cgats profiles_demo/data/kraft_press.cgats",
        ),
        ("press separate", "press separate profiles_demo/data/carton_press.cgats profiles_demo/data/labels.csv"),
        ("printable", "printable profiles_demo/data/carton_press.cgats --display srgb --code 120,100,90"),
        (
            "recipe find",
            "recipe find profiles_demo/data/lacquer_letdowns.csv --display srgb --code 120,90,80 --components 2",
        ),
        (
            "recipe correct",
            "recipe correct profiles_demo/data/lacquer_letdowns.csv --batch profiles_demo/data/lid_batch.csv "
            "--trial profiles_demo/data/lid_trial.csv profiles_demo/data/lid_trial.csv",
        ),
    ],
)
def test_the_reference_has_the_keys_of_the_direct_commands(told, command, folder):
    import json

    done = run(f"screenproof {command} --json", folder)
    assert done.returncode == 0 and done.stderr == "", done.stderr
    answer = json.loads(done.stdout)
    places = {"shift --against": "pairs", "recipe find": "recipes", "recipe correct": "components"}
    entries = answer[places.get(told, "samples")]
    rows = tables_under(TOP / "docs" / "reference.md", "## JSON of the direct commands")
    keys = next(re.findall(r"`([^`]+)`", row[1]) for row in rows if row[0] == f"`{told}`")
    assert set(keys) - {"pairs", "samples", "recipes", "components"} == set(entries[0]) - {"components"}
    if told.startswith("shift"):
        assert {"light", "observer", "de00", "deab"} <= set(entries[0]["shift"][0])


def test_the_reference_has_the_keys_of_a_press_fit(folder):
    import json

    done = run("screenproof press fit profiles_demo/data/kraft_press.cgats --json", folder)
    assert done.returncode == 0 and done.stderr == "", done.stderr
    answer = json.loads(done.stdout)
    page = (TOP / "docs" / "reference.md").read_text(encoding="utf-8")
    told = next(part for part in page.split("\n\n") if part.startswith("`press fit` has"))
    keys = set(re.findall(r"`([^`]+)`", told)) - {"press fit"}
    assert keys == (keys & set(answer)) | (keys & set(answer["held_out"]))
    assert {"mean", "p95", "max", "patches"} <= set(answer["held_out"])
