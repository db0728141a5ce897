"""Decisions near a limit (rows D3 to D7).

Sources, with what is known of each:

- ILAC-G8:09/2019, 4.2.2, 4.2.3 (confirmed), Table 1 (from memory).
- JCGM 106:2012, 7.3 Table 1 and the examples of 7.3 and 7.4 (inputs and numbers from memory, reproduced by arithmetic).
"""

from __future__ import annotations

import pytest

from benchrig.outcome import Outcome
from benchrig.verdict.decision import conformance_probability, tail_probability


def test_d3_a_guard_band_of_u_leaves_less_than_a_fortieth():
    # D3, ILAC-G8 4.2.2 (confirmed): w = U with k = 2, false acceptance at the acceptance limit 2.275 % < 2.5 %
    assert tail_probability(2.0) == pytest.approx(0.0227501, abs=5e-8)
    limit, u = 10.0, 0.3
    assert 1 - conformance_probability(limit - 2 * u, u, None, limit) == pytest.approx(0.0227501, abs=5e-8)


@pytest.mark.parametrize(
    ("guard", "percent", "stated"), [(1.5, 0.135, 0.16), (3.0, 9.9e-8, 1e-4), (0.83, 4.85, 5.0), (1.0, 2.275, 2.5)]
)
def test_d4_other_guard_bands(guard, percent, stated):
    # D4, ILAC-G8 Table 1 (from memory); w in multiples of U = 2 u
    limit, u = 5.0, 0.25
    risk = 100 * (1 - conformance_probability(limit - guard * 2 * u, u, None, limit))
    assert risk == pytest.approx(percent, rel=5e-3)
    assert risk < stated


def test_d4_a_negative_guard_band_bounds_the_risk_of_false_rejection():
    # D4, w = -U: what is rejected conforms with less than 2.5 %
    limit, u = 5.0, 0.25
    assert conformance_probability(limit + 2 * u, u, None, limit) == pytest.approx(0.0227501, abs=5e-8)


@pytest.mark.parametrize(("from_limit", "probability"), [(-2.0, 0.97725), (0.0, 0.5), (2.0, 0.02275)])
def test_d5_between_pass_and_fail_lies_a_zone_that_is_neither(from_limit, probability):
    # D5, ILAC-G8 4.2.3 (confirmed): zones meet at TL - w, TL and TL + w. The program has one word for the two in the
    # middle, and it is no pass.
    assert conformance_probability(from_limit, 1.0, None, 0.0) == pytest.approx(probability, abs=5e-6)
    assert {outcome.value for outcome in Outcome} == {"pass", "fail", "not shown", "not applicable"}


@pytest.mark.parametrize(("conformance", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)])
def test_d6_one_sided_conformance(conformance, z):
    # D6, JCGM 106 7.3 Table 1 (numbers from memory), z to two digits
    assert tail_probability(z + 0.005) < 1 - conformance < tail_probability(z - 0.005)
    assert conformance_probability(-z, 1.0, None, 0.0) == pytest.approx(conformance, abs=2e-3)


@pytest.mark.parametrize(
    ("example", "measured", "limits", "probability", "printed"),
    [
        ("Zener diode", (-5.47, 0.05), (None, -5.40), 0.919, 0.92),
        ("burst pressure", (509.7, 8.6), (490.0, None), 0.989, 0.99),
        ("motor oil", (13.6, 1.8), (12.5, 16.3), 0.6626, 0.66),
    ],
)
def test_d7_worked_examples(example, measured, limits, probability, printed):
    # D7, JCGM 106 7.3 and 7.4 (inputs from memory): value and standard uncertainty, lower and upper limit
    found = conformance_probability(*measured, *limits)
    assert found == pytest.approx(probability, abs=5e-4), example
    assert round(found, 2) == printed
