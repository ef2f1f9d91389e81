"""What each mark takes: where a part must be, and under which condition.

It knows the model alone, and not how far anything is from there.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from behaviour.explore.walking.marks import Mark, Sought
from behaviour.model import (
    Action,
    AddTo,
    And,
    Compare,
    Condition,
    Counter,
    Model,
    Not,
    Part,
    Region,
    SetTo,
    Transition,
)


@dataclass(frozen=True, slots=True, eq=False)
class Goal:
    """A region or mechanism (`part`) in a state, and a condition, under which a mark is near.

    `way` is the transition that then meets it, with `also` due in the same loop; `past` is so for a
    counter that it takes past a bound.
    """

    mark: Mark
    part: str
    state: int | None
    when: Condition | None = None
    way: Transition | None = None
    past: Compare | None = None
    also: Transition | None = None


def goals_of(model: Model, sought: Iterable[Sought] = ()) -> Iterator[Goal]:
    """List what each mark takes; a counter may be taken past a bound by several transitions."""
    for each in sought:
        if each.ways is None:
            yield Goal(each.mark, each.region, None, each.when)
            continue
        first, second = each.ways
        source = first.source if first.source is not None else second.source
        when = unhindered(model.region[each.region], first)
        both = when if second.when is None else And((when, second.when))
        yield Goal(each.mark, each.region, source, both, first, also=second)
    for region in model.regions:
        for state in region.states:
            yield Goal(("state", region.name, state.number), region.name, state.number)
        for way in region.transitions():
            when = unhindered(region, way)
            yield Goal(("taken", region.name, way.number), region.name, way.source, when, way)
            for action in way.does:
                mark: Mark = ("beyond", action.counter)
                past = _past(model.counter[action.counter], action)
                yield Goal(mark, region.name, way.source, when, way, past)
    for mechanism in model.mechanism:
        for standing in mechanism.states:
            yield Goal(("stands", mechanism.name, standing.number), mechanism.name, standing.number)
        for movement in mechanism.movements():
            ended: Mark = ("ended", mechanism.name, movement.number)
            yield Goal(ended, mechanism.name, movement.source, movement.during)


def before_each(model: Model, goals: Iterable[Goal]) -> dict[Goal, set[Mark]]:
    """Map each goal to the marks to be met before it is gone for.

    That is the state that it is met in, and for a state whatever leads into it.
    """
    into: dict[tuple[str, int], set[Mark]] = {}
    for region in model.regions:
        for way in region.transitions():
            if isinstance(way.target, int):
                for state in region.path(region.leaf(way.target)):
                    marks = into.setdefault((region.name, state), set())
                    marks.add(("taken", region.name, way.number))
    for mechanism in model.mechanism:
        for movement in mechanism.movements():
            marks = into.setdefault((mechanism.name, movement.target), set())
            marks.add(("ended", mechanism.name, movement.number))
    found: dict[Goal, set[Mark]] = {}
    for goal in goals:
        if goal.state is None:
            found[goal] = set()
        elif goal.mark[0] in ("state", "stands"):
            found[goal] = into.get((goal.part, goal.state), set())
        else:
            kind = "state" if goal.part in model.region_index else "stands"
            found[goal] = {(kind, goal.part, goal.state)}
    return found


def unhindered(region: Region, way: Transition) -> Condition:
    """Add to a transition's condition that none of its state holds that comes before it.

    Of that one's condition the parts are left out that stand in this one's too, and so hold.
    """
    own = _conjuncts(way.when)
    before = []
    for other in region.states[way.source].leave if way.source is not None else ():
        is_before = way.part is Part.END or other.number < way.number
        rest = tuple(part for part in _conjuncts(other.when) if part not in own)
        if is_before and other.after is None and rest:
            before.append(Not(And(rest)))
    return And((*own, *before))


def _conjuncts(condition: Condition | None) -> tuple[Condition, ...]:
    match condition:
        case None:
            return ()
        case And(parts=parts):
            return tuple(inner for part in parts for inner in _conjuncts(part))
        case _:
            return (condition,)


def _past(counter: Counter, action: Action) -> Compare:
    """Give the comparison that is true where an action takes a counter past a bound."""
    match action:
        case AddTo(amount=amount) if amount < 0:
            return Compare(counter.name, "<", counter.low - amount)
        case AddTo(amount=amount):
            return Compare(counter.name, ">", counter.high - amount)
        case SetTo(value=value) if counter.low <= value <= counter.high:
            return Compare(counter.name, "<", counter.low)
        case SetTo():
            return Compare(counter.name, ">=", counter.low)
