"""What may be imported before a command is chosen: help must come at once, on the slowest bench laptop too."""

import subprocess
import sys
import time

import pytest

ALLOWED = {
    "benchrig",
    "benchrig.cli",
    "benchrig.cli.lazy",
    "benchrig.cli.main",
    "benchrig.cli.terminal",
    "benchrig.errors",
}
CALL = "import sys; from benchrig.cli.main import run; sys.argv[1:] = ['--help']\n"
LIST = "try:\n    run()\nfinally:\n    print(*sorted(sys.modules), file=sys.stderr)\n"


@pytest.fixture(scope="module")
def imported():
    finished = subprocess.run([sys.executable, "-c", CALL + LIST], capture_output=True, text=True, check=True)
    return set(finished.stderr.split())


def test_help_imports_of_this_package_the_door_alone(imported):
    assert {name for name in imported if name.partition(".")[0] == "benchrig"} == ALLOWED


def test_help_imports_no_library_but_click(imported):
    bare = subprocess.run(
        [sys.executable, "-c", "import sys; print(*sys.modules)"], capture_output=True, text=True, check=True
    )
    standard = set(sys.stdlib_module_names)
    already = {name.partition(".")[0] for name in bare.stdout.split()}
    packages = {name.partition(".")[0] for name in imported} - standard - already
    assert packages == {"benchrig", "click"}


def test_help_imports_nothing_of_the_standard_library_that_is_slow(imported):
    assert not imported & {"importlib.metadata", "multiprocessing", "asyncio", "unittest", "json", "tomllib", "ssl"}


def test_help_takes_less_than_a_fifth_of_a_second():
    def seconds():
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", CALL + "run()"], capture_output=True, check=True)
        return time.perf_counter() - start

    # The best of several: what else the machine does at the time is not the program's.
    assert min(seconds() for _ in range(5)) < 0.2
