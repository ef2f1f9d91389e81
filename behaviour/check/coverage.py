"""What can come about at all: states entered, transitions taken, counters past their bounds, races.

One search a region answers for all of it: whatever is worth knowing of a loop is marked, and a
mark that no run meets never comes true.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import product

from behaviour.check.asking import Asking, Told, Verdicts, finding, where
from behaviour.explore.guards import atoms, count, strongest
from behaviour.explore.places import Way, spot
from behaviour.explore.reach import Covered, cover, cover_by
from behaviour.explore.search import LimitError
from behaviour.explore.situations import Mark, Moment, Question, Situation
from behaviour.explore.walking.marks import marks_of
from behaviour.findings import Finding, Label, Run, Severity
from behaviour.model import (
    And,
    Becomes,
    Condition,
    HeldFor,
    InState,
    Is,
    Mechanism,
    Model,
    Movement,
    Not,
    Or,
    Part,
    Region,
    Transition,
)
from behaviour.semantics import NotKnownError, compare, is_open, settings


@dataclass(frozen=True, slots=True)
class Marks:
    """Marks what is worth knowing of a region, or of the mechanisms, in a loop."""

    model: Model
    region: str

    def __call__(self, moment: Moment, to: Situation) -> Iterable[Mark]:
        at = moment.told.model.region_index[self.region]
        yield from self._plain(at, moment, to)
        way = moment.ways[at]
        if way is not None and way.transition is not None and moment.before is not None:
            yield from _races(self.model.region[self.region], self.model, at, way, moment)
            if _may_be_false(way):
                yield from _false_jams(at, way.transition, moment, to)

    def _plain(self, at: int, moment: Moment, to: Situation) -> Iterator[Mark]:
        region, way = self.model.region[self.region], moment.ways[at]
        if moment.before is None or (way is not None and way.restarts):
            path = region.path(to.places[at].leaf)
            entered = (
                path
                if moment.before is None
                else [path[d] for d in way.restarts if way]
                if way
                else []
            )
            for state in entered:
                yield Mark(("state", region.name, state))
                yield from _deaf(self.model, region, state, moment)
        if way is not None and way.transition is not None:
            yield Mark(("taken", region.name, way.transition.number))
        for counter in moment.beyond:
            yield Mark(("beyond", counter))


@dataclass(frozen=True, slots=True)
class MechanismMarks:
    """Marks where mechanisms stand, and which movements end."""

    model: Model

    def __call__(self, moment: Moment, to: Situation) -> Iterable[Mark]:
        for mechanism, standing in zip(self.model.mechanism, to.standings, strict=True):
            yield Mark(("stands", mechanism.name, standing.state))
        for mechanism, motion in zip(self.model.mechanism, moment.motions, strict=False):
            for movement in motion.ended:
                yield Mark(("ended", mechanism.name, movement.number))
                yield Mark(("stands", mechanism.name, movement.source))


CHECKS = {
    "state": "never-reached",
    "taken": "never-taken",
    "beyond": "out-of-range",
    "order": "order-matters",
    "deaf": "deaf",
    "false-jam": "false-jam",
}
"""The check that each kind of mark belongs to."""


def check_coverage(asking: Asking) -> Told:
    """Check what every region, counter and mechanism can come to, healthy and with a stall."""
    verdicts = {name: Verdicts(name) for name in CHECKS.values()}
    findings: list[Finding] = []
    for region in asking.model.regions:
        try:
            healthy = _covered(asking, region.name, may_stall=False)
            stalled = healthy
            if asking.model.mechanism:
                stalled = _covered(asking, region.name, may_stall=True, known=healthy.runs)
        except (NotKnownError, LimitError) as stop:
            for verdict in verdicts.values():
                verdict.leave_open(stop)
            continue
        for mark, limit in (*healthy.open.items(), *stalled.open.items()):
            if isinstance(mark, tuple) and mark not in stalled.runs:
                verdicts[CHECKS[mark[0]]].leave_open(limit)
        stalled.open.update(healthy.open)
        for each in _of_region(asking.model, region, healthy.runs, stalled):
            verdicts[each.kind.name].broken = True
            findings.append(each)
    findings += _of_mechanisms(asking, verdicts["never-reached"])
    return Told(tuple(v.verdict() for v in verdicts.values()), tuple(findings))


def _covered(
    asking: Asking, region: str, *, may_stall: bool, known: dict[object, Run] | None = None
) -> Covered:
    question = Question(observers=(Marks(asking.model, region),), may_stall=may_stall)
    lookout = asking.lookout(question, regions=(region,))
    drawn = list(asking.sketches(question, regions=(region,)))
    walked = asking.walked(lookout.model, may_stall=may_stall)
    runs = dict(known or {})
    for mark, run in walked.items():
        runs.setdefault(mark, asking.whole(lookout.model, run))

    def is_wanted(name: object) -> bool:
        return _is_wanted(name, may_stall=may_stall)

    if may_stall and all(m in runs for m in marks_of(asking.model) if _is_of(m, region)):
        return Covered(runs)
    covered = (
        cover_by(drawn, lookout, is_wanted, runs) if drawn else cover(lookout, is_wanted, runs)
    )
    for name, run in covered.runs.items():
        runs.setdefault(name, asking.whole(lookout.model, run))
    return Covered(runs, covered.open)


def _is_of(mark: tuple[str, str] | tuple[str, str, int], region: str) -> bool:
    """Tell whether a mark may be met by a region: its own states and transitions, or counters."""
    return mark[0] == "beyond" or (mark[0] in ("state", "taken") and mark[1] == region)


def _is_wanted(name: object, *, may_stall: bool) -> bool:
    return not may_stall or (isinstance(name, tuple) and name[0] in ("state", "taken", "beyond"))


# --- Races --------------------------------------------------------------------------------------


def _races(region: Region, model: Model, at: int, way: Way, moment: Moment) -> Iterator[Mark]:
    """Mark each later way that holds in the same loop, and would have done something else.

    `region` is as the file has it; in a search it may look at others only roughly.
    """
    winner = way.transition
    if winner is None or winner.part is Part.INTERLOCK or moment.before is None:
        return
    place = moment.before.places[at]
    after_winner = False
    ways = {way.number: way for way in region.transitions()}
    for other in spot(moment.told.model, at, place).ways:
        loser = other.transition
        if loser is winner:
            after_winner = True
            continue
        if not after_winner or loser is None or loser.part is Part.INTERLOCK:
            continue
        if (loser.target, loser.does) == (winner.target, winner.does):
            continue
        if implies(model, region, ways[winner.number], ways[loser.number]):
            continue
        for lows in moment.told.judge(other.when):
            bounds = lows
            if other.clock is not None and other.early > 1:
                bounds = strongest((*lows, (other.clock, other.early)))
            yield Mark(("order", region.name, winner.number, loser.number), bounds)


def implies(model: Model, region: Region, first: Transition, second: Transition) -> bool:
    """Tell whether the second holds whenever the first does: it is an 'otherwise'."""
    loops = _last_loop(model, region, second)
    if loops > 0:
        if first.after is None or first.source != second.source:
            return False
        if loops > count(model, first.after.low):
            return False
    if second.when is None:
        return True
    return all(
        _judged(second.when, case)
        for case in _cases(model, first.when, second.when)
        if _judged(first.when, case)
    )


def _last_loop(model: Model, region: Region, way: Transition) -> int:
    """Give the loop of its state by which the time of a transition is surely up."""
    if way.part is Part.END and way.source is not None:
        return count(model, region.states[way.source].cues[-1].at)
    return 0 if way.after is None else count(model, way.after.high)


Case = dict[object, object]


def _cases(model: Model, *conditions: Condition | None) -> Iterator[Case]:
    """List every case of the values, changes, counters and states that conditions name."""
    names: dict[object, list[object]] = {}
    held: dict[str, set[tuple[str, int]]] = {}
    for condition in conditions:
        for atom in atoms(condition):
            match atom:
                case Is(name=name) | Becomes(name=name):
                    names[name] = list(model.input[name].values)
                    names.setdefault(("edge", name), [False, True])
                case HeldFor(name=name, value=value, time=time):
                    names[name] = list(model.input[name].values)
                    names.setdefault(("edge", name), [False, True])
                    held.setdefault(name, set()).add((value, count(model, time)))
                case InState(region=region):
                    names[("in", region)] = [
                        s.number for s in model.region[region].states if not s.children
                    ]
                case _:
                    counter = model.counter[atom.name]
                    names[atom.name] = list(range(counter.low, counter.high + 1))
    for held_name, times in held.items():
        marks = sorted({loops for _, loops in times})
        names["age", held_name] = [0, *(m for loops in marks if loops for m in (loops - 1, loops))]
    keys = list(names)
    for values in product(*names.values()):
        case: Case = dict(zip(keys, values, strict=True))
        case["model"] = model
        yield case


def _judged(condition: Condition | None, case: Case) -> bool:
    match condition:
        case None:
            return True
        case And(parts=parts):
            return all(_judged(part, case) for part in parts)
        case Or(parts=parts):
            return any(_judged(part, case) for part in parts)
        case Not(part=part):
            return not _judged(part, case)
        case Is(name=name, values=values, negated=negated):
            return (case[name] in values) != negated
        case Becomes(name=name, value=value):
            return case[name] == value and bool(case[("edge", name)])
        case HeldFor(name=name, value=value, time=time):
            model, age = case["model"], case[("age", name)]
            if case[("edge", name)]:
                age = 0
            return (
                isinstance(model, Model)
                and isinstance(age, int)
                and case[name] == value
                and age >= count(model, time)
            )
        case InState(region=region, state=state, negated=negated):
            model, leaf = case["model"], case[("in", region)]
            return (
                isinstance(model, Model)
                and isinstance(leaf, int)
                and model.region[region].contains(state, leaf) != negated
            )
        case _:
            number = case[condition.name]
            return isinstance(number, int) and compare(number, condition.sign, condition.number)


# --- Deaf ---------------------------------------------------------------------------------------


def deaf_waits(model: Model, region: Region, state: int) -> list[tuple[str, str]]:
    """List (input, value) of the changes that are a leaf's only way out but by people."""
    moved = {name for mechanism in model.mechanism for s in mechanism.states for name, _ in s.reads}
    if region.states[state].children:
        return []
    path = region.path(state)
    ways = [*region.interlocks]
    for number in path:
        inner = region.states[number]
        ways += [*inner.interlocks, *inner.leave, *([inner.end] if inner.end else [])]
    ways = [way for way in ways if way.target is not None and is_open(region, state, way)]
    waits: list[tuple[str, str]] = []
    for waiting in region.states[state].leave:
        for atom in atoms(waiting.when):
            if not isinstance(atom, Becomes) or atom.name not in moved or waiting.target is None:
                continue
            if _holds_without(model, waiting.when, atom):
                continue
            others = [way for way in ways if way is not waiting]
            if all(_by_people(way, model, moved) for way in others):
                waits.append((atom.name, atom.value))
    return waits


def _holds_without(model: Model, when: Condition | None, edge: Becomes) -> bool:
    return any(
        _judged(when, case)
        for case in _cases(model, when)
        if not (case[("edge", edge.name)] and case[edge.name] == edge.value)
    )


def _by_people(way: Transition, model: Model, moved: set[str]) -> bool:
    return any(
        isinstance(atom, Is | Becomes | HeldFor)
        and atom.name in model.input_index
        and atom.name not in moved
        for atom in atoms(way.when)
    )


def _deaf(model: Model, region: Region, state: int, moment: Moment) -> Iterator[Mark]:
    for name, value in deaf_waits(model, region, state):
        seen = moment.told.look(model.input_index[name])
        if seen is None or seen.value == value:
            yield Mark(("deaf", region.name, state, name, value))


# --- False jams ---------------------------------------------------------------------------------


def _may_be_false(way: Way) -> bool:
    transition = way.transition
    return transition is not None and transition.after is not None and transition.target is not None


def _false_jams(at: int, taken: Transition, moment: Moment, to: Situation) -> Iterator[Mark]:
    """Mark a timeout that cuts off a movement under way, or one whose news is not in yet."""
    if moment.before is None:
        return
    model = moment.told.model
    region = model.regions[at]
    for number in region.path(moment.before.places[at].leaf):
        for waiting in region.states[number].leave:
            if waiting is taken or waiting.when is None:
                continue
            for name, values in _wanted_values(model, waiting.when):
                if _is_brought(model, region.name, name, values, moment, to):
                    yield Mark(("false-jam", region.name, taken.number))
                    return


def _wanted_values(
    model: Model, condition: Condition, *, negated: bool = False
) -> Iterator[tuple[str, frozenset[str]]]:
    """List each input that a condition waits for, with the values that would do."""
    match condition:
        case And(parts=parts) | Or(parts=parts):
            for part in parts:
                yield from _wanted_values(model, part, negated=negated)
        case Not(part=part):
            yield from _wanted_values(model, part, negated=not negated)
        case Is(name=name, values=values) if name in model.input_index:
            chosen = frozenset(values)
            turned = condition.negated != negated
            yield name, frozenset(model.input[name].values) - chosen if turned else chosen
        case Becomes(name=name, value=value) | HeldFor(name=name, value=value):
            every = frozenset(model.input[name].values)
            yield name, every - {value} if negated else frozenset((value,))
        case _:
            pass


def _is_brought(
    model: Model, region: str, name: str, values: frozenset[str], moment: Moment, to: Situation
) -> bool:
    number = model.input_index[name]
    seen = moment.told.look(number)
    before = None if moment.before is None else moment.before.readings[number]
    if seen is None or before is None or before.steady in values:
        return False
    for at, mechanism in enumerate(model.mechanism):
        for movement in mechanism.movements():
            brings = dict(mechanism.states[movement.target].reads).get(name)
            if brings not in values or not _is_owned(model, region, movement):
                continue
            standing = to.standings[at]
            if standing.state == movement.source and _is_under_way(model, at, movement, moment):
                return True
            if standing.state == movement.target and (seen.value not in values or seen.became):
                return True
    return False


def _is_owned(model: Model, region: str, movement: Movement) -> bool:
    return any(
        isinstance(atom, Is) and model.owner.get(atom.name) == region
        for atom in atoms(movement.during)
    )


def _is_under_way(model: Model, at: int, movement: Movement, moment: Moment) -> bool:
    if moment.before is None or moment.motions[at].ended:
        return False
    movements = model.mechanism[at].states[movement.source].movements
    return moment.before.standings[at].phases[movements.index(movement)].is_running


# --- Findings -----------------------------------------------------------------------------------


def _of_region(
    model: Model, region: Region, healthy: dict[object, Run], all_covered: Covered
) -> Iterator[Finding]:
    stalled = all_covered.runs
    met = {*stalled, *all_covered.open}
    entered = {n for n in range(len(region.states)) if ("state", region.name, n) in met}
    for state in region.states:
        if state.number not in entered:
            if state.parent is None or state.parent in entered:
                yield finding(
                    "never-reached",
                    f"no run ever enters `{region.name}.{state.name}`",
                    state.span,
                    "nothing leads here",
                    place=(region.name, state.name),
                )
        elif (mark := ("state", region.name, state.number)) in stalled and mark not in healthy:
            note = finding(
                "never-reached",
                f"only a movement that never ends leads to `{region.name}.{state.name}`",
                state.span,
                "your safety net",
                place=(region.name, state.name),
                run=stalled[mark],
            )
            yield replace(note, severity=Severity.NOTE)
    for way in region.transitions():
        if ("taken", region.name, way.number) not in all_covered.open:
            yield from _of_transition(region, way, healthy, stalled, entered)
    for counter in model.counters:
        run = healthy.get(("beyond", counter.name)) or stalled.get(("beyond", counter.name))
        owners = {action.counter for t in region.transitions() for action in t.does}
        if run is not None and counter.name in owners:
            yield finding(
                "out-of-range",
                f"`{counter.name}` can be taken past its bound of {counter.low} to {counter.high}",
                counter.span,
                "the firmware would hold it at the bound",
                run=run,
                place=where(model, region.name, run, loops_before_end=1),
                hint=f"a condition on `{counter.name}` where it is counted, such as "
                f"`{counter.name} < {counter.high}` before it goes up or "
                f"`{counter.name} > {counter.low}` before it goes down",
            )
    yield from _of_races(region, healthy)
    yield from _of_deaf(model, region, healthy)


def _of_transition(
    region: Region,
    way: Transition,
    healthy: dict[object, Run],
    stalled: dict[object, Run],
    entered: set[int],
) -> Iterator[Finding]:
    mark = ("taken", region.name, way.number)
    source = region.name if way.source is None else region.states[way.source].name
    place = None if way.source is None else (region.name, source)
    if way.source is not None and way.source not in entered:
        return
    if mark not in stalled:
        yield finding(
            "never-taken",
            f"no run ever takes this transition of `{source}`",
            way.span,
            "never taken: what stands before it, or the state it is in, leaves it no loop",
            place=place,
            subject=(region.name, way.number),
        )
    elif mark not in healthy and (
        way.source is None or ("state", region.name, way.source) in healthy
    ):
        note = finding(
            "never-taken",
            f"only a movement that never ends takes this transition of `{source}`",
            way.span,
            "your safety net",
            place=place,
            run=stalled[mark],
        )
        yield replace(note, severity=Severity.NOTE)
    run = healthy.get(("false-jam", region.name, way.number))
    if run is not None:
        yield finding(
            "false-jam",
            f"the time in `{source}` can be up while a healthy movement is still on its way",
            way.span,
            "this time is up before the movement's news must have come",
            place=place,
            subject=(region.name, way.number),
            run=run,
            hint="a time longer than the longest healthy movement and its filter",
        )


def _of_races(region: Region, healthy: dict[object, Run]) -> Iterator[Finding]:
    ways = {way.number: way for way in region.transitions()}
    for mark, run in healthy.items():
        if not isinstance(mark, tuple) or mark[0] != "order":
            continue
        _, _, first, second = mark
        winner, loser = ways[first], ways[second]
        source = "" if loser.source is None else region.states[loser.source].name
        waits = any(isinstance(atom, Becomes) for atom in atoms(loser.when))
        found = finding(
            "order-matters",
            f"in `{source}` two transitions can be due in one loop, and only their order decides",
            loser.span,
            "this one is passed over then" + (", and its change is lost" if waits else ""),
            place=(region.name, source),
            run=run,
            related=(Label(winner.span, "this one is taken"),),
            subject=(region.name, first, second),
        )
        yield replace(found, severity=Severity.DOUBTFUL if waits else Severity.NOTE)


def _of_deaf(model: Model, region: Region, healthy: dict[object, Run]) -> Iterator[Finding]:
    done: set[int] = set()
    for mark, run in healthy.items():
        if not isinstance(mark, tuple) or mark[0] != "deaf" or mark[2] in done:
            continue
        _, _, number, name, value = mark
        done.add(number)
        state = region.states[number]
        sets = settings(region, number, 0)
        drives = any(
            model.output[output].hazard and value_set != model.output[output].rest
            for output, value_set in sets.items()
        )
        found = finding(
            "deaf",
            f"`{state.name}` waits for `{name} becomes {value}`, and it can be so on entering",
            state.span,
            f"entered with {name} {value}, it waits for a change that has been",
            place=(region.name, state.name),
            run=run,
            hint=f"`{name} is {value}` where the change is not what counts, or a time as a way out",
        )
        yield replace(found, severity=Severity.BROKEN if drives else Severity.DOUBTFUL)


def _of_mechanisms(asking: Asking, verdict: Verdicts) -> list[Finding]:
    found: list[Finding] = []
    for mechanism in asking.model.mechanism:

        def look(mechanism: Mechanism = mechanism) -> bool:
            found.extend(_of_mechanism(mechanism, _met(asking, mechanism)))
            return False

        verdict.decide(look)
    return found


def _met(asking: Asking, mechanism: Mechanism) -> Collection[object]:
    lookout = asking.lookout(Question(), mechanisms=(mechanism.name,))
    question = Question(observers=(MechanismMarks(lookout.model),), may_stall=True)
    lookout = replace(lookout, question=question)
    walked = asking.walked(lookout.model, may_stall=False)

    def is_mine(mark: object) -> bool:
        return isinstance(mark, tuple) and mark[1] == mechanism.name

    if all(mark in walked for mark in filter(is_mine, marks_of(lookout.model))):
        return walked
    covered = cover(lookout, known=walked, wanted=is_mine)
    return {*walked, *covered.runs, *covered.open}


def _of_mechanism(mechanism: Mechanism, met: Collection[object]) -> Iterator[Finding]:
    for state in mechanism.states:
        here = f"{mechanism.name}.{state.name}"
        if ("stands", mechanism.name, state.number) not in met:
            message = f"the mechanism never comes to `{here}`"
            note = finding("never-reached", message, state.span, "nothing leads here")
            yield replace(note, severity=Severity.NOTE)
            continue
        for movement in state.movements:
            if ("ended", mechanism.name, movement.number) not in met:
                message = f"this movement of `{here}` never ends"
                note = finding("never-taken", message, movement.span, "never made")
                yield replace(note, severity=Severity.NOTE)
