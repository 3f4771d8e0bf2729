"""The people of a job: eyes by age, a population, drive values for it, and how far one observer is trusted."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from screenproof.jobs import load_job, run_job
from screenproof.jobs.starter import new_job
from screenproof.proof import match, result_from_json, screen_shift
from screenproof.spectra import VISIBLE, light
from tests.started_jobs import changed, run

OLED = ('standard = "srgb"', 'technology = "rgb-oled"')
PEOPLE = "\n[population]\ncount = 60\nseed = 4\nlimit = 2.0\n"
LASER = '\n[[displays]]\nname = "laser"\ntechnology = "laser"\n'


def test_an_eye_of_32_years_sees_what_the_cie_2015_functions_see(job):
    """CIE 170-2:2015 is the eye of 32 years (CIE 170-1:2006): the published functions stand beside the model."""
    eyes = '[[observers]]\nname = "older client"\nage = 70\n\n[[observers]]\nname = "age=32,field=2"\n\n'
    swaps = OLED, ("[[approvals]]", eyes + '[[observers]]\nname = "cie2015-2"\n\n[[approvals]]')
    result = run(changed(job, *swaps))
    for sample in result.samples:
        shift = {(f.light, f.observer): f.de00 for f in sample.on[0].shift}
        for name in ("D50", "home lamp", "shop tubes", "shop LED"):
            assert shift[name, "age=32,field=2"] == pytest.approx(shift[name, "cie2015-2"], abs=0.05)
    labels = {record.name: record.label for record in result.observers}
    assert labels["older client"] == "older client: 70 years, 2 degrees"
    # An older lens takes away blue: that eye does not see what the younger sees.
    plum = next(sample for sample in result.samples if sample.name == "Plum").on[0].shift
    old, young = (next(f.de00 for f in plum if f.light == "D50" and f.observer == who)
                  for who in ("older client", "age=32,field=2"))  # fmt: skip
    assert abs(old - young) > 0.15
    assert any("CIE 170-1:2006" in standard for standard in result.provenance.standards)


def test_a_handful_of_people_and_a_cost_beyond_the_match_are_noted(job):
    few = "\n[population]\ncount = 39\naim = \"population\"\ncost = COST\n"
    notes = {}
    for cost in ("1.0", "0.9"):
        other = changed(new_job(job.parent / cost)[0], OLED, more=few.replace("COST", cost))
        notes[cost] = [note.what for note in load_job(other).notes]
    assert any("39 people are few" in what for what in notes["0.9"])
    assert any("cost of 1 is not below the limit of a match, 1" in what for what in notes["1.0"])
    assert not any("cost" in what for what in notes["0.9"])
    enough = changed(new_job(job.parent / "enough")[0], OLED, more=few.replace("COST", "0.9").replace("39", "40"))
    assert not load_job(enough).notes


def test_an_eye_by_its_age_can_be_the_viewing_observer(job):
    result = run(changed(job, OLED, ('observer = "cie1931"', 'observer = "age=60,field=10"')))
    assert result.viewing.observer == "age=60,field=10" == result.observers[0].name
    assert all(on.residual < 0.5 for sample in result.samples for on in sample.on if on.in_gamut)


def test_what_people_see_is_what_each_of_them_sees_as_the_observer(job):
    """The records of the crowd, against the screen shift with one person after the other as the observer."""
    loaded = load_job(changed(job, OLED, more=PEOPLE + 'whites = "own"\n'))
    result = run_job(loaded)
    group, viewing, display = loaded.groups[0], loaded.viewings[0], loaded.displays[0]
    people = loaded.people.population
    found = match(group.samples, display, viewing, 8)
    each = screen_shift(group.samples, found, display, viewing, [viewing.light], people.observers).de00[:, 0]
    for i, sample in enumerate(result.samples):
        crowd = sample.on[0].crowd
        assert crowd.median == pytest.approx(np.median(each[i]), abs=1e-6)
        assert crowd.p95 == pytest.approx(np.quantile(each[i], 0.95), abs=1e-6)
        assert crowd.share_above == pytest.approx(np.mean(each[i] > 2.0), abs=1e-9)
        assert sum(age.count for age in crowd.by_age) == 60 and crowd.limit == 2.0
    record = result.population
    assert (record.count, record.seed, record.ages, record.whites) == (60, 4, (20.0, 80.0), "own")


def test_what_people_see_of_a_pair_is_what_their_curves_give(job, colour):
    """Sums over 1 nm and CIEDE2000 by colour-science, person by person."""
    loaded = load_job(changed(job, more=PEOPLE))
    crowd = run_job(loaded).pairs[0].crowd
    assert [record.light for record in crowd] == ["D50", "home lamp", "shop tubes", "shop LED"]
    samples = loaded.groups[0].samples
    nm = VISIBLE.wavelengths
    inside = np.clip(nm, samples.grid.start, samples.grid.stop)
    curves = [
        CubicSpline(samples.grid.wavelengths, samples.reflectance[samples.index(name)])(inside)
        for name in ("Slate", "Slate, mixed")
    ]
    power = light("A").at(nm)
    seen = []
    for bars in loaded.people.population.curves:
        white, *sides = ((power * curve) @ bars for curve in (np.ones(nm.size), *curves))
        lab = []
        for xyz in sides:
            f = np.where(xyz / white > (6 / 29) ** 3, np.cbrt(xyz / white), (xyz / white) * 841 / 108 + 4 / 29)
            lab.append([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])
        seen.append(colour.delta_E(*np.array(lab), method="CIE 2000"))
    # Bands of 10 nm joined by cubic splines here, by the weights of ASTM E2022 there.
    assert crowd[1].median == pytest.approx(np.median(seen), abs=0.05)
    assert crowd[1].p95 == pytest.approx(np.quantile(seen, 0.95), abs=0.05)
    assert crowd[1].median > 2 * crowd[0].median


def test_drive_values_for_the_people_lower_what_they_see_at_the_stated_cost(job):
    before = run(changed(job, OLED, more=PEOPLE))
    result = run(changed(job, ("[population]\n", '[population]\naim = "population"\ncost = 0.8\n')))
    assert result.population.aim == "population" and result.population.cost == 0.8
    gains = []
    for old, new in zip(before.samples, result.samples, strict=True):
        crowd = new.on[0].crowd
        assert crowd.aim == "population"
        assert crowd.p95_before == pytest.approx(old.on[0].crowd.p95, abs=1e-9)
        assert crowd.p95 <= crowd.p95_before + 1e-9
        assert crowd.standard <= crowd.standard_before + 0.8 + 1e-9
        assert new.on[0].residual == pytest.approx(crowd.standard, abs=1e-6)
        gains.append(crowd.p95_before - crowd.p95)
        if gains[-1] > 0.05:
            assert new.on[0].code != old.on[0].code
    assert max(gains) > 0.3
    assert any("smallest 95th percentile" in formula for formula in result.provenance.formulae)


def test_the_same_seed_gives_the_same_figures_and_another_seed_others(job):
    changed(job, OLED, more=PEOPLE)
    first, again = run(job), run(job)
    other = run(changed(job, ("seed = 4", "seed = 5")))
    crowds = [[sample.on[0].crowd for sample in result.samples] for result in (first, again, other)]
    assert crowds[0] == crowds[1] and crowds[0] != crowds[2]
    assert result_from_json(first.to_json()) == first


def test_the_kindest_display_is_named_and_a_display_without_spectra_is_refused(job):
    third = '\n[[displays]]\nname = "office 2"\nstandard = "srgb"\n'
    result = run(changed(job, OLED, more=LASER + third + PEOPLE))
    by_name = {entry.display: entry for entry in result.population.displays}
    assert set(by_name) == {"office", "laser"}
    assert by_name["laser"].p95 > by_name["office"].p95 and result.population.kindest == "office"
    assert all(sample.on[2].crowd is None for sample in result.samples)
    assert "spectra, which are not known" in result.population.refused[0]
    assert any("Kindest to most eyes is Office display" in said for said in result.summary.sentences)
    for entry in by_name.values():
        p95 = [on.crowd.p95 for sample in result.samples for on in sample.on if on.display == entry.display]
        assert entry.p95 == pytest.approx(np.median(p95)) and entry.largest == pytest.approx(max(p95))


def test_one_observer_is_not_trusted_on_narrow_primaries_and_unlike_screens(job):
    result = run(changed(job, OLED, more=LASER))
    office, laser = result.trust
    assert not laser.trusted and any("narrow" in reason for reason in laser.reasons)
    assert any("unlike that of" in reason for reason in office.reasons)
    assert laser.observer == "cie2015-2" and laser.largest >= laser.median > 0.5
    assert any("is not to be trusted for Laser" in said for said in result.summary.sentences)


def test_a_job_that_asks_for_nobody_gets_nobody(job):
    result = run(job)
    assert result.population is None and result.trust == () and result.doubt is None and result.wholes == ()
    assert all(on.crowd is None for sample in result.samples for on in sample.on)
    assert all(pair.crowd == () for pair in result.pairs)


def test_without_a_limit_of_its_own_the_people_have_that_of_the_observer_shift(job):
    changed(job, OLED, ("excess = 8.0", "excess = 8.0\nobserver_shift = 3.5"), more=PEOPLE)
    result = run(changed(job, ("limit = 2.0\n", "")))
    assert {sample.on[0].crowd.limit for sample in result.samples} == {3.5}
    result = run(changed(job, ("observer_shift = 3.5", "")))
    assert {sample.on[0].crowd.share_above for sample in result.samples} == {None}
