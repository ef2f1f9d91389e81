"""Near misses of the built-in checks: a little less, and nothing is found."""

import pytest

from behaviour.findings import Answer, Finding, Severity
from behaviour.pipeline import Checked, check_source
from behaviour.source import Source

TUG = """language: 1
prop: Pipe
loop: 10 ms
inputs:
  rope: {{kind: button, steady: {steady}}}
  lid: {{kind: switch, role: guard, safe: shut, values: [shut, open], steady: 10 ms}}
outputs:
  puff: {{kind: valve, values: [shut, open], least: 50 ms}}
regions:
  pipe:
    begins: waiting
    interlocks: [{{when: lid is open, go: held}}]
    states:
      waiting: {{leave: [{{when: rope becomes pressed, after: 50 ms, go: breathing}}]}}
      breathing: {{set: {{puff: open}}, leave: [{leave}]}}
      held: {{leave: [{{when: lid is shut, after: 50 ms, go: waiting}}]}}
"""

WHEEL = """language: 1
prop: Wheel
loop: 10 ms
inputs:
  go: {{kind: button, role: hold_to_run, steady: 20 ms}}
  mark: {{kind: sensor, values: [clear, made]}}
outputs:
  wheel: {{kind: {kind}, values: [still, turning]}}
regions:
  fortune:
    begins: waiting
    states:
      waiting: {{leave: [{{when: go becomes pressed, go: spinning}}]}}
      spinning: {{set: {{wheel: turning}}, leave: [{{when: {until}, go: waiting}}]}}
mechanism:
  spokes:
    begins: between
    states:
      between:
        reads: {{mark: clear}}
        leave: [{{while: wheel is turning, takes: 300 ms, go: at_mark}}]
      at_mark:
        reads: {{mark: made}}
        leave: [{{while: wheel is turning, takes: {takes}, go: between}}]
"""


def found(text: str, name: str) -> list[Finding]:
    result = check_source(Source("near.yaml", text), 30.0)
    assert isinstance(result, Checked), result
    return [each for each in result.outcome.findings if each.kind.name == name]


@pytest.mark.parametrize(
    ("leave", "times"),
    [
        ("{after: 50 ms, go: waiting}", 0),
        ("{after: 40 ms, go: waiting}", 1),
        ("{go: waiting}", 2),
        ("{when: rope is released, go: waiting}", 1),
    ],
)
def test_a_value_that_lasts_its_least_to_the_loop_is_not_too_quick(leave, times):
    assert len(found(TUG.format(steady="20 ms", leave=leave), "too-quick")) == times


def test_an_interlock_may_cut_a_value_short():
    text = TUG.format(steady="20 ms", leave="{after: 5 s, go: waiting}")

    assert found(text, "too-quick") == []


@pytest.mark.parametrize(("steady", "times"), [("5 ms", 0), ("4 ms", 1)])
def test_an_edge_with_five_milliseconds_is_filtered(steady, times):
    text = TUG.format(steady=steady, leave="{after: 50 ms, go: waiting}")

    assert len(found(text, "unfiltered-edge")) == times


@pytest.mark.parametrize(
    ("kind", "until", "takes", "severities"),
    [
        ("motor", "mark is made or go is released", "10 ms", []),
        ("motor", "mark is made or go is released", "9 ms to 20 ms", [Severity.BROKEN]),
        ("motor", "go is released", "9 ms to 20 ms", [Severity.DOUBTFUL]),
        ("light", "mark is made or go is released", "9 ms to 20 ms", [Severity.DOUBTFUL]),
    ],
)
def test_a_mark_that_lasts_a_loop_is_seen_and_one_that_a_hazard_waits_for_is_broken(
    kind, until, takes, severities
):
    text = WHEEL.format(kind=kind, until=until, takes=takes)

    assert [each.severity for each in found(text, "blink-missed")] == severities


TWO = """language: 1
prop: Box
loop: 10 ms
inputs:
  pull: {{kind: button, steady: 20 ms}}
  wave: {{kind: button, steady: 20 ms}}
regions:
  lid:
    begins: down
    states:
      down: {{leave: [{{when: pull becomes pressed, go: waiting}}]}}
      waiting: {{leave: [{{when: {lid}, go: down}}]}}
  arm:
    begins: folded
    states:
      folded: {{leave: [{{when: wave becomes pressed, go: waiting}}]}}
      waiting: {{leave: [{{when: {arm}, go: folded}}]}}
"""


@pytest.mark.parametrize(
    ("lid", "arm", "messages"),
    [
        (
            "arm in folded",
            "lid in down",
            [("`lid` can get into `waiting` and never leaves it again, together with `arm` in "
             "`waiting`")],
        ),
        ("arm in folded", "wave becomes released", []),
        (
            "pull is pressed and pull is released",
            "wave is pressed and wave is released",
            ["`lid` can get into `waiting` and never leaves it again",
             "`arm` can get into `waiting` and never leaves it again"],
        ),
    ],
)  # fmt: skip
def test_regions_that_are_stuck_together_are_one_finding(lid, arm, messages):
    ends = found(TWO.format(lid=lid, arm=arm), "dead-end")

    assert [each.message for each in ends] == messages
    assert [len(each.related) for each in ends] == [int("together" in m) for m in messages]


SHOT = """language: 1
prop: Pipe
loop: 10 ms
inputs:
  rope: {{kind: button, steady: 20 ms}}
outputs:
  puff: {{kind: light, values: [dark, lit]}}
regions:
  pipe:
    begins: waiting
    states:
      waiting: {{leave: [{{when: rope becomes pressed, go: shot}}]}}
      shot:
        cues:
          - {{at: 100 ms, set: {{puff: lit}}}}
          - {{at: 200 ms, set: {{puff: dark}}}}
          - {{at: 250 ms}}
        at the end: {{go: waiting}}
        leave: [{{{leave}, go: waiting}}]
"""


@pytest.mark.parametrize(
    ("leave", "cue", "ways"),
    [
        ("when: rope is pressed, after: 250 ms", None, 0),
        ("after: 250 ms", None, 1),
        ("after: 210 ms", None, 1),
        ("after: 200 ms", "pipe.shot@200ms", 0),
        ("after: 110 ms", "pipe.shot@200ms", 0),
        ("after: 100 ms", "pipe.shot@100ms", 0),
    ],
)
def test_a_cue_that_its_state_is_always_left_before_is_never_reached(leave, cue, ways):
    text = SHOT.format(leave=leave)
    messages = [each.message for each in found(text, "never-reached")]

    assert messages == ([] if cue is None else [f"no run ever comes to `{cue}`"])
    assert len(found(text, "never-taken")) == ways


WINCH = """language: 1
prop: Winch
loop: 10 ms
inputs:
  go: {{kind: button, role: hold_to_run, steady: 20 ms}}
  back: {{kind: button, steady: 20 ms}}
  mark: {{kind: sensor, values: [clear, made]}}
outputs:
  drum: {{kind: motor, values: [still, winding]}}
  lamp: {{kind: light, values: [dark, lit]}}
regions:
  winch:
    begins: idle
    states:
      idle: {{leave: [{{when: go becomes pressed, go: home}}]}}
      home: {{{home}}}
mechanism:
  flag:
    begins: any
    states:
      down: {{reads: {{mark: clear}}, leave: [{{while: {moves}, takes: 100 ms, go: up}}]}}
      up: {{reads: {{mark: made}}, leave: [{{while: {moves}, takes: 100 ms, go: down}}]}}
"""
WAITS = "leave: [{when: mark becomes made, go: idle}, {when: back becomes pressed, go: idle}]"


@pytest.mark.parametrize(
    ("home", "moves", "severities"),
    [
        (f"set: {{drum: winding}}, {WAITS}", "drum is winding", [Severity.BROKEN]),
        (f"set: {{lamp: lit}}, {WAITS}", "lamp is lit", [Severity.DOUBTFUL]),
        (f"cues: [{{at: 1 s, set: {{drum: winding}}}}], {WAITS}", "drum is winding",
         [Severity.BROKEN]),
        (f"begins: slow, states: {{slow: {{set: {{drum: winding}}}}}}, {WAITS}", "drum is winding",
         [Severity.BROKEN]),
        (f"set: {{drum: winding}}, {WAITS[:-1]}, {{after: 5 s, go: idle}}]", "drum is winding", []),
    ],
)  # fmt: skip
def test_waiting_for_what_has_been_is_broken_where_a_hazard_may_be_set_meanwhile(
    home, moves, severities
):
    text = WINCH.format(home=home, moves=moves)

    assert [each.severity for each in found(text, "deaf")] == severities


TILT = """language: 1
prop: Chest
loop: 10 ms
inputs:
  go: {{kind: button, steady: 20 ms}}
  tilt: {{kind: button, steady: 20 ms}}
outputs:
  lamp: {{kind: light, values: [dark, lit]}}
regions:
  chest:
    begins: homing
    states:
      homing: {{leave: [{{when: go becomes pressed, go: idle}}]}}
      idle: {{leave: [{{when: tilt is pressed, go: tilted}}, {idle}]}}
      shown: {{set: {{lamp: lit}}, leave: [{shown}]}}
      tilted: {{lockout: yes}}
"""


@pytest.mark.parametrize(
    ("idle", "shown", "states"),
    [
        ("{when: go is pressed, after: 1 s, go: shown}", "{after: 1 s, go: tilted}", []),
        ("{when: go is pressed, after: 1 s, go: shown}", "{after: 1 s, go: idle}", ["idle"]),
        ("{when: go becomes released, go: shown}", "{when: go becomes pressed, go: idle}",
         ["idle"]),
        ("{when: go becomes released, go: shown}", "{after: 5 s, go: tilted}", []),
        ("{when: go becomes released, go: shown}",
         "{after: 5 s, go: tilted}, {when: go becomes pressed, go: idle}", ["idle"]),
    ],
)  # fmt: skip
def test_a_lockout_excuses_what_cannot_go_on_for_ever_beside_it(idle, shown, states):
    ways = found(TILT.format(idle=idle, shown=shown), "no-way-back")

    assert [each.place[1] for each in ways if each.place] == states


@pytest.mark.parametrize(
    ("leave", "before"),
    [
        ("{when: rope is pressed, go: waiting}, {when: rope becomes pressed, go: breathing}",
         "when: rope is pressed, go"),
        ("{after: 1 s, go: waiting}, {when: lid is shut, after: 2 s, go: breathing}",
         "after: 1 s, go"),
        ("{when: rope is released and rope is pressed, go: breathing}, {after: 1 s, go: waiting}",
         None),
        ("{when: lid is open, go: breathing}, {after: 1 s, go: waiting}", "when: lid is open, go"),
    ],
)  # fmt: skip
def test_what_is_never_taken_is_told_with_what_always_comes_before_it(leave, before):
    text = TUG.format(steady="20 ms", leave=leave)
    (never,) = found(text, "never-taken")

    lines = text.splitlines()
    places = [each.span for each in never.related]
    shown = [lines[span.line - 1][span.column - 1 :] for span in places]
    assert [each.startswith("{" + str(before)) for each in shown] == [True] * (before is not None)


TWO_ROUNDS = """language: 1
prop: Fog
loop: 10 ms
inputs:
  tap: {{kind: switch, values: [closed, turned], steady: 20 ms}}
outputs:
  fog: {{kind: valve, values: [shut, open]}}
regions:
  machine:
    begins: waiting
    states:
      waiting: {{leave: [{{when: tap {tap}, go: blowing}}, {{after: 1 s, go: waiting}}]}}
      blowing: {{{blowing}, leave: [{{after: 500 ms, go: {after}}}]}}
      over: {{leave: [{{when: tap becomes closed, go: waiting}}]}}
"""


@pytest.mark.parametrize(
    ("tap", "blowing", "after", "severity"),
    [
        ("is turned", "set: {fog: open}", "waiting", Severity.BROKEN),
        ("is turned", "cues: [{at: 100 ms, set: {fog: open}}, {at: 200 ms, set: {fog: shut}}]",
         "waiting", Severity.BROKEN),
        ("is turned", "set: {fog: shut}", "waiting", Severity.DOUBTFUL),
        ("is turned", "set: {fog: open}", "over", Severity.DOUBTFUL),
        ("becomes turned", "set: {fog: open}", "waiting", Severity.DOUBTFUL),
    ],
)  # fmt: skip
def test_a_harmless_round_hides_no_other_in_which_a_hazard_moves(tap, blowing, after, severity):
    text = TWO_ROUNDS.format(tap=tap, blowing=blowing, after=after)

    (running,) = found(text, "self-running")

    assert running.severity is severity


IN_STEP = """language: 1
prop: Two in step
loop: 10 ms
inputs:
  lid: {kind: switch, values: [shut, open], role: guard, safe: shut, steady: 10 ms}
  start: {kind: button, role: start, steady: {released: 0 ms, pressed: 30 ms}}
outputs:
  drum: {kind: motor, values: [still, turning]}
regions:
  work:
    begins: waiting
    interlocks: [{when: lid is open, go: stopped}]
    states:
      waiting: {leave: [{when: start becomes pressed, go: turning}]}
      turning:
        set: {drum: turning}
        leave:
          - {when: beat not in down and lid is shut for 40 ms, go: stopped}
          - {after: 30 ms, go: waiting}
      stopped: {leave: [{when: lid is shut, go: turning}]}
  beat:
    begins: up
    states:
      up:
        leave:
          - {when: work in waiting, after: 30 ms, go: down}
          - {when: start is pressed, go: down}
      down: {leave: [{when: lid becomes open, go: up}, {when: start is released, go: up}]}
"""


def test_a_round_only_in_step_with_another_region_is_found_from_where_the_inputs_were_long_held():
    running = {finding.place[0]: finding for finding in found(IN_STEP, "self-running")}

    assert {name: each.severity for name, each in running.items()} == {
        "work": Severity.BROKEN,
        "beat": Severity.DOUBTFUL,
    }


TOO_SHORT = """language: 1
prop: Peppermill
loop: 10 ms
inputs:
  lid: {{kind: switch, values: [open, shut], role: guard, safe: shut, steady: 30 ms}}
outputs:
  mill: {{kind: motor, values: [still, turning]}}
regions:
  house:
    begins: waiting
    interlocks: [{{when: lid is open, go: waiting}}]
    states:
      waiting: {{leave: [{{when: lid becomes shut, go: milling}}]}}
      milling:
        set: {{mill: turning}}
        leave: [{{when: lid is shut for {held}, go: milling}}, {{after: 10 ms, go: waiting}}]
"""


@pytest.mark.parametrize(("held", "answer"), [("10 ms", Answer.BROKEN), ("20 ms", Answer.HOLDS)])
def test_a_round_for_which_an_input_was_not_held_long_enough_is_none(held, answer):
    result = check_source(Source("mill.yaml", TOO_SHORT.format(held=held)), 30.0)

    assert isinstance(result, Checked), result
    answers = {each.name: each.answer for each in result.outcome.checks}
    assert (answers["runaway"], answers["self-running"]) == (answer, answer)


SEEN_WAITING = """language: 1
prop: Rocking horse
loop: 10 ms
inputs:
  mark: {kind: sensor, values: [clear, made], steady: 0 ms}
  key: {kind: switch, values: ["off", "on"], steady: 0 ms}
outputs:
  motor: {kind: motor, values: [stopped, forward, reverse]}
regions:
  horse:
    begins: waiting
    interlocks: [{when: key becomes on, go: resting}]
    states:
      waiting:
        cues: [{at: 10 ms, set: {motor: forward}}]
        leave: [{when: mark becomes made, go: stay}]
      back:
        begins: resting
        states:
          reversing: {set: {motor: reverse}, leave: [{when: mark is made, go: rocking}]}
          resting: {leave: [{when: key is not on, go: waiting}]}
      rocking:
        set: {motor: forward}
        leave: [{when: mark becomes clear, go: reversing}, {after: 40 ms, go: waiting}]
mechanism:
  rocker:
    begins: any
    states:
      down:
        reads: {mark: clear}
        leave: [{while: motor is forward, takes: 10 ms to 20 ms, go: up}]
      up:
        reads: {mark: made}
        leave: [{while: motor is not stopped, takes: 10 ms to 15 ms, go: down}]
"""


def test_what_is_seen_to_come_while_one_waits_comes_only_where_one_does():
    """The horse waits for no loop at all before its cue, so the mark is not made meanwhile."""
    assert {each.severity for each in found(SEEN_WAITING, "runaway")} == {Severity.BROKEN}


SHORT_DRAWS = """language: 1
prop: Spice drum
loop: 10 ms
inputs:
  push: {{kind: button, role: start, steady: 20 ms}}
  brake: {{kind: switch, values: [up, hit], role: stop, safe: up, steady: 20 ms}}
outputs:
  drum: {{kind: motor, values: [still, turning]}}
regions:
  work:
    begins: waiting
    interlocks: [{{when: brake is hit, go: halted}}]
    states:
      waiting: {{leave: [{{when: push becomes pressed, go: turning}}]}}
      turning:
        set: {{drum: turning}}
        leave: [{{after: 20 ms to 40 ms, go: turning}}, {{after: {ends}, go: halted}}]
      halted: {{leave: [{{when: push becomes released, go: waiting}}]}}
"""


@pytest.mark.parametrize(("ends", "answer"), [("20 ms", Answer.BROKEN), ("10 ms", Answer.HOLDS)])
def test_a_round_that_comes_about_by_the_shortest_times_alone_is_found(ends, answer):
    """How long the drum turns before it turns anew is drawn: by any longer time it halts."""
    result = check_source(Source("drum.yaml", SHORT_DRAWS.format(ends=ends)), 30.0)

    assert isinstance(result, Checked), result
    answers = {each.name: each.answer for each in result.outcome.checks}
    assert (answers["runaway"], answers["self-running"]) == (answer, answer)


@pytest.mark.parametrize(
    ("out", "answer"),
    [("after: 1 s", Answer.BROKEN), ("after: unknown", Answer.NOT_DECIDED)],
)
def test_what_has_no_story_since_another_region_is_not_known_yet_is_not_decided(out, answer):
    lamp = "lamp: {{states: {{a: {{leave: [{{{out}, go: b}}]}}, b: {{}}}}, begins: a}}"
    text = TWO_ROUNDS.format(tap="becomes turned", blowing="set: {fog: open}", after="over")
    text = text.replace("becomes closed", "becomes turned and machine in waiting")
    result = check_source(Source("near.yaml", f"{text}  {lamp.format(out=out)}\n"), 30.0)

    assert isinstance(result, Checked), result
    assert {e.name: e.answer for e in result.outcome.checks}["dead-end"] is answer
