"""What must hold for every hang and weighing: uncertainties are honest, and no choice of words or order matters."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from benchrig.measure.cg.estimate import estimate
from benchrig.measure.cg.worksheet import (
    Accuracy,
    Angles,
    Hang,
    Mark,
    NamedPoint,
    Place,
    Spot,
    Support,
    Weighing,
    Worksheet,
)
from benchrig.measure.measurement import Evidence

COUNT = int(os.environ.get("BENCHRIG_COUNT", "60"))
ACCURACY = Accuracy(distance=0.001, angle=float(np.radians(0.5)), mass=0.001, assumed=())
BOX = 0.3


class Bench:
    """One rig with a known centre of gravity, and what careful people would write down about it."""

    def __init__(self, seed: int, *, noise: float = 1.0) -> None:
        self.rng = np.random.default_rng(seed)
        self.noise = noise
        self.cg = self.rng.uniform(-BOX, BOX, 3)
        self.shaft = self.rng.uniform(-BOX, BOX, 3)
        self.point = NamedPoint("shaft", Spot(self.shaft + self.ruler(), None))

    def ruler(self):
        """Draw the error of a ruler."""
        return self.noise * self.rng.normal(0.0, ACCURACY.distance, 3)

    def gauge(self):
        """Draw the error of an angle gauge."""
        return float(self.noise * self.rng.normal(0.0, ACCURACY.angle))

    def spot(self, true):
        """Measure a place from the nose, or from the shaft."""
        origin = "shaft" if self.rng.random() < 0.5 else None
        return Spot(true - (self.shaft if origin else 0.0) + self.ruler(), origin)

    def hanging(self):
        """Turn the airframe any way and hang it: give its attitude (world from body) and the point above the CG."""
        attitude = Rotation.random(random_state=int(self.rng.integers(2**31)))
        down = attitude.inv().apply([0.0, 0.0, 1.0])
        return attitude, self.cg - self.rng.uniform(0.05, 0.5) * down

    def by_pictures(self, name, *, across=True):
        """Hang it and take pictures."""
        attitude, point = self.hanging()
        # seen from the side: the plumb line's angle from the airframe's own down; and the right wing's dip
        line = attitude.inv().apply([0.0, 0.0, 1.0])
        nose = float(np.angle(line[2] + 1j * line[0])) + self.gauge()
        dip = np.arcsin(attitude.apply([0.0, 1.0, 0.0])[2]) + self.gauge()
        return Hang(name, self.spot(point), Angles(nose, float(dip) if across else None, "pictures"), name)

    def by_mark(self, name):
        """Hang it and mark the plumb line."""
        attitude, point = self.hanging()
        mark = point + attitude.inv().apply([0.0, 0.0, self.rng.uniform(0.1, 0.5)])
        spot = self.spot(point)
        origin = self.shaft if spot.origin else 0.0
        return Hang(name, spot, Mark(Spot(mark - origin + self.ruler(), spot.origin), across=True), name)

    def weighing(self, name):
        """Set it level, but for the error of the level, on three scales around it: forces and moments balance."""
        angles = self.noise * self.rng.normal(0.0, ACCURACY.angle, 2)
        level = Rotation.from_euler("xy", angles)
        turns = self.rng.uniform(0, 2 * np.pi) + np.array([0.0, 2.1, 4.2])
        feet = self.cg + np.column_stack([0.25 * np.cos(turns), 0.25 * np.sin(turns), np.full(3, 0.1)])
        world = level.apply(feet - self.cg)
        balance = np.vstack([world[:, 0], world[:, 1], np.ones(3)])
        loads = np.linalg.solve(balance, [0.0, 0.0, 2.0]) + self.noise * self.rng.normal(0.0, ACCURACY.mass, 3)
        supports = tuple(Support(self.spot(foot), float(load)) for foot, load in zip(feet, loads, strict=True))
        return Weighing(name, supports, None, name)

    def sheet(self, hangs, weighings=(), places=()):
        """Put it all on a worksheet."""
        evidence = (Evidence(Path("sheet.toml"), ""),)
        return Worksheet(
            "the nose", ACCURACY, (self.point,), tuple(hangs), tuple(weighings), tuple(places), None, None, evidence
        )


def three_hangs(bench, airframe, **kind):
    return estimate(airframe, bench.sheet([bench.by_pictures(name, **kind) for name in "abc"]))


def hangs_and_weighing(bench, airframe):
    return estimate(airframe, bench.sheet([bench.by_pictures("a"), bench.by_mark("b")], [bench.weighing("w")]))


def marks(bench, airframe):
    return estimate(airframe, bench.sheet([bench.by_mark(name) for name in "abc"]))


@pytest.mark.parametrize("campaign", [three_hangs, hangs_and_weighing, marks])
def test_errors_are_of_the_stated_size(campaign, demo_airframe):
    pulls = []
    chances = []
    for seed in range(COUNT):
        bench = Bench(seed)
        found = campaign(bench, demo_airframe("dunlin"))
        chances.append(found.solution.chance)
        value, sd = found.from_cg(None)
        if found.holds:
            pulls.extend(((-value - bench.cg) / sd)[np.isfinite(value)])
    # the spread of a standard deviation over n pulls is 1/sqrt(2n); three at one bench are not independent
    slack = 3.5 / np.sqrt(2 * COUNT)
    assert 0.9 - slack < np.std(pulls) < 1.0 + slack
    assert np.abs(pulls).max() < 5.5
    assert np.mean(np.array(chances) < 0.05) < 0.05 + 3.5 * np.sqrt(0.05 * 0.95 / COUNT)


def test_errors_of_a_place_from_the_cg_are_of_the_stated_size_whatever_it_was_measured_from(demo_airframe):
    pulls = []
    for seed in range(COUNT):
        bench = Bench(seed)
        true = bench.rng.uniform(-BOX, BOX, 3)
        place = Place("sensor", bench.spot(true))
        sheet = bench.sheet([bench.by_pictures("a"), bench.by_mark("b"), bench.by_pictures("c")], places=[place])
        found = estimate(demo_airframe("dunlin"), sheet)
        value, sd = found.from_cg(place.spot, "place sensor")
        pulls.extend(((value - (true - bench.cg)) / sd)[np.isfinite(value)])
    slack = 3.5 / np.sqrt(2 * COUNT)
    assert 0.9 - slack < np.std(pulls) < 1.0 + slack


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_exact_readings_give_the_exact_point_from_any_two_hangs(seed, demo_airframe):
    bench = Bench(seed, noise=0.0)
    found = estimate(demo_airframe("dunlin"), bench.sheet([bench.by_pictures("a"), bench.by_mark("b")]))
    value, _ = found.from_cg(None)
    assert found.solution.chance > 0.999
    assert -value[np.isfinite(value)] == pytest.approx(bench.cg[np.isfinite(value)], abs=2e-6)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_the_order_of_hangs_and_supports_does_not_matter(seed, demo_airframe):
    bench = Bench(seed)
    sheet = bench.sheet([bench.by_pictures("a"), bench.by_mark("b"), bench.by_pictures("c")], [bench.weighing("w")])
    weighing = sheet.weighings[0]
    turned = replace(sheet, hangs=sheet.hangs[::-1], weighings=(replace(weighing, supports=weighing.supports[::-1]),))
    one, other = (estimate(demo_airframe("dunlin"), s).solution for s in (sheet, turned))
    assert one.point == pytest.approx(other.point, abs=1e-9)
    assert one.covariance == pytest.approx(other.covariance, rel=1e-6, abs=1e-15)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_another_reference_moves_the_cg_and_no_place_from_it(seed, demo_airframe):
    bench = Bench(seed)
    place = Place("sensor", Spot(bench.rng.uniform(-BOX, BOX, 3), None))
    sheet = bench.sheet([bench.by_mark(name) for name in "abc"], places=[place])
    step = bench.rng.uniform(-1, 1, 3)

    def moved(spot):
        return spot if spot.origin else Spot(spot.offset + step, None)

    hangs = tuple(
        replace(h, spot=moved(h.spot), reading=replace(h.reading, spot=moved(h.reading.spot))) for h in sheet.hangs
    )
    point = NamedPoint("shaft", moved(bench.point.spot))
    other = replace(sheet, hangs=hangs, points=(point,))
    one, two = (estimate(demo_airframe("dunlin"), s) for s in (sheet, other))
    assert two.solution.point == pytest.approx(one.solution.point + step, abs=1e-6)
    first, second = one.from_cg(place.spot, "p")[0], two.from_cg(moved(place.spot), "p")[0]
    assert first == pytest.approx(second, abs=1e-6, nan_ok=True)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_a_mirrored_rig_gives_a_mirrored_point(seed, demo_airframe):
    bench = Bench(seed)
    sheet = bench.sheet([bench.by_pictures(name) for name in "abc"], [bench.weighing("w")])
    mirror = np.array([1.0, -1.0, 1.0])

    def turned(spot):
        return Spot(spot.offset * mirror, spot.origin)

    hangs = tuple(
        replace(h, spot=turned(h.spot), reading=replace(h.reading, across=-h.reading.across)) for h in sheet.hangs
    )
    weighings = tuple(
        replace(w, supports=tuple(replace(s, spot=turned(s.spot)) for s in w.supports)) for w in sheet.weighings
    )
    point = NamedPoint("shaft", turned(bench.point.spot))
    other = replace(sheet, hangs=hangs, weighings=weighings, points=(point,))
    one, two = (estimate(demo_airframe("dunlin"), s).solution for s in (sheet, other))
    assert two.point == pytest.approx(one.point * mirror, abs=1e-9)
