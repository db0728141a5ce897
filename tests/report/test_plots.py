"""Figures as pictures."""

from __future__ import annotations

import re
from dataclasses import replace

import measurements
import numpy as np
import pytest

from benchrig.measure.figure import Curve, Figure
from benchrig.report.frame import BOTTOM, LEFT, RIGHT, TOP, axes_of
from benchrig.report.plot_signs import cross, dot, looks_of, sign
from benchrig.report.plots import plot_svg


def figure(*curves, scale="linear"):
    return Figure("It rises.", "From 0 to 1.", "time, s", "angle, °", curves, scale)


def line(x, y, label="angle", style="line", spread=None):
    return Curve(label, np.asarray(x, dtype=float), np.asarray(y, dtype=float), style, spread)


def viewed(svg):
    return tuple(map(float, re.search(r'viewBox="0 0 (\d+) (\d+)"', svg).groups()))


def drawn_points(svg):
    return [
        [tuple(map(float, step.split())) for step in piece.split("L")]
        for path in re.findall(r'<path class="curve[^"]*" d="([^"]*)"', svg)
        for piece in path.split("M")[1:]
        if "H" not in piece
    ]


def test_a_higher_value_is_drawn_higher_and_a_later_one_to_the_right():
    [points] = drawn_points(plot_svg(figure(line([0, 1], [0, 5])), "f"))
    (x0, y0), (x1, y1) = points
    assert LEFT <= x0 < x1 <= RIGHT
    assert TOP <= y1 < y0 <= BOTTOM


def test_a_tick_stands_where_its_number_lies():
    across, up = axes_of(figure(line([0, 10], [-3, 4])))
    svg = plot_svg(figure(line([0, 10], [-3, 4])), "f")
    for axis, name in ((across, "x"), (up, "y")):
        for value in axis.ticks():
            place = float(axis.place(np.array([value]))[0])
            assert f'{name}1="{place:.1f}"' in svg


def test_equal_lengths_are_drawn_equal_on_a_plan():
    across, up = axes_of(measurements.lever_figure())
    along = np.diff(across.place(np.array([0.0, 1.0])))[0]
    high = -np.diff(up.place(np.array([-180.0, -179.0])))[0]
    assert along == pytest.approx(high, rel=1e-9)


@pytest.mark.parametrize(("wide", "high"), [(1.0, 1.0), (6.0, 1.0), (1.0, 3.0), (1.8, 1.0)])
def test_the_frame_of_a_plan_has_the_shape_of_what_it_shows(wide, high):
    corners = line([0, wide, wide, 0], [0, 0, high, high], style="dots")
    across, up = axes_of(figure(corners, scale="equal"))
    width, height = across.end - across.start, up.start - up.end
    filled = (wide / (across.high - across.low)) * (high / (up.high - up.low))
    assert width <= RIGHT - LEFT
    assert filled > 0.5
    assert width / (across.high - across.low) == pytest.approx(height / (up.high - up.low))
    across_view, up_view = viewed(plot_svg(figure(corners, scale="equal"), "f"))
    assert across.end < across_view
    assert up.start < up_view


@pytest.mark.parametrize("curve", [line([1], [2], style="dots"), line([0, 1, 2], [1, np.nan, np.nan])])
def test_a_point_that_is_alone_is_as_large_as_a_sign(curve):
    svg = plot_svg(figure(curve, line([0, 2], [0, 3], style="dots")), "f")
    assert 'cx="' in svg
    assert svg.count('r="4"') == 1 + (curve.x.size == 1)


def test_decades_are_equally_long_on_a_logarithmic_axis():
    across, _ = axes_of(measurements.noise_figure())
    assert np.ptp(np.diff(across.place(np.array([0.01, 0.1, 1.0, 10.0])))) == pytest.approx(0.0, abs=1e-9)


def test_what_a_logarithmic_axis_cannot_show_is_left_out():
    svg = plot_svg(figure(line([0.0, 1.0, 10.0, 100.0], [1.0, -1.0, 3.0, 4.0]), scale="logarithmic"), "f")
    assert [len(points) for points in drawn_points(svg)] == [2]


def test_a_gap_in_a_curve_stays_open():
    svg = plot_svg(figure(line([0, 1, 2, 3, 4], [0, 1, np.nan, 1, 0])), "f")
    assert [len(points) for points in drawn_points(svg)] == [2, 2]


def test_a_spike_of_one_sample_stays_to_be_seen_in_a_long_curve():
    values = np.zeros(50_000)
    values[31_234] = 1.0
    [points] = drawn_points(plot_svg(figure(line(np.arange(50_000), values)), "f"))
    assert len(points) < 2000
    assert min(y for _, y in points) < max(y for _, y in points) - 200


def test_a_long_way_over_a_plan_is_thinned():
    angle = np.linspace(0, 200 * np.pi, 60_000)
    svg = plot_svg(figure(line(np.cos(angle), np.sin(angle)), scale="equal"), "f")
    assert len(svg) < 2_000_000
    assert len(plot_svg(figure(line(np.cos(angle), np.sin(angle), style="dots"), scale="equal"), "f")) < 150_000


def test_curves_are_told_apart_by_their_signs_and_each_is_named_beside_its_stroke():
    svg = plot_svg(measurements.noise_figure(), "f")
    for name in ("gyro x", "gyro y", "gyro z"):
        assert svg.count(f">{name}</text>") == 1
    assert svg.count('class="curve c0 dashed"') == 2
    shapes = {kind: svg.count(kind) for kind in ('<circle class="sign', "<polygon class=", '<line class="spread')}
    assert shapes['<circle class="sign'] == 8
    assert shapes["<polygon class="] == 3 * 8
    assert shapes['<line class="spread'] == 3 * 40


def test_the_names_of_curves_that_end_together_do_not_lie_on_each_other():
    curves = [line([0, 1], [0, 1 + 1e-6 * k], f"channel {k}") for k in range(9)]
    svg = plot_svg(figure(*curves), "f")
    heights = sorted(float(y) for y in re.findall(r'y="([\d.]+)">channel', svg))
    assert len(heights) == 9
    assert min(np.diff(heights)) > 14
    assert heights[0] > BOTTOM + 50
    assert heights[-1] + 8 < viewed(svg)[1]


def test_a_single_curve_carries_no_signs():
    assert 'class="sign' not in plot_svg(figure(line([0, 1], [0, 1])), "f")


@pytest.mark.parametrize(("mark", "style", "count"), [(sign, "line", 5), (cross, "cross", 4), (dot, "dots", 2)])
def test_curves_of_one_style_differ_in_shape_and_not_only_in_colour(mark, style, count):
    looks = looks_of(figure(*(line([0, 1], [0, 1], f"set {k}", style) for k in range(count))))
    assert len({re.sub(r"\bc\d\b", "", mark(0.0, 0.0, look)) for look in looks}) == count


@pytest.mark.parametrize("scale", ["linear", "logarithmic", "equal"])
@pytest.mark.parametrize(
    "curves",
    [(), (line([], []),), (line([np.nan], [1.0]),), (line([3.0], [2.0]),), (line([0, 0], [1, 1], style="dots"),)],
)
def test_little_or_nothing_to_draw_is_no_fault(curves, scale):
    assert plot_svg(figure(*curves, scale=scale), "f").endswith("</svg>")


def test_an_empty_figure_says_so():
    assert "There is nothing to draw." in plot_svg(figure(), "f")


def test_words_of_a_figure_are_cleaned_and_escaped():
    svg = plot_svg(replace(figure(line([0, 1], [0, 1], "<b>\x1b[2J")), title="a < b", x_label="\x00"), "f")
    assert "a &lt; b" in svg
    assert "&lt;b&gt;\\x1b[2J" in svg
    assert "\x1b" not in svg
