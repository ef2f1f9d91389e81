"""A run played once more with something else wrong: what people did, or what the prop was told.

It knows the world and its faults, and no rule. Nothing is searched: at most one run comes of it,
and it is one that the prop can really have.

Strategy: each loop is given what it was given in the old run, as far as the fault lets it. The
mechanism goes as it went then wherever that is one of the ways in which it may go now.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from behaviour.explore.guards import atoms
from behaviour.explore.lulls import Lulls, alike
from behaviour.faults import ControllerFault, Stalls, swapped_value
from behaviour.findings import Beat, Run, Stimulus
from behaviour.model import Becomes, HeldFor, Mechanism, Model
from behaviour.semantics import (
    InputState,
    Look,
    NotKnownError,
    PropState,
    first_reading,
    next_reading,
)
from behaviour.story import LoopView, keep_played
from behaviour.world.circuit import Circuit, Lives, acting, beat, is_whole
from behaviour.world.mechanism import (
    NEVER,
    Stand,
    at_power_up,
    choose,
    settle,
    window,
)
from behaviour.world.playing import play, skipped_after

ANYWHERE = -1
"""The number of a mechanism's state where a run does not tell it."""


class Retold(NamedTuple):
    """A run and its loops. In those that do nothing but count, what counts stays as it was."""

    run: Run
    views: Sequence[LoopView]


def retold(circuit: Circuit, run: Run, *, as_told: bool) -> Retold | None:
    """Give a run with the faults of a circuit; None where this is not tried.

    People do what they did then, or, `as_told`, what lets the prop read what it read then. What is
    wrong acts from the first loop on. Runs with loops left out, or with times drawn, and movements
    that stall, are not tried.
    """
    if not is_plain(circuit.model, run) or len(circuit.faults) != 1:
        return None
    if isinstance(circuit.faults[0], ControllerFault | Stalls):
        return None
    return told_as(circuit, run.stimuli, as_told=as_told)


def told_as(
    circuit: Circuit, stimuli: Sequence[Stimulus], *, as_told: bool = False, begins: int = 0
) -> Retold | None:
    """Play what loops are to be given, as far as mechanisms and faults let it; None if unknown.

    What is wrong acts from the loop that it `begins` in, which only that may choose that need not
    act from the first.
    """
    try:
        return _Teller(circuit, as_told, begins).tell(stimuli)
    except NotKnownError:
        return None


def as_drawn(circuit: Circuit, drawing: Model, run: Run) -> Retold | None:
    """Play what a drawing of the prop was found to do; None where this is not tried.

    What is wrong begins as it did there, if it may. Mechanisms that the drawing lacks go where they
    read what was read, as far as they can.
    """
    model = circuit.model
    if not is_plain(model, Run(run.stimuli[:1])) or any(
        isinstance(fault, Stalls) for fault in circuit.faults
    ):
        return None
    numbers = [drawing.input_index[item.name] for item in model.inputs]
    places = [drawing.mechanism_index.get(item.name) for item in model.mechanism]

    def own(given: Stimulus) -> Stimulus:
        return Stimulus(
            tuple([given.raw[number] for number in numbers]),
            tuple([ANYWHERE if at is None else given.mechanism[at] for at in places]),
            true=tuple([given.true[number] for number in numbers]) if given.true else (),
            beat=given.beat,
        )

    known: dict[int, Stimulus] = {}
    stimuli = tuple([known.setdefault(id(each), own(each)) for each in run.stimuli])
    acts = (loop for loop, each in enumerate(run.stimuli) if each.wrong)
    may_wait = any(is_whole(lives) for lives in circuit.at_power_up())
    begins = next(acts, len(stimuli)) if may_wait else 0
    told = told_as(circuit, stimuli, begins=begins)
    return told and as_far_as_it_goes(circuit, told)


def as_far_as_it_goes(circuit: Circuit, told: Retold) -> Retold:
    """End a run before the first loop in which the controller does what no fault makes it do."""
    if not circuit.stops:
        return told
    lives = frozenset(circuit.at_power_up())
    before = tuple(output.rest for output in circuit.model.outputs)
    known: dict[object, frozenset[Lives]] = {}
    for view in told.views:
        began = starts_hazard(circuit.model, before, view.state.outputs)
        able = frozenset([each for each in lives if beat(each) is view.stimulus.beat])
        if not able:
            run, views = told
            return Retold(replace(run, stimuli=run.stimuli[: view.loop]), views[: view.loop])
        if (able, began) not in known:
            left = {circuit.left(each, hazard_began=began) for each in able}
            known[able, began] = frozenset(each for now in left for each in circuit.onward(now))
        lives, before = known[able, began], view.state.outputs
    return told


def starts_hazard(model: Model, before: tuple[str, ...], now: tuple[str, ...]) -> bool:
    """Tell whether a hazard leaves its rest between two loops."""
    return any(
        output.hazard and was == output.rest != value
        for output, was, value in zip(model.outputs, before, now, strict=True)
    )


def standing_still(circuit: Circuit, loops: int) -> Retold | None:
    """Give a run in which people do nothing at all; None where this is not tried."""
    model = circuit.world
    raw = tuple(item.values[0] for item in model.inputs)
    stands = tuple(at_power_up(mechanism)[0].state for mechanism in model.mechanism)
    still = (Stimulus(raw, stands),) * loops
    return told_as(circuit, still) if is_plain(model, Run(still)) else None


def is_plain(model: Model, run: Run) -> bool:
    """Tell whether no time is drawn in a run, nothing stalls, and mechanisms ask for no change.

    Nor may they ask how long something has been so.
    """
    movements = (m for mechanism in model.mechanism for m in mechanism.movements())
    asked = (atom for movement in movements for atom in atoms(movement.during))
    return (
        all(each.stalled is None and not each.draws for each in run.stimuli)
        and all(each.beat is Beat.RUNS for each in run.stimuli[1:])
        and not any(region.chances(s.number) for region in model.regions for s in region.states)
        and not any(isinstance(atom, Becomes | HeldFor) for atom in asked)
    )


@dataclass(slots=True)
class _Teller:
    circuit: Circuit
    as_told: bool
    begins: int = 0
    wrong: tuple[int, ...] = ()
    """The faults that act in this loop."""
    stands: tuple[Stand, ...] = ()
    truly: tuple[InputState, ...] = ()
    flips: list[int] = field(default_factory=list)
    """For how many loops each input has read what is not there."""

    def tell(self, stimuli: Sequence[Stimulus]) -> Retold:
        model, circuit = self.circuit.model, self.circuit
        acts = acting(list(circuit.at_power_up())[-1])
        self.flips = [0] * len(model.inputs)
        given_so_far: list[Stimulus] = []
        played: list[LoopView] = []
        lulls = Lulls(model)
        state: PropState | None = None
        before = Look(model, (), (), ())
        loop = skipped = 0
        while loop < len(stimuli):
            old = stimuli[loop]
            self.wrong = acts if loop >= self.begins else ()
            self.stands = tuple(
                [
                    self._stand(number, mechanism, before, old, is_first=loop == 0)
                    for number, mechanism in enumerate(circuit.world.mechanism)
                ]
            )
            true = self._true(old)
            raw = tuple([self._read(number, true, old) for number in range(len(true))])
            states = tuple([stand.state for stand in self.stands])
            given = Stimulus(
                raw, states, true=true if circuit.parts else (), beat=old.beat, wrong=self.wrong
            )
            if given_so_far and given == given_so_far[-1]:
                given = given_so_far[-1]
            last, state = state, play(model, state, given, skipped)
            skipped = skipped_after(given, skipped)
            real = circuit.real(self.wrong, state.outputs)
            given_so_far.append(given)
            played.append(LoopView(loop, given, state, real, skipped))
            before = self._left(state, real, before.outputs or real, true, states)
            self.stands = tuple(
                [
                    settle(mechanism, stand, before.holds)
                    for mechanism, stand in zip(circuit.world.mechanism, self.stands, strict=True)
                ]
            )
            loop, lasting = loop + 1, 0
            passed = _lull(lulls, last, state, given, skipped)
            ends = min(self.begins if loop <= self.begins else len(stimuli), len(stimuli))
            if passed > 0 and loop < ends and stimuli[loop] == old:
                lasting = alike(stimuli, loop, min(ends, loop + passed, loop + self._idle_for(old)))
            given_so_far += (given,) * lasting
            loop += lasting
            if skipped:
                skipped += lasting
            else:
                state = lulls.later(state, lasting)
            self._pass(lasting)
        run = Run(tuple(given_so_far), faults=circuit.faults)
        return Retold(run, keep_played(model, run, played).still())

    def _idle_for(self, old: Stimulus) -> int:
        """Count the loops for which nothing of the world comes to an end if all is given so.

        None where something is in a filter, or where a mechanism would go elsewhere if it could.
        """
        if any(item.raw != item.steady for item in self.truly):
            return 0
        most = [
            self._most_flips(number, old.raw[number]) - flips
            for number, flips in enumerate(self.flips)
            if flips
        ]
        for number, stand in enumerate(self.stands):
            state = self.circuit.world.mechanism[number].states[stand.state]
            for movement, now in zip(state.movements, stand.progress, strict=True):
                if now.phase.is_running:
                    stays = self._goes(number, stand, old)
                    _, high = window(self.circuit.world, movement, now.phase)
                    most.append(high - 1 - now.clock if stays else 0)
        return max(min(most, default=NEVER), 0)

    def _pass(self, loops: int) -> None:
        """Let so many loops pass by in which nothing comes to an end."""
        if loops:
            self.flips = [flips and flips + loops for flips in self.flips]
            self.truly = tuple(
                [i._replace(run=i.run + loops, since=i.since + loops) for i in self.truly]
            )
            self.stands = tuple([_later(stand, loops) for stand in self.stands])

    def _stand(
        self, number: int, mechanism: Mechanism, before: Look, old: Stimulus, *, is_first: bool
    ) -> Stand:
        """Let a mechanism go where it went, or else stay, or else go anywhere."""
        if is_first:
            able = list(at_power_up(mechanism))
        else:
            model, now = self.circuit.world, self.stands[number]
            if not any(each.phase.is_running for each in now.progress):
                return now._replace(entered=False)
            able = [each.stand for each in choose(model, mechanism, now, before.holds)]
        return next((each for each in able if self._goes(number, each, old)), able[-1])

    def _goes(self, number: int, stand: Stand, old: Stimulus) -> bool:
        """Tell whether a mechanism went there, or reads what was read where it was not told of."""
        if old.mechanism[number] != ANYWHERE:
            return stand.state == old.mechanism[number]
        model, true = self.circuit.model, old.true or old.raw
        reads = model.mechanism[number].states[stand.state].reads
        return all(true[model.input_index[name]] == value for name, value in reads)

    def _true(self, old: Stimulus) -> tuple[str, ...]:
        """Give what is truly there: what mechanisms force, and what people do."""
        model = self.circuit.model
        true = list(old.true or old.raw)
        if self.as_told:
            for reader, wire in enumerate(self.circuit.wires):
                true[wire] = _source_of(model, reader, wire, old.raw[reader]) or true[wire]
        for mechanism, stand in zip(model.mechanism, self.stands, strict=True):
            for name, value in mechanism.states[stand.state].reads:
                true[model.input_index[name]] = value
        return tuple(true)

    def _read(self, number: int, true: Sequence[str], old: Stimulus) -> str:
        """Let an input read what it read, if it can, and else what it must."""
        circuit, wanted = self.circuit, old.raw[number]
        if circuit.stops or number not in circuit.lines:
            return true[number]
        able = circuit.reads(self.wrong, number, true[circuit.wires[number]])
        if wanted not in able or wanted == able[0]:
            self.flips[number] = 0
            return able[0]
        if self.flips[number] >= self._most_flips(number, wanted):
            self.flips[number] = 0
            return able[0]
        self.flips[number] += 1
        return wanted

    def _most_flips(self, number: int, value: str) -> int:
        most = self.circuit.most_flipped(number, value)
        return NEVER if most is None else most

    def _left(
        self,
        state: PropState,
        real: tuple[str, ...],
        real_before: tuple[str, ...],
        true: tuple[str, ...],
        states: tuple[int, ...],
    ) -> Look:
        """Give what the world is judged on once a loop is over."""
        model = self.circuit.model
        if not self.circuit.parts:
            self.truly = state.inputs
        elif not self.truly:
            pairs = zip(model.inputs, true, strict=True)
            self.truly = tuple([first_reading(model, i, v, presume=False) for i, v in pairs])
        else:
            three = zip(model.inputs, self.truly, true, strict=True)
            self.truly = tuple([next_reading(model, i, last, v, 1) for i, last, v in three])
        leaves = tuple([region.leaf for region in state.regions])
        return Look(
            model, self.truly, state.counters, leaves, real, real_before, states, state.done
        )


def _lull(
    lulls: Lulls, before: PropState | None, now: PropState, given: Stimulus, skipped: int
) -> int:
    """Count the loops after one in which the controller does nothing new if it is given the same.

    One that hangs does nothing at all.
    """
    if before is None:
        return 0
    if given.beat is Beat.SKIPS:
        return NEVER if before == now else 0
    return lulls.left(before, now) if given.beat is Beat.RUNS and not skipped else 0


def _later(stand: Stand, loops: int) -> Stand:
    """Give a stand after so many loops in which it stays."""
    progress = tuple(
        [
            now._replace(clock=now.clock + loops) if now.phase.is_running else now
            for now in stand.progress
        ]
    )
    return stand._replace(progress=progress)


def _source_of(model: Model, reader: int, wire: int, read: str) -> str | None:
    """Give what must be on a wire for an input to read a value, if it has any."""
    item, source = model.inputs[reader], model.inputs[wire]
    if reader == wire:
        return read
    return next((v for v in source.values if swapped_value(source, v, item) == read), None)
