"""Random runs of random props, loop by loop with nothing forgotten, against the explicit graph."""

from random import Random

from hypothesis import assume, given
from hypothesis import strategies as st

from behaviour.explore.twin import Graph
from behaviour.findings import Stimulus
from behaviour.model import Model
from behaviour.semantics import (
    InputState,
    Look,
    PropState,
    first_reading,
    next_reading,
    power_up,
    step,
)
from behaviour.world.mechanism import Stand, choose, settle
from tests.strategies import each_once, models
from tests.twin.props import walked

LIMIT = 5_000


def graph_or_give_up(model: Model) -> Graph:
    graph = walked(model, LIMIT, for_rules=True)
    assume(graph is not None)
    assert graph is not None
    return graph


def told(left: PropState, seen: tuple[InputState, ...]) -> object:
    """All that a loop shows, without the clocks that the graph stops early."""
    return (
        [(each.steady, each.raw, each.became) for each in left.inputs],
        [(each.steady, each.raw, each.became) for each in seen],
        left.counters,
        [(each.leaf, each.cue, each.fired) for each in left.regions],
        left.outputs,
        left.beyond,
    )


def settled(model: Model, stands: tuple[Stand, ...], left: PropState) -> tuple[Stand, ...]:
    look = look_at(model, left)
    return tuple(
        settle(each, stand, look.holds) for each, stand in zip(model.mechanism, stands, strict=True)
    )


def look_at(model: Model, left: PropState) -> Look:
    leaves = tuple(each.leaf for each in left.regions)
    return Look(model, left.inputs, left.counters, leaves, left.outputs, left.outputs)


@given(models(), st.integers(0, 1 << 30))
def test_every_run_goes_through_the_graph(model: Model, seed: int) -> None:
    graph = graph_or_give_up(model)
    dice = Random(seed)

    loop = dice.choice(graph.starts)
    left = power_up(model, loop.stimulus.raw, dict(loop.stimulus.draws))
    seen = tuple(
        first_reading(model, item, raw, presume=False)
        for item, raw in zip(model.inputs, loop.stimulus.raw, strict=True)
    )
    stands = settled(model, graph.states[loop.target].stands, left)
    for _ in range(dice.randint(0, 25)):
        assert told(left, seen) == told(loop.left, loop.seen)

        here = loop.target
        stalls = [to for number, to in graph.stalls if number == here]
        if stalls and dice.randint(0, 9) == 9:
            here = dice.choice(stalls)
        ahead = graph.loops[here]
        still = graph.states[here].stalled
        look = look_at(model, left)
        free = [
            list(
                choose(
                    model,
                    each,
                    stand,
                    look.holds,
                    stalled=frozenset((still[1],) if still and still[0] == at else ()),
                )
            )
            for at, (each, stand) in enumerate(zip(model.mechanism, stands, strict=True))
        ]
        chosen = [dice.choice(each) for each in free]
        at_all = tuple(choice.stand.state for choice in chosen)
        ended = tuple(choice.movements for choice in chosen)
        ahead = tuple(
            each for each in ahead if each.stimulus.mechanism == at_all and each.ended == ended
        )

        loop = dice.choice(ahead)
        raw = loop.stimulus.raw
        left = step(model, left, raw, dict(loop.stimulus.draws))
        seen = tuple(
            next_reading(model, item, last, reads, 1)
            for item, last, reads in zip(model.inputs, seen, raw, strict=True)
        )
        stands = settled(model, tuple(choice.stand for choice in chosen), left)


@given(models())
@each_once
def test_the_graph_is_of_one_piece_and_says_what_each_loop_was_given(model: Model) -> None:
    graph = graph_or_give_up(model)

    for number, loops in enumerate(graph.loops):
        for loop in loops:
            stalled = graph.states[number].stalled
            assert loop.source == number
            assert graph.states[loop.target].stalled == stalled
            assert loop.stimulus == Stimulus(
                loop.stimulus.raw,
                tuple(stand.state for stand in graph.states[loop.target].stands),
                loop.stimulus.draws,
                stalled,
            )
            assert tuple(each.raw for each in loop.left.inputs) == loop.stimulus.raw

    assert all(graph.loops)
    reached = {loop.target for loop in graph.starts}
    reached |= {loop.target for loops in graph.loops for loop in loops}
    reached |= {to for _, to in graph.stalls}
    assert reached == set(range(len(graph.states)))
