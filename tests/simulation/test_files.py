"""What is written: that the reader takes it, that it is what was simulated, and that nothing is overwritten."""

import tomllib

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.errors import CaptureError, UsageError
from benchrig.simulation.bench import simulate
from benchrig.simulation.command import command_of
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

QUICK = Options(rate_hz=50)
G = 9.80665


def quick(airframe, *faults, options=QUICK):
    return simulate(airframe, seed=5, faults=parse_faults(faults, airframe), options=options)


@pytest.mark.parametrize("file_format", ["csv", "parquet", "feather"])
def test_the_reader_gets_back_what_was_simulated(file_format, helicopter, tmp_path):
    bench = quick(helicopter)
    written = write_capture(bench, tmp_path / "run", file_format=file_format)
    recording = read_capture(written.manifest, helicopter)
    np.testing.assert_allclose(recording.time, bench.time, atol=1e-9)
    np.testing.assert_allclose(recording.angular_rate, bench.gyro, atol=np.radians(5.1e-4))
    np.testing.assert_allclose(recording.acceleration, bench.accelerometer, atol=5.1e-6 * G)
    np.testing.assert_allclose(recording.magnetic_field, bench.compass, atol=5.1e-9)
    np.testing.assert_allclose(recording.unit_attitude, bench.believed.attitude, atol=np.radians(5.1e-3))
    assert set(recording.pulses) == {"front", "left rear", "right rear", "tail"}
    for name, pulse in recording.pulses.items():
        sent = np.interp(pulse.time, bench.time, bench.pulses[name])
        np.testing.assert_allclose(pulse.width * 1e6, sent, atol=1e-6)
    assert [(p.name, p.start, p.end) for p in recording.prompts] == list(bench.prompts)
    assert recording.operator == "simulated"


def test_a_routine_names_the_motions_without_times(helicopter, tmp_path):
    written = write_capture(quick(helicopter, options=Options(rate_hz=50, routine=True)), tmp_path / "run")
    recording = read_capture(written.manifest, helicopter)
    assert recording.is_routine
    assert [prompt.name for prompt in recording.prompts][:2] == ["nose up", "nose down"]


def test_what_was_seen_is_read_back_and_opposes_the_motion(helicopter, tmp_path):
    calm = Options(rate_hz=50, slop_deg=0, seen=True, pulses=False)
    recording = read_capture(write_capture(quick(helicopter, options=calm), tmp_path / "run").manifest, helicopter)
    assert not recording.pulses
    looks = {(look.motion, look.actuator): look.moved for look in recording.seen}
    assert looks["nose up", "front"] == "plate down"
    assert looks["nose down", "front"] == "plate up"
    assert looks["roll right", "front"] == "still"
    assert looks["roll right", "left rear"] == "plate down"
    assert looks["yaw right", "tail"] == "less thrust"


def test_a_turntable_is_named_with_its_speed_and_axis(helicopter, tmp_path):
    spins = Options(rate_hz=50, motions=("level", "turntable clockwise", "level"), turntable_pivot=(0.02, -0.01, 0.0))
    recording = read_capture(write_capture(quick(helicopter, options=spins), tmp_path / "run").manifest, helicopter)
    assert recording.turntable.rate == pytest.approx(100 / 3 * 2 * np.pi / 60, rel=1e-5)
    np.testing.assert_allclose(recording.turntable.pivot, [0.02, -0.01, 0.0], atol=1e-9)


def test_a_row_stamped_backwards_is_refused_by_the_reader(helicopter, tmp_path):
    written = write_capture(quick(helicopter, "time-backwards"), tmp_path / "run")
    with pytest.raises(CaptureError):
        read_capture(written.manifest, helicopter)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(
    "faults", [(), ("no-rest",), ("hand-rests",), ("prompts-late=2",), ("prompts-late=-2",), ("clock=0.5",)]
)
def test_prompts_never_overlap_or_leave_the_recording(seed, faults, multirotor, tmp_path):
    bench = simulate(multirotor, seed=seed, faults=parse_faults(faults, multirotor), options=QUICK)
    assert len(read_capture(write_capture(bench, tmp_path / "run").manifest, multirotor).prompts) == 9


def test_the_truth_says_what_was_done(helicopter, tmp_path):
    bench = quick(helicopter, "gyro-sign=y", "operator-wrong=yaw left")
    truth = tomllib.loads(write_capture(bench, tmp_path / "run").truth.read_text())
    assert truth["faults"] == ["gyro-sign=y", "operator-wrong=yaw left"]
    assert truth["gyro"]["axes"] == {"x": "aft", "y": "right", "z": "down"}
    assert truth["gyro"]["mirrored"] is True
    assert truth["accelerometer"]["mirrored"] is False
    assert truth["bench"]["lever_arm_mm"] == [-180.0, 0.0, -25.0]
    assert truth["accelerometer"]["bias_mg"] == pytest.approx(bench.accelerometer_model.bias / G * 1e3, abs=1e-4)
    assert truth["gyro"]["bias_deg_s"] == pytest.approx(np.degrees(bench.gyro_model.bias), abs=1e-4)
    yaw_left = next(motion for motion in truth["motion"] if motion["asked"] == "yaw left")
    assert yaw_left["done"] == "yaw right"
    assert yaw_left["turn_deg"][2] > 20
    assert truth["command"] == (
        'benchrig simulate test.toml --out run --seed 5 --fault gyro-sign=y --fault "operator-wrong=yaw left" --rate 50'
    )


def test_one_seed_gives_the_same_bytes_in_every_format(helicopter, tmp_path):
    for file_format in ("csv", "parquet", "feather"):
        first = write_capture(quick(helicopter), tmp_path / "a", file_format=file_format)
        content = [path.read_bytes() for path in (first.stream, first.manifest, first.truth)]
        again = write_capture(quick(helicopter), tmp_path / "a", file_format=file_format, force=True)
        assert [path.read_bytes() for path in (again.stream, again.manifest, again.truth)] == content


def test_its_own_files_are_overwritten_and_others_are_not(helicopter, tmp_path):
    written = write_capture(quick(helicopter), tmp_path / "run")
    assert write_capture(quick(helicopter, "gyro-sign=x"), tmp_path / "run") == written
    written.stream.write_text("my own recording\n")
    with pytest.raises(UsageError, match=r"run\.csv: is already there, and is not as this command made it") as caught:
        write_capture(quick(helicopter), tmp_path / "run")
    assert len(caught.value.problems) == 1
    assert written.stream.read_text() == "my own recording\n"
    write_capture(quick(helicopter), tmp_path / "run", force=True)
    assert written.stream.read_text().startswith("t_us,")


def test_what_took_the_place_of_its_manifest_is_kept(helicopter, tmp_path):
    written = write_capture(quick(helicopter), tmp_path / "run")
    written.manifest.write_text("[airframe]\n")
    with pytest.raises(UsageError, match=r"run\.toml: is already there, and is an airframe file"):
        write_capture(quick(helicopter), tmp_path / "run", force=True)
    assert written.manifest.read_text() == "[airframe]\n"


@pytest.mark.parametrize("name", ["run.csv", "run.toml", "run.truth.toml"])
def test_a_file_that_merely_has_the_name_is_kept(name, helicopter, tmp_path):
    (tmp_path / name).write_text("somebody's")
    with pytest.raises(UsageError, match=r"is already there, and is not as this command made it"):
        write_capture(quick(helicopter), tmp_path / "run")
    assert (tmp_path / name).read_text() == "somebody's"
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_a_folder_that_is_not_there_is_named(helicopter, tmp_path):
    with pytest.raises(UsageError, match="cannot be written: No such file or directory; name a folder that exists"):
        write_capture(quick(helicopter), tmp_path / "nowhere" / "run")


@pytest.mark.parametrize("name", ["run", "run.csv", "run.toml"])
def test_a_suffix_on_the_name_is_taken_off(name, helicopter, tmp_path):
    assert write_capture(quick(helicopter), tmp_path / name).stream == tmp_path / "run.csv"


def test_the_command_leaves_out_what_is_usual_and_quotes_what_has_spaces(helicopter):
    options = Options(motions=("level", "nose up"), operator="R. Vane", slop_deg=3.0, pulses=False, seen=True)
    assert command_of(simulate(helicopter, seed=9, options=options), "x") == (
        'benchrig simulate test.toml --out x --seed 9 --motion level --motion "nose up" --slop-deg 3.0 '
        '--operator "R. Vane" --seen --no-pulses'
    )
