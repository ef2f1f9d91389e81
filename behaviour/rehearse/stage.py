"""One loop of a rehearsal after another: hands hold the inputs, the mechanism acts by itself.

It knows no terminal, no keys and no real time. What a loop does is said by the one `step`, and
where the mechanism may be by `world`; here it is only picked when a movement ends and a time is
drawn.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from zlib import crc32

from behaviour.findings import Beat, Run, Stimulus
from behaviour.model import Model
from behaviour.semantics import (
    InputState,
    Look,
    first_reading,
    look_back,
    loops_of,
    next_reading,
    window_of,
)
from behaviour.story import LoopView, play_on
from behaviour.world.circuit import Circuit
from behaviour.world.mechanism import Choice, Stand, at_power_up, choose, settle, window

Wishes = Mapping[int, str]
"""What people do before a loop: the value that each input moved is to have, by its place."""


class CannotMoveError(Exception):
    """Somebody asks for what the prop cannot do now; the message says why."""


@dataclass(frozen=True, slots=True)
class Timing:
    """When in its window a movement ends and which time is drawn: a share from 0 to 1 of the way.

    Without a `share` each is drawn anew; the same `seed` draws the same again.
    """

    share: float | None = 1.0
    seed: int = 0

    def loops(self, low: int, high: int, *what: object) -> int:
        """Pick a loop from `low` to `high`; `what` tells this occasion from every other."""
        share = self.share
        if share is None:
            share = crc32(repr((self.seed, *what)).encode()) / 2**32
        return min(low + int(share * (high - low + 1)), high)


LATEST = Timing(1.0)


@dataclass(frozen=True, slots=True)
class Moment:
    """One loop that was played, and what the next goes on from.

    `hands` is what each input reads as long as nothing forces it. `truly` is what counts of it on a
    healthy line, as rules see it; `outputs_before` are those of the loop before.
    """

    view: LoopView
    stands: tuple[Stand, ...]
    hands: tuple[str, ...]
    truly: tuple[InputState, ...]
    outputs_before: tuple[str, ...]

    @property
    def loop(self) -> int:
        return self.view.loop


@dataclass(frozen=True)
class Stage:
    """A prop that is played, and when its mechanism acts."""

    model: Model
    timing: Timing = LATEST

    @cached_property
    def circuit(self) -> Circuit:
        return Circuit(self.model, ())

    def opening(self, wishes: Wishes | None = None) -> Moment:
        """Power up: inputs at their first value, guards at their safe one, or as wished.

        The mechanism stands where its readings agree with that. Raises NotKnownError.
        """
        wishes = wishes or {}
        hands = tuple(
            wishes.get(place, item.safe or item.values[0])
            for place, item in enumerate(self.model.inputs)
        )
        stands = tuple(
            max(at_power_up(mechanism), key=lambda stand: self._agrees(number, stand, hands))
            for number, mechanism in enumerate(self.model.mechanism)
        )
        moment = self._played(None, stands, hands, Beat.RUNS)
        wrong = [place for place, value in wishes.items() if moment.hands[place] != value]
        if wrong:
            raise CannotMoveError(self._never_reads(wrong[0], wishes[wrong[0]]))
        return moment

    def onward(
        self, before: Moment, wishes: Wishes | None = None, beat: Beat = Beat.RUNS
    ) -> Moment:
        """Play the next loop. A wish about an input that the mechanism forces asks it to move now.

        Raises CannotMoveError where it could not, and NotKnownError.
        """
        wishes = wishes or {}
        forced = self.forced(before)
        asked = {place: value for place, value in wishes.items() if place in forced}
        stands = tuple(
            self._chosen(before, number, asked) for number in range(len(self.model.mechanism))
        )
        hands = tuple(
            wishes.get(place, held) if place not in forced else held
            for place, held in enumerate(before.hands)
        )
        moment = self._played(before, stands, hands, beat)
        for place, value in asked.items():
            if moment.hands[place] != value:
                raise CannotMoveError(self._cannot_read(before, place, value))
        return moment

    def forced(self, moment: Moment) -> dict[int, int]:
        """Map each input that a mechanism forces to the number of that mechanism."""
        return {
            self.model.input_index[name]: number
            for number, stand in enumerate(moment.stands)
            for name, _ in self.model.mechanism[number].states[stand.state].reads
        }

    def may_read(self, moment: Moment, place: int) -> tuple[str, ...]:
        """List what an input could be made to read in the next loop, beside what it reads."""
        item, now = self.model.inputs[place], moment.hands[place]
        mechanism = self.forced(moment).get(place)
        if mechanism is None:
            return tuple(value for value in item.values if value != now)
        found = [
            self._reads(mechanism, choice.stand.state).get(place, now)
            for choice in self.choices(moment, mechanism)
        ]
        return tuple(value for value in item.values if value != now and value in found)

    def choices(self, moment: Moment, mechanism: int) -> tuple[Choice, ...]:
        """List what a mechanism may do in the next loop."""
        return tuple(
            choose(
                self.model,
                self.model.mechanism[mechanism],
                moment.stands[mechanism],
                self.look(moment).holds,
            )
        )

    def look(self, moment: Moment) -> Look:
        """See a moment as the mechanism does: what the loop has left."""
        return look_back(
            self.model, moment.view.state, tuple(stand.state for stand in moment.stands)
        )

    def sight(self, moment: Moment) -> Look:
        """See a moment as rules and `see` do: what is really there."""
        return self.look(moment)._replace(inputs=moment.truly, outputs_before=moment.outputs_before)

    # --- The mechanism ------------------------------------------------------------------------

    def _chosen(self, before: Moment, mechanism: int, asked: Wishes) -> Stand:
        """Pick what a mechanism does: what it is asked for, else what is due, else nothing."""
        choices = self.choices(before, mechanism)
        reads = self._reads(mechanism, before.stands[mechanism].state)
        wanted = {place: asked[place] for place in reads if place in asked}
        for choice in choices if wanted else ():
            there = self._reads(mechanism, choice.stand.state)
            if all(there.get(place) == value for place, value in wanted.items()):
                return choice.stand
        still = next((choice for choice in choices if not choice.movements), None)
        for choice in choices:
            if len(choice.movements) == 1 and self._is_due(before, mechanism, choice, still):
                return choice.stand
        return (still or choices[0]).stand

    def _is_due(self, before: Moment, mechanism: int, choice: Choice, still: Choice | None) -> bool:
        movement = choice.movements[0]
        stand = before.stands[mechanism]
        movements = self.model.mechanism[mechanism].states[stand.state].movements
        progress = stand.progress[movements.index(movement)]
        clock = progress.clock + 1
        low, high = window(self.model, movement, progress.phase)
        began = before.loop + 1 - clock
        due = self.timing.loops(low, high, mechanism, movement.number, began)
        return clock >= due or (still is None and clock >= high)

    def _reads(self, mechanism: int, state: int) -> dict[int, str]:
        reads = self.model.mechanism[mechanism].states[state].reads
        return {self.model.input_index[name]: value for name, value in reads}

    def _agrees(self, mechanism: int, stand: Stand, hands: tuple[str, ...]) -> bool:
        reads = self._reads(mechanism, stand.state)
        return all(hands[place] == value for place, value in reads.items())

    # --- One loop -----------------------------------------------------------------------------

    def _played(
        self, before: Moment | None, stands: tuple[Stand, ...], hands: tuple[str, ...], beat: Beat
    ) -> Moment:
        loop = 0 if before is None else before.loop + 1
        raw = list(hands)
        for number, stand in enumerate(stands):
            for place, value in self._reads(number, stand.state).items():
                raw[place] = value
        stimulus = Stimulus(
            tuple(raw),
            tuple(stand.state for stand in stands),
            tuple(self._drawn(loop).items()),
            beat=beat,
        )
        view = play_on(self.circuit, None if before is None else before.view, stimulus)
        view = replace(view, stimulus=replace(stimulus, draws=self._used(view)))
        moment = Moment(
            view,
            stands,
            tuple(raw),
            self._truly(before, tuple(raw)),
            view.real if before is None else before.view.real,
        )
        judge = self.look(moment).holds
        settled = tuple(
            settle(mechanism, stand, judge)
            for mechanism, stand in zip(self.model.mechanism, stands, strict=True)
        )
        return replace(moment, stands=settled)

    @cached_property
    def _dice(self) -> dict[tuple[str, int], tuple[int, int, int]]:
        """Map each time that is drawn, by region and number, to its state and bounds in loops."""
        return {
            (region.name, chance.number): (chance.source, *window_of(self.model, chance))
            for region in self.model.regions
            for state in region.states
            for chance in region.chances(state.number)
            if isinstance(chance.low, int) and isinstance(chance.high, int)
        }

    def _drawn(self, loop: int) -> dict[tuple[str, int], int]:
        """Draw every time of the prop, as it would be if its state were entered now."""
        return {
            what: self.timing.loops(low, high, *what, loop)
            for what, (_, low, high) in self._dice.items()
        }

    def _used(self, view: LoopView) -> tuple[tuple[tuple[str, int], int], ...]:
        """Keep what was drawn in this loop: of the states entered in it, whose clocks are 0."""
        if view.stimulus.beat not in (Beat.RUNS, Beat.STARTS):
            return ()
        found = []
        for what, (source, _, _) in self._dice.items():
            place = self.model.region_index[what[0]]
            region, now = self.model.regions[place], view.state.regions[place]
            path = region.path(now.leaf)
            if source in path and now.timers[path.index(source)] == 0:
                found.append((what, dict(now.draws)[what[1]]))
        return tuple(found)

    def _truly(self, before: Moment | None, raw: tuple[str, ...]) -> tuple[InputState, ...]:
        if before is None:
            return tuple(
                first_reading(self.model, item, value, presume=False)
                for item, value in zip(self.model.inputs, raw, strict=True)
            )
        return tuple(
            next_reading(self.model, item, last, value, 1)
            for item, last, value in zip(self.model.inputs, before.truly, raw, strict=True)
        )

    # --- What cannot be -----------------------------------------------------------------------

    def _never_reads(self, place: int, value: str) -> str:
        name = self.model.inputs[place].name
        return f"`{name}` cannot be `{value}` at power-up: the mechanism does not begin so"

    def _cannot_read(self, before: Moment, place: int, value: str) -> str:
        name = self.model.inputs[place].name
        mechanism = self.model.mechanism[self.forced(before)[place]]
        at = mechanism.states[before.stands[self.forced(before)[place]].state]
        return (
            f"`{name}` cannot become `{value}` here: `{mechanism.name}` is in `{at.name}`, and no "
            "movement that may end now leads there"
        )


def run_of(moments: tuple[Moment, ...]) -> Run:
    """Give what was played as a run, as a check has it."""
    return Run(tuple(moment.view.stimulus for moment in moments))


def boot_loops(model: Model) -> int:
    """Count the loops that a controller is off when it starts again."""
    return 1 if model.boot is None else max(loops_of(model, model.boot), 1)
