"""Simulated benches, through the files a logger would leave: what is measured is what the simulation did."""

from __future__ import annotations

import functools

import pytest
from pulse_trains import codes, read, value

from benchrig.capture.reader import read_capture
from benchrig.measure.actuators.measure import measure_actuators
from benchrig.measure.link.measure import measure_link
from benchrig.outcome import Outcome
from benchrig.simulation.bench import simulate
from benchrig.simulation.faults import parse_faults
from benchrig.simulation.files import write_capture
from benchrig.simulation.options import Options

SWEEPS = ("level", "sweep", "collective up", "level")
LINK = ("level", "switch", "switch", "transmitter off", "transmitter on", "level")
DUNLIN_LOSS = (
    '\n[link_loss]\nafter_s = 2\ngoes_to_us = { front = 1400, "right rear" = 1400, "left rear" = 1640, tail = 700 }\n'
)


@pytest.fixture(scope="module")
def bench(captures, tmp_path_factory):
    """Simulate a bench of a demo airframe with lines added to its file; give the airframe and the recording."""

    @functools.cache
    def make(name, *faults, motions=SWEEPS, extra="", seed=1, **options):
        folder = tmp_path_factory.mktemp("servos")
        airframe = read(folder, (captures / f"{name}.toml").read_text(encoding="utf-8") + extra)
        made = simulate(
            airframe,
            seed=seed,
            faults=parse_faults(faults, airframe),
            options=Options(motions=motions, rate_hz=200.0, commands=True, **options),
        )
        return airframe, read_capture(write_capture(made, folder / "bench").manifest, airframe)

    return make


@pytest.mark.parametrize(
    ("name", "motions"), [("dunlin", SWEEPS), ("knot", SWEEPS), ("teal", ("level", "sweep", "level"))]
)
def test_a_right_rig_passes_with_its_declared_centres_and_the_simulations_ends(bench, name, motions):
    airframe, recording = bench(name, motions=motions)
    found = measure_actuators(airframe, recording)
    assert (found.outcome, codes(found)) == (Outcome.PASS, [])
    for actuator in airframe.actuators:
        # the simulated unit's own ends: 28 % of the centre to either side, run through in 0.2 s
        centre = actuator.centre * 1e6
        assert value(found, f"{actuator.name}, shortest pulse").value == pytest.approx(0.72 * centre, abs=1.5)
        assert value(found, f"{actuator.name}, longest pulse").value == pytest.approx(1.28 * centre, abs=1.5)
        assert value(found, f"{actuator.name}, time for its travel").value == pytest.approx(0.2, rel=0.05)
        answer = value(found, f"{actuator.name}, answer to its command")
        assert 0.015 < answer.value * 1e-3 < 0.045


@pytest.mark.parametrize(
    ("fault", "code", "word"),
    [
        ("servo-slow=front", "actuator-slow", "Actuator front takes 1.0"),
        ("narrow-pulses=front", "pulse-kind-differs", "Actuator front is declared with wide pulses and gets narrow"),
        ("servo-reversed=right rear", "actuator-reversed", "Actuator right rear went the way that takes lift away"),
        ("servos-swapped=front,tail", "sweep-of-another", "The sweep labelled front did not move it, and moved tail"),
        ("servo-still=front", "sweep-missing", "No sweep moved front"),
        ("servo-weak=front", "actuator-still", "Actuator front hardly moved at collective up"),
    ],
)
def test_a_fault_of_one_servo_is_named(bench, fault, code, word):
    found = measure_actuators(*bench("dunlin", fault))
    assert found.outcome is Outcome.FAIL
    assert any(f.code == code and word in f.text for f in found.findings), [f.text for f in found.findings]


@pytest.mark.parametrize(("name", "slow", "severity"), [("knot", "rear left", "fail"), ("teal", "elevator", "advice")])
def test_a_slow_output_outside_a_plate_is_named(bench, name, slow, severity):
    found = measure_actuators(*bench(name, f"servo-slow={slow}", motions=("level", "sweep", "level")))
    (finding,) = [f for f in found.findings if f.code == "actuator-slow"]
    assert finding.severity == severity
    assert finding.text.startswith(f"Actuator {slow} takes 1.0")


FOUR = """
[[actuator]]
name = "rear"
drives = "swashplate"
azimuth_deg = 180
longer_pulse = "plate up"
centre_us = 1520
"""


def test_a_fourth_servo_that_moves_a_quarter_less_binds(captures, tmp_path):
    text = (captures / "dunlin.toml").read_text(encoding="utf-8")
    text = (
        text.replace("azimuth_deg = 120", "azimuth_deg = 90").replace("azimuth_deg = 240", "azimuth_deg = 270") + FOUR
    )
    airframe = read(tmp_path, text)
    found = {}
    for faults in ((), ("plate-binds=rear",)):
        made = simulate(
            airframe, seed=1, faults=parse_faults(faults, airframe), options=Options(motions=SWEEPS, rate_hz=200.0)
        )
        written = write_capture(made, tmp_path / f"bench{len(faults)}")
        found[faults] = measure_actuators(airframe, read_capture(written.manifest, airframe))
    right, bound = found.values()
    assert right.outcome is Outcome.PASS
    assert bound.outcome is Outcome.FAIL
    assert any("rear" in f.text for f in bound.findings if f.code in {"plate-tilts", "plate-binds"})


def test_a_right_link_passes_with_the_simulations_delay(bench):
    found = measure_link(*bench("dunlin", motions=LINK, extra=DUNLIN_LOSS))
    assert found.outcome is Outcome.PASS, [f.text for f in found.findings]
    assert value(found, "front, when the link is lost").value == pytest.approx(1400, abs=1)
    # the commands stop with the link: the instant is known to a row and a frame
    assert value(found, "front, time until it is there").value == pytest.approx(0.5, abs=0.03)


def test_actuators_that_are_declared_to_stay_pass(bench):
    stays = '\n[link_loss]\nafter_s = 2\ngoes_to_us = { front = "stays", "right rear" = "stays", tail = "stays" }\n'
    found = measure_link(*bench("dunlin", motions=LINK, extra=stays))
    assert found.outcome is Outcome.PASS, [f.text for f in found.findings]
    assert {q.outcome for q in found.quantities if "(declared: stays)" in q.name} == {Outcome.PASS}
    assert {e.key: e.value for e in found.entries} == {"left rear": "stays"}


def test_an_actuator_that_goes_elsewhere_is_named_alone(bench):
    found = measure_link(*bench("dunlin", "link-wrong=front", motions=LINK, extra=DUNLIN_LOSS))
    failing = [f for f in found.findings if f.severity == "fail"]
    assert [f.code for f in failing] == ["link-loss-differs"]
    assert failing[0].text.startswith("Actuator front, when the link is lost: it goes to 1628 µs")


def test_a_late_receiver_fails(bench):
    found = measure_link(*bench("dunlin", motions=LINK, extra=DUNLIN_LOSS, link_delay_s=4.0))
    assert {f.code for f in found.findings} == {"link-loss-late"}


def test_a_switch_that_stops_half_way_is_named(bench):
    found = measure_link(*bench("dunlin", "switch-between=front", motions=LINK, extra=DUNLIN_LOSS))
    texts = [f.text for f in found.findings if f.code == "switch-between"]
    assert all(": front landed once at" in text for text in texts)
    assert len(texts) == 2
