"""The centre of gravity by hanging and by weighing, against cases worked out by hand.

Sources. Hanging from two points, and a third to check: Simon Fraser University, Physics demonstrations, "Centre of
mass"
(plumb lines cross at the centre of mass). The case with two points and angles is arithmetic: lines that intersect.
Weighing: balance of moments about one support (textbook statics; from memory). That a level weighing shows nothing of
the height is common practice, with no published source.
"""

import math

import numpy as np
import pytest

from benchrig.measure.cg.measure import measure_cg
from benchrig.measure.cg.worksheet_file import read_worksheet

# Points P1 (0.20, -0.10) and P2 (-0.30, -0.05) m, x forward, z down; plumb angles from +z toward +x; CG (0.020, 0.030).
FIRST, SECOND = "forward = 200, up = 100", "aft = 300, up = 50"
FIRST_ANGLE, SECOND_ANGLE = -54.16235, 75.96376


def hang(name, point, angle):
    word = "nose_down_deg" if angle > 0 else "nose_up_deg"
    return f'[[hang]]\nname = "{name}"\npoint_mm = {{ {point} }}\nangles_by = "pictures"\n{word} = {abs(angle):.5f}\n'


def signed(quantity):
    """Give a distance along forward, right or down, whichever word it was told with."""
    backwards = quantity.name.endswith((", aft", ", left", ", up"))
    return None if quantity.value is None else -quantity.value if backwards else quantity.value


@pytest.fixture
def centre(tmp_path, demo_airframe):
    """Give the measured CG from the reference, mm forward, right, down, and what goes with it."""

    def find(text):
        path = tmp_path / "sheet.toml"
        path.write_text(f'[reference]\npoint = "the shaft"\n{text}', encoding="utf-8")
        airframe = demo_airframe("dunlin")
        measurement = measure_cg(airframe, read_worksheet(path, airframe))
        values = [signed(q) for q in measurement.quantities[:3]]
        return values, measurement

    return find


def test_two_plumb_lines_cross_at_the_centre_of_gravity(centre):
    (forward, right, down), measurement = centre(
        hang("first", FIRST, FIRST_ANGLE) + hang("second", SECOND, SECOND_ANGLE)
    )
    assert forward == pytest.approx(20.0, abs=2e-4)
    assert down == pytest.approx(30.0, abs=2e-4)
    assert right is None
    assert "seen from the side only" in measurement.quantities[1].reason
    assert any("Nothing checks the result" in sentence for sentence in measurement.unknown)


def test_an_error_of_one_degree_in_the_first_angle_moves_it_by_nearly_five_millimetres(centre):
    (forward, _, down), _ = centre(hang("first", FIRST, FIRST_ANGLE + 1) + hang("second", SECOND, SECOND_ANGLE))
    assert abs(forward - 20.0) == pytest.approx(4.85, abs=0.005)
    assert abs(down - 30.0) == pytest.approx(1.21, abs=0.005)


def test_the_stated_uncertainty_is_what_the_sensitivities_to_angles_and_points_make_of_the_accuracies(centre):
    # Sensitivities by differences of the worked case itself: 1 deg of each angle, 1 mm of each coordinate.
    def crossing(values):
        x1, z1, a1, x2, z2, a2 = values
        s1, s2 = math.tan(math.radians(a1)), math.tan(math.radians(a2))
        z = (x2 - x1 + s1 * z1 - s2 * z2) / (s1 - s2)
        return np.array([x1 + s1 * (z - z1), z])

    case = np.array([200.0, -100.0, FIRST_ANGLE, -300.0, -50.0, SECOND_ANGLE])
    assert crossing(case) == pytest.approx([20.0, 30.0], abs=2e-4)
    accuracy = np.array([1.0, 1.0, 0.5, 1.0, 1.0, 0.5])
    slopes = np.array([(crossing(case + step) - crossing(case - step)) / 2e-3 for step in 1e-3 * np.eye(6)])
    expected = np.sqrt(((slopes * accuracy[:, None]) ** 2).sum(axis=0))
    text = "[accuracy]\ndistance_mm = 2\nangle_deg = 1\n"
    _, measurement = centre(text + hang("first", FIRST, FIRST_ANGLE) + hang("second", SECOND, SECOND_ANGLE))
    assert measurement.quantities[0].uncertainty == pytest.approx(expected[0], rel=1e-3)
    assert measurement.quantities[2].uncertainty == pytest.approx(expected[1], rel=1e-3)


def test_a_third_hang_checks_the_other_two(centre):
    # from a point 100 mm ahead of the CG and 100 mm above it: the line leans aft by 45 deg
    good = hang("first", FIRST, FIRST_ANGLE) + hang("second", SECOND, SECOND_ANGLE)
    (forward, _, down), measurement = centre(good + hang("third", "forward = 120, up = 70", -45.0))
    assert (forward, down) == pytest.approx((20.0, 30.0), abs=1e-3)
    assert not any("Nothing checks" in sentence for sentence in measurement.unknown)
    values, measurement = centre(good + hang("third", "forward = 150, up = 70", -45.0))
    assert values == [None, None, None]
    assert [f.code for f in measurement.findings] == ["hangs-do-not-meet"]


def test_two_scales_give_the_balance_of_moments_and_nothing_of_the_height(centre):
    # 900 g at 200 mm and 600 g at 500 mm behind the reference: (900 x 200 + 600 x 500) / 1500 = 320 mm
    (forward, right, down), measurement = centre(
        '[[weighing]]\nname = "skids"\n'
        "[[weighing.support]]\nat_mm = { aft = 200, down = 150 }\ngrams = 900\n"
        "[[weighing.support]]\nat_mm = { aft = 500, down = 150 }\ngrams = 600\n"
    )
    assert forward == pytest.approx(-320.0, abs=1e-4)
    assert right is None
    assert down is None
    assert "shows nothing of the height" in measurement.quantities[2].reason


def test_three_scales_give_both_level_directions(centre):
    # 500 g left and 700 g right of the nose (100 mm each, 200 mm aft), 300 g at 800 mm aft:
    # aft (1200 x 200 + 300 x 800) / 1500 = 320 mm; right (700 - 500) x 100 / 1500 = 13.333 mm
    (forward, right, down), _ = centre(
        '[[weighing]]\nname = "skids"\n'
        "[[weighing.support]]\nat_mm = { aft = 200, left = 100 }\ngrams = 500\n"
        "[[weighing.support]]\nat_mm = { aft = 200, right = 100 }\ngrams = 700\n"
        "[[weighing.support]]\nat_mm = { aft = 800 }\ngrams = 300\n"
    )
    assert forward == pytest.approx(-320.0, abs=1e-4)
    assert right == pytest.approx(13.3333, abs=1e-3)
    assert down is None


def test_a_weighing_with_the_nose_up_gives_the_height_together_with_a_level_one(centre):
    # CG 300 mm behind and 50 mm above two supports on one level line (0 and 600 mm aft). Nose up by 30 deg, the plumb
    # line from the CG meets the line of the supports 50 tan 30 deg = 28.868 mm further aft: 328.868 of 600 mm.
    def weighing(name, rear, angles=""):
        return (
            f'[[weighing]]\nname = "{name}"\n{angles}'
            f"[[weighing.support]]\nat_mm = {{ down = 100 }}\ngrams = {1200 - rear:.4f}\n"
            f"[[weighing.support]]\nat_mm = {{ aft = 600, down = 100 }}\ngrams = {rear:.4f}\n"
        )

    tilted = 'angles_by = "inclinometer"\nnose_up_deg = 30\n'
    (forward, _, down), _ = centre(
        "[accuracy]\nangle_deg = 0.2\n" + weighing("level", 600.0) + weighing("nose up", 657.735, tilted)
    )
    assert forward == pytest.approx(-300.0, abs=0.01)
    assert down == pytest.approx(50.0, abs=0.01)


def test_a_sensor_ahead_right_and_below_has_positive_distances_and_those_words(centre):
    # r = sensor minus CG in body axes (kinematics; from memory)
    _, measurement = centre(
        hang("first", FIRST, FIRST_ANGLE).replace("[[hang]]", "[[hang]]\nright_down_deg = 0")
        + hang("second", SECOND, SECOND_ANGLE).replace("[[hang]]", "[[hang]]\nright_down_deg = 0")
        + '[[place]]\nname = "sensor"\nat_mm = { forward = 50, right = 7, down = 70 }\n'
    )
    values = [signed(q) for q in measurement.quantities if q.name.startswith("sensor from CG")]
    assert values == pytest.approx([30.0, 7.0, 40.0], abs=1e-3)
    (entry,) = measurement.entries
    assert (entry.table, entry.key, entry.value) == (
        ("sensor",),
        "position_mm",
        {"forward": 30, "right": 7, "down": 40},
    )
