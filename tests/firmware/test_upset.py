"""A state that cannot be, as when memory is upset: everything rests until power-up."""

from collections.abc import Iterator

import pytest

from codegen.conform.build import Program, built
from tests.making import button, is_, motor, output, prop, region, state, way

TURNING = prop(
    region(
        "wheel",
        state("still", leave=[way("turning", is_("go", "pressed"))]),
        state("turning", sets={"drive": "forward"}),
        interlocks=[way("still", is_("halt", "pressed"))],
    ),
    region("light", state("lit", sets={"lamp": "on"})),
    inputs=[button("go"), button("halt")],
    outputs=[motor("drive"), output("lamp", "off", "on"), output("kept", "off", "on", keeps=True)],
)

GO, HALT = "1 0", "0 1"
NOTHING = "0 0"
FORWARD, STOPPED = 1, 0


@pytest.fixture(scope="module")
def program() -> Iterator[Program]:
    with built(TURNING, "turning.yaml", sanitize=True) as found:
        yield found


def outputs(answer: tuple[int, ...]) -> tuple[int, ...]:
    """Give drive, lamp and kept: after two inputs and two regions."""
    return answer[4:7]


def upsets(answer: tuple[int, ...]) -> int:
    return answer[7]


@pytest.mark.parametrize("region", [0, 1])
@pytest.mark.parametrize("number", [2, 3, 7, 127, 128, 255, 65535, 2**31, 2**32 - 1])
@pytest.mark.parametrize("inputs", [GO, HALT, NOTHING])
def test_an_upset_state_brings_everything_to_rest_until_power_up(
    program: Program, region: int, number: int, inputs: str
) -> None:
    answers = program.play(
        [
            f"p 0 {NOTHING} 0",
            f"s 10 {GO} 0",
            f"c {region} {number}",
            f"s 20 {inputs} 0",
            f"s 30 {GO} 0",
            f"s 9000 {GO} 0",
            f"p 9100 {NOTHING} 0",
            f"s 9110 {GO} 0",
        ]
    )
    assert outputs(answers[1]) == (FORWARD, 1, 0)
    assert upsets(answers[1]) == 0
    for answer in answers[2:5]:
        assert outputs(answer) == (STOPPED, 0, 0)
        assert upsets(answer) == 1
    assert outputs(answers[5]) == (STOPPED, 1, 0)
    assert outputs(answers[6]) == (FORWARD, 1, 0)
    assert upsets(answers[6]) == 0
