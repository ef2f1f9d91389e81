"""Rules that the transitions of one region keep by themselves: no search breaks them."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import islice, product
from random import Random
from unittest.mock import patch

from hypothesis import given
from hypothesis.strategies import sampled_from

from behaviour.check import rules
from behaviour.check.asking import Asking
from behaviour.check.outright import is_kept_outright
from behaviour.check.rules import check_rules
from behaviour.explore.budget import Budget
from behaviour.findings import Answer
from behaviour.model import (
    Always,
    And,
    Becomes,
    Condition,
    InState,
    Is,
    Model,
    Never,
    Not,
    Or,
    Part,
    Region,
    Role,
    Rule,
    Transition,
    Whenever,
)
from tests.making import (
    Way,
    becomes,
    both,
    either,
    held,
    input_,
    inside,
    is_,
    is_not,
    mechanism,
    motor,
    moves,
    ms,
    no,
    output,
    prop,
    region,
    stands,
    state,
    way,
)
from tests.strategies import each_once, models

STATES, SECONDS = 20_000, 30
MOST = 15
"""So many rules of each kind are searched for at most in a prop."""


def forbidding(model: Model) -> Iterator[Rule]:
    """Forbid in turn that an output is away from rest beside what inputs and mechanisms may be."""
    beside: list[Condition] = [Is(i.name, (v,)) for i in model.inputs for v in i.values]
    beside += [InState(m.name, s.number) for m in model.mechanism for s in m.states]
    for item in model.outputs:
        for each in beside:
            for limit in (None, 0, 1, 2, 4):
                condition = And((Is(item.name, (item.rest,), negated=True), each))
                time = None if limit is None else limit * model.loop
                yield Rule(name="r", requirement=Never(condition=condition, limit=time))
            yield Rule(name="r", requirement=Always(condition=Not(condition)))
    for one in model.regions:
        for item in model.outputs:
            for inner in one.states:
                where = InState(one.name, inner.number)
                both_or_none = Or((And((where, Is(item.name, (item.rest,)))), Not(where)))
                yield Rule(name="r", requirement=Always(condition=both_or_none))


def answering(model: Model) -> Iterator[Rule]:
    """Ask that regions drive so, or are there, whenever something comes where they are."""
    comes: list[Condition] = [Becomes(i.name, v) for i in model.inputs for v in i.values]
    comes += [Is(i.name, (v,)) for i in model.inputs for v in i.values]
    for one in model.regions:
        within = [InState(one.name, inner.number) for inner in one.states]
        drives = [Is(o.name, (v,)) for o in model.outputs for v in o.values]
        for when, where, to in product(comes, within, [*within, *drives]):
            either_way = Or((to, Is(model.inputs[0].name, model.inputs[0].values[:1])))
            for then, limit in product((to, either_way), (None, 3 * model.loop)):
                asked = Whenever(trigger=And((when, where)), response=then, limit=limit)
                yield Rule(name="r", requirement=asked)


def some_kept(model: Model, rules: Iterable[Rule]) -> Iterator[Rule]:
    """Give a few of those rules that are kept outright, from all over."""
    every = list(rules)
    mixed = Random(len(every)).sample(every, len(every))
    return islice((each for each in mixed if is_kept_outright(model, each)), MOST)


def minding(model: Model) -> Model:
    """Let each region go back to where it begins once the last input has its last value."""
    item = model.inputs[-1]
    last = Is(item.name, item.values[-1:])

    def minds(one: Region) -> Region:
        back = Transition(
            number=len(list(one.transitions())),
            part=Part.INTERLOCK,
            source=None,
            when=last,
            target=one.begins,
        )
        return replace(one, interlocks=(*one.interlocks, back))

    return replace(model, regions=tuple(map(minds, model.regions)))


@given(models().flatmap(lambda model: sampled_from((model, minding(model)))))
@each_once
def test_what_is_kept_outright_no_search_breaks(model: Model) -> None:
    some = [*some_kept(model, forbidding(model)), *some_kept(model, answering(model))]

    with patch.object(rules, "is_kept_outright", lambda *_: False):
        told = check_rules(Asking(model, Budget(STATES, SECONDS)), some)

    assert not told.findings
    assert all(verdict.answer is not Answer.BROKEN for verdict in told.verdicts)


LID = input_("lid", "shut", "open", steady=10, role=Role.GUARD, safe="shut")
TOP = input_("top", "clear", "made", steady=20)
LIFT = mechanism(
    "lift",
    stands("low", {"top": "clear"}, moves("high", 50, 90, is_("motor", "forward"))),
    stands("high", {"top": "made"}),
)
TURNS, OPEN, HIGH = is_not("motor", "stopped"), is_("lid", "open"), inside("lift", "high")


def is_kept(forbidden: Condition, time: float | None, *ways: Way, start: Condition) -> bool:
    """Tell whether a region that turns a motor, and minds some things by `ways`, keeps a rule."""
    runs = state("runs", sets={"motor": "forward"}, leave=[*ways, way("waits", after=900)])
    model = prop(
        region("r", state("waits", leave=[way("runs", start)]), runs),
        inputs=[LID, TOP, input_("go", "no", "yes")],
        outputs=[motor("motor")],
        mechanism=[LIFT],
        rules={"r": Never(condition=forbidden, limit=None if time is None else ms(time))},
    )
    return is_kept_outright(model, model.rules[0])


GO = becomes("go", "yes")
SAFELY = both(GO, is_("lid", "shut"))
AT_LID, AT_TOP = way("waits", OPEN), way("waits", is_("top", "made"))


def test_what_is_minded_at_once_is_kept() -> None:
    assert is_kept(both(TURNS, OPEN), 30, AT_LID, start=SAFELY)
    assert is_kept(both(TURNS, OPEN), None, AT_LID, start=SAFELY)
    assert is_kept(both(OPEN, inside("r", "runs")), None, AT_LID, start=SAFELY)
    assert is_kept(both(OPEN, no(is_("motor", "stopped"))), None, AT_LID, start=SAFELY)


def is_answered(
    then: Condition, start: Condition = GO, time: float | None = 100, trigger: Condition = GO
) -> bool:
    """Tell whether a region that minds a lid surely answers what comes where it waits."""
    model = prop(
        region(
            "r",
            state("waits", leave=[way("runs", start)]),
            state("runs", sets={"motor": "forward"}, leave=[way("waits", after=900)]),
            state("off", leave=[way("waits", is_("lid", "shut"))]),
            interlocks=[way("off", OPEN)],
        ),
        inputs=[LID, TOP, input_("go", "no", "yes")],
        outputs=[motor("motor")],
        rules={
            "r": Whenever(
                trigger=both(trigger, inside("r", "waits")),
                response=then,
                limit=None if time is None else ms(time),
            )
        },
    )
    return is_kept_outright(model, model.rules[0])


def test_what_answers_in_the_same_loop_is_kept() -> None:
    assert is_answered(either(TURNS, OPEN))
    assert is_answered(either(TURNS, OPEN), time=None)
    assert is_answered(either(TURNS, inside("r", "off")))
    assert is_answered(no(inside("r", "waits")))
    assert is_answered(inside("r", "off"), trigger=OPEN)


def test_what_may_answer_later_or_not_at_all_is_left_to_a_search() -> None:
    assert not is_answered(TURNS)
    assert not is_answered(either(TURNS, OPEN), start=both(GO, is_("top", "made")))
    assert not is_answered(either(TURNS, OPEN), start=becomes("go", "no"))
    assert not is_answered(either(TURNS, OPEN), start=held("go", "yes", 20))


def test_what_is_so_at_power_up_is_answered_then_or_left_to_a_search() -> None:
    pressed = is_("go", "yes")
    assert not is_answered(either(TURNS, OPEN), trigger=pressed, start=pressed)


def test_news_that_comes_too_late_is_left_to_a_search() -> None:
    assert is_answered(either(TURNS, OPEN), time=10)
    assert not is_answered(either(TURNS, OPEN), time=0)


def test_where_a_guard_is_presumed_not_safe_no_more_it_is_told_as_it_is() -> None:
    """Where the lid is not minded the region may wait while it is still presumed to be open."""
    minded = both(GO, is_("lid", "shut"))
    assert is_answered(either(TURNS, OPEN), start=minded)

    model = prop(
        region(
            "r",
            state("waits", leave=[way("runs", minded)]),
            state("runs", sets={"motor": "forward"}),
        ),
        inputs=[LID, input_("go", "no", "yes")],
        outputs=[motor("motor")],
        rules={"r": Whenever(trigger=both(GO, inside("r", "waits")), response=either(TURNS, OPEN))},
    )
    assert not is_kept_outright(model, model.rules[0])


def test_what_holds_wherever_a_region_is_holds_at_all_times() -> None:
    model = prop(
        region("r", state("a"), state("b", sets={"motor": "forward", "lamp": "lit"})),
        outputs=[motor("motor"), output("lamp", "dark", "lit")],
        rules={
            "lit": Always(condition=either(is_("motor", "stopped"), is_("lamp", "lit"))),
            "dark": Always(condition=either(is_("motor", "stopped"), is_("lamp", "dark"))),
        },
    )

    assert [is_kept_outright(model, rule) for rule in model.rules] == [True, False]


def test_a_start_that_does_not_mind_is_over_in_the_next_loop() -> None:
    assert is_kept(both(TURNS, OPEN), 30, AT_LID, start=GO)
    assert not is_kept(both(TURNS, OPEN), None, AT_LID, start=GO)


def test_what_is_minded_late_or_not_at_all_is_left_to_a_search() -> None:
    for late in (way("waits", OPEN, after=10), way("waits", held("lid", "open", 20))):
        assert not is_kept(both(TURNS, OPEN), 100, late, start=SAFELY)
    assert not is_kept(both(TURNS, OPEN), 100, start=SAFELY)
    assert not is_kept(either(TURNS, OPEN), 100, AT_LID, start=SAFELY)
    assert not is_kept(both(TURNS, is_("lid", "shut")), 100, AT_LID, start=SAFELY)


def test_sensing_that_takes_longer_than_is_allowed_is_left_to_a_search() -> None:
    assert is_kept(both(TURNS, OPEN), 20, AT_LID, start=SAFELY)
    assert not is_kept(both(TURNS, OPEN), 10, AT_LID, start=SAFELY)


def test_what_a_mechanism_forces_is_told_after_its_filter() -> None:
    assert is_kept(both(TURNS, HIGH), 20, AT_TOP, start=GO)
    assert not is_kept(both(TURNS, HIGH), 10, AT_TOP, start=GO)
    assert not is_kept(both(TURNS, HIGH), None, AT_TOP, start=GO)
    assert not is_kept(both(TURNS, no(HIGH)), 20, AT_TOP, start=GO)


def test_a_guard_that_is_safe_may_be_presumed_not_to_be() -> None:
    closed = both(TURNS, is_("lid", "shut"))

    assert not is_kept(closed, 100, way("waits", is_("lid", "shut")), start=GO)
    assert is_kept(closed, 300, way("waits", either(OPEN, is_("lid", "shut"))), start=GO)
