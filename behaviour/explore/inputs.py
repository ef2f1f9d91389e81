"""What the inputs may do in one loop: by what people mean to do, and by how their lines are.

It knows the model and its question, and no region. All that an input may do is kept together as
long as nobody looks (`opened.py`); what is followed of it becomes part of a situation.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product

from behaviour.explore.bounds import NO_BOUNDS, Bounds, meet
from behaviour.explore.guards import Clock, Seen
from behaviour.explore.lines import (
    first_line,
    line_changes,
    loose_line,
    restarted_line,
    turned_line,
)
from behaviour.explore.opened import Change, Choices, Masks, Opened, Reading, new_opened
from behaviour.explore.parts import Parts
from behaviour.explore.situations import Question
from behaviour.explore.surroundings import (
    filtered_changes,
    first_readings,
    free_changes,
    held_changes,
    loose_changes,
    turned_change,
)
from behaviour.findings import Beat
from behaviour.model import Model
from behaviour.world.circuit import Circuit, Lives, acting, beat, is_whole

ALL = -1
"""The mask of an input of which every change will do."""

NOTHING = frozenset[Clock]()

Readings = tuple[Reading | None, ...]
"""What each input reads; None where nobody can tell."""


Followed = tuple[Opened, Readings, frozenset[Clock], Bounds]
"""What inputs do that are part of situations: what they then read, which clocks begin, and when."""


@dataclass(eq=False)
class Inputs:
    """The inputs of a model with the people of a question; `followed` ones are in situations."""

    parts: Parts
    question: Question
    followed: frozenset[int]
    model: Model = field(init=False)
    circuit: Circuit = field(init=False)
    _filtered: frozenset[int] = field(init=False)
    _turned: dict[int, str] = field(init=False)
    _in_order: tuple[int, ...] = field(init=False)
    _nothing: Readings = field(init=False)
    _offered: dict[object, Opened] = field(default_factory=dict, init=False)
    _left: dict[Readings, Opened] = field(default_factory=dict, init=False)
    _followed: dict[object, list[Followed]] = field(default_factory=dict, init=False)
    _meant: tuple[object, ...] = field(init=False)
    """What people mean to do with each input, as far as it says what that may do."""

    def __post_init__(self) -> None:
        self.model, self.circuit = self.parts.model, self.parts.circuit
        self._turned = dict(self.question.turns)
        self._in_order = tuple(sorted(self.followed))
        self._nothing = (None,) * len(self.model.inputs)
        self._filtered = frozenset(
            number
            for number in range(len(self.model.inputs))
            if is_filtered(self.parts, self.question, number)
        )
        self._meant = tuple(map(self._meaning, range(len(self.model.inputs))))

    def _meaning(self, number: int) -> object:
        question = self.question
        still, toward = question.still, question.toward
        return (
            question.holds,
            number in question.free,
            question.is_planned,
            None if still is None else (still.values[number], still.settled),
            None if toward is None else toward[number],
            self._turned.get(number),
        )

    # --- All that they may do ---

    def offered(
        self,
        readings: Readings,
        was: tuple[int, ...],
        states: tuple[int, ...],
        lives: Lives,
        asks: frozenset[int],
    ) -> Opened:
        """Give all that the inputs may do that somebody asks for, and that read so far so.

        `was` and `states` are those of the mechanisms before the loop and in it. An input is None
        where it is held and nobody knows at what.
        """
        key = (readings, was, states, lives, asks)
        known = self._offered.get(key)
        if known is None:
            before, forces = self.parts.forces(was), self.parts.forces(states)
            choices = tuple(
                [
                    self._choice(number, now, forces, lives, is_let_go=number in before)
                    if number in asks
                    else None
                    for number, now in enumerate(readings)
                ]
            )
            known = self._offered[key] = self.undecided(choices)
        return known

    def undecided(self, choices: tuple[Choices | None, ...]) -> Opened:
        """Give inputs at which nobody has looked."""
        masks = tuple([ALL if choice is None else choice.every for choice in choices])
        return Opened(choices, masks, self.parts.wires)

    def opened(self, known: Opened, masks: Masks) -> Opened:
        """Open inputs as far as `masks` say."""
        return (
            known if masks is known.masks else new_opened((known.choices, masks, self.parts.wires))
        )

    def left(self, readings: Readings) -> Opened:
        """Give the inputs as the last loop has left them."""
        known = self._left.get(readings)
        if known is None:
            choices = (None if now is None else self._known(now) for now in readings)
            known = self._left[readings] = self.undecided(tuple(choices))
        return known

    def first(self, number: int, forces: dict[int, str], lives: Lives) -> Choices:
        """Give what an input may truly be at power-up."""
        trues, on_line = self.true_values(number, forces), number in self.circuit.lines
        key = ("first", number, trues, lives if on_line else ())
        known = self.parts.offers.get(key)
        if known is None:
            known = self.parts.offers[key] = self._first(number, trues, lives)
        return known

    def _first(self, number: int, trues: tuple[str, ...], lives: Lives) -> Choices:
        changes = []
        for value in trues:
            if number in self.circuit.lines:
                reader = self.circuit.wires[number]
                reads = self.circuit.reads(acting(lives), reader, value)
                changes += [first_line(self.model, reader, value, read) for read in reads]
                continue
            reading = first_readings(self.model, number, value)
            told, truly = Seen(reading.steady), Seen(reading.truly)
            changes.append(Change(reading, told, truly, value))
        safe = self.model.inputs[number].safe
        changes.sort(key=lambda change: change.raw == safe)
        return self.parts.choices(tuple(changes))

    def true_values(self, number: int, forces: dict[int, str]) -> tuple[str, ...]:
        """List what an input may truly be."""
        if number in forces:
            return (forces[number],)
        still, toward = self.question.still, self.question.toward
        if still is not None and (value := still.values[number]) is not None:
            return (value,)
        if toward is not None:
            return (toward[number],)
        return self.model.inputs[number].values

    def settled_line(self, number: int, lives: Lives, true: str) -> Reading:
        """Give where the wire of an input is that has long had a value, if it can be quiet."""
        reader = self.circuit.wires[number]
        read = self.circuit.reads(acting(lives), reader, true)[0]
        return Reading(read, true, read, true)

    def _known(self, now: Reading) -> Choices:
        only = Change(now, Seen(now.steady), Seen(now.truly), now.raw)
        return self.parts.choices((only,))

    def _choice(
        self,
        number: int,
        now: Reading | None,
        forces: dict[int, str],
        lives: Lives,
        *,
        is_let_go: bool,
    ) -> Choices | None:
        if now is None and self.question.holds and number not in self.question.free:
            return None
        on_line = number in self.circuit.lines
        key = (
            number,
            now,
            forces.get(number),
            is_let_go,
            lives if on_line else (),
            self._meant[number],
        )
        known = self.parts.offers.get(key)
        if known is None:
            if on_line and now is None and not is_whole(lives):
                changes = tuple(loose_line(self.model, number, self.circuit.wires[number]))
            elif on_line and now is not None:
                changes = tuple(self._line_changes(number, now, forces, lives, is_let_go=is_let_go))
            else:
                changes = tuple(self._changes(number, now, forces, is_let_go=is_let_go))
            known = self.parts.offers[key] = self.parts.choices(changes)
        return known

    def _changes(
        self, number: int, now: Reading | None, forces: dict[int, str], *, is_let_go: bool
    ) -> Iterator[Change]:
        model = self.model
        still = self.question.still
        turned = self._turned.get(number)
        if turned is not None and now is not None and number not in forces:
            yield turned_change(model, number, now, turned)
        elif self._is_held(number, forces) and now is not None:
            trues = model.inputs[number].values if is_let_go else (now.raw,)
            filtered = trues if number in self.parts.forced else ()
            yield from held_changes(model, number, now, filtered)
        elif number in self._filtered and now is not None:
            for true in self.true_values(number, forces):
                for change in filtered_changes(model, number, now, true):
                    if still is not None and still.settled and number not in self.parts.forced:
                        yield _settled(change)
                    else:
                        yield change
        else:
            toward = self.question.toward
            only = None if toward is None or number in self.question.free else toward[number]
            if now is not None:
                yield from free_changes(model, number, now, only)
            else:
                yield from loose_changes(model, number, only)

    def _line_changes(
        self,
        number: int,
        now: Reading,
        forces: dict[int, str],
        lives: Lives,
        *,
        is_let_go: bool,
    ) -> Iterator[Change]:
        model, circuit, turned = self.model, self.circuit, self._turned.get(number)
        wrong, reader, now_beat = acting(lives), circuit.wires[number], beat(lives)
        if turned is not None and number not in forces:
            yield turned_line(number, reader, self.settled_line(number, lives, turned), now)
            return
        trues = self.true_values(number, forces)
        if self._is_held(number, forces) and not is_let_go:
            trues = (now.true,)
        for true in trues:
            reads = circuit.reads(wrong, reader, true)
            for read in reads[:1] if self.question.is_planned else reads:
                if now_beat is Beat.STARTS:
                    yield from restarted_line(model, number, reader, now, true, read)
                    continue
                yield from line_changes(
                    model,
                    number,
                    reader,
                    now,
                    true,
                    read,
                    most_flipped=circuit.most_flipped(reader, read),
                    is_whole=is_whole(lives),
                    samples=now_beat is Beat.RUNS,
                )

    def _is_held(self, number: int, forces: dict[int, str]) -> bool:
        free = self.question.free
        return self.question.holds and number not in forces and number not in free

    # --- What is followed of it ---

    def follow(self, known: Opened, masks: Masks, bounds: Bounds) -> list[Followed]:
        """Choose what each input does that is part of a situation."""
        key = (known.choices, masks)
        free = self._followed.get(key)
        if free is None:
            free = self._followed[key] = self._follow(known, masks)
        if bounds == NO_BOUNDS:
            return free
        return [
            (opened, readings, begun, both)
            for opened, readings, begun, own in free
            if (both := meet(bounds, own)) is not None
        ]

    def _follow(self, known: Opened, masks: Masks) -> list[Followed]:
        """Choose it where nothing else bounds any clock."""
        asked = [(n, c) for n in self._in_order if (c := known.choices[n]) is not None]
        if not asked:
            return [(self.opened(known, masks), self._nothing, NOTHING, NO_BOUNDS)]
        found: list[Followed] = []
        for several in product(*[choices.within(masks[number]) for number, choices in asked]):
            parted, readings = list(masks), list(self._nothing)
            restarts: tuple[Clock, ...] = ()
            both: Bounds | None = NO_BOUNDS
            for (number, _), (bit, change) in zip(asked, several, strict=True):
                parted[number], readings[number] = bit, self.kept(number, change.to)
                restarts += change.restarts
                if change.lows or change.highs:
                    both = None if both is None else meet(both, change)
            if both is not None:
                opened = self.opened(known, tuple(parted))
                begun = frozenset(restarts) if restarts else NOTHING
                found.append((opened, tuple(readings), begun, both))
        return found

    def apart(self, choices: tuple[Choices | None, ...], masks: Masks) -> Iterator[Masks]:
        """Tell apart all that the inputs may do that are part of a situation."""
        several = {
            number: [bit for bit, _ in here.within(mask)]
            for number in self.followed
            if (here := choices[number]) is not None and (mask := masks[number]) & (mask - 1)
        }
        if several:
            bits = (several.get(number, [mask]) for number, mask in enumerate(masks))
            yield from product(*bits)
        else:
            yield masks

    def readings(self, opened: Opened) -> Readings:
        """Give what the inputs read that are followed; the others are forgotten."""
        readings = list(self._nothing)
        for number, change in opened.changes(self.followed):
            readings[number] = self.kept(number, change.to)
        return tuple(readings)

    def kept(self, number: int, to: Reading) -> Reading:
        """Forget of where an input is what does not matter there."""
        if (
            to.raw
            and to.steady == to.truly
            and number not in self._filtered
            and number not in self.circuit.lines
        ):
            return to._replace(raw="")
        return to


def is_filtered(parts: Parts, question: Question, number: int) -> bool:
    """Tell whether an input goes through its filter loop by loop."""
    if number in question.free:
        return False
    return number in parts.forced or question.still is not None


def _settled(change: Change) -> Change:
    def done(seen: Seen) -> Seen:
        return Seen(seen.value, settled=True)

    return Change(change.to, done(change.seen), done(change.truly), change.raw)
