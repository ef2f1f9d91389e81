"""The concrete prop while everybody stands still: does what it does come round?

From the end of a run the raw readings are held, and every choice of mechanisms and of random times
is walked with `step` itself, until a state comes again. The way on which each mechanism and each
time is as quick as can be is gone first, and loops in which nothing happens are passed over on it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import pairwise, product

from behaviour.explore.canonical import canonical_prop, canonical_stand, ceilings, own_conditions
from behaviour.explore.draws import all_draws, quickened
from behaviour.explore.lulls import Lulls, alike
from behaviour.explore.straight import Course, comes_round
from behaviour.findings import Run, Stimulus
from behaviour.model import Condition, Model, Role
from behaviour.semantics import Look, PropState, look_back, power_up, step, window_of
from behaviour.world.mechanism import Stand, at_power_up, choose, settle

MOST_LOOPS = 40_000
"""How many loops are walked from one run before it is given up."""


@dataclass(frozen=True, slots=True)
class State:
    """A prop and its mechanisms, with the raw readings at which the inputs are held."""

    prop: PropState
    stands: tuple[Stand, ...]
    raw: tuple[str, ...]


def circle(
    model: Model,
    run: Run,
    held: Sequence[str | None],
    region: str | None,
    hazard: str | None,
    loops: int = MOST_LOOPS,
    *,
    branching: bool = True,
) -> Run | None:
    """Go on from a run with inputs `held` until something comes round, or give up (None).

    Where `held` has None an input stays as it is. No more than `loops` are played with `step`; if
    not `branching`, only on the quickest way.

    With `region` the round must take a transition of it that leaves or enters a state; with
    `hazard` that output must be away from rest in every loop of the round, or, with both, in one.
    Times that are still to come as the run ends may as well be drawn as short as they can be.
    """
    runs = (run, quickened(model, run))
    found = (
        _circle(model, each, held, region, hazard, loops, branching=branching)
        for each in runs
        if each is not None
    )
    return next((each for each in found if each is not None), None)


def _circle(
    model: Model,
    run: Run,
    held: Sequence[str | None],
    region: str | None,
    hazard: str | None,
    loops: int,
    *,
    branching: bool,
) -> Run | None:
    walk = Walk(model, region, hazard, run.stimuli[-1].stalled)
    start = walk.at_end_of(run, held)
    if start is None:
        return None
    found, last = walk.quickest(run, start, loops)
    if found is not None or not branching or walk.is_straight or last >= loops:
        return found
    trail: list[tuple[State, Stimulus, bool]] = []
    known: dict[State, int] = {start: 0}
    onward = [iter(walk.loops(start))]
    path = [start]
    on_path = {start: 0}
    walked = 0
    while onward and walked < loops:
        following = next(onward[-1], None)
        if following is None:
            onward.pop()
            del on_path[path.pop()]
            if trail:
                trail.pop()
            continue
        walked += 1
        to, stimulus, turned = following
        if not walk.stays_away(to.prop):
            continue
        if to in known:
            back = on_path.get(to, -1)
            if back >= 0:
                steps = [*trail[back:], (to, stimulus, turned)]
                if walk.counts(steps):
                    stimuli = (*run.stimuli, *(s for _, s, _ in trail), stimulus)
                    return Run(stimuli, repeats_from=len(run.stimuli) + back)
            continue
        known[to] = walked
        on_path[to] = len(path)
        path.append(to)
        trail.append(following)
        onward.append(iter(walk.loops(to)))
    return None


def along(
    model: Model, run: Run, conditions: Sequence[Condition]
) -> Iterator[tuple[PropState, tuple[Stand, ...]] | None]:
    """Give the prop and its mechanisms after each loop of a run; None where they cannot be so.

    What neither the prop nor `conditions` can tell apart is the same.
    """
    walk = Walk(model, None, None, None)
    longest = ceilings(model, (*own_conditions(model), *conditions))
    for at in walk.along(run):
        yield (
            None
            if at is None
            else (
                canonical_prop(model, at[0], longest),
                tuple(
                    canonical_stand(model, mechanism, stand, None)
                    for mechanism, stand in zip(model.mechanism, at[1], strict=True)
                ),
            )
        )


class Walk:
    def __init__(
        self,
        model: Model,
        region: str | None,
        hazard: str | None,
        stalled: tuple[int, int] | None,
    ) -> None:
        self.model, self.region, self.hazard, self.stalled = model, region, hazard, stalled
        self.longest = ceilings(model, own_conditions(model))

    def at_end_of(self, run: Run, held: Sequence[str | None]) -> State | None:
        """Replay a run with its mechanisms, and let go of what is held to run."""
        end = self._end_of(run)
        if end is None:
            return None
        prop, stands = end
        raw = tuple(
            item.values[0] if item.role is Role.HOLD_TO_RUN else value or now.steady
            for item, now, value in zip(self.model.inputs, prop.inputs, held, strict=True)
        )
        return self._canonical(State(prop, stands, raw))

    @property
    def is_straight(self) -> bool:
        """Tell whether there is but one way to go on with the inputs held."""
        return not self.model.mechanism and self._draws == [{}]

    def quickest(self, run: Run, start: State, plays: int) -> tuple[Run | None, int]:
        """Go on from a run in the way that `loops` gives first, as `circle` does.

        Gives a run that comes round, if that way does, and the last loop that was played.
        """
        turned: list[int] = []
        away: list[int] = []
        given: list[tuple[int, Stimulus]] = []
        last = 0

        def sees(loop: int, at: State) -> bool:
            nonlocal last
            last = loop
            given.append((loop, self._given(at, self._draws[0])))
            if self._turned(at.prop):
                turned.append(loop)
            if self._is_away(at.prop):
                away.append(loop)
            return self.stays_away(at.prop)

        course = Course(self._first_on, self._lull, self._later, self._canonical)
        found = comes_round(course, start, sees, plays)
        if found is None:
            return None, last
        back, length = found
        if self.region is not None and not (turned and away and min(turned[-1], away[-1]) > back):
            return None, last
        stimuli = list(run.stimuli)
        for (loop, stimulus), (onward, _) in pairwise([*given, (length + 1, given[-1][1])]):
            stimuli += [stimulus] * (min(onward, length + 1) - loop)
        return Run(tuple(stimuli), repeats_from=len(run.stimuli) + back), last

    def _first_on(self, at: State) -> State:
        return self._on(at, next(self._choices(at)), self._draws[0])

    def _lull(self, before: State, now: State) -> int:
        """Count the loops after one that do nothing: none as long as a movement goes on."""
        is_moving = any(each.phase.is_running for stand in now.stands for each in stand.progress)
        return 0 if is_moving else self._lulls.left(before.prop, now.prop)

    def _later(self, at: State, loops: int) -> State:
        return replace(at, prop=self._lulls.later(at.prop, loops))

    @cached_property
    def _lulls(self) -> Lulls:
        return Lulls(self.model)

    def _end_of(self, run: Run) -> tuple[PropState, tuple[Stand, ...]] | None:
        """Give the prop and its mechanisms at the end of a run, without playing its lulls."""
        loop, now = 1, self._begun(run.stimuli[0])
        while now is not None and loop < len(run.stimuli):
            given, before = run.stimuli[loop], State(*now, ())
            now = self._then(*now, given)
            loop += 1
            if now is not None and not given.draws:
                passed = alike(run.stimuli, loop, loop + self._lull(before, State(*now, ())))
                now = self._lulls.later(now[0], passed), now[1]
                loop += passed
        return now

    def along(self, run: Run) -> Iterator[tuple[PropState, tuple[Stand, ...]] | None]:
        """Replay a run with its mechanisms, and end with None where they cannot do so."""
        now = self._begun(run.stimuli[0])
        yield now
        for stimulus in run.stimuli[1:]:
            if now is None:
                return
            now = self._then(*now, stimulus)
            yield now

    def _begun(self, stimulus: Stimulus) -> tuple[PropState, tuple[Stand, ...]] | None:
        found = self._first(stimulus)
        prop = power_up(self.model, stimulus.raw, dict(stimulus.draws))
        return None if found is None else (prop, self._settled(prop, found))

    def _then(
        self, prop: PropState, stands: tuple[Stand, ...], stimulus: Stimulus
    ) -> tuple[PropState, tuple[Stand, ...]] | None:
        found = self._next(prop, stands, stimulus)
        then = step(self.model, prop, stimulus.raw, dict(stimulus.draws))
        return None if found is None else (then, self._settled(then, found))

    def loops(self, at: State) -> Iterator[tuple[State, Stimulus, bool]]:
        """List every next loop with the inputs held, and tell whether it turns the region."""
        for stands in self._choices(at):
            for draws in self._draws:
                to = self._on(at, stands, draws)
                yield self._canonical(to), self._given(to, draws), self._turned(to.prop)

    def every_loop(self, at: State) -> Iterator[tuple[State, Stimulus, bool]]:
        """List every next loop, with every time that may be drawn, as `loops` does."""
        for stands in self._choices(at):
            left = partial(step, self.model, at.prop, self._raw(at, stands))
            for draws, prop in all_draws(self.model, left):
                to = State(prop, self._settled(prop, stands), at.raw)
                yield self._canonical(to), self._given(to, dict(draws)), self._turned(prop)

    def _on(self, at: State, stands: tuple[Stand, ...], draws: dict[tuple[str, int], int]) -> State:
        """Give what a loop leaves in which mechanisms come to stand so."""
        prop = step(self.model, at.prop, self._raw(at, stands), draws)
        return State(prop, self._settled(prop, stands), at.raw)

    def _raw(self, at: State, stands: tuple[Stand, ...]) -> tuple[str, ...]:
        forces = {
            name: value
            for mechanism, stand in zip(self.model.mechanism, stands, strict=True)
            for name, value in mechanism.states[stand.state].reads
        }
        return tuple(
            forces.get(item.name, held)
            for item, held in zip(self.model.inputs, at.raw, strict=True)
        )

    def _given(self, to: State, draws: dict[tuple[str, int], int]) -> Stimulus:
        """Give what the loop was given that left things so."""
        states = tuple(stand.state for stand in to.stands)
        return Stimulus(
            self._raw(to, to.stands), states, tuple(sorted(draws.items())), self.stalled
        )

    def stays_away(self, prop: PropState) -> bool:
        """Tell whether a round may go on here: a hazard that was named alone is away from rest."""
        return self.region is not None or self._is_away(prop)

    def counts(self, steps: list[tuple[State, Stimulus, bool]]) -> bool:
        """Tell whether a round is what was looked for."""
        return self.region is None or (
            any(turned for _, _, turned in steps)
            and any(self._is_away(s.prop) for s, _, _ in steps)
        )

    def _is_away(self, prop: PropState) -> bool:
        """Tell whether the hazard that was named, if any, is away from rest."""
        if self.hazard is None:
            return True
        output = self.model.output[self.hazard]
        return prop.outputs[self.model.output_index[self.hazard]] != output.rest

    def _turned(self, prop: PropState) -> bool:
        if self.region is None:
            return False
        fired = prop.regions[self.model.region_index[self.region]].fired
        return (
            fired is not None
            and fired.transition is not None
            and fired.transition.target is not None
        )

    def _first(self, stimulus: Stimulus) -> tuple[Stand, ...] | None:
        stands = []
        for mechanism, state in zip(self.model.mechanism, stimulus.mechanism, strict=True):
            stand = next((s for s in at_power_up(mechanism) if s.state == state), None)
            if stand is None:
                return None
            stands.append(stand)
        return tuple(stands)

    def _next(
        self, prop: PropState, stands: tuple[Stand, ...], stimulus: Stimulus
    ) -> tuple[Stand, ...] | None:
        found = []
        look = self._look(prop, stands)
        for number, (mechanism, stand, state) in enumerate(
            zip(self.model.mechanism, stands, stimulus.mechanism, strict=True)
        ):
            still = _of(number, stimulus.stalled)
            choices = choose(self.model, mechanism, stand, look.holds, stalled=still)
            here = [c.stand for c in choices if c.stand.state == state]
            if not here:
                return None
            stayed = [s for s in here if s.state == stand.state and not s.entered]
            found.append((stayed or here)[0])
        return tuple(found)

    def _choices(self, at: State) -> Iterator[tuple[Stand, ...]]:
        """List where mechanisms may come to stand, whatever ends as early as it may first."""
        look = self._look(at.prop, at.stands)
        several = [
            [
                choice.stand
                for choice in choose(
                    self.model, each, stand, look.holds, stalled=_of(number, self.stalled)
                )
            ]
            for number, (each, stand) in enumerate(
                zip(self.model.mechanism, at.stands, strict=True)
            )
        ]
        yield from product(*several)

    @cached_property
    def _draws(self) -> list[dict[tuple[str, int], int]]:
        """Every random time drawn at its shortest, and at its longest."""
        windows = {
            (region.name, chance.number): window_of(self.model, chance)
            for region in self.model.regions
            for state in region.states
            for chance in region.chances(state.number)
            if isinstance(chance.low, int) and isinstance(chance.high, int)
        }
        lows = {key: low for key, (low, _) in windows.items()}
        highs = {key: high for key, (_, high) in windows.items()}
        return [lows] if lows == highs else [lows, highs]

    def _settled(self, prop: PropState, stands: tuple[Stand, ...]) -> tuple[Stand, ...]:
        look = self._look(prop, stands)
        return tuple(
            settle(mechanism, stand, look.holds)
            for mechanism, stand in zip(self.model.mechanism, stands, strict=True)
        )

    def _look(self, prop: PropState, stands: tuple[Stand, ...]) -> Look:
        return look_back(self.model, prop, tuple(stand.state for stand in stands))

    def _canonical(self, at: State) -> State:
        small = tuple(
            canonical_stand(self.model, mechanism, stand, None)
            for mechanism, stand in zip(self.model.mechanism, at.stands, strict=True)
        )
        return State(canonical_prop(self.model, at.prop, self.longest), small, at.raw)


def _of(mechanism: int, stalled: tuple[int, int] | None) -> frozenset[int]:
    """Give the stalled movement of one mechanism, if the stalled one is its."""
    return frozenset((stalled[1],) if stalled is not None and stalled[0] == mechanism else ())
