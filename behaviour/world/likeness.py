"""Whether what a controller was told could have come from a healthy prop.

It knows the mechanism and what it may do; it knows no fault and no rule.

Strategy: a controller knows what it read and what it set since it last started, and nothing else.
People may do anything, so only the inputs that a mechanism forces can give a fault away. Where the
mechanism can stand is followed loop by loop, and every stand is dropped that would read otherwise.
A loop that is like the last one, and left all stands where they were, leaves them there again.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import product

from behaviour.findings import Beat, Stimulus
from behaviour.model import And, Condition, HeldFor, Model, Not, Or
from behaviour.semantics import Look, PropState, look_back
from behaviour.world.mechanism import Stand, at_power_up, choose, settle

Stands = tuple[Stand, ...]


def could_be_healthy(
    model: Model, stimuli: Sequence[Stimulus], states: Sequence[PropState]
) -> bool:
    """Tell whether some healthy run gives the same readings, so that no program could tell.

    `states` are the prop as each loop left it; what counts is asked for only where mechanisms go by
    time. What was before the controller last started it has forgotten; a loop that came late it
    knows of.
    """
    told = _told(stimuli)
    if told is None:
        return False
    stands: set[Stands] = set()
    asks_times = is_by_time(model)
    before: PropState | None = None
    last: object = None
    left: object = None
    for loop in told:
        raw, after = stimuli[loop].raw, states[loop]
        found_so = left
        left = None if asks_times else left if after is before else _shown(after)
        shown = None if before is None or asks_times else (raw, found_so, left)
        if shown is None or shown != last:
            look = look_back(model, after)
            found = None if before is None else look_back(model, before)
            onward = {
                _settled(model, each, look)
                for each in _onward(model, stands, found)
                if _reads(model, each, raw)
            }
            if not onward:
                return False
            last = shown if onward == stands else None
            stands = onward
        before = after
    return True


def is_by_time(model: Model) -> bool:
    """Tell whether a mechanism moves by how long something has been so."""
    return any(
        _asks_time(movement.during)
        for mechanism in model.mechanism
        for movement in mechanism.movements()
    )


def _asks_time(condition: Condition | None) -> bool:
    """Tell whether a condition asks for how long something has been so."""
    match condition:
        case And(parts=parts) | Or(parts=parts):
            return any(map(_asks_time, parts))
        case Not(part=part):
            return _asks_time(part)
        case _:
            return isinstance(condition, HeldFor)


def _shown(state: PropState) -> object:
    """Give all of a prop that a movement can ask for, but for how long it has been so."""
    inputs = tuple([(each.steady, each.became) for each in state.inputs])
    leaves = tuple([region.leaf for region in state.regions])
    return (inputs, state.counters, leaves, state.outputs, state.done)


def _told(stimuli: Sequence[Stimulus]) -> list[int] | None:
    """List the loops that the controller made since it last started; None if one came late."""
    made: list[int] = []
    for loop, stimulus in enumerate(stimuli):
        match stimulus.beat:
            case Beat.STARTS:
                made = [loop]
            case Beat.RUNS:
                if made and made[-1] != loop - 1:
                    return None
                made.append(loop)
            case Beat.SKIPS | Beat.IS_DOWN:
                pass
    return made


def _onward(model: Model, stands: Iterable[Stands], before: Look | None) -> Iterator[Stands]:
    if before is None:
        yield from product(*(at_power_up(mechanism) for mechanism in model.mechanism))
        return
    for each in stands:
        look = before._replace(mechanism=tuple(stand.state for stand in each))
        choices = (
            tuple(choice.stand for choice in choose(model, mechanism, stand, look.holds))
            for mechanism, stand in zip(model.mechanism, each, strict=True)
        )
        yield from product(*choices)


def _reads(model: Model, stands: Stands, raw: tuple[str, ...]) -> bool:
    return all(
        raw[model.input_index[name]] == value
        for mechanism, stand in zip(model.mechanism, stands, strict=True)
        for name, value in mechanism.states[stand.state].reads
    )


def _settled(model: Model, stands: Stands, after: Look) -> Stands:
    look = after._replace(mechanism=tuple(stand.state for stand in stands))
    return tuple(
        settle(mechanism, stand, look.holds)
        for mechanism, stand in zip(model.mechanism, stands, strict=True)
    )
