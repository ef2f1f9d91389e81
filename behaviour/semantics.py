"""One loop of a prop, once and for all. It knows not who is asking.

Strategy: `power_up` is loop 0 and `step` every later one, in the order of the design: read, look,
choose, move, drive. Everything is counted in whole loops. Each clock is 0 in the loop of the
change or entry and grows by `loops` at the beginning of each later loop.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from functools import partial
from typing import NamedTuple, assert_never

from behaviour.model import (
    AddTo,
    And,
    Becomes,
    Chance,
    Compare,
    Condition,
    Done,
    HeldFor,
    Input,
    InState,
    Is,
    Model,
    Not,
    Or,
    Part,
    Region,
    SetTo,
    State,
    Time,
    Transition,
    Unknown,
)

Draws = Mapping[tuple[str, int], int]
"""The time drawn, in loops, by (region, number) of each transition with a random time or move."""


class NotKnownError(ValueError):
    """The file leaves a value open that this loop needs; `what` names it."""

    def __init__(self, unknown: Unknown) -> None:
        super().__init__(f"`{unknown.what}` is not known yet")
        self.what = unknown.what


class InputState(NamedTuple):
    """One input: what is read now, and what counts.

    `run` is the loops since raw changed to what it reads; `since` the loops since `steady` did.
    """

    steady: str
    raw: str
    run: int
    since: int
    became: bool


_reading = partial(tuple.__new__, InputState)
"""Makes an input's state of all that is in it: so many are made that it is felt."""


class Fired(NamedTuple):
    """What a region did in a loop: the transition taken, or None for a cue."""

    transition: Transition | None


class RegionState(NamedTuple):
    """Where one region is. `timers` runs along the path to `leaf`, outermost first.

    `cue` counts the cues that the leaf has fired; `draws` holds (transition or move, loops) of the
    active states; `fired` is what happened in this loop, if anything.
    """

    leaf: int
    cue: int
    timers: tuple[int, ...]
    draws: tuple[tuple[int, int], ...]
    fired: Fired | None

    @property
    def taken(self) -> Transition | None:
        """Give the transition that was taken in this loop, if one was; a cue is none."""
        return None if self.fired is None else self.fired.transition


class PropState(NamedTuple):
    """The prop as a loop leaves it, in the order of the model's parts.

    `beyond` names the counters that this loop would have taken past a bound and held there, `done`
    the motors whose move by distance had ended as it read its inputs.
    """

    inputs: tuple[InputState, ...]
    counters: tuple[int, ...]
    regions: tuple[RegionState, ...]
    outputs: tuple[str, ...]
    beyond: tuple[str, ...] = ()
    done: tuple[str, ...] = ()


def power_up(model: Model, raw: Sequence[str], draws: Draws) -> PropState:
    """Give loop 0. `raw` has one reading for each input, in the model's order.

    Raises NotKnownError where the file leaves open what is needed.
    """
    inputs = tuple(
        first_reading(model, item, value) for item, value in zip(model.inputs, raw, strict=True)
    )
    counters = tuple(counter.begins for counter in model.counters)
    begin = tuple(_enter(region, region.leaf(region.begins)) for region in model.regions)
    look = Look(model, inputs, counters, tuple(state.leaf for state in begin))
    regions = []
    for region, state in zip(model.regions, begin, strict=True):
        fired = next(
            (
                way
                for way in _interlocks(region, state.leaf)
                if is_open(region, state.leaf, way) and look.holds(way.when)
            ),
            None,
        )
        at = state.leaf if fired is None else region.leaf(_target(fired))
        happened = None if fired is None else Fired(fired)
        regions.append(_draw(model, region, _enter(region, at), 0, draws)._replace(fired=happened))
    rest = tuple(output.rest for output in model.outputs)
    return PropState(inputs, counters, tuple(regions), _drive(model, regions, rest))


def step(
    model: Model, state: PropState, raw: Sequence[str], draws: Draws, loops: int = 1
) -> PropState:
    """Give the next loop, which begins `loops` loop times after the last one did.

    Raises NotKnownError where the file leaves open what is needed.
    """
    inputs = tuple(
        [
            next_reading(model, item, last, value, loops)
            for item, last, value in zip(model.inputs, state.inputs, raw, strict=True)
        ]
    )
    leaves = tuple([region.leaf for region in state.regions])
    counted = tuple([later(last, loops) for last in state.regions])
    done = motors_done(model, counted)
    look = Look(model, inputs, state.counters, leaves, done=done)
    counters, beyond, regions = list(state.counters), [], []
    for region, now in zip(model.regions, counted, strict=True):
        fired = _choose(model, region, now, look)
        if fired is not None and fired.transition is not None:
            beyond += _act(model, fired.transition, counters)
        regions.append(_move(model, region, now, fired, draws))
    outputs = _drive(model, regions, state.outputs)
    return PropState(inputs, tuple(counters), tuple(regions), outputs, tuple(beyond), done)


def later(last: RegionState, loops: int) -> RegionState:
    """Give a region as the next loop looks at it, so many loop times after the last one."""
    leaf, cue, timers, draws, _ = last
    return RegionState(leaf, cue, tuple([timer + loops for timer in timers]), draws, None)


# --- Read ---------------------------------------------------------------------------------------


def first_reading(model: Model, item: Input, raw: str, *, presume: bool = True) -> InputState:
    """Read an input in loop 0; with `presume` a guard or stop is not safe before it was steady."""
    steady = raw
    if (
        presume
        and item.presumed is not None
        and raw == item.safe
        and filter_loops(model, item, raw)
    ):
        steady = item.presumed
    return InputState(steady, raw, 0, 0, became=False)


def next_reading(model: Model, item: Input, last: InputState, raw: str, loops: int) -> InputState:
    """Read an input in a later loop. Skipped loops count only if both samples agree."""
    steady, before, ran, since, _ = last
    run = ran + loops if raw == before else 0
    if raw != steady and run >= filter_loops(model, item, raw):
        return _reading((raw, raw, run, 0, True))
    return _reading((steady, raw, run, since + loops, False))


def filter_loops(model: Model, item: Input, value: str) -> int:
    """Count the loops before this one in which raw must have read `value` for it to count."""
    return loops_of(model, item.steady[item.values.index(value)])


# --- Look ---------------------------------------------------------------------------------------


class Look(NamedTuple):
    """What a condition is judged on. Rules and the world also see what is below `leaves`.

    `outputs_before` are the outputs of the loop before, for `becomes` of an output; `mechanism`
    holds the state number of each mechanism region; `done` names the motors whose move has ended,
    as the loop reads it.
    """

    model: Model
    inputs: tuple[InputState, ...]
    counters: tuple[int, ...]
    leaves: tuple[int, ...]
    outputs: tuple[str, ...] = ()
    outputs_before: tuple[str, ...] = ()
    mechanism: tuple[int, ...] = ()
    done: tuple[str, ...] = ()

    def holds(self, condition: Condition | None) -> bool:
        """Judge a condition; none at all holds."""
        return condition is None or _judge_of(self.model, condition)(self)


Judge = Callable[[Look], bool]


def _judge_of(model: Model, condition: Condition) -> Judge:
    """Give what judges a condition, made once."""
    key = ("judge", id(condition))
    known: tuple[Condition, Judge] | None = model.worked_out.get(key)
    if known is None:
        known = model.worked_out[key] = (condition, _judge(model, condition))
    return known[1]


def _judge(model: Model, condition: Condition) -> Judge:
    """Make what judges a condition: what each part of the language means."""
    match condition:
        case And(parts=parts):
            return _judge_several(tuple(_judge(model, part) for part in parts), until=False)
        case Or(parts=parts):
            return _judge_several(tuple(_judge(model, part) for part in parts), until=True)
        case Not(part=part):
            judge = _judge(model, part)
            return lambda look: not judge(look)
        case Is() | Becomes() | HeldFor():
            return _judge_value(model, condition)
        case Compare(name=name, sign=sign, number=number):
            at = model.counter_index[name]
            return lambda look: compare(look.counters[at], sign, number)
        case InState(region=name, state=state, negated=negated):
            if name in model.region_index:
                at, region = model.region_index[name], model.region[name]
                inside = {s.number for s in region.states if region.contains(state, s.number)}
                return lambda look: (look.leaves[at] in inside) != negated
            at = model.mechanism_index[name]
            return lambda look: (look.mechanism[at] == state) != negated
        case Done(name=name, negated=negated):
            return lambda look: (name in look.done) != negated
        case _:
            assert_never(condition)


def _judge_several(judges: tuple[Judge, ...], *, until: bool) -> Judge:
    """Make what judges one after the other, until one comes out so."""

    def judge(look: Look) -> bool:
        for each in judges:
            if each(look) is until:
                return until
        return not until

    return judge


def _judge_value(model: Model, atom: Is | Becomes | HeldFor) -> Judge:
    """Make what judges the value of an input or output."""
    is_input = atom.name in model.input_index
    at = (model.input_index if is_input else model.output_index)[atom.name]
    match atom:
        case Is(values=values, negated=negated) if is_input:
            return lambda look: (look.inputs[at].steady in values) != negated
        case Is(values=values, negated=negated):
            return lambda look: (look.outputs[at] in values) != negated
        case Becomes(value=value) if is_input:
            return lambda look: look.inputs[at].became and look.inputs[at].steady == value
        case Becomes(value=value):
            return lambda look: look.outputs[at] == value != look.outputs_before[at]
        case HeldFor(value=value, time=time):
            if isinstance(time, Unknown):
                return lambda look: look.inputs[at].steady == value and loops_of(model, time) < 0
            least = loops_of(model, time)
            return lambda look: look.inputs[at].steady == value and look.inputs[at].since >= least


def look_back(model: Model, state: PropState, mechanism: tuple[int, ...] = ()) -> Look:
    """Give what the world is judged on once a loop has left the prop in `state`."""
    leaves = tuple([region.leaf for region in state.regions])
    outputs = state.outputs
    return Look(
        model, state.inputs, state.counters, leaves, outputs, outputs, mechanism, state.done
    )


def looked_at(model: Model, before: PropState, after: PropState) -> Look:
    """Give what regions judged on in the loop between two states: its inputs, and what it found."""
    leaves = tuple([region.leaf for region in before.regions])
    return Look(model, after.inputs, before.counters, leaves, done=after.done)


def compare(left: int, sign: str, right: int) -> bool:
    """Compare two whole numbers by a sign of the language."""
    match sign:
        case "=":
            return left == right
        case "!=":
            return left != right
        case "<":
            return left < right
        case "<=":
            return left <= right
        case ">":
            return left > right
        case _:
            return left >= right


# --- Choose -------------------------------------------------------------------------------------


class _Candidate(NamedTuple):
    """What a region may do from a leaf, and from which loop on the timer at `depth` it is due.

    None where that is drawn, or where the file leaves something open.
    """

    way: "Transition | NextCue"
    fired: Fired
    depth: int
    due: int | None
    judge: Judge | None


def _choose(model: Model, region: Region, now: RegionState, look: Look) -> Fired | None:
    for way, fired, depth, due, judge in _open_candidates(model, region, now.leaf, now.cue):
        if due is not None:
            if now.timers[depth] < due:
                continue
        elif isinstance(way, NextCue):
            if now.timers[-1] < loops_of(model, way.at):
                continue
        else:
            if isinstance(way.target, Unknown):
                _target(way)
            if not is_due(model, region, now, way):
                continue
        if judge is None or judge(look):
            return fired
    return None


def _open_candidates(model: Model, region: Region, leaf: int, cue: int) -> Sequence[_Candidate]:
    """List what may be looked at from a leaf, and what leads nobody knows where."""
    key = ("ways", region.name, leaf, cue)
    known: tuple[_Candidate, ...] | None = model.worked_out.get(key)
    if known is None:
        known = tuple(
            _candidate(model, region, leaf, way)
            for way in candidates(region, leaf, cue)
            if isinstance(way, NextCue)
            or isinstance(way.target, Unknown)
            or is_open(region, leaf, way)
        )
        model.worked_out[key] = known
    return known


def _candidate(model: Model, region: Region, leaf: int, way: "Transition | NextCue") -> _Candidate:
    if isinstance(way, NextCue):
        due = None if isinstance(way.at, Unknown) else loops_of(model, way.at)
        return _Candidate(way, Fired(None), -1, due, None)
    depth = 0
    time: Time | None = 0
    if way.part is Part.END:
        depth, time = -1, region.states[leaf].cues[-1].at
    elif way.after is not None and way.source is not None:
        depth = region.path(leaf).index(way.source)
        time = way.after.low if way.after.low == way.after.high else None
    is_open_yet = isinstance(way.target, Unknown)
    due = loops_of(model, time) if isinstance(time, int) and not is_open_yet else None
    judge = None if way.when is None else _judge_of(model, way.when)
    return _Candidate(way, Fired(way), depth, due, judge)


class NextCue(NamedTuple):
    """The moment at which a leaf's next cue is due, counted from entering it."""

    at: Time


def candidates(region: Region, leaf: int, cue: int) -> tuple[Transition | NextCue, ...]:
    """List what a region may do from a leaf that has fired `cue` cues, in order of priority.

    The last cue, where the state has an end, stands as that end's transition.
    """
    found: list[Transition | NextCue] = list(_interlocks(region, leaf))
    for number in reversed(region.path(leaf)):
        state = region.states[number]
        found += state.leave
        if cue < len(state.cues):
            is_end = cue == len(state.cues) - 1 and state.end is not None
            found.append(state.end if is_end and state.end else NextCue(state.cues[cue].at))
    return tuple(found)


def _interlocks(region: Region, leaf: int) -> tuple[Transition, ...]:
    found = list(region.interlocks)
    for number in region.path(leaf):
        found += region.states[number].interlocks
    return tuple(found)


def is_open(region: Region, leaf: int, way: Transition) -> bool:
    """Tell whether a transition may be looked at from `leaf` at all.

    An interlock whose target is active is passed over, and nothing leaves a lockout.
    """
    if way.target is None:
        return True
    target = _target(way)
    path = region.path(leaf)
    if way.part is Part.INTERLOCK and target in path:
        return False
    return not region.lockouts or region.lockouts.isdisjoint(states_left(region, leaf, target))


def states_left(region: Region, leaf: int, target: int) -> tuple[int, ...]:
    """List the active states that going to `target` leaves: it, and all that do not contain it."""
    around = region.path(target)
    return tuple([n for n in region.path(leaf) if n == target or n not in around])


def is_due(model: Model, region: Region, now: RegionState, way: Transition) -> bool:
    """Tell whether the time of a transition is up, by timers that have counted this loop."""
    if way.part is Part.END:
        return now.timers[-1] >= loops_of(model, region.states[now.leaf].cues[-1].at)
    if way.after is None:
        return True
    timer = now.timers[region.path(now.leaf).index(way.source)] if way.source is not None else 0
    if way.after.low == way.after.high:
        return timer >= loops_of(model, way.after.low)
    return timer >= dict(now.draws)[way.number]


# --- Move ---------------------------------------------------------------------------------------


def _act(model: Model, way: Transition, counters: list[int]) -> list[str]:
    """Run `do` on `counters`, hold each at its bounds, and name those that were held."""
    beyond = []
    for action in way.does:
        at = model.counter_index[action.counter]
        wanted = acted(action, counters[at])
        counter = model.counters[at]
        counters[at] = min(max(wanted, counter.low), counter.high)
        if counters[at] != wanted:
            beyond.append(counter.name)
    return beyond


def acted(action: AddTo | SetTo, value: int) -> int:
    """Give a counter's value after an action, before it is held at its bounds."""
    match action:
        case AddTo(amount=amount):
            return value + amount
        case SetTo(value=new):
            return new
        case _:
            assert_never(action)


def _move(
    model: Model, region: Region, now: RegionState, fired: Fired | None, draws: Draws
) -> RegionState:
    if fired is None:
        return now
    if fired.transition is None:
        return now._replace(cue=now.cue + 1, fired=fired)
    if fired.transition.target is None:
        done = 1 if fired.transition.part is Part.END else 0
        return now._replace(cue=now.cue + done, fired=fired)
    target = _target(fired.transition)
    left = states_left(region, now.leaf, target)
    path = region.path(now.leaf)
    kept = len(path) - len(left)
    entered = _enter(region, region.leaf(target))
    timers = now.timers[:kept] + entered.timers[kept:]
    moved = entered._replace(timers=timers, draws=now.draws, fired=fired)
    return _draw(model, region, moved, kept, draws)


def _enter(region: Region, leaf: int) -> RegionState:
    return RegionState(leaf, 0, (0,) * len(region.path(leaf)), (), None)


def _draw(model: Model, region: Region, state: RegionState, kept: int, draws: Draws) -> RegionState:
    """Draw the random times of the states entered, keep those of the `kept` outermost states."""
    path = region.path(state.leaf)
    held = dict(state.draws)
    drawn = []
    for depth, number in enumerate(path):
        for chance in region.chances(number):
            low, high = window_of(model, chance)
            key = (region.name, chance.number)
            loops = held[chance.number] if depth < kept else draws.get(key, low)
            if not low <= loops <= high:
                raise ValueError(f"{loops} loops were drawn where {low} to {high} may be")
            drawn.append((chance.number, loops))
    return state._replace(draws=tuple(drawn))


def window_of(model: Model, chance: Chance) -> tuple[int, int]:
    """Give the fewest and the most loops that may be drawn.

    Both ends of a random time are rounded up; a move ends in the world, and so is rounded outwards,
    but never in the loop in which it begins.
    """
    low, high = loops_of(model, chance.low), loops_of(model, chance.high)
    if not chance.is_move:
        return low, high
    if isinstance(chance.low, int):
        low = max(model.loops_down(chance.low), 1)
    return low, max(high, low)


# --- Drive --------------------------------------------------------------------------------------


def _drive(model: Model, regions: Sequence[RegionState], last: tuple[str, ...]) -> tuple[str, ...]:
    where = tuple(
        [
            (state.leaf, state.cue, moves_done(region, state) if state.draws else ())
            for region, state in zip(model.regions, regions, strict=True)
        ]
    )
    key = ("drive", where, last)
    known: tuple[str, ...] | None = model.worked_out.get(key)
    if known is None:
        sets: dict[str, str] = {}
        for region, (leaf, cue, done) in zip(model.regions, where, strict=True):
            sets.update(settings(region, leaf, cue, done))
        known = tuple(
            sets.get(output.name, before if output.keeps else output.rest)
            for output, before in zip(model.outputs, last, strict=True)
        )
        model.worked_out[key] = known
    return known


def settings(region: Region, leaf: int, cue: int, done: Collection[int] = ()) -> dict[str, str]:
    """Map each output that the active states set to its value; what is inner wins.

    `done` numbers the moves that have ended: they set nothing any more.
    """
    sets: dict[str, str] = {}
    for number in region.path(leaf):
        state: State = region.states[number]
        for setting in state.sets:
            sets[setting.output] = setting.value
            if setting.move is not None and setting.move.number in done:
                del sets[setting.output]
    for fired in region.states[leaf].cues[:cue]:
        sets.update({setting.output: setting.value for setting in fired.sets})
    return sets


def moves_done(region: Region, state: RegionState) -> tuple[int, ...]:
    """List by number the moves of the active states that have ended."""
    if not state.draws:
        return ()
    drawn = dict(state.draws)
    return tuple(
        chance.number
        for timer, number in zip(state.timers, region.path(state.leaf), strict=True)
        for chance in region.chances(number)
        if chance.is_move and timer >= drawn[chance.number]
    )


def done_next(model: Model, state: PropState, loops: int = 1) -> tuple[str, ...]:
    """Name the motors whose move has ended as the next loop looks at them."""
    return motors_done(model, tuple(later(region, loops) for region in state.regions))


def motors_done(model: Model, regions: Sequence[RegionState]) -> tuple[str, ...]:
    """Name the motors whose move has ended."""
    found: list[str] = []
    for region, state in zip(model.regions, regions, strict=True):
        if state.draws and (numbers := moves_done(region, state)):
            found += moved(region, state.leaf, numbers)
    return tuple(found)


def moved(region: Region, leaf: int, numbers: Collection[int]) -> list[str]:
    """Name the motors that some moves of the active states turn."""
    return [
        setting.output
        for number in region.path(leaf)
        for setting in region.states[number].sets
        if setting.move is not None and setting.move.number in numbers
    ]


# --- Small --------------------------------------------------------------------------------------


def loops_of(model: Model, time: Time) -> int:
    """Count a time in loops, rounded up. Raises NotKnownError where the file leaves it open."""
    if isinstance(time, Unknown):
        raise NotKnownError(time)
    return model.loops_up(time)


def _target(way: Transition) -> int:
    if isinstance(way.target, Unknown):
        raise NotKnownError(way.target)
    if way.target is None:
        raise ValueError("`stay` has no target")
    return way.target


def without_fired(state: PropState) -> PropState:
    """Forget what happened in the loop: what is left is all that the next loop depends on."""
    regions = tuple(region._replace(fired=None) for region in state.regions)
    inputs = tuple(item._replace(became=False) for item in state.inputs)
    return PropState(inputs, state.counters, regions, state.outputs)
