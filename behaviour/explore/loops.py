"""All that a prop can do in one loop from where it is, before anybody looks on.

It knows the model and the world that is asked about; clocks are bounded whether or not a search
tracks them, and watches and marks come later.

Strategy: the mechanisms choose first, then each region on what it reads, then the inputs that are
followed; an input is opened only as far as a region looks at it. Loops are listed once for all
questions about the same world (D-025).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import NamedTuple

from behaviour.explore.bounds import NO_BOUNDS, Bounds, meet
from behaviour.explore.guards import Clock, Seen
from behaviour.explore.opened import Change, Choices, Masks, Opened, Reading, forks, met
from behaviour.explore.parts import Parts
from behaviour.explore.places import Option, choose
from behaviour.explore.sight import Sight
from behaviour.explore.situations import Mark, Moment, Question, Situation
from behaviour.explore.surroundings import (
    Motion,
    filtered_changes,
    free_changes,
    held_changes,
    loose_changes,
    motions,
    turned_change,
)

ALL = -1
"""The mask of an input of which every change will do."""

_Decided = tuple[tuple[Masks, tuple[Option, ...]], ...]


class Loop(NamedTuple):
    """One way in which a loop can go: the clocks that begin in it, where it leads, and its marks.

    Nobody has marked it before somebody has looked on.
    """

    moment: Moment
    restarts: frozenset[Clock]
    to: Situation
    marks: Sequence[Mark] = ()


class _Begun(NamedTuple):
    """A loop before any region has chosen: where it begins, and what the world may do in it."""

    at: Situation
    controls: Sight
    moved: tuple[Motion, ...]
    choices: tuple[Choices | None, ...]


class _Chosen(NamedTuple):
    """A loop as far as it is chosen: what inputs may still do, what regions do, and the bounds."""

    masks: Masks
    options: tuple[Option, ...]
    bounds: Bounds


@dataclass(eq=False)
class Loops:
    """The loops of a model with the people of a question; `followed` inputs are part of situations.

    Who looks on in the question does not matter here.
    """

    parts: Parts
    question: Question
    followed: frozenset[int]
    _inputs: range = field(init=False)
    _filtered: frozenset[int] = field(init=False)
    _found: dict[object, list[tuple[frozenset[int], tuple[Loop, ...]]]] = field(
        default_factory=dict, init=False
    )
    _options: dict[object, _Decided] = field(default_factory=dict, init=False)
    _choices: dict[object, Choices] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        self._inputs = range(len(self.parts.model.inputs))
        self._filtered = frozenset(
            number for number in self._inputs if is_filtered(self.parts, self.question, number)
        )

    def of(self, at: Situation, apart: frozenset[int], *, may_stall: bool) -> tuple[Loop, ...]:
        """List every loop that is possible here.

        Loops that differ in nothing but what they read are one, unless it is an input that is to
        be told `apart`; a list that tells more inputs apart will do as well.
        """
        loops = self._listed(at, apart - self.followed, stalling=False)
        if may_stall and at.stalled is None:
            return loops + self._listed(at, apart - self.followed, stalling=True)
        return loops

    def _listed(self, at: Situation, apart: frozenset[int], *, stalling: bool) -> tuple[Loop, ...]:
        lists = self._found.setdefault((at, stalling), [])
        for known, loops in lists:
            if apart <= known:
                return loops
        lists.append((apart, tuple(self._all(at, apart, stalling=stalling))))
        return lists[-1][1]

    def _all(self, at: Situation, apart: frozenset[int], *, stalling: bool) -> Iterator[Loop]:
        """List the loops in which one movement stalls, or none, the mechanisms choosing first."""
        asks = self.followed | self.parts.looked_at(at.places)
        later = self._later(at, apart)
        controls = self._controls(at)
        several = [
            list(self._motions(number, at, controls, stalling))
            for number in range(len(at.standings))
        ]
        for moved in product(*several):
            if sum(motion.stalls is not None for motion in moved) != stalling:
                continue
            bounds: Bounds | None = NO_BOUNDS
            for motion in moved:
                bounds = None if bounds is None else meet(bounds, motion)
            if bounds is None:
                continue
            forces = self.parts.forces(tuple(motion.state for motion in moved))
            choices = tuple(
                self.choice(number, at, forces) if number in asks else None
                for number in self._inputs
            )
            begun = _Begun(at, controls, moved, choices)
            for chosen in self._chosen(begun, bounds, later):
                yield from self._finished(begun, chosen)

    # --- The world ---

    def _motions(
        self,
        number: int,
        at: Situation,
        controls: Sight,
        stalling: bool,  # noqa: FBT001
    ) -> Iterator[Motion]:
        stalled = at.stalled[1] if at.stalled is not None and at.stalled[0] == number else None
        return motions(
            self.parts.model, number, at.standings[number], controls, stalled, may_stall=stalling
        )

    def _controls(self, at: Situation) -> Sight:
        """Give what the last loop left, as `while` sees it."""
        choices = tuple(
            None if now is None else self._known(number, now)
            for number, now in enumerate(at.readings)
        )
        outputs = self.parts.drive(at.places, at.kept)
        return Sight(
            self.parts.model,
            Opened(choices, every(choices)),
            truly=False,
            counters=at.counters,
            leaves=tuple(place.leaf for place in at.places),
            outputs=outputs,
            outputs_before=outputs,
            mechanism=tuple(standing.state for standing in at.standings),
        )

    def _known(self, number: int, now: Reading) -> Choices:
        key = ("known", number, now)
        if key not in self._choices:
            only = Change(now, Seen(now.steady), Seen(now.truly), now.raw)
            self._choices[key] = Choices(self.parts.model, (only,))
        return self._choices[key]

    def choice(self, number: int, at: Situation, forces: dict[int, str]) -> Choices | None:
        """Give all that an input may do; None where it is held and nobody knows at what."""
        now = at.readings[number]
        if now is None and self.question.holds and number not in self.question.free:
            return None
        is_let_go = number in self.parts.forced and self.parts.is_forced(at.standings, number)
        key = (number, now, forces.get(number), is_let_go)
        known = self._choices.get(key)
        if known is None:
            changes = tuple(self._changes(number, now, forces, is_let_go=is_let_go))
            known = self._choices[key] = Choices(self.parts.model, changes)
        return known

    def _changes(
        self, number: int, now: Reading | None, forces: dict[int, str], *, is_let_go: bool
    ) -> Iterator[Change]:
        model = self.parts.model
        still = self.question.still
        turn = self.question.turn
        if turn is not None and turn[0] == number and now is not None and number not in forces:
            yield turned_change(model, number, now, turn[1])
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

    def _is_held(self, number: int, forces: dict[int, str]) -> bool:
        free = self.question.free
        return self.question.holds and number not in forces and number not in free

    def true_values(self, number: int, forces: dict[int, str]) -> tuple[str, ...]:
        """List what an input may truly be."""
        if number in forces:
            return (forces[number],)
        still, toward = self.question.still, self.question.toward
        if still is not None and (value := still.values[number]) is not None:
            return (value,)
        if toward is not None:
            return (toward[number],)
        return self.parts.model.inputs[number].values

    # --- Regions choose ---

    def _chosen(
        self, begun: _Begun, bounds: Bounds, later: Sequence[Sequence[int]]
    ) -> Iterator[_Chosen]:
        """Let the regions choose one by one.

        Two loops that differ in nothing that matters to anybody later are one.
        """
        partials = [_Chosen(every(begun.choices), (), bounds)]
        for number, mattering in enumerate(later):
            found: dict[object, _Chosen] = {}
            decided = self._decided(number, begun)
            for so_far in partials:
                for masks, options in decided:
                    kept = met(so_far.masks, masks)
                    if kept is None:
                        continue
                    matters = tuple(kept[n] for n in mattering)
                    for option in options:
                        both = meet(so_far.bounds, option)
                        if both is not None:
                            taken = (*so_far.options, option)
                            key = (matters, tuple(map(id, taken)), both)
                            if key not in found:
                                found[key] = _Chosen(kept, taken, both)
            partials = list(found.values())
        yield from partials

    def _later(self, at: Situation, apart: frozenset[int]) -> list[list[int]]:
        """List for each region the inputs that still matter once it has chosen."""
        after: list[list[int]] = []
        mattering = self.followed | apart
        for number in reversed(range(len(at.places))):
            after.append(sorted(mattering))
            mattering |= self.parts.spot(number, at.places[number]).asks.inputs
        return after[::-1]

    def _decided(self, number: int, begun: _Begun) -> _Decided:
        """Give what a region chooses, for each part of what its inputs may do."""
        at = begun.at
        here = self.parts.spot(number, at.places[number])
        key = (
            number,
            at.places[number],
            tuple(id(begun.choices[i]) for i in here.asks.inputs),
            tuple(at.counters[i] for i in here.asks.counters),
            tuple(at.places[i].leaf for i in here.asks.regions),
        )
        known = self._options.get(key)
        if known is None:
            leaves = tuple(place.leaf for place in at.places)
            model = self.parts.model

            def look(masks: Masks) -> tuple[Option, ...]:
                opened = Opened(begun.choices, masks)
                told = Sight(model, opened, truly=False, counters=at.counters, leaves=leaves)
                return tuple(choose(here.ways, told))

            wide = [
                (tuple(m if n in here.asks.inputs else ALL for n, m in enumerate(masks)), options)
                for masks, options in forks(every(begun.choices), look)
            ]
            known = self._options[key] = tuple(wide)
        return known

    # --- The loop ends ---

    def _finished(self, begun: _Begun, chosen: _Chosen) -> Iterator[Loop]:
        """Let the regions act, and the outputs and mechanisms follow, for all that inputs do."""
        at, parts, model = begun.at, self.parts, self.parts.model
        ways = tuple(option.way for option in chosen.options)
        places, leaves, counters, beyond, outputs, kept, entered = parts.left(
            at.places, at.counters, at.kept, ways
        )
        states = tuple(motion.state for motion in begun.moved)
        stalled = next(
            ((n, m.stalls) for n, m in enumerate(begun.moved) if m.stalls is not None), at.stalled
        )
        before, told = begun.controls.outputs, begun.controls[3:]
        for masks, changes, bounds in self._following(begun, chosen):
            opened = Opened(begun.choices, masks)
            left = Sight(model, opened, True, counters, leaves, outputs, before, states)  # noqa: FBT003
            restarts = entered.union(*(change.restarts for _, change in changes))
            standings = []
            if begun.moved:
                after = Sight(model, opened, False, *left[3:])  # noqa: FBT003
                for number, motion in enumerate(begun.moved):
                    standing, started = parts.settle(number, at.standings[number], motion, after)
                    standings.append(standing)
                    restarts |= started
            moment = Moment(
                at,
                Sight(model, opened, False, *told),  # noqa: FBT003
                left,
                ways,
                begun.moved,
                beyond,
                *bounds,
            )
            readings = self.readings(changes)
            to = Situation(places, counters, tuple(standings), readings, kept, stalled, ())
            yield Loop(moment, restarts, to)

    def _following(
        self, begun: _Begun, chosen: _Chosen
    ) -> Iterator[tuple[Masks, list[tuple[int, Change]], Bounds]]:
        """Choose what each input does that is part of a situation."""
        for masks in self.followed_apart(begun.choices, chosen.masks):
            bounds: Bounds | None = chosen.bounds
            changes = Opened(begun.choices, masks).changes(self.followed)
            for _, change in changes:
                bounds = None if bounds is None else meet(bounds, change)
            if bounds is not None:
                yield masks, changes, bounds

    def followed_apart(self, choices: tuple[Choices | None, ...], masks: Masks) -> Iterator[Masks]:
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

    def readings(self, changes: Sequence[tuple[int, Change]]) -> tuple[Reading | None, ...]:
        """Give what the inputs read that are followed; the others are forgotten."""
        readings: list[Reading | None] = [None] * len(self._inputs)
        for number, change in changes:
            to = change.to
            if to.raw and to.steady == to.truly and number not in self._filtered:
                to = to._replace(raw="")
            readings[number] = to
        return tuple(readings)


def is_filtered(parts: Parts, question: Question, number: int) -> bool:
    """Tell whether an input goes through its filter loop by loop."""
    if number in question.free:
        return False
    return number in parts.forced or question.still is not None


def every(choices: Sequence[Choices | None]) -> Masks:
    """Give the masks under which each input may do all that it can."""
    return tuple(ALL if choice is None else choice.every for choice in choices)


def _settled(change: Change) -> Change:
    def done(seen: Seen) -> Seen:
        return Seen(seen.value, settled=True)

    return Change(change.to, done(change.seen), done(change.truly), change.raw)
