"""What starts a hazard by itself: a guard that is closed, a mode turned, a reset, an interlock.

Of a guard, mode, reset or stop: from where the hazard is at rest and every input that people move
has been read steady, with a `hold_to_run` let go, it would never start with everybody standing
still, and with that one input turned it does. Of an interlock: it stopped the hazard, and once its
condition is cleared by inputs that it names, and by nothing else, the hazard starts.

Most often the transitions of the hazard's region alone show that there is no such way, or else a
search for people who leave all the rest alone. What it finds, and what a walk found, is tried on
the concrete prop. What none of them shows is not decided.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import chain, islice, product

from behaviour.check.asking import Asking
from behaviour.check.hands import Hands, longest_filter
from behaviour.check.roles.alone import (
    Cleared,
    Turned,
    left_alone,
    let_go,
    told_later,
    turned_by_people,
)
from behaviour.check.roles.drawn import quiets_of
from behaviour.check.roles.plainly import may_start
from behaviour.check.roles.starting import may_start_after, may_turn_on
from behaviour.check.roles.waiting import may_wait
from behaviour.check.walks import walked
from behaviour.check.watching import BREACH
from behaviour.explore.budget import LimitError
from behaviour.explore.cone import cone
from behaviour.explore.guards import atoms
from behaviour.explore.holding_on import clear, turn
from behaviour.explore.situations import Question, Watch
from behaviour.explore.still import always_forced
from behaviour.faults import Fault, touched
from behaviour.findings import Run
from behaviour.model import (
    And,
    Becomes,
    Compare,
    Condition,
    Input,
    InState,
    Is,
    Model,
    Output,
    Part,
    Role,
    Transition,
)
from behaviour.semantics import filter_loops
from behaviour.story import replay

MOST_TRIED = 60
"""How many runs, or ways of holding the inputs, are tried for one question."""

MOST_NAMED = 3
"""Of so many inputs that an interlock names it is kept that each is turned only once."""

MOST_STOPS = 12
"""How many runs that a search finds are gone on from for one question."""


def turned_on(asking: Asking, output: Output, item: Input, after: str) -> Run | None:
    """Find a run in which turning an input to a value starts a hazard; None if there is none.

    What mechanisms force wherever they stand nobody turns: it moves with everybody standing still,
    and a hazard that starts then would have started. Raises LimitError where neither is shown.
    """
    if asking.model.input_index[item.name] in always_forced(asking.model):
        return None
    befores = [value for value in item.values if value != after and _is_asked(item, value)]
    may = [v for v in befores if _may(asking, output, item, (v, after))]
    if not may:
        return None
    if not asking.faults:
        tries = chain(_tries(asking, output, item, after), _walked(asking, output, item, may))
        budget = asking.budget.share()
        tried: set[tuple[Run, tuple[str | None, ...]]] = set()
        for one in tries:
            if one is None:
                return None
            part, run, held = one
            if (run, held) in tried:
                continue
            tried.add((run, held))
            turned = (part.input_index[item.name], after)
            found = turn(budget, part, run, held, turned, output.name)
            if found is not None:
                return asking.whole(part, found)
        if not _may_wait(asking, output, item, may):
            return None
    raise LimitError("what starts by itself", f"not shown whether turning `{item.name}` does")


def _may_wait(asking: Asking, output: Output, item: Input, befores: list[str]) -> bool:
    """Tell whether a hazard may rest for ever with an input at one of some values."""
    people = _asked_people(asking, output)
    released = [each for each in people if each.role is Role.HOLD_TO_RUN and each is not item]
    still: tuple[Condition, ...] = (left_alone(people), let_go(released))
    if item in people:
        still = (Is(item.name, tuple(befores)), *still)
    return may_wait(asking, output, still)


Try = tuple[Model, Run, tuple[str | None, ...]]
"""A part of the prop, a run of it, and how its inputs are held before one of them is turned."""


def _tries(asking: Asking, output: Output, item: Input, after: str) -> Iterator[Try | None]:
    """Find runs in which a hazard starts once an input is turned, whether or not it would anyway.

    A single None says that it is shown that there are none; what a limit stops says nothing.
    """
    model = asking.model
    people = _asked_people(asking, output)
    others = [each for each in people if each is not item]
    released = [each for each in people if each.role is Role.HOLD_TO_RUN and each is not item]
    watch = Turned(
        output,
        model.output_index[output.name],
        And((Becomes(item.name, after), let_go(released))),
        left_alone(others),
        left_alone(people),
    )
    seen = (watch.turns, left_alone(people), let_go(people))
    try:
        runs = [*islice(_found(asking, watch, output, seen), MOST_STOPS)]
    except LimitError:
        return
    if not runs:
        yield None
    for part, run in runs:
        yield part, *_before_turn(part, run, item, after)


def _before_turn(
    part: Model, run: Run, item: Input, after: str
) -> tuple[Run, tuple[str | None, ...]]:
    """Cut a run before an input is last turned, and say what the inputs are held at.

    What was not counted yet at power-up is turned then to what it was presumed to be.
    """
    views, number = replay(part, run), part.input_index[item.name]
    turned = max(n for n, view in enumerate(views) if view.state.inputs[number].became)
    held = tuple(
        None if each.name in part.moved else now.steady
        for each, now in zip(part.inputs, views[turned - 1].state.inputs, strict=True)
    )
    before = turned - filter_loops(part, item, after)
    if before < 1:
        raw = (
            *run.stimuli[0].raw[:number],
            held[number] or after,
            *run.stimuli[0].raw[number + 1 :],
        )
        return replace(run, stimuli=(replace(run.stimuli[0], raw=raw),)), held
    return replace(run, stimuli=run.stimuli[:before]), held


def _walked(asking: Asking, output: Output, item: Input, befores: list[str]) -> Iterator[Try]:
    """Give runs into each state of the hazard's region that a short walk finds."""
    part = cone(asking.model, outputs=(output.name,)).model
    owner = asking.model.owner[output.name]
    runs = walked(asking, part, may_stall=False)
    ends = [
        runs[mark]
        for mark in runs
        if isinstance(mark, tuple) and mark[0] == "state" and mark[1] == owner
    ]
    number = part.input_index[item.name]
    tries = (
        (part, run, held)
        for run, before in product(ends, befores)
        for held in _ways_to_hold(part, {number: before})
    )
    yield from islice(tries, MOST_TRIED)


def _found(
    asking: Asking, watch: Watch, output: Output, seen: tuple[Condition, ...]
) -> Iterator[tuple[Model, Run]]:
    """Find runs that break a watch of what people leave alone."""
    return asking.reach_each(
        Question(watches=(watch,), conditions=seen, may_stall=True),
        lambda _: lambda at: at.watch[0] == BREACH,
        conditions=seen,
        outputs=(output.name,),
    )


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
    turned = {item.name: values[1]} if item.name in quiet else {}
    hands = Hands({**released, **turned}, quiet - {item.name})
    return may_start(model, output, hands) and all(
        may_turn_on(here, item, values, released, quiet) for here in quiets_of(asking, output)
    )


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
    if not _may_restart(asking, output, interlock):
        return None
    stops = [*islice(_stops(asking, output, interlock), MOST_STOPS)]
    if not stops:
        return None
    if not asking.faults and interlock.when is not None:
        budget = asking.budget.share()
        for part, stopped in stops:
            for held in _ways_to_clear(part, stopped, interlock):
                found = clear(budget, part, stopped, held, interlock.when, output.name)
                if found is not None:
                    return asking.whole(part, found)
    raise LimitError("what starts by itself", "not shown whether clearing an interlock does")


def _stops(asking: Asking, output: Output, interlock: Transition) -> Iterator[tuple[Model, Run]]:
    """Give runs that end as the interlock stops a hazard which starts again once it is cleared.

    None at all shows that it never does so by itself. Raises LimitError.
    """
    model = asking.model
    named, loose = _named([interlock.when]), on_lines(asking.faults)
    people = [item for item in _asked_people(asking, output) if item.name not in loose]
    held = [item for item in people if item.role is Role.HOLD_TO_RUN]
    others = [item for item in people if item.name not in named and item not in held]
    watch = Cleared(
        output,
        model.output_index[output.name],
        model.owner[output.name],
        interlock,
        left_alone(others),
        tuple(told_later(model, others)),
        tuple(turned_by_people(item) for item in people if item.name in named)[:MOST_NAMED],
        let_go(held),
    )
    seen = (
        left_alone(others),
        *(condition for condition, _ in watch.told),
        *watch.turns,
        watch.let_go,
        *([] if interlock.when is None else [interlock.when]),
    )
    for part, run in _found(asking, watch, output, seen):
        stop = _last_stop(part, run, output, interlock)
        yield part, replace(run, stimuli=run.stimuli[: stop + 1])


def _last_stop(model: Model, run: Run, output: Output, interlock: Transition) -> int:
    """Give the last loop of a run in which an interlock is taken and a hazard comes to rest."""
    at, region = model.output_index[output.name], model.region_index[model.owner[output.name]]
    found = 0
    before = output.rest
    for number, view in enumerate(replay(model, run)):
        fired = view.state.regions[region].fired
        way = None if fired is None else fired.transition
        now = view.state.outputs[at]
        if way is not None and way.number == interlock.number and before != output.rest == now:
            found = number
        before = now
    return found


def _may_restart(asking: Asking, output: Output, interlock: Transition) -> bool:
    model = asking.model
    loose = on_lines(asking.faults)
    let_go = {
        item.name: item.values[0]
        for item in model.inputs
        if item.role is Role.HOLD_TO_RUN and item.name in _people(model) - loose
    }
    quiet = _people(model) - loose - _named([interlock.when]) - set(let_go)
    hands = Hands({}, quiet, let_go)
    at_once = frozenset(name for name in quiet if not longest_filter(model, name))
    return may_start(model, output, Hands({}, at_once, let_go)) and all(
        may_start_after(here, interlock, hands) for here in quiets_of(asking, output)
    )


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


# --- Small --------------------------------------------------------------------------------------


def _named(conditions: Iterable[Condition | None]) -> set[str]:
    return {
        atom.name
        for condition in conditions
        for atom in atoms(condition)
        if not isinstance(atom, InState | Compare)
    }


def _asked_people(asking: Asking, output: Output) -> list[Input]:
    """List the inputs that people move and that a hazard can depend on."""
    part = cone(asking.model, outputs=(output.name,)).model
    return [item for item in part.inputs if item.name in _people(part)]


def _people(model: Model) -> frozenset[str]:
    """Name the inputs that no mechanism ever forces."""
    return frozenset(model.input_index) - model.moved


def on_lines(faults: tuple[Fault, ...]) -> set[str]:
    return {name for fault in faults for name in touched(fault)}
