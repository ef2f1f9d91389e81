"""A prop as C will have it: every name chosen, every condition built, nothing written yet."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from codegen.expressions import Expression, written
from codegen.wired import Board, Mark


@dataclass(frozen=True, slots=True)
class Enumerator:
    """A constant of an enum; `word` is how the behaviour file calls it."""

    name: str
    word: str
    comment: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Enumeration:
    tag: str
    enumerators: tuple[Enumerator, ...]
    comment: tuple[str, ...] = ()

    @property
    def type(self) -> str:
        return f"enum {self.tag}"


@dataclass(frozen=True, slots=True)
class Define:
    """One line of the settings: a macro, what it stands for, and a word on it.

    `what` names it where it is read back, as `pin of mark`.
    """

    name: str
    value: str
    comment: str
    what: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """An input: its members of the instance, and how long each value must hold to count.

    `steady` pairs the enumerators of filtered values with C that counts the loops. Members that
    nothing looks at are None. `presumed` is (safe value, what it counts as until it was steady).
    """

    word: str
    type: Enumeration
    comment: str
    member: str
    raw: str | None
    raw_for: str | None
    since: str | None
    changed: str | None
    steady: tuple[tuple[str, str], ...]
    presumed: tuple[str, str] | None
    steady_function: str
    read_function: str
    board_read: str
    first: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A motor that is moved by distance: its members, the calls of the board, and when it is.

    `states` is a test whether its region is in a state that moves it.
    """

    done: str
    steps: str
    function: str
    board_move: str
    board_done: str
    states: Expression


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    word: str
    type: Enumeration
    comment: str
    member: str
    rest: str
    keeps: bool
    board_drive: str
    accessor: str
    moved: Moved | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Counter:
    word: str
    member: str
    comment: str
    begins: int
    is_ever_negative: bool


@dataclass(frozen=True, slots=True)
class Branch:
    """One `if` of a chain: when it is taken, what the file says, and what it does."""

    when: Expression
    comment: tuple[str, ...]
    body: tuple[str, ...]

    def fragments(self) -> tuple[str, ...]:
        """List the pieces of C inside."""
        return (written(self.when), *self.body)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """Branches in the order of priority. `otherwise` is a last call; `left_out` comments on what
    can never be taken and is therefore not there.
    """

    branches: tuple[Branch, ...] = ()
    otherwise: str = ""
    left_out: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        return not self.branches and not self.otherwise

    def fragments(self) -> tuple[str, ...]:
        """List the pieces of C inside."""
        found = [self.otherwise]
        for branch in self.branches:
            found += branch.fragments()
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Case:
    """A `case` of the switch of a region."""

    labels: tuple[str, ...]
    comment: tuple[str, ...]
    chain: Chain


@dataclass(frozen=True, slots=True)
class Drive:
    """What one case of the outputs' switch sets: (member, value, a word on where it comes from)."""

    label: str
    sets: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class Function:
    """A small static function: its name, what it is for, and its statements or its chain."""

    name: str
    comment: str
    body: tuple[str | Branch, ...] = ()
    chain: Chain = Chain()

    def fragments(self) -> tuple[str, ...]:
        """List the pieces of C inside."""
        found: list[str] = []
        for part in self.body:
            found += [part] if isinstance(part, str) else part.fragments()
        return (*found, *self.chain.fragments())

    @property
    def sees(self) -> bool:
        """Tell whether it looks at what the region sees of others."""
        return "seen" in identifiers(self.fragments())


@dataclass(frozen=True, slots=True)
class Predicate:
    """Tells whether a state is one of several."""

    name: str
    comment: str
    enumerators: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """One region: its switch, and the functions that the switch needs.

    `timer` counts loops in the leaf, `timers` those in states around it; `drawn` are random times.
    `begin` is what power-up does where no interlock holds; `redraw` what it adds where one does.
    `interlock_acts` tells whether an interlock has a `do`.
    """

    word: str
    type: Enumeration
    comment: tuple[str, ...]
    member: str
    begins: str
    timer: str | None
    timers: tuple[str, ...]
    drawn: tuple[str, ...]
    predicates: tuple[Predicate, ...]
    enter: str | None
    entries: tuple[Function, ...]
    interlocks: Function | None
    leaves: tuple[Function, ...]
    look_function: str
    cases: tuple[Case, ...]
    drive_function: str
    rests: tuple[tuple[str, str], ...]
    drives: tuple[Drive, ...]
    begin: tuple[str, ...]
    redraw: tuple[Branch, ...]
    interlock_acts: bool
    accessor: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Module:
    """The whole: `prefix` begins every name, `upper` every macro and enumerator.

    `seen` lists the members (type, name) that regions see of each other as the loop began. `board`
    is None for a computer; `marks` are what a board file must say that it does.
    """

    prefix: str
    upper: str
    fingerprint: str
    source_name: str
    prop: str
    about: str
    loop_ms: int
    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    counters: tuple[Counter, ...]
    regions: tuple[Region, ...]
    times: tuple[Define, ...]
    steps: tuple[Define, ...]
    wiring: tuple[Define, ...]
    controller: str
    board: Board | None
    marks: tuple[Mark, ...]
    seen: tuple[tuple[str, str], ...]
    draws_random: bool

    @property
    def movers(self) -> tuple[tuple[Output, Moved], ...]:
        """List the motors that are moved by distance."""
        return tuple((each, each.moved) for each in self.outputs if each.moved is not None)


def identifiers(fragments: Iterable[str]) -> frozenset[str]:
    """List every name that stands in pieces of C."""
    return frozenset(name for text in fragments for name in re.findall(r"[A-Za-z_]\w*", text))


def members_of(instance: str, text: str) -> frozenset[str]:
    """List the members that pieces of C read of `instance`."""
    return frozenset(re.findall(rf"\b{instance}->(\w+)", text))
