"""A file of another kind is named in one line, whichever reader it is given to."""

import tomllib

import pytest

from benchrig.capture.manifest import read_manifest
from benchrig.declaration.airframe_file import read_airframe
from benchrig.declaration.file_kind import kind_of_file
from benchrig.errors import AirframeFileError, CaptureError


def test_a_worksheet_given_as_the_airframe_file_is_recognised(captures):
    with pytest.raises(AirframeFileError, match="a worksheet of hangs and weighings was named in place") as caught:
        read_airframe(captures / "dunlin-cg.toml")
    assert len(caught.value.problems) == 1


def test_a_worksheet_given_as_a_manifest_is_recognised(captures):
    with pytest.raises(CaptureError, match="is a worksheet of hangs and weighings, and not a manifest") as caught:
        read_manifest(captures / "dunlin-cg.toml")
    assert len(caught.value.problems) == 1
    assert "name the capture's manifest" in str(caught.value)


def test_the_truth_of_a_simulated_capture_is_told_from_its_manifest(captures):
    with pytest.raises(CaptureError, match="is the truth file beside a simulated capture, and not a") as caught:
        read_manifest(captures / "dunlin-ok.truth.toml")
    assert str(caught.value).endswith("name dunlin-ok.toml")
    with pytest.raises(AirframeFileError, match="is the truth file beside a simulated capture"):
        read_airframe(captures / "dunlin-ok.truth.toml")


@pytest.mark.parametrize(
    ("name", "kind"),
    [("dunlin.toml", "an airframe file"), ("dunlin-ok.toml", "the manifest of a capture")],
)
def test_the_files_that_come_with_the_program_are_known_for_what_they_are(captures, name, kind):
    assert kind_of_file(tomllib.loads((captures / name).read_text(encoding="utf-8"))) == kind


def test_a_table_that_says_nothing_is_of_no_kind():
    assert kind_of_file({"sensor": {}, "made_by": "me"}) is None
