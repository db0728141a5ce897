"""The positions of a switch, told from the flips that landed between them."""

from __future__ import annotations

import numpy as np
import pytest
from pulse_trains import Output, recording

from benchrig.measure.link.switch import labels_of, switch_faults, switch_quantities, switches_of
from benchrig.measure.pulses.steps import take_apart


def flipped(places, *, label="hold", start=2.0, extra=(), asked=None, **options):
    """Flip a switch through places (µs), one every 2 s; `extra` steps go into the program, `asked` are the commands."""
    steps = [(start + 2 * k, place) for k, place in enumerate(places[1:])]
    program = sorted([(0.0, places[0]), *steps, *extra])
    prompts = [("switch", label, when - 0.2, when + 1.4) for when, _ in steps]
    made = recording({"tail": Output(program, **options)}, prompts, duration=start + 2 * len(places))
    channels = {name: take_apart(pulses) for name, pulses in made.pulses.items()}
    told = [(0.0, asked[0]), *((start + 2 * k, p) for k, p in enumerate(asked[1:]))] if asked else None
    rows = np.arange(0.0, start + 2 * len(places), 0.005)
    commands = {"tail": take_apart(Output(told).logged(rows, np.random.default_rng(0)))} if told else {}
    return switches_of(made.prompts, channels, commands, 0.005), made


def faults(places, **options):
    switches, made = flipped(places, **options)
    return list(switch_faults(switches, labels_of(made.prompts), ["tail"]))


@pytest.mark.parametrize("noise", [0.0, 2.0])
def test_the_positions_are_found_in_order_with_their_visits(noise):
    (switch,), _ = flipped([1100, 1900, 1100, 1900, 1100], jitter=noise)
    assert [round(p.place.value * 1e6) for p in switch.positions] == pytest.approx([1100, 1900], abs=1)
    assert [p.visits for p in switch.positions] == [3, 2]
    assert switch.between == ()
    assert switch.flips == 4


def test_a_switch_of_three_positions_gone_through_twice_is_a_switch_of_three_positions():
    (switch,), _ = flipped([1100, 1500, 1900, 1500, 1100, 1500, 1900])
    assert [round(p.place.value * 1e6) for p in switch.positions] == [1100, 1500, 1900]
    assert faults([1100, 1500, 1900, 1500, 1100, 1500, 1900]) == []


def test_a_flip_that_lands_once_between_two_positions_is_named_with_its_place():
    (finding,) = faults([1100, 1900, 1100, 1900, 1430])
    assert finding.code == "switch-between"
    assert finding.severity == "not shown"
    assert finding.text == 'Switch "hold": tail landed once at 1430 µs, between 1100 and 1900 µs.'


def test_where_the_channel_stood_before_the_first_flip_is_no_landing():
    assert faults([1500, 1100, 1900, 1100, 1900]) == []


def test_a_flip_out_and_back_within_one_prompt_is_two_flips_and_no_pause():
    (switch,), _ = flipped([1500, 1900, 1900], extra=[(3.2, 1500)])
    assert [(round(p.place.value * 1e6), p.visits) for p in switch.positions] == [(1500, 2), (1900, 2)]
    assert switch.pauses == ()


def test_a_landing_elsewhere_than_the_command_is_named():
    (finding,) = faults([1100, 1500, 1100, 1500], asked=[1100, 1900, 1100, 1900])
    assert finding.text == 'Switch "hold": tail landed at 1500 µs, its command at 1900 µs.'
    assert faults([1100, 1900, 1100, 1900], asked=[1100, 1900, 1100, 1900]) == []


def test_a_stop_on_the_way_is_named_with_how_long():
    (finding,) = faults([1100, 1900, 1100], extra=[(1.6, 1450)])
    assert finding.code == "switch-between"
    assert "stopped on its way at 1450 µs for 0.4 s" in finding.text


def test_a_single_flip_shows_two_positions_and_no_fault():
    assert faults([1100, 1900]) == []


def test_a_switch_that_moves_nothing_is_said_to():
    (finding,) = faults([1500, 1500, 1500])
    assert finding.text == 'Switch "hold" moved none of tail.'
    assert finding.severity == "advice"


def test_a_switch_without_a_label_has_a_name_all_the_same():
    switches, _ = flipped([1100, 1900, 1100], label="")
    assert switches[0].label == "unnamed switch"


def test_a_slow_switch_tells_how_long_its_move_takes():
    (switch,), _ = flipped([1100, 1900, 1100], limit=1000.0)
    assert switch.time.value == pytest.approx(0.8, abs=0.03)
    (sudden,), _ = flipped([1100, 1900, 1100])
    assert sudden.time.reason == "it goes there within one pulse"
    assert [q.name for q in switch_quantities(switch)][-1] == "hold: tail, longest move"
    assert all("position" in q.name for q in switch_quantities(sudden))


def test_every_quantity_has_a_value_or_a_reason():
    (switch,), _ = flipped([1100, 1900, 1100])
    for quantity in switch_quantities(switch):
        assert (quantity.value is None) == (quantity.uncertainty is None)
        assert quantity.reason
        assert quantity.value is None or np.isfinite(quantity.value)


def test_a_quick_flip_there_and_back_is_no_stop_on_the_way():
    # 0.4 s at the other position, and back
    assert faults([1100, 1900, 1100, 1900], extra=[(2.4, 1100), (3.4, 1900)]) == []
