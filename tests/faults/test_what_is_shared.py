"""What one fault shows of another: what is felt of it, what does the same, and runs tried again."""

from dataclasses import replace
from functools import cache

import pytest

from behaviour.check.asking import Asking
from behaviour.check.claims import ends_in
from behaviour.check.faulting import Cell, Worksheet, worksheet
from behaviour.check.felt import alike, at_will, felt, stays_read, wider_than
from behaviour.check.judging import Sights
from behaviour.check.roles.alongside import breaks_in
from behaviour.check.roles.check import asks_of
from behaviour.check.roles.once import ask_once
from behaviour.check.rules import check_rules
from behaviour.check.run import Limits
from behaviour.check.trying import Tried
from behaviour.explore.budget import Budget
from behaviour.faults import (
    BrownOut,
    Chatters,
    Fault,
    Hangs,
    Late,
    Restart,
    Slow,
    Stalls,
    Stuck,
    Unplugged,
    Welded,
)
from behaviour.findings import Answer, Finding, Run
from behaviour.model import Is, Rule
from behaviour.story import replay
from tests.reading import spec

CAROUSEL = spec("specs/confetti-carousel.yaml")
RULES = {rule.name: rule for rule in CAROUSEL.rules}
PULL = "every pull is answered"


@cache
def sheet() -> Worksheet:
    return worksheet(CAROUSEL, Limits(seconds=600))


@cache
def run_with(fault: Fault, rule: str) -> Run:
    """Give a run that breaks a rule with a fault, as the search finds it."""
    told = check_rules(Asking(CAROUSEL, Budget(400_000, 60), (fault,)), (RULES[rule],))
    run = told.findings[0].run
    assert run is not None
    return run


def tried(rule: str, known: Fault, fault: Fault) -> Finding | None:
    """Try the run that breaks a rule with one fault with another one."""
    runs = Tried(CAROUSEL)
    runs.keep(rule, run_with(known, rule))
    return runs.again(rule, RULES[rule], fault)


def test_a_part_without_the_mechanism_feels_neither_stalls_nor_slowness():
    bare = replace(CAROUSEL, mechanism=())
    faults = (Stalls("drum_position", 0), Slow("drum_position", 1), Stuck("mark", "made"))

    assert felt(CAROUSEL, faults, ()) == faults
    assert felt(bare, faults, ()) == ()


def test_what_people_alone_move_is_felt_only_where_its_truth_is_asked_for():
    faults = (Stuck("trigger", "pressed"), Chatters("lid", longer=True))
    truth_of_lid = (Is("lid", ("open",)),)

    assert felt(CAROUSEL, faults, ()) == ()
    assert felt(CAROUSEL, faults, truth_of_lid) == faults[1:]
    assert felt(CAROUSEL, faults, (), stays_possible=True) == faults[:1]


def test_a_prop_goes_on_as_a_healthy_one_where_what_is_wrong_is_over_or_people_might_do_it():
    in_idle = RULES["there is always a way back"].conditions()
    lid = (Is("lid", ("open",)),)

    for over in (Late(), Restart(), Chatters("mark", longer=True), Slow("drum_position", 0)):
        assert stays_read(CAROUSEL, (over,), in_idle) == {}
    assert stays_read(CAROUSEL, (Stuck("lid", "closed"),), in_idle) == {"lid": "closed"}
    assert stays_read(CAROUSEL, (Stuck("lid", "closed"),), lid) is None
    assert stays_read(CAROUSEL, (Stuck("mark", "made"),), in_idle) is None
    assert stays_read(CAROUSEL, (BrownOut(),), in_idle) is None
    assert stays_read(CAROUSEL, (Welded("drum", "forward"),), in_idle) is None


def test_a_hang_is_over_only_where_a_watchdog_ends_it():
    assert stays_read(replace(CAROUSEL, watchdog=None), (Hangs(),), ()) is None
    assert stays_read(replace(CAROUSEL, watchdog=CAROUSEL.loop), (Hangs(),), ()) == {}


def test_a_line_reads_anything_only_where_its_truth_is_not_asked_for():
    trigger = CAROUSEL.input_index["trigger"]
    asked = (Is("trigger", ("pressed",)),)

    assert at_will(CAROUSEL, (Stuck("trigger", "pressed"),), ()) == {trigger}
    assert at_will(CAROUSEL, (Stuck("trigger", "pressed"),), asked) == frozenset()
    assert at_will(CAROUSEL, (Late(),), ()) == frozenset()


def test_a_cut_wire_does_what_a_line_does_that_stays():
    assert alike(CAROUSEL, Unplugged("lid", "open")) == Stuck("lid", "open")


@pytest.mark.parametrize(
    ("name", "value", "first"),
    [
        ("drum", "reverse", "forward"),
        ("drum", "stopped", "stopped"),
        ("lamp", "amber", "green"),
        ("lamp", "white", "red"),
        ("lamp", "dark", "dark"),
    ],
)
def test_an_output_stays_as_well_at_a_value_that_nobody_tells_apart(name, value, first):
    assert alike(CAROUSEL, Welded(name, value)) == Welded(name, first)


@pytest.mark.parametrize(
    "fault",
    [
        Stuck("trigger", "pressed"),
        Stuck("trigger", "released"),
        Chatters("trigger", longer=False),
        Chatters("trigger", longer=True),
    ],
    ids=repr,
)
def test_a_held_start_is_what_is_told_and_nothing_need_be_searched_where_its_line_is_at_fault(
    fault,
):
    told = ask_once(Asking(CAROUSEL, Budget(0, 60), (fault,)), "held-start-counts")

    assert told.verdicts[0].answer is Answer.HOLDS


def test_what_a_run_alone_cannot_show_is_not_tried_with_one():
    runs = Tried(CAROUSEL)

    assert not runs.may_show("held-start-counts", None)
    assert runs.may_show("starts-unasked", None)
    assert runs.may_show(PULL, RULES[PULL])


def test_interference_of_any_length_is_wider_than_all_else_that_is_wrong_with_a_line():
    widest = Chatters("lid", longer=True)

    assert wider_than(Stuck("lid", "open")) == widest
    assert wider_than(Chatters("lid", longer=False)) == widest
    assert wider_than(widest) is None
    assert wider_than(Late()) is None


@pytest.mark.parametrize(
    "fault",
    [
        Stuck("trigger", "pressed"),
        Chatters("trigger", longer=False),
        Chatters("trigger", longer=True),
        Welded("valve", "shut"),
        Late(),
        Restart(),
    ],
    ids=repr,
)
def test_the_run_of_a_dead_trigger_breaks_the_same_rule_with_other_things_wrong(fault):
    found = tried(PULL, Stuck("trigger", "released"), fault)

    assert found is not None
    assert found.run is not None
    assert found.run.faults == (fault,)
    assert ends_in(CAROUSEL, "rule-broken", PULL, found.run)


@pytest.mark.parametrize("fault", [Welded("lamp", "red"), Slow("drum_position", 0)], ids=repr)
def test_a_run_that_breaks_nothing_with_something_else_wrong_says_nothing(fault):
    assert tried(PULL, Stuck("trigger", "released"), fault) is None


def _is_shown(finding: Finding, rule: Rule | None, run: Run) -> bool:
    if rule is not None:
        return ends_in(CAROUSEL, "rule-broken", rule.name, run) is not False
    sights = Sights(CAROUSEL, list(replay(CAROUSEL, run)))
    asked = [each for each in asks_of(CAROUSEL, finding.kind.name) if each.watch is not None]
    return any(each.watch and breaks_in(each.watch(), sights) == run.breach for each in asked)


def test_every_story_of_the_worksheet_ends_in_its_breach_by_plain_definition():
    told = [
        (effect.finding, RULES.get(effect.name), effect.finding.run)
        for row in sheet().rows
        for effect in row.effects
        if effect.finding is not None and effect.finding.run is not None
    ]

    assert len(told) > 20
    assert [
        (finding.kind.name, run.faults)
        for finding, rule, run in told
        if not _is_shown(finding, rule, run)
    ] == []


def test_nothing_stays_open_on_the_carousel():
    open_ones = {
        (effect.name, type(row.faults[0]).__name__)
        for row in sheet().rows
        for effect in row.effects
        if effect.cell is Cell.NOT_DECIDED
    }

    assert open_ones == set()
