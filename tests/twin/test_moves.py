"""One move by distance, loop by loop: it begins on entering, ends by itself, and is then done."""

import pytest

from behaviour.model import Model
from behaviour.semantics import PropState, power_up, step
from tests.reading import model_of

DRUM = """\
    language: 1
    prop: Drum
    loop: 10 ms
    inputs: {push: {kind: button}, stop: {kind: switch, values: [no, now]}}
    outputs:
      drum: {kind: motor, values: [stopped, forward, reverse]}
      lamp: {kind: lamp, values: [dark, lit]}
    drives:
      drum: {kind: stepper, steps: 200, speed: 60 rpm, ramp: 6000 rpm/s, tolerance: 10 %}
    regions:
      main:
        begins: idle
        interlocks: [{when: stop is now, go: idle}]
        states:
          idle: {leave: [{when: push becomes pressed, go: turn}]}
          turn:
            set: {drum: forward 36 deg, lamp: lit}
            leave: [{when: drum is done and push is pressed, go: turn},
              {when: drum is done and stop is no, after: 150 ms, go: idle}]
    """

WINDOW = (9, 13)
"""36 deg at 360 deg/s take 100 ms, and 10 ms more for both ramps; 10 % either way."""


def drum() -> Model:
    return model_of(DRUM)


def play(model: Model, readings: list[tuple[str, str]], drawn: int) -> list[PropState]:
    """Play readings of `push` and `stop`, loop by loop; every move ends after `drawn` loops."""
    region = model.regions[0]
    (chance,) = (each for state in region.states for each in region.chances(state.number))
    draws = {(region.name, chance.number): drawn}
    states = [power_up(model, readings[0], draws)]
    for raw in readings[1:]:
        states.append(step(model, states[-1], raw, draws))
    return states


def readings(loops: int, *, pressed: int, stop: int = -1) -> list[tuple[str, str]]:
    """Press in one loop, and hit the stop from another on."""
    return [
        ("pressed" if at == pressed else "released", "now" if 0 <= stop <= at else "no")
        for at in range(loops)
    ]


@pytest.mark.parametrize("drawn", WINDOW)
def test_a_move_leaves_the_motor_at_rest_in_the_loop_in_which_it_ends(drawn: int):
    states = play(drum(), readings(drawn + 4, pressed=2), drawn)
    outputs = [state.outputs[0] for state in states]

    assert outputs == ["stopped"] * 2 + ["forward"] * drawn + ["stopped"] * 2


@pytest.mark.parametrize("drawn", WINDOW)
def test_done_holds_from_the_end_of_the_move_until_its_state_is_left(drawn: int):
    states = play(drum(), readings(20, pressed=2), drawn)
    done = [at for at, state in enumerate(states) if state.done]
    turning = [at for at, state in enumerate(states) if state.regions[0].leaf == 1]

    assert turning == list(range(2, 17))
    assert done == list(range(2 + drawn, 18))
    assert [state.outputs[1] for state in states[2:17]] == ["lit"] * 15


@pytest.mark.parametrize("drawn", [WINDOW[0] - 1, WINDOW[1] + 1])
def test_a_move_ends_in_its_window_only(drawn: int):
    with pytest.raises(ValueError, match="9 to 13 may be"):
        play(drum(), readings(5, pressed=2), drawn)


def test_a_move_that_is_left_early_is_over_and_never_done():
    states = play(drum(), readings(30, pressed=2, stop=6), 10)

    assert [state.outputs[0] for state in states[2:7]] == ["forward"] * 4 + ["stopped"]
    assert not any(state.done for state in states)


def test_entering_the_state_again_begins_the_move_again():
    raw = readings(30, pressed=2)
    raw[13] = ("pressed", "no")
    states = play(drum(), raw, 10)

    assert [state.outputs[0] for state in states[2:25]] == (
        ["forward"] * 10 + ["stopped"] + ["forward"] * 10 + ["stopped"] * 2
    )


def test_a_late_loop_finds_a_move_ended_that_ended_meanwhile():
    model = drum()
    draws = {("main", 4): 10}
    begun = play(model, readings(3, pressed=2), 10)[-1]
    late = step(model, begun, ("released", "no"), draws, loops=10)
    early = step(model, begun, ("released", "no"), draws, loops=9)

    assert (late.done, late.outputs[0]) == (("drum",), "stopped")
    assert (early.done, early.outputs[0]) == ((), "forward")
