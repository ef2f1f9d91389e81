"""What each input may do in one loop, opened only as far as somebody looks.

Strategy: an input's changes are one set, kept as bits. Whoever judges a condition looks at parts of
it; where a look could come out in more than one way the set is split (`Undecided`), and the one who
looked looks again at each part. What nobody looks at stays together, so a loop costs as many cases
as there are answers and not as there are readings.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial
from operator import and_
from typing import NamedTuple, TypeVar

from behaviour.explore.guards import Clock, Guard, Lows, Seen, input_guard
from behaviour.model import Becomes, HeldFor, Is, Model

Result = TypeVar("Result")

Masks = tuple[int, ...]
"""For each input the changes that are still possible, a bit each."""


class Reading(NamedTuple):
    """Where one input is: the steady value, what is truly steady, and, where it matters, raw.

    The first two differ only while a guard or stop is presumed unsafe after power-up, or where
    something is wrong; then `true` is what raw would be on a whole line.
    """

    steady: str
    truly: str
    raw: str = ""
    true: str = ""


class Change(NamedTuple):
    """What one input may do in a loop, and the bounds on clocks under which it may."""

    to: Reading
    seen: Seen
    truly: Seen
    raw: str
    lows: Lows = ()
    highs: Lows = ()
    restarts: tuple[Clock, ...] = ()

    @property
    def is_true(self) -> bool:
        """Tell whether what is told is what is there, and has come when that came."""
        told, truly = self.seen, self.truly
        return (told.value, told.became) == (truly.value, truly.became)


class Undecided(Exception):  # noqa: N818
    """A look at an input can come out in several ways; `ways` has the changes of each."""

    def __init__(self, number: int, ways: Sequence[tuple[object, int]]) -> None:
        self.number = number
        self.ways = ways

    def apart(self, masks: Masks) -> list[Masks]:
        """Give what inputs may still do, by the way in which the look comes out."""
        at = self.number
        mask, before, after = masks[at], masks[:at], masks[at + 1 :]
        return [(*before, common, *after) for _, part in self.ways if (common := mask & part)]


InputAtom = Is | Becomes | HeldFor


@dataclass(slots=True, eq=False)
class Choices:
    """All that one input may do in a loop, the likeliest witness first."""

    model: Model
    changes: tuple[Change, ...]
    every: int = field(init=False)
    answers: dict[tuple[int, bool], tuple[tuple[Guard, int], ...]] = field(
        default_factory=dict, init=False
    )
    """How atoms were judged so far, each by which object it is."""
    _atoms: list[InputAtom] = field(default_factory=list, init=False)
    _alike: dict[bool, tuple[tuple[Seen, int], ...]] = field(default_factory=dict, init=False)
    _told: dict[int, tuple[tuple[tuple[str, bool], ...], bool]] = field(
        default_factory=dict, init=False
    )
    _within: dict[int, tuple[tuple[int, Change], ...]] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        self.every = (1 << len(self.changes)) - 1

    def judged(self, atom: InputAtom, *, truly: bool) -> tuple[tuple[Guard, int], ...]:
        """Work out how an atom can come out, each way with the changes that do so."""
        parts: dict[Guard, int] = {}
        for bit, change in enumerate(self.changes):
            guard = input_guard(self.model, atom, change.truly if truly else change.seen)
            parts[guard] = parts.get(guard, 0) | 1 << bit
        known = self.answers[id(atom), truly] = tuple(parts.items())
        self._atoms.append(atom)
        return known

    def alike(self, *, truly: bool) -> tuple[tuple[Seen, int], ...]:
        """Give what the input can be seen as, each with the changes that show it so."""
        if truly not in self._alike:
            parts: dict[Seen, int] = {}
            for bit, change in enumerate(self.changes):
                seen = change.truly if truly else change.seen
                parts[seen] = parts.get(seen, 0) | 1 << bit
            self._alike[truly] = tuple(parts.items())
        return self._alike[truly]

    def within(self, mask: int) -> tuple[tuple[int, Change], ...]:
        """Give the changes of a mask, each with its own bit."""
        known = self._within.get(mask)
        if known is None:
            several = enumerate(self.changes)
            known = tuple([(1 << bit, c) for bit, c in several if mask >> bit & 1])
            self._within[mask] = known
        return known

    def told(self, mask: int) -> tuple[tuple[tuple[str, bool], ...], bool]:
        """Give as what the input may be told, and whether just come; and whether that is so.

        Where some of it is true, the rest is left out.
        """
        known = self._told.get(mask)
        if known is None:
            left = [change for _, change in self.within(mask)]
            true = [change for change in left if change.is_true]
            ways = dict.fromkeys([(c.seen.value, c.seen.became) for c in true or left])
            known = self._told[mask] = (tuple(ways), bool(true))
        return known

    def first(self, mask: int) -> Change:
        """Give the change that stands for all of a mask."""
        return self.changes[(mask & -mask).bit_length() - 1]


class Opened(NamedTuple):
    """The inputs of a loop, as far as they are decided; None for one that nobody asks for.

    `wires` says whose wire each input reads, where that is not its own.
    """

    choices: tuple[Choices | None, ...]
    masks: Masks
    wires: tuple[int, ...] = ()

    def judge(self, number: int, atom: InputAtom, *, truly: bool) -> Guard:
        """Judge an atom. Raises Undecided where the input's changes do not agree."""
        if self.wires and not truly:
            number = self.wires[number]
        mask, choices = self.masks[number], self.choices[number]
        if choices is None:
            raise AssertionError(f"input {number} was thought to be read by nobody")
        parts = choices.answers.get((id(atom), truly)) or choices.judged(atom, truly=truly)
        for guard, part in parts:
            common = mask & part
            if common == mask:
                return guard
            if common:
                raise Undecided(number, parts)
        raise AssertionError("no change of an input is left")

    def look(self, number: int, *, truly: bool) -> Seen | None:
        """Look at an input whole; None where nobody asks. Raises Undecided."""
        if self.wires and not truly:
            number = self.wires[number]
        choices, mask = self.choices[number], self.masks[number]
        if choices is None:
            return None
        parts = choices.alike(truly=truly)
        for seen, part in parts:
            common = mask & part
            if common == mask:
                return seen
            if common:
                raise Undecided(number, parts)
        raise AssertionError("no change of an input is left")

    def change(self, number: int) -> Change | None:
        """Give the change that stands for what is left of an input's; None if nobody asks."""
        choices = self.choices[number]
        return None if choices is None else choices.first(self.masks[number])

    def changes(self, numbers: Iterable[int]) -> list[tuple[int, Change]]:
        """Give the change that stands for each of these inputs that somebody asks for."""
        return [
            (number, choices.first(self.masks[number]))
            for number in numbers
            if (choices := self.choices[number]) is not None
        ]

    def raw(self) -> tuple[str | None, ...]:
        """Give what each input reads, by the change that stands for it."""
        changes = (self.change(number) for number in range(len(self.masks)))
        return tuple(None if change is None else change.raw for change in changes)

    def is_open(self, number: int) -> bool:
        """Tell whether nobody has looked at an input."""
        choices = self.choices[number]
        return choices is None or self.masks[number] == choices.every

    def has_come(self, number: int) -> bool:
        """Tell whether an input can only be seen to have just changed."""
        left = self.left(number)
        return bool(left) and all(change.seen.became for change in left)

    def may_be(self, number: int, value: str) -> bool:
        """Tell whether an input may be seen at a value."""
        return self.is_open(number) or any(c.seen.value == value for c in self.left(number))

    def left(self, number: int) -> list[Change]:
        """List what an input may still do."""
        choices = self.choices[number]
        return [] if choices is None else [c for _, c in choices.within(self.masks[number])]


new_opened = partial(tuple.__new__, Opened)
"""Makes opened inputs of all that is in them: a search makes so many that it is felt."""


def forks(masks: Masks, look: Callable[[Masks], Result]) -> list[tuple[Masks, Result]]:
    """Let somebody look at inputs, splitting their changes until every look is decided."""
    found: list[tuple[Masks, Result]] = []
    stack = [masks]
    while stack:
        here = stack.pop()
        try:
            result = look(here)
        except Undecided as split:
            stack += reversed(split.apart(here))
            continue
        found.append((here, result))
    return found


def met(masks: Masks, others: Masks) -> Masks | None:
    """Give the changes that two sets of masks share; None where an input has none left."""
    common = tuple(map(and_, masks, others))
    return common if all(common) else None
