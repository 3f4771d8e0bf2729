"""A whole job: what stands in its result, what is judged, and what is said of it."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import numpy as np
import pytest

from screenproof.jobs import load_job, run_job
from screenproof.jobs.starter import new_job
from screenproof.proof import result_from_json

LIMITS = """
[tolerances]
default = "strict"

[tolerances.strict]
metric = "de00"
match = 1.0
excess = 3.0
light_shift = 5.0
pair_shift = 2.0
observer_shift = 4.0
approval = 1.0
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return new_job(tmp_path / "job")[0]


def changed(job: Path, *swaps: tuple[str, str]) -> Path:
    """The job with pieces of its text replaced, each of which must be there."""
    text = job.read_text(encoding="utf-8")
    for old, new in swaps:
        assert old in text, old
        text = text.replace(old, new)
    job.write_text(text, encoding="utf-8")
    return job


def strict(job: Path) -> Path:
    """The job with limits that some of its colours cannot keep."""
    text = job.read_text(encoding="utf-8")
    start, end = text.index("[tolerances]"), text.index("[output]")
    job.write_text(text[:start] + LIMITS + text[end:], encoding="utf-8")
    return job


def run(job: Path):
    return run_job(load_job(job))


def by_name(result) -> dict:
    return {sample.name: sample for sample in result.samples}


def test_the_starter_passes_and_its_json_reads_back_as_the_same_result(job):
    result = run(job)
    assert result.summary.status == "pass"
    assert result_from_json(result.to_json()) == result
    plain = json.loads(result.to_json())
    assert plain["schema"] == "screenproof-result/2"
    assert [light["name"] for light in plain["lights"]] == ["D50", "home lamp", "shop tubes", "shop LED"]
    assert len(plain["samples"]) == 9 and all(len(sample["on"]) == 1 for sample in plain["samples"])


def test_inputs_are_there_by_the_jobs_own_names_with_their_hashes(job):
    found = {record.path: record for record in run(job).provenance.inputs}
    assert set(found) == {"job.toml", "colours.csv"}
    for name, record in found.items():
        data = (job.parent / name).read_bytes()
        assert record.sha256 == hashlib.sha256(data).hexdigest() and record.bytes == len(data)


def test_the_result_names_no_folder_of_the_machine(job):
    colours = job.parent / "colours.csv"
    text = colours.read_text(encoding="utf-8")
    # A reflectance above 1 is odd, and its note names the file.
    colours.write_text(text.replace("\nStock,0.7", "\nStock,1.7"), encoding="utf-8")
    result = run(job)
    notes = [note for sample in result.samples for note in sample.notes] + list(result.notes)
    assert any(note.file == "colours.csv" for note in notes)
    assert str(job.parent) not in result.to_json()


def test_verdicts_are_pass_or_fail_by_their_figures_and_the_worst_gives_the_status(job):
    result = run(strict(job))
    judged = 0
    for sample in result.samples:
        verdicts = [*sample.verdicts, *(verdict for on in sample.on for verdict in on.verdicts)]
        for verdict in verdicts:
            assert verdict.status == ("pass" if verdict.figure <= verdict.limit else "fail")
            judged += 1
        # The status of a colour is the worst of all that was judged of it: its approval and its pair as well.
        verdicts += [one.verdict for one in result.approvals if one.verdict is not None and one.sample == sample.name]  # noqa: E501
        verdicts += [verdict for pair in result.pairs for verdict in pair.verdicts if sample.name in (pair.a, pair.b)]  # noqa: E501
        assert (sample.status == "fail") == any(verdict.status == "fail" for verdict in verdicts)
    assert judged > 50
    assert result.summary.status == "fail"
    assert result.pairs[0].status == "fail"
    assert result.approvals[0].verdict.status == "fail"


def test_a_sample_out_of_gamut_is_judged_by_its_excess_and_not_again_by_its_match(job):
    sample = by_name(run(strict(job)))["Sea teal"]
    kinds = [verdict.what for verdict in sample.on[0].verdicts]
    assert "excess" in kinds and "match" not in kinds
    excess = next(verdict for verdict in sample.on[0].verdicts if verdict.what == "excess")
    assert excess.figure == pytest.approx(sample.on[0].excess, abs=1e-9) and excess.status == "fail"


def test_without_a_limit_for_the_excess_the_match_judges_what_cannot_be_shown(job):
    sample = by_name(run(changed(strict(job), ("excess = 3.0\n", ""))))["Sea teal"]
    verdict = next(verdict for verdict in sample.on[0].verdicts if verdict.what == "match")
    assert verdict.figure == pytest.approx(sample.on[0].residual, abs=1e-9) and verdict.status == "fail"


def test_the_screen_shift_is_judged_in_every_view_but_that_of_the_match(job):
    changed(
        strict(job),
        ('standard = "srgb"\nluminance = 160\nblack = 0.2', 'technology = "rgb-oled"'),
        ("[[approvals]]", '[[observers]]\nname = "cie2015-2"\n\n[[approvals]]'),
    )
    on = by_name(run(job))["Plum"].on[0]
    views = {(v.light, v.observer) for v in on.verdicts if v.what == "observer_shift"}
    assert ("D50", "cie1931") not in views and ("D50", "cie2015-2") in views
    assert len(views) == 4 * 2 - 1
    assert len(on.shift) == 4 * 2


def test_verdicts_are_in_the_metric_of_their_set(job):
    result = run(changed(strict(job), ('metric = "de00"', 'metric = "deab"')))
    sample = by_name(result)["Slate, mixed"]
    shifts = {(item.light, item.observer): item.deab for item in sample.light_shift}
    for verdict in sample.verdicts:
        assert verdict.metric == "deab"
        assert verdict.figure == pytest.approx(shifts[verdict.light, verdict.observer], abs=1e-9)


def test_other_eyes_are_refused_for_a_display_without_spectra_and_answered_for_one_with(job):
    text = changed(job, ("[[approvals]]", '[[observers]]\nname = "cie1964"\n\n[[approvals]]')).read_text("utf-8")
    on = run(job).samples[1].on[0]
    assert [refusal.observer for refusal in on.refused] == ["cie1964"]
    assert "spectra" in on.refused[0].reason
    assert {item.observer for item in on.shift} == {"cie1931"} and on.spectra is None
    job.write_text(
        text.replace('standard = "srgb"\nluminance = 160\nblack = 0.2', 'technology = "white-led-lcd"'), "utf-8"
    )
    on = run(job).samples[1].on[0]
    assert on.refused == () and {item.observer for item in on.shift} == {"cie1931", "cie1964"}


def test_a_field_as_the_name_of_an_observer_is_taken_as_a_standard_one_and_said(job):
    changed(
        job,
        ('observer = "cie1931"', 'observer = "2"'),
        ("[[approvals]]", '[[observers]]\nname = "10"\n\n[[approvals]]'),
    )
    result = run(job)
    assert [record.name for record in result.observers] == ["cie1931", "cie1964"]
    assert result.viewing.observer == "cie1931"
    said = {(note.about, note.kind, note.what) for note in result.notes if "is taken as" in note.what}
    assert {
        ("viewing.observer", "assumed", "observer '2' is taken as cie1931 (2 degrees)"),
        ("observers[1].name", "assumed", "observer '10' is taken as cie1964 (10 degrees)"),
    } == said
    assert {figure.observer for figure in result.samples[1].light_shift} == {"cie1931", "cie1964"}


def test_the_viewing_observer_may_be_a_field_and_stand_in_the_list_by_its_name(job):
    changed(
        job,
        ('observer = "cie1931"', 'observer = "10"'),
        ("[[approvals]]", '[[observers]]\nname = "cie1931"\n\n[[observers]]\nname = "cie1964"\n\n[[approvals]]'),
        ('standard = "srgb"\nluminance = 160\nblack = 0.2', 'technology = "rgb-oled"'),
    )
    assert [record.name for record in run(job).observers] == ["cie1964", "cie1931"]


def test_the_two_curves_are_unlike_and_yet_of_one_colour(job, colour):
    """Object and screen light of a match, integrated by colour-science: one chromaticity, two spectra."""
    changed(job, ('standard = "srgb"\nluminance = 160\nblack = 0.2', 'technology = "rgb-oled"'))
    curves = by_name(run(job))["Moss"].on[0].spectra
    nm = np.asarray(curves.wavelengths)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    bars = np.stack([np.interp(nm, cmfs.wavelengths, cmfs.values[:, i]) for i in range(3)], axis=1)
    a, b = np.asarray(curves.object) @ bars, np.asarray(curves.screen) @ bars
    assert a[1] == pytest.approx(b[1], rel=0.02)
    # The screen is adapted to its own white: it is that which differs, not the match.
    ratio = np.asarray(curves.screen) / np.asarray(curves.object).max()
    assert np.sqrt(np.mean((ratio - np.asarray(curves.object) / np.asarray(curves.object).max()) ** 2)) > 0.05


def test_trouble_stands_first_in_the_sentences(job):
    result = run(strict(job))
    sentences = result.summary.sentences
    assert result.summary.first.startswith("Of 9 colours 3 pass, 6 fail (")
    assert any(said.startswith("Sea teal cannot be shown on Office display") for said in sentences)
    assert sentences[0].startswith("Slate and Slate, mixed do not match in every light (the two slates)")
    assert any("is not the approved colour" in sentence for sentence in sentences)
    assert sentences[-1].startswith("One sample lies outside the gamut") and "Marigold" in sentences[-1]
    # The worst first: a figure by how often its limit goes into it.
    ranks = [one.judged.severity for one in result.findings if one.judged is not None]
    assert ranks == sorted(ranks, reverse=True) and len(ranks) > 8
    reasons = by_name(run(job))
    assert reasons["Sea teal"].reason.startswith("Leaves its match on Office display, as sRGB")
    assert reasons["Slate"].reason.startswith("Does not match its pair")


def test_without_tolerances_nothing_is_judged_and_that_is_said(job):
    text = job.read_text(encoding="utf-8")
    job.write_text(text[: text.index("# What is judged")] + text[text.index("[output]") :], encoding="utf-8")
    result = run(job)
    assert result.summary.status == "not judged"
    sentences = result.summary.sentences
    assert result.summary.first == "Nothing was judged: the job has no limits."
    assert "Sea teal" in sentences[0] and "differ by up to" in sentences[1]
    assert {sample.status for sample in result.samples} == {"not judged"}
    assert all(not sample.on[0].verdicts for sample in result.samples)


def test_samples_of_colorimetry_only_are_matched_and_their_shift_is_refused(job):
    (job.parent / "lab.csv").write_text(
        "# light: D50\n# observer: cie1931\nname,LAB_L,LAB_A,LAB_B\nlone,50,10,10\n", encoding="utf-8"
    )
    changed(
        job,
        ('light = "D50"\nobserver', 'light = "booth"\nobserver'),
        (
            '[[lights]]\nname = "home lamp"',
            '[[lights]]\nname = "booth"\nstandard = "D50"\n\n[[lights]]\nname = "home lamp"',
        ),
        ("[[displays]]\nname", '[[samples]]\nfile = "lab.csv"\n\n[[displays]]\nname'),
    )
    sample = by_name(run(job))["lone"]
    assert sample.lab == pytest.approx((50, 10, 10), abs=1e-6)
    assert sample.on[0].in_gamut and sample.on[0].residual < 0.5
    assert sample.light_shift == () and "reflectance curve" in sample.refused[0].reason
    assert sample.on[0].shift == () and sample.on[0].refused
    assert set(sample.patch) == {"booth"}


def test_the_own_stock_as_white_is_shown_as_the_displays_white(job):
    sample = by_name(run(changed(job, ("bits = 8", 'bits = 8\nobject_white = "stock"'))))["Stock"]
    assert sample.on[0].code == (255, 255, 255)


def test_a_display_has_its_own_bits(job):
    on = run(changed(job, ('standard = "srgb"', 'standard = "srgb"\nbits = 10'))).samples[1].on[0]
    assert on.bits == 10 and max(on.code) > 255


def test_the_job_and_the_direct_command_agree(job, capsys):
    from screenproof.cli import main

    changed(
        job, ('luminance = 160\nblack = 0.2\nroom = { illuminance = 64, light = "D50", reflectance = 0.01 }\n', "")
    )
    with pytest.raises(SystemExit):
        main(["match", str(job.parent / "colours.csv"), "--display", "srgb", "--json"])
    direct = json.loads(capsys.readouterr().out)["samples"]
    for sample, one in zip(run(job).samples, direct, strict=True):
        assert sample.on[0].drive == tuple(one["drive"]) and list(sample.on[0].code) == one["code"]
        assert sample.on[0].excess == one["excess"] and sample.on[0].residual == one["residual"]


@pytest.mark.parametrize(
    ("swap", "word"),
    [
        (("an invented bookmark", "a tea caddy"), "touch food"),
        (("an invented bookmark", "an exit sign"), "ISO 3864-4"),
        (("an invented bookmark", "a stage set"), "epilepsy"),
    ],
)
def test_cautions_come_where_the_job_gives_a_reason(job, swap, word):
    assert run(job).cautions == ()
    assert any(word in caution for caution in run(changed(job, swap)).cautions)


def test_fluorescent_samples_bring_the_caution_about_ultraviolet(job):
    colours = job.parent / "colours.csv"
    colours.write_text("# fluorescent: yes\n" + colours.read_text(encoding="utf-8"), encoding="utf-8")
    assert any("ltraviolet" in caution for caution in run(job).cautions)


def test_progress_tells_what_is_done(job):
    said: list[str] = []
    run_job(load_job(job, said.append), said.append)
    assert "reading colours.csv" in said and "bookmark on office" in said


def test_the_starters_slates_match_in_its_light_and_part_in_others(job):
    pair = run(job).pairs[0]
    assert pair.from_[0].de00 < 0.1
    assert max(item.de00 for item in pair.shift) > 3
