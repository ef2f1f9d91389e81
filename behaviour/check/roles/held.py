"""Held starts: what a start that is held may have started."""

from collections.abc import Iterable
from functools import partial
from itertools import islice

from behaviour.check.asking import Asking
from behaviour.check.roles.drawn import quiets_of
from behaviour.check.roles.otherwise import Otherwise
from behaviour.check.roles.released import rests_released
from behaviour.check.roles.seeing import asking_for
from behaviour.check.roles.starting import may_count_held
from behaviour.check.roles.twofold import PARTED, StartsAlone, Twofold, other
from behaviour.check.roles.unheld import PERHAPS, HeldStart
from behaviour.check.watching import BREACH
from behaviour.explore.budget import LimitError
from behaviour.explore.cone import cone
from behaviour.explore.guards import atoms
from behaviour.explore.search import Goal
from behaviour.explore.situations import Question
from behaviour.faults import Fault, Swapped
from behaviour.findings import Run
from behaviour.model import Condition, Input, InState, Model, Output

MOST_BESIDE = 50_000
"""So many states are looked at of a prop and the same with a start released."""

MOST_TRIED = 12
"""So many runs that are found there are played without the start."""

PLUGS = LimitError("plugs", "not shown with plugs exchanged")


def held_start(
    asking: Asking, output: Output, at: int, start: Input, reset: tuple[int, Input] | None
) -> Run | None:
    """Look for what a held start may have started, and then for what it surely has.

    What may have started with a start held since power-up is searched beside the same prop with it
    released. Raises LimitError.
    """
    model = asking.model
    moves = any(
        names(movement.during, start.name)
        for mechanism in model.mechanism
        for movement in mechanism.movements()
    )
    if not (moves and is_swapped(asking.faults)) and not _may_count_held(asking, output, start):
        return None
    if is_swapped(asking.faults):
        raise PLUGS
    number, owner = model.input_index[start.name], model.owner[output.name]
    seen = asking_for(start) if reset is None else asking_for(start, reset[1])
    regions = frozenset(cone(model, seen, (), (output.name,)).model.region_index)
    watch = HeldStart(output, at, owner, start, number, reset, regions, Otherwise(number))
    question = Question(watches=(watch,), conditions=seen, may_stall=True, begins_anew=True)
    for wanted in ((BREACH, PERHAPS), (BREACH,)):
        run = asking.reach(
            question,
            lambda _, w=wanted: lambda at: at.watch[0] in w,  # type: ignore[misc]
            conditions=seen,
            outputs=(output.name,),
        )
        if run is None and PERHAPS in wanted:
            return None
        if run is not None and rests_released(model, run, output, number, reset):
            return run
    if run is not None:
        return run
    if reset is None and not asking.faults:
        return _beside(asking, output, start)
    raise _not_shown(start)


def _not_shown(start: Input) -> LimitError:
    return LimitError("what was held", f"not shown whether `{start.name}` made it start")


def _beside(asking: Asking, output: Output, start: Input) -> Run | None:
    """Search the prop beside the same with the start released, for a hazard that starts alone."""
    part = cone(asking.model, asking_for(start), (), (output.name,)).model
    both = Twofold(part, start)
    if not both.is_alike:
        raise _not_shown(start)
    model, parted = both.model, both.parts()
    beside = model.output[other(output.name)]
    watch = StartsAlone(
        output,
        model.output_index[output.name],
        beside,
        model.output_index[beside.name],
        start,
        model.input_index[start.name],
        parted,
    )
    seen = (*asking_for(start), parted)
    question = Question(watches=(watch,), conditions=seen, may_stall=True)
    searched = Asking(model, asking.budget.few(MOST_BESIDE))
    found = partial(
        searched.reach_each, question, conditions=seen, outputs=(output.name, beside.name)
    )
    is_shown = True
    for drawn, run in islice(found(partial(_ending, BREACH)), MOST_TRIED):
        is_shown = False
        alone = both.alone(searched.whole(drawn, run))
        if rests_released(part, alone, output, part.input_index[start.name], None):
            return asking.whole(part, alone)
    if is_shown and next(found(partial(_ending, PARTED)), None) is None:
        return None
    raise _not_shown(start)


def _ending(place: int, model: Model) -> Goal:
    del model
    return lambda at: at.watch[0] == place


def _may_count_held(asking: Asking, output: Output, start: Input) -> bool:
    """Tell whether an output may start by a held start, or by one let go and not pressed anew.

    How it is held is what the controller is told, and so is all that regions choose by. Whatever is
    wrong with lines, it is told what it might as well be told by people on sound ones, for nothing
    is made here of what mechanisms force. So it is with plugs exchanged, but where a mechanism goes
    by the start: then it hangs on the plugs which inputs tell of that.
    """
    known, key = asking.common.known, ("held", output.name, start.name)
    if key not in known:
        known[key] = all(may_count_held(each, start) for each in quiets_of(asking, output))
    return bool(known[key])


def is_swapped(faults: Iterable[Fault]) -> bool:
    return any(isinstance(each, Swapped) for each in faults)


def names(condition: Condition | None, name: str) -> bool:
    """Tell whether a condition asks for an input, an output or a counter by its name."""
    return any(not isinstance(a, InState) and a.name == name for a in atoms(condition))
