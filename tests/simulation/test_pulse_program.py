"""Steps at the transmitter: where each pulse goes, how fast, how late after the command, and back."""

import tomllib
from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest

from benchrig.capture.reader import read_capture
from benchrig.declaration.airframe import LinkLoss
from benchrig.errors import UsageError
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.mechanics import lifts
from benchrig.simulation.options import Options

LINK = ("level", "transmitter off", "transmitter on", "level")


def stepped(airframe, motions, *faults, seed=1, **options):
    options = Options(**{"motions": motions, "rate_hz": 200, "jitter": 0.0} | options)
    return simulate(airframe, seed=seed, faults=parse_faults(faults, airframe), options=options)


def between(bench, start, end):
    return (bench.time >= start) & (bench.time < end)


def middle(bench, name, start, end):
    """Take the pulse that an actuator has come to by the second half of a stretch."""
    return np.median(bench.pulses[name][between(bench, 0.5 * (start + end), end)])


def sweep_of(bench, name):
    return next(made for made in bench.plan.motions if made.asked == "sweep" and made.label == name)


def ends(bench, name):
    made = sweep_of(bench, name)
    return [middle(bench, name, *pair) for pair in ((made.start, made.held), (made.held, made.released))]


@pytest.fixture(scope="module")
def swept(helicopter):
    return stepped(helicopter, ("level", "sweep", "level"), commands=True)


@pytest.fixture(scope="module")
def linked(helicopter):
    goes_to = MappingProxyType({"front": 1600e-6, "left rear": None, "right rear": 1400e-6})
    return replace(helicopter, link_loss=LinkLoss(1.0, goes_to))


def test_a_sweep_takes_each_actuator_in_turn_to_both_ends_and_back(swept):
    assert [made.label for made in swept.plan.motions if made.asked == "sweep"] == list(swept.pulses)
    for name, centre in (("front", 1520), ("left rear", 1520), ("right rear", 1520), ("tail", 760)):
        made = sweep_of(swept, name)
        assert ends(swept, name) == [round(1.28 * centre), round(0.72 * centre)]
        assert middle(swept, name, made.released, made.back) == centre
        others = [swept.pulses[other][between(swept, made.start, made.back)] for other in swept.pulses if other != name]
        assert max(np.ptp(other) for other in others) <= 15


def test_a_sweep_goes_to_the_ends_that_are_declared(helicopter):
    tail = replace(helicopter.actuators[3], lowest=500e-6, highest=900e-6)
    airframe = replace(helicopter, actuators=(*helicopter.actuators[:3], tail))
    assert ends(stepped(airframe, ("level", "sweep")), "tail") == [900, 500]


def test_a_pulse_is_renewed_every_20_ms_and_runs_no_faster_than_its_servo(swept):
    made = sweep_of(swept, "front")
    inside = between(swept, made.start - 0.1, made.back)
    pulse, time = swept.pulses["front"][inside], swept.time[inside]
    changes = time[1:][np.diff(pulse) != 0]
    np.testing.assert_allclose(changes / 0.02, np.round(changes / 0.02), atol=0.26)
    # to one row of 5 ms; 0.28 · 1520 µs in 0.1 s, in steps of 20 ms: ten frames from end to end, and a last µs
    assert np.abs(np.diff(pulse)).max() == pytest.approx(0.28 * 1520 / 5, abs=1)
    down = (time >= made.held) & (time < made.released)
    assert np.sum(np.diff(pulse[down]) != 0) in (10, 11)


def test_a_command_steps_at_once_and_the_pulse_follows_by_the_latency(helicopter):
    for late, faults in ((0.02, ()), (0.15, ("servos-late=150",))):
        bench = stepped(helicopter, ("level", "sweep", "level"), *faults, commands=True, rate_hz=1000)
        made = sweep_of(bench, "front")
        inside = between(bench, made.start - 0.1, made.held)
        time = bench.time[inside][1:]
        commanded = time[np.diff(bench.commands["front"][inside]) != 0]
        answered = time[np.abs(np.diff(bench.pulses["front"][inside])) > 20]
        assert commanded == pytest.approx([made.start], abs=1e-3)
        # up to one frame of waiting comes on top
        assert late - 2e-3 <= answered[0] - commanded[0] <= late + 0.022


def test_a_slow_servo_takes_five_times_as_long(helicopter):
    bench = stepped(helicopter, ("level", "sweep", "level"), "servo-slow=left rear")
    changes = {}
    for name in ("left rear", "front"):
        made = sweep_of(bench, name)
        changes[name] = np.sum(np.diff(bench.pulses[name][between(bench, made.start, made.held)]) != 0)
    # and one more where it starts a few µs below the centre
    assert changes["front"] in (5, 6)
    assert changes["left rear"] in (25, 26)


@pytest.mark.parametrize(
    ("fault", "first", "second"),
    [
        ("servo-reversed=front", 1094, 1946), ("servo-still=front", 1520, 1520), ("servo-weak=front", 1529, 1511),
        ("servo-stops=100", 1620, 1420), ("plate-binds=front", 1840, 1200), ("narrow-pulses=front", 973, 547),
    ],
)  # fmt: skip
def test_a_fault_of_an_actuator_shows_in_its_sweep(fault, first, second, helicopter):
    assert ends(stepped(helicopter, ("level", "sweep"), fault, commands=True), "front") == pytest.approx(
        [first, second], abs=1
    )


def test_swapped_plugs_move_each_other(helicopter):
    bench = stepped(helicopter, ("level", "sweep"), "servos-swapped=front,left rear")
    made = sweep_of(bench, "front")
    assert np.ptp(bench.pulses["left rear"][between(bench, made.start, made.back)]) > 800
    assert np.ptp(bench.pulses["front"][between(bench, made.start, made.back)]) < 15


def test_collective_up_lifts_every_servo_of_the_plate_and_leaves_the_tail(helicopter):
    bench = stepped(helicopter, ("level", "collective up", "level"), commands=True)
    made = bench.plan.motions[1]
    # "right rear" is declared "plate down"
    for name, way in (("front", 1), ("left rear", 1), ("right rear", -1), ("tail", 0)):
        before = middle(bench, name, made.start - 1, made.start)
        assert middle(bench, name, made.held, made.released) - before == pytest.approx(way * 213, abs=12), name
        assert middle(bench, name, made.back - 0.5, made.back) - before == pytest.approx(0, abs=12), name
        command = bench.commands[name]
        assert command[between(bench, made.start, made.released)][5] - command[0] == pytest.approx(way * 213, abs=1)


def test_collective_up_gives_every_lifting_rotor_more_and_tells_a_reversed_one(multirotor):
    bench = stepped(multirotor, ("level", "collective up"), "servo-reversed=rear left")
    made = bench.plan.motions[1]
    moves = {name: middle(bench, name, made.held, made.released) - 1200 for name in bench.pulses}
    assert moves.pop("rear left") == pytest.approx(-168, abs=12)
    assert list(moves.values()) == pytest.approx([168] * 3, abs=12)


# S6: with four servos at 0, 90, 180 and 270° a plate is a plane only where s0 - s1 + s2 - s3 = 0
@pytest.mark.parametrize(("fault", "torn"), [((), 0), (("plate-binds=left",), 53)])
def test_four_servos_lift_a_plate_in_one_plane_unless_one_disagrees(fault, torn, build):
    places = {"front": 0, "right": 90, "rear": 180, "left": 270}
    airframe = build.declare("helicopter", [build.plate_servo(name, angle) for name, angle in places.items()])
    bench = stepped(airframe, ("level", "collective up", "level"), *fault)
    made = bench.plan.motions[1]
    moves = [middle(bench, name, made.held, made.released) - 1520 for name in places]
    assert np.dot(moves, [1, -1, 1, -1]) == pytest.approx(torn, abs=4)


def test_each_switch_moves_every_actuator_and_moves_it_back(helicopter):
    bench = stepped(helicopter, ("level", "switch", "switch", "level"), "switch-between=front")
    first, second = bench.plan.motions[1:3]
    assert (first.label, second.label) == ("switch 1", "switch 2")
    for made, way in ((first, 1), (second, -1)):
        for name, left_at in (("left rear", 0), ("front", 128)):
            assert middle(bench, name, made.start, made.released) == pytest.approx(1520 + way * 255, abs=1)
            assert middle(bench, name, made.released, made.back) == pytest.approx(1520 + way * left_at, abs=15)


def test_a_lost_link_sends_each_actuator_where_it_is_declared_after_the_delay_and_back(linked):
    bench = stepped(linked, LINK, link_delay_s=0.8)
    off, on = bench.plan.motions[1:3]
    for name, pulse in (("front", 1600), ("right rear", 1400)):
        held = np.flatnonzero(bench.pulses[name] == pulse)
        assert bench.time[held[0]] == pytest.approx(off.start + 0.8, abs=0.025)
        assert bench.time[held[-1]] == pytest.approx(on.start + 0.4, abs=0.025)
        assert np.all(np.diff(held) == 1)
        assert middle(bench, name, on.released, on.back) == pytest.approx(1520, abs=15)
    for name in ("left rear", "tail"):
        assert np.ptp(bench.pulses[name][between(bench, off.start + 0.83, on.start + 0.39)]) == 0


def test_the_sticks_are_held_over_before_the_link_is_lost_and_the_commands_stop_with_it(linked, tmp_path):
    bench = stepped(linked, LINK, link_delay_s=0.8, commands=True)
    off, on = bench.plan.motions[1:3]
    for name, goes_to in (("front", 1600), ("left rear", None), ("right rear", 1400), ("tail", None)):
        over = middle(bench, name, off.start - 0.9, off.start)
        centre = 760 if name == "tail" else 1520
        assert abs(over - centre) > 0.25 * 0.28 * centre
        assert goes_to is None or abs(over - goes_to) >= 60
        if goes_to is None:
            assert middle(bench, name, off.held, on.start) == over
        assert middle(bench, name, on.released, on.back) == pytest.approx(centre, abs=15)
    recording = read_capture(write_capture(bench, tmp_path / "link").manifest, linked)
    for command in recording.commands.values():
        inside = (command.time >= off.start) & (command.time < on.start + 0.4)
        assert not inside.any()
        assert command.time[0] < off.start - 1
        assert command.time[-1] > on.start + 1


def test_a_link_that_never_comes_back_holds_to_the_end(linked):
    bench = stepped(linked, ("level", "transmitter off", "level"))
    assert np.all(bench.pulses["front"][bench.time > bench.plan.motions[1].start + 0.53] == 1600)


def test_an_actuator_that_goes_elsewhere_when_the_link_is_lost(linked):
    bench = stepped(linked, LINK, "link-wrong=front", "link-wrong=left rear")
    off = bench.plan.motions[1]
    assert middle(bench, "front", off.held, off.released) == 1828
    # from where the stick held it: 0.4 · 0.28 · 1520 µs above its centre
    assert middle(bench, "left rear", off.held, off.released) == pytest.approx(1690 + 228, abs=1)
    assert middle(bench, "right rear", off.held, off.released) == 1400


def test_labels_and_commands_are_read_back(helicopter, tmp_path):
    motions = ("level", "sweep", "switch", "collective up", "level")
    bench = stepped(helicopter, motions, commands=True, rate_hz=50)
    written = write_capture(bench, tmp_path / "run")
    recording = read_capture(written.manifest, helicopter)
    done = [(prompt.name, prompt.label) for prompt in recording.prompts]
    swept = [("sweep", name) for name in bench.pulses]
    assert done == [("level", ""), *swept, ("switch", "switch 1"), ("collective up", ""), ("level", "")]
    for prompt, made in zip(recording.prompts, bench.plan.motions, strict=True):
        assert prompt.start == pytest.approx(made.start, abs=0.5)
        assert prompt.end == pytest.approx(made.released, abs=0.5)
    for name, command in recording.commands.items():
        np.testing.assert_allclose(command.width * 1e6, bench.commands[name], atol=1e-6)
    truth = tomllib.loads(written.truth.read_text())
    front = truth["actuator"][0]
    assert (front["name"], front["lowest_us"], front["highest_us"]) == ("front", 1094, 1946)
    assert front["pace_us_per_s"] == pytest.approx(4256)
    assert [motion.get("label", "") for motion in truth["motion"]] == [made.label for made in bench.plan.motions]


def test_what_is_not_stepped_leaves_the_pulses_as_they_were(helicopter):
    plain, with_commands = (stepped(helicopter, ("level", "nose up", "level"), commands=wanted) for wanted in (0, 1))
    for name, pulse in plain.pulses.items():
        np.testing.assert_array_equal(with_commands.pulses[name], pulse)
        assert np.ptp(with_commands.commands[name]) == 0


@pytest.mark.parametrize("name", ["sweep", "transmitter off"])
def test_steps_without_actuators_are_refused(name, build):
    with pytest.raises(UsageError, match=rf"--motion {name}: the airframe declares no actuator"):
        stepped(build.declare("other"), ("level", name))


def test_a_stick_that_lifts_nothing_is_refused(aeroplane):
    with pytest.raises(UsageError, match=r"--motion collective up: no declared actuator lifts the airframe"):
        stepped(aeroplane, ("level", "collective up"))


@pytest.mark.parametrize(
    ("drives", "word", "way"),
    [
        ("swashplate", "plate up", 1),
        ("swashplate", "plate down", -1),
        ("rotor", "more thrust", 1),
        ("elevator", "trailing edge up", 0),
    ],
)
def test_a_plate_and_lifting_rotors_lift_and_nothing_else(drives, word, way, build):
    assert lifts(build.servo("one", drives, word, [1.0, 0.0, 0.0])) == way


def test_a_fault_of_a_step_needs_the_step(helicopter):
    with pytest.raises(UsageError, match=r"link-wrong=front: could not show in any of these motions"):
        stepped(helicopter, ("level", "nose up"), "link-wrong=front")
