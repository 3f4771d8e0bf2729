"""A screen against its limits: each fault alone is found, and no other; doubt, and what would decide.

The lines of the check are judged here as ``display check`` judges them.

The screens are simulated here from published numbers (IEC 61966-2-1 primaries, BT.1886 by colour-science), not by
the package under test.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from screenproof.additive import Readings
from screenproof.additive.screen_check import check_screen as looked_at
from screenproof.additive.screen_check_limits import SCREEN_LIMITS
from screenproof.errors import InputError
from screenproof.proof.checks import CheckRow, judged_line, judged_lines
from screenproof.proof.judging import Judge
from screenproof.spectra.checks import FOUND, MEMORY, CheckLine, Limit
from screenproof.spectra.doubt import EmissionDoubt

# IEC 61966-2-1:1999 with Amd 1, and the white of the ICC's connection space (ICC.1:2022, 7.2.16).
PRIMARIES = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
D50 = np.array([0.9642, 1.0, 0.8249])
D65 = PRIMARIES.sum(axis=1)
WHITE = 140.0
PLACES = [f"{row},{column}" for row in (1, 2, 3) for column in (1, 2, 3)]
MINUTES = np.arange(0.0, 95.0, 5.0)
RAMP = np.linspace(0.0, 1.0, 11)
INSTRUMENT = EmissionDoubt(0.003, 0.0004, 0.02, 0.0015)


class Screen:
    """A sound screen; a fault changes one thing of it."""

    def __init__(
        self,
        white=WHITE,
        tint=D50,
        black=0.14,
        gamma=lambda d: d**2.2,
        places=None,
        time=None,
        mixing=1.0,
        greys=(0.0, 0.0, 0.0),
    ):
        self.matrix = PRIMARIES * np.linalg.solve(PRIMARIES, np.asarray(tint)) * white
        self.black = black * np.asarray(tint)
        self.gamma, self.mixing, self.greys = gamma, mixing, np.asarray(greys)
        self.places, self.time = places or {}, time

    def xyz(self, drive):
        # A cast in the middle tones alone leaves white and black as they are.
        linear = np.clip(self.gamma(drive), 0.0, None) * (1.0 + self.greys * 4.0 * drive * (1.0 - drive))
        alone = (drive > 0).sum(axis=1, keepdims=True) == 1
        return np.where(alone, self.mixing, 1.0) * (linear @ self.matrix.T) + self.black

    def readings(self, noise=0.0, times=1, seed=5, places=PLACES):
        """Primaries and greys at the centre, three greys all over, white for 90 minutes; each so many times."""
        centre = np.vstack([np.eye(3), *(np.full((1, 3), level) for level in RAMP)])
        levels = [level for _ in places for level in (1.0, 128 / 255, 64 / 255)]
        spots = [place for place in places for _ in range(3)]
        drive = np.vstack([centre, np.repeat(np.array(levels)[:, None], 3, axis=1), np.ones((MINUTES.size, 3))])
        xyz = self.xyz(drive)
        here = slice(len(centre), len(centre) + len(spots))
        xyz[here] *= np.array([self.places.get(spot, np.ones(3)) for spot in spots])
        if self.time is not None:
            xyz[here.stop :] *= self.time(MINUTES)[:, None]
        positions = [*[None] * len(centre), *spots, *[None] * MINUTES.size]
        minutes = np.concatenate([np.full(here.stop, np.nan), MINUTES])
        rows = np.repeat(np.arange(len(drive)), times)
        generator = np.random.default_rng(seed)
        told = xyz[rows] * (1.0 + noise * generator.standard_normal((rows.size, 1)))
        return Readings(drive[rows], told, positions=tuple(positions[i] for i in rows), minutes=minutes[rows])


def bt1886(white, black, colour):
    """BT.1886 by colour-science, as a share of the range from black to white."""
    return lambda drive: (colour.models.eotf_BT1886(drive, L_B=black, L_W=white) - black) / (white - black)


@dataclass(frozen=True)
class Checked:
    """The judged rows of a screen, and how well its readings repeat."""

    rows: tuple[CheckRow, ...]
    repeats: tuple[float, float] | None

    def row(self, key):
        return next(row for row in self.rows if row.key == key)

    @property
    def failed(self):
        return tuple(row.key for row in self.rows if row.status == "fail")


def check_screen(readings, against="iso12646", *, risk=0.05, **more):
    found = looked_at(readings, against, **more)
    return Checked(judged_lines(found.lines, Judge.of_limit(None, risk)), found.repeats)


def statuses(found, word):
    return {row.key for row in found.rows if row.status == word}


def unread(found):
    return {row.key for row in found.rows if row.figure is None}


def test_a_sound_screen_passes_each_set_of_limits(colour):
    graphic = Screen().readings(0.001)
    mastering = Screen(100.0, D65, 0.02, bt1886(100.0, 0.02, colour)).readings(0.001)
    for readings, against, more in (
        (graphic, "iso12646", {"off": 0.09}),
        (graphic, "iso12646", {"curve": "gamma2.2", "off": 0.09}),
        (Screen(160.0).readings(0.001), "soft-proof", {"off": 0.09}),
        (Screen(160.0, D65).readings(0.001), "soft-proof", {"off": 0.09, "white": (0.3127, 0.3290)}),
        (mastering, "broadcast", {"off": 0.01}),
    ):
        for doubt in (None, INSTRUMENT):
            found = check_screen(readings, against, doubt=doubt, **more)
            assert found.failed == () and not statuses(found, "undecided") | unread(found)
            assert len(statuses(found, "pass")) >= 8
    exponent = check_screen(mastering, "broadcast").row("exponent")
    assert exponent.figure == pytest.approx(2.4, abs=0.01) and exponent.limit.obtained == MEMORY


# Each fault alone; the keys of the rows that must fail, and no other may.
FAULTS = {
    "too dark": ({"white": 60.0, "black": 0.06}, {"white_luminance"}),
    "bluish white": ({"tint": D65}, {"white_chromaticity"}),
    "grey black": ({"black": 2.5}, {"contrast", "black_on_off"}),
    "steep curve": ({"gamma": lambda d: d**2.7}, {"exponent"}),
    "flat curve": ({"gamma": lambda d: d**1.5}, {"exponent"}),
    "cast in the greys": ({"greys": (0.10, 0.0, -0.06)}, {"grey_balance"}),
    "dark corner": ({"places": {"3,1": np.full(3, 0.80)}}, {
        "uniformity_white", "uniformity_grey_128", "uniformity_grey_64"}),
    "coloured corner": ({"places": {"1,3": np.array([1.06, 1.0, 0.93])}}, {"uniformity_colour"}),
    "never steady": ({"time": lambda t: 1.0 - 0.0008 * t}, {"drift"}),
    "slow to warm up": ({"time": lambda t: 1.0 - 0.3 * np.exp(-t / 25.0)}, {"drift"}),
    "boosted mixtures": ({"mixing": 0.8}, {"additivity"}),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_is_found_and_no_other(fault):
    change, expected = FAULTS[fault]
    readings = Screen(**change).readings(0.001)
    for doubt in (None, INSTRUMENT):
        off = min(0.09, 0.6 * change.get("black", 0.14))  # never above the black that is shown in the same room
        found = check_screen(readings, "iso12646", off=off, doubt=doubt)
        assert set(found.failed) == expected
        assert not statuses(found, "undecided") and not unread(found)
        assert all(row.mend for row in found.rows if row.status == "fail")
    worst = {"dark corner": "3,1", "coloured corner": "1,3"}.get(fault)
    assert worst is None or all(f"place {worst}" in found.row(key).words for key in expected)


def test_a_curve_that_was_asked_for_is_checked_in_lightness(colour):
    readings = Screen(gamma=lambda d: d**1.8).readings()
    found = check_screen(readings, curve="gamma2.2")
    assert found.failed == ("tone_curve",)
    # The same by colour-science's lightness of the two luminances.
    drive = np.append(RAMP[1:-1], [64 / 255, 128 / 255])
    told, aim = (
        colour.colorimetry.lightness_CIE1976(100 * (0.14 + WHITE * drive**gamma) / (WHITE + 0.14))
        for gamma in (1.8, 2.2)
    )
    assert found.row("tone_curve").figure == pytest.approx(np.abs(told - aim).max(), abs=0.01)


def test_the_limits_are_the_published_ones(published):
    rows = {(row["standard"], row["item"]): row for row in published("viewing_limits")}
    iso = SCREEN_LIMITS["iso12646"].limits
    for key, name in (
        ("uniformity_white", ("ISO 12646:2008", "luminance uniformity (3x3 grid) white")),
        ("uniformity_grey_128", ("ISO 12646:2008/Amd1:2010", "luminance uniformity grey 128")),
        ("uniformity_grey_64", ("ISO 12646:2008/Amd1:2010", "luminance uniformity grey 64")),
    ):
        limit = iso[key]
        assert rows[name]["value"] == f"should {limit.better_high:g}, shall {limit.high:g}"
        assert rows[name]["obtained"].startswith(FOUND) and limit.obtained == FOUND
    colour = rows["ISO 12646:2008", "neutral chromaticity uniformity"]
    assert float(colour["value"]) == iso["uniformity_colour"].high
    assert rows["ISO 12646:2008", "black ON / OFF"]["value"] == f"<={iso['black_on_off'].high:g}"
    white = rows["ISO 12646:2008", "white luminance"]
    limit = iso["white_luminance"]
    assert white["value"].startswith(f">={limit.low:g}, should >={limit.better_low:g}")
    assert white["obtained"] == "memory" and limit.obtained == MEMORY
    proof = SCREEN_LIMITS["soft-proof"].limits["white_luminance"]
    station = next(row for row in rows.values() if row["standard"] == "ISO 14861:2015")
    assert 0.5 * (proof.low + proof.high) == float(station["value"])


def test_the_doubt_of_figures_is_that_of_the_law_of_propagation():
    """JCGM 100:2008, 5.1.2, by hand: a ratio of two readings doubts by the root of two, an absolute one by all."""
    found = check_screen(Screen().readings(), doubt=INSTRUMENT, off=0.09)
    white = found.row("white_luminance")
    # White was read twice, among the greys and as the centre of the grid.
    assert white.random == pytest.approx(0.003 * white.figure / np.sqrt(2), rel=0.06)
    assert white.fixed == pytest.approx(0.02 * white.figure, rel=0.06)
    corner = Screen(places={"3,1": np.full(3, 0.8)})
    even = check_screen(corner.readings(), doubt=INSTRUMENT).row("uniformity_white")
    assert even.random == pytest.approx(100 * 0.8 * 0.003 * np.sqrt(1.5), rel=0.06)
    assert even.fixed == pytest.approx(0.0, abs=1e-9)
    aside = check_screen(Screen(tint=D65).readings(), doubt=INSTRUMENT).row("white_chromaticity")
    # How u', v' move with x and y, by a difference quotient, along the line from the aim.
    x, y = D65[0] / D65.sum(), D65[1] / D65.sum()

    def uv(x, y):
        return np.array([4 * x, 9 * y]) / (-2 * x + 12 * y + 3)

    away = uv(x, y) - uv(*(D50[:2] / D50.sum()))
    slopes = [(uv(x + 1e-6, y) - uv(x, y)) / 1e-6, (uv(x, y + 1e-6) - uv(x, y)) / 1e-6]
    along = [slope @ away / np.linalg.norm(away) for slope in slopes]
    assert aside.fixed == pytest.approx(0.0015 * np.hypot(*along), rel=0.06)


def test_repeats_tell_the_repeatability():
    found = check_screen(Screen().readings(0.004, times=6), doubt=INSTRUMENT)
    assert found.repeats[0] == pytest.approx(0.004, rel=0.2)
    copied = check_screen(Screen().readings(0.0, times=6))
    assert copied.repeats is None or copied.repeats[0] < 1e-12


def test_wrong_passes_and_wrong_fails_stay_at_the_risk():
    """JCGM 106:2012, 8.3: with the truth at the limit, in 20,000 simulated readings."""
    generator = np.random.default_rng(11)
    limit, sd = Limit(high=10.0), 0.4

    def judge_figure(reading, among=1):
        line = CheckLine("", "", "", "", reading, limit, random=sd, among=among)
        return judged_line(line, Judge.of_limit(None, 0.05)).status

    readings = 10.0 + sd * generator.standard_normal(20000)
    verdicts = [judge_figure(reading) for reading in readings]
    assert verdicts.count("pass") / len(verdicts) == pytest.approx(0.05, abs=0.005)
    assert verdicts.count("fail") / len(verdicts) == pytest.approx(0.05, abs=0.005)
    # The largest of eight places, all at the limit: seldom a fail, though one of eight reads high.
    largest = 10.0 + sd * generator.standard_normal((20000, 8)).max(axis=1)
    fails = [judge_figure(reading, among=8) == "fail" for reading in largest]
    assert 0.03 < np.mean(fails) < 0.055


def test_undecided_is_decided_by_the_readings_that_were_asked_for():
    screen = Screen(places={"3,1": np.full(3, 0.906)})
    doubt = EmissionDoubt(0.006, 0.0004, 0.02, 0.0015)
    once = check_screen(screen.readings(0.002, seed=3), doubt=doubt).row("uniformity_white")
    assert once.status == "undecided" and once.mend.startswith("read these colours")
    times = int(once.mend.split("colours ")[1].split()[0])
    assert 2 <= times <= 40
    decided = 0
    for seed in range(5):
        again = check_screen(screen.readings(0.006, times=times, seed=seed), doubt=doubt)
        assert again.repeats[0] == pytest.approx(0.006, rel=0.2)
        decided += again.row("uniformity_white").status == "pass"
        assert again.row("uniformity_white").status != "fail"
    assert decided >= 4  # four times in five is what was promised


def test_where_readings_cannot_help_the_advice_is_another():
    steady = Screen(white=81.0, black=0.08).readings()
    row = check_screen(steady, doubt=INSTRUMENT).row("white_luminance")
    assert row.status == "undecided" and "instrument of a better class" in row.mend
    assert check_screen(steady).row("white_luminance").status == "pass"


def test_what_was_not_read_is_not_checked_and_says_what_to_read():
    white = Readings(np.ones((1, 3)), WHITE * D50[None, :])
    found = check_screen(white)
    read = {"white_luminance", "white_chromaticity"}
    assert unread(found) == {row.key for row in found.rows} - read
    assert all(row.words and row.mend for row in found.rows if row.figure is None)
    assert statuses(found, "not known") == {key for key in unread(found) if found.row(key).limit is not None}
    black = Readings(np.array([[1.0] * 3, [0.0] * 3]), np.array([WHITE * D50, np.zeros(3)]))
    assert "no light at all" in check_screen(black).row("contrast").words


def test_a_black_darker_than_the_screen_switched_off_is_of_another_room():
    """A screen in a room adds its light to what it reflects of the room: on is never below off."""
    level = float(Screen().xyz(np.zeros((1, 3)))[0, 1])
    row = check_screen(Screen().readings(), off=3.0 * level).row("black_on_off")
    assert (row.status, row.figure) == ("not known", None)
    assert "read both in the same room" in row.mend and f"{3 * level:.3g}" in row.words
    # Noise alone does not make two rooms of one.
    assert check_screen(Screen().readings(), off=1.02 * level).row("black_on_off").status == "pass"


def test_a_screen_that_does_not_change_has_no_tone_curve():
    """Greys from drive 0 to 1 that all read alike: contrast 1, and neither an exponent nor a curve of nothing."""
    stuck = Readings(np.repeat(RAMP[:, None], 3, axis=1), np.repeat(WHITE * D50[None], RAMP.size, axis=0))
    found = check_screen(stuck)
    assert found.row("contrast").figure == pytest.approx(1.0) and found.row("contrast").status == "fail"
    assert found.row("exponent").status == "not known" and "no lighter than" in found.row("exponent").words
    assert check_screen(stuck, curve="gamma2.2").row("tone_curve").status == "not known"


def test_an_incomplete_grid_may_fail_but_not_pass():
    some = [place for place in PLACES if place not in ("1,1", "2,3")]
    even = check_screen(Screen().readings(places=some)).row("uniformity_white")
    assert even.status == "undecided" and "1,1" in even.words and "2,3" in even.words
    corner = Screen(places={"3,1": np.full(3, 0.8)})
    assert check_screen(corner.readings(places=some)).row("uniformity_white").status == "fail"


def test_a_short_series_says_nothing_of_drift():
    readings = Screen(time=lambda t: 1.0 - 0.3 * np.exp(-t / 25.0)).readings()
    short = readings.select(~(readings.minutes > 30.0))
    row = check_screen(short).row("drift")
    assert row.status == "not known" and "30 minutes" in row.words
    whole = check_screen(readings)
    assert whole.row("warm_up").status == "not judged" and whole.row("warm_up").figure > 45


def test_recommendations_are_said_beside_a_pass():
    row = check_screen(Screen(places={"1,2": np.full(3, 0.93)}).readings()).row("uniformity_white")
    assert row.status == "pass" and row.remark and "recommends 5" in row.words


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"against": "iso12647"}, ["iso12647", "did you mean 'iso12646'?"]),
        ({"curve": "gama2.2"}, ["gama2.2", "bt1886"]),
        ({"white": (0.7, 0.5)}, ["x = 0.7, y = 0.5", "together below 1"]),
        ({"luminance": 0.0}, ["luminance", "above 0"]),
        ({"off": -0.1}, ["off", "above 0"]),
        ({"risk": 0.5}, ["risk = 0.5"]),
    ],
)
def test_wrong_questions_are_refused(change, says):
    with pytest.raises(InputError) as told:
        check_screen(Screen().readings(), **change)
    assert all(piece in str(told.value) for piece in says)


def test_no_white_is_refused():
    readings = Screen().readings()
    dark = replace(readings, xyz_cd=0.0 * readings.xyz_cd)
    for wrong in (readings.select((readings.drive < 1).any(axis=1)), dark):
        with pytest.raises(InputError, match="no reading of the white"):
            check_screen(wrong)


@pytest.mark.parametrize("times", [(0.0, 1.0, 1.0), (1.0, 1.0, 0.0), (1e-290,) * 3, (1e290,) * 3])
def test_a_white_that_no_screen_has_is_refused(times):
    readings = Screen().readings()
    with pytest.raises(InputError, match="the white reads X .* Y .* Z"):
        check_screen(replace(readings, xyz_cd=readings.xyz_cd * np.array(times)), doubt=INSTRUMENT)
