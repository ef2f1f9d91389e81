"""What the emitted firmware prints, built and run on this computer, agrees with its own file."""

import subprocess
from pathlib import Path
from random import Random

import pytest

from behaviour.bench.comparing import compare
from behaviour.bench.following import Tolerance
from behaviour.bench.reading import read_captures
from behaviour.model import Model
from codegen.emit import emit
from tests.reading import spec

NAMES = ("confetti-carousel", "fortune-teller", "treasure-chest")


def played(model: Model, seed: int) -> str:
    """Give what people and hardware do for a while, as the firmware for a computer reads it."""
    random, lines = Random(seed), []
    for _ in range(40):
        item = random.choice(model.inputs)
        lines.append(f"{item.name} {random.choice(item.values)}")
        lines.append(f"wait {random.choice((10, 30, 70, 250, 900))}")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("name", NAMES)
def test_the_trace_of_the_built_firmware_agrees_loop_by_loop(name: str, tmp_path: Path) -> None:
    model = spec(f"specs/{name}.yaml")
    files = emit(model, f"{name}.yaml", "host")
    for file in files:
        (tmp_path / Path(file.path).name).write_text(file.text, encoding="utf-8")
    sources = sorted(path.name for path in tmp_path.glob("*.c"))
    subprocess.run(["gcc", "-std=c99", "-o", "prop", *sources], cwd=tmp_path, check=True)

    done = subprocess.run(
        [tmp_path / "prop"], input=played(model, 1), capture_output=True, text=True, check=True
    )
    (capture,) = read_captures(model, "serial.log", done.stderr, {})
    told = compare(model, capture, Tolerance(slack=0), 60)

    assert told.followed.mismatches == ()
    assert told.followed.open == ""
    assert told.quick == ()
    assert told.followed.until == told.capture.ends
