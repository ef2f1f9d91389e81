"""The trace of a prop that was built otherwise differs just where its own file says other things.

The oracle is a replay: the file's own behaviour, given what the inputs counted as, loop by loop.
"""

from dataclasses import replace
from random import Random

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from behaviour.bench.capture import Capture, Sort
from behaviour.bench.comparing import compare
from behaviour.bench.following import Tolerance
from behaviour.bench.seen_loops import without_filters
from behaviour.model import After, Model, Region, State, Transition
from behaviour.semantics import power_up, step
from tests.recordings.analyser import traced, words
from tests.strategies import different_models

LOOPS = 100


def built_otherwise(model: Model, random: Random) -> Model:
    """Change one transition of a region: its time, where it goes, or that it is there at all."""
    place = random.randrange(len(model.regions))
    region = model.regions[place]
    ways = [way for state in region.states for way in state.leave]
    assume(ways)
    chosen = random.choice(ways)
    changed = otherwise(region, chosen, random)
    states = tuple(replace(each, leave=_with(each, chosen, changed)) for each in region.states)
    regions = list(model.regions)
    regions[place] = replace(region, states=states)
    return replace(model, regions=tuple(regions))


def otherwise(region: Region, way: Transition, random: Random) -> Transition | None:
    match random.choice(("time", "target", "gone")):
        case "time" if way.after is not None and isinstance(way.after.low, int):
            late = way.after.low + random.choice((10_000, 30_000))
            return replace(way, after=After(late, late))
        case "target" if way.target is not None:
            return replace(way, target=random.randrange(len(region.states)))
        case _:
            return None


def _with(state: State, chosen: Transition, changed: Transition | None) -> tuple[Transition, ...]:
    kept = (changed if way is chosen else way for way in state.leave)
    return tuple(way for way in kept if way is not None)


def first_difference(model: Model, capture: Capture) -> int | None:
    """Replay the file on the inputs that the trace has, and give the loop in which it differs."""
    plain, state = without_filters(model), None
    last = capture.ends // model.loop
    for loop in range(last + 1):
        at = loop * model.loop
        now = {
            (signal.sort, signal.name): signal.value(at + model.loop - 1)
            for signal in capture.signals
        }
        raw = tuple(now[Sort.INPUT, item.name] for item in model.inputs)
        state = power_up(plain, raw, {}) if state is None else step(plain, state, raw, {})
        if any(now[key] != value for key, value in words(plain, state)):
            return loop
    return None


@settings(max_examples=60)
@given(different_models(), st.integers(0, 10**6))
def test_a_prop_built_otherwise_differs_in_the_very_loop_in_which_it_first_does(model, seed):
    random = Random(seed)
    drawn = any(region.chances(s.number) for region in model.regions for s in region.states)
    assume(not drawn)
    capture = traced(built_otherwise(model, random), random, LOOPS, 0)

    told = compare(model, capture, Tolerance(slack=0), 30)

    loop = first_difference(model, capture)
    if loop is None:
        assert told.followed.mismatches == ()
    else:
        assert min(each.at for each in told.followed.mismatches) == loop * model.loop
