"""The step generator in C makes the very intervals that are worked out, and stops as told."""

from pathlib import Path

import pytest

from behaviour.numbers.motion import Motion, motion_of
from behaviour.numbers.ramp import intervals, plan
from codegen.emit import emit
from codegen.lower_steps import step_generators
from codegen.refusals import CannotEmitError
from tests.firmware.compilers import COMPILERS, complaints, run
from tests.reading import model_of

TEXT = """
language: 1
prop: Wheel
firmware_name: wheel
loop: 10 ms
outputs:
  wheel: {{kind: motor, values: [still, turning], pins: {{step: 5, dir: 6}}}}
regions:
  main: {{begins: idle, states: {{idle: {{leave: [{{after: 1 s, go: on}}]}},
         on: {{set: {{wheel: turning}}, leave: [{{after: 1 s, go: idle}}]}}}}}}
drives:
  wheel: {{kind: stepper, {figures}}}
"""
BENCH = """
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include "wheel_wheel_steps.h"

int main(int count, char **words)
{
    uint32_t until;
    uint32_t made = 0u;
    const uint32_t steps = (uint32_t)strtoul(words[1], NULL, 10);
    const uint32_t rest_after = (uint32_t)strtoul(words[2], NULL, 10);

    if (count > 3) {
        wheel_wheel_steps_move(steps);
        while (!wheel_wheel_steps_is_resting()) {
            (void)wheel_wheel_steps_next();
        }
        wheel_wheel_steps_turn();
        (void)printf("%" PRIu32 "\\n", wheel_wheel_steps_next());
        return 0;
    }
    if (steps == 0u) {
        wheel_wheel_steps_turn();
    } else {
        wheel_wheel_steps_move(steps);
    }
    until = wheel_wheel_steps_next();
    while (until != 0u) {
        (void)printf("%" PRIu32 "\\n", until);
        made++;
        if (made == rest_after) {
            wheel_wheel_steps_rest();
        }
        until = wheel_wheel_steps_next();
    }
    return wheel_wheel_steps_is_resting() ? 0 : 1;
}
"""
SPEEDS = {
    "of the data files": ("800 steps/s", "1000 steps/s2"),
    "of the carousel": ("4800 steps/s", "18000 steps/s2"),
    "slower than its first step": ("10 steps/s", "1000 steps/s2"),
    "as slow as can be": ("1 steps/s", "0.02 steps/s2"),
    "very fast": ("60000 steps/s", "400000 steps/s2"),
}


def wheel(speed: str = "800 steps/s", ramp: str = "1000 steps/s2", more: str = ""):
    figures = f"steps: 200, speed: {speed}, ramp: {ramp}{more}"
    return model_of(TEXT.format(figures=figures))


def built(folder: Path, model) -> Path:
    for file in emit(model, "wheel.yaml", "host"):
        name = file.path.split("/")[1]
        if "steps" in name:
            (folder / name).write_text(file.text, encoding="utf-8")
    (folder / "bench.c").write_text(BENCH, encoding="utf-8")
    warnings = ["-fsanitize=undefined,address", "-fno-sanitize-recover"]
    made = run([*COMPILERS["gcc"], *warnings, "-o", "bench", *_sources(folder)], folder)
    assert made.stderr == ""
    return folder / "bench"


def _sources(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.glob("*.c"))


def made_by(program: Path, steps: int, rest_after: int = 0) -> list[int]:
    done = run([str(program), str(steps), str(rest_after)], program.parent)
    assert (done.returncode, done.stderr) == (0, "")
    return [int(line) for line in done.stdout.split()]


@pytest.mark.parametrize("speeds", SPEEDS.values(), ids=SPEEDS)
def test_the_c_makes_the_very_intervals_that_are_worked_out(tmp_path, speeds):
    model = wheel(*speeds)
    motion = motion_of(model.drives[0])
    assert isinstance(motion, Motion)
    program = built(tmp_path, model)
    for steps in (1, 2, 3, 4, 9, 10, 100, 1000, 20_001):
        worked_out = list(intervals(plan(motion.speed, motion.ramp), steps))
        assert made_by(program, steps) == worked_out


def test_set_to_rest_it_makes_no_further_step(tmp_path):
    assert len(made_by(built(tmp_path, wheel()), 0, rest_after=900)) == 900


def test_with_a_ramp_down_it_slows_down_as_it_gained_speed(tmp_path):
    made = made_by(built(tmp_path, wheel(more=", ramp_down: yes")), 0, rest_after=900)
    # step-delay data file 2000_1_900 of idubrov/stepgen (MIT/Apache-2.0): 320 steps to rest
    assert len(made) == 900 + 320
    assert made[900:904] == [1251, 1253, 1255, 1257]
    assert made[-3:] == [14108, 18139, 30232]
    assert made[:320] == made[900:][::-1]


def test_set_to_rest_before_its_end_a_short_move_does_not_grow(tmp_path):
    made = made_by(built(tmp_path, wheel(more=", ramp_down: yes")), 10, rest_after=8)
    assert len(made) == 10


def test_once_it_rests_it_gains_speed_anew_though_nobody_asked_in_between(tmp_path):
    program = built(tmp_path, wheel())
    done = run([str(program), "100", "0", "again"], tmp_path)
    assert done.stdout.split() == [str(made_by(program, 100)[0])]


def test_all_compilers_take_it_without_a_word(tmp_path):
    built(tmp_path, wheel())
    (tmp_path / "bench.c").unlink()
    for compiler in COMPILERS:
        assert complaints(compiler, tmp_path) == ""


def test_what_the_generator_lacks_is_asked_for_by_name():
    model = model_of(TEXT.format(figures="steps: 200, speed: 40 rpm"))
    with pytest.raises(CannotEmitError) as refused:
        emit(model, "wheel.yaml", "host")
    assert refused.value.reasons == (
        "`wheel.ramp` is not given, and the step generator of `wheel` needs it",
    )


def test_a_speed_that_no_counter_reckons_with_is_refused():
    with pytest.raises(CannotEmitError) as refused:
        emit(wheel(ramp="0.001 steps/s2"), "wheel.yaml", "host")
    assert "too slow" in str(refused.value)


def test_a_motor_without_a_pin_for_steps_has_no_generator():
    text = TEXT.replace("pins: {{step: 5, dir: 6}}", "pin: 5").format(figures="steps: 200")
    assert step_generators(model_of(text), "wheel") == ()
