"""Inputs opened only as far as somebody looks: the same as every combination of changes apart."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from behaviour.explore.guards import FAILS, HOLDS, Seen, atoms
from behaviour.explore.opened import Change, Choices, Masks, Opened, Reading, Undecided, forks, met
from behaviour.explore.sight import Scene, Sight
from behaviour.model import And, Becomes, HeldFor, Is, Not, Or
from tests.making import LOOP, both, button, count, counter, either, held, is_, no, prop

VALUES = ("released", "pressed")
NAMES = ("a", "b", "c")
MODEL = prop(inputs=[button(name) for name in NAMES])


# --- Conditions and changes at random -----------------------------------------------------------


@st.composite
def seen_at(draw: st.DrawFn, number: int) -> Seen:
    """Draw how an input is seen: just come, there for a while, there for good, or loose."""
    value = draw(st.sampled_from(VALUES))
    match draw(st.integers(0, 3)):
        case 0:
            return Seen(value, became=True)
        case 1:
            return Seen(value, settled=True)
        case since:
            return Seen(value, since=("since", number, 0), is_loose=since == 3)


@st.composite
def choices(draw: st.DrawFn, number: int) -> Choices:
    changes = []
    for _ in range(draw(st.integers(1, 5))):
        told, truly = draw(seen_at(number)), draw(seen_at(number))
        changes.append(Change(Reading(told.value, truly.value), told, truly, truly.value))
    return Choices(MODEL, tuple(changes))


names = st.sampled_from(NAMES)
values = st.sampled_from(VALUES)
plain = st.one_of(
    st.builds(lambda n, v, negated: Is(n, (v,), negated), names, values, st.booleans()),
    st.builds(Becomes, names, values),
)
lasting = st.builds(HeldFor, names, values, st.sampled_from([0, LOOP, 3 * LOOP]))


def joined(parts):
    several = st.lists(parts, min_size=1, max_size=3).map(tuple)
    return st.one_of(st.builds(And, several), st.builds(Or, several))


without_time = st.recursive(
    plain, lambda parts: joined(parts) | st.builds(Not, parts), max_leaves=4
)
conditions = st.recursive(
    st.one_of(plain, lasting, st.builds(Not, without_time)), joined, max_leaves=6
)
inputs = st.tuples(*(choices(number) for number in range(len(NAMES))))


def sight(opened: Opened, *, truly: bool = False) -> Sight:
    return Sight(Scene(MODEL, (), ()), opened, truly)


def one_by_one(several: tuple[Choices, ...]) -> list[Masks]:
    return list(product(*([1 << n for n in range(len(each.changes))] for each in several)))


def lies_in(one: Masks, masks: Masks) -> bool:
    return met(one, masks) == one


# --- Judging ------------------------------------------------------------------------------------


@given(inputs, conditions, st.booleans())
def test_parts_are_judged_as_each_of_their_combinations_is_alone(several, condition, truly):
    every = tuple(each.every for each in several)

    parts = list(
        forks(every, lambda masks: sight(Opened(several, masks), truly=truly).judge(condition))
    )

    for one in one_by_one(several):
        found = [guard for masks, guard in parts if lies_in(one, masks)]
        assert found == [sight(Opened(several, one), truly=truly).judge(condition)]


@given(inputs, st.lists(conditions, max_size=3), st.booleans())
def test_several_that_look_in_turn_see_what_each_combination_shows(several, wanted, truly):
    def look(masks):
        here = sight(Opened(several, masks), truly=truly)
        return [here.judge(each) for each in wanted]

    parts = list(forks(tuple(each.every for each in several), look))

    for one in one_by_one(several):
        assert [found for masks, found in parts if lies_in(one, masks)] == [look(one)]


@given(inputs, st.integers(0, 2), st.booleans())
def test_a_look_at_a_whole_input_tells_all_apart_that_it_can_be_seen_as(several, number, truly):
    def look(masks):
        return sight(Opened(several, masks), truly=truly).look(number)

    parts = list(forks(tuple(each.every for each in several), look))

    changes = several[number].changes
    assert len(parts) == len({each.truly if truly else each.seen for each in changes})
    for one in one_by_one(several):
        assert [found for masks, found in parts if lies_in(one, masks)] == [look(one)]


@given(inputs, conditions)
def test_an_input_that_a_condition_does_not_name_stays_whole(several, condition):
    every = tuple(each.every for each in several)
    named = {atom.name for atom in atoms(condition)}

    parts = forks(every, lambda masks: sight(Opened(several, masks)).judge(condition))

    for masks, _ in parts:
        for number, name in enumerate(NAMES):
            assert name in named or masks[number] == every[number]


# --- By hand ------------------------------------------------------------------------------------


def change(value: str, *, came: bool = False) -> Change:
    seen = Seen(value, became=True) if came else Seen(value, since=("since", 0, 0))
    return Change(Reading(value, value), seen, seen, value)


FOUR = Choices(
    MODEL,
    tuple(change(value, came=came) for value in VALUES for came in (False, True)),
)


def judged(condition, *several):
    opened = tuple(several)
    every = tuple(0 if each is None else each.every for each in opened)
    return list(forks(every, lambda masks: sight(Opened(opened, masks)).judge(condition)))


def test_a_value_splits_an_input_in_two_and_a_change_to_it_splits_off_one():
    assert judged(is_("a", "pressed"), FOUR) == [((0b0011,), FAILS), ((0b1100,), HOLDS)]
    assert judged(Becomes("a", "pressed"), FOUR) == [((0b0111,), FAILS), ((0b1000,), HOLDS)]


def test_a_time_holds_from_a_reading_of_its_clock_on():
    later = ((("since", 0, 0), 3),)

    assert judged(held("a", "pressed", 30), FOUR) == [((0b1011,), FAILS), ((0b0100,), (later,))]


def test_nobody_looks_at_a_second_part_where_the_first_has_decided():
    first_fails = both(is_("a", "pressed"), is_("b", "pressed"))

    assert judged(first_fails, FOUR, FOUR) == [
        ((0b0011, 0b1111), FAILS),
        ((0b1100, 0b0011), FAILS),
        ((0b1100, 0b1100), HOLDS),
    ]


def test_what_is_decided_without_an_input_leaves_it_open():
    opened = Opened((FOUR,), (0b1111,))
    here = sight(opened)

    with pytest.raises(Undecided) as split:
        here.judge(is_("a", "pressed"))
    assert split.value.number == 0
    assert split.value.apart((0b1111,)) == [(0b0011,), (0b1100,)]
    assert here.judge(either(no(both()), is_("a", *VALUES))) == HOLDS
    assert opened.is_open(0)


def test_an_or_holds_by_one_part_though_another_is_undecided():
    opened = Opened((FOUR, FOUR), (0b1111, 0b1100))

    assert sight(opened).judge(either(is_("a", "pressed"), is_("b", "pressed"))) == HOLDS
    assert sight(opened).judge(both(is_("a", "pressed"), is_("b", "released"))) == FAILS


def test_a_counter_is_judged_as_it_stands():
    model = prop(counters=[counter("shots", 0, 3)])
    here = Sight(Scene(model, (2,), ()), Opened((), ()), truly=False)

    assert here.judge(count("shots", ">", 1)) == HOLDS
    assert here.judge(count("shots", "=", 1)) == FAILS


def test_what_is_left_of_an_input_is_told():
    opened = Opened((FOUR, None, FOUR), (0b1010, 0, 0b1111))

    assert [each.seen.value for each in opened.left(0)] == ["released", "pressed"]
    assert opened.has_come(0)
    assert not opened.has_come(2)
    assert (opened.may_be(0, "pressed"), opened.may_be(1, "pressed")) == (True, True)
    assert (opened.is_open(0), opened.is_open(1), opened.is_open(2)) == (False, True, True)
    assert opened.raw() == ("released", None, "released")
    assert opened.look(1, truly=False) is None


def test_masks_meet_where_each_input_has_something_left():
    assert met((0b11, 0b10), (0b01, 0b11)) == (0b01, 0b10)
    assert met((0b11, 0b10), (0b01, 0b01)) is None
