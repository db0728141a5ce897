"""A right rig is never called wrong: 24 benches without a mistake, by a hand as sloppy as people's are."""

from __future__ import annotations

from collections import Counter

import pytest

from benchrig.outcome import Outcome

AIRFRAMES = ("dunlin", "teal", "knot")
SEEDS = range(100, 108)
LEAST_PASSES = 6
"""Of eight benches: a doubt costs a repeated motion, a wrong fail costs trust; only few may be doubted."""


@pytest.mark.parametrize("airframe", AIRFRAMES)
def test_a_right_rig_never_fails_and_mostly_passes(airframe, judged):
    verdicts = Counter()
    for seed in SEEDS:
        record = judged(airframe, seed=seed)
        wrong = [f.text for f in record.findings if f.severity == "fail"]
        assert not wrong, f"seed {seed}"
        assert Outcome.FAIL not in {cell.outcome for cell in record.matrix}, f"seed {seed}"
        assert Outcome.FAIL not in {check.outcome for check in record.health}, f"seed {seed}"
        assert record.verdict is not Outcome.FAIL, f"seed {seed}"
        verdicts[record.verdict] += 1
    assert verdicts[Outcome.PASS] >= LEAST_PASSES, verdicts


@pytest.mark.parametrize("airframe", AIRFRAMES)
def test_a_right_rig_that_is_doubted_is_told_what_to_do_next(airframe, judged):
    # so sloppy a hand leaves some motion undecided
    doubted = 0
    for seed in SEEDS[:4]:
        record = judged(airframe, seed=seed, slop_deg=30.0)
        assert record.verdict is not Outcome.FAIL, f"seed {seed}"
        if record.verdict is Outcome.NOT_SHOWN:
            doubted += 1
            assert record.wrong_pass_bound is None, f"seed {seed}"
            assert any(f.severity == "not shown" and f.fix for f in record.findings), f"seed {seed}"
    assert doubted, "or this test has shown nothing"
