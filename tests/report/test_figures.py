"""The figures: lean SVG, words where they cover nothing, and the spectrum locus as published."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import colour
import numpy as np
import pytest

from screenproof.proof.result import Result, TwoCurves
from screenproof.report.figures import Drawing, reflectance_figure, spectra_figure, thin
from screenproof.report.gamut_figures import Point, chromaticity_figure, hue_panels, spectrum_locus
from screenproof.report.placing import beside_curve, number_points, points_inside, words_width

NM = np.arange(380.0, 781.0, 2.0)


def _bell(at: float, wide: float, high: float) -> tuple[float, ...]:
    return tuple(high * np.exp(-0.5 * ((NM - at) / wide) ** 2))


def test_the_spectrum_locus_is_that_of_the_library() -> None:
    # colour-science's own colour-matching functions and its own u'v'.
    nm, locus = spectrum_locus()
    theirs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    xyz = np.array([theirs[wavelength] for wavelength in nm])
    assert nm[0] == 390 and nm[-1] == 700
    np.testing.assert_allclose(locus, colour.xy_to_Luv_uv(colour.XYZ_to_xy(xyz)), atol=2e-4)


def test_the_spectrum_locus_is_that_of_the_published_table() -> None:
    # u' = 4x / (-2x + 12y + 3), v' = 9y / (-2x + 12y + 3) (ISO/CIE 11664-5) of the spectral chromaticities x, y
    # of CIE 15, table of the 1931 observer: 460, 520 and 600 nm, as remembered.
    nm, locus = spectrum_locus()
    for wavelength, x, y in ((460, 0.1440, 0.0297), (520, 0.0743, 0.8338), (600, 0.6270, 0.3725)):
        below = -2 * x + 12 * y + 3
        found = locus[np.flatnonzero(nm == wavelength)[0]]
        np.testing.assert_allclose(found, [4 * x / below, 9 * y / below], atol=3e-4)


def test_a_figure_is_only_shapes_and_words() -> None:
    curves = TwoCurves(tuple(NM), _bell(530, 40, 1.0), _bell(450, 10, 2.0))
    svg = spectra_figure(curves, title='Two <bells> & "quotes"')
    root = ElementTree.fromstring(svg)
    assert root.get("aria-label") == 'Two <bells> & "quotes"'
    assert {child.tag for child in root} == {"path", "text"}
    assert not re.search(r"<style|<defs|<metadata|\bid=|xlink|clip-path|font-family", svg)
    assert len(svg) < 6000
    texts = ["".join(child.itertext()) for child in root if child.tag == "text"]
    assert {"light from the object", "light from the screen", "wavelength, nm", "550"} <= set(texts)


def test_a_towering_screen_peak_is_cut_off_and_said() -> None:
    curves = TwoCurves(tuple(NM), _bell(560, 90, 1.0), _bell(532, 2, 30.0))
    assert "light from the screen, its peak 5.0 times as high" in spectra_figure(curves, title="laser")


def test_the_reflectance_figure_has_its_percent() -> None:
    from screenproof.proof.result import Curve

    svg = reflectance_figure(Curve(tuple(NM), _bell(560, 90, 0.8)), title="reflectance")
    assert "100 %" in svg and "reflectance factor of the object" in svg


def test_words_never_pass_through_the_typesetter() -> None:
    drawing = Drawing(100, 50)
    for row, name in enumerate(("$x^{", "\N{TEACUP WITHOUT HANDLE}", "</text><script>", "words0")):
        drawing.write(5, 10 * row, name)
    root = ElementTree.fromstring(drawing.svg(title="names", css="names"))
    found = ["".join(child.itertext()) for child in root]
    assert found == ["$x^{", "\N{TEACUP WITHOUT HANDLE}", "</text><script>", "words0"]


def test_positions_in_the_svg_are_those_of_the_drawing() -> None:
    drawing = Drawing(200, 100)
    drawing.line(np.array([[10.0, 20.0], [110.0, 20.0]]), np.array([[50.0, 0.0], [50.0, 100.0]]))
    drawing.write(30, 40, "here", anchor="middle", bold=True)
    root = ElementTree.fromstring(drawing.svg(title="lines", css="lines"))
    path, text = root
    assert root.get("viewBox") == "0 0 200 100"
    assert path.get("d") == "M10 80L110 80M50 100L50 0"  # y is downwards in SVG
    assert (text.get("x"), text.get("y"), text.get("text-anchor"), text.get("font-weight")) == (
        "30", "60", "middle", "700",
    )  # fmt: skip


def test_thinning_stays_within_its_tolerance() -> None:
    path = np.stack([NM, 100 * np.sin(NM / 30)], axis=1)
    kept = thin(path, 0.2)
    assert len(kept) < len(path) / 2
    np.testing.assert_array_equal(kept[[0, -1]], path[[0, -1]])
    back = np.interp(path[:, 0], kept[:, 0], kept[:, 1])
    # The tolerance is across the line; seen upwards on a slope of up to 100/30 it is up to 3.5 times as much.
    assert np.abs(back - path[:, 1]).max() < 0.2 * np.hypot(1, 100 / 30) + 1e-9


def test_a_name_stands_beside_its_curve_and_covers_neither() -> None:
    frame = (0.0, 0.0, 470.0, 210.0)
    x = np.linspace(5, 465, 300)
    own = np.stack([x, 30 + 100 * np.exp(-(((x - 120) / 40) ** 2))], axis=1)
    other = np.stack([x, 30 + 140 * np.exp(-(((x - 320) / 20) ** 2))], axis=1)
    box = beside_curve(own, other, words_width("light from the object", 12), 10, [], frame)
    assert points_inside(box, np.concatenate([own, other])) == 0
    middle = np.array([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2])
    assert np.hypot(*(own - middle).T).min() < np.hypot(*(other - middle).T).min()


def test_numbers_of_points_do_not_overlap_and_trouble_is_never_left_out() -> None:
    random = np.random.default_rng(3)
    points = random.normal(100, 22, (40, 2))
    must = [index % 9 == 0 for index in range(40)]
    places = number_points(points, [str(index + 1) for index in range(40)], 12, 5, np.zeros((0, 2)), must)
    assert all(place is not None for place, needed in zip(places, must, strict=True) if needed)
    boxes = []
    for index, place in enumerate(places):
        if place is None or must[index]:
            continue
        x, y, anchor = place
        width = words_width(str(index + 1), 12)
        left = {"start": x, "middle": x - width / 2, "end": x - width}[anchor]
        boxes.append((left, y, left + width, y + 8.8))
    assert len(boxes) > 12
    for i, one in enumerate(boxes):
        for two in boxes[i + 1 :]:
            across = min(one[2], two[2]) - max(one[0], two[0])
            upwards = min(one[3], two[3]) - max(one[1], two[1])
            assert across <= 1e-9 or upwards <= 1e-9


@pytest.fixture
def points(result: Result) -> list[Point]:
    return [Point(n, s.uv, s.lch, "#808080", s.status) for n, s in enumerate(result.samples, 1)]


def test_every_gamut_and_sample_is_named(result: Result, points: list[Point]) -> None:
    svg = chromaticity_figure(result.displays, result.standard_gamuts, points, title="u'v'")
    texts = ["".join(t.itertext()) for t in ElementTree.fromstring(svg) if t.tag == "text"]
    for display in result.displays:
        assert display.label in texts
    for gamut in result.standard_gamuts:
        assert gamut.name in texts
    for point in points:
        if point.status != "pass":
            assert str(point.number) in texts


def test_the_ties_from_names_to_gamuts_do_not_cross(result: Result, points: list[Point]) -> None:
    svg = chromaticity_figure(result.displays, result.standard_gamuts, points, title="u'v'")
    ties = []
    for path in ElementTree.fromstring(svg):
        if path.tag == "path" and path.get("stroke-width") == "0.5":
            numbers = [float(number) for number in re.findall(r"-?[\d.]+", path.get("d") or "")]
            ties.append(np.array(numbers).reshape(2, 2))
    assert len(ties) == len(result.displays) + len(result.standard_gamuts)
    for i, (a, b) in enumerate(ties):
        for c, d in ties[i + 1 :]:
            sides = [
                float(np.linalg.det([q - p, r - p])) for p, q, r in ((a, b, c), (a, b, d), (c, d, a), (c, d, b))
            ]
            assert not (sides[0] * sides[1] < 0 and sides[2] * sides[3] < 0)


def test_a_sample_stands_at_its_chromaticity(result: Result, points: list[Point]) -> None:
    svg = chromaticity_figure(result.displays, [], points[:1], title="u'v'")
    mark = next(p for p in ElementTree.fromstring(svg) if p.get("fill") == "#808080")
    corners = np.array([float(n) for n in re.findall(r"-?[\d.]+", mark.get("d") or "")]).reshape(-1, 2)
    ticks = {
        "".join(t.itertext()): (float(t.get("x") or 0), t.get("text-anchor"))
        for t in ElementTree.fromstring(svg)
        if t.tag == "text"
    }
    zero, six = ticks["0.0"], ticks["0.6"]  # the later of the two axes is the upright one, whose words end at x
    assert zero[1] == six[1] == "end"
    # u' = 0 is the upright axis itself, 7 points to the right of its words; 0.1 is 93 points wide.
    assert corners[:, 0].mean() == pytest.approx(zero[0] + 7 + 930 * points[0].uv[0], abs=0.3)


def test_every_sample_is_in_the_panel_of_its_hue(result: Result, points: list[Point]) -> None:
    panels = hue_panels(result.displays, points, title="L* over C*")
    assert sum(panel.count for panel in panels) == len(points)
    for panel in panels:
        mine = [p for p in points if abs((p.lch[2] - panel.hue + 180) % 360 - 180) <= panel.half]
        assert len(mine) == panel.count
        for point in mine:
            assert f">{point.number}</text>" in panel.svg
