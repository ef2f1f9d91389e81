"""Held starts: what a start that is held may have started."""

from collections.abc import Iterable

from behaviour.check.asking import Asking
from behaviour.check.roles.drawn import quiets_of
from behaviour.check.roles.otherwise import Otherwise
from behaviour.check.roles.released import rests_released
from behaviour.check.roles.seeing import asking_for
from behaviour.check.roles.starting import may_count_held
from behaviour.check.roles.unheld import PERHAPS, HeldStart
from behaviour.check.watching import BREACH
from behaviour.explore.cone import cone
from behaviour.explore.guards import atoms
from behaviour.explore.search import LimitError
from behaviour.explore.situations import Question
from behaviour.faults import Fault, Swapped
from behaviour.findings import Run
from behaviour.model import Condition, Input, InState, Output

PLUGS = LimitError("plugs", "not shown with plugs exchanged")


def held_start(
    asking: Asking, output: Output, at: int, start: Input, reset: tuple[int, Input] | None
) -> Run | None:
    """Look for what a held start may have started, and then for what it surely has."""
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
    if run is None:
        raise LimitError("what was held", f"not shown whether `{start.name}` made it start")
    return run


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
