"""The simulated bench as a source: simulated time passes as it is taken, and nothing else happens."""

import numpy as np
import pytest

from benchrig.simulation.device.bench_source import LINK_S, BenchSource, manifest_columns
from benchrig.simulation.faults import Fault
from benchrig.simulation.live_bench import LiveBench
from benchrig.simulation.options import Options


@pytest.fixture
def bench(demo_airframe):
    return LiveBench(demo_airframe("dunlin"), seed=21, options=Options(rate_hz=200))


def test_a_take_lets_as_much_time_pass_as_it_may_and_gives_its_rows(bench):
    source = BenchSource(bench)
    source.open()
    batches = [source.take(0.05)[0] for _ in range(40)]
    assert source.now == pytest.approx(2.0)
    time = np.concatenate([batch.time for batch in batches])
    assert time[0] == 0
    assert len(time) == pytest.approx(400, abs=2)
    assert np.all(np.diff(time) > 0)
    arrival = np.concatenate([batch.arrival for batch in batches])
    np.testing.assert_allclose(arrival - time, LINK_S, atol=0.01)
    assert all(batch.values.shape[1] == len(source.columns) for batch in batches)


def test_a_clock_that_runs_fast_shows_in_the_time_and_not_in_the_arrival(demo_airframe):
    source = BenchSource(LiveBench(demo_airframe("dunlin"), 22, [Fault("clock", "1.25")]))
    source.open()
    (samples,) = source.take(8.0)
    assert samples.time[-1] == pytest.approx(10.0, abs=0.05)
    assert samples.arrival[-1] == pytest.approx(8.0, abs=0.05)


def test_it_ends_when_its_time_is_over_or_it_is_closed(bench):
    source = BenchSource(bench, until=1.0)
    source.open()
    assert sum(len(samples.time) for _ in range(5) for samples in source.take(0.3)) == pytest.approx(200, abs=2)
    assert source.ended
    assert source.take(0.3) == ()
    other = BenchSource(bench)
    other.close()
    assert other.ended


def test_the_manifest_of_a_bench_names_every_column_but_its_time(bench, demo_airframe):
    said = manifest_columns(bench)
    names = [name for table in said.values() if "names" in table for name in table["names"]]
    names += [table["names"][0] for table in said["actuators"].values()]
    assert ["t_us", *names] == list(bench.columns)
    assert list(said["actuators"]) == [actuator.name for actuator in demo_airframe("dunlin").actuators]
