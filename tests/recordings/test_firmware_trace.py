"""What the emitted firmware prints, built and run on this computer, agrees with its own file."""

import subprocess
from pathlib import Path
from random import Random

import pytest

from behaviour.bench.comparing import compare
from behaviour.bench.following import Tolerance
from behaviour.bench.reading import read_captures
from behaviour.cli import main
from behaviour.model import Model
from tests.reading import ROOT, spec

NAMES = ("confetti-carousel", "fortune-teller", "treasure-chest")


def played(model: Model, seed: int) -> str:
    """Give what people and hardware do for a while, as the firmware for a computer reads it."""
    random, lines = Random(seed), []
    for _ in range(60):
        item = random.choice(model.inputs)
        lines.append(f"{item.name} {random.choice(item.values)}")
        lines.append(f"wait {random.choice((10, 30, 70, 250, 900))}")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("name", NAMES)
def test_the_trace_of_the_built_firmware_agrees_loop_by_loop(name: str, tmp_path: Path) -> None:
    path = ROOT / "specs" / f"{name}.yaml"
    model = spec(f"specs/{name}.yaml")
    assert main(["emit", str(path), "--into", str(tmp_path), "--controller", "host"]) == 0
    (folder,) = (each for each in tmp_path.iterdir() if each.is_dir())
    sources = sorted(each.name for each in folder.glob("*.c"))
    subprocess.run(["gcc", "-std=c99", "-o", "prop", *sources], cwd=folder, check=True)

    for seed in range(3):
        done = subprocess.run(
            [folder / "prop"], input=played(model, seed), capture_output=True, text=True, check=True
        )
        (capture,) = read_captures(model, "serial.log", done.stderr, {})
        told = compare(model, capture, Tolerance(slack=0), 60)

        assert told.followed.mismatches == ()
        assert told.followed.open == ""
        assert told.quick == ()
        assert told.followed.until == told.capture.ends
