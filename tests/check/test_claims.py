"""Whether a run ends in what a finding says of it, by hand and for all that a check finds."""

from collections import Counter

import pytest
from hypothesis import Phase, given, settings

from behaviour.check.claims import ends_in
from behaviour.check.run import Limits, check_model
from behaviour.findings import Finding, Run, Severity, Stimulus
from behaviour.model import Model, WayBack
from tests.reading import FAULTY, model_in, model_of, source_of
from tests.strategies import models

SHOWN = (
    "rule-broken",
    "sensing-too-slow",
    "runaway",
    "self-running",
    "moves-at-power-up",
    "reverses-at-once",
    "out-of-range",
    "too-quick",
    "order-matters",
    "deaf",
    "guard-open-moves",
    "stop-is-beaten",
    "starts-unasked",
    "slow-stop-filter",
    "reset-on-press",
    "runs-unheld",
    "restarts-by-itself",
)
"""The findings whose breach a story alone shows, a `way back` excepted."""

PERHAPS = ("guard-closing-starts", "held-start-counts", "mode-starts", "reset-restarts")
"""Those that a story alone shows where nothing else could have come of it."""

SEEN: Counter[str] = Counter()
"""How often a story of each finding was played."""


def is_shown(model: Model, finding: Finding) -> bool:
    requirements = {rule.name: rule.requirement for rule in model.rules}
    is_way_back = isinstance(requirements.get(finding.rule or ""), WayBack)
    return finding.kind.name in SHOWN and not is_way_back


def is_told(model: Model, finding: Finding) -> bool:
    return finding.kind.name in PERHAPS or is_shown(model, finding)


def claim(model: Model, finding: Finding) -> bool | None:
    assert finding.run is not None
    return ends_in(model, finding.kind.name, finding.rule, finding.run)


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_each_story_of_a_faulty_prop_ends_in_what_it_claims_and_says_it(path) -> None:
    model = model_in(source_of(f"specs/faulty/{path.name}"))
    found = [each for each in check_model(model, Limits(60)).findings if each.run is not None]

    assert [each.kind.name for each in found if claim(model, each) is False] == []
    silent = [
        each.kind.name
        for each in found
        if each.run is not None
        and not each.run.says
        and not (each.severity is Severity.NOTE and each.kind.name.startswith("never-"))
    ]
    assert silent == []


@settings(max_examples=60, derandomize=True, phases=(Phase.generate,))
@given(models())
def test_each_story_of_a_random_prop_ends_in_what_it_claims(model: Model) -> None:
    for each in check_model(model, Limits(seconds=4, states=20_000)).findings:
        if each.run is not None:
            SEEN[each.kind.name] += 1
            told = claim(model, each)
            is_open = told is None and each.kind.name in PERHAPS
            assert is_open or told is (True if is_told(model, each) else None), each.message


def test_enough_stories_were_played() -> None:
    """Runs after the random props: what was played must have occurred, or nothing was shown."""
    rare = {
        "reverses-at-once",
        "sensing-too-slow",
        "too-quick",
        "deaf",
        "slow-stop-filter",
        "reset-on-press",
        "runs-unheld",
        "restarts-by-itself",
    }
    assert {name for name in SHOWN if not SEEN[name]} <= rare


PUMP = """\
    language: 1
    prop: Pump
    loop: 10 ms
    inputs:
      push: {kind: button}
      dead_man: {kind: button, role: hold_to_run}
    outputs: {pump: {kind: motor, values: [off, on, back], pause: 50 ms}}
    counters: {pulls: {from: 0, to: 1, begins: 0}}
    regions:
      house:
        begins: idle
        states:
          idle: {leave: [{when: push becomes pressed, do: add 2 to pulls, go: pumping}]}
          pumping:
            set: {pump: on}
            leave:
              - {when: push becomes released, go: pause}
              - {when: dead_man is pressed, go: shaking}
          pause: {leave: [{after: 30 ms, go: backing}]}
          backing: {set: {pump: back}, leave: [{after: 1 s, go: idle}]}
          shaking:
            set: {pump: on}
            begins: left
            leave: [{when: push is released, go: idle}]
            states:
              left: {leave: [{after: 20 ms, go: right}]}
              right: {leave: [{after: 20 ms, go: left}]}
    rules:
      - {name: never on, never: pump is on}
    """
PUSHED, LET_GO = Stimulus(("pressed", "released")), Stimulus(("released", "released"))
HELD = Stimulus(("pressed", "pressed"))


def ends(name: str, *stimuli: Stimulus, repeats_from: int | None = None) -> bool | None:
    breach = len(stimuli) - 1 if repeats_from is None else None
    rule = "never on" if name == "rule-broken" else None
    return ends_in(model_of(PUMP), name, rule, Run(stimuli, breach, repeats_from))


def test_a_rule_is_broken_in_the_loop_that_the_story_ends_in_or_not_at_all() -> None:
    assert ends("rule-broken", LET_GO, PUSHED) is True
    assert ends("rule-broken", LET_GO, LET_GO) is False
    assert ends("rule-broken", LET_GO, PUSHED, LET_GO) is False
    assert ends("rule-broken", LET_GO, PUSHED, repeats_from=1) is False


def test_a_counter_goes_past_its_bound_in_the_last_loop_or_not() -> None:
    assert ends("out-of-range", LET_GO, PUSHED) is True
    assert ends("out-of-range", LET_GO, PUSHED, PUSHED) is False
    assert ends("out-of-range", LET_GO) is False


def test_a_motor_that_rests_for_its_pause_does_not_reverse_at_once() -> None:
    """It rests from loop 2 to loop 4: three loops, of five that it needs."""
    rested = (LET_GO, PUSHED, LET_GO, LET_GO, LET_GO, LET_GO)

    assert ends("reverses-at-once", *rested) is True
    assert ends("reverses-at-once", *rested[:-1]) is False
    model = model_of(PUMP.replace("pause: 50 ms", "pause: 30 ms"))
    assert ends_in(model, "reverses-at-once", None, Run(rested, 5)) is False


def test_a_hazard_that_moves_after_a_press_does_not_move_at_power_up() -> None:
    model = model_of(PUMP.replace("begins: idle", "begins: pause"))

    assert ends("moves-at-power-up", LET_GO, PUSHED) is False
    by_itself = Run((LET_GO,) * 4, 3)
    assert ends_in(model, "moves-at-power-up", None, by_itself) is True
    assert ends_in(model, "moves-at-power-up", None, Run((LET_GO,) * 3, 2)) is False
    touched = Run((LET_GO, PUSHED, LET_GO, LET_GO), 3)
    assert ends_in(model, "moves-at-power-up", None, touched) is False


def test_a_runaway_goes_on_for_ever_with_nobody_doing_anything() -> None:
    assert ends("runaway", LET_GO, PUSHED, PUSHED, repeats_from=2) is True
    assert ends("runaway", LET_GO, PUSHED, LET_GO, PUSHED, repeats_from=2) is False
    assert ends("runaway", LET_GO, LET_GO, repeats_from=1) is False
    assert ends("runaway", LET_GO, PUSHED) is False


def test_a_runaway_that_its_own_time_ends_is_none() -> None:
    """Backwards it runs for a second, so what looks endless for a loop is not."""
    backing = (LET_GO, PUSHED, *(LET_GO,) * 5)

    assert ends("runaway", *backing, repeats_from=6) is False


def test_a_round_counts_only_with_what_is_held_to_run_let_go() -> None:
    shaking = (LET_GO, PUSHED, HELD, *(PUSHED,) * 7)
    still_held = (LET_GO, PUSHED, *(HELD,) * 8)

    assert ends("self-running", *shaking, repeats_from=6) is True
    assert ends("self-running", *still_held, repeats_from=6) is False
    assert ends("self-running", LET_GO, PUSHED, PUSHED, repeats_from=2) is False


def test_what_never_comes_about_no_story_shows() -> None:
    assert {ends(name, LET_GO) for name in ("dead-end", "no-way-back", "never-taken")} == {None}


def test_a_file_without_the_rule_is_no_answer() -> None:
    run = Run((LET_GO,), 0)

    with pytest.raises(KeyError):
        ends_in(model_of(PUMP), "rule-broken", "another rule", run)
