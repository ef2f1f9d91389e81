"""Whether a run ends in what a finding says of it, judged by playing it and by nothing else.

A story alone cannot show that something never comes about: of that it says nothing (None).
"""

from collections.abc import Callable, Iterable, Iterator, Sequence

from behaviour.check.deafness import deaf_waits
from behaviour.check.judging import breaches, pending
from behaviour.check.races import rival_pairs
from behaviour.check.roles.claimed import ends_in_role
from behaviour.explore.canonical import canonical_prop, ceilings, own_conditions
from behaviour.findings import Run
from behaviour.model import (
    Condition,
    Counter,
    Model,
    Output,
    Part,
    Region,
    Role,
    Rule,
    Scope,
    State,
    Transition,
    WayBack,
    Whenever,
)
from behaviour.semantics import (
    acted,
    candidates,
    is_due,
    is_open,
    later,
    looked_at,
    loops_of,
    states_left,
)
from behaviour.story import LoopView, Views, replay

MOST_LOOPS = 200_000
"""How many loops a round is played on before it is given up to show that it goes on for ever."""


def ends_in(model: Model, name: str, rule: str | None, run: Run) -> bool | None:
    """Tell whether a run ends in the breach of a finding called `name`, of `rule` if it is one.

    None where no story alone can show it. Raises NotKnownError where the file leaves open what is
    needed, and KeyError where it has no such rule.
    """
    if name in ("rule-broken", "sensing-too-slow"):
        return _breaks_rule(model, {each.name: each for each in model.rules}[rule or ""], run)
    views = replay(model, run)
    if name in ENDLESS:
        return any(True for _ in ENDLESS[name](model, run))
    if name in AT_THE_END:
        return any(True for _ in AT_THE_END[name](model, views))
    return ends_in_role(model, name, run, views)


def _breaks_rule(model: Model, rule: Rule, run: Run) -> bool | None:
    match rule.requirement:
        case WayBack():
            return None
        case Whenever(limit=None) as whenever:
            return stays_unanswered(model, whenever, rule.scope, run)
        case requirement:
            return run.breach in breaches(model, requirement, replay(model, run), rule.scope)


# --- At the end of a run ------------------------------------------------------------------------


def taken_beyond(model: Model, views: Sequence[LoopView]) -> Iterator[tuple[Counter, int]]:
    """List each counter that the last loop would take past a bound, and where it would take it."""
    if views[-1].loop == 0:
        return
    counts = list(views[-2].state.counters)
    for region in views[-1].state.regions:
        way = region.fired.transition if region.fired is not None else None
        for action in () if way is None else way.does:
            at = model.counter_index[action.counter]
            counter, wanted = model.counters[at], acted(action, counts[at])
            counts[at] = min(max(wanted, counter.low), counter.high)
            if counts[at] != wanted:
                yield counter, wanted


def moves_untouched(model: Model, views: Sequence[LoopView]) -> Iterator[Output]:
    """List the hazards away from rest at the end of a run in which people change nothing."""
    if is_untouched(model, views):
        yield from _hazards_away(model, views[-1])


def reversals(model: Model, views: Sequence[LoopView]) -> Iterator[tuple[Output, int, int]]:
    """List each motor that the last loop reverses, with the loops at rest, and those of its pause.

    Only those that come too early.
    """
    for at, output in enumerate(model.outputs):
        if output.kind != "motor" or output.pause is None:
            continue
        now = views[-1].state.outputs[at]
        driven = [view for view in views[:-1] if view.state.outputs[at] != output.rest]
        if not driven or now in (output.rest, driven[-1].state.outputs[at]):
            continue
        rested = views[-1].loop - driven[-1].loop - 1
        pause = loops_of(model, output.pause)
        if rested < pause:
            yield output, rested, pause


def cut_short(model: Model, views: Sequence[LoopView]) -> Iterator[tuple[Output, str, int]]:
    """List each output whose value the last loop ends before its `least`, and how long it was.

    What an interlock ends may be short, and rest at power-up has lasted long enough.
    """
    for at, output in enumerate(model.outputs):
        if output.least is None or len(views) == 1:
            continue
        values = [view.state.outputs[at] for view in views]
        was = values[-2]
        lasted = next((n for n, value in enumerate(reversed(values[:-1])) if value != was), None)
        if was == values[-1] or (lasted is None and was == output.rest):
            continue
        loops = len(values) - 1 if lasted is None else lasted
        if loops < loops_of(model, output.least) and not _is_interlocked(model, output, views[-1]):
            yield output, was, loops


def _is_interlocked(model: Model, output: Output, view: LoopView) -> bool:
    way = view.state.regions[model.region_index[model.owner[output.name]]].taken
    return way is not None and way.part is Part.INTERLOCK


def is_untouched(model: Model, views: Sequence[LoopView]) -> bool:
    """Tell whether each input reads the same all along, wherever no mechanism forces it."""
    for at, item in enumerate(model.inputs):
        read = {view.stimulus.raw[at] for view in views if item.name not in _forced(model, view)}
        if len(read) > 1:
            return False
    return True


def _forced(model: Model, view: LoopView) -> set[str]:
    return {
        name
        for mechanism, state in zip(model.mechanism, view.stimulus.mechanism, strict=True)
        for name, _ in mechanism.states[state].reads
    }


def _hazards_away(model: Model, view: LoopView) -> Iterator[Output]:
    for output, value in zip(model.outputs, view.state.outputs, strict=True):
        if output.hazard and value != output.rest:
            yield output


def passed_over(model: Model, views: Sequence[LoopView]) -> Iterator[tuple[Transition, Transition]]:
    """List each transition that the last loop takes, with one after it that was due as well."""
    if len(views) == 1:
        return
    before, now = views[-2].state, views[-1].state
    look = looked_at(model, before, now)
    for region, was, then in zip(model.regions, before.regions, now.regions, strict=True):
        taken = then.taken
        if taken is None:
            continue
        ready = later(was, 1)
        open_ways = [
            way
            for way in candidates(region, was.leaf, was.cue)
            if isinstance(way, Transition) and is_open(region, was.leaf, way)
        ]
        for winner, loser in rival_pairs(model, region):
            if (
                winner.number == taken.number
                and any(loser.number == way.number for way in open_ways)
                and is_due(model, region, ready, loser)
                and look.holds(loser.when)
            ):
                yield winner, loser


def entered_late(model: Model, views: Sequence[LoopView]) -> Iterator[tuple[State, str, str]]:
    """List each state that the last loop enters when the change that it waits for has been."""
    now = views[-1].state
    for at, region in enumerate(model.regions):
        for number in _entered(region, views, at):
            for name, value in deaf_waits(model, region, number):
                if now.inputs[model.input_index[name]].steady == value:
                    yield region.states[number], name, value


def _entered(region: Region, views: Sequence[LoopView], at: int) -> tuple[int, ...]:
    """List the states of a region that the last loop enters."""
    now = views[-1].state.regions[at]
    path = region.path(now.leaf)
    if len(views) == 1:
        return path
    way = now.taken
    if way is None or not isinstance(way.target, int):
        return ()
    before = region.path(views[-2].state.regions[at].leaf)
    left = states_left(region, views[-2].state.regions[at].leaf, way.target)
    return path[len(before) - len(left) :]


# --- Rounds -------------------------------------------------------------------------------------


def stays_away(model: Model, run: Run) -> Iterator[Output]:
    """List the hazards that an endless run leaves away from rest, with everybody standing still."""
    round_views = endless(model, run)
    if round_views:
        for at, output in enumerate(model.outputs):
            if output.hazard and all(v.state.outputs[at] != output.rest for v in round_views):
                yield output


def goes_round(model: Model, run: Run) -> Iterator[Region]:
    """List the regions that go from state to state for ever, with everybody standing still."""
    round_views = endless(model, run)
    for at, region in enumerate(model.regions):
        fired = [view.state.regions[at].fired for view in round_views]
        ways = [each.transition for each in fired if each is not None]
        if any(way is not None and way.target is not None for way in ways):
            yield region


def endless(model: Model, run: Run) -> Sequence[LoopView]:
    """Play the round of an endless run until nothing new can come, and give what happens in it.

    Empty if somebody does something in it, or if it is not shown that it goes on for ever.
    """
    views = _gone_round(model, run, ())
    if views is None:
        return ()
    round_views = views.happenings(run.repeats_from or 0)
    stands_still = is_untouched(model, round_views) and _is_let_go(model, round_views)
    return round_views if stands_still else ()


def stays_unanswered(model: Model, rule: Whenever, scope: Scope | None, run: Run) -> bool:
    """Tell whether an endless run leaves something unanswered in every loop of its round."""
    within = () if scope is None else (scope.condition,)
    views = _gone_round(model, run, (rule.trigger, rule.response, *within))
    return views is not None and all(pending(model, rule, views, scope)[run.repeats_from :])


def _gone_round(model: Model, run: Run, conditions: Iterable[Condition]) -> Views | None:
    """Play a run and its round until nothing new can come; None if that is not shown."""
    if run.repeats_from is None or not 0 <= run.repeats_from < len(run.stimuli):
        return None
    again = run.stimuli[run.repeats_from :]
    longest = ceilings(model, (*own_conditions(model), *conditions))
    views, met = Views(model, run), set()
    here = canonical_prop(model, views[-1].state, longest)
    while here not in met and len(views) < MOST_LOOPS:
        met.add(here)
        views.go_on(again)
        here = canonical_prop(model, views[-1].state, longest)
    return views if here in met else None


def _is_let_go(model: Model, views: Sequence[LoopView]) -> bool:
    return all(
        item.role is not Role.HOLD_TO_RUN
        or item.name in _forced(model, view)
        or view.stimulus.raw[at] == item.values[0]
        for view in views
        for at, item in enumerate(model.inputs)
    )


ENDLESS: dict[str, Callable[[Model, Run], Iterator[object]]] = {
    "runaway": stays_away,
    "self-running": goes_round,
}

AT_THE_END: dict[str, Callable[[Model, Sequence[LoopView]], Iterator[object]]] = {
    "moves-at-power-up": moves_untouched,
    "reverses-at-once": reversals,
    "out-of-range": taken_beyond,
    "too-quick": cut_short,
    "order-matters": passed_over,
    "deaf": entered_late,
}
