"""What starts a hazard by itself: a guard that is closed, a mode turned, a reset, an interlock.

Of a guard, mode, reset or stop: from where the hazard is at rest and every input that people move
has been read steady, with a `hold_to_run` let go, it would never start with everybody standing
still, and with that one input turned it does. Of an interlock: it stopped the hazard, and once its
condition is cleared by inputs that it names, and by nothing else, the hazard starts.

Most often the transitions of the hazard's region alone show that there is no such way. Else runs
are tried one by one on the concrete prop. What neither shows is not decided.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice, product

from behaviour.check.asking import Asking
from behaviour.check.roles.quiet import Hands, Quiet, may_start_after, may_turn_on
from behaviour.check.roles.seeing import is_stopped_by_interlock
from behaviour.check.watching import BREACH
from behaviour.explore.cone import cone
from behaviour.explore.guards import Limit, atoms
from behaviour.explore.holding_on import clear, turn
from behaviour.explore.search import LimitError
from behaviour.explore.situations import Moment, Next, Question
from behaviour.explore.surroundings import is_presumed
from behaviour.faults import Fault, touched
from behaviour.findings import Run
from behaviour.model import (
    Compare,
    Condition,
    Input,
    InState,
    Model,
    Output,
    Part,
    Role,
    Transition,
)
from behaviour.story import replay

MOST_TRIED = 60
"""How many runs, or ways of holding the inputs, are tried for one question."""

MOST_STOPS = 8
"""How many ways in which an interlock stops a hazard are gone on from."""


def turned_on(asking: Asking, output: Output, item: Input, after: str) -> Run | None:
    """Find a run in which turning an input to a value starts a hazard; None if there is none.

    Raises LimitError where neither is shown.
    """
    befores = [value for value in item.values if value != after and _is_asked(item, value)]
    may = [v for v in befores if _may(asking, output, item, (v, after))]
    if not may:
        return None
    if not asking.faults:
        part = cone(asking.model, outputs=(output.name,)).model
        number = part.input_index[item.name]
        budget = asking.budget.share()
        ways = (
            (run, held)
            for run, before in product(_ends(asking, part, output), may)
            for held in _ways_to_hold(part, {number: before})
        )
        for run, held in islice(ways, MOST_TRIED):
            found = turn(budget, part, run, held, (number, after), output.name)
            if found is not None:
                return asking.whole(part, found)
    raise LimitError("what starts by itself", f"not shown whether turning `{item.name}` does")


def _is_asked(item: Input, value: str) -> bool:
    return item.safe is None or value != item.safe


def _may(asking: Asking, output: Output, item: Input, values: tuple[str, str]) -> bool:
    model = asking.model
    quiet = _people(model) - on_lines(asking.faults)
    released = {
        each.name: each.values[0]
        for each in model.inputs
        if each.role is Role.HOLD_TO_RUN and each.name in quiet
    }
    return may_turn_on(quiet_of(asking, output), item, values, released, quiet)


def quiet_of(asking: Asking, output: Output) -> Quiet:
    known = asking.known.get(output.name)
    if not isinstance(known, Quiet):
        known = Quiet(cone(asking.model, outputs=(output.name,)).model, output)
        asking.known[output.name] = known
    return known


def _ways_to_hold(model: Model, given: dict[int, str]) -> Iterator[tuple[str | None, ...]]:
    named = _named(way.when for region in model.regions for way in region.transitions())
    several: list[tuple[str | None, ...]] = []
    for number, item in enumerate(model.inputs):
        if number in given:
            several.append((given[number],))
        elif item.role is Role.HOLD_TO_RUN:
            several.append(item.values[:1])
        elif item.name in named and item.name in _people(model):
            several.append(item.values)
        else:
            several.append((None,))
    yield from product(*several)


def _ends(asking: Asking, part: Model, output: Output) -> list[Run]:
    """Give runs into each state of the hazard's region that a short walk finds."""
    owner = asking.model.owner[output.name]
    found = asking.walked(part, may_stall=False)
    return [
        run
        for mark, run in found.items()
        if isinstance(mark, tuple) and mark[0] == "state" and mark[1] == owner
    ]


# --- Interlocks ---------------------------------------------------------------------------------


def interlocks(model: Model, output: Output) -> tuple[Transition, ...]:
    """List the interlocks of a hazard's region that name an input."""
    ways = model.region[model.owner[output.name]].transitions()
    return tuple(
        way
        for way in ways
        if way.part is Part.INTERLOCK and _named([way.when]) & set(model.input_index)
    )


def restarted(asking: Asking, output: Output, interlock: Transition) -> Run | None:
    """Find a run in which clearing an interlock alone restarts a hazard; None if there is none.

    Raises LimitError where neither is shown.
    """
    model = asking.model
    if not _may_restart(asking, output, interlock):
        return None
    stops = 0
    budget = asking.budget.share()
    for stopped in islice(_stops(asking, output, interlock), MOST_STOPS):
        stops += 1
        if asking.faults or interlock.when is None:
            break
        for held in _ways_to_clear(model, stopped, interlock):
            found = clear(budget, model, stopped, held, interlock.when, output.name)
            if found is not None:
                return found
    if not stops:
        return None
    raise LimitError("what starts by itself", "not shown whether clearing an interlock does")


def _stops(asking: Asking, output: Output, interlock: Transition) -> Iterator[Run]:
    """Give runs that end as the interlock stops the hazard, each into another situation."""
    model = asking.model
    watch = Stopped(output, model.output_index[output.name], model.owner[output.name], interlock)
    return asking.reach_each(
        Question(watches=(watch,), may_stall=True),
        lambda _: lambda at: at.watch[0] == BREACH,
        outputs=(output.name,),
    )


def _may_restart(asking: Asking, output: Output, interlock: Transition) -> bool:
    model = asking.model
    presumed = {item.name for n, item in enumerate(model.inputs) if is_presumed(model, n)}
    loose = on_lines(asking.faults) | presumed
    let_go = {
        item.name: item.values[0]
        for item in model.inputs
        if item.role is Role.HOLD_TO_RUN and item.name in _people(model) - loose
    }
    quiet = _people(model) - loose - _named([interlock.when]) - set(let_go)
    return may_start_after(quiet_of(asking, output), interlock, Hands({}, quiet, let_go))


def _ways_to_clear(
    model: Model, run: Run, interlock: Transition
) -> Iterator[tuple[str | None, ...]]:
    now = replay(model, run)[-1].state.inputs
    named = _named([interlock.when])
    several = [
        item.values if item.name in named and item.name in _people(model) else (read.raw,)
        for item, read in zip(model.inputs, now, strict=True)
    ]
    yield from product(*several)


@dataclass(frozen=True, slots=True)
class Stopped:
    """Met in a loop in which an interlock brings a hazard to rest."""

    output: Output
    at: int
    owner: str
    interlock: Transition

    def begin(self, number: int, moment: Moment) -> Iterable[Next]:
        del number, moment
        return (Next(0),)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterable[Next]:
        del number, place
        way = moment.ways[moment.told.model.region_index[self.owner]]
        stops = (
            way is not None
            and way.transition is not None
            and way.transition.number == self.interlock.number
            and is_stopped_by_interlock(moment, self.at, self.output, self.owner)
        )
        return (Next(BREACH if stops else 0),)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()


# --- Small --------------------------------------------------------------------------------------


def _named(conditions: Iterable[Condition | None]) -> set[str]:
    return {
        atom.name
        for condition in conditions
        for atom in atoms(condition)
        if not isinstance(atom, InState | Compare)
    }


def _people(model: Model) -> frozenset[str]:
    """Name the inputs that no mechanism ever forces."""
    return frozenset(model.input_index) - model.moved


def on_lines(faults: tuple[Fault, ...]) -> set[str]:
    return {name for fault in faults for name in touched(fault)}
