"""Tolerances by name: what they hold, what stands beside them, and mistakes in them.

The figures are those of shared/print_tolerances.csv, whose header says which were found in public and which are
from memory.
"""

from __future__ import annotations

import csv
import tomllib
from pathlib import Path

import pytest

from screenproof.errors import InputError
from screenproof.proof.presets import tolerance_preset, tolerance_presets
from screenproof.proof.tolerance import LIMITS, METRIC_LABELS, WHOLE_LIMITS, read_tolerances

TABLE = Path(__file__).parents[2] / "shared" / "print_tolerances.csv"


def read(text: str):
    return read_tolerances(tomllib.loads(text), file="job.toml")


def test_a_preset_fills_in_and_the_own_keys_go_before_it():
    sets = read("[a]\npreset = 'press-solids'\n[b]\npreset = 'contract-proof'\nworst = 4\nmatch = 1")
    assert (sets["a"].metric, sets["a"].pair, sets["a"].match) == ("de00", 3.5, None)
    assert sets["a"].preset == "press-solids" and "TAGA 2015" in sets["a"].source
    assert (sets["b"].mean, sets["b"].worst, sets["b"].match) == (2.5, 4.0, 1.0)
    assert "from memory" in sets["b"].source and sets["b"].source.endswith("set by the job: worst = 4, match = 1")


def test_the_presets_hold_the_figures_of_the_table_of_the_standards():
    with TABLE.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    assert {row["preset"] for row in rows} == {
        preset.name for preset in tolerance_presets() if "ISO 12647" in preset.source
    }
    for row in rows:
        preset = tolerance_preset(row["preset"])
        assert preset.values[row["key"]] == float(row["value"])
        assert preset.metric == row["metric"]
        assert row["standard"] in preset.source
        assert ("memory" in row["obtained"]) == ("from memory" in preset.source)


def test_every_preset_is_a_set_with_a_source():
    for preset in tolerance_presets():
        made = read(f"[x]\npreset = '{preset.name}'")["x"]
        told = {key for key in (*LIMITS, *WHOLE_LIMITS) if getattr(made, key) is not None}
        assert told == set(preset.values) - {"metric", "l", "c"} and told
        assert made.metric in METRIC_LABELS
        assert any(word in made.source for word in ("ISO 12647", "common practice, no source"))


@pytest.mark.parametrize(
    ("text", "field", "said"),
    [
        ("preset = 'press-solid'", "preset", "did you mean 'press-solids'?"),
        ("preset = 'Contract Proof'", "preset", "did you mean 'contract-proof'?"),
        ("preset = 'xyz'", "preset", "one of press-solids, press-black"),
        ("preset = 3", "preset", "no preset is called 3"),
        ("preset = 'press-solids'\nmetric = 'deab'", "metric", "are in CIEDE2000, not 'deab'"),
        ("preset = 'press-solids-2004'\nkl = 2", "kl", "'kl' weighs CIEDE2000, but the metric is 'deab'"),
        ("preset = 'contract-proof'\nworst = 2", "mean", "mean = 2.5 is above worst = 2 and can never decide"),
        ("preset = 'contract-proof'\nworst = 'all'", "worst", "'all' is no limit"),
        ("p95 = 3\nworst = 2.5", "p95", "lower p95, or raise worst"),
        ("prset = 'press-solids'\nmatch = 1", "prset", "did you mean 'preset'?"),
        ("average = 2\nmatch = 1", "average", "mean, p95, worst"),
        ("pair = -2", "pair", "-2 is no limit"),
    ],
)
def test_a_mistake_is_told(text, field, said):
    with pytest.raises(InputError) as caught:
        read(f"[house]\n{text}")
    problem = next(problem for problem in caught.value.problems if problem.field == f"tolerances.house.{field}")
    assert said in str(problem) and problem.file == "job.toml"
