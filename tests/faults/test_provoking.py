"""Runs that are laid out with something wrong: healthy ones told again, and what is overdue."""

from itertools import pairwise

import pytest

from behaviour.check.asking import Asking
from behaviour.check.claims import ends_in
from behaviour.check.faulting import Cell, worksheet
from behaviour.check.judging import breaches
from behaviour.check.roles.check import ask_roles, role_checks_of
from behaviour.check.roles.once import ask_once
from behaviour.check.run import Limits
from behaviour.check.trying import Tried
from behaviour.explore.budget import Budget
from behaviour.faults import (
    LATEST,
    BrownOut,
    Chatters,
    Fault,
    Hangs,
    Late,
    Overdue,
    Restart,
    Stuck,
    Swapped,
    Welded,
    faults_of,
)
from behaviour.findings import Answer, Beat, Finding
from behaviour.story import replay
from behaviour.world.circuit import Circuit, Stage, acting, beat
from tests.reading import spec

CAROUSEL = spec("specs/confetti-carousel.yaml")
RULES = {rule.name: rule for rule in CAROUSEL.rules}
PULL = "every pull is answered"
RUNAWAY = "the drum never runs away"
OPEN_LID = "nothing turns under an open lid"


def asking(*faults: Fault) -> Asking:
    return Asking(CAROUSEL, Budget(400_000, 60), faults)


def provoked(name: str, fault: Fault) -> Finding | None:
    return Tried(CAROUSEL).provoked(asking(fault), name, RULES.get(name), fault)


@pytest.mark.parametrize(
    ("rule", "fault"),
    [
        (OPEN_LID, Stuck("lid", "closed")),
        (OPEN_LID, Chatters("lid", longer=True)),
        (OPEN_LID, Swapped("lid", "trigger")),
        (PULL, Stuck("trigger", "released")),
        (PULL, Chatters("trigger", longer=False)),
        (PULL, Welded("valve", "shut")),
        (RUNAWAY, Welded("drum", "forward")),
    ],
    ids=repr,
)
def test_healthy_runs_put_rules_to_the_test_with_something_wrong(rule, fault):
    found = provoked(rule, fault)

    assert found is not None
    assert found.run is not None
    assert found.run.faults == (fault,)
    assert ends_in(CAROUSEL, "rule-broken", rule, found.run)


def test_a_healthy_run_starts_a_hazard_that_nobody_asked_for():
    found = provoked("starts-unasked", Stuck("trigger", "pressed"))

    assert found is not None
    assert found.run is not None
    last = replay(CAROUSEL, found.run)[-1]
    assert {view.true[CAROUSEL.input_index["trigger"]] for view in replay(CAROUSEL, found.run)} == {
        "released"
    }
    assert last.state.outputs[CAROUSEL.output_index["drum"]] == "forward"


@pytest.mark.parametrize(
    ("rule", "fault"),
    [
        (RUNAWAY, Stuck("mark", "clear")),
        (OPEN_LID, Stuck("lid", "open")),
        (PULL, Welded("lamp", "red")),
        (RUNAWAY, Late()),
    ],
    ids=repr,
)
def test_what_holds_is_not_provoked(rule, fault):
    assert provoked(rule, fault) is None


def test_with_a_relay_welded_the_drum_runs_away_while_people_do_nothing():
    fault = Welded("drum", "forward")
    found = Tried(CAROUSEL).at_rest(RUNAWAY, RULES[RUNAWAY], fault)

    assert found is not None
    assert found.run is not None
    assert {each.raw[0] for each in found.run.stimuli} == {"closed"}
    views = replay(CAROUSEL, found.run)
    assert found.run.breach in breaches(CAROUSEL, RULES[RUNAWAY].requirement, views)
    assert Tried(CAROUSEL).at_rest(RUNAWAY, RULES[RUNAWAY], Stuck("lid", "open")) is None


def test_a_loop_that_is_overdue_never_begins():
    late, overdue = (Circuit(CAROUSEL, (fault,)) for fault in (Late(), Overdue()))

    def courses(circuit: Circuit) -> set[tuple[Beat, ...]]:
        """List what a controller does that is stopped at once, as far as it stays so."""
        found = set()
        left = [(life,) for life in circuit.onward(next(circuit.at_power_up()))]
        while left:
            course = left.pop()
            if beat(course[-1]) is Beat.SKIPS:
                found.add(tuple(beat(each) for each in course))
                left += [(*course, life) for life in circuit.onward(course[-1])]
        return found

    assert courses(late) == courses(overdue) == {(Beat.SKIPS,) * n for n in range(1, LATEST)}
    assert Overdue() not in faults_of(CAROUSEL)


def test_stories_with_the_controller_at_fault_go_as_the_fault_lets_them():
    rows = worksheet(CAROUSEL, Limits(seconds=600)).rows
    checked = 0
    for row in rows:
        if not isinstance(row.faults[0], Late | Restart | BrownOut | Hangs):
            continue
        circuit = Circuit(CAROUSEL, row.faults)
        for effect in row.effects:
            run = None if effect.finding is None else effect.finding.run
            if run is None or run.breach is None:
                continue
            checked += 1
            lives = set(circuit.at_power_up())
            hazards = [n for n, output in enumerate(CAROUSEL.outputs) if output.hazard]
            set_by = [view.state.outputs for view in replay(CAROUSEL, run)]
            starts = [
                any(a[n] == CAROUSEL.outputs[n].rest != b[n] for n in hazards)
                for a, b in pairwise([tuple(o.rest for o in CAROUSEL.outputs), *set_by])
            ]
            for loop, each in enumerate(run.stimuli):
                lives = {life for life in lives if beat(life) is each.beat}
                assert lives, (row.faults, effect.name, loop)
                left = {circuit.left(life, hazard_began=starts[loop]) for life in lives}
                lives = {life for now in left for life in circuit.onward(now)}
            if row.faults == (Late(),) and effect.cell is Cell.BEYOND:
                assert run.stimuli[-1].beat is Beat.SKIPS
    assert checked > 5


def test_what_begins_later_acts_from_then_on():
    found = provoked(PULL, Stuck("trigger", "released"))

    assert found is not None
    assert found.run is not None
    wrong = [bool(each.wrong) for each in found.run.stimuli]
    assert wrong == sorted(wrong)
    circuit = Circuit(CAROUSEL, found.run.faults)
    assert {lives[0].stage for lives in circuit.at_power_up()} == {Stage.WAITING, Stage.ACTING}
    assert acting(next(iter(circuit.at_power_up()))) == ()


@pytest.mark.parametrize(
    "fault",
    [Stuck("trigger", "pressed"), Swapped("lid", "mark"), Welded("valve", "open"), Late()],
    ids=repr,
)
def test_one_breach_of_a_check_tells_as_much_as_all(fault):
    for name in role_checks_of(CAROUSEL):
        once = ask_once(asking(fault), name)
        every = ask_roles(asking(fault), (name,))

        assert once.verdicts[0].answer == every.verdicts[0].answer
        broken = once.verdicts[0].answer is Answer.BROKEN
        assert [each.kind.name for each in once.findings] == [name] * broken
