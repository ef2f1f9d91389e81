"""Reads sentences on regions and on the mechanism back into their parts."""

import re
from dataclasses import dataclass, field, replace
from itertools import count

from behaviour.model import (
    Action,
    After,
    Condition,
    Cue,
    Mechanism,
    MechanismState,
    Move,
    Movement,
    Part,
    Quantity,
    Region,
    Setting,
    State,
    Transition,
    Unknown,
)
from tests.tell.clauses import (
    QUOTE,
    THING,
    TIME,
    Clauses,
    action_in,
    time_in,
    unquoted,
    window_in,
)
from tests.tell.page import Line

REMARK = rf"(?: \({QUOTE}\))?"


def states_in(lines: list[Line]) -> tuple[str, list[str], dict[str, list[str]], dict[str, str]]:
    """Read which states there are: the name of the whole, all names in order, children, begins."""
    name, top, children, begins = "", [], {}, {}
    for line in lines:
        found = re.fullmatch(
            r"`(\w+)` is (always in one of|made up of) (.*), and begins in (.*)\.", line.text
        )
        if not found:
            continue
        names = re.findall(r"`(\w+)`", found[3])
        begin = found[4].strip("`")
        if found[2] == "made up of":
            children[found[1]], begins[found[1]] = names, begin
        else:
            name, top, begins[""] = found[1], names, begin
    order: list[str] = []

    def put(names: list[str]) -> None:
        for each in names:
            order.append(each)
            put(children.get(each, []))

    put(top)
    return name, order, children, begins


@dataclass(slots=True)
class Regions:
    """Reads one region after its states are known."""

    clauses: Clauses
    name: str
    numbers: dict[str, int]
    states: dict[str, State] = field(default_factory=dict)
    interlocks: tuple[Transition, ...] = ()
    about: str = ""
    count: int = 0

    def read(self, line: str) -> None:
        """Take one sentence in."""
        if re.match(r"`\w+` is (always in one of|made up of) ", line):
            return
        if found := re.fullmatch(rf"A word on all of `\w+`: {QUOTE}", line):
            self.about = unquoted(found[1])
        elif found := re.fullmatch(rf"A word on `(\w+)`: {QUOTE}", line):
            self._put(found[1], about=unquoted(found[2]))
        elif found := re.fullmatch(r"Nothing leaves `(\w+)` but switching off\.", line):
            self._put(found[1], lockout=True)
        elif found := re.fullmatch(
            rf"(?:In|Anywhere in) `(\w+)`, whoever runs the show is told: {QUOTE}", line
        ):
            self._put(found[1], operator=unquoted(found[2]))
        elif found := re.fullmatch(
            r"(?:In|Anywhere in) `(\w+)`, it is meant that nothing answers (.*)\.", line
        ):
            self._put(found[1], ignores=tuple(re.findall(THING, found[2])))
        elif found := re.fullmatch(rf"From ({TIME}) into `(\w+)` on, (.*?){REMARK}\.", line):
            cue = Cue(
                at=time_in(found[1]), sets=self._sets(found[3]), about=unquoted(found[4] or "")
            )
            self._put(found[2], cues=(*self.states[found[2]].cues, cue))
        elif found := re.fullmatch(
            rf"({TIME}) into `(\w+)`{REMARK} comes its end, and it (.*?){REMARK}\.", line
        ):
            self._end(found)
        else:
            self._way_or_sets(line)

    def whole(self, begins: str) -> Region:
        states = tuple(sorted(self.states.values(), key=lambda state: state.number))
        whole = Region(
            name=self.name,
            begins=self.numbers[begins],
            states=states,
            interlocks=self.interlocks,
            about=self.about,
        )
        return moves_numbered(whole)

    def _put(self, name: str, **changes: object) -> None:
        self.states[name] = replace(self.states[name], **changes)  # type: ignore[arg-type]

    def _sets(self, text: str) -> tuple[Setting, ...]:
        if text == "nothing changes":
            return ()
        parts = re.split(r", (?=the )| and (?=the )", text)
        found = [re.fullmatch(rf"{THING} (?:is|turns) (\w+)(?: by (.*))?", part) for part in parts]
        return tuple(Setting(each[1], each[2], move=_move(each[3])) for each in found if each)

    def _end(self, found: re.Match[str]) -> None:
        at, name, cue_about, course, about = found.groups()
        state = self.states[name]
        cue = Cue(at=time_in(at), about=unquoted(cue_about or ""))
        does, target = self._course(course)
        end = self._way(Part.END, name, None, None, (does, target), about or "")
        self._put(name, cues=(*state.cues, cue), end=end)

    def _way_or_sets(self, line: str) -> None:
        way = re.fullmatch(
            r"(?:Otherwise )?(?:[Ii]n|[Aa]nywhere in) `(\w+)`(, before all else)?, "
            rf"((?:when|after|at the next look).*?), it (.*?){REMARK}\.",
            line,
        )
        if not way:
            sets = re.fullmatch(r"(?:In|Anywhere in) `(\w+)`, (the .*)\.", line)
            assert sets, line
            self._put(sets[1], sets=self._sets(sets[2]))
            return
        name, first, reason, course, about = way.groups()
        when, after = self._reason(reason)
        does = self._course(course)
        if first and name == self.name and not self.states_begun:
            made = self._way(Part.INTERLOCK, None, when, after, does, about or "")
            self.interlocks = (*self.interlocks, made)
            return
        part = Part.INTERLOCK if first else Part.LEAVE
        made = self._way(part, name, when, after, does, about or "")
        key = "interlocks" if first else "leave"
        old = self.states[name].interlocks if first else self.states[name].leave
        self._put(name, **{key: (*old, made)})

    states_begun: bool = False

    def _way(
        self,
        part: Part,
        source: str | None,
        when: Condition | None,
        after: After | None,
        course: tuple[tuple[Action, ...], int | Unknown | None],
        about: str,
    ) -> Transition:
        self.count += 1
        return Transition(
            number=self.count - 1,
            part=part,
            source=None if source is None else self.numbers[source],
            when=when,
            after=after,
            does=course[0],
            target=course[1],
            about=unquoted(about),
        )

    def _reason(self, text: str) -> tuple[Condition | None, After | None]:
        if text == "at the next look":
            return None, None
        if text.startswith("after "):
            return None, _after(text.removeprefix("after "))
        text, _, time = text.removeprefix("when ").partition(", but only after ")
        after = _after(time.removesuffix(" there")) if time else None
        return self.clauses.read(text), after

    def _course(self, text: str) -> tuple[tuple[Action, ...], int | Unknown | None]:
        *before, last = re.split(r", | and ", text)
        does = tuple(map(action_in, before))
        if last == "stays":
            return does, None
        unknown = re.fullmatch(r"goes where nobody knows yet \(`(.*)`\)", last)
        if unknown:
            return does, Unknown(unknown[1])
        goes = re.fullmatch(r"goes to `(\w+)`", last)
        assert goes, last
        return does, self.numbers[goes[1]]


def read_region(clauses: Clauses, lines: list[Line]) -> Region:
    """Read all the sentences under one region's heading."""
    name, order, children, begins = states_in(lines)
    numbers = {each: number for number, each in enumerate(order)}
    parents = {child: parent for parent, found in children.items() for child in found}
    found = Regions(clauses, name, numbers)
    for each in order:
        parent = parents.get(each)
        found.states[each] = State(
            number=numbers[each],
            name=each,
            parent=None if parent is None else numbers[parent],
            children=tuple(numbers[child] for child in children.get(each, [])),
            begins=numbers[begins[each]] if each in begins else None,
        )
    for line in lines:
        found.states_begun = bool(line.part)
        found.read(line.text)
    return found.whole(begins[""])


def _move(text: str | None) -> Move | None:
    """Read how far a motor turns; its number is known when the region is whole."""
    if text is None:
        return None
    found = re.fullmatch(r"([0-9.e-]+) ([\w ]+) \((\d+) steps\) in (.*)", text)
    assert found, text
    low, high = window_in(found[4])
    amount = Quantity(number=float(found[1]), unit=found[2])
    return Move(number=0, amount=amount, low=low, high=high, steps=int(found[3]))


def moves_numbered(region: Region) -> Region:
    """Number the moves of a region on from its transitions, state by state."""
    numbers, states = count(len(region.transitions())), []
    for state in region.states:
        sets = (
            each
            if each.move is None
            else replace(each, move=replace(each.move, number=next(numbers)))
            for each in state.sets
        )
        states.append(replace(state, sets=tuple(sets)))
    return replace(region, states=tuple(states))


def read_mechanism(clauses: Clauses, lines: list[Line]) -> Mechanism:
    name, order, _, begins = states_in(lines)
    numbers = {each: number for number, each in enumerate(order)}
    states = {each: MechanismState(number=at, name=each) for each, at in numbers.items()}
    about, number = "", 0
    for line in lines[1:]:
        text = line.text
        if found := re.fullmatch(rf"A word on all of `\w+`: {QUOTE}", text):
            about = unquoted(found[1])
        elif found := re.fullmatch(rf"A word on `(\w+)`: {QUOTE}", text):
            states[found[1]] = replace(states[found[1]], about=unquoted(found[2]))
        elif found := re.fullmatch(r"In `(\w+)`, (the .*)\.", text):
            reads = tuple(re.findall(rf"{THING} reads (\w+)", found[2]))
            states[found[1]] = replace(states[found[1]], reads=reads)
        else:
            found = re.fullmatch(
                r"(?:While (.*), it|It) takes (.*?) from `(\w+)` to `(\w+)`" + REMARK + r"\.", text
            )
            assert found, text
            during, window, source, target, says = found.groups()
            low, high = window_in(window)
            movement = Movement(
                number=number,
                source=numbers[source],
                during=None if during is None else clauses.read(during),
                low=low,
                high=high,
                target=numbers[target],
                about=unquoted(says or ""),
            )
            number += 1
            state = states[source]
            states[source] = replace(state, movements=(*state.movements, movement))
    begin = None if begins[""] == "in any of them" or "any" in begins[""] else numbers[begins[""]]
    return Mechanism(name=name, begins=begin, states=tuple(states.values()), about=about)


def _after(text: str) -> After:
    return After(*window_in(text.removeprefix("a time drawn at random from ")))
