"""Doubt in a job: where it comes from, what it makes of verdicts, sets as a whole, and brightener."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from screenproof.cli import main
from screenproof.jobs import load_job
from screenproof.jobs.starter import new_job
from screenproof.proof import result_from_json
from tests.started_jobs import changed, run

DEMO = Path(__file__).parents[2] / "profiles_demo" / "data"
AIMS = "# light: D50\n# observer: cie1931\nname,LAB_L,LAB_A,LAB_B\n"


def instrument(said: str) -> tuple[str, str]:
    return 'stock = "Stock"', f'stock = "Stock"\ninstrument = {said}'


def shift_limit(limit: float) -> tuple[str, str]:
    return "match = 1.0", f"match = 1.0\nlight_shift = {limit:.6f}"


def verdict_of(result, name: str, light: str):
    sample = next(sample for sample in result.samples if sample.name == name)
    return next(verdict for verdict in sample.verdicts if verdict.light == light)


def test_the_guard_band_of_jcgm_106_decides(job, tmp_path):
    """JCGM 106:2012, 8.3.2: accepted up to T - z u, with z = 1.6449 at a risk of 5 %; rejected from T + z u."""
    first = verdict_of(run(changed(job, instrument('"production"'), shift_limit(9.0))), "Night blue", "home lamp")
    u = first.uncertainty / 1.959964
    assert first.uncertainty > 0.02 and first.low < first.figure < first.high
    for place, (steps, status) in enumerate(
        [(1.75, "pass"), (1.55, "undecided"), (-1.55, "undecided"), (-1.75, "fail")]
    ):
        other = new_job(tmp_path / str(place))[0]
        result = run(changed(other, instrument('"production"'), shift_limit(first.figure + steps * u)))
        verdict = verdict_of(result, "Night blue", "home lamp")
        assert verdict.status == status, (steps, verdict)
        assert (verdict.remedy is None) == (status != "undecided")


def test_a_smaller_risk_widens_the_guard_band(job):
    plain = verdict_of(run(changed(job, instrument('"production"'), shift_limit(9.0))), "Night blue", "home lamp")
    limit = plain.figure + 2.0 * plain.uncertainty / 1.959964
    changed(job, (f"light_shift = {9.0:.6f}", f"light_shift = {limit:.6f}"))
    assert verdict_of(run(job), "Night blue", "home lamp").status == "pass"
    result = run(changed(job, more="\n[doubt]\nrisk = 0.01\ncoverage = 0.99\n"))
    careful = verdict_of(result, "Night blue", "home lamp")
    assert careful.status == "undecided" and careful.uncertainty > 1.25 * plain.uncertainty
    assert (result.doubt.risk, result.doubt.coverage) == (0.01, 0.99)
    assert any("JCGM 106:2012" in standard for standard in result.provenance.standards)


def test_what_is_undecided_is_decided_by_the_readings_that_it_asks_for_and_is_no_failure(job, tmp_path, capsys):
    once = "{ repeatability = 0.004 }"
    before = run(changed(job, instrument(once), shift_limit(99.0)))
    first, name = max(
        ((v, sample.name) for sample in before.samples for v in sample.verdicts), key=lambda found: found[0].figure
    )
    limit = first.figure + 1.2 * first.uncertainty / 1.959964
    second = new_job(tmp_path / "second")[0]
    result = run(changed(second, instrument(once), shift_limit(limit)))
    verdict = verdict_of(result, name, first.light)
    assert verdict.status == "undecided" and result.summary.status == "undecided"
    ((what, extra),) = verdict.remedy.extra
    assert what == "sample" and extra >= 1
    sample = next(sample for sample in result.samples if sample.name == name)
    assert sample.status == "undecided" and verdict.remedy.words in sample.reason
    assert any(
        one.judged is not None and one.judged.status == "undecided" and one.subject == name
        for one in result.findings
    )
    with pytest.raises(SystemExit) as ended:
        main(["run", str(second)])
    assert ended.value.code == 0 and f"easure {name}" in capsys.readouterr().out
    changed(second, (once, f"{{ repeatability = 0.004, readings = {1 + extra} }}"))
    assert verdict_of(run(second), name, first.light).status == "pass"


def test_the_job_goes_before_the_file_and_the_file_before_the_kind(job):
    colours = job.parent / "colours.csv"
    said = colours.read_text(encoding="utf-8").replace(
        "# filter: M1", "# filter: M1\n# repeatability: 0.0007\n# agreement_scale: 0.5 %"
    )
    colours.write_text(said, encoding="utf-8")
    of_file = load_job(job).groups[0].samples.doubt
    assert (of_file.repeatability, of_file.scale, of_file.zero) == (0.0007, 0.005, 0)
    changed(job, instrument('{ kind = "basic", agreement_scale = 0.002, readings = 3 }'))
    doubt = load_job(job).groups[0].samples.doubt
    assert (doubt.repeatability, doubt.scale, doubt.readings) == (0.0007, 0.002, 3)
    assert doubt.zero == 0.002 and doubt.wavelength_nm == 0.8 and doubt.stated == "job"
    source = run(job).doubt.sources[0]
    assert source.name == "bookmark" and "0.0007" in source.words and "3 readings" in source.words


def test_repeated_readings_of_a_display_are_its_doubt_and_a_kind_fills_what_they_do_not_tell(job):
    matrix = np.array([[41.24, 35.76, 18.05], [21.26, 71.52, 7.22], [1.93, 11.92, 95.05]])
    noise = np.random.default_rng(3)
    rows, levels = ["R,G,B,X,Y,Z"], [*range(0, 256, 32), 255]
    mixes = [(1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 1, 1), (1, 1, 0), (0, 1, 1), (1, 0, 1)]
    for code in [tuple(v * c for c in mix) for mix in mixes for v in levels if v or mix[0]] * 2:
        xyz = (matrix @ (np.array(code) / 255) ** 2.2 + 0.1) * (1 + 0.004 * noise.standard_normal())
        rows.append(",".join(f"{value:.6g}" for value in (*code, *xyz)))
    (job.parent / "screen.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    source = 'standard = "srgb"\nluminance = 160\nblack = 0.2', 'readings = "screen.csv"'
    own = load_job(changed(job, source)).displays[0].doubt
    assert own.stated == "repeated readings" and own.luminance == pytest.approx(0.004, rel=0.25)
    assert own.luminance_agreement == 0 and own.model_de > 0
    changed(job, ('readings = "screen.csv"', 'readings = "screen.csv"\ninstrument = "laboratory"'))
    filled = load_job(job).displays[0].doubt
    assert filled.luminance == own.luminance and filled.luminance_agreement == 0.02
    matches = [v for s in run(job).samples for v in s.on[0].verdicts if v.what == "match"]
    assert matches and all(v.uncertainty > 0 and v.low <= v.figure <= v.high for v in matches)


def proof_job(job: Path, more: str = "") -> Path:
    """The starter's colours as the aims of a proof, which reads each band a little darker, one patch much more."""
    text = (job.parent / "colours.csv").read_text(encoding="utf-8")
    lines = [line.replace("Moss,", "Moss ,") for line in text.splitlines()]
    darker = [re.sub(r",(0\.\d+)", lambda c: f",{float(c[1]) * 0.88 + 0.002:.4f}", line) for line in lines]
    (job.parent / "proof.csv").write_text("\n".join(darker) + "\n", encoding="utf-8")
    second = '[[samples]]\nfile = "proof.csv"\ngroup = "proof"\n\n[[displays]]'
    pairs = 'a = "bookmark/*"\nb = "proof/*"\ntolerance = "contract"\n'
    text = changed(job, ("[[displays]]", second), ('a = "Slate"\nb = "Slate, mixed"\n', pairs),
                   ('sample = "Plum"', 'sample = "bookmark/Plum"')).read_text(encoding="utf-8")  # fmt: skip
    limits = '[tolerances.contract]\npreset = "contract-proof"\npair = 3.0\n' + more
    job.write_text(text.replace("[output]", f"{limits}\n[output]"), encoding="utf-8")
    return job


def test_two_groups_are_paired_by_name_and_judged_as_a_whole(job, colour):
    result = run(proof_job(job))
    lab = {(sample.group, sample.name.split("/")[-1]): sample.lab for sample in result.samples}
    names = [name for group, name in lab if group == "bookmark"]
    assert [pair.name for pair in result.pairs] == [f"the two slates: {name}" for name in names]
    apart = [float(colour.delta_E(lab["bookmark", n], lab["proof", n], method="CIE 2000")) for n in names]
    for pair, expected in zip(result.pairs, apart, strict=True):
        (verdict,) = [v for v in pair.verdicts if v.what == "pair"]
        assert verdict.figure == pytest.approx(expected, abs=1e-6) and verdict.tolerance == "contract"
        assert verdict.status == ("pass" if expected <= 3.0 else "fail")
    (whole,) = result.wholes
    assert (whole.what, whole.count, whole.display) == ("pairs", len(names), None)
    figures = {one.statistic: one.figure for one in whole.figures}
    assert figures["mean"] == pytest.approx(np.mean(apart), abs=1e-6)
    assert figures["worst"] == pytest.approx(np.max(apart), abs=1e-6)
    assert whole.worst_name == names[int(np.argmax(apart))] and whole.figures[0].low is None
    assert result_from_json(result.to_json()) == result


def test_one_instrument_for_both_sides_leaves_less_doubt_of_pairs_and_wholes(job):
    proof_job(job, "mean = 1.2\n")
    one = '{ kind = "basic", id = "bench" }'
    swaps = instrument(one), ('group = "proof"', f'group = "proof"\ninstrument = {one}')
    same = run(changed(job, *swaps))
    unlike = run(changed(job, ('group = "proof"\ninstrument = { kind = "basic", id = "bench" }',
                               'group = "proof"\ninstrument = { kind = "basic", id = "another" }')))  # fmt: skip
    for first, second in zip(same.pairs, unlike.pairs, strict=True):
        together, apart = (next(v for v in pair.verdicts if v.what == "pair") for pair in (first, second))
        assert together.figure == apart.figure and together.uncertainty < apart.uncertainty
    spans = [one.high - one.low for result in (same, unlike) for one in result.wholes[0].figures[:1]]
    assert 0 < spans[0] < spans[1]
    assert {source.stated for source in same.doubt.sources} == {"class"}


def test_pairs_of_lab_alone_have_their_difference_under_the_viewing_light(job, colour):
    values = {"Plum": (40.0, 25.0, -20.0), "Moss": (48.0, -14.0, 22.0)}
    for file, move in (("aims.csv", 0.0), ("print.csv", 1.5)):
        rows = [f"{name},{light + move},{a},{b - move}" for name, (light, a, b) in values.items()]
        (job.parent / file).write_text(AIMS + "\n".join(rows) + "\n", encoding="utf-8")
    groups = "".join(
        f'[[samples]]\nfile = "{file}.csv"\ninstrument = "production"\n\n' for file in ("aims", "print")
    )
    changed(job, ("[[displays]]", f"{groups}[[displays]]"), ('sample = "Plum"', 'sample = "bookmark/Plum"'),
            ('a = "Slate"\nb = "Slate, mixed"', 'a = "aims/*"\nb = "print/*"'),
            ("match = 1.0", "match = 1.0\npair = 2.0"))  # fmt: skip
    for pair, lab in zip(run(job).pairs, values.values(), strict=True):
        moved = np.array(lab) + (1.5, 0.0, -1.5)
        assert pair.from_[0].de00 == pytest.approx(colour.delta_E(lab, moved, method="CIE 2000"), abs=1e-6)
        (verdict,) = pair.verdicts
        assert verdict.figure == pair.from_[0].de00 and verdict.uncertainty > 0.3
        assert pair.shift == () and "was not measured" in pair.refused[0].reason


def test_who_has_no_partner_is_noted(job, capsys):
    proof_job(job)
    (job.parent / "proof.csv").write_text(
        (job.parent / "proof.csv").read_text(encoding="utf-8").replace("\nPlum,", "\nPlume,"), encoding="utf-8"
    )
    result = run(job)
    notes = [note.what for note in result.notes]
    assert "bookmark has samples without a partner: Plum" in notes
    assert "proof has samples without a partner: Plume" in notes
    with pytest.raises(SystemExit):
        main(["run", str(job)])
    printed = capsys.readouterr().out
    assert "odd: the two slates: proof has samples without a partner: Plume" in printed
    assert "proof has samples without a partner: Plume" in notes


def test_brightener_bounds_decide_the_light_shift_or_leave_it_undecided(job):
    """Readings without ultraviolet lie lower in the blue: how much of that a lamp excites is not known wholly."""
    nm = np.arange(380.0, 731.0, 10.0)
    glow = 0.12 * np.exp(-0.5 * ((nm - 440.0) / 18.0) ** 2) * (nm >= 400)
    lines = (job.parent / "colours.csv").read_text(encoding="utf-8").splitlines()
    dull = []
    for line in lines:
        cells = line.rsplit(",", nm.size)
        if line.startswith("Stock,"):
            values = np.array(cells[1:], dtype=float) - glow
            line = ",".join([cells[0], *(f"{v:.4f}" for v in values)])
        dull.append(line)
    (job.parent / "m2.csv").write_text("\n".join(dull).replace("M1", "M2") + "\n", encoding="utf-8")
    changed(job, ('stock = "Stock"', 'stock = "Stock"\nuv_excluded = "m2.csv"'), shift_limit(3.0))
    result = run(job)
    stock = result.samples[0]
    lights = {light.light: light for light in stock.brightener.lights}
    assert stock.brightener.emission == pytest.approx(0.12, abs=0.01)
    assert lights["home lamp"].low < lights["home lamp"].high
    assert lights["shop tubes"].low is None and "ultraviolet" in lights["shop tubes"].reason
    tubes = verdict_of(result, "Stock", "shop tubes")
    assert tubes.status == "undecided" and "300 nm" in tubes.remedy.words
    lamp, bound = verdict_of(result, "Stock", "home lamp"), lights["home lamp"]
    assert (lamp.low, lamp.high) == (bound.low, bound.high) and lamp.low <= lamp.figure <= lamp.high
    for name in ("Moss", "Night blue"):
        assert verdict_of(result, name, "shop tubes").status != "undecided"
    assert any("harm eyes and skin" in caution for caution in result.cautions)
    assert any("ISO 13655" in standard for standard in result.provenance.standards)
    assert any("brightener (Stock)" in said for said in result.summary.sentences)
    result = run(changed(job, ('standard = "FL11"', 'standard = "FL11"\nwithout_uv = true')))
    assert result.samples[0].brightener.lights[1].high is not None


def test_the_doubt_of_the_readings_widens_what_brightener_may_do(job, tmp_path):
    """The bounds of the second board in the LED without ultraviolet, further out by U on both sides: a fail by far
    stays one whatever read it, and no end is that of the M1 curve alone, which cannot be."""
    lamp = DEMO / "shop_led.csv"
    text = f"""version = 1
title = "boards"
[[samples]]
file = "{(DEMO / "board_m1.csv").as_posix()}"
uv_excluded = "{(DEMO / "board_m2.csv").as_posix()}"
INSTRUMENT
[[displays]]
name = "screen"
standard = "srgb"
[[lights]]
name = "LED"
file = "{lamp.as_posix()}"
without_uv = true
[tolerances.plain]
light_shift = 2.0
"""
    job.write_text(text.replace("INSTRUMENT", ""), encoding="utf-8")
    name = "Board offered for the next"
    plain = verdict_of(run(job), name, "LED")
    job.write_text(text.replace("INSTRUMENT", 'instrument = "production"'), encoding="utf-8")
    doubted = verdict_of(run(job), name, "LED")
    assert plain.status == doubted.status == "fail" and plain.uncertainty is None
    assert doubted.uncertainty > 0
    assert doubted.low == pytest.approx(plain.low - doubted.uncertainty)
    assert doubted.high == pytest.approx(plain.high + doubted.uncertainty)
    # A limit between the bound and its wider end: then the instrument does matter.
    near = text.replace("2.0", f"{plain.low - 0.5 * doubted.uncertainty:.6f}")
    job.write_text(near.replace("INSTRUMENT", 'instrument = "production"'), encoding="utf-8")
    assert verdict_of(run(job), name, "LED").status == "undecided"


def test_a_fluorescent_sample_without_m2_is_undecided_in_other_lights(job):
    """Neither a pass nor a fail can be known: object alone, pair, beside the screen; at home they are judged."""
    colours = job.parent / "colours.csv"
    colours.write_text("# fluorescent: yes\n" + colours.read_text(encoding="utf-8"), encoding="utf-8")
    limits = "match = 1.0\nlight_shift = 0.01\nobserver_shift = 50.0\npair = 5.0\npair_shift = 50.0"
    result = run(changed(job, ("match = 1.0", limits)))
    own = [verdict for sample in result.samples for verdict in sample.verdicts]
    beside = [v for sample in result.samples for on in sample.on for v in on.verdicts]
    paired = [verdict for pair in result.pairs for verdict in pair.verdicts]
    every = [*own, *beside, *paired]
    away = [v for v in every if v.light != "D50"]
    assert {v.what for v in away} == {"light_shift", "observer_shift", "pair_shift"}
    assert all(v.status == "undecided" and v.low is v.high is None for v in away)
    assert all("(M2)" in v.remedy.words and "uv_excluded" in v.remedy.words for v in away)
    home = [v for v in every if v.light == "D50"]
    assert {v.what for v in home} >= {"match", "pair"} and all(v.remedy is None for v in home)
    assert any("samples declared fluorescent" in note.what for note in result.notes)


def test_where_nothing_is_known_verdicts_are_of_the_figures_alone(job):
    result = run(changed(job, shift_limit(5.0)))
    verdicts = [v for s in result.samples for v in (*s.verdicts, *(v for on in s.on for v in on.verdicts))]
    assert verdicts and all(v.uncertainty is v.low is v.high is v.remedy is None for v in verdicts)
    assert all(v.status == ("pass" if v.figure <= v.limit else "fail") for v in verdicts)
    assert result.doubt is None and not any("JCGM" in standard for standard in result.provenance.standards)
