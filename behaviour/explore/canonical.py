"""Making states that behave alike equal, by stopping clocks where they no longer matter.

It knows what the model compares with what; it does not know who walks, nor any rule.

Strategy: a loop adds one to a clock before it is compared, so a clock may stop one short of the
largest number that it is compared with.
"""

from collections.abc import Iterable, Iterator, Mapping

from behaviour.counted import held_conditions
from behaviour.model import (
    Condition,
    Mechanism,
    Model,
    Part,
    Region,
    State,
)
from behaviour.semantics import (
    InputState,
    PropState,
    RegionState,
    loops_of,
    window_of,
)
from behaviour.world.mechanism import Phase, Progress, Stand, window

Ceilings = Mapping[tuple[str, str], int]
"""The longest `is VALUE for` of each (input, value), in loops."""


def ceilings(model: Model, conditions: Iterable[Condition]) -> Ceilings:
    """Find how long the steady values that the conditions name must be told apart."""
    found: dict[tuple[str, str], int] = {}
    for condition in conditions:
        for held in held_conditions(condition):
            loops = loops_of(model, held.time)
            found[held.name, held.value] = max(found.get((held.name, held.value), 0), loops)
    return found


def own_conditions(model: Model) -> Iterator[Condition]:
    """List every condition that the prop and the mechanism look at themselves."""
    for region in model.regions:
        for way in region.transitions():
            if way.when is not None:
                yield way.when
    for mechanism in model.mechanism:
        for movement in mechanism.movements():
            if movement.during is not None:
                yield movement.during


def canonical_inputs(
    model: Model, inputs: Iterable[InputState], longest: Ceilings
) -> tuple[InputState, ...]:
    """Forget when raw last changed where it reads what is steady, and that anything became."""
    found = []
    for item, now in zip(model.inputs, inputs, strict=True):
        run = 0 if now.raw == now.steady else now.run
        since = min(now.since, max(longest.get((item.name, now.steady), 0) - 1, 0))
        found.append(InputState(now.steady, now.raw, run, since, became=False))
    return tuple(found)


def canonical_prop(model: Model, state: PropState, longest: Ceilings) -> PropState:
    """Give the state that behaves like `state` in every later loop, with the smallest clocks."""
    return state._replace(
        inputs=canonical_inputs(model, state.inputs, longest),
        regions=tuple(
            _canonical_region(model, region, now)
            for region, now in zip(model.regions, state.regions, strict=True)
        ),
        beyond=(),
    )


def canonical_stand(model: Model, mechanism: Mechanism, stand: Stand, stalled: int | None) -> Stand:
    """Stop the clocks of a settled stand at the end of their windows; a stalled one has none.

    `stalled` is the number of the movement of this mechanism that never ends.
    """
    progress = []
    for movement, now in zip(mechanism.states[stand.state].movements, stand.progress, strict=True):
        if movement.number == stalled:
            progress.append(Progress(Phase.FRESH))
        elif now.phase.is_running:
            _, last = window(model, movement, now.phase)
            progress.append(Progress(now.phase, min(now.clock, last)))
        else:
            progress.append(now)
    return stand._replace(progress=tuple(progress))


def _canonical_region(model: Model, region: Region, now: RegionState) -> RegionState:
    drawn = dict(now.draws)
    timers = []
    for timer, number in zip(now.timers, region.path(now.leaf), strict=True):
        state = region.states[number]
        compared = list(_fixed_times(model, state, now.cue))
        for chance in region.chances(number):
            least, _ = window_of(model, chance)
            if chance.is_move and timer >= drawn[chance.number]:
                drawn[chance.number] = least
                compared.append(least + 1)
                continue
            if not chance.is_move and timer + 1 >= drawn[chance.number]:
                drawn[chance.number] = least
            compared.append(drawn[chance.number])
        timers.append(min(timer, max(max(compared, default=0) - 1, 0)))
    draws = tuple((number, drawn[number]) for number, _ in now.draws)
    return now._replace(timers=tuple(timers), draws=draws, fired=None)


def _fixed_times(model: Model, state: State, cue: int) -> Iterator[int]:
    for way in state.leave:
        if way.after is not None and way.part is Part.LEAVE and way.after.low == way.after.high:
            yield loops_of(model, way.after.low)
    for later in state.cues[cue:]:
        yield loops_of(model, later.at)
