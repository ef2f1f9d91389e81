"""All that a prop can do in one loop from where it is, before anybody looks on.

It knows the model and the world that is asked about; clocks are bounded whether or not a search
tracks them, and watches and marks come later.

Strategy: the mechanisms choose first, then each region on what it reads, then the inputs that are
followed, and outputs and mechanisms follow; an input is opened only as far as a region looks at it.
Loops are listed once for all questions about the same world (D-026), and what regions and inputs
do in them once for all that mechanisms do meanwhile (D-097).
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product

from behaviour.explore.bounds import NO_BOUNDS, Bounds, meet
from behaviour.explore.choosing import Choosing, Chosen
from behaviour.explore.guards import Clock
from behaviour.explore.inputs import Inputs, Readings
from behaviour.explore.opened import Opened
from behaviour.explore.parts import Left, Parts
from behaviour.explore.shadows import Shadows
from behaviour.explore.sight import Scene, Sight, new_scene
from behaviour.explore.situations import Mark, Moment, Question, Situation, new_situation
from behaviour.explore.surroundings import Motion, Standing, motions
from behaviour.findings import Beat
from behaviour.world.circuit import Circuit, Lives, acting, beat


@dataclass(slots=True, eq=False)
class Loop:
    """One way in which a loop can go: the clocks that begin in it, where it leads, and its marks.

    `acted` tells what each region does in it. Nobody has marked it before somebody has looked on.
    """

    moment: Moment
    restarts: frozenset[Clock]
    to: Situation
    acted: tuple[int, ...]
    marks: Sequence[Mark] = ()


@dataclass(slots=True, eq=False)
class _World:
    """What the world does in a loop before any region has chosen.

    `was` is how the loop finds things, and `set_before` the outputs as they were set; `stalled` is
    the movement that never ends from here on.
    """

    at: Situation
    was: Scene
    set_before: tuple[str, ...]
    moved: tuple[Motion, ...]
    states: tuple[int, ...]
    stalled: tuple[int, int] | None
    lives: Lives


@dataclass(slots=True, eq=False)
class _Done:
    """What regions and inputs do in a loop, whatever mechanisms do in it.

    `set_now` are the outputs as the controller sets them, and `outputs` as they really are.
    """

    left: Left
    set_now: tuple[str, ...]
    outputs: tuple[str, ...]
    opened: Opened
    readings: Readings
    restarts: frozenset[Clock]
    bounds: Bounds


@dataclass(eq=False)
class Loops:
    """The loops of a model with the people of a question; `followed` inputs are part of situations.

    Who looks on in the question does not matter here.
    """

    parts: Parts
    question: Question
    followed: frozenset[int]
    choosing: Choosing
    inputs: Inputs = field(init=False)
    shadows: Shadows = field(init=False)
    _circuit: Circuit = field(init=False)
    _may_part: bool = field(init=False)
    """What the controller believes of an input may part from what is there."""
    _found: dict[object, list[tuple[frozenset[int], tuple[Loop, ...]]]] = field(
        default_factory=dict, init=False
    )
    _done: dict[object, list[_Done]] = field(default_factory=dict, init=False)
    _moving: dict[object, tuple[Motion, ...]] = field(default_factory=dict, init=False)
    """What mechanisms may do where that hangs on nothing but where they stand."""

    def __post_init__(self) -> None:
        self._circuit = self.parts.circuit
        self._may_part = self._circuit.parts
        self.inputs = Inputs(self.parts, self.question, self.followed)
        self.shadows = Shadows(self.parts, self.inputs)

    def of(self, at: Situation, apart: frozenset[int], *, may_stall: bool) -> tuple[Loop, ...]:
        """List every loop that is possible here.

        Loops that differ in nothing but what they read are one, unless it is an input that is to
        be told `apart`; a list that tells more inputs apart will do as well.
        """
        loops = self._listed(at, apart | self.followed, stalling=False)
        if may_stall and at.standings and at.stalled is None:
            return loops + self._listed(at, apart | self.followed, stalling=True)
        return loops

    def _listed(self, at: Situation, apart: frozenset[int], *, stalling: bool) -> tuple[Loop, ...]:
        lists = self._found.setdefault((at, stalling), [])
        for known, loops in lists:
            if apart <= known:
                return loops
        loops = self._all(at, apart, stalling=stalling)
        lists.append((apart, loops))
        return loops

    def _all(self, at: Situation, apart: frozenset[int], *, stalling: bool) -> tuple[Loop, ...]:
        """List the loops in which one movement stalls, or none, the mechanisms choosing first."""
        asks = self.followed | self.parts.looked_at(at.places)
        if self._circuit.stops:
            asks |= self.parts.asked_first
        found: list[Loop] = []
        for world in self._worlds(at, stalling=stalling):
            bounds = _meet_all(NO_BOUNDS, world.moved)
            if bounds is None:
                continue
            opened = self.inputs.offered(
                at.readings, world.was.mechanism, world.states, world.lives, asks
            )
            if not self.question.shadowed:
                several = self._regions(world, opened, bounds, apart)
                found += [self._finished(world, (), done) for done in several]
                continue
            for shadows, alike in self._beside(world, opened):
                both = _meet_all(bounds, shadows)
                if both is not None:
                    several = self._regions(world, alike, both, apart)
                    found += [self._finished(world, shadows, done) for done in several]
        return tuple(found)

    # --- The world ---

    def _worlds(self, at: Situation, *, stalling: bool) -> list[_World]:
        """List what mechanisms may do, and how the faults may then stand."""
        was, set_before = self._found_so(at)
        if not at.standings and not at.lives:
            return [] if stalling else [_World(at, was, set_before, (), (), at.stalled, ())]
        several: Iterable[tuple[Motion, ...]] = ((),)
        if at.standings:
            controls = Sight(was, self.inputs.left(at.readings), self._may_part)
            each = [
                self._motions(number, at, controls, may_stall=stalling)
                for number in range(len(at.standings))
            ]
            several = product(*each)
        found: list[_World] = []
        for moved, lives in product(several, self._lives(at)):
            stalls = [(n, m.stalls) for n, m in enumerate(moved) if m.stalls is not None]
            if len(stalls) == stalling:
                states = tuple([motion.state for motion in moved])
                stalled = stalls[0] if stalls else at.stalled
                found.append(_World(at, was, set_before, moved, states, stalled, lives))
        return found

    def _found_so(self, at: Situation) -> tuple[Scene, tuple[str, ...]]:
        """Give how the last loop left things, as `while` sees it, and the outputs as it set them.

        Where the controller is off it sets them to rest.
        """
        outputs = set_before = self.parts.drive(at.places, at.kept)
        if at.lives:
            if beat(at.lives) is Beat.IS_DOWN:
                set_before = self.parts.rest
            outputs = self._circuit.real(acting(at.lives), set_before)
        leaves = tuple([place.leaf for place in at.places])
        states = tuple([standing.state for standing in at.standings])
        return Scene(self.parts.model, at.counters, leaves, outputs, outputs, states), set_before

    def _motions(
        self, number: int, at: Situation, controls: Sight, *, may_stall: bool
    ) -> Sequence[Motion]:
        """List what a mechanism may do: by where it stands alone, where no state can be passed."""
        stalled = at.stalled[1] if at.stalled is not None and at.stalled[0] == number else None
        key = (number, at.standings[number], stalled, may_stall)
        known = self._moving.get(key)
        if known is None:
            only, model = self.question.stalls, self._circuit.world
            name = model.mechanism[number].name
            several = motions(
                model, number, at.standings[number], controls, stalled, may_stall=may_stall
            )
            known = tuple(
                motion
                for motion in several
                if motion.stalls is None or not only or (name, motion.stalls) in only
            )
            if number not in self.parts.passed:
                self._moving[key] = known
        return known

    def _lives(self, at: Situation) -> Iterable[Lives]:
        """List how the faults may stand in the next loop."""
        if not at.lives:
            return ((),)
        if self.question.is_planned:
            return tuple(self._circuit.unmoved(at.lives))
        return tuple(self._circuit.onward(at.lives))

    def _beside(self, world: _World, opened: Opened) -> Iterator[tuple[tuple[Motion, ...], Opened]]:
        """List what healthy mechanisms may do beside, and what inputs may that they would read."""
        at, now = world.at, world.set_before
        shadows = tuple(shadow.state for shadow in at.shadows)
        scene = world.was._replace(outputs=now, outputs_before=now, mechanism=shadows)
        told = Sight(scene, self.inputs.left(at.readings), truly=False)
        for moved in self.shadows.motions(at, world.lives, told):
            states = tuple(motion.state for motion in moved)
            alike = self.shadows.read_alike(opened, world.states, states, world.lives)
            if alike is not None:
                yield moved, alike

    # --- Regions and inputs ---

    def _regions(
        self, world: _World, opened: Opened, bounds: Bounds, apart: frozenset[int]
    ) -> list[_Done]:
        """List what regions and inputs may do, the regions choosing on what they read."""
        at, lives = world.at, world.lives
        key = (at.places, at.counters, at.kept, opened, bounds, lives, apart)
        known = self._done.get(key)
        if known is None:
            known = self._done[key] = self._chosen(world, opened, bounds, apart)
        return known

    def _chosen(
        self, world: _World, opened: Opened, bounds: Bounds, apart: frozenset[int]
    ) -> list[_Done]:
        at, lives = world.at, world.lives
        now_beat = beat(lives)
        several: Iterable[Chosen]
        match now_beat:
            case Beat.RUNS:
                several = self.choosing.choose(world.was, at.places, opened, bounds, apart)
            case Beat.STARTS:
                several = self.choosing.begin_again(opened, bounds)
            case _:
                several = self.choosing.do_nothing(opened, bounds)
        found: list[_Done] = []
        lefts = self.parts.lefts(at.places, at.counters, at.kept)
        for chosen in several:
            left = lefts.of(chosen.ways)
            set_now = outputs = left.outputs
            if lives:
                left = self._by_beat(now_beat, left)
                set_now = self.parts.rest if now_beat is Beat.IS_DOWN else left.outputs
                outputs = self._circuit.real(acting(lives), set_now)
            followed = self.inputs.follow(opened, chosen.masks, chosen.bounds)
            for parted, readings, begun, both in followed:
                restarts = begun | left.entered if begun else left.entered
                found.append(_Done(left, set_now, outputs, parted, readings, restarts, both))
        return found

    def _by_beat(self, now: Beat, left: Left) -> Left:
        """Give what regions leave behind where the controller may be off or begin."""
        match now:
            case Beat.RUNS:
                return left
            case Beat.STARTS:
                counters = tuple(counter.begins for counter in self.parts.model.counters)
                return left._replace(counters=counters, done=())
            case Beat.IS_DOWN:
                return left._replace(kept=self.parts.kept(self.parts.rest), done=())
            case _:
                return left._replace(done=())

    # --- The loop ends ---

    def _finished(self, world: _World, shadows: tuple[Motion, ...], done: _Done) -> Loop:
        """Let outputs and mechanisms follow what regions do."""
        at, was, moved, lives = world.at, world.was, world.moved, world.lives
        left, opened, restarts = done.left, done.opened, done.restarts
        now = new_scene(
            (
                was.model,
                left.counters,
                left.leaves,
                done.outputs,
                was.outputs,
                world.states,
                left.done,
            )
        )
        standings, shadowed = at.standings, at.shadows
        if moved:
            standings, started = self._settled(at, moved, Sight(now, opened, self._may_part))
            restarts |= started
        if shadows:
            alone = tuple(shadow.state for shadow in shadows)
            seen = now._replace(outputs=done.set_now, mechanism=alone)
            told = Sight(seen, opened, truly=False)
            shadowed, started = self.shadows.settled(at, lives, shadows, told)
            restarts |= started
        moment = Moment(
            at,
            opened,
            was._replace(done=left.done) if left.done else was,
            now,
            left.ways,
            moved,
            left.beyond,
            done.bounds.lows,
            done.bounds.highs,
            lives,
        )
        to = new_situation(
            (
                left.places,
                left.counters,
                standings,
                done.readings,
                left.kept,
                world.stalled,
                self.faults_left(lives, world.set_before, done.set_now) if lives else lives,
                shadowed,
                (),
            )
        )
        return Loop(moment, restarts, to, left.acted)

    def _settled(
        self, at: Situation, moved: tuple[Motion, ...], after: Sight
    ) -> tuple[tuple[Standing, ...], frozenset[Clock]]:
        """Give where mechanisms come to stand, and the clocks that begin by it."""
        standings, restarts = [], frozenset[Clock]()
        for number, motion in enumerate(moved):
            standing, started = self.parts.settle(number, at.standings[number], motion, after)
            standings.append(standing)
            restarts |= started
        return tuple(standings), restarts

    def faults_left(self, lives: Lives, before: tuple[str, ...], now: tuple[str, ...]) -> Lives:
        """Give how the faults stand once outputs are set."""
        if not self._circuit.stops:
            return lives
        began = any(
            output.hazard and was == output.rest != value
            for output, was, value in zip(self.parts.model.outputs, before, now, strict=True)
        )
        return self._circuit.left(lives, hazard_began=began)


def _meet_all(bounds: Bounds, moved: Iterable[Motion]) -> Bounds | None:
    """Give the bounds of several motions together; None where they cannot be met."""
    both: Bounds | None = bounds
    for motion in moved:
        both = None if both is None else meet(both, motion)
    return both
