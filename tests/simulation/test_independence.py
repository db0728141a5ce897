"""The simulation takes words and types from the judging side, and no physics: else both could err alike."""

import ast
from pathlib import Path

import pytest

MODULES = sorted((Path(__file__).parents[2] / "benchrig" / "simulation").glob("*.py"))
ALLOWED = {
    "benchrig.errors": {"Problem", "UsageError"},
    "benchrig.capture.store.taken": {"refuse_declaration"},
    "benchrig.declaration.airframe": {"Airframe"},
    "benchrig.declaration.actuators": {"Actuator", "Sense"},
    "benchrig.declaration.quotation": {"quote"},
    "benchrig.geometry.directions": {"DIRECTIONS", "Matrix", "Vector", "axis_words"},
    "benchrig.geometry.turns": {
        "AXIS_NAMES",
        "MOTIONS",
        "POSES",
        "PULSE_STEPS",
        "REQUIRED_TURNS",
        "TURNS",
        "turn_axis",
        "turn_word",
    },
}  # fmt: skip


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.stem)
def test_a_module_of_the_simulation_imports_words_and_types_alone(module):
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module.startswith("benchrig."):
            if not node.module.startswith("benchrig.simulation."):
                assert {name.name for name in node.names} <= ALLOWED.get(node.module, set()), node.module
        elif isinstance(node, ast.Import):
            assert not any(name.name.startswith("benchrig") for name in node.names)


def test_only_an_actuator_without_words_of_its_own_is_taken_from_the_declared_effect():
    uses = [module.stem for module in MODULES if ".effect)" in module.read_text(encoding="utf-8")]
    assert uses == ["mechanics"]
