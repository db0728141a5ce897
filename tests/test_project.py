"""What the project says about itself is true: commands, locks, cautions and tables."""

import ast
import math
import os
import re
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

from benchrig import errors
from benchrig.cautions import CAUTIONS
from benchrig.cli.main import COMMANDS
from benchrig.cli.measure.group import MEASUREMENTS
from benchrig.geometry.turns import MOTIONS

TOP = Path(__file__).parent.parent
DEMO = "bash .ci/set-up use && .venv/bin/benchrig demo"
TESTS = "bash .ci/set-up develop && .venv/bin/python -m pytest -q -n 2"
HANDS_ON = sorted([*(TOP / "docs" / "how-to").glob("*.md"), TOP / "docs/tutorial.md", TOP / "docs/explanation.md"])


def text(name):
    return (TOP / name).read_text(encoding="utf-8")


def flat(words):
    return " ".join(words.split())


def pins(name):
    """Give the locked versions by normal name, each with the number of its hashes."""
    found = {}
    for line in text(name).replace("\\\n", " ").splitlines():
        package = re.match(r"([a-z0-9-]+)==\S+", line)
        assert package, line
        found.setdefault(package[1], []).append((line.split()[0], line.count("--hash=sha256:")))
    return found


def asked_for(*, extras):
    project = tomllib.loads(text("pyproject.toml"))
    wanted = project["project"]["dependencies"] + project["build-system"]["requires"]
    if extras:
        wanted += [name for group in project["project"]["optional-dependencies"].values() for name in group]
    return {re.match(r"[A-Za-z0-9._-]+", line)[0].lower().replace("_", "-") for line in wanted}


@pytest.mark.parametrize("command", [DEMO, TESTS])
def test_the_readme_gives_each_command_on_a_line_of_its_own(command):
    assert command in text("README.md").splitlines()


def test_the_integration_script_runs_the_readmes_test_command_word_for_word():
    script = text(".ci/run")
    assert f"tests='{TESTS}'" in script.splitlines()
    assert 'bash -c "$tests"' in script


def test_the_integration_script_refuses_a_readme_that_has_drifted(tmp_path):
    (tmp_path / ".ci").mkdir()
    shutil.copy(TOP / ".ci/run", tmp_path / ".ci")
    (tmp_path / "README.md").write_text(text("README.md").replace("pytest -q", "pytest"))
    finished = subprocess.run(["/bin/bash", ".ci/run"], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert finished.returncode == 1
    assert "the README no longer holds this line" in finished.stderr


def test_set_up_without_a_fit_interpreter_names_the_package_that_is_missing(tmp_path):
    shutil.copytree(TOP / ".ci", tmp_path / ".ci")
    (tmp_path / "id").write_text("#!/bin/sh\necho 1000\n")
    (tmp_path / "id").chmod(0o755)
    environment = {**os.environ, "PATH": f"{tmp_path}:{os.environ['PATH']}", "PYTHON": str(tmp_path / "no-python")}
    finished = subprocess.run(
        ["/bin/bash", ".ci/set-up", "use"], cwd=tmp_path, env=environment, capture_output=True, text=True, check=False
    )
    assert finished.returncode == 1
    assert "sudo apt install python3 python3-venv" in finished.stderr
    assert not (tmp_path / ".venv").exists()


def test_set_up_refuses_a_word_it_does_not_know():
    finished = subprocess.run(
        ["/bin/bash", ".ci/set-up", "everything"], cwd=TOP, capture_output=True, text=True, check=False
    )
    assert finished.returncode == 2
    assert '"everything" is neither use nor develop' in finished.stderr


@pytest.mark.parametrize(("lock", "extras"), [("use", False), ("develop", True)])
def test_every_dependency_is_locked_with_a_hash_and_without_an_address(lock, extras):
    locked = pins(f".ci/{lock}.lock.txt")
    assert asked_for(extras=extras) <= locked.keys()
    assert all(hashes for versions in locked.values() for _, hashes in versions)
    assert "://" not in text(f".ci/{lock}.lock.txt")


def test_the_program_runs_in_the_versions_it_is_tested_in():
    use, develop = pins(".ci/use.lock.txt"), pins(".ci/develop.lock.txt")
    assert {name: use[name] for name in use} == {name: develop.get(name) for name in use}


def test_readme_and_docs_carry_the_cautions_of_the_program_word_for_word():
    for name in ("README.md", "docs/cautions.md"):
        said = flat(text(name).replace("> ", ""))
        assert " ".join(f"- {caution}" for caution in CAUTIONS) in said


@pytest.mark.parametrize("page", HANDS_ON, ids=lambda page: page.stem)
def test_every_page_that_guides_hands_shows_the_cautions_before_anything_else(page):
    before_the_first_step = page.read_text(encoding="utf-8").partition("\n## ")[0]
    assert re.search(r"```\{include\} (\.\./)?cautions\.md", before_the_first_step)


def test_every_page_that_the_readme_names_is_there():
    named = re.findall(r"\]\(([^)#:]+)\)", text("README.md"))
    assert len(named) > 5
    assert [name for name in named if not (TOP / name).is_file()] == []


def test_the_page_of_commands_lists_the_commands_there_are():
    listed = re.findall(r"^\| `benchrig (\w+)(?: ([a-z]+))?", text("docs/reference/commands.md"), re.MULTILINE)
    assert list(dict.fromkeys(command for command, _ in listed)) == list(COMMANDS)
    assert [kind for command, kind in listed if command == "measure"] == list(MEASUREMENTS)


def test_the_page_of_commands_lists_the_status_of_every_error():
    listed = set(map(int, re.findall(r"^\| (\d+) \|", text("docs/reference/commands.md"), re.MULTILINE)))
    kinds = [errors.BenchrigError, *errors.BenchrigError.__subclasses__()]
    assert {kind.exit_status for kind in kinds} | {0, 1, 3, 130} <= listed


def test_the_picture_of_the_floors_is_the_one_that_is_checked():
    layers = tomllib.loads(text("pyproject.toml"))["tool"]["importlinter"]["contracts"][0]["layers"]
    picture = text("DEVELOPERS.md").partition("```text\n")[2].partition("```")[0]
    drawn = [re.split(r" {2,}", line)[0] for line in picture.splitlines()]
    assert drawn == [layer.replace(" | ", " ") for layer in layers]


NAMING_CODES = {"Finding", "Remark"}  # a remark on a spin or swing becomes a finding of the same code


def codes_on(floor):
    """Give the codes of all findings that are made on one floor, where they are written out."""
    codes = set()
    for module in (TOP / "benchrig" / floor).rglob("*.py"):
        tree = ast.parse(module.read_text(encoding="utf-8"))
        named = {
            n.target.id: n.value for n in tree.body if isinstance(n, ast.AnnAssign) and isinstance(n.target, ast.Name)
        }
        for node in ast.walk(tree):
            called = isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in NAMING_CODES
            code = node.args[0] if called else None
            code = named.get(code.id, code) if isinstance(code, ast.Name) else code
            if isinstance(code, ast.Constant):
                codes.add(code.value)
    return codes


def codes_in_the_code():
    """Give the codes of all findings that the verdict can make; a few are put together from a sensor or a word."""
    codes = codes_on("verdict")
    both = {f"{sensor}-{what}" for sensor in ("gyro", "accelerometer") for what in OF_A_SENSOR}
    return codes | both | OF_AN_ACTUATOR


OF_A_SENSOR = ("axis-sign", "axes-swapped", "axes-differ")
OF_AN_ACTUATOR = {"actuator-reversed", "actuator-still", "actuator-wrong-axis", "actuators-swapped"}


def test_the_page_of_findings_lists_exactly_the_findings_there_are():
    first_cells = re.findall(r"^\| (`.*?) \|", text("docs/reference/findings.md"), re.MULTILINE)
    listed = [code for cell in first_cells for code in re.findall(r"`([a-z-]+)`", cell)]
    assert len(listed) == len(set(listed))
    assert set(listed) == codes_in_the_code() | codes_on("measure")


def rows_of(page, first_cell):
    """Give the cells of every table row that starts with a code word."""
    rows = {}
    for line in text(page).splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if len(cells) >= first_cell and cells[0].startswith("`") and cells[0].strip("`") not in rows:
            rows[cells[0].strip("`")] = cells
    return rows


def numbers(cell):
    return [float(part) for part in re.match(r"\((.*?)\)", cell.replace("−", "-"))[1].split(",")]


def specific_force(roll, pitch):
    """Give what an accelerometer reads at rest, g, forward-right-down.

    Row 3 of the 3-2-1 rotation matrix times (0, 0, -1): Stevens and Lewis, ch. 1 (from memory).
    """
    phi, theta = math.radians(roll), math.radians(pitch)
    return [math.sin(theta), -math.sin(phi) * math.cos(theta), -math.cos(phi) * math.cos(theta)]


# Roll and pitch, deg, at which each motion is held: 30 as the page says; a turn about the vertical changes neither.
HELD = {
    "level": (0, 0),
    "nose up": (0, 30),
    "nose down": (0, -30),
    "roll right": (30, 0),
    "roll left": (-30, 0),
    "yaw right": (0, 0),
    "yaw left": (0, 0),
}


def test_the_conventions_page_lists_every_motion():
    assert set(MOTIONS) <= rows_of("docs/conventions.md", 2).keys()


@pytest.mark.parametrize("motion", HELD)
def test_the_conventions_page_gives_the_readings_of_a_right_accelerometer(motion):
    cells = rows_of("docs/conventions.md", 2)[motion]
    frd = specific_force(*HELD[motion])
    assert numbers(cells[4]) == pytest.approx(frd, abs=5e-4)
    assert numbers(cells[5]) == pytest.approx([frd[0], -frd[1], -frd[2]], abs=5e-4)


@pytest.mark.parametrize(
    ("attitude", "roll", "pitch"),
    [
        ("inverted", 180, 0),
        ("on nose", 0, -90),
        ("on tail", 0, 90),
        ("on left side", -90, 0),
        ("on right side", 90, 0),
    ],
)
def test_the_conventions_page_gives_the_reading_of_every_static_attitude(attitude, roll, pitch):
    cells = rows_of("docs/conventions.md", 2)[attitude]
    assert numbers(cells[1]) == pytest.approx(specific_force(roll, pitch), abs=1e-9)
