"""Random regions: nested, with interlocks, cues, times, and waits for what a mechanism brings."""

from dataclasses import dataclass, replace

from behaviour.model import (
    Action,
    AddTo,
    After,
    And,
    Becomes,
    Condition,
    Cue,
    HeldFor,
    InState,
    Is,
    Not,
    Or,
    Part,
    Region,
    Setting,
    SetTo,
    State,
    Transition,
)
from tests.randomly.conditions import compared, valued
from tests.randomly.dice import LOOP, Dice, World


@dataclass
class _Shape:
    """How the states of a region lie in one another: parents before their children."""

    parents: list[int | None]

    def children(self, number: int) -> tuple[int, ...]:
        return tuple(n for n, parent in enumerate(self.parents) if parent == number)

    def path(self, number: int) -> list[int]:
        found, at = [], number
        while True:
            found.append(at)
            parent = self.parents[at]
            if parent is None:
                return found[::-1]
            at = parent


@dataclass
class _Numbers:
    next: int = 0

    def take(self) -> int:
        self.next += 1
        return self.next - 1


def region_for(world: World, at: int) -> Region:
    dice = world.dice
    shape = _shape(dice, world.states[at])
    writer = _Writer(world, at, shape, _Numbers())
    outer = writer.interlocks(None, 18)
    states = tuple(writer.state(number) for number in range(len(shape.parents)))
    return Region(name=f"r{at}", begins=0, states=states, interlocks=outer)


def machine_for(world: World) -> Region:
    """A region that waits, drives until something is brought or a time is up, and comes back."""
    dice = world.dice
    count = world.states[0]
    writer = _Writer(world, 0, _Shape([None] * count), _Numbers())
    outer = writer.interlocks(None, 15)
    away = ("forward",) if dice.one_in_hundred(75) else ("forward", "reverse")
    states = []
    for number in range(count):
        name = world.forced[0]
        sets: tuple[Setting, ...] = ()
        leave: tuple[Transition, ...]
        match number:
            case 0:
                leave = writer.numbered(writer.way_to(0, 1))
            case 1:
                sets = (Setting("motor", dice.one_of(away)),)
                leave = writer.waiting(1, name, done=(3 if count > 3 else 0), late=2)
            case _:
                if dice.one_in_hundred(50):
                    sets = (Setting("motor", dice.one_of(("reverse", "forward"))),)
                ways = [writer.way_to(number, 0)] if dice.one_in_hundred(88) else []
                if dice.one_in_hundred(15):
                    ways.append(writer.way(number))
                leave = writer.numbered(*ways)
        states.append(State(number=number, name=f"s{number}", sets=sets, leave=leave))
    return Region(name="r0", begins=0, states=tuple(states), interlocks=outer)


def _shape(dice: Dice, count: int) -> _Shape:
    """Top-level states, and now and then one with states inside it."""
    if count < 4 or not dice.one_in_hundred(55):
        return _Shape([None] * count)
    around = dice.number(0, count - 3)
    inside = dice.weighted((75, 2), (25, 1))
    parents: list[int | None] = [None] * (around + 1) + [around] * inside
    if inside == 2 and dice.one_in_hundred(20):
        parents[-1] = around + 1
    parents += [None] * (count - len(parents))
    return _Shape(parents)


@dataclass(frozen=True)
class _Writer:
    """Writes the states of one region, one after the other."""

    world: World
    region: int
    shape: _Shape
    numbers: _Numbers

    def state(self, number: int) -> State:
        dice = self.world.dice
        children = self.shape.children(number)
        parent = self.shape.parents[number]
        begins = children[0] if children and dice.one_in_hundred(75) else None
        if children and begins is None:
            begins = dice.one_of(children)
        outermost = parent is None and not children
        is_lockout = number > 0 and outermost and dice.one_in_hundred(6)
        sets = self._sets(number, is_lockout)
        interlocks = () if is_lockout else self.interlocks(number, 22 if children else 5)
        bare = State(
            number=number,
            name=f"s{number}",
            parent=parent,
            children=children,
            begins=begins,
            sets=sets,
            interlocks=interlocks,
            lockout=is_lockout,
            operator=dice.weighted((50, ""), (25, "press x"), (25, "close it")),
            ignores=self._ignores(),
        )
        if is_lockout:
            return bare
        leave = self._leave(number, sets)
        if children or not dice.one_in_hundred(22):
            return replace(bare, leave=leave)
        return self._with_cues(replace(bare, leave=leave[:1]))

    def interlocks(self, source: int | None, percent: int) -> tuple[Transition, ...]:
        dice = self.world.dice
        if not dice.one_in_hundred(percent):
            return ()
        way = Transition(
            number=self.numbers.take(),
            part=Part.INTERLOCK,
            source=source,
            when=self._single(edges=10),
            does=self._does(8),
            target=self._target(source),
        )
        return (way,)

    def _ignores(self) -> tuple[str, ...]:
        names = tuple(item.name for item in self.world.inputs)
        return self.world.dice.weighted((35, names), (30, names[:1]), (35, ()))

    def _sets(self, number: int, is_lockout: bool) -> tuple[Setting, ...]:
        dice = self.world.dice
        found = []
        for output in self.world.owned(self.region):
            if is_lockout and output.hazard:
                continue
            often = 12 if number == 0 else 65
            if dice.one_in_hundred(often):
                away = [value for value in output.values if value != output.rest]
                value = dice.one_of(away) if dice.one_in_hundred(90) else output.rest
                found.append(Setting(output.name, value))
        return tuple(found)

    def _leave(self, number: int, sets: tuple[Setting, ...]) -> tuple[Transition, ...]:
        dice = self.world.dice
        brought = [
            name
            for name, output in self.world.moved_by.items()
            if any(setting.output == output for setting in sets)
        ]
        if brought and dice.one_in_hundred(70):
            return self.waiting(number, dice.one_of(brought))
        count = dice.weighted((52, 1), (43, 2), (5, 0))
        if self.shape.children(number):
            count = dice.weighted((55, 0), (45, 1))
        ways = [self.way(number) for _ in range(count)]
        if ways and dice.one_in_hundred(70):
            ways[0] = replace(ways[0], target=(number + 1) % len(self.shape.parents))
        return self.numbered(*ways)

    def waiting(
        self, number: int, name: str, done: int | None = None, late: int | None = None
    ) -> tuple[Transition, ...]:
        """Wait for what the mechanism brings, and most often give up after a time."""
        dice = self.world.dice
        brought = Transition(
            number=0,
            part=Part.LEAVE,
            source=number,
            when=self._brought(name),
            does=self._does(25),
            target=self._target(number) if done is None else done,
        )
        if not dice.one_in_hundred(78 if late is not None else 60):
            more = (self.way(number),) if dice.one_in_hundred(50) else ()
            return self.numbered(brought, *more)
        time = dice.loops(1, 3) if dice.one_in_hundred(45) else dice.loops(4, 7)
        jammed = Transition(
            number=0,
            part=Part.LEAVE,
            source=number,
            when=self._condition() if dice.one_in_hundred(10) else None,
            after=After(time, time),
            target=self._target(number) if late is None else late,
        )
        if dice.one_in_hundred(15):
            return self.numbered(jammed, brought)
        return self.numbered(brought, jammed)

    def numbered(self, *ways: Transition) -> tuple[Transition, ...]:
        return tuple(replace(way, number=self.numbers.take()) for way in ways)

    def _brought(self, name: str) -> Condition:
        dice = self.world.dice
        item = next(each for each in self.world.inputs if each.name == name)
        value = item.values[1] if dice.one_in_hundred(80) else item.values[0]
        match dice.weighted((50, "becomes"), (34, "is"), (8, "for"), (8, "and")):
            case "becomes":
                return Becomes(name, value)
            case "for":
                return HeldFor(name, value, dice.loops(0, 2))
            case "and":
                return And((Becomes(name, value), self._single(edges=0)))
            case _:
                return Is(name, (value,))

    def way_to(self, source: int, target: int) -> Transition:
        """Go on when people do something, or after a time."""
        dice = self.world.dice
        by_time = dice.one_in_hundred(15)
        return Transition(
            number=0,
            part=Part.LEAVE,
            source=source,
            when=None if by_time else self._single(edges=45),
            after=self._after() if by_time else None,
            does=self._does(25),
            target=target,
        )

    def way(self, number: int) -> Transition:
        dice = self.world.dice
        after = self._after() if dice.one_in_hundred(10 if number == 0 else 26) else None
        has_condition = after is None or dice.one_in_hundred(45)
        if after is None and dice.one_in_hundred(2):
            has_condition = False
        stays = dice.one_in_hundred(9)
        return Transition(
            number=0,
            part=Part.LEAVE,
            source=number,
            when=self._condition(edges=55 if number == 0 else 38) if has_condition else None,
            after=after,
            does=self._does(60 if stays else 28),
            target=None if stays else self._target(number),
        )

    def _after(self) -> After:
        dice = self.world.dice
        low = dice.loops(0, 3)
        if dice.one_in_hundred(18):
            return After(low, low + dice.number(1, 2) * LOOP)
        return After(low, low)

    def _with_cues(self, state: State) -> State:
        dice = self.world.dice
        owned = self.world.owned(self.region)
        count = dice.weighted((50, 1), (50, 2))
        has_end = dice.one_in_hundred(65)
        cues, at = [], dice.loops(0, 1)
        for number in range(count):
            sets: tuple[Setting, ...] = ()
            is_last = number == count - 1
            if owned and not (is_last and has_end):
                output = dice.one_of(owned)
                sets = (Setting(output.name, dice.one_of(output.values)),)
            cues.append(Cue(at=at, sets=sets))
            at += dice.number(1, 2) * LOOP
        end = None
        if has_end:
            end = Transition(
                number=self.numbers.take(),
                part=Part.END,
                source=state.number,
                does=self._does(35),
                target=None if dice.one_in_hundred(15) else self._target(state.number),
            )
        return replace(state, cues=tuple(cues), end=end)

    def _target(self, source: int | None) -> int:
        """A state to go to: most often the next one, so that a region goes round."""
        dice = self.world.dice
        count = len(self.shape.parents)
        if source is not None and dice.one_in_hundred(55):
            return (source + 1) % count
        return dice.number(0, count - 1)

    def _does(self, percent: int) -> tuple[Action, ...]:
        dice = self.world.dice
        counters = self.world.counted(self.region)
        if not counters or not dice.one_in_hundred(percent):
            return ()
        counter = dice.one_of(counters)
        if dice.one_in_hundred(30):
            return (SetTo(counter.name, dice.number(counter.low, counter.high)),)
        return (AddTo(counter.name, dice.one_of((1, -1))),)

    def _condition(self, edges: int = 38) -> Condition:
        dice = self.world.dice
        match dice.weighted((80, "one"), (11, "and"), (6, "or"), (3, "not")):
            case "and":
                return And((self._single(), self._single(edges=5)))
            case "or":
                return Or((self._single(), self._single()))
            case "not":
                return Not(valued(dice, dice.one_of(self.world.inputs)))
            case _:
                return self._single(edges)

    def _single(self, edges: int = 38) -> Condition:
        dice = self.world.dice
        item = dice.one_of(self.world.inputs)
        free = [each for each in self.world.inputs if each.name not in self.world.forced]
        if free and dice.one_in_hundred(60):
            item = dice.one_of(free)
        others = [n for n in range(len(self.world.states)) if n != self.region]
        match dice.weighted(
            (42, "is"),
            (edges, "becomes"),
            (7, "for"),
            (10 if self.world.counters else 0, "counter"),
            (16 if others else 0, "in"),
        ):
            case "becomes":
                return Becomes(item.name, dice.one_of(item.values))
            case "for":
                return HeldFor(item.name, dice.one_of(item.values), dice.loops(0, 3))
            case "counter":
                return compared(dice, dice.one_of(self.world.counters))
            case "in":
                other = dice.one_of(others)
                state = dice.number(0, self.world.states[other] - 1)
                return InState(f"r{other}", state, dice.one_in_hundred(25))
            case _:
                return valued(dice, item)
