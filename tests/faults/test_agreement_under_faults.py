"""The search and the brute-force walk agree on random props with one thing wrong."""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from behaviour.check.asking import Asking
from behaviour.check.judging import breaches
from behaviour.check.rules import check_rules
from behaviour.explore.budget import Budget
from behaviour.explore.twin import TooManyStatesError
from behaviour.faults import Fault, faults_of
from behaviour.findings import Answer, Finding
from behaviour.model import Model, Rule, WayBack
from behaviour.story import replay
from behaviour.world.circuit import Circuit
from tests.conftest import SHOWN
from tests.strategies import models, models_with_moves
from tests.twin.faulty import FaultyWalk
from tests.twin.rules import answers, rule_conditions

FAULTS_A_PROP = 2

MOST_STATES = 3_000

LEAST = 3
"""How often each verdict must occur for each kind of fault, in a whole run."""

KINDS = (
    "Stuck",
    "Unplugged",
    "Chatters",
    "Swapped",
    "Stalls",
    "Slow",
    "Backwards",
    "Welded",
    "Late",
    "Restart",
    "BrownOut",
    "Hangs",
)

ASKED: Counter[str] = Counter()
"""How often each kind of fault was put in; the rarest come next."""

SEEN: Counter[str] = Counter()


def is_way_back(rule: Rule) -> bool:
    """Tell whether a rule is about what stays possible, of which no run is the end."""
    return isinstance(rule.requirement, WayBack)


def ends(model: Model, found: Finding) -> bool:
    """Tell whether a story ends in its rule's breach by plain definition, where one story can."""
    rule = next(each for each in model.rules if each.name == found.rule)
    if found.run is None or found.run.breach is None or is_way_back(rule):
        return found.run is not None
    views = replay(model, found.run)
    return found.run.breach in breaches(model, rule.requirement, views, rule.scope)


def disagreements(model: Model, fault: Fault) -> list[str]:
    """List the rules on which the two differ; what the search leaves open is counted only.

    Each is asked twice: on all runs, and on those that read like a healthy prop.
    """
    circuit = Circuit(model, (fault,))
    walk = FaultyWalk(circuit, rule_conditions(model))
    wrong = []
    for shadowed in (False, True):
        graph = walk.graph(MOST_STATES, shadowed=shadowed)
        judged = answers(model, graph)
        asking = Asking(model, Budget(100_000, 20), (fault,), shadowed=shadowed)
        rules = [each for each in model.rules if not (shadowed and is_way_back(each))]
        told = check_rules(asking, rules)
        wrong += [
            f"{fault}: {each.rule}: no breach" for each in told.findings if not ends(model, each)
        ]
        for verdict in told.verdicts:
            answer = verdict.answer
            SEEN[f"{type(fault).__name__}{', unseen' * shadowed} {answer.value}"] += 1
            is_kept = judged[verdict.name].holds
            if answer is not Answer.NOT_DECIDED and (answer is Answer.HOLDS) != is_kept:
                wrong.append(f"{fault}{', unseen' * shadowed}: {verdict.name} {answer.value}")
    return wrong


def _plugged(model: Model) -> Model:
    """Let each input have a value that a cut wire reads."""
    inputs = (replace(item, unplugged=item.values[0]) for item in model.inputs)
    return replace(model, inputs=tuple(inputs))


@settings(
    max_examples=max(60, (settings.default.max_examples if settings.default else 60) // 5),
    suppress_health_check=list(HealthCheck),
    deadline=None,
    derandomize=True,
)
@given(models(), st.integers(0, 1_000_000))
def test_search_and_walk_agree_with_one_thing_wrong(model: Model, seed: int) -> None:
    assert_agreement(model, seed)


@settings(
    max_examples=max(15, (settings.default.max_examples if settings.default else 60) // 20),
    suppress_health_check=list(HealthCheck),
    deadline=None,
    derandomize=True,
)
@given(models_with_moves(), st.integers(0, 1_000_000))
def test_search_and_walk_agree_on_moves_with_one_thing_wrong(model: Model, seed: int) -> None:
    assert_agreement(model, seed)


def assert_agreement(model: Model, seed: int) -> None:
    """Put in a few faults of the kinds that came up least, and let both judge the prop."""
    model = _plugged(model)
    faults = list(faults_of(model))
    kinds = sorted({type(fault).__name__ for fault in faults})
    dice = Random(seed)
    dice.shuffle(kinds)
    for kind in sorted(kinds, key=lambda each: ASKED[each])[:FAULTS_A_PROP]:
        ASKED[kind] += 1
        fault = dice.choice([each for each in faults if type(each).__name__ == kind])
        try:
            assert disagreements(model, fault) == []
        except TooManyStatesError:
            continue


def test_each_kind_of_fault_came_up_often_enough(
    record_property: Callable[[str, object], None],
) -> None:
    """Runs after the random props: what was compared must have occurred, or nothing was shown."""
    for name, times in sorted(SEEN.items()):
        record_property(SHOWN, f"{name}: {times}")

    least = LEAST if SEEN.total() >= 1_000 else 0
    wanted = (f"{kind} {answer}" for kind in KINDS for answer in ("holds", "broken"))

    assert SEEN.total() >= 100
    assert {name: SEEN[name] for name in wanted if SEEN[name] < least} == {}
