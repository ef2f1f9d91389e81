"""Small props written by hand, with names where the model has numbers.

Times are in milliseconds, and a loop is 10 ms unless a prop says otherwise.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from behaviour.model import (
    HAZARD_KINDS,
    Action,
    AddTo,
    After,
    And,
    AtMost,
    Becomes,
    Compare,
    Comparison,
    Condition,
    Count,
    Counter,
    Cue,
    First,
    HeldFor,
    Input,
    InputKind,
    InState,
    Is,
    Mechanism,
    MechanismState,
    Model,
    Movement,
    Not,
    Or,
    Output,
    OutputKind,
    Part,
    Region,
    Requirement,
    Role,
    Rule,
    Setting,
    SetTo,
    State,
    Transition,
    Whenever,
)

MS = 1000
LOOP = 10 * MS


def ms(time: float) -> int:
    return round(time * MS)


# --- Conditions ---------------------------------------------------------------------------------


def is_(name: str, *values: str) -> Is:
    return Is(name, values)


def is_not(name: str, *values: str) -> Is:
    return Is(name, values, negated=True)


def becomes(name: str, value: str) -> Becomes:
    return Becomes(name, value)


def held(name: str, value: str, time: float) -> HeldFor:
    return HeldFor(name, value, ms(time))


def count(name: str, sign: Comparison, number: int) -> Compare:
    return Compare(name, sign, number)


def both(*parts: Condition) -> And:
    return And(parts)


def either(*parts: Condition) -> Or:
    return Or(parts)


def no(part: Condition) -> Not:
    return Not(part)


@dataclass(frozen=True)
class Inside(InState):
    """`REGION in STATE` by the state's name; `prop` puts the number in its place."""

    named: str = ""


def inside(region: str, state: str) -> Inside:
    return Inside(region, -1, named=state)


def not_inside(region: str, state: str) -> Inside:
    return Inside(region, -1, negated=True, named=state)


# --- Regions ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Way:
    """A transition with the name of its target; None for `stay`."""

    go: str | None
    when: Condition | None = None
    after: float | tuple[float, float] | None = None
    do: tuple[Action, ...] = ()


def way(
    go: str,
    when: Condition | None = None,
    after: float | tuple[float, float] | None = None,
    do: Iterable[Action] = (),
) -> Way:
    return Way(None if go == "stay" else go, when, after, tuple(do))


@dataclass(frozen=True)
class Written:
    """A state as written, with the states inside it."""

    name: str
    inner: tuple["Written", ...]
    sets: Mapping[str, str]
    leave: tuple[Way, ...]
    interlocks: tuple[Way, ...]
    cues: tuple[tuple[float, Mapping[str, str]], ...]
    end: Way | None
    begins: str | None
    lockout: bool


def state(
    name: str,
    *inner: Written,
    sets: Mapping[str, str] | None = None,
    leave: Sequence[Way] = (),
    interlocks: Sequence[Way] = (),
    cues: Sequence[tuple[float, Mapping[str, str]]] = (),
    end: Way | None = None,
    begins: str | None = None,
    lockout: bool = False,
) -> Written:
    return Written(
        name,
        inner,
        sets or {},
        tuple(leave),
        tuple(interlocks),
        tuple(cues),
        end,
        begins,
        lockout,
    )


def region(name: str, *states: Written, interlocks: Sequence[Way] = ()) -> Region:
    """Number the states and transitions of a region; it begins in the first state."""
    return _Numbering(states).region(name, interlocks)


@dataclass
class _Numbering:
    top: tuple[Written, ...]
    flat: list[tuple[Written, int | None]] = field(default_factory=list)
    numbers: dict[str, int] = field(default_factory=dict)
    next_way: int = 0

    def region(self, name: str, interlocks: Sequence[Way]) -> Region:
        for written in self.top:
            self._flatten(written, None)
        outer = self._ways(interlocks, Part.INTERLOCK, None)
        states = tuple(self._state(number) for number in range(len(self.flat)))
        return Region(name=name, begins=0, states=states, interlocks=outer)

    def _flatten(self, written: Written, parent: int | None) -> None:
        number = len(self.flat)
        self.flat.append((written, parent))
        self.numbers[written.name] = number
        for inner in written.inner:
            self._flatten(inner, number)

    def _state(self, number: int) -> State:
        written, parent = self.flat[number]
        children = tuple(self.numbers[inner.name] for inner in written.inner)
        begins = None
        if children:
            begins = self.numbers[written.begins] if written.begins else children[0]
        return State(
            number=number,
            name=written.name,
            parent=parent,
            children=children,
            begins=begins,
            sets=_settings(written.sets),
            interlocks=self._ways(written.interlocks, Part.INTERLOCK, number),
            leave=self._ways(written.leave, Part.LEAVE, number),
            cues=tuple(Cue(at=ms(at), sets=_settings(sets)) for at, sets in written.cues),
            end=self._way(written.end, Part.END, number) if written.end else None,
            lockout=written.lockout,
        )

    def _ways(self, ways: Sequence[Way], part: Part, source: int | None) -> tuple[Transition, ...]:
        return tuple(self._way(each, part, source) for each in ways)

    def _way(self, written: Way, part: Part, source: int | None) -> Transition:
        number = self.next_way
        self.next_way += 1
        return Transition(
            number=number,
            part=part,
            source=source,
            when=written.when,
            after=_after(written.after),
            does=written.do,
            target=None if written.go is None else self.numbers[written.go],
        )


def _settings(sets: Mapping[str, str]) -> tuple[Setting, ...]:
    return tuple(Setting(output, value) for output, value in sets.items())


def _after(time: float | tuple[float, float] | None) -> After | None:
    match time:
        case None:
            return None
        case (low, high):
            return After(ms(low), ms(high))
        case _:
            return After(ms(time), ms(time))


# --- The world ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Moves:
    go: str
    takes: tuple[float, float]
    during: Condition | None = None


def moves(go: str, low: float, high: float, during: Condition | None = None) -> Moves:
    return Moves(go, (low, high), during)


def stands(
    name: str, reads: Mapping[str, str] | None = None, *leave: Moves
) -> tuple[str, Mapping[str, str], tuple[Moves, ...]]:
    return name, reads or {}, leave


def mechanism(
    name: str,
    *states: tuple[str, Mapping[str, str], tuple[Moves, ...]],
    begins: str | None = "",
) -> Mechanism:
    """Number the states and movements of a mechanism region; `begins=None` is `any`."""
    numbers = {written[0]: number for number, written in enumerate(states)}
    found, movement = [], 0
    for number, (called, reads, leave) in enumerate(states):
        movements = []
        for each in leave:
            low, high = each.takes
            movements.append(
                Movement(
                    number=movement,
                    source=number,
                    during=each.during,
                    low=ms(low),
                    high=ms(high),
                    target=numbers[each.go],
                )
            )
            movement += 1
        found.append(
            MechanismState(
                number=number, name=called, reads=tuple(reads.items()), movements=tuple(movements)
            )
        )
    start = None if begins is None else numbers.get(begins, 0)
    return Mechanism(name=name, begins=start, states=tuple(found))


# --- Parts --------------------------------------------------------------------------------------


def input_(
    name: str,
    *values: str,
    steady: float | Mapping[str, float] = 0,
    role: Role | None = None,
    safe: str | None = None,
    kind: InputKind = "sensor",
    unplugged: str | None = None,
) -> Input:
    times = (
        tuple(ms(steady.get(value, 0)) for value in values)
        if isinstance(steady, Mapping)
        else (ms(steady),) * len(values)
    )
    return Input(
        name=name,
        kind=kind,
        values=values,
        steady=times,
        role=role,
        safe=safe,
        unplugged=unplugged,
    )


def button(name: str, steady: float = 0, role: Role | None = None) -> Input:
    return input_(name, "released", "pressed", steady=steady, role=role, kind="button")


def output(
    name: str,
    *values: str,
    kind: OutputKind = "signal",
    keeps: bool = False,
    pause: float | None = None,
    hazard: bool | None = None,
) -> Output:
    return Output(
        name=name,
        kind=kind,
        values=values,
        rest=values[0],
        keeps=keeps,
        hazard=kind in HAZARD_KINDS if hazard is None else hazard,
        pause=None if pause is None else ms(pause),
    )


def motor(name: str, pause: float | None = None) -> Output:
    return output(name, "stopped", "forward", "reverse", kind="motor", pause=pause)


def counter(name: str, low: int, high: int, begins: int = 0) -> Counter:
    return Counter(name=name, low=low, high=high, begins=begins)


def add(name: str, amount: int = 1) -> AddTo:
    return AddTo(name, amount)


def take(name: str, amount: int = 1) -> AddTo:
    return AddTo(name, -amount)


def put(name: str, value: int) -> SetTo:
    return SetTo(name, value)


# --- The whole ----------------------------------------------------------------------------------


def prop(
    *regions: Region,
    inputs: Sequence[Input] = (),
    outputs: Sequence[Output] = (),
    counters: Sequence[Counter] = (),
    mechanism: Sequence[Mechanism] = (),
    rules: Mapping[str, Requirement] | None = None,
    loop: float = 10,
) -> Model:
    """Put a prop together, with numbers for the names in `inside`."""
    numbers = {
        (each.name, inner.name): inner.number for each in regions for inner in each.states
    } | {(each.name, inner.name): inner.number for each in mechanism for inner in each.states}
    resolve = _Resolving(numbers)
    return Model(
        prop="a small prop",
        loop=ms(loop),
        regions=tuple(resolve.region(each) for each in regions),
        inputs=tuple(inputs),
        outputs=tuple(outputs),
        counters=tuple(counters),
        mechanism=tuple(mechanism),
        rules=tuple(
            Rule(name=name, requirement=resolve.requirement(each))
            for name, each in (rules or {}).items()
        ),
    )


@dataclass(frozen=True)
class _Resolving:
    numbers: Mapping[tuple[str, str], int]

    def region(self, found: Region) -> Region:
        return replace(
            found,
            states=tuple(self._state(each) for each in found.states),
            interlocks=self._ways(found.interlocks),
        )

    def requirement(self, found: Requirement) -> Requirement:
        if isinstance(found, Whenever):
            return replace(
                found,
                trigger=self.condition(found.trigger),
                response=self.condition(found.response),
            )
        whole = replace(found, condition=self.condition(found.condition))
        match whole:
            case First(before=before, since=since):
                anew = None if since is None else self.condition(since)
                return replace(whole, before=self.condition(before), since=anew)
            case Count(since=since) if since is not None:
                return replace(whole, since=self.condition(since))
            case _:
                return whole

    def condition(self, found: Condition) -> Condition:
        match found:
            case Inside(region=named_region, negated=negated, named=named):
                return InState(named_region, self.numbers[named_region, named], negated)
            case And(parts=parts):
                return And(tuple(self.condition(part) for part in parts))
            case Or(parts=parts):
                return Or(tuple(self.condition(part) for part in parts))
            case Not(part=part):
                return Not(self.condition(part))
            case _:
                return found

    def _state(self, found: State) -> State:
        return replace(
            found, leave=self._ways(found.leave), interlocks=self._ways(found.interlocks)
        )

    def _ways(self, ways: tuple[Transition, ...]) -> tuple[Transition, ...]:
        return tuple(
            each if each.when is None else replace(each, when=self.condition(each.when))
            for each in ways
        )


def at_most(condition: Condition, time: float) -> AtMost:
    return AtMost(condition=condition, limit=ms(time))
