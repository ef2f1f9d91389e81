"""What starts by itself on random props: the checks and the plain definition do not contradict."""

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from zlib import crc32

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from behaviour.check.asking import Asking
from behaviour.check.roles.check import ask_roles
from behaviour.explore.budget import Budget
from behaviour.explore.twin import TooManyStatesError
from behaviour.findings import Answer
from behaviour.model import Model, Role
from tests.conftest import SHOWN
from tests.strategies import models
from tests.twin.by_itself import held_starts, restarts, turned_on, unheld
from tests.twin.case import Case
from tests.twin.judge import graph_of

MOST_STATES = 1_500

LEAST = 1_000

SEEN: Counter[str] = Counter()


ROLES = (Role.GUARD, Role.MODE, Role.RESET, Role.HOLD_TO_RUN, Role.STOP)


def with_roles(model: Model, seed: int) -> Model:
    """Give each input that people move a role that is asked for here."""
    forced = {n for each in model.mechanism for state in each.states for n, _ in state.reads}
    inputs = []
    for at, item in enumerate(model.inputs):
        if item.name not in forced:
            role = ROLES[(seed + 2 * at) % len(ROLES)]
            safe = item.values[seed % 2] if role in (Role.GUARD, Role.STOP) else None
            inputs.append(replace(item, role=role, safe=safe))
        else:
            inputs.append(item)
    return replace(model, inputs=tuple(inputs), rules=())


def disagreements(model: Model) -> list[str]:
    case = Case(model, graph_of(model, MOST_STATES))
    plain = {
        "guard-closing-starts": set(turned_on(case, Role.GUARD)),
        "reset-restarts": set(turned_on(case, Role.RESET, Role.STOP)),
        "mode-starts": set(turned_on(case, Role.MODE)),
        "restarts-by-itself": set(restarts(case)),
        "runs-unheld": set(unheld(case)),
    }
    wrong = []
    told = ask_roles(Asking(model, Budget(20_000, 4)), tuple(plain))
    for verdict in told.verdicts:
        expected = plain[verdict.name]
        SEEN[f"{verdict.name} {verdict.answer.value}, {'broken' if expected else 'kept'}"] += 1
        if verdict.answer is not Answer.NOT_DECIDED and (
            (verdict.answer is Answer.BROKEN) != bool(expected)
        ):
            wrong.append(f"{verdict.name}: {verdict.answer.value}, plainly {sorted(expected)}")
    return wrong


@settings(
    max_examples=max(100, (settings.default.max_examples if settings.default else 100) // 2),
    suppress_health_check=list(HealthCheck),
    deadline=None,
    derandomize=True,
)
@given(models())
def test_no_verdict_contradicts_the_plain_definition(model: Model) -> None:
    """Which input has which role hangs on the whole prop, so that each of them comes up alike."""
    try:
        assert disagreements(with_roles(model, crc32(repr(model).encode()))) == []
    except TooManyStatesError:
        return


HELD: Counter[str] = Counter()


@settings(
    max_examples=max(100, (settings.default.max_examples if settings.default else 100) // 5),
    suppress_health_check=list(HealthCheck),
    deadline=None,
    derandomize=True,
)
@given(models(), st.integers(0, 99))
def test_no_verdict_on_a_held_start_contradicts_the_plain_definition(
    model: Model, seed: int
) -> None:
    start = seed % len(model.inputs)
    inputs = (
        replace(item, role=Role.START if at == start else None, safe=None)
        for at, item in enumerate(model.inputs)
    )
    outputs = tuple(replace(each, hazard=True) for each in model.outputs)
    alone = replace(model, inputs=tuple(inputs), outputs=outputs, mechanism=(), rules=())
    try:
        expected = any(held_starts(Case(alone, graph_of(alone, MOST_STATES))))
    except TooManyStatesError:
        return
    told = ask_roles(Asking(alone, Budget(20_000, 4)), ("held-start-counts",))
    answer = told.verdicts[0].answer
    HELD[f"{answer.value}, {'broken' if expected else 'kept'}"] += 1

    assert answer is Answer.NOT_DECIDED or (answer is Answer.BROKEN) == expected


def test_what_a_held_start_does_came_up(record_property: Callable[[str, object], None]) -> None:
    """Runs after the random props: both answers must have occurred, or nothing was shown."""
    for name, times in sorted(HELD.items()):
        record_property(SHOWN, f"held-start-counts {name}: {times}")

    assert HELD["broken, broken"] > 0
    assert HELD["holds, kept"] > 0


def test_what_starts_by_itself_came_up(record_property: Callable[[str, object], None]) -> None:
    """Runs after the random props: what was compared must have occurred, or nothing was shown."""
    for name, times in sorted(SEEN.items()):
        record_property(SHOWN, f"{name}: {times}")

    broken = {name.split()[0] for name in SEEN if name.endswith("broken, broken")}
    wanted = {"guard-closing-starts", "reset-restarts", "mode-starts", "runs-unheld"}

    assert SEEN.total() >= 100
    assert SEEN.total() < LEAST or broken >= wanted
