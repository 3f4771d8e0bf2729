import tomllib

import pytest

from screenproof.errors import InputError
from screenproof.proof.tolerance import LIMITS, ToleranceSet, judge, read_tolerances, worst


def test_a_set_is_read_with_its_limits_and_weights():
    table = tomllib.loads(
        """
        [brand]
        metric = "cmc"
        l = 2
        c = 1.5
        match = 1.0
        excess = 0
        approval = 2
        [press]
        light_shift = 3.5
        """
    )
    sets = read_tolerances(table)
    assert sets["brand"] == ToleranceSet("brand", "cmc", match=1.0, excess=0.0, approval=2.0, cmc_l=2.0, cmc_c=1.5)
    assert sets["press"].metric == "de00"
    assert [what for what in LIMITS if sets["press"].limit(what) is not None] == ["light_shift"]


def test_the_label_of_a_metric_names_its_weights():
    assert ToleranceSet("a", "cmc", match=1).metric_label == "CMC(2:1)"
    assert ToleranceSet("a", "de00", match=1).metric_label == "CIEDE2000"
    assert ToleranceSet("a", "de00", match=1, kl=2).metric_label == "CIEDE2000(2:1:1)"


@pytest.mark.parametrize(
    ("text", "field", "said"),
    [
        ("[a]\nmach = 1", "tolerances.a.mach", "did you mean 'match'?"),
        ("[a]\nlightshift = 1", "tolerances.a.lightshift", "did you mean 'light_shift'?"),
        ("[a]\nmetric = 'DE00'\nmatch = 1", "tolerances.a.metric", "did you mean 'de00'?"),
        ("[a]\nmatch = -1", "tolerances.a.match", "0 or more"),
        ("[a]\nmatch = true", "tolerances.a.match", "no limit"),
        ("[a]\nmatch = '1'", "tolerances.a.match", "no limit"),
        ("[a]\nmatch = nan", "tolerances.a.match", "no limit"),
        ("[a]\nmatch = inf", "tolerances.a.match", "no limit"),
        ("[a]\nmatch = 1\nkl = 0", "tolerances.a.kl", "no weight"),
        ("[a]\nmetric = 'deab'\nmatch = 1\nkl = 2", "tolerances.a.kl", "set metric = 'de00'"),
        ("[a]\nmatch = 1\nl = 2", "tolerances.a.l", "set metric = 'cmc'"),
        ("[a]\nmetric = 'deab'", "tolerances.a", "no limit"),
        ("a = 3", "tolerances.a", "no tolerance set"),
    ],
)
def test_a_mistake_is_named_with_its_field_and_how_to_mend_it(text, field, said):
    with pytest.raises(InputError) as caught:
        read_tolerances(tomllib.loads(text), file="limits.toml")
    (problem,) = caught.value.problems
    assert problem.field == field
    assert problem.file == "limits.toml"
    assert said in str(problem)


def test_all_mistakes_come_at_once():
    with pytest.raises(InputError) as caught:
        read_tolerances(tomllib.loads("[a]\nmach = 1\nmatch = -1\n[b]\nmetric = 'x'\nmatch = 1\n[c]"))
    assert [problem.field for problem in caught.value.problems] == [
        "tolerances.a.mach",
        "tolerances.a.match",
        "tolerances.b.metric",
        "tolerances.c",
    ]


def test_a_figure_on_its_limit_passes_and_one_above_fails():
    limits = ToleranceSet("brand", match=2.0)
    passed = judge(limits, "match", 2.0, light="D50", observer="cie1931")
    failed = judge(limits, "match", 2.0001)
    assert passed is not None and failed is not None
    assert (passed.status, passed.light, passed.observer, passed.tolerance) == (
        "pass",
        "D50",
        "cie1931",
        "brand",
    )
    assert failed.status == "fail"
    assert passed.uncertainty is None
    assert judge(limits, "approval", 99.0) is None


def test_what_could_not_be_calculated_is_not_judged():
    with pytest.raises(ValueError, match="cannot be judged"):
        judge(ToleranceSet("a", match=1.0), "match", float("nan"))


def test_the_worst_status_counts():
    assert worst([]) == "not judged" and worst(["not judged", "pass"]) == "pass"
    assert worst(["not known", "pass"]) == "not known"
    assert worst(["pass", "undecided"]) == "undecided"
    assert worst(["undecided", "fail", "pass"]) == "fail"
