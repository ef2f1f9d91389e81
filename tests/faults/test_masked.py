"""Rules that an output at fault keeps by itself, held against the search."""

from collections import Counter

from hypothesis import HealthCheck, given, settings

from behaviour.check.asking import Asking
from behaviour.check.felt import felt
from behaviour.check.masked import is_kept_by
from behaviour.check.rules import check_rules
from behaviour.explore.budget import Budget
from behaviour.faults import Backwards, Welded, faults_of
from behaviour.findings import Answer
from behaviour.model import Is, Model
from tests.reading import spec
from tests.strategies import models

CAROUSEL = spec("specs/confetti-carousel.yaml")
RULES = {rule.name: rule for rule in CAROUSEL.rules}


def test_what_must_not_move_under_an_open_lid_does_not_while_it_stays_at_rest():
    rule = RULES["nothing turns under an open lid"]

    assert is_kept_by(CAROUSEL, rule, Welded("drum", "stopped"))
    assert not is_kept_by(CAROUSEL, rule, Welded("drum", "forward"))
    assert not is_kept_by(CAROUSEL, rule, Welded("valve", "shut"))


def test_every_pull_has_its_answer_where_the_answer_is_what_stays():
    rule = RULES["every pull is answered"]

    assert is_kept_by(CAROUSEL, rule, Welded("lamp", "red"))
    assert is_kept_by(CAROUSEL, rule, Welded("valve", "open"))
    assert not is_kept_by(CAROUSEL, rule, Welded("lamp", "green"))


def test_a_motor_that_turns_the_other_way_is_felt_where_the_ways_are_told_apart():
    turned = (Backwards("drum"),)

    assert felt(CAROUSEL, turned, (Is("drum", ("stopped",)),)) == ()
    assert felt(CAROUSEL, turned, (Is("drum", ("forward",)),)) == turned
    assert felt(CAROUSEL, turned, (Is("drum", ("forward", "reverse")),)) == ()


SEEN: Counter[bool] = Counter()


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(models())
def test_what_is_kept_so_no_search_finds_broken(model: Model):
    healthy = check_rules(Asking(model, Budget(20_000, 20))).verdicts
    kept = {each.name for each in healthy if each.answer is Answer.HOLDS}
    for fault in faults_of(model):
        rules = [r for r in model.rules if r.name in kept and is_kept_by(model, r, fault)]
        told = check_rules(Asking(model, Budget(20_000, 20), (fault,)), rules)
        for verdict in told.verdicts:
            SEEN[verdict.answer is Answer.HOLDS] += 1
            assert verdict.answer is not Answer.BROKEN, (fault, verdict.name)


def test_some_rules_are_kept_so():
    assert SEEN[True] > 0
