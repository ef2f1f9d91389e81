"""What a rule waits for is mostly seen in runs that are there, and told as the rule sees them."""

from dataclasses import replace

import pytest

from behaviour.check.asking import Asking
from behaviour.check.awaiting import Awaited, awaited_by
from behaviour.check.emptiness import _is_met, _Trails, check_empty
from behaviour.check.rules import check_rules
from behaviour.check.walks import walked
from behaviour.explore.budget import Budget, LimitError
from behaviour.explore.cone import cone
from behaviour.findings import Answer
from behaviour.model import InState, Is, Scope, ScopeKind
from tests.reading import model_in, source_of, spec

LIT = Is("glow", ("lit",))


@pytest.fixture(scope="module")
def lantern():
    return Asking(spec("specs/lantern-wheel.yaml"), Budget(400_000, 60.0))


def test_what_a_scope_waits_for_is_shown_by_runs_of_a_walk(lantern):
    rule = next(rule for rule in lantern.model.rules if rule.scope is not None)
    within = [awaited for awaited in awaited_by(rule) if awaited.scope is not None]

    assert within
    assert all(_Trails(lantern).soon_show(awaited) for awaited in within)


def test_runs_show_nothing_that_comes_about_only_outside_the_scope(lantern):
    opened = next(state for state in lantern.model.region["show"].states if state.name == "opened")
    inside = InState("show", opened.number)
    shut = Scope(kind=ScopeKind.ONLY_WHILE, condition=LIT)

    assert _Trails(lantern).soon_show(Awaited(inside, None))
    assert not _Trails(lantern).soon_show(Awaited(inside, shut))


def test_runs_of_a_region_tell_nothing_of_what_it_does_not_hang_on(lantern):
    """Whether the wheel still turns is no part of what the show looks at."""
    moving = InState("wheel-motion", 1)

    assert not _Trails(lantern).soon_show(Awaited(moving, None))


def test_a_motor_moves_where_the_walk_came_to_a_state_that_drives_it(lantern):
    moving = Awaited(InState("wheel-motion", 1), None)

    assert _is_met(lantern, moving)
    assert not _is_met(lantern, moving._replace(condition=InState("wheel-motion", 0)))
    assert not _is_met(lantern, moving._replace(scope=Scope(kind=ScopeKind.UP_TO, condition=LIT)))


def test_a_motor_that_no_run_drives_is_not_said_to_move():
    """It is turned after a press under an open cage, and there no press is looked at."""
    source = source_of("specs/lantern-wheel.yaml")
    never = "when: next becomes pressed and cage is open, go: dimming"
    text = source.text.replace("when: next becomes pressed, go: dimming", never)
    asking = Asking(model_in(replace(source, text=text)), Budget(400_000, 60.0))

    assert text != source.text
    assert not _is_met(asking, Awaited(InState("wheel-motion", 1), None))


def test_what_runs_show_needs_no_more_than_the_walks_that_are_made_anyway(monkeypatch):
    """Nothing is searched at length, and the prop is not walked as a whole."""
    asking = Asking(spec("specs/lantern-wheel.yaml"), Budget(400_000, 60.0))
    rules = check_rules(asking).verdicts
    part = cone(asking.model, regions=("show",)).model
    walked(asking, part, may_stall=False)
    walks = set(asking.walks)

    def stopped(*_args, **_options):
        raise LimitError("states", "a long search")

    monkeypatch.setattr("behaviour.check.emptiness.reach", stopped)
    told = check_empty(asking, [each for each in rules if each.name.startswith("a turn")])

    assert told.findings == ()
    assert [each.answer for each in told.verdicts] == [Answer.HOLDS]
    assert set(asking.walks) == walks
