"""The search and the brute-force twin agree on random props, and every story replays.

The twin walks loop by loop with `step` itself, and `tests/twin/judge.py` reads the verdicts off its
graph by plain definition. What the search does not decide it must say so, and is counted apart.
"""

from collections import Counter
from collections.abc import Callable

from hypothesis import HealthCheck, given, settings

from behaviour.check.asking import Asking
from behaviour.check.run import ask
from behaviour.check.verdicts import Told
from behaviour.explore.budget import Budget
from behaviour.explore.twin import TooManyStatesError
from behaviour.findings import Answer, Severity
from behaviour.model import Model, Rule, Whenever
from tests.conftest import SHOWN
from tests.strategies import different_models
from tests.twin.judge import Judgement, graph_of, judge

LEAST = 20
"""How often each verdict must occur in 500 props."""

MOST_STATES = 5_000

SEEN: Counter[str] = Counter()
"""How often each verdict was given by both, for what."""


RULES = (
    "Never", "Always", "AtMost", "AtLeast", "Whenever", "Whenever some day", "First", "Count",
    "Rate", "WayBack", "only while", "once begun", "up to",
)  # fmt: skip
"""The kinds of rules, and all that have a scope of each kind."""


COMPARED = (
    "dead-end",
    "no-way-back",
    "runaway",
    "self-running",
    "moves-at-power-up",
    "reverses-at-once",
    "out-of-range",
    "deaf",
    "never-reached",
    "never-taken",
    "order-matters",
    "false-jam",
    "too-quick",
    "blink-missed",
    "guard-open-moves",
    "stop-is-beaten",
    "starts-unasked",
    "slow-stop-filter",
    "unanswered",
    "unfiltered-edge",
    "broken-wire-reads-safe",
    "wiring-contradicts",
    "unguarded",
    "looks-alike",
)

EXPECTED = (
    *(f"{kind} {answer}" for kind in RULES for answer in ("holds", "broken")),
    *(f"{name} {answer}" for name in COMPARED for answer in ("holds", "broken")),
)


def disagreements(model: Model, judged: Judgement) -> tuple[list[str], Counter[str]]:
    """List what the search says otherwise than the twin, and count its verdicts.

    Undecided verdicts are counted only.
    """
    rules, families = ask(Asking(model, Budget(100_000, 20)))
    wrong: list[str] = []
    seen: Counter[str] = Counter()
    for verdict in rules.verdicts:
        kind, *scope = kinds_of(next(r for r in model.rules if r.name == verdict.name))
        for each in (kind, *scope):
            seen[f"{each} {verdict.answer.value}"] += 1
        if verdict.answer is Answer.NOT_DECIDED:
            continue
        if (verdict.answer is Answer.HOLDS) != judged.rules[verdict.name]:
            wrong.append(f"rule {verdict.name} ({kind}): {verdict.answer.value}")
    answers = {verdict.name: verdict for told in families for verdict in told.verdicts}
    for name in COMPARED:
        verdict = answers[name]
        seen[f"{name} {verdict.answer.value}"] += 1
        if verdict.answer is Answer.NOT_DECIDED:
            continue
        mine, theirs = subjects(families, name), set(judged.found[name])
        if name == "never-reached":
            theirs = {cue for cue in theirs if "@" in str(cue)} | outermost(model, theirs)
        if mine != theirs and not (verdict.why and mine < theirs):
            wrong.append(f"{name}: the search {sorted(mine)}, the twin {sorted(theirs)}")
    return wrong, seen


def kinds_of(rule: Rule) -> list[str]:
    """Name the kind of a rule, and that of its scope if it has one."""
    some_day = isinstance(rule.requirement, Whenever) and rule.requirement.limit is None
    kind = type(rule.requirement).__name__ + (" some day" if some_day else "")
    return [kind] if rule.scope is None else [kind, rule.scope.kind.value]


def outermost(model: Model, states: set[object]) -> set[object]:
    """Leave out states in a state that no run enters either: they are not told again."""
    return {
        (region.name, state.name)
        for region in model.regions
        for state in region.states
        if (region.name, state.name) in states
        and (state.parent is None or (region.name, region.states[state.parent].name) not in states)
    }


def subjects(families: list[Told], name: str) -> set[object]:
    """Collect what the findings of a name are about, in the judge's terms."""
    found: set[object] = set()
    for each in (each for told in families for each in told.findings):
        if each.kind.name != name or (each.severity is Severity.NOTE and "never" in name):
            continue
        if name == "never-reached":
            found.add(each.subject or each.place)
        elif name in ("dead-end", "deaf", "unanswered", "looks-alike"):
            found.add(each.place)
        elif name in ("never-taken", "order-matters", "false-jam"):
            found.add(each.subject)
        elif name in ("blink-missed", "unfiltered-edge"):
            found.add(tuple(str(part) for part in each.subject))
        elif name in ("no-way-back", "self-running"):
            found.add(each.place[0] if each.place else None)
        elif name == "guard-open-moves":
            found.add(tuple(each.message.split("`")[1::2]))
        else:
            found.add(each.message.split("`")[1])
    return found


def assert_agreement(model: Model) -> Counter[str]:
    """Let both judge a prop, if it is small enough for the twin, and count the verdicts."""
    try:
        graph = graph_of(model, MOST_STATES)
    except TooManyStatesError:
        return Counter()

    wrong, seen = disagreements(model, judge(model, graph))
    assert wrong == []
    return seen


DIFFERENT: set[int] = set()
"""What tells the props apart that were compared."""

TRIED = settings.default.max_examples if settings.default else 0

PROPS = max(100, TRIED + min(TRIED, 500))
"""With as many other props these are 2,000 at each change, and 11,000 with `--long`."""


@settings(
    max_examples=PROPS,
    suppress_health_check=list(HealthCheck),
    deadline=None,
    derandomize=True,
)
@given(different_models())
def test_search_and_twin_agree(model: Model) -> None:
    DIFFERENT.add(hash(model))
    SEEN.update(assert_agreement(model))


def test_each_verdict_and_finding_came_up_often_enough(
    record_property: Callable[[str, object], None],
) -> None:
    """Runs after the random props: what was compared must have occurred, or nothing was shown."""
    record_property(SHOWN, f"different props: {len(DIFFERENT)}")
    compared = sum(times for name, times in SEEN.items() if name.startswith("dead-end "))
    record_property(SHOWN, f"small enough for the twin: {compared}")
    for name, times in sorted(SEEN.items()):
        record_property(SHOWN, f"{name}: {times}")

    least = LEAST if SEEN.total() >= 500 * len(COMPARED) else 0
    rare = {name: SEEN[name] for name in EXPECTED if SEEN[name] < least}

    assert rare == {}
