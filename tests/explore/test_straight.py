"""What comes round is found alike whether each loop is played or those that do nothing are not."""

from collections import Counter
from itertools import product
from unittest.mock import PropertyMock, patch

from hypothesis import given, settings
from hypothesis import strategies as st

from behaviour.explore.circling import Walk, circle
from behaviour.explore.lulls import alike
from behaviour.findings import Run, Stimulus
from behaviour.semantics import NotKnownError
from behaviour.world.mechanism import at_power_up
from tests.making import becomes, button, prop, region, state, way
from tests.strategies import different_models

LOOPS = 600

SEEN: Counter[tuple[str, str]] = Counter()


def held_run(model, raw: tuple[str, ...], length: int, data) -> Run:
    """Give a run with the inputs held, in which mechanisms and times do one thing or another."""
    begins = product(*(at_power_up(mechanism) for mechanism in model.mechanism))
    stands = data.draw(st.sampled_from([tuple(each.state for each in some) for some in begins]))
    walk = Walk(model, None, None, None)
    first = Stimulus(forced(model, raw, stands), stands, tuple(walk._draws[0].items()))
    stimuli = [first]
    end = walk.at_end_of(Run((first,)), raw)
    while end is not None and len(stimuli) < length:
        end, stimulus, _ = data.draw(st.sampled_from(list(walk.loops(end))))
        stimuli.append(stimulus)
    return Run(tuple(stimuli))


def forced(model, raw: tuple[str, ...], stands: tuple[int, ...]) -> tuple[str, ...]:
    reads = {
        name: value
        for mechanism, state in zip(model.mechanism, stands, strict=True)
        for name, value in mechanism.states[state].reads
    }
    return tuple(reads.get(i.name, value) for i, value in zip(model.inputs, raw, strict=True))


def both_ways(model, run: Run, region: str | None) -> tuple[Run | None, Run | None]:
    as_they_are = (None,) * len(model.inputs)
    not_straight = patch.object(Walk, "is_straight", PropertyMock(return_value=False))
    with not_straight, patch.object(Walk, "quickest", return_value=(None, 0)):
        slow = circle(model, run, as_they_are, region, None, LOOPS)
    return circle(model, run, as_they_are, region, None, LOOPS), slow


@settings(
    max_examples=max(200, settings.default.max_examples if settings.default else 0),
    derandomize=True,
)
@given(different_models(), st.data())
def test_a_round_is_the_same_as_if_each_loop_were_played(model, data):
    """Beyond the loops that are played one by one, only the quick way finds any."""
    raw = tuple(data.draw(st.sampled_from(item.values)) for item in model.inputs)
    length = data.draw(st.integers(1, 80))
    name = data.draw(st.sampled_from([None, *(each.name for each in model.regions)]))
    try:
        quick, slow = both_ways(model, held_run(model, raw, length, data), name)
    except NotKnownError:
        return

    SEEN["round" if slow else "none", "mechanism" if model.mechanism else ""] += 1
    assert slow is None or quick == slow


def test_rounds_came_up():
    """Runs after the random props: there must have been some, or nothing was shown."""
    assert SEEN["round", ""] > 0
    assert SEEN["round", "mechanism"] > 0


def blinker(times: int):
    return prop(
        region(
            "r",
            state("a", leave=[way("b", after=times)]),
            state("b", leave=[way("a", after=times)]),
        ),
        region("s", state("c", leave=[way("d", becomes("x", "pressed"))]), state("d")),
        inputs=[button("x")],
    )


def test_a_blinker_comes_round_where_it_began_however_long_that_takes():
    """At loops of 10 ms, from the fourth loop on: as it was then is what it is a round later."""
    run = Run((Stimulus(("released",)),) * 4)

    short = circle(blinker(100), run, (None,), "r", None, LOOPS)
    long = circle(blinker(1_000_000), run, (None,), "r", None, LOOPS)

    assert short is not None
    assert long is not None
    assert (len(short.stimuli), short.repeats_from) == (4 + 20, 4)
    assert (len(long.stimuli), long.repeats_from) == (4 + 200_000, 4)


def test_items_that_are_alike_are_counted_as_far_as_asked():
    items = [1] * 2000 + [2] + [1] * 10

    assert alike(items, 1, 5000) == 1999
    assert alike(items, 1, 700) == 699
    assert alike(items, 2001, 5000) == 0
    assert alike(items, 2002, 5000) == 9
    assert alike(items, 2002, 2002) == 0
