"""From ``[lines]`` and ``[frames]`` of a device file to the layout of what is sent."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from benchrig.capture.device.checksums import CHECKS, NO_CHECK
from benchrig.capture.device.form import DeviceForm, FieldTable, FramesTable, LinesTable
from benchrig.capture.device.layout import SEPARATORS, TYPES, Field, FrameLayout, LineLayout
from benchrig.declaration.quotation import quote
from benchrig.declaration.table_faults import Faults, Keys

LARGEST_FRAME: Final = 4096
"""Bytes."""

LONGEST_SYNC: Final = 8
XOR: Final = "xor"
IN_NUMBERS: Final = "0123456789+-.,; "
"""Signs that a row of numbers may begin with, and so no comment."""

_FORMS: Final = ("lines", "frames")
_ORDERS: Final = ("little", "big")
_MARKS: Final = ("cobs", "sync")


def read_layout(form: DeviceForm, faults: Faults) -> LineLayout | FrameLayout | None:
    """Read the layout of what the device sends.

    Parameters
    ----------
    form : DeviceForm
    faults : Faults
        What is wrong is noted there.

    Returns
    -------
    LineLayout or FrameLayout or None
        None where a fault was noted that leaves none.
    """
    sends = form.device.sends
    if sends not in _FORMS:
        faults.add_word(("device", "sends"), sends, _FORMS)
        return None
    other = "frames" if sends == "lines" else "lines"
    if getattr(form, other) is not None:
        faults.add((other,), f'there is [{other}], and device.sends = "{sends}"', "one of them", act="take one out")
    if sends == "lines":
        return _lines(form.lines or LinesTable(), faults)
    if form.frames is None:
        faults.add(("device", "sends"), "there is no [frames]", act="add [frames], as the documentation shows")
        return None
    return _frames(form.frames, faults)


def _lines(table: LinesTable, faults: Faults) -> LineLayout:
    if table.separator is not None and table.separator not in SEPARATORS:
        faults.add_word(("lines", "separator"), table.separator, SEPARATORS)
    if table.decimal not in (".", ","):
        faults.add_word(("lines", "decimal"), table.decimal, (".", ","))
    if table.decimal == table.separator:
        faults.add(("lines", "decimal"), 'lines.decimal = "," and so is the separator', "two different signs")
    if table.check not in (NO_CHECK.name, XOR):
        faults.add_word(("lines", "check"), table.check, (NO_CHECK.name, XOR))
    if not table.comment.isprintable() or table.comment[0] in IN_NUMBERS:
        cause = "rows begin with such signs too, and would be left out unseen"
        faults.add(("lines", "comment"), f"lines.comment = {quote(table.comment)}", 'a sign such as "#"', cause)
    order = None if table.order is None else tuple(table.order)
    _require_once([name for name in order or () if name], ("lines", "order"), faults)
    separator = None if table.separator is None else SEPARATORS.get(table.separator)
    return LineLayout(separator, order, table.comment, table.decimal, table.check == XOR)


def _require_once(names: Sequence[str], keys: Keys, faults: Faults) -> None:
    for name in dict.fromkeys(name for name in names if names.count(name) > 1):
        finding = f"{faults.named(keys)} names {quote(name)} {names.count(name)} times"
        faults.add(keys, finding, "a name of its own for each", "a copied name", "correct the names")


def _frames(table: FramesTable, faults: Faults) -> FrameLayout | None:
    if table.byte_order not in _ORDERS:
        faults.add_word(("frames", "byte_order"), table.byte_order, _ORDERS)
    if table.check not in CHECKS:
        faults.add_word(("frames", "check"), table.check, CHECKS)
    fields = [field for index, entry in enumerate(table.fields) if (field := _field(index, entry, faults)) is not None]
    _require_once([field.name for field in fields if field.name], ("frames", "fields"), faults)
    check = CHECKS.get(table.check, NO_CHECK)
    sync = _sync(table, faults)
    layout = FrameLayout(sync, table.byte_order == "big", check, table.check_covers_sync, tuple(fields))
    if layout.size > LARGEST_FRAME:
        faults.add(("frames", "fields"), f"a frame of {layout.size:,} bytes", f"at most {LARGEST_FRAME:,}")
    # without a sync word the layout would be read as COBS
    return layout if bool(sync) == (table.marked_by == "sync") else None


def _field(index: int, entry: FieldTable, faults: Faults) -> Field | None:
    keys: Keys = ("frames", "fields", index)
    if entry.skip is not None and entry.name is None and entry.type is None:
        return Field("", "", entry.skip)
    if entry.skip is not None or entry.name is None or entry.type is None:
        finding = f"{faults.named(keys)} is neither a value nor bytes to skip"
        faults.add(keys, finding, '{ name = "gx", type = "i16" } or { skip = 2 }')
        return None
    if entry.type not in TYPES:
        faults.add_word((*keys, "type"), entry.type, TYPES)
        return Field(entry.name, "u8", 1)  # so that its name is known where it is used
    return Field(entry.name, entry.type, int(entry.type[1:]) // 8)


def _sync(table: FramesTable, faults: Faults) -> bytes:
    """Give the sync word; empty for COBS, and where a fault was noted."""
    keys: Keys = ("frames", "sync")
    if table.marked_by not in _MARKS:
        faults.add_word(("frames", "marked_by"), table.marked_by, _MARKS)
        return b""
    if table.marked_by == "cobs":
        if table.sync is not None or table.check_covers_sync:
            faults.add(keys, 'there is a sync word, and frames.marked_by = "cobs"', "one of them", act="take one out")
        return b""
    if table.sync is None:
        faults.add_missing(("frames",), "sync")
        return b""
    expectation = f'1 to {LONGEST_SYNC} bytes in hexadecimal, such as "AA 55"'
    try:
        sync = bytes.fromhex(table.sync)
    except ValueError:
        sync = b""
    if not 1 <= len(sync) <= LONGEST_SYNC:
        faults.add(keys, f"frames.sync = {quote(table.sync)}", expectation)
        return b""
    if len(sync) == 1 and table.check == NO_CHECK.name:
        cause = "that byte stands inside frames too, and nothing would tell them apart"
        faults.add(keys, "a sync word of one byte without a check", "two bytes at least, or a check", cause)
    return sync
