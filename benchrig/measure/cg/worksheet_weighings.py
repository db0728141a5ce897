"""From a ``[[weighing]]`` table to what stood where on which scale, and what the masses say of each other."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any, Final

import numpy as np

from benchrig.declaration.airframe_checks import check_name
from benchrig.declaration.quotation import kind_of, quote
from benchrig.declaration.table_faults import Faults, Keys, read_table
from benchrig.measure.cg.worksheet import LEAST_SPREAD, Angles, Support, Weighing
from benchrig.measure.cg.worksheet_form import SupportTable, WeighingTable
from benchrig.measure.cg.worksheet_parts import read_angles, read_spot, says_angles

FEWEST_SUPPORTS: Final = 2
MOST_SUPPORTS: Final = 8

LARGEST_RATIO: Final = 200.0
"""Of the loads of two supports: beyond it the CG stands over one of them, or grams and kilograms are mixed."""

LEAST_MASS: Final = 0.020
"""kg: what carries a battery, motors and the unit weighs more; less is a number of kilograms (common practice)."""

_KILO: Final = 1000.0
_IN_KILOGRAMS: Final = "kilograms where grams are asked for"
_MIXED: Final = "grams and kilograms are mixed"


def read_weighing(data: dict[str, Any], keys: Keys, names: Collection[str], faults: Faults) -> Weighing | None:
    """Read one weighing, or note what is wrong with it.

    Parameters
    ----------
    data : dict
    keys : tuple
        Where it stands in the file.
    names : collection of str
        Of the points to measure from.
    faults : Faults
    """
    table = read_table(data, WeighingTable, keys, faults)
    given = data.get("support", [])
    if not isinstance(given, list) or not all(isinstance(entry, dict) for entry in given):
        finding = f"{faults.named((*keys, 'support'))} is {kind_of(given)}"
        faults.add((*keys, "support"), finding, "tables [[weighing.support]]", act="write [[weighing.support]]")
        return None
    if not FEWEST_SUPPORTS <= len(given) <= MOST_SUPPORTS and not set(data) - WeighingTable.model_fields.keys():
        finding = f"{faults.named(keys)} has {len(given)} supports"
        act = "write a [[weighing.support]] for each scale"
        faults.add(keys, finding, f"{FEWEST_SUPPORTS} to {MOST_SUPPORTS}", act=act)
        return None
    supports = [_support(entry, (*keys, "support", i), names, faults) for i, entry in enumerate(given)]
    known = [support for support in supports if support is not None]
    if table is None or len(known) < len(supports) or not known:
        return None
    check_name(table.name, (*keys, "name"), faults)
    _check_loads(known, keys, faults)
    angles: Angles | None = None
    if says_angles(table):
        angles = read_angles(table, keys, faults)
        if angles is None:
            return None
    return Weighing(table.name, tuple(known), angles, faults.file.place(*keys))


def _support(data: dict[str, Any], keys: Keys, names: Collection[str], faults: Faults) -> Support | None:
    if "grams" not in data and "kilograms" in data:
        finding = f"{faults.named(keys)} is in kilograms"
        faults.add((*keys, "kilograms"), finding, "grams = …", act="write the thousandfold as grams")
        return None
    table = read_table(data, SupportTable, keys, faults)
    if table is None:
        return None
    spot = read_spot(table.at_mm, table.measured_from, (*keys, "at_mm"), names, faults)
    net = table.grams - table.empty_grams
    if net <= 0:
        finding = f"{faults.named(keys)}: grams = {table.grams:g} is no more than empty_grams = {table.empty_grams:g}"
        cause = "the two are exchanged, or nothing stood on this scale"
        faults.add((*keys, "grams"), finding, "a load above what the scale shows empty", cause, "look at both again")
        return None
    return None if spot is None else Support(spot, net / _KILO)


def _check_loads(supports: Sequence[Support], keys: Keys, faults: Faults) -> None:
    masses = [support.mass for support in supports]
    least, most = masses.index(min(masses)), masses.index(max(masses))
    if masses[most] > LARGEST_RATIO * masses[least]:
        finding = f"{faults.named(keys)} carries {masses[least] * _KILO:g} g and {masses[most] * _KILO:g} g"
        expectation = f"loads that differ by less than {LARGEST_RATIO:.0f} times"
        act = "write every load in grams; or move the supports apart"
        faults.add((*keys, "support", least, "grams"), finding, expectation, _MIXED, act)
    places = np.array([support.spot.offset for support in supports])
    one_origin = len({support.spot.origin for support in supports}) == 1
    spread = float(np.ptp(places[:, :2], axis=0).max())
    if one_origin and spread < LEAST_SPREAD:
        finding = f"{faults.named(keys)} has all its supports within {spread * _KILO:.0f} mm"
        expectation = f"supports {LEAST_SPREAD * _KILO:.0f} mm or more apart, seen from above"
        act = "correct at_mm, or move the supports apart"
        faults.add((*keys, "support", len(supports) - 1), finding, expectation, "a copied place", act)


def check_masses(mass: float | None, weighings: Sequence[Weighing], faults: Faults) -> None:
    """Note masses in kilograms: all of them, or those a thousand times too small or too large for the others."""
    before = len(faults.found)
    _check_mixed(mass, weighings, faults)
    if len(faults.found) > before:
        return
    if mass is not None and mass < LEAST_MASS:
        _note_kilograms(("worksheet", "mass_g"), f"mass_g = {mass * _KILO:g}", mass, faults)
    for index, weighing in enumerate(weighings):
        if 0 < weighing.mass < LEAST_MASS:
            finding = f"weighing {quote(weighing.name)} adds up to {weighing.mass * _KILO:g} g"
            _note_kilograms(("weighing", index), finding, weighing.mass, faults)


def _check_mixed(mass: float | None, weighings: Sequence[Weighing], faults: Faults) -> None:
    totals = [w.mass for w in weighings]
    known = mass if mass is not None else (totals[0] if len(totals) > 1 else None)
    for index, weighing in enumerate(weighings):
        if known is None or weighing.mass <= 0:
            continue
        ratio = max(known / weighing.mass, weighing.mass / known)
        if ratio > LARGEST_RATIO:
            finding = f"weighing {quote(weighing.name)} adds up to {weighing.mass * _KILO:g} g"
            first = f"about the first weighing's {totals[0] * _KILO:g} g"
            expectation = first if mass is None else f"about mass_g = {mass * _KILO:g}"
            faults.add(("weighing", index), finding, expectation, _MIXED, "write all of them in grams")


def _note_kilograms(keys: Keys, finding: str, mass: float, faults: Faults) -> None:
    act = f"write every mass in grams: {mass * _KILO:g} kg are {mass * _KILO * _KILO:g} g"
    faults.add(keys, finding, f"{LEAST_MASS * _KILO:g} g or more of a whole airframe", _IN_KILOGRAMS, act)
