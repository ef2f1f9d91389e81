"""Whether a run ends in what a role check says of it: runs that do, and runs that nearly do."""

from collections import Counter
from zlib import crc32

import pytest
from hypothesis import Phase, given, settings

from behaviour.check.asking import Asking
from behaviour.check.claims import ends_in
from behaviour.check.roles.check import ask_roles
from behaviour.check.roles.questions import CHECKS
from behaviour.explore.budget import Budget
from behaviour.findings import Run, Stimulus
from behaviour.model import Model
from tests.reading import model_of
from tests.strategies import models
from tests.twin.test_by_itself import with_roles

DRUM = """\
    language: 1
    prop: Drum
    loop: 10 ms
    reaction: 30 ms
    inputs:
      lid: {kind: switch, role: guard, values: [shut, open], safe: shut, steady: 0 ms}
      stop: {kind: switch, role: stop, values: [up, hit], safe: up, steady: 0 ms}
      go: {kind: button, role: start, steady: 0 ms}
      hold: {kind: button, role: hold_to_run, steady: 0 ms}
      clear: {kind: button, role: reset, steady: 0 ms}
      mode: {kind: selector, role: mode, values: [show, test], steady: 0 ms}
    outputs: {wheel: {kind: motor, values: [off, on]}}
    regions:
      drum:
        begins: idle
        states:
          idle:
            leave:
              - {when: go becomes pressed, go: turning}
              - {when: hold is pressed, go: jogging}
              - {when: mode becomes test, go: turning}
              - {when: clear becomes pressed, go: turning}
          turning:
            set: {wheel: on}
            leave: [{when: lid is open, go: waiting}]
          jogging: {set: {wheel: on}, leave: [{when: hold is released, after: 50 ms, go: idle}]}
          waiting: {leave: [{when: lid is shut, go: turning}]}
    """

FIRST = ("shut", "up", "released", "released", "released", "show")
PLACES = ("lid", "stop", "go", "hold", "clear", "mode")


def ends(name: str, *turned: str, text: str = DRUM) -> bool | None:
    """Judge a run whose loops after loop 0 each turn one input, `lid open`, or nothing."""
    raw = list(FIRST)
    loops = [Stimulus(tuple(raw))]
    for each in turned:
        if each:
            item, value = each.split()
            raw[PLACES.index(item)] = value
        loops.append(Stimulus(tuple(raw)))
    return ends_in(model_of(text), name, None, Run(tuple(loops), len(loops) - 1))


def test_a_drum_that_turns_on_under_an_open_lid_has_what_is_left_of_the_reaction() -> None:
    """Filter and loop take 10 ms of 30: two loops after that in which the lid counts are left."""
    turning = DRUM.replace("leave: [{when: lid is open, go: waiting}]", "")

    assert ends("guard-open-moves", "go pressed", "lid open", "", "", text=turning) is True
    assert ends("guard-open-moves", "go pressed", "lid open", "", text=turning) is False
    assert ends("guard-open-moves", "lid open", "go pressed") is True
    assert ends("guard-open-moves", "go pressed", "lid open", "") is False


def test_a_stop_is_beaten_in_the_loop_in_which_it_is_in() -> None:
    assert ends("stop-is-beaten", "go pressed", "stop hit") is True
    assert ends("stop-is-beaten", "go pressed", "") is False
    assert ends("stop-is-beaten", "stop hit") is False


def test_a_start_after_a_press_is_asked_for_until_something_uses_it_up() -> None:
    assert ends("starts-unasked", "mode test") is True
    assert ends("starts-unasked", "go pressed") is False
    assert ends("starts-unasked", "go pressed", "lid open", "lid shut") is True
    assert ends("starts-unasked", "mode test", "") is False


def test_a_drum_goes_on_unheld_in_the_loop_in_which_its_button_is_let_go() -> None:
    assert ends("runs-unheld", "hold pressed", "", "hold released") is True
    assert ends("runs-unheld", "hold pressed", "") is False
    both = ("go pressed", "hold pressed", "hold released")
    assert ends("runs-unheld", *both) is False


def test_a_reset_counts_on_its_press_or_not() -> None:
    assert ends("reset-on-press", "clear pressed") is True
    assert ends("reset-on-press", "go pressed") is False


@pytest.mark.parametrize(
    ("name", "turn"), [("mode-starts", "mode test"), ("reset-restarts", "clear pressed")]
)
def test_what_starts_by_a_turn_alone_would_have_rested_without(name: str, turn: str) -> None:
    assert ends(name, "", turn) is True
    assert ends(name, "go pressed") is False
    assert ends(name, "hold pressed", turn) is False
    later = DRUM.replace(
        "          turning:", "              - {after: 1 s, go: turning}\n          turning:"
    )
    assert ends(name, "", turn, text=later) is False, "it would start anyway, a second later"


def test_a_lid_that_is_shut_starts_the_drum_and_restarts_it() -> None:
    shut = ("go pressed", "go released", "lid open", "", "lid shut")
    interlocked = DRUM.replace(
        "begins: idle\n",
        "begins: idle\n        interlocks: [{when: lid is open, go: waiting}]\n",
    ).replace("leave: [{when: lid is open, go: waiting}]", "")

    assert ends("guard-closing-starts", *shut) is True
    assert ends("guard-closing-starts", *shut[:-1]) is False
    assert ends("restarts-by-itself", *shut, text=interlocked) is True
    assert ends("restarts-by-itself", *shut[:-1], text=interlocked) is False
    pressed = (*shut[:3], "clear pressed", "lid shut")
    assert ends("restarts-by-itself", *pressed, text=interlocked) is False
    assert ends("restarts-by-itself", *shut) is False, "no interlock has stopped it"


def test_a_start_that_was_held_at_power_up_would_have_rested_released() -> None:
    level = DRUM.replace("go becomes pressed", "go is pressed")
    held = Run((Stimulus(("shut", "up", "pressed", *FIRST[3:])),) * 2, 1)

    assert ends_in(model_of(level), "held-start-counts", None, held) is True
    assert ends_in(model_of(DRUM), "held-start-counts", None, held) is False
    assert ends("held-start-counts", "go pressed", text=level) is None


SEEN: Counter[str] = Counter()


@settings(max_examples=150, derandomize=True, deadline=None, phases=(Phase.generate,))
@given(models())
def test_each_story_of_a_role_check_ends_in_what_it_claims(model: Model) -> None:
    model = with_roles(model, crc32(repr(model).encode()))
    for each in ask_roles(Asking(model, Budget(10_000, 2)), tuple(CHECKS)).findings:
        assert each.run is not None
        told = ends_in(model, each.kind.name, None, each.run)
        SEEN[f"{each.kind.name} {told}"] += 1
        assert told is not False, each.message


def test_enough_stories_of_role_checks_were_played() -> None:
    """Runs after the random props: what was played must have occurred, or nothing was shown."""
    assert {"guard-open-moves True", "stop-is-beaten True", "reset-restarts True"} <= SEEN.keys()
