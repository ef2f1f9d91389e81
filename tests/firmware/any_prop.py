"""Any small prop, by Hypothesis: what the language allows, with no thought for sense."""

from dataclasses import dataclass

from hypothesis import strategies as st

from behaviour.model import Action, Comparison, Condition, Input, Model, Output, Role
from tests.making import (
    Way,
    Written,
    add,
    becomes,
    both,
    count,
    counter,
    either,
    held,
    input_,
    inside,
    is_,
    is_not,
    no,
    not_inside,
    output,
    prop,
    put,
    region,
    state,
    take,
    way,
)

TIMES = st.sampled_from([0, 7, 10, 20, 35, 50, 120])
VALUES = ("low", "mid", "top")
SIGNS: tuple[Comparison, ...] = ("=", "!=", "<", "<=", ">", ">=")


@dataclass(frozen=True)
class Plan:
    """What a prop has before its states are drawn: names that conditions may speak of."""

    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    states: dict[str, tuple[str, ...]]
    has_counter: bool


@st.composite
def any_prop(draw: st.DrawFn) -> Model:
    """Draw a prop of one to three regions of up to six states, nested up to three deep."""
    regions = [f"r{number}" for number in range(draw(st.integers(1, 3)))]
    plan = Plan(
        inputs=tuple(draw(_input(f"i{number}")) for number in range(draw(st.integers(1, 3)))),
        outputs=tuple(
            output(f"o{number}", *VALUES, keeps=draw(st.booleans()))
            for number in range(draw(st.integers(0, 3)))
        ),
        states={
            name: tuple(f"s{number}" for number in range(draw(st.integers(1, 6))))
            for name in regions
        },
        has_counter=draw(st.booleans()),
    )
    return prop(
        *(
            region(
                name,
                *draw(_states(plan, name, plan.states[name])),
                interlocks=draw(_interlocks(plan, name)),
            )
            for name in regions
        ),
        inputs=plan.inputs,
        outputs=plan.outputs,
        counters=[counter("n", -1, 3)] if plan.has_counter else [],
    )


@st.composite
def _input(draw: st.DrawFn, name: str) -> Input:
    values = VALUES[: draw(st.integers(2, 3))]
    steady = {value: draw(TIMES) for value in values}
    role = draw(st.sampled_from([None, None, Role.GUARD, Role.START]))
    safe = draw(st.sampled_from(values)) if role is Role.GUARD else None
    return input_(name, *values, steady=steady, role=role, safe=safe)


@st.composite
def _states(draw: st.DrawFn, plan: Plan, owner: str, names: tuple[str, ...]) -> list[Written]:
    """Share names out to states in a row; a state with names left over has states inside."""
    found = []
    left = list(names)
    while left:
        name = left.pop(0)
        inside_it = draw(st.integers(0, len(left))) if draw(st.booleans()) else 0
        inner, left = left[:inside_it], left[inside_it:]
        found.append(draw(_state(plan, owner, name, tuple(inner))))
    return found


@st.composite
def _state(draw: st.DrawFn, plan: Plan, owner: str, name: str, inner: tuple[str, ...]) -> Written:
    times = [] if inner else sorted(draw(st.lists(TIMES, max_size=3)))
    has_end = bool(times) and draw(st.booleans())
    return state(
        name,
        *draw(_states(plan, owner, inner)),
        sets=draw(_sets(plan, owner)),
        leave=draw(st.lists(_way(plan, owner), max_size=3)),
        interlocks=draw(_interlocks(plan, owner)) if draw(st.booleans()) else [],
        cues=[
            (time, {} if has_end and at == len(times) else draw(_sets(plan, owner)))
            for at, time in enumerate(times, 1)
        ],
        end=draw(_end(plan, owner)) if has_end else None,
        lockout=draw(st.integers(0, 9)) == 0,
    )


@st.composite
def _sets(draw: st.DrawFn, plan: Plan, owner: str) -> dict[str, str]:
    """Let a region set the outputs that it owns: each region the one of its own number."""
    own = [item.name for item in plan.outputs if item.name[1:] == owner[1:]]
    return {name: draw(st.sampled_from(VALUES)) for name in own if draw(st.booleans())}


@st.composite
def _interlocks(draw: st.DrawFn, plan: Plan, owner: str) -> list[Way]:
    return [
        way(
            draw(st.sampled_from(plan.states[owner])),
            draw(_condition(plan)),
            do=draw(_do(plan, owner)),
        )
        for _ in range(draw(st.integers(0, 2)))
    ]


@st.composite
def _way(draw: st.DrawFn, plan: Plan, owner: str) -> Way:
    when = draw(st.none() | _condition(plan))
    after = draw(st.none() | TIMES | st.tuples(TIMES, TIMES).map(_window))
    go = draw(st.sampled_from(["stay", *plan.states[owner], *plan.states[owner]]))
    return way(go, when, after=after, do=draw(_do(plan, owner)))


@st.composite
def _end(draw: st.DrawFn, plan: Plan, owner: str) -> Way:
    return way(draw(st.sampled_from(["stay", *plan.states[owner]])), do=draw(_do(plan, owner)))


def _window(times: tuple[int, int]) -> tuple[int, int]:
    return min(times), max(times)


@st.composite
def _do(draw: st.DrawFn, plan: Plan, owner: str) -> list[Action]:
    if not plan.has_counter or owner != "r0":
        return []
    actions = [add("n"), take("n"), put("n", 2), add("n", 3), take("n", 9)]
    return draw(st.lists(st.sampled_from(actions), max_size=2))


def _condition(plan: Plan) -> st.SearchStrategy[Condition]:
    """Draw a condition of at most a few atoms, mixed in brackets."""
    return st.recursive(
        _atom(plan),
        lambda part: st.one_of(
            st.lists(part, min_size=2, max_size=3).map(lambda parts: both(*parts)),
            st.lists(part, min_size=2, max_size=3).map(lambda parts: either(*parts)),
            _atom(plan).filter(lambda atom: not hasattr(atom, "time")).map(no),
        ),
        max_leaves=4,
    )


@st.composite
def _atom(draw: st.DrawFn, plan: Plan) -> Condition:
    item = draw(st.sampled_from(plan.inputs))
    value = draw(st.sampled_from(item.values))
    kind = draw(st.integers(0, 5))
    if kind == 4 and plan.has_counter:
        sign: Comparison = draw(st.sampled_from(SIGNS))
        return count("n", sign, draw(st.integers(-2, 4)))
    if kind == 5:
        other = draw(st.sampled_from(sorted(plan.states)))
        make = draw(st.sampled_from((inside, not_inside)))
        return make(other, draw(st.sampled_from(plan.states[other])))
    if kind == 1:
        return becomes(item.name, value)
    if kind == 2:
        return held(item.name, value, draw(TIMES))
    if kind == 3:
        return is_not(item.name, value)
    others = draw(st.lists(st.sampled_from(item.values), unique=True, min_size=1))
    return is_(item.name, *others)
