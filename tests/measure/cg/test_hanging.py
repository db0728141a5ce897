"""The accelerometer gives the vertical while the airframe hangs, with what a consumer unit does not know."""

import dataclasses

import numpy as np
import pytest

from benchrig.declaration.airframe import Calibration
from benchrig.errors import WorksheetError
from benchrig.measure.cg.estimate import estimate
from benchrig.measure.cg.hanging import unit_errors, vertical_of_capture
from benchrig.measure.cg.measure import measure_cg
from benchrig.measure.cg.worksheet import Hung
from benchrig.measure.cg.worksheet_file import read_worksheet
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

CG = np.array([-310.0, 1.0, 15.0])
POINTS = {"head": (-302, 0, -130), "tail": (-980, 0, -30), "skid": (-180, -95, 140), "bow": (-60, 90, 60)}
WORDS = (("forward", "aft"), ("right", "left"), ("down", "up"))


def in_words(point):
    parts = [f"{WORDS[axis][0 if part >= 0 else 1]} = {abs(part)}" for axis, part in enumerate(point)]
    return "{ " + ", ".join(parts) + " }"


@pytest.fixture
def hung(tmp_path, demo_airframe):
    """Hang the simulated helicopter from points, record it, and read the worksheet that names the captures."""

    def hang(*names, seed=3, faults=(), extra=""):
        airframe = demo_airframe("dunlin")
        text = '[reference]\npoint = "the nose"\n' + extra
        for index, name in enumerate(names):
            options = Options(motions=("hang",), hang_point=tuple((np.array(POINTS[name]) - CG) / 1000))
            found = parse_faults(faults if index == 0 else (), airframe)
            write_capture(simulate(airframe, seed=seed, faults=found, options=options), tmp_path / name)
            text += f'[[hang]]\nname = "{name}"\npoint_mm = {in_words(POINTS[name])}\ncapture = "{name}.toml"\n'
        (tmp_path / "sheet.toml").write_text(text, encoding="utf-8")
        return read_worksheet(tmp_path / "sheet.toml", airframe)

    return hang


def test_the_vertical_of_a_hang_points_from_the_point_to_the_centre_of_gravity(hung, demo_airframe):
    sheet = hung("tail")
    vertical = vertical_of_capture(sheet.hangs[0].reading, demo_airframe("dunlin"), "rest").vertical
    true = CG - POINTS["tail"]
    off = np.degrees(np.arccos(vertical.down @ true / np.linalg.norm(true)))
    assert off < 4  # an uncalibrated unit: 60 mg are 3.4 deg
    assert np.linalg.norm(vertical.effects["rest"], axis=0).max() < np.radians(0.3)


def test_four_hangs_with_an_uncalibrated_unit_find_the_centre_of_gravity_within_their_uncertainty(hung, demo_airframe):
    found = estimate(demo_airframe("dunlin"), hung(*POINTS))
    value, sd = found.from_cg(None)
    assert found.refused == {}
    assert np.abs(-value * 1e3 - CG).max() < 12
    assert (np.abs((-value * 1e3 - CG) / (sd * 1e3)) < 3).all()
    assert sd.max() < 0.006


def test_the_captures_are_named_as_evidence(hung):
    sheet = hung("head", "tail")
    assert [e.file.name for e in sheet.evidence] == ["sheet.toml", "head.toml", "tail.toml"]


def test_a_capture_hung_from_another_point_is_named_with_the_way_to_it(hung, demo_airframe):
    sheet = hung(*POINTS, faults=("wrong-point=60",))
    measurement = measure_cg(demo_airframe("dunlin"), sheet)
    (finding,) = measurement.findings
    assert finding.code == "hangs-do-not-meet"
    assert 'without the hang "head"' in finding.text
    assert all(q.value is None for q in measurement.quantities[:3])
    assert measurement.entries == ()


def prompt_of(sheet, **changed):
    reading = sheet.hangs[0].reading
    return Hung(reading.recording, dataclasses.replace(reading.prompt, **changed))


def test_a_short_stretch_is_refused_with_what_is_needed(hung, demo_airframe):
    sheet = hung("head")
    start = sheet.hangs[0].reading.prompt.start
    stretch = vertical_of_capture(prompt_of(sheet, end=start + 2.0), demo_airframe("dunlin"), "rest")
    assert stretch.vertical is None
    assert "only 1.0 s are free of gaps and clipping, where 3 s, and 0.5 s more" in stretch.reason


def altered(sheet, **columns):
    reading = sheet.hangs[0].reading
    return Hung(dataclasses.replace(reading.recording, **columns), reading.prompt)


def test_a_wild_swing_a_spin_and_a_wrong_unit_are_refused(hung, demo_airframe):
    sheet = hung("head")
    airframe = demo_airframe("dunlin")
    recording = sheet.hangs[0].reading.recording
    swing = np.radians(9) * np.sin(2 * np.pi * 0.9 * recording.time)[:, None] * [9.81, 0, 0]
    wild = vertical_of_capture(altered(sheet, acceleration=recording.acceleration + swing), airframe, "rest")
    assert "it swung by 5° (standard deviation), where 4° are the most" in wild.reason
    turned = altered(sheet, angular_rate=recording.angular_rate + np.radians([0, 0, 50]))
    assert "°/s on its line, where 25 °/s are the most" in vertical_of_capture(turned, airframe, "rest").reason
    double = altered(sheet, acceleration=2 * recording.acceleration)
    assert "of g too much or too little: check its unit" in vertical_of_capture(double, airframe, "rest").reason


def test_a_refused_capture_leaves_the_others_and_is_told(hung, demo_airframe):
    sheet = hung("head", "tail")
    reading = prompt_of(sheet, end=sheet.hangs[0].reading.prompt.start + 1.0)
    sheet = dataclasses.replace(sheet, hangs=(dataclasses.replace(sheet.hangs[0], reading=reading), sheet.hangs[1]))
    measurement = measure_cg(demo_airframe("dunlin"), sheet)
    assert [f.code for f in measurement.findings] == ["hang-not-used"]
    assert 'the hang "head" is not used' in measurement.findings[0].text
    assert measurement.quantities[0].value is None


def test_a_unit_that_reads_gravity_gives_the_same_vertical(hung, demo_airframe):
    sheet = hung("skid")
    airframe = demo_airframe("dunlin")
    other = dataclasses.replace(airframe, sensor=dataclasses.replace(airframe.sensor, reads="gravity"))
    plain = vertical_of_capture(sheet.hangs[0].reading, airframe, "rest").vertical
    negated = altered(sheet, acceleration=-sheet.hangs[0].reading.recording.acceleration)
    assert vertical_of_capture(negated, other, "rest").vertical.down == pytest.approx(plain.down)


def test_a_calibrated_unit_is_surer_in_the_parts_that_were_calibrated():
    up = np.array([0.6, 0.0, -0.8])
    plain = np.linalg.norm(unit_errors(up, None), axis=0)
    bias_only = np.linalg.norm(unit_errors(up, Calibration(None, np.zeros(3), None, None, None)), axis=0)
    whole = np.linalg.norm(unit_errors(up, Calibration(None, np.zeros(3), np.eye(3), None, None)), axis=0)
    assert (bias_only[:3] < plain[:3] / 5).all()
    assert bias_only[3:] == pytest.approx(plain[3:])
    assert (whole[3:] <= plain[3:] / 3).all()


def test_two_hangs_of_one_capture_are_told_apart_by_their_labels(hung, tmp_path, demo_airframe):
    hung("head")
    manifest = (tmp_path / "head.toml").read_text(encoding="utf-8")
    motion = manifest[manifest.index("[[motion]]") :]
    later = motion.replace('name = "hang"', 'name = "hang"\nlabel = "late"')
    start, end = (float(line.split(" = ")[1]) for line in motion.splitlines() if line[:3] in ("sta", "end"))
    middle = (start + end) / 2
    first = motion.replace(f"end_s = {end:g}", f"end_s = {middle - 0.01:.2f}")
    first = first.replace('name = "hang"', 'name = "hang"\nlabel = "early"')
    later = later.replace(f"start_s = {start:g}", f"start_s = {middle:.2f}")
    text = manifest[: manifest.index("[[motion]]")] + first + "\n" + later
    (tmp_path / "head.toml").write_text(text, encoding="utf-8")
    sheet = '[reference]\npoint = "the nose"\n[[hang]]\nname = "a"\npoint_mm = {}\ncapture = "head.toml"\n'
    (tmp_path / "two.toml").write_text(sheet, encoding="utf-8")
    with pytest.raises(WorksheetError, match=r'head.toml has 2 motions "hang"; expected "early" or "late"; add label'):
        read_worksheet(tmp_path / "two.toml", demo_airframe("dunlin"))
    (tmp_path / "two.toml").write_text(sheet + 'label = "late"\n', encoding="utf-8")
    assert read_worksheet(tmp_path / "two.toml", demo_airframe("dunlin")).hangs[0].reading.prompt.label == "late"
    (tmp_path / "two.toml").write_text(sheet + 'label = "lat"\n', encoding="utf-8")
    with pytest.raises(WorksheetError, match=r'0 motions "hang" with label "lat"; expected "early" or "late"'):
        read_worksheet(tmp_path / "two.toml", demo_airframe("dunlin"))


def test_a_capture_without_a_hang_is_refused_with_the_line_to_add(tmp_path, captures, demo_airframe):
    for suffix in ("toml", "csv"):
        (tmp_path / f"dunlin-ok.{suffix}").write_bytes((captures / f"dunlin-ok.{suffix}").read_bytes())
    text = '[reference]\npoint = "x"\n[[hang]]\nname = "a"\npoint_mm = {}\ncapture = "dunlin-ok.toml"\n'
    (tmp_path / "sheet.toml").write_text(text, encoding="utf-8")
    with pytest.raises(
        WorksheetError, match=r'dunlin-ok.toml has no \[\[motion\]\] "hang" with times.*add to that manifest'
    ):
        read_worksheet(tmp_path / "sheet.toml", demo_airframe("dunlin"))


def test_a_slow_spin_on_the_line_makes_the_vertical_less_sure(hung, demo_airframe):
    reading, airframe = hung("tail").hangs[0].reading, demo_airframe("dunlin")
    rate = np.zeros_like(reading.recording.angular_rate)

    def spread_at(spin_deg):
        spun = dataclasses.replace(reading.recording, angular_rate=rate + np.radians([spin_deg, 0.0, 0.0]))
        vertical = vertical_of_capture(Hung(spun, reading.prompt), airframe, "rest").vertical
        return np.linalg.norm(vertical.effects["rest"], axis=0).max()

    # ω² r / g, a unit 0.3 m off the line: at 20 °/s a third of a degree
    assert np.hypot(spread_at(0.0), np.radians(20.0) ** 2 * 0.3 / 9.80665) == pytest.approx(spread_at(20.0), rel=1e-6)


@pytest.mark.parametrize(("names", "freedom"), [(("head",), 0), (("head", "tail"), 1), (("head", "tail", "skid"), 3)])
def test_a_hang_from_a_capture_counts_as_the_two_directions_that_it_tells(hung, demo_airframe, names, freedom):
    assert estimate(demo_airframe("dunlin"), hung(*names)).solution.freedom == freedom


def test_one_capture_alone_is_said_to_be_checked_by_nothing(hung, demo_airframe):
    measurement = measure_cg(demo_airframe("dunlin"), hung("head"))
    assert not any(q.name.startswith("chance") for q in measurement.quantities)
    assert any("Nothing checks the result" in sentence for sentence in measurement.unknown)
