"""All that a prop can do in one loop from where it is, before anybody looks on.

It knows the model and the world that is asked about; clocks are bounded whether or not a search
tracks them, and watches and marks come later.

Strategy: the mechanisms choose first, then each region on what it reads, then the inputs that are
followed; an input is opened only as far as a region looks at it. Loops are listed once for all
questions about the same world (D-026).
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import NamedTuple

from behaviour.explore.bounds import NO_BOUNDS, Bounds, meet
from behaviour.explore.guards import Clock, Seen
from behaviour.explore.lines import line_changes, loose_line, restarted_line, turned_line
from behaviour.explore.opened import Change, Choices, Masks, Opened, Reading, forks, met
from behaviour.explore.parts import Parts, standing_of
from behaviour.explore.places import Option, choices_at
from behaviour.explore.sight import Sight
from behaviour.explore.situations import Mark, Moment, Question, Situation
from behaviour.explore.surroundings import (
    Motion,
    Standing,
    filtered_changes,
    free_changes,
    held_changes,
    loose_changes,
    motions,
    movement_clock,
    turned_change,
)
from behaviour.findings import Beat
from behaviour.world.circuit import Circuit, Lives, acting, beat, is_whole, loops_since
from behaviour.world.mechanism import at_power_up, settle

NOTHING = Option(None, (), ())

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
    masks: Masks
    lives: Lives
    shadows: tuple[Motion, ...]


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
    circuit: Circuit = field(init=False)
    _is_healthy: bool = field(init=False)
    _inputs: range = field(init=False)
    _filtered: frozenset[int] = field(init=False)
    _found: dict[object, list[tuple[frozenset[int], tuple[Loop, ...]]]] = field(
        default_factory=dict, init=False
    )
    _options: dict[object, _Decided] = field(default_factory=dict, init=False)
    _choices: dict[object, Choices] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        self.circuit = Circuit(self.parts.model, self.question.faults)
        self._is_healthy = not self.question.faults and not self.question.shadowed
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
        if self.circuit.stops:
            asks |= self.parts.asked_first()
        later = self._later(at, apart)
        controls = self._controls(at)
        several = [
            list(self._motions(number, at, controls, stalling))
            for number in range(len(at.standings))
        ]
        lives_onward: tuple[Lives, ...] = ((),) if self._is_healthy else self._lives(at)
        for moved, lives in product(product(*several), lives_onward):
            if sum(motion.stalls is not None for motion in moved) != stalling:
                continue
            bounds = _meet_all(NO_BOUNDS, moved)
            if bounds is None:
                continue
            forces = self.parts.forces(tuple(motion.state for motion in moved))
            choices = tuple(
                self.choice(number, at, forces, lives) if number in asks else None
                for number in self._inputs
            )
            if self._is_healthy:
                begun = _Begun(at, controls, moved, choices, every(choices), (), ())
                for chosen in self._chosen(begun, bounds, later):
                    yield from self._finished(begun, chosen)
                continue
            for shadows in self._shadows(at, lives):
                states = tuple(shadow.state for shadow in shadows)
                masks = self.read_alike(choices, forces, states, lives)
                both = _meet_all(bounds, shadows)
                if masks is None or both is None:
                    continue
                begun = _Begun(at, controls, moved, choices, masks, lives, shadows)
                for chosen in self._chosen(begun, both, later):
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
        only, model = self.question.stalls, self.circuit.world
        name = model.mechanism[number].name
        for motion in motions(
            model, number, at.standings[number], controls, stalled, may_stall=stalling
        ):
            if motion.stalls is None or not only or (name, motion.stalls) in only:
                yield motion

    def _lives(self, at: Situation) -> tuple[Lives, ...]:
        """List how the faults may stand in the next loop."""
        if self.question.is_planned:
            return tuple(self.circuit.unmoved(at.lives))
        return tuple(self.circuit.onward(at.lives))

    def _shadows(self, at: Situation, lives: Lives) -> Iterator[tuple[Motion, ...]]:
        """List what healthy mechanisms may do, if anybody asks: nothing where no loop is made."""
        if not self.question.shadowed:
            yield ()
            return
        model, count = self.parts.model, len(at.shadows)
        match beat(lives):
            case Beat.RUNS if loops_since(lives) > 1:
                return
            case Beat.RUNS:
                leaves = tuple(place.leaf for place in at.places)
                set_now, states = self._set(at), tuple(shadow.state for shadow in at.shadows)
                opened = self._controls(at).opened
                told = Sight(model, opened, False, at.counters, leaves, set_now, set_now, states)  # noqa: FBT003
                each = (
                    tuple(motions(model, count + n, shadow, told, None, may_stall=False))
                    for n, shadow in enumerate(at.shadows)
                )
                yield from product(*each)
            case Beat.STARTS:
                stood = product(*(at_power_up(mechanism) for mechanism in model.mechanism))
                yield from (tuple(Motion(stand.state, ()) for stand in stands) for stands in stood)
            case _:
                yield tuple(Motion(shadow.state, ()) for shadow in at.shadows)

    def read_alike(
        self,
        choices: tuple[Choices | None, ...],
        forces: dict[int, str],
        shadows: tuple[int, ...],
        lives: Lives,
    ) -> Masks | None:
        """Leave of what inputs may do what the shadows would read too; None if nothing is left."""
        masks = list(every(choices))
        if not shadows or beat(lives) in (Beat.SKIPS, Beat.IS_DOWN):
            return tuple(masks)
        for number, value in self.parts.forces(shadows).items():
            wire = self.circuit.wires[number]
            choice = choices[wire]
            if choice is None:
                true = forces.get(wire)
                if true is not None and value not in self.circuit.reads(
                    acting(lives), number, true
                ):
                    return None
                continue
            masks[wire] &= sum(1 << at for at, c in enumerate(choice.changes) if c.raw == value)
            if not masks[wire]:
                return None
        return tuple(masks)

    def _set(self, at: Situation) -> tuple[str, ...]:
        """Give the outputs as the controller has them where a loop has left things."""
        if beat(at.lives) is Beat.IS_DOWN:
            return self.parts.rest
        return self.parts.drive(at.places, at.kept)

    def _controls(self, at: Situation) -> Sight:
        """Give what the last loop left, as `while` sees it."""
        choices = tuple(
            None if now is None else self._known(number, now)
            for number, now in enumerate(at.readings)
        )
        outputs = self.parts.drive(at.places, at.kept)
        if not self._is_healthy:
            outputs = self.circuit.real(acting(at.lives), self._set(at))
        return Sight(
            self.parts.model,
            self.opened(choices, every(choices)),
            truly=self.circuit.parts,
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

    def opened(self, choices: tuple[Choices | None, ...], masks: Masks) -> Opened:
        """Open inputs as far as `masks` say."""
        return Opened(choices, masks, self.parts.wires)

    def choice(
        self, number: int, at: Situation, forces: dict[int, str], lives: Lives
    ) -> Choices | None:
        """Give all that an input may do; None where it is held and nobody knows at what."""
        now = at.readings[number]
        if now is None and self.question.holds and number not in self.question.free:
            return None
        is_let_go = number in self.parts.forced and self.parts.is_forced(at.standings, number)
        on_line = number in self.circuit.lines
        key = (number, now, forces.get(number), is_let_go, lives if on_line else ())
        known = self._choices.get(key)
        if known is None:
            if on_line and now is None and not is_whole(lives):
                changes = tuple(loose_line(self.parts.model, number, self.circuit.wires[number]))
            elif on_line and now is not None:
                changes = tuple(self._line_changes(number, now, forces, lives, is_let_go=is_let_go))
            else:
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

    def settled_line(self, number: int, lives: Lives, true: str) -> Reading:
        """Give where the wire of an input is that has long had a value, if it can be quiet."""
        reader = self.circuit.wires[number]
        read = self.circuit.reads(acting(lives), reader, true)[0]
        return Reading(read, true, read, true)

    def _line_changes(
        self,
        number: int,
        now: Reading,
        forces: dict[int, str],
        lives: Lives,
        *,
        is_let_go: bool,
    ) -> Iterator[Change]:
        model, circuit, turn = self.parts.model, self.circuit, self.question.turn
        wrong, reader, now_beat = acting(lives), circuit.wires[number], beat(lives)
        if turn is not None and turn[0] == number and number not in forces:
            yield turned_line(number, reader, self.settled_line(number, lives, turn[1]), now)
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
                    is_whole=not wrong and not circuit.stops,
                    samples=now_beat is Beat.RUNS,
                )

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
        if not self._is_healthy and beat(begun.lives) is not Beat.RUNS:
            yield from self._stopped(begun, bounds)
            return
        partials = [_Chosen(begun.masks, (), bounds)]
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

    def _stopped(self, begun: _Begun, bounds: Bounds) -> Iterator[_Chosen]:
        """Let regions do what they do where the controller makes no loop: nothing, or begin."""
        parts, masks = self.parts, begun.masks
        if beat(begun.lives) is not Beat.STARTS:
            yield _Chosen(masks, (NOTHING,) * len(parts.begin), bounds)
            return
        counters = tuple(counter.begins for counter in parts.model.counters)

        def look(masks: Masks) -> tuple[Option, ...]:
            opened = self.opened(begun.choices, masks)
            told = Sight(parts.model, opened, truly=False, counters=counters, leaves=parts.begin)
            return tuple(
                Option(parts.started(number, leaf if way is None else way.to.leaf), (), ())
                for number, (leaf, way) in enumerate(
                    zip(parts.begin, parts.first_ways(told), strict=True)
                )
            )

        for parted, options in forks(masks, look):
            yield _Chosen(parted, options, bounds)

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
                opened = self.opened(begun.choices, masks)
                told = Sight(model, opened, truly=False, counters=at.counters, leaves=leaves)
                return tuple(choices_at(here, told))

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
        set_now, lives = outputs, begun.lives
        if not self._is_healthy:
            counters, set_now, kept = self._by_beat(begun.lives, counters, outputs, kept)
            outputs = self.circuit.real(acting(lives), set_now)
            lives = self.left(lives, self._set(at), set_now)
        states = tuple(motion.state for motion in begun.moved)
        stalled = next(
            ((n, m.stalls) for n, m in enumerate(begun.moved) if m.stalls is not None), at.stalled
        )
        before = begun.controls.outputs
        runs = self._is_healthy or beat(begun.lives) is Beat.RUNS
        done = parts.done(at.places, ways) if runs else ()
        told = begun.controls._replace(done=done)[3:]
        for masks, changes, bounds in self._following(begun, chosen):
            opened = self.opened(begun.choices, masks)
            left = Sight(model, opened, True, counters, leaves, outputs, before, states, done)  # noqa: FBT003
            restarts = entered.union(*(change.restarts for _, change in changes))
            standings = []
            shadows = at.shadows
            if begun.moved:
                after = Sight(model, opened, self.circuit.parts, *left[3:])
                for number, motion in enumerate(begun.moved):
                    standing, started = parts.settle(number, at.standings[number], motion, after)
                    standings.append(standing)
                    restarts |= started
                if begun.shadows:
                    shadows, started = self._settled_shadows(begun, after, set_now)
                    restarts |= started
            moment = Moment(
                at,
                Sight(model, opened, False, *told),  # noqa: FBT003
                left,
                ways,
                begun.moved,
                beyond,
                *bounds,
                begun.lives,
            )
            readings = self.readings(changes)
            to = Situation(
                places, counters, tuple(standings), readings, kept, stalled, (), lives, shadows
            )
            yield Loop(moment, restarts, to)

    def _by_beat(
        self,
        lives: Lives,
        counters: tuple[int, ...],
        set_now: tuple[str, ...],
        kept: tuple[str, ...],
    ) -> tuple[tuple[int, ...], tuple[str, ...], tuple[str, ...]]:
        """Give counters, outputs and what they keep where the controller may be off or begin."""
        match beat(lives):
            case Beat.STARTS:
                return tuple(c.begins for c in self.parts.model.counters), set_now, kept
            case Beat.IS_DOWN:
                return counters, self.parts.rest, self.parts.kept(self.parts.rest)
            case _:
                return counters, set_now, kept

    def _settled_shadows(
        self, begun: _Begun, after: Sight, set_now: tuple[str, ...]
    ) -> tuple[tuple[Standing, ...], frozenset[Clock]]:
        """Give where healthy mechanisms come to stand, and the clocks that begin by it."""
        if not begun.shadows or beat(begun.lives) in (Beat.SKIPS, Beat.IS_DOWN):
            return begun.at.shadows, frozenset()
        states = tuple(shadow.state for shadow in begun.shadows)
        told = after._replace(truly=False, outputs=set_now, mechanism=states)
        if beat(begun.lives) is Beat.STARTS:
            return self.first_shadows(states, told), frozenset(self._shadow_clocks(states))
        count, restarts, found = len(states), frozenset[Clock](), []
        for number, motion in enumerate(begun.shadows):
            before = begun.at.shadows[number]
            standing, started = self.parts.settle(count + number, before, motion, told)
            found.append(standing)
            restarts |= started
        return tuple(found), restarts

    def first_shadows(self, states: tuple[int, ...], told: Sight) -> tuple[Standing, ...]:
        """Give where healthy mechanisms stand at power-up; none if nobody asks."""
        if not self.question.shadowed:
            return ()
        return tuple(
            standing_of(settle(mechanism, stand, lambda c: bool(told.judge(c))))
            for mechanism, state in zip(self.parts.model.mechanism, states, strict=True)
            for stand in at_power_up(mechanism)
            if stand.state == state
        )

    def _shadow_clocks(self, states: tuple[int, ...]) -> Iterator[Clock]:
        for number, (mechanism, state) in enumerate(
            zip(self.parts.model.mechanism, states, strict=True)
        ):
            for which in range(len(mechanism.states[state].movements)):
                yield movement_clock(len(states) + number, which)

    def left(self, lives: Lives, before: tuple[str, ...], now: tuple[str, ...]) -> Lives:
        """Give how the faults stand once outputs are set."""
        if not self.circuit.stops:
            return lives
        began = any(
            output.hazard and was == output.rest != value
            for output, was, value in zip(self.parts.model.outputs, before, now, strict=True)
        )
        return self.circuit.left(lives, hazard_began=began)

    def _following(
        self, begun: _Begun, chosen: _Chosen
    ) -> Iterator[tuple[Masks, list[tuple[int, Change]], Bounds]]:
        """Choose what each input does that is part of a situation."""
        for masks in self.followed_apart(begun.choices, chosen.masks):
            bounds: Bounds | None = chosen.bounds
            changes = self.opened(begun.choices, masks).changes(self.followed)
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
            if (
                to.raw
                and to.steady == to.truly
                and number not in self._filtered
                and number not in self.circuit.lines
            ):
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


def _meet_all(bounds: Bounds, motions: Iterable[Motion]) -> Bounds | None:
    """Give the bounds of several motions together; None where they cannot be met."""
    both: Bounds | None = bounds
    for motion in motions:
        both = None if both is None else meet(both, motion)
    return both


def _settled(change: Change) -> Change:
    def done(seen: Seen) -> Seen:
        return Seen(seen.value, settled=True)

    return Change(change.to, done(change.seen), done(change.truly), change.raw)
