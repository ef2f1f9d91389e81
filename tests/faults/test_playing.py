"""Runs with something wrong, played loop by loop and told; and whether a program could tell."""

from behaviour.faults import Hangs, Late, Restart, Stuck, Welded
from behaviour.findings import Beat, Run, Stimulus
from behaviour.model import Model
from behaviour.story import as_json, replay
from behaviour.telling import says_by_loop, tell
from behaviour.world.likeness import could_be_healthy
from tests.reading import model_of


def drum() -> Model:
    return model_of("""\
        language: 1
        prop: Drum
        loop: 10 ms
        inputs:
          go: {kind: button}
          mark: {kind: sensor, values: [clear, made]}
        outputs:
          motor: {kind: motor, values: [stopped, turning]}
        counters:
          turns: {from: 0, to: 3, begins: 0}
        regions:
          drum:
            begins: still
            states:
              still: {leave: [{when: go becomes pressed, do: add 1 to turns, go: turning}]}
              turning: {set: {motor: turning}, leave: [{after: 50 ms, go: still}]}
        mechanism:
          place:
            begins: away
            states:
              away:
                reads: {mark: clear}
                leave: [{while: motor is turning, takes: 20 ms to 30 ms, go: at}]
              at: {reads: {mark: made}}
        """)


def loops(*given: Stimulus, faults: tuple[object, ...] = ()) -> Run:
    return Run(tuple(given), breach=len(given) - 1, faults=faults)  # type: ignore[arg-type]


UP, PRESS, HOLD = (
    Stimulus(("released", "clear"), (0,)),
    Stimulus(("pressed", "clear"), (0,)),
    Stimulus(("pressed", "clear"), (0,)),
)


def beaten(stimulus: Stimulus, beat: Beat) -> Stimulus:
    return Stimulus(stimulus.raw, stimulus.mechanism, beat=beat)


def test_outputs_stay_while_a_controller_hangs():
    run = loops(UP, PRESS, *[beaten(HOLD, Beat.SKIPS)] * 9, faults=(Hangs(),))

    assert [view.real for view in replay(drum(), run)][-3:] == [("turning",)] * 3


def test_a_restart_forgets_everything():
    run = loops(
        UP, PRESS, beaten(HOLD, Beat.IS_DOWN), beaten(HOLD, Beat.STARTS), HOLD, faults=(Restart(),)
    )
    views = replay(drum(), run)

    assert [view.real for view in views] == [
        ("stopped",),
        ("turning",),
        ("stopped",),
        ("stopped",),
        ("stopped",),
    ]
    assert [view.state.counters for view in views] == [(0,), (1,), (1,), (0,), (0,)]


def test_timers_count_the_loops_that_were_passed_over():
    late = [beaten(HOLD, Beat.SKIPS)] * 2
    punctual = replay(drum(), loops(UP, PRESS, *[HOLD] * 5))
    run = replay(drum(), loops(UP, PRESS, HOLD, *late, HOLD, HOLD, faults=(Late(),)))

    assert punctual[-1].state.regions[0].leaf == run[-1].state.regions[0].leaf == 0
    assert run[-2].state.regions[0].leaf == 1


def test_what_is_really_there_is_told_beside_what_is_read():
    stuck = Stimulus(("released", "clear"), (0,), true=("pressed", "clear"), wrong=(0,))
    run = loops(UP, stuck, faults=(Stuck("go", "released"),))

    assert tell(drum(), run)[1] == (
        "0.01 s  from any moment on `go` reads released, whatever is there, go is really pressed"
    )
    step = as_json(drum(), run, says_by_loop(drum(), run))["steps"][-1]  # type: ignore[index]
    assert step["true"] == {"go": "pressed", "mark": "clear"}


def test_a_welded_output_is_told_with_what_was_set():
    welded = Stimulus(("released", "clear"), (0,), wrong=(0,))
    run = loops(UP, welded, faults=(Welded("motor", "turning"),))

    assert "motor turning (set stopped)" in tell(drum(), run)[1]


def test_a_mark_that_comes_while_the_motor_rests_gives_a_fault_away():
    model = drum()
    run = loops(UP, UP, UP, Stimulus(("released", "made"), (1,)))
    states = [view.state for view in replay(model, run)]

    assert not could_be_healthy(model, run.stimuli, states)


def test_no_program_can_tell_a_motor_that_turns_unseen():
    model = drum()
    run = loops(*[UP] * 9)

    assert could_be_healthy(model, run.stimuli, [view.state for view in replay(model, run)])


def test_a_mark_that_never_comes_gives_a_fault_away_once_it_is_overdue():
    model = drum()
    short, long = loops(UP, *[PRESS] * 3), loops(UP, *[PRESS] * 4)

    assert could_be_healthy(model, short.stimuli, [v.state for v in replay(model, short)])
    assert not could_be_healthy(model, long.stimuli, [v.state for v in replay(model, long)])


def test_a_mark_that_comes_after_a_long_rest_gives_a_fault_away_as_well():
    model = drum()
    rests = loops(*[UP] * 30)
    moved = loops(*[UP] * 30, Stimulus(("released", "made"), (1,)))
    turned = loops(*[UP] * 30, *[PRESS] * 3, Stimulus(("pressed", "made"), (1,)))

    assert could_be_healthy(model, rests.stimuli, [v.state for v in replay(model, rests)])
    assert not could_be_healthy(model, moved.stimuli, [v.state for v in replay(model, moved)])
    assert could_be_healthy(model, turned.stimuli, [v.state for v in replay(model, turned)])
