"""Measurements made by hand, for the tests of their reports: right, wrong, open, plain, hostile."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from records import DIGEST, HOSTILE

from benchrig.measure.figure import Curve, Figure
from benchrig.measure.measurement import Entry, Evidence, Measurement, Quantity
from benchrig.outcome import Finding, Outcome

PASS, FAIL, OPEN, NONE = Outcome.PASS, Outcome.FAIL, Outcome.NOT_SHOWN, Outcome.NOT_APPLICABLE
WITHIN = "within 5 mm of what is declared, by two standard deviations"
ALONG = "a spin shows nothing along its axis"
SOFTWARE = {"benchrig": "0.1.0"}


def quantity(name, value, spread, declared=None, outcome=NONE, *, unit="mm", reason="", limit=""):
    return Quantity(name, value, spread, unit, reason, declared, outcome, limit)


def lever_figure():
    samples = np.random.default_rng(5).normal([-178.2, 0.4], 0.6, (300, 2))
    return Figure(
        "The sensor sits 2 mm ahead of where it is declared.",
        "Seen from above: declared 180 mm aft, measured 178.2 mm aft and 0.4 mm right of the CG.",
        "right of the CG, mm",
        "forward of the CG, mm",
        (
            Curve("single turns", samples[:, 1], samples[:, 0], "dots"),
            Curve("declared", np.array([0.0]), np.array([-180.0]), "cross"),
            Curve("measured, with one standard deviation", np.array([0.4]), np.array([-178.2]), "cross",
                  np.array([0.7])),
        ),
        "equal",
    )  # fmt: skip


def noise_figure():
    times = np.geomspace(0.01, 300.0, 40)
    curves = [
        Curve(f"gyro {axis}", times, level / np.sqrt(times) + 0.001 * np.sqrt(times), spread=0.1 * level / times**0.3)
        for axis, level in (("x", 0.0075), ("y", 0.0112), ("z", 0.0092))
    ]
    label = "what the makers of such units call their noise, a line of slope one half"
    curves.append(Curve(label, times, 0.01 / np.sqrt(times), "dashed"))
    return Figure(
        "The gyro's noise falls with the averaging time as white noise does.",
        "Allan deviation: 0.0075, 0.0112 and 0.0092 °/s at 1 s.",
        "averaging time, s",
        "Allan deviation, °/s",
        tuple(curves),
        "logarithmic",
    )


def lever():
    """Two axes as declared, the third beyond what a spin can tell."""
    return Measurement(
        kind="lever",
        title="Place of the sensor",
        airframe_name="Dunlin 450",
        airframe=Evidence(Path("captures/dunlin.toml"), DIGEST[::-1]),
        evidence=(Evidence(Path("captures/spin.toml"), DIGEST),),
        quantities=(
            quantity("sensor from CG, forward", -178.21, 0.71, -180.0, PASS, limit=WITHIN),
            quantity("sensor from CG, right", 0.42, 0.68, 0.0, PASS, limit=WITHIN),
            quantity("sensor from CG, down", None, None, -25.0, reason=ALONG),
            quantity("speed of the table", 33.341, 0.006, 33.333, PASS, unit="1/min", limit="within 2 %"),
        ),
        findings=(Finding("lever-one-posture", "advice", "One posture was spun.", "Spin it on its side too."),),
        figures=(lever_figure(),),
        entries=(Entry(("sensor",), "position_mm", {"aft": 178.2, "up": 25.0}, "spin at 33.3 1/min, ± 0.7 mm"),),
        unknown=("How far the sensor sits above or below the CG: a spin shows nothing along its axis.",),
        method=("Gravity's once-a-turn counts the turns, so the table's speed need not be known.",),
        cautions=("Tie the airframe down: what slides off a turning table hits whoever leans over it.",),
        software=SOFTWARE,
    )


def wrong_lever():
    """Place the sensor 40 mm from where it is declared."""
    right = lever()
    wrong = quantity("sensor from CG, forward", -140.2, 0.7, -180.0, FAIL, reason="it differs by 39.8 mm", limit=WITHIN)
    finding = Finding(
        "lever-differs", "fail", "The sensor sits 140 mm aft of the CG, not 180 mm.", "Measure by ruler, then declare."
    )
    return replace(right, quantities=(wrong, *right.quantities[1:]), findings=(*right.findings, finding))


def open_sensor():
    """Nothing could be told: the recording is too short."""
    short = "the longest rest has 0.8 s; 6 s are needed"
    names = ("accelerometer bias, x", "accelerometer bias, y", "accelerometer bias, z")
    quantities = tuple(
        quantity(name, None, None, 12.0, OPEN, unit="mg", reason=short, limit="within 20 mg") for name in names
    )
    return replace(
        lever(), kind="sensor", title="The unit's own errors", quantities=quantities, findings=(), figures=(),
        entries=(), evidence=(),
    )  # fmt: skip


def plain_sensor():
    """Nothing was declared; a matrix goes into the airframe file, and one into a table of an actuator."""
    matrix = [[1.0012, 0.0021, -0.0031], [0.0021, 0.9987, 0.0004], [-0.0031, 0.0004, 1.0102]]
    entries = (
        Entry(("calibration",), "accelerometer_bias_mg", {"x": -11.6, "y": 34.5, "z": -1.8}, "six poses, ± 0.4 mg"),
        Entry(("calibration",), "accelerometer_matrix", matrix),
        Entry(("actuator", "left rear"), "centre_us", 1521),
        Entry(("link_loss", "goes_to_us"), "left rear", "stays"),
    )
    quantities = (
        quantity("gyro noise density, x", 0.0075, 0.0002, unit="deg/s/√Hz", reason="OADEV at 1 s"),
        quantity("gyro bias instability, x", None, None, unit="deg/h", reason="the rest has 40 s; 2 h are needed"),
        quantity("sample rate", 998.7431, None, unit="Hz"),
    )
    return replace(
        lever(), kind="sensor", title="The unit's own errors", quantities=quantities, entries=entries, findings=(),
        figures=(noise_figure(),), unknown=(), cautions=(),
    )  # fmt: skip


def hostile():
    """Every text that a file can bring in carries escape sequences, markup and letters that turn the reading round."""
    name = HOSTILE.replace("\0", "")
    figure = replace(lever_figure(), title=HOSTILE, description=HOSTILE, x_label=HOSTILE, y_label=HOSTILE)
    curves = tuple(replace(curve, label=HOSTILE) for curve in figure.curves)
    return replace(
        lever(),
        title=HOSTILE,
        airframe_name=HOSTILE,
        evidence=(Evidence(Path(f"{name}.toml"), DIGEST),),
        quantities=(quantity(HOSTILE, 1.0, 0.1, 2.0, FAIL, unit=HOSTILE, reason=HOSTILE, limit=HOSTILE),),
        findings=(Finding("lever-differs", "fail", HOSTILE, HOSTILE),),
        figures=(replace(figure, curves=curves),),
        entries=(Entry(("actuator", HOSTILE), HOSTILE, HOSTILE, HOSTILE),),
        unknown=(HOSTILE,),
        method=(HOSTILE,),
        cautions=(HOSTILE,),
        software={HOSTILE: HOSTILE},
    )


ALL = {
    "lever": lever,
    "wrong-lever": wrong_lever,
    "open-sensor": open_sensor,
    "plain-sensor": plain_sensor,
    "hostile": hostile,
}
