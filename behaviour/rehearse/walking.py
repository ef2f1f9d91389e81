"""Walkthroughs run as tests: told step by step, and stopped at the first step that fails.

It knows no file and no words of a report.

Strategy: a step takes place at its exact time. `pause` moves that time on, and the loop of it is
played when somebody looks or moves on; so a press after a pause falls into the loop in which the
pause ends, and several changes may fall into one loop.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import assert_never

from behaviour.explore.guards import atoms
from behaviour.findings import Beat
from behaviour.model import (
    Atom,
    Becomes,
    Change,
    Compare,
    Condition,
    Done,
    HeldFor,
    InState,
    Is,
    Micros,
    Model,
    Pause,
    Restart,
    See,
    WalkStep,
    Walkthrough,
)
from behaviour.rehearse.stage import LATEST, CannotMoveError, Moment, Stage, Timing, boot_loops
from behaviour.rehearse.told import MOST_LOOPS
from behaviour.semantics import Look, NotKnownError
from behaviour.wording import full_name


@dataclass(frozen=True, slots=True)
class Failure:
    """The step that failed, and why, as half a sentence."""

    step: WalkStep
    why: str


@dataclass(frozen=True, slots=True)
class Performance:
    """What was played of some steps, and the failure that ended it, if one did.

    `seen` gives each `see` that came true, with its loop.
    """

    moments: tuple[Moment, ...]
    failure: Failure | None
    seen: tuple[tuple[See, int], ...] = ()


def perform(model: Model, walkthrough: Walkthrough) -> Performance:
    """Run a walkthrough; unasked, every movement ends at its latest moment."""
    return perform_steps(model, walkthrough.steps, LATEST)


def perform_steps(model: Model, steps: Sequence[WalkStep], timing: Timing) -> Performance:
    """Run steps one after the other from power-up, to the first that fails."""
    walk = _Walk(Stage(model, timing))
    for step in steps:
        try:
            walk.take(step)
        except (CannotMoveError, _FailedError) as problem:
            return walk.ended(Failure(step, str(problem)))
        except NotKnownError as problem:
            return walk.ended(Failure(step, f"what happens here is open: {problem}"))
    return walk.ended(None)


class _FailedError(Exception):
    """A step did not come out as it says."""


@dataclass
class _Walk:
    """What was played so far; `now` is the loop that the story has come to, played or not yet.

    `wishes` are the changes of that loop, which is then not played yet.
    """

    stage: Stage
    moments: list[Moment] = field(default_factory=list)
    now: int = 0
    wishes: dict[int, str] = field(default_factory=dict)
    seen: list[tuple[See, int]] = field(default_factory=list)

    def take(self, step: WalkStep) -> None:
        if not self.moments:
            self.moments.append(self.stage.opening())
        match step:
            case Pause(time=time):
                self._pause(time)
            case Change():
                self._change(step)
            case See():
                self._see(step)
            case Restart():
                self._restart()

    def ended(self, failure: Failure | None) -> Performance:
        """Play what is still due, and give the whole."""
        try:
            if failure is None and self.moments:
                self._play_to(self.now)
        except (CannotMoveError, NotKnownError):
            pass
        return Performance(tuple(self.moments), failure, tuple(self.seen))

    def _pause(self, time: Micros) -> None:
        loops = self.stage.model.loops_up(time)
        self._play_to(self.now + loops - 1)
        self.now += loops

    def _change(self, step: Change) -> None:
        """Note a change of the loop that the story has come to, or of the next if it was played."""
        model = self.stage.model
        place = model.input_index[step.input]
        self.now = max(self.now, len(self.moments))
        before = self.moments[-1]
        held = {**dict(enumerate(before.hands)), **self.wishes}[place]
        if held == step.value:
            raise _FailedError(f"`{step.input}` is `{step.value}` already")
        wishes = {**self.wishes, place: step.value}
        self.stage.onward(before, wishes)
        self.wishes = wishes

    def _see(self, step: See) -> None:
        model = self.stage.model
        last = self.now + (0 if step.within is None else model.loops_up(step.within))
        self._play_to(self.now)
        while not self.stage.sight(self.moments[-1]).holds(step.condition):
            if self.now == last:
                late = "is not true" if step.within is None else "did not come true in time"
                now = ", ".join(as_it_is(self.stage.sight(self.moments[-1]), step.condition))
                raise _FailedError(f"it {late}: {now}")
            self.now += 1
            self._play_to(self.now)
        self.seen.append((step, self.now))

    def _restart(self) -> None:
        """Switch off and on again; people and mechanism go on meanwhile."""
        self.now = max(self.now, len(self.moments))
        for beat in (*(Beat.IS_DOWN,) * boot_loops(self.stage.model), Beat.STARTS):
            self._play(beat)
        self.now = len(self.moments) - 1

    def _play_to(self, loop: int) -> None:
        while len(self.moments) <= loop:
            self._play(Beat.RUNS)

    def _play(self, beat: Beat) -> None:
        if len(self.moments) >= MOST_LOOPS:
            raise _FailedError(f"the story is longer than {MOST_LOOPS:,} loops")
        self.moments.append(self.stage.onward(self.moments[-1], self.wishes, beat))
        self.wishes = {}


def as_it_is(look: Look, condition: Condition) -> tuple[str, ...]:
    """Say how each thing stands that a condition is about, each thing once."""
    return tuple(dict.fromkeys(_as_it_is(look, atom) for atom in atoms(condition)))


def _as_it_is(look: Look, atom: Atom) -> str:
    model = look.model
    match atom:
        case Compare(name=name):
            return f"`{name}` is {look.counters[model.counter_index[name]]}"
        case InState(region=name) if name in model.region_index:
            place = model.region_index[name]
            return f"`{name}` is in `{full_name(model.regions[place], look.leaves[place])}`"
        case InState(region=name):
            place = model.mechanism_index[name]
            return f"`{name}` is in `{model.mechanism[place].states[look.mechanism[place]].name}`"
        case Done(name=name):
            return f"the move of `{name}` is {'' if name in look.done else 'not '}done"
        case Is(name=name) | Becomes(name=name) | HeldFor(name=name):
            if name in model.output_index:
                return f"`{name}` is `{look.outputs[model.output_index[name]]}`"
            return f"`{name}` is `{look.inputs[model.input_index[name]].steady}`"
        case _:
            assert_never(atom)
