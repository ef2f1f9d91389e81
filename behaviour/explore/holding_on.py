"""The concrete prop with its inputs held: does a hazard start, whatever the mechanisms do?

Every loop that can follow is walked with `step` itself, until nothing new comes.
"""

from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from behaviour.explore.budget import Budget
from behaviour.explore.circling import State, Walk
from behaviour.explore.draws import most_ways
from behaviour.findings import Run, Stimulus
from behaviour.model import Condition, Model, Role
from behaviour.semantics import Look, PropState, done_next

MOST_HELD = 8_000
"""How many states are walked from one run before it is given up."""

MOST_DRAWN = 200
"""If one loop may draw its times in more ways, only the shortest and the longest are tried."""


@dataclass(frozen=True, slots=True)
class Met:
    """A state that was met; `counts` tells whether a hazard that starts from here does."""

    state: State
    counts: bool


@dataclass(frozen=True, slots=True)
class Stillness:
    """What comes of holding inputs: each state that was met, with the loop that led to it.

    `started` is the loop in which a hazard starts, if there is one. With `is_whole` all that can
    come was walked; else nothing follows from there being no `started`.
    """

    came: Mapping[Met, tuple[Met, Stimulus] | None]
    started: tuple[Met, Stimulus] | None
    is_whole: bool

    def way_to(self, met: Met) -> tuple[State, list[Stimulus]]:
        """Give where the way to a state begins, and its loops."""
        found: list[Stimulus] = []
        while (loop := self.came[met]) is not None:
            met, stimulus = loop
            found.append(stimulus)
        return met.state, found[::-1]

    def way_to_start(self) -> tuple[State, list[Stimulus]]:
        """Give where the way to the start of the hazard begins, and its loops."""
        if self.started is None:
            raise AssertionError("nothing started")
        last, stimulus = self.started
        begin, loops = self.way_to(last)
        return begin, [*loops, stimulus]


def turn(
    budget: Budget,
    model: Model,
    run: Run,
    held: Sequence[str | None],
    turned: tuple[int, str],
    hazard: str,
) -> Run | None:
    """Hold the inputs at the end of a run, for any time; then turn one: does a hazard start?

    Where `held` has None an input stays as it is. None where it does not, where it would have
    started anyway, and where that cannot be told. Raises LimitError.
    """
    walk = Walk(model, None, None, run.stimuli[-1].stalled)
    begin = walk.at_end_of(run, held)
    if begin is None:
        return None
    before = hold(budget, walk, [begin], hazard)
    if before.started is not None or not before.is_whole:
        return None
    number, value = turned
    waited = {
        replace(met.state, raw=(*met.state.raw[:number], value, *met.state.raw[number + 1 :])): met
        for met in before.came
        if _is_steady(model, met.state) and _is_at_rest(model, met.state, hazard)
    }
    after = hold(budget, walk, waited, hazard)
    if after.started is None:
        return None
    middle, last = after.way_to_start()
    _, first = before.way_to(waited[middle])
    return _longer(run, [*first, *last])


def clear(
    budget: Budget,
    model: Model,
    run: Run,
    held: Sequence[str | None],
    condition: Condition,
    hazard: str,
) -> Run | None:
    """Go on from a run with inputs held: does a hazard start once a condition has failed?

    What starts while a `hold_to_run` is still read as held does not start by itself. Raises
    LimitError.
    """
    walk = Walk(model, None, None, run.stimuli[-1].stalled)
    begin = walk.at_end_of(run, held)
    if begin is None:
        return None
    until = hold(
        budget,
        walk,
        [begin],
        hazard,
        lambda at, then: _fails(model, condition, at, then),
        partial(_is_let_go, model),
    )
    if until.started is None:
        return None
    return _longer(run, until.way_to_start()[1])


Begins = Callable[[PropState, PropState], bool]


def hold(
    budget: Budget,
    walk: Walk,
    begins: Iterable[State],
    hazard: str,
    counts_from: Begins | None = None,
    is_let_go: Callable[[PropState], bool] = lambda _: True,
) -> Stillness:
    """Walk every loop that can follow with the inputs held, up to one in which a hazard starts.

    It goes on from one beginning after the other, so that the first of them tells the shortest run.

    With `counts_from`, only what starts in the loop of which it tells so, or later, counts; what
    starts with not everything let go as `is_let_go` tells is gone into no further. Raises
    LimitError.
    """
    model = walk.model
    at, rest = model.output_index[hazard], model.output[hazard].rest
    is_whole = _is_drawn_whole(model)
    loops = walk.every_loop if is_whole else walk.loops
    came: dict[Met, tuple[Met, Stimulus] | None] = {}
    for state in begins:
        begin = Met(state, counts_from is None)
        if begin in came:
            continue
        came[begin] = None
        ahead = deque([begin])
        while ahead:
            if len(came) > MOST_HELD:
                return Stillness(came, None, is_whole=False)
            budget.spend()
            last = ahead.popleft()
            before = last.state.prop
            for to, stimulus, _ in loops(last.state):
                counts = last.counts or (counts_from is not None and counts_from(before, to.prop))
                if counts and to.prop.outputs[at] != rest == before.outputs[at]:
                    if not is_let_go(to.prop):
                        continue
                    return Stillness(came, (last, stimulus), is_whole=True)
                met = Met(to, counts)
                if met not in came:
                    came[met] = (last, stimulus)
                    ahead.append(met)
    return Stillness(came, None, is_whole=is_whole)


def _fails(model: Model, condition: Condition, before: PropState, after: PropState) -> bool:
    """Tell whether a condition fails as the loop between two states looks at it."""
    leaves = tuple(region.leaf for region in before.regions)
    done = done_next(model, before)
    return not Look(model, after.inputs, before.counters, leaves, done=done).holds(condition)


def _is_let_go(model: Model, prop: PropState) -> bool:
    return all(
        item.role is not Role.HOLD_TO_RUN or now.steady == item.values[0]
        for item, now in zip(model.inputs, prop.inputs, strict=True)
    )


def _is_steady(model: Model, at: State) -> bool:
    return all(
        item.name in model.moved or now.raw == now.steady == held
        for item, now, held in zip(model.inputs, at.prop.inputs, at.raw, strict=True)
    )


def _is_at_rest(model: Model, at: State, hazard: str) -> bool:
    return at.prop.outputs[model.output_index[hazard]] == model.output[hazard].rest


def _longer(run: Run, more: Sequence[Stimulus]) -> Run:
    stimuli = (*run.stimuli, *more)
    return replace(run, stimuli=stimuli, breach=len(stimuli) - 1)


def _is_drawn_whole(model: Model) -> bool:
    """Tell whether every time that may be drawn is tried, not the shortest and longest alone."""
    chances = (c for r in model.regions for each in r.states for c in r.chances(each.number))
    are_known = all(isinstance(at, int) for each in chances for at in (each.low, each.high))
    return are_known and most_ways(model) <= MOST_DRAWN
