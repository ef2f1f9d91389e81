"""Rules on order, number, least time, and what must come some day: known verdicts on small props.

The verdicts follow from the page on rules; each is asked of the twin and of the search.
"""

import pytest

from behaviour.check.asking import Asking
from behaviour.check.rules import check_rules
from behaviour.explore.budget import Budget
from behaviour.model import (
    And,
    AtLeast,
    Condition,
    Count,
    First,
    Is,
    Model,
    Never,
    Not,
    Or,
    Rate,
    Requirement,
    Rule,
    Scope,
    ScopeKind,
    Whenever,
)
from tests.making import becomes, input_, ms, output, prop, region, state, way
from tests.twin.judge import graph_of, judge

X = input_("x", "off", "on")
LIT, DARK = Is("lamp", ("lit",)), Is("lamp", ("dark",))
ON, OFF = Is("x", ("on",)), Is("x", ("off",))
COMES, GOES = becomes("x", "on"), becomes("x", "off")
NEVER: Condition = Or(())


def flash(loops: int, rule: Requirement, scope: Scope | None = None) -> Model:
    """A lamp that is lit for so many loops each time x becomes on, then dark for 2 at least."""
    made = prop(
        region(
            "r",
            state("a", leave=[way("b", when=becomes("x", "on"))]),
            state("b", sets={"lamp": "lit"}, leave=[way("c", after=10 * loops)]),
            state("c", leave=[way("a", after=20)]),
        ),
        inputs=[X],
        outputs=[output("lamp", "dark", "lit")],
    )
    return Model(
        prop=made.prop,
        loop=made.loop,
        regions=made.regions,
        inputs=made.inputs,
        outputs=made.outputs,
        rules=(Rule(name="it", requirement=rule, scope=scope),),
    )


def verdict(model: Model) -> str:
    """What both the twin and the search say."""
    twin = "holds" if judge(model, graph_of(model)).rules["it"] else "broken"
    (mine,) = check_rules(Asking(model, Budget(100_000, 60))).verdicts
    assert mine.answer.value == twin
    return twin


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        (AtLeast(condition=LIT, limit=ms(30)), "holds"),
        (AtLeast(condition=LIT, limit=ms(40)), "broken"),
        (First(condition=ON, before=LIT), "holds"),
        (First(condition=LIT, before=ON), "broken"),
        (First(condition=OFF, before=LIT, since=LIT), "broken"),
        (First(condition=LIT, before=DARK, since=ON), "broken"),
        (First(condition=LIT, before=DARK), "broken"),
        (First(condition=OFF, before=DARK, since=LIT), "broken"),
        (Count(condition=LIT, most=2), "broken"),
        (Count(condition=LIT, most=1, since=ON), "holds"),
        (Count(condition=LIT, most=0, since=ON), "broken"),
        (Count(condition=LIT, most=1, since=COMES), "holds"),
        (Count(condition=LIT, most=0, since=COMES), "broken"),
        (Count(condition=COMES, most=2, since=LIT), "broken"),
        (Count(condition=COMES, most=1, since=COMES), "holds"),
        (Count(condition=COMES, most=0, since=COMES), "broken"),
        (Count(condition=COMES, most=1, since=OFF), "holds"),
        (Count(condition=And((ON, COMES)), most=1), "broken"),
        (Count(condition=Or((COMES, GOES)), most=1, since=DARK), "broken"),
        (First(condition=COMES, before=LIT, since=DARK), "holds"),
        (First(condition=COMES, before=DARK, since=LIT), "holds"),
        (First(condition=GOES, before=DARK, since=COMES), "broken"),
        (First(condition=ON, before=GOES, since=COMES), "holds"),
        (Rate(condition=LIT, most=1, limit=ms(60)), "holds"),
        (Rate(condition=LIT, most=1, limit=ms(70)), "broken"),
        (Rate(condition=LIT, most=2, limit=ms(120)), "holds"),
        (Rate(condition=LIT, most=2, limit=ms(130)), "broken"),
        (Rate(condition=LIT, most=0, limit=ms(10)), "broken"),
        (Rate(condition=LIT, most=0, limit=ms(0)), "holds"),
        (Whenever(trigger=LIT, response=DARK), "holds"),
        (Whenever(trigger=DARK, response=LIT), "broken"),
        (Whenever(trigger=ON, response=OFF), "broken"),
        (Whenever(trigger=LIT, response=OFF), "broken"),
    ],
)
def test_a_rule_without_a_scope(rule: Requirement, said: str) -> None:
    assert verdict(flash(3, rule)) == said


@pytest.mark.parametrize(
    ("rule", "kind", "condition", "said"),
    [
        (Never(condition=LIT), ScopeKind.UP_TO, ON, "holds"),
        (Never(condition=LIT), ScopeKind.UP_TO, LIT, "holds"),
        (Never(condition=LIT), ScopeKind.ONCE_BEGUN, ON, "broken"),
        (Never(condition=LIT), ScopeKind.ONLY_WHILE, DARK, "holds"),
        (Never(condition=LIT), ScopeKind.ONLY_WHILE, OFF, "broken"),
        (Count(condition=LIT, most=1), ScopeKind.ONLY_WHILE, LIT, "holds"),
        (Count(condition=LIT, most=0), ScopeKind.ONLY_WHILE, LIT, "broken"),
        (AtLeast(condition=ON, limit=ms(20)), ScopeKind.ONLY_WHILE, ON, "holds"),
        (Whenever(trigger=ON, response=OFF), ScopeKind.ONLY_WHILE, LIT, "holds"),
        (Whenever(trigger=ON, response=OFF), ScopeKind.ONCE_BEGUN, LIT, "broken"),
        (Never(condition=Not(NEVER)), ScopeKind.UP_TO, Not(NEVER), "holds"),
    ],
)
def test_a_rule_with_a_scope(
    rule: Requirement, kind: ScopeKind, condition: Condition, said: str
) -> None:
    assert verdict(flash(3, rule, Scope(kind=kind, condition=condition))) == said


def test_what_is_never_answered_is_told_as_a_run_that_goes_round() -> None:
    model = flash(3, Whenever(trigger=DARK, response=LIT))

    told = check_rules(Asking(model, Budget(100_000, 60)))

    (found,) = told.findings
    assert found.run is not None
    assert found.run.repeats_from is not None
    assert found.run.breach is None
