"""A run replayed by the one `step`, and what changed in which of its loops.

It knows no rule and no check: it shows what happened, and not whether that was right. `telling`
puts it in words.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar, overload

from behaviour.explore.lulls import Lulls, alike
from behaviour.faults import Fault
from behaviour.findings import Beat, Run, Stimulus
from behaviour.model import (
    Counter,
    Input,
    Mechanism,
    Micros,
    Model,
    Movement,
    Output,
)
from behaviour.semantics import PropState
from behaviour.wording import cue_name
from behaviour.world.circuit import Circuit
from behaviour.world.playing import play, skipped_after

StoryObject = dict[str, object]
"""A story as plain values, in the form of the JSON report."""

Value = TypeVar("Value")

MILLISECOND: Micros = 1000

MOST_KEPT = 8
"""So many runs that were replayed are kept for each model."""


@dataclass(frozen=True, slots=True)
class LoopView:
    """One loop of a run: what it was given, and what it left.

    `real` are the outputs as the hardware has them: as the loop set them, if nothing is wrong.
    `skipped` counts the loops, up to this one, in which the controller did nothing.
    """

    loop: int
    stimulus: Stimulus
    state: PropState
    real: tuple[str, ...]
    skipped: int = 0

    @property
    def true(self) -> tuple[str, ...]:
        """Give what inputs would read on whole lines."""
        return self.stimulus.true or self.stimulus.raw


class Views(Sequence[LoopView]):
    """The loops of a run, of which those are worked out when they are asked for that do nothing."""

    def __init__(self, model: Model, run: Run, played: Iterable[LoopView] = ()) -> None:
        """Play a run, unless those of its loops are given that do something, `played` already."""
        self._stimuli: list[Stimulus] = []
        self._lulls = Lulls(model)
        self._circuit = Circuit(model, run.faults)
        self._played: list[LoopView] = list(played)
        self._loops: list[int] = [view.loop for view in self._played]
        if self._played:
            self._stimuli += run.stimuli
        else:
            self.go_on(run.stimuli)

    def go_on(self, stimuli: Iterable[Stimulus]) -> None:
        """Play the run on by more loops."""
        loop = len(self._stimuli)
        before = self[-1] if loop else None
        self._stimuli += stimuli
        while loop < len(self._stimuli):
            now = play_on(self._circuit, before, self._stimuli[loop])
            self._played.append(now)
            self._loops.append(loop)
            left = 0 if before is None else self._lull(before, now)
            before = self._later(now, left)
            loop += left + 1

    def happenings(self, begin: int = 0) -> list[LoopView]:
        """Give the loops from `begin` on, but those that only count on after the one before."""
        first = bisect_right(self._loops, begin)
        return [self[begin], *self._played[first:]]

    def played(self, end: int) -> list[LoopView]:
        """Give the loops before `end` that do something, or are the first that does nothing."""
        return self._played[: bisect_right(self._loops, end - 1)]

    def still(self) -> list[LoopView]:
        """Give the loops; in those that do nothing what counts stays as it was."""
        found: list[LoopView] = []
        for view, end in zip(self._played, (*self._loops[1:], len(self)), strict=True):
            given = (view.stimulus, view.state, view.real, view.skipped)
            found.append(view)
            found += [LoopView(loop, *given) for loop in range(view.loop + 1, end)]
        return found

    def states(self) -> list[PropState]:
        """Give how loops leave the prop; in those that do nothing what counts stays as it was."""
        return [view.state for view in self.still()]

    def _lull(self, before: LoopView, now: LoopView) -> int:
        """Count the loops after `now` in which nothing is given that was not, and nothing done."""
        given = now.stimulus
        if given.beat is Beat.SKIPS:
            is_same = (before.state, before.real) == (now.state, now.real)
            return alike(self._stimuli, now.loop + 1, len(self)) if is_same else 0
        if given.draws or given.beat is not Beat.RUNS or before.stimulus.beat is not Beat.RUNS:
            return 0
        first = now.loop + 1
        return alike(self._stimuli, first, first + self._lulls.left(before.state, now.state))

    def _later(self, now: LoopView, loops: int) -> LoopView:
        if not loops:
            return now
        if now.skipped:
            return replace(now, loop=now.loop + loops, skipped=now.skipped + loops)
        state = self._lulls.later(now.state, loops)
        return LoopView(now.loop + loops, now.stimulus, state, now.real)

    def __len__(self) -> int:
        return len(self._stimuli)

    @overload
    def __getitem__(self, at: int) -> LoopView: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[LoopView, ...]: ...
    def __getitem__(self, at: int | slice) -> LoopView | tuple[LoopView, ...]:
        if isinstance(at, slice):
            return tuple(self[loop] for loop in range(*at.indices(len(self))))
        loop = range(len(self))[at]
        played = self._played[bisect_right(self._loops, loop) - 1]
        return self._later(played, loop - played.loop)

    def __iter__(self) -> Iterator[LoopView]:
        for view, end in zip(self._played, (*self._loops[1:], len(self)), strict=True):
            yield view
            yield from (self._later(view, loops) for loops in range(1, end - view.loop))


def replay(model: Model, run: Run) -> Views:
    """Run the definition on every loop that `run` gives. An endless run is played once through.

    The last few are kept, since a run that was found is judged, pointed at and told. Nobody plays
    them on. Raises NotKnownError where the file leaves open what a loop needs.
    """
    kept = _kept(model)
    stimuli, views = kept.get((id(run.stimuli), run.faults), ((), None))
    if views is None or stimuli is not run.stimuli:
        views = Views(model, run, _played_before(model, run))
        _keep(model, run, views)
    return views


def keep_played(model: Model, run: Run, played: Iterable[LoopView]) -> Views:
    """Keep how a run was played, for whoever asks to replay it or how it begins."""
    views = Views(model, run, played)
    _keep(model, run, views)
    return views


def _played_before(model: Model, run: Run) -> list[LoopView]:
    """Give the loops that do something of a run that is kept and begins as this one goes."""
    length = len(run.stimuli)
    for (_, faults), (stimuli, views) in _kept(model).items():
        if faults == run.faults and length and stimuli[:length] == run.stimuli:
            return views.played(length)
    return []


_Kept = dict[tuple[int, tuple[Fault, ...]], tuple[Sequence[Stimulus], Views]]
"""The runs that were played last: each by which object it is and what is wrong in it."""


def _kept(model: Model) -> _Kept:
    kept: _Kept = model.worked_out.setdefault(("replayed",), {})
    return kept


def _keep(model: Model, run: Run, views: Views) -> None:
    kept = _kept(model)
    if len(kept) >= MOST_KEPT:
        del kept[next(iter(kept))]
    kept[id(run.stimuli), run.faults] = (run.stimuli, views)


def play_on(circuit: Circuit, before: LoopView | None, stimulus: Stimulus) -> LoopView:
    """Play one more loop, the first of all after None.

    Raises NotKnownError where the file leaves open what is needed.
    """
    loop, skipped = (0, 0) if before is None else (before.loop + 1, before.skipped)
    state = play(circuit.model, None if before is None else before.state, stimulus, skipped)
    real = circuit.real(stimulus.wrong, state.outputs)
    return LoopView(loop, stimulus, state, real, skipped_after(stimulus, skipped))


def steps(run: Run, views: Views) -> tuple[LoopView, ...]:
    """Keep the loops in which something changed, and those in which the story says something."""
    told = {0, *(loop for loop, _ in run.says)}
    if run.breach is not None:
        told.add(run.breach)
    if run.repeats_from is not None:
        told.add(len(run.stimuli) - 1)
    told |= {
        view.loop
        for view in views.happenings()
        if view.loop and has_changed(views[view.loop - 1], view)
    }
    return tuple(views[loop] for loop in sorted(told) if loop < len(views))


def has_changed(before: LoopView, after: LoopView) -> bool:
    """Tell whether a loop reads, moves, counts or drives anything otherwise than the one before."""
    return (
        before.stimulus.raw != after.stimulus.raw
        or before.stimulus.mechanism != after.stimulus.mechanism
        or before.stimulus.stalled != after.stimulus.stalled
        or before.stimulus.wrong != after.stimulus.wrong
        or before.stimulus.beat != after.stimulus.beat
        or before.true != after.true
        or before.state.counters != after.state.counters
        or before.real != after.real
        or any(item.became for item in after.state.inputs)
        or any(region.fired is not None for region in after.state.regions)
    )


def at_ms(model: Model, loop: int) -> int:
    """Give the time at which a loop begins, in whole milliseconds since power-up."""
    return loop * model.loop // MILLISECOND


def as_json(model: Model, run: Run, says: Mapping[int, str]) -> StoryObject:
    """Give a story as the JSON report has it. `says` holds the words of each loop that has any."""
    told: StoryObject = {
        "loop_ms": model.loop // MILLISECOND,
        "steps": [
            step_object(model, view, says.get(view.loop, ""))
            for view in steps(run, replay(model, run))
        ],
    }
    if run.repeats_from is not None:
        told |= {"repeats_from": run.repeats_from, "last_loop": len(run.stimuli) - 1}
    if run.breach is not None:
        told["breach_loop"] = run.breach
    return told


def step_object(model: Model, view: LoopView, says: str) -> StoryObject:
    """Give one loop whole, as a step of a JSON story."""
    state = view.state
    told: StoryObject = {
        "loop": view.loop,
        "at_ms": at_ms(model, view.loop),
        "raw": _named(model.inputs, view.stimulus.raw),
        "inputs": _named(model.inputs, [item.steady for item in state.inputs]),
        "mechanism": mechanism_words(model, view),
        "counters": _named(model.counters, state.counters),
        "regions": region_words(model, view),
        "outputs": _named(model.outputs, state.outputs),
        "says": says,
    }
    stuck = stalled_movement(model, view.stimulus)
    if stuck is not None:
        told["stalled"] = {"mechanism": stuck[0].name, "movement": stuck[1].number}
    if view.true != view.stimulus.raw:
        told["true"] = _named(model.inputs, view.true)
    if view.real != state.outputs:
        told["really"] = _named(model.outputs, view.real)
    if view.stimulus.beat is not Beat.RUNS:
        told["controller"] = view.stimulus.beat.value
    if view.stimulus.draws:
        told["draws"] = [
            {"region": region, "transition": number, "loops": loops}
            for (region, number), loops in view.stimulus.draws
        ]
    return told


def mechanism_words(model: Model, view: LoopView) -> dict[str, str]:
    """Name where each mechanism region stands in a loop."""
    return {
        mechanism.name: mechanism.states[state].name
        for mechanism, state in zip(model.mechanism, view.stimulus.mechanism, strict=True)
    }


def region_words(model: Model, view: LoopView) -> dict[str, str]:
    """Name the state in which a loop leaves each region, with its last cue: `shot@100ms`."""
    return {
        region.name: cue_name(region.states[now.leaf], now.cue)
        for region, now in zip(model.regions, view.state.regions, strict=True)
    }


def stalled_movement(model: Model, stimulus: Stimulus) -> tuple[Mechanism, Movement] | None:
    """Find the movement that is stuck in a loop, and the mechanism that it is of."""
    if stimulus.stalled is None:
        return None
    at, number = stimulus.stalled
    mechanism = model.mechanism[at]
    return mechanism, next(each for each in mechanism.movements() if each.number == number)


def _named(items: Iterable[Input | Output | Counter], values: Iterable[Value]) -> dict[str, Value]:
    return {item.name: value for item, value in zip(items, values, strict=True)}
