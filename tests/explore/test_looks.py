"""Whether there may be a way: what forbids one, and how little must be followed to see it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from behaviour.explore.budget import Budget
from behaviour.explore.detail import NO_DETAIL
from behaviour.explore.guards import Limit
from behaviour.explore.legs import Leg, legs_to
from behaviour.explore.looks import Looks, may_reach
from behaviour.explore.reach import Lookout, reach
from behaviour.explore.scheduling import Blame, forbids, schedule
from behaviour.explore.search import explore
from behaviour.explore.situations import Moment, Next, Question, Situation
from behaviour.model import Model, Role
from behaviour.story import replay
from tests.making import becomes, button, held, input_, inside, is_, prop, region, state, way

FOOLED = -1


def lookout(model: Model, question: Question | None = None) -> Lookout:
    return Lookout(model, question or Question(), Budget())


def is_in(leaf: int):
    def goal(at: Situation) -> bool:
        return at.places[0].leaf == leaf

    return goal


def first_way(model: Model, leaf: int) -> list[Leg]:
    """Give the way into a leaf of the first region that no clock and no input forbids."""
    space = lookout(model).space(frozenset())
    found = explore(space, Budget(), goal=is_in(leaf)).goal
    assert found is not None
    return legs_to(space, found)


# --- How long an input is kept --------------------------------------------------------------------

EARLY = region("q", state("early", leave=[way("late", after=100)]), state("late"))


def kept(waits: float) -> Model:
    """After `waits`, with x off, r waits until x is on for 50 ms; by 100 ms q is late."""
    return prop(
        region(
            "r",
            state("a", leave=[way("b", is_("x", "off"), after=waits)]),
            state("b", leave=[way("c", held("x", "on", 50))]),
            state("c", leave=[way("d", inside("q", "early"))]),
            state("d"),
        ),
        EARLY,
        inputs=[input_("x", "off", "on")],
    )


def test_an_input_that_must_be_kept_for_too_long_is_blamed_for_that():
    blame = schedule(first_way(kept(70), 3))

    assert isinstance(blame, Blame)
    assert ("since", 0, 0) in blame.clocks
    assert not blame.follow
    assert reach(lookout(kept(70)), is_in(3)) is None


def test_an_input_that_can_be_kept_for_so_long_is_not():
    model = kept(20)

    assert not isinstance(forbids(first_way(model, 3)), Blame)
    found = reach(lookout(model), is_in(3))
    assert found is not None
    assert replay(model, found.run)[-1].state.regions[0].leaf == 3


# --- Whether an input may turn --------------------------------------------------------------------


def pressed_twice(*, watched: bool) -> Model:
    """Two presses; where it is `watched` between them nobody may let go."""
    between = [way("c", becomes("x", "pressed"))]
    if watched:
        between.insert(0, way("lost", is_("x", "released")))
    return prop(
        region(
            "r",
            state("a", leave=[way("b", becomes("x", "pressed"))]),
            state("b", leave=between),
            state("c"),
            state("lost"),
        ),
        inputs=[button("x")],
    )


def test_while_one_waits_an_input_may_turn_unseen():
    model = pressed_twice(watched=False)

    assert not isinstance(forbids(first_way(model, 2)), Blame)
    found = reach(lookout(model), is_in(2))
    assert found is not None
    assert replay(model, found.run)[-1].state.regions[0].leaf == 2
    assert may_reach(lookout(model), is_in(2)) is not None


def test_what_would_be_seen_on_the_way_cannot_be_turned():
    model = pressed_twice(watched=True)

    assert forbids(first_way(model, 2)) == Blame(follow=frozenset({0}))
    assert may_reach(lookout(model), is_in(2)) is None


# --- Guards that were told as they are ------------------------------------------------------------

SHUT = is_("lid", "shut")


@dataclass(frozen=True)
class Fooled:
    """Sees the region in its third leaf while the lid is truly shut."""

    def begin(self, number: int, moment: Moment) -> Iterator[Next]:
        return self.go_on(number, 0, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterator[Next]:
        del number, place
        is_fooled = moment.left.judge(SHUT) and moment.now.leaves[0] == 2
        yield Next(FOOLED if is_fooled else 0)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()


def lid(*, waits: bool) -> Model:
    """A lid that is open beside the third leaf; before, one `waits` until it is told to be shut."""
    first = way("b", is_("lid", "shut")) if waits else way("b", becomes("go", "pressed"))
    guard = input_(
        "lid", "shut", "open", steady={"shut": 200}, role=Role.GUARD, safe="shut", kind="switch"
    )
    return prop(
        region(
            "r",
            state("a", leave=[first]),
            state("b", leave=[way("c", is_("lid", "open"))]),
            state("c", leave=[way("b", is_("lid", "shut"))]),
        ),
        inputs=[guard, button("go")],
    )


def may_be_fooled(model: Model) -> bool:
    question = Question(watches=(Fooled(),), conditions=(SHUT,))
    looks = Looks()
    found = looks.may_reach(lookout(model, question), lambda at: at.watch[0] == FOOLED)
    assert found or not looks.are_open
    exact = may_reach(lookout(model, question), lambda at: at.watch[0] == FOOLED, NO_DETAIL)
    assert (exact is not None) == found
    return found


def test_a_guard_that_was_told_to_be_safe_is_no_more_presumed_unsafe():
    assert not may_be_fooled(lid(waits=True))


def test_a_guard_is_presumed_unsafe_until_it_is_told_otherwise():
    assert may_be_fooled(lid(waits=False))


# --- Times --------------------------------------------------------------------------------------

ASIDE = region("aside", state("x", leave=[way("y", after=5)]), state("y"))


def late_or_roundabout() -> Model:
    """Straight to c it takes 200 ms with q early, which it is for 100 ms; by b it takes 20 ms."""
    straight = way("c", inside("q", "early"), after=200)
    return prop(
        region(
            "r",
            state("a", leave=[straight, way("b", after=10)]),
            state("b", leave=[way("c", after=10)]),
            state("c"),
        ),
        EARLY,
        ASIDE,
    )


def test_once_a_clock_is_to_blame_the_times_of_all_states_are_looked_at():
    looks = Looks()

    assert looks.may_reach(lookout(late_or_roundabout()), is_in(2))
    assert looks.detail.tracked == {("region", number, 0) for number in range(3)}


def test_where_it_is_asked_how_long_something_lasts_they_are_from_the_first():
    looks = Looks()

    assert looks.may_reach(lookout(kept(20), Question(is_timed=True)), is_in(3))
    assert looks.detail.tracked == {("region", 0, 0), ("region", 1, 0)}
    looks = Looks()
    assert looks.may_reach(lookout(kept(20)), is_in(3))
    assert looks.detail == NO_DETAIL
