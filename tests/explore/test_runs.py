"""What stalls in a run of the search: it is named, from the loop on in which it sticks."""

from behaviour.check.run import Limits, check_model
from behaviour.findings import Run
from tests.explore.legal import last_loop
from tests.reading import model_in, model_of, source_of

TWO_ARMS = """\
    language: 1
    prop: Two arms
    loop: 10 ms
    inputs:
      go: {kind: button}
      bell: {kind: button}
      end: {kind: sensor, values: [clear, made]}
    outputs:
      lamp: {kind: lamp, values: [dark, lit]}
      motor: {kind: relay, values: [off, on]}
    regions:
      lights:
        begins: unlit
        states:
          unlit: {leave: [{when: bell becomes pressed, go: burning}]}
          burning: {set: {lamp: lit}, leave: [{when: bell becomes released, go: unlit}]}
      arm:
        begins: idle
        states:
          idle: {leave: [{when: go becomes pressed and end is clear, go: pushing}]}
          pushing: {set: {motor: on}, leave: [{when: end is made, go: backing}]}
          backing: {leave: [{when: end is clear, go: idle}]}
    mechanism:
      flap:
        begins: low
        states:
          low: {leave: [{while: lamp is lit, takes: 50 ms, go: high}]}
          high: {leave: [{while: lamp is dark, takes: 50 ms, go: low}]}
      slide:
        begins: near
        states:
          near: {reads: {end: clear}, leave: [{while: motor is on, takes: 100 ms, go: far}]}
          far: {reads: {end: made}, leave: [{while: motor is off, takes: 100 ms, go: near}]}
    """


def runaway_of(model) -> Run:
    found = next(
        each for each in check_model(model, Limits(30)).findings if each.kind.name == "runaway"
    )
    assert found.run is not None
    return found.run


def test_a_stall_is_named_by_its_mechanism_in_the_whole_prop():
    """The flap is left out of the search, and the slide is the second mechanism all the same."""
    model = model_of(TWO_ARMS)

    run = runaway_of(model)

    stuck = [stimulus.stalled for stimulus in run.stimuli]
    began = next(loop for loop, each in enumerate(stuck) if each is not None)
    assert set(stuck[:began]) == {None}
    assert set(stuck[began:]) == {(1, 0)}
    last_loop(model, run)


def test_the_hoist_that_runs_away_is_told_with_the_movement_that_never_ends():
    model = model_in(source_of("specs/faulty/hoist-without-a-limit.yaml"))

    run = runaway_of(model)

    assert run.stimuli[-1].stalled == (0, 0)
    last_loop(model, run)
