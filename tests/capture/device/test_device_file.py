"""The device file: what it says, and every fault named by line."""

from __future__ import annotations

import pytest
from sending_units import SENSORS, TIME, device_of, frames_text, lines_text

from benchrig.capture.device.device_file import read_device
from benchrig.capture.manifest import read_manifest
from benchrig.errors import CaptureError, DeviceFileError

FRAMES = frames_text('{ name = "seq", type = "u16" }, { name = "t", type = "u32" }, { skip = 2 }, ')
LINES = lines_text()
COUNTED = FRAMES + '[counter]\nname = "seq"\n'


def refuse(folder, text: str, *messages: str, columns: str = TIME + SENSORS) -> None:
    with pytest.raises(DeviceFileError) as caught:
        device_of(folder, text, columns)
    for message in messages:
        assert message in str(caught.value)


def test_frames_are_read_as_they_are_declared(tmp_path):
    device = device_of(tmp_path, COUNTED)
    assert device.columns == ("seq", "t", "gx", "gy", "gz", "ax", "ay", "az")
    assert (device.baud, device.start, device.name) == (115_200, b"", "bench logger")
    assert (device.layout.size, device.layout.content_size, device.layout.is_cobs) == (24, 20, True)
    assert (device.counter.name, device.counter.bits, device.time_bits) == ("seq", 16, 32)
    assert device.meaning.groups["time"].unit.word == "us"
    assert device.meaning.required == ("t", "gx", "gy", "gz", "ax", "ay", "az")
    assert not device.is_pulses_only


def test_lines_are_read_as_they_are_declared(tmp_path):
    more = 'separator = "tab"\ndecimal = ","\ncomment = "//"\ncheck = "xor"\n[counter]\nname = "n"\nbits = 8\n'
    device = device_of(tmp_path, lines_text(("n", "", "t", "gx", "gy", "gz", "ax", "ay", "az"), more))
    assert device.columns == ("n", "t", "gx", "gy", "gz", "ax", "ay", "az")
    layout = device.layout
    assert (layout.separator, layout.decimal, layout.comment, layout.is_checked) == ("\t", ",", "//", True)
    assert (device.counter.bits, device.time_bits) == (8, None)


def test_the_columns_of_lines_with_a_header_are_those_that_the_file_names(tmp_path):
    device = device_of(tmp_path, lines_text(()))
    assert device.columns == ("t", "gx", "gy", "gz", "ax", "ay", "az")


def test_the_text_that_starts_a_unit_is_kept_byte_for_byte(tmp_path):
    text = LINES.replace("[lines]", 'start = "go\\r\\n\\u00ff"\nbaud = 921600\n[lines]')
    device = device_of(tmp_path, text)
    assert (device.start, device.baud) == (b"go\r\n\xff", 921_600)


def test_a_source_of_pulses_needs_no_sensor(tmp_path):
    columns = TIME + '[columns.actuators]\nfront = { names = ["ch1"], unit = "us" }\n'
    device = device_of(tmp_path, lines_text(("t", "ch1")), columns)
    assert device.is_pulses_only
    assert device.meaning.required == ("t",)


def test_the_table_of_columns_is_kept_to_be_written_again(tmp_path):
    document = device_of(tmp_path, LINES).meaning.document
    assert document["time"] == {"names": ["t"], "unit": "us"}
    assert document["gyro"]["unit"] == {"lsb_per": "deg/s", "count": 16.4}


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            'sends = "frames"',
            'sends = "bytes"',
            'unit.toml:3: device.sends = "bytes" is not a word known here; expected',
        ),
        ('sends = "frames"', 'send = "frames"', "unit.toml:3: device.send is not a key known here"),
        (
            'sends = "frames"',
            'sends = "frames"\nbaud = 9600.0',
            "device.baud = 9600.0 is a number; expected a whole number",
        ),
        ('sends = "frames"', 'sends = "frames"\nbaud = 10', "device.baud = 10; expected at least 300"),
        ('sends = "frames"', 'sends = "frames"\nstart = "€"', 'start = "€"; expected signs of one byte each'),
        ('name = "bench logger"', 'name = "a\\u001bb"', 'device.name = "a\\u001bb"; expected signs that print'),
        ('name = "bench logger"', 'name = ""', "device.name is empty; expected a name"),
        (
            'marked_by = "cobs"',
            'marked_by = "slip"',
            'frames.marked_by = "slip" is not a word known here; expected "cobs"',
        ),
        ('marked_by = "cobs"', 'marked_by = "sync"', "frames has no sync; add sync = …"),
        ('marked_by = "cobs"', 'marked_by = "cobs"\nsync = "AA"', "there is a sync word, and frames.marked_by"),
        ('marked_by = "cobs"', 'marked_by = "sync"\nsync = "AA 5"', 'frames.sync = "AA 5"; expected 1 to 8 bytes'),
        ('marked_by = "cobs"', 'marked_by = "sync"\nsync = ""', 'frames.sync = ""; expected 1 to 8 bytes'),
        ('"little"', '"middle"', 'frames.byte_order = "middle" is not a word known here; expected "little" or "big"'),
        ('"crc-32"', '"crc-8"', 'frames.check = "crc-8" is not a word known here; expected "crc-16/ccitt-false"'),
        ('"u32"', '"uint32"', 'frames.fields 2 type = "uint32" is not a word known here; expected "u8", "i8"'),
        ('{ name = "t", type = "u32" }', '{ name = "t" }', "frames.fields.2 is neither a value nor bytes to skip"),
        ("{ skip = 2 }", "{ skip = 0 }", "frames.fields 3 skip = 0; expected at least 1"),
        ("{ skip = 2 }", "{ skip = 2, type = 'u8' }", "frames.fields.3 is neither a value nor bytes to skip"),
        ("{ skip = 2 }", ", ".join(["{ skip = 1000 }"] * 5), "a frame of 5,022 bytes; expected at most 4,096"),
        ('"seq"', '"t"', 'frames.fields names "t" 2 times; expected a name of its own for each'),
        ('"seq"', '"bench_time_s"', "a column is named bench_time_s; expected another name"),
        ('name = "gx"', 'name = "gxx"', 'columns.gyro.names names "gx", which the unit does not send'),
    ],
)
def test_a_fault_of_frames_is_named_by_line(old, new, message, tmp_path):
    assert FRAMES.count(old) == 1
    refuse(tmp_path, FRAMES.replace(old, new), message, "unit.toml:")


def test_a_sync_word_of_one_byte_needs_a_check(tmp_path):
    text = frames_text('{ name = "t", type = "u32" }, ', mark='marked_by = "sync"\nsync = "AA"', check="none")
    refuse(tmp_path, text, "a sync word of one byte without a check; expected two bytes at least, or a check")


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ('separator = "|"', 'lines.separator = "|" is not a word known here; expected ",", ";", "tab" or "blanks"'),
        ('decimal = "\'"', 'lines.decimal = "\'" is not a word known here'),
        ('separator = ","\ndecimal = ","', 'lines.decimal = "," and so is the separator'),
        ('check = "crc-32"', 'lines.check = "crc-32" is not a word known here; expected "none" or "xor"'),
        ('comment = ""', "lines.comment is empty"),
        ('comment = "-"', 'lines.comment = "-"; expected a sign such as "#"; likely cause: rows begin with such signs'),
        ('comment = "7"', 'lines.comment = "7"; expected a sign such as "#"'),
        ('comment = "\\n"', 'lines.comment = "\\n"; expected a sign such as "#"'),
        (
            '[frames]\nmarked_by="cobs"\nbyte_order="big"\ncheck="none"\nfields=[{skip=1}]',
            "there is [frames], and device",
        ),
        ('[counter]\nname = "seq"', 'counter.name names "seq", which the unit does not send; expected "t", "gx"'),
        ('[counter]\nname = "t"', 'counter.name = "t", which [columns] names too; expected a column that counts rows'),
        ('[counter]\nname = "seq"\nbits = 65', "counter.bits = 65; expected at most 64"),
    ],
)
def test_a_fault_of_lines_is_named_by_line(more, message, tmp_path):
    refuse(tmp_path, lines_text(more=more), message, "unit.toml:")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"u16" }', '"f32" }', 'counter.name = "seq" has the type f32; expected a whole number'),
        ('[counter]\nname = "seq"', '[counter]\nname = "seq"\nbits = 32', "counter.bits = 32; expected at most 16"),
    ],
)
def test_a_counter_that_its_field_cannot_be_is_refused(old, new, message, tmp_path):
    refuse(tmp_path, COUNTED.replace(old, new, 1), message)


def test_a_unit_without_gyro_that_sends_more_than_pulses_is_refused(tmp_path):
    columns = TIME + SENSORS.split("\n")[2] + "\n"
    refuse(tmp_path, LINES, "columns has no gyro; add gyro = …", columns=columns)


def test_frames_need_their_table(tmp_path):
    text = '[device]\nname = "bench logger"\nsends = "frames"\n'
    refuse(tmp_path, text, "unit.toml:3: there is no [frames]; add [frames]")


def test_every_fault_is_told_at_once(tmp_path):
    text = FRAMES.replace('"little"', '"middle"').replace('"u32"', '"word"').replace('"crc-32"', '"sum"')
    with pytest.raises(DeviceFileError) as caught:
        device_of(tmp_path, text)
    assert len(caught.value.problems) >= 3


def test_exchanged_files_are_named_as_what_they_are(tmp_path, capture):
    with pytest.raises(DeviceFileError, match="is the manifest of a capture, and not a device file"):
        read_device(capture())
    device_of(tmp_path, LINES)
    with pytest.raises(CaptureError, match=r"is a device file, and not a manifest.*benchrig record --device"):
        read_manifest(tmp_path / "unit.toml")


def test_a_device_file_that_is_not_there_is_said_so(tmp_path):
    with pytest.raises(DeviceFileError, match="there is no such device file"):
        read_device(tmp_path / "none.toml")
