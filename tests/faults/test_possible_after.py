"""What stays possible from wherever one thing going wrong leaves a prop: random props."""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from behaviour.check.asking import Asking
from behaviour.check.felt import stays_read
from behaviour.check.rules import check_rules
from behaviour.check.staying import AFTER
from behaviour.explore.budget import Budget
from behaviour.explore.twin import TooManyStatesError
from behaviour.faults import Fault, faults_of
from behaviour.model import InState, Model, Rule, WayBack
from behaviour.world.circuit import Circuit
from tests.conftest import SHOWN
from tests.explore.test_holding import leaves
from tests.strategies import different_models
from tests.twin.faulty import FaultyWalk
from tests.twin.rules import answers, rule_conditions

MOST_STATES = 3_000

FAULTS_A_PROP = 3

SEEN: Counter[str] = Counter()
"""How often it was shown with each kind of fault."""


def is_shown(model: Model, fault: Fault) -> bool:
    """Tell whether a rule is shown from wherever the fault leaves the prop."""
    asking = Asking(model, Budget(100_000, 20), (fault,))
    check_rules(asking, model.rules)
    return any(shown for key, shown in asking.common.known.items() if AFTER in str(key))


def plugged(model: Model) -> Model:
    """Let each input have a value that a cut wire reads."""
    inputs = tuple(replace(item, unplugged=item.values[0]) for item in model.inputs)
    return replace(model, inputs=inputs, watchdog=model.watchdog or 3 * model.loop)


@settings(deadline=None)
@given(different_models(), st.integers(0, 1_000_000))
def test_what_is_shown_to_stay_possible_is(model: Model, seed: int) -> None:
    model, dice = plugged(model), Random(seed)
    faults = [each for each in faults_of(model) if stays_read(model, (each,), ()) is not None]
    region, leaf = dice.choice(list(leaves(model)))
    home = InState(region, leaf)
    asked = replace(model, rules=(Rule(name="back", requirement=WayBack(condition=home)),))

    for fault in dice.sample(faults, min(FAULTS_A_PROP, len(faults))):
        if is_shown(asked, fault):
            walk = FaultyWalk(Circuit(asked, (fault,)), rule_conditions(asked))
            try:
                graph = walk.graph(MOST_STATES)
            except TooManyStatesError:
                continue
            SEEN[type(fault).__name__] += 1
            assert answers(asked, graph)["back"].holds, (fault, home)


def test_it_was_shown_with_faults_of_each_kind(
    record_property: Callable[[str, object], None],
) -> None:
    """Runs after the random props: what was compared must have occurred, or nothing was shown."""
    for name, times in sorted(SEEN.items()):
        record_property(SHOWN, f"{name}: {times}")

    least = 1 if SEEN.total() >= 100 else 0
    kinds = ("Stuck", "Unplugged", "Chatters", "Stalls", "Slow", "Late", "Restart", "Hangs")

    assert SEEN.total() >= 10
    assert {kind: SEEN[kind] for kind in kinds if SEEN[kind] < least} == {}
