"""The sheet in print."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime

import pytest
import records
import sheets
from measurements import quantity

from benchrig.outcome import Finding, Outcome
from benchrig.report.press import BOTTOM, LEFT, RIGHT, TOP, Press, leading
from benchrig.report.sheet import bench_sheet
from benchrig.report.sheet_content import Row, Section
from benchrig.report.sheet_pdf import sheet_pdf

MADE = datetime(2026, 11, 25, 10, tzinfo=UTC)


def pages(pdf):
    """Count the pages that the document says it has; a page is an object of its own."""
    counted = int(re.search(rb"/Count (\d+)", pdf)[1])
    assert counted == len(re.findall(rb"/Type /Page\b", pdf))
    return counted


def setting(sheet):
    """Print a sheet, and give every line that was set: page, x, y, words and size."""
    lines, page = [], [0]
    turn, write = Press.page, Press.write

    def turned(self):
        page[0] += 1
        turn(self)

    def kept(self, x, y, told, size, **looks):
        lines.extend((page[0], x, y + k * leading(size), line, size) for k, line in enumerate(told))
        write(self, x, y, told, size, **looks)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Press, "page", turned)
        patch.setattr(Press, "write", kept)
        return sheet_pdf(sheet, MADE), lines


@pytest.fixture(scope="module")
def printed():
    """Print each sheet once; give the document and the lines that were set."""
    return {name: setting(build()) for name, build in sheets.ALL.items()}


@pytest.mark.parametrize("demo", ["dunlin", "teal", "knot"])
@pytest.mark.parametrize("full", [False, True], ids=["without results", "with every result"])
def test_a_demo_airframe_takes_one_page(demo_airframe, demo, full):
    frame = demo_airframe(demo)
    record = records.record(frame, records.matrix(frame))
    results = sheets.everything(frame, record) if full else []
    assert pages(sheet_pdf(bench_sheet(frame, results), MADE)) == 1


def test_a_demo_airframe_with_failures_takes_one_page(demo_airframe):
    frame = demo_airframe("dunlin")
    failing = records.failing_helicopter()
    record = records.record(
        frame, records.matrix(frame, {"gyro": Outcome.FAIL, "front": Outcome.FAIL}), findings=failing.findings,
        verdict=Outcome.FAIL, sensing=Outcome.FAIL, correction=Outcome.FAIL, wrong_pass_bound=None,
    )  # fmt: skip
    assert pages(sheet_pdf(bench_sheet(frame, sheets.everything(frame, record)), MADE)) == 1


def test_a_helicopter_with_every_measurement_at_its_real_length_takes_one_page(demo_airframe):
    """Rows as the measurements give them: places twice, a plate's lift, a lost link with its times, a rotor."""
    frame = demo_airframe("dunlin")
    frame = replace(frame, rotor=replace(frame.rotor, motor_rate=2513.0, gear_ratio=10.0, blades=2))
    names = [actuator.name for actuator in frame.actuators]
    rows = {
        "lever": [f"sensor from CG, {way}" for way in ("aft", "left", "up")],
        "cg": [f"{what} from CG, {way}" for what in ("sensor", "magnetometer") for way in ("aft", "left", "up")],
        "magnetometer": ["axis maps that explain the turns", "heading against the gyro", "dip below the horizon"],
        "actuators": [f"{name}, {what}" for name in names[:3] for what in ("centre", "change at collective up")]
        + ["tail, centre", *(f"plate, {side} side against its middle at collective up" for side in ("nose", "right"))],
        "link": [f"{name}, {what}" for name in names for what in ("when the link is lost", "time until it is there")],
    }
    results = [
        sheets.measured(frame, kind, [quantity(name, 1516.92, 0.15, 1520.0, Outcome.PASS, unit="us") for name in said])
        for kind, said in rows.items()
    ]
    plain = {"sensor": [f"accelerometer bias, {axis}" for axis in "xyz"], "rotor": [f"rotor, {n}" for n in range(3)]}
    results += [
        sheets.measured(frame, kind, [quantity(name, 2.8, 1.0, unit="mg") for name in said])
        for kind, said in plain.items()
    ]
    advice = Finding("far", "advice", "The place is not known finely enough. " * 3, "Stand the unit elsewhere.")
    check = sheets.check(records.record(frame, records.matrix(frame), findings=(advice,)), frame)
    sheet = bench_sheet(frame, [check, *results])
    assert sheet.outcome is Outcome.PASS
    assert pages(sheet_pdf(sheet, MADE)) == 1


def test_a_longer_sheet_flows_on_and_its_pages_are_numbered(printed):
    document, written = printed["many"]
    count = pages(document)
    assert count > 1
    feet = [line for *_, line, _ in written if ", page " in line]
    assert feet == [f"Albatross, page {number} of {count}" for number in range(1, count + 1)]


def test_later_pages_begin_with_verdict_airframe_and_digest(printed):
    document, written = printed["many"]
    headers = [line for *_, line, _ in written if line.startswith("? NOT SHOWN: Albatross, SHA-256 ")]
    assert headers == [f"? NOT SHOWN: Albatross, SHA-256 {records.DIGEST[::-1]}"] * (pages(document) - 1)


def test_a_section_that_goes_on_in_the_next_column_is_headed_again(printed):
    _, written = printed["many"]
    assert any(line == "Actuators, continued" for *_, line, _ in written)
    first = [x for page, x, _, line, _ in written if line == "Actuators"]
    assert len(first) == 1


@pytest.mark.parametrize("parted", [5, 9, 16])
def test_columns_of_sections_end_at_about_one_height(parted):
    """Sections of unlike length, and each row set on one line, must not leave one column half empty."""
    rows = tuple(Row(f"row {k}", "1 mm", "1 mm", Outcome.PASS) for k in range(32))
    parts = (Section("First", rows[:parted]), Section("Second", rows[parted:]))
    _, written = setting(replace(sheets.bare(), sections=parts))
    middle = (LEFT + RIGHT) / 2
    lowest = [max(y for _, x, y, line, _ in written if line.startswith("row ") and (x < middle) is left)
              for left in (True, False)]  # fmt: skip
    assert abs(lowest[0] - lowest[1]) < 9


@pytest.mark.parametrize("name", sheets.ALL)
def test_nothing_is_set_outside_the_paper(printed, name):
    for _, x, y, line, size in printed[name][1]:
        assert 0 < x < RIGHT
        assert y >= TOP - 0.1
        assert y + leading(size) <= BOTTOM + (6 if ", page " in line else 0.1)


@pytest.mark.parametrize("name", sheets.ALL)
def test_every_row_place_and_point_of_the_sheet_is_set(printed, press, name):
    def tight(text):
        return "".join(press.printable(text).split())

    sheet = sheets.ALL[name]()
    told = tight(" ".join(line for *_, line, _ in printed[name][1]))
    rows = [row for section in sheet.sections for row in section.rows]
    wanted = [part for row in rows for part in (row.name, row.declared, row.measured)]
    wanted += [place.words for row in sheet.signs.rows for place in row.places]
    wanted += [part for point in sheet.open_points for part in (point.text, f"Do: {point.fix}")]
    wanted += [section.title for section in sheet.sections] + [*sheet.cautions, sheet.digest, sheet.sentence]
    wanted += [f"{file}: {what}" for file, what in sheet.sources]
    assert [text for text in wanted if tight(text) not in told] == []


@pytest.mark.parametrize("name", ["bare", "whole", "failing"])
def test_nothing_is_set_over_anything_else(printed, name):
    """Two lines of letters that begin at one place would hide each other."""
    written = printed[name][1]
    places = [(page, round(x, 1), round(y, 1)) for page, x, y, line, _ in written if line.strip()]
    assert len(places) == len(set(places))


@pytest.fixture
def press():
    with Press("", MADE) as opened:
        yield opened


def test_the_document_names_its_maker_and_when_it_was_made(printed):
    pdf = printed["failing"][0]
    assert pdf.startswith(b"%PDF-")
    assert b"/Creator (benchrig)" in pdf[-65536:]
    assert b"/CreationDate (D:20261125100000Z)" in pdf
    assert b"/FontFile2" in pdf


def test_the_same_sheet_gives_the_same_print(printed):
    assert sheet_pdf(sheets.whole(), MADE) == printed["whole"][0]
