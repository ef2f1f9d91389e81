"""A rehearsal written down as a walkthrough, in the words of the language.

It judges nothing, and knows no file. Strategy: beside every loop the same loop is played as a
walkthrough would have it, with movements at their latest; what came otherwise was somebody's doing
and becomes a step, if there is one that says it.
"""

from dataclasses import dataclass, field
from itertools import pairwise

from behaviour.findings import Beat
from behaviour.model import Model
from behaviour.rehearse.stage import LATEST, CannotMoveError, Moment, Stage
from behaviour.telling import clock
from behaviour.wording import duration


@dataclass(frozen=True, slots=True)
class Noted:
    """The steps, and what of the rehearsal no step can say, each as a sentence."""

    steps: tuple[str, ...]
    untold: tuple[str, ...]


def noted(model: Model, moments: tuple[Moment, ...]) -> Noted:
    """Write down what was done in a rehearsal, and what came of it."""
    notes = _Notes(Stage(model, LATEST))
    if moments:
        notes.begin(moments[0])
    for before, now in pairwise(moments):
        notes.take(before, now)
    if moments:
        notes.pause_to(moments[-1].loop)
    return Noted(tuple(notes.steps), tuple(dict.fromkeys(notes.untold)))


def walkthrough_text(name: str, note: Noted) -> str:
    """Give a walkthrough as a behaviour file has it, with what it cannot say as comments."""
    lines = [f"  # {words}" for words in note.untold]
    return "\n".join(["walkthroughs:", *lines, f"  {name}:", *(f"    - {s}" for s in note.steps)])


@dataclass
class _Notes:
    """What was written so far; `now` is the loop that the steps have come to.

    `entered` is when each region last came to where it is: a `see` must not come true before.
    """

    stage: Stage
    steps: list[str] = field(default_factory=list)
    untold: list[str] = field(default_factory=list)
    now: int = 0
    is_played: bool = True

    @property
    def model(self) -> Model:
        return self.stage.model

    def begin(self, first: Moment) -> None:
        if first.view.stimulus != self.stage.opening().view.stimulus:
            self.untold.append("it began otherwise than a walkthrough does")

    def take(self, before: Moment, now: Moment) -> None:
        """Write down one loop: what people and the mechanism did, and who moved."""
        beat, was = now.view.stimulus.beat, before.view.stimulus.beat
        begins_again = beat is Beat.IS_DOWN and was is not Beat.IS_DOWN
        if beat is Beat.RUNS or begins_again:
            self._changes(before, now)
        elif self._by_people(before, now):
            at = clock(self.model, now.loop)
            self.untold.append(f"at {at} s an input moved while the controller was off")
        if begins_again:
            self.pause_to(now.loop)
            self.steps.append("restart")
        if beat is Beat.STARTS:
            self.now, self.is_played = now.loop, True
        if beat is Beat.RUNS:
            self._sights(before, now)

    def pause_to(self, loop: int) -> None:
        """Let the time go by until a loop."""
        if loop > self.now + int(self.is_played):
            self.steps.append(f"pause {self._time(loop - self.now)}")
            self.is_played = False
        self.now = max(self.now, loop)

    def _changes(self, before: Moment, now: Moment) -> None:
        wishes, forced = self._by_people(before, now), self.stage.forced(before)
        beat = now.view.stimulus.beat
        unasked = self.stage.onward(before, wishes, beat)
        asked = {
            place: value
            for place, value in enumerate(now.hands)
            if place in forced and value != unasked.hands[place]
        }
        for place, value in (wishes | asked).items():
            self._change(now.loop, place, value)
        self._note_untold(before, now, wishes | asked)

    def _by_people(self, before: Moment, now: Moment) -> dict[int, str]:
        """Give what people moved: neither forced before nor from this loop on."""
        forced = self.stage.forced(before).keys() | self.stage.forced(now).keys()
        return {
            place: value
            for place, value in enumerate(now.hands)
            if place not in forced and value != before.hands[place]
        }

    def _note_untold(self, before: Moment, now: Moment, wishes: dict[int, str]) -> None:
        """Say where a walkthrough of these steps would go another way."""
        at = clock(self.model, now.loop)
        try:
            told = self.stage.onward(before, wishes, now.view.stimulus.beat)
        except CannotMoveError:
            self.untold.append(f"at {at} s the mechanism did what no step can ask for")
            return
        if told.view.stimulus.mechanism != now.view.stimulus.mechanism:
            self.untold.append(f"at {at} s the mechanism moved without an input that tells of it")
        elif told.view.stimulus.draws != now.view.stimulus.draws:
            self.untold.append(f"at {at} s a time was drawn that is not the longest")

    def _change(self, loop: int, place: int, value: str) -> None:
        item = self.model.inputs[place]
        self.pause_to(loop)
        self.is_played = False
        if item.kind == "button":
            self.steps.append(f"{'press' if value == 'pressed' else 'release'} {item.name}")
        else:
            self.steps.append(f"{item.name} becomes {value}")

    def _sights(self, before: Moment, now: Moment) -> None:
        """Write down where regions went; of a loop in which none did, what outputs became."""
        state, was = now.view.state, before.view.state
        moved = []
        for region, left, right in zip(self.model.regions, was.regions, state.regions, strict=True):
            if left.leaf != right.leaf:
                moved.append(f"{region.name} in {region.states[right.leaf].name}")
        for output, old, new in zip(self.model.outputs, was.outputs, state.outputs, strict=True):
            if old != new and not moved:
                moved.append(f"{output.name} is {new}")
        for what in moved:
            waited = now.loop - self.now
            within = f" within {self._time(waited)}" if waited else ""
            self.steps.append(f"see {what}{within}")
            self.now, self.is_played = now.loop, True

    def _time(self, loops: int) -> str:
        return duration(loops * self.model.loop)
