"""Says what each name of a file stands for, once, and reports names that clash or are not there.

It knows nothing of where names are used.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import Enum

from behaviour.findings import Label
from behaviour.language import syntax
from behaviour.language.phrases import listed, with_article
from behaviour.language.reading import Reading
from behaviour.language.syntax import Word
from behaviour.model import Drive, Input, Output, Time
from behaviour.source import Span
from behaviour.units import shortened


class Kind(Enum):
    """What a name of the file can stand for."""

    INPUT = "input"
    OUTPUT = "output"
    COUNTER = "counter"
    SETTING = "setting"
    REGION = "region"
    MECHANISM = "mechanism region"


@dataclass(frozen=True, slots=True)
class FlatState:
    """A state of a region with its number and those of the states around and in it."""

    number: int
    parent: int | None
    children: tuple[int, ...]
    state: syntax.State


@dataclass(frozen=True, slots=True)
class States:
    """The states of one region by number. `whole` is False where one may be missing."""

    region: str
    names: tuple[str, ...]
    parents: tuple[int | None, ...]
    whole: bool
    numbers: dict[str, int]

    def find(self, path: str) -> int | None:
        """Find a state by its name, or by a path such as `shot.open`."""
        *around, name = path.split(".")
        number = self.numbers.get(name)
        at = number
        for outer in reversed(around):
            at = None if at is None else self.parents[at]
            if at is None or self.names[at] != outer:
                return None
        return number


@dataclass(frozen=True, slots=True)
class Named:
    """What a name stands for. `values` is None where it has none, or they are not known."""

    kind: Kind
    span: Span
    values: tuple[str, ...] | None = None
    states: States | None = None
    input: Input | None = None
    output: Output | None = None


@dataclass(frozen=True, slots=True)
class Names:
    """Every name of the file. `whole` is False where one may be missing."""

    reading: Reading
    whole: bool
    by_name: dict[str, Named] = field(default_factory=dict)
    driven: dict[tuple[str, str], str] = field(default_factory=dict)
    """A `REGION in STATE` in which an output has a value, by both."""
    drives: dict[str, Drive] = field(default_factory=dict)
    """The drive of each motor that has one."""
    moved: dict[str, str] = field(default_factory=dict)
    """The region that moves a motor by distance, by the motor."""
    stops: dict[str, Time] = field(default_factory=dict)
    """How long each motor turns on that is asked whether it is moving."""

    def of_kind(self, *kinds: Kind) -> Iterator[str]:
        return (name for name, named in self.by_name.items() if named.kind in kinds)

    def find(self, word: Word, wanted: tuple[Kind, ...]) -> Named | None:
        """Look a name up; one that is not there is reported, with the nearest of those wanted."""
        named = self.by_name.get(word.text)
        if named is not None or not self.whole:
            return named
        near = self.reading.near(word.text, self.of_kind(*wanted)) or self.reading.near(
            word.text, self.by_name
        )
        hint = f"there is {self.described(near[0])}" if near else self._choice(wanted)
        things = listed_kinds(wanted)
        self.reading.mistakes.add_once(
            ("name", word.text),
            word.span,
            f"`{shortened(word.text)}` is not the name of {things}",
            label="no such name",
            hint=hint,
        )
        return None

    def described(self, name: str) -> str:
        """Say what a name stands for: ``an input `lid` ``."""
        return f"{with_article(self.by_name[name].kind.value)} `{name}`"

    def _choice(self, wanted: tuple[Kind, ...]) -> str:
        known = list(self.of_kind(*wanted))
        if len(known) == 1:
            return f"there is {self.described(known[0])}"
        return f"there are {listed(known, 'and')}" if known else ""


def listed_kinds(kinds: Iterable[Kind]) -> str:
    """Join kinds: `an input, a counter, or a region`."""
    things = [with_article(kind.value) for kind in kinds]
    if len(things) == 1:
        return things[0]
    return f"{', '.join(things[:-1])} or {things[-1]}"


def gather_names(
    reading: Reading, document: syntax.Document, flat: dict[str, tuple[FlatState, ...]]
) -> Names:
    """Put every name of the file into one space, and report those that clash."""
    names = Names(reading, whole=not document.incomplete)
    names.drives.update({drive.output: drive for drive in document.drives})
    for item in document.inputs:
        _put(names, item.name, Named(Kind.INPUT, item.name.span, item.values, input=item.whole))
    for output in document.outputs:
        named = Named(Kind.OUTPUT, output.name.span, output.values, output=output.whole)
        _put(names, output.name, named)
    for counter in document.counters:
        _put(names, counter.name, Named(Kind.COUNTER, counter.name.span))
    for word in reading.settings.names.values():
        _put(names, word, Named(Kind.SETTING, word.span))
    for region in document.regions:
        states = flat[region.name.text]
        table = states_of(region, states)
        _check_states(reading, region.name.text, [state.state.name for state in states])
        _put(names, region.name, Named(Kind.REGION, region.name.span, states=table))
        _note_driven(names, region.name.text, states)
    for mechanism in document.mechanism:
        table = mechanism_states(mechanism)
        _put(names, mechanism.name, Named(Kind.MECHANISM, mechanism.name.span, states=table))
    return names


def flatten(region: syntax.Region) -> tuple[FlatState, ...]:
    """Give every state of a region a number, parents first, in the order of the file."""
    found: list[FlatState] = []

    def add(state: syntax.State, parent: int | None) -> int:
        number = len(found)
        found.append(FlatState(number, parent, (), state))
        children = tuple(add(inner, number) for inner in state.states)
        found[number] = FlatState(number, parent, children, state)
        return number

    for state in region.states:
        add(state, None)
    return tuple(found)


def states_of(region: syntax.Region, flat: tuple[FlatState, ...]) -> States:
    """Give the states of a region for looking up."""
    words = [item.state.name for item in flat]
    return _table(region.name, words, [item.parent for item in flat], whole=region.whole)


def mechanism_states(mechanism: syntax.Mechanism) -> States:
    """Give the states of a mechanism region for looking up."""
    words = [state.name for state in mechanism.states]
    return _table(mechanism.name, words, [None] * len(words), whole=mechanism.whole)


def _table(
    region: Word, words: Sequence[Word], parents: Sequence[int | None], *, whole: bool
) -> States:
    names = tuple(word.text for word in words)
    numbers = {name: number for number, name in reversed(list(enumerate(names)))}
    return States(region.text, names, tuple(parents), whole, numbers)


def _put(names: Names, word: Word, named: Named) -> None:
    first = names.by_name.setdefault(word.text, named)
    if first is named:
        return
    names.reading.mistakes.add(
        word.span,
        f"`{word.text}` is the name of {with_article(first.kind.value)} already",
        label=f"{with_article(named.kind.value)} here",
        related=(Label(first.span, f"{with_article(first.kind.value)} here"),),
        hint="inputs, outputs, counters, settings and regions share their names: change one",
    )


def _check_states(reading: Reading, region: str, words: list[Word]) -> None:
    first: dict[str, Span] = {}
    for word in words:
        if word.text in first:
            reading.mistakes.add(
                word.span,
                f"`{region}` has two states of the name `{word.text}`",
                label="again here",
                related=(Label(first[word.text], "first here"),),
                hint="a state's name is unique in its region, also among inner states",
            )
        first.setdefault(word.text, word.span)


def _note_driven(names: Names, region: str, states: tuple[FlatState, ...]) -> None:
    for flat in states:
        for setting in flat.state.sets:
            key = (setting.output.text, setting.value.text)
            names.driven.setdefault(key, f"{region} in {flat.state.name.text}")
            if setting.amount is not None:
                names.moved.setdefault(setting.output.text, region)
