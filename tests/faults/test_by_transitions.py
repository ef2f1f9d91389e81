"""What a region's transitions alone show with one thing wrong: no search finds it broken."""

from collections import Counter
from collections.abc import Iterator
from itertools import product
from random import Random
from unittest.mock import patch

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis.strategies import randoms, sampled_from

from behaviour.check import rules
from behaviour.check.asking import Asking
from behaviour.check.beside import is_never_beside
from behaviour.check.hearing import hears, hears_news
from behaviour.check.outright import is_kept_outright
from behaviour.check.roles.check import ask_roles, role_checks_of
from behaviour.check.roles.once import is_plain_with
from behaviour.check.rules import check_rules
from behaviour.explore.budget import Budget
from behaviour.faults import (
    Backwards,
    BrownOut,
    Chatters,
    Fault,
    Hangs,
    Late,
    Restart,
    Slow,
    Stalls,
    Stuck,
    Swapped,
    Unplugged,
    Welded,
    faults_of,
)
from behaviour.findings import Answer
from behaviour.model import And, InState, Model, Never, Role, Rule
from tests.check.test_outright import answering, forbidding, minding
from tests.making import (
    becomes,
    both,
    button,
    input_,
    is_,
    ms,
    output,
    prop,
    region,
    state,
    way,
)
from tests.reading import spec
from tests.strategies import models

STATES, SECONDS = 20_000, 20
MOST = 3
"""So many rules are searched for at most with each fault."""

FAULTS_A_PROP = 6

CAROUSEL = spec("specs/confetti-carousel.yaml")
RULES = {rule.name: rule for rule in CAROUSEL.rules}
BESIDE: Counter[Answer] = Counter()
SEEN: Counter[tuple[str, Answer]] = Counter()

searching = settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@searching
@given(models().flatmap(lambda model: sampled_from((model, minding(model)))), randoms())
def test_rules_that_are_kept_outright_no_search_breaks(model: Model, chance: Random) -> None:
    every = (*forbidding(model), *answering(model))
    healthy = [each for each in every if is_kept_outright(model, each)]
    faults = faults_of(model)
    for fault in chance.sample(faults, min(FAULTS_A_PROP, len(faults))):
        kept = [each for each in healthy if is_kept_outright(model, each, fault)]
        some = chance.sample(kept, min(MOST, len(kept)))
        told = check_rules(Asking(model, Budget(STATES, SECONDS), (fault,)), some)
        for verdict in told.verdicts:
            SEEN[type(fault).__name__, verdict.answer] += 1
            assert verdict.answer is not Answer.BROKEN, fault


def apart(model: Model) -> Iterator[Rule]:
    """Forbid in turn that a region and a mechanism are in two of their states together."""
    for one, other in product(model.regions, model.mechanism):
        for inner, stood in product(one.states, other.states):
            both = And((InState(one.name, inner.number), InState(other.name, stood.number)))
            yield Rule(name="r", requirement=Never(condition=both))


@settings(parent=searching, max_examples=80)
@given(models(), randoms())
def test_what_never_is_beside_mechanisms_no_search_finds(model: Model, chance: Random) -> None:
    asked = (*forbidding(model), *apart(model), *model.rules)
    every = [each for each in asked if is_never_beside(model, each)]
    faults = (None, *faults_of(model))
    for fault in chance.sample(faults, min(FAULTS_A_PROP, len(faults))):
        kept = [each for each in every if is_never_beside(model, each, fault)]
        some = chance.sample(kept, min(MOST, len(kept)))
        wrong = () if fault is None else (fault,)
        with patch.object(rules, "is_kept_outright", lambda *_: False):
            told = check_rules(Asking(model, Budget(STATES, SECONDS), wrong), some)
        for verdict in told.verdicts:
            BESIDE[verdict.answer] += 1
            assert verdict.answer is not Answer.BROKEN, fault


def test_something_never_is_beside_mechanisms() -> None:
    assert BESIDE[Answer.HOLDS] > 0


@searching
@given(models())
def test_role_checks_that_are_plain_no_search_breaks(model: Model) -> None:
    names = role_checks_of(model)
    for fault in faults_of(model):
        kept = [name for name in names if is_plain_with(model, name, fault)]
        told = ask_roles(Asking(model, Budget(STATES, SECONDS), (fault,)), kept)
        for verdict in told.verdicts:
            SEEN[type(fault).__name__, verdict.answer] += 1
            assert verdict.answer is not Answer.BROKEN, (fault, verdict.name)


@pytest.mark.parametrize("kind", [Stuck, Slow, Welded])
def test_some_are_kept_so(kind: type[Fault]) -> None:
    assert SEEN[kind.__name__, Answer.HOLDS] > 0


def test_a_line_that_stays_shows_what_it_stays_at() -> None:
    for wrong in (Stuck("lid", "open"), Unplugged("lid", "open")):
        assert hears(CAROUSEL, wrong, "lid", "open")
        assert not hears(CAROUSEL, wrong, "lid", "closed")
        assert hears_news(wrong, "lid", "closed")
        assert not hears_news(wrong, "lid", "open")
        assert hears(CAROUSEL, wrong, "mark", "made")
    for wild in (Chatters("lid", longer=False), Swapped("lid", "mark")):
        assert not hears(CAROUSEL, wild, "lid", "open")
        assert not hears_news(wild, "lid", "open")


def test_a_controller_that_starts_again_knows_of_guards_and_of_what_is_not_filtered() -> None:
    for again in (Restart(), BrownOut()):
        assert hears(CAROUSEL, again, "lid", "open")
        assert hears(CAROUSEL, again, "mark", "made")
        assert not hears(CAROUSEL, again, "trigger", "pressed")
        assert not hears_news(again, "trigger", "pressed")
    assert not hears(CAROUSEL, Late(), "lid", "open")
    assert not hears(CAROUSEL, Hangs(), "mark", "made")


def test_of_three_values_no_line_but_a_whole_one_tells_enough() -> None:
    lid = input_("lid", "shut", "ajar", "open", steady=10, role=Role.GUARD, safe="shut")
    model = prop(region("r", state("a")), inputs=[lid])
    assert not hears(model, Restart(), "lid", "ajar")
    assert hears(model, Stuck("lid", "open"), "lid", "open")
    assert not hears(model, Stuck("lid", "open"), "lid", "ajar")


@pytest.mark.parametrize(
    ("fault", "is_kept"),
    [
        (Stuck("lid", "open"), True),
        (Stuck("lid", "closed"), False),
        (Stuck("trigger", "pressed"), True),
        (Chatters("lid", longer=False), False),
        (Swapped("trigger", "mark"), True),
        (Welded("drum", "forward"), False),
        (Welded("valve", "open"), True),
        (Slow("drum_position", 0), True),
        (Restart(), True),
        (BrownOut(), True),
        (Late(), False),
        (Hangs(), False),
    ],
)
def test_nothing_turns_under_a_lid_that_is_told_to_be_open(fault: Fault, is_kept: bool) -> None:
    assert is_kept_outright(CAROUSEL, RULES["nothing turns under an open lid"], fault) == is_kept
    assert is_plain_with(CAROUSEL, "guard-open-moves", fault) == (
        is_kept and fault != Welded("valve", "open")
    )


@pytest.mark.parametrize(
    ("fault", "is_kept"),
    [
        (Stuck("mark", "clear"), True),
        (Stuck("mark", "made"), False),
        (Unplugged("mark", "made"), False),
        (Chatters("mark", longer=True), False),
        (Swapped("lid", "mark"), False),
        (Chatters("lid", longer=True), True),
        (Stalls("drum_position", 0), True),
        (Slow("drum_position", 1), True),
        (Welded("drum", "stopped"), True),
        (Welded("drum", "forward"), False),
        (Welded("valve", "open"), False),
        (Backwards("drum"), True),
        (Late(), True),
        (Restart(), True),
        (BrownOut(), True),
        (Hangs(), True),
    ],
)
def test_air_comes_only_at_a_tube_that_the_drum_stands_at(fault: Fault, is_kept: bool) -> None:
    assert is_never_beside(CAROUSEL, RULES["air only at a tube"], fault) == is_kept


@pytest.mark.parametrize(
    ("fault", "is_kept"),
    [
        (Stuck("trigger", "released"), True),
        (Stuck("trigger", "pressed"), False),
        (Stuck("lid", "open"), True),
        (Stuck("lid", "closed"), False),
        (Stuck("mark", "made"), True),
        (Swapped("trigger", "mark"), False),
        (Welded("drum", "stopped"), True),
        (Welded("drum", "forward"), False),
        (Welded("lamp", "red"), True),
        (Backwards("drum"), True),
        (Restart(), False),
        (BrownOut(), False),
        (Late(), False),
        (Hangs(), True),
    ],
)
def test_no_press_that_is_told_but_a_real_one_starts_anything(fault: Fault, is_kept: bool) -> None:
    assert is_plain_with(CAROUSEL, "starts-unasked", fault) == is_kept


def test_what_goes_on_with_outputs_at_rest_may_last_while_a_controller_is_off() -> None:
    lid = input_("lid", "shut", "open", steady=10, role=Role.GUARD, safe="shut")
    dark = both(is_("lamp", "dark"), is_("lid", "open"))
    model = prop(
        region(
            "r",
            state("shines", sets={"lamp": "lit"}, leave=[way("waits", becomes("go", "pressed"))]),
            state("waits", leave=[way("shines", is_("lid", "open"))]),
        ),
        inputs=[lid, button("go")],
        outputs=[output("lamp", "dark", "lit")],
        rules={"lit": Never(condition=dark, limit=ms(30))},
    )
    (lit,) = model.rules
    assert is_kept_outright(model, lit)
    assert not is_kept_outright(model, lit, Restart())
