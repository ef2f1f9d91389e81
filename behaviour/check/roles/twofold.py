"""A prop twice over, side by side in one: as it is, and as it would be had nobody pressed a button.

Both are told the same but for that button. The other one's regions, outputs and counters are added
under names of their own, and each condition of theirs that asks for the button is answered as if it
had been released all along. Mechanisms follow the prop as it is: where a movement would go on
otherwise beside the other one, the two part, and no more is known of it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from behaviour.check.roles.seeing import is_active, is_away, leaves_rest, look
from behaviour.check.watching import BREACH
from behaviour.explore.guards import HOLDS, Limit, atoms
from behaviour.explore.situations import Moment, Next
from behaviour.findings import Run, Stimulus
from behaviour.model import (
    Action,
    And,
    Becomes,
    Compare,
    Condition,
    Done,
    HeldFor,
    Input,
    InState,
    Is,
    Model,
    Not,
    Or,
    Output,
    Region,
    Setting,
    State,
    Transition,
)

ALWAYS, NEVER = And(()), Or(())

HELD, PARTED = 0, -2


def other(name: str) -> str:
    """Name what stands beside something of the prop."""
    return f"{name} unpressed"


@dataclass(frozen=True, slots=True)
class Twofold:
    """A prop and, beside it, the same with a button never pressed."""

    part: Model
    button: Input

    @property
    def is_alike(self) -> bool:
        """Tell whether all that asks for the button can be answered for the other one."""
        whens = (way.when for region in self.part.regions for way in region.transitions())
        during = (m.during for each in self.part.mechanism for m in each.movements())
        every = (atom for condition in (*whens, *during) for atom in atoms(condition))
        return not any(isinstance(a, HeldFor) and a.name == self.button.name for a in every)

    @property
    def model(self) -> Model:
        part = self.part
        return replace(
            part,
            regions=(*part.regions, *map(self._region, part.regions)),
            outputs=(*part.outputs, *(replace(o, name=other(o.name)) for o in part.outputs)),
            counters=(*part.counters, *(replace(c, name=other(c.name)) for c in part.counters)),
            rules=(),
        )

    def parts(self) -> Condition:
        """Say that some movement goes on beside one of the two and not beside the other."""
        during = (m.during for each in self.part.mechanism for m in each.movements())
        pairs = ((each, self.unpressed(each)) for each in during if each is not None)
        differ = (Or((And((a, Not(b))), And((Not(a), b)))) for a, b in pairs if a != b)
        return Or(tuple(differ))

    def unpressed(self, condition: Condition) -> Condition:
        """Give what a condition asks for of the other one."""
        part, button = self.part, self.button
        match condition:
            case And(parts=parts) | Or(parts=parts):
                return type(condition)(tuple(map(self.unpressed, parts)))
            case Not(part=inner):
                return Not(self.unpressed(inner))
            case Is(name=name, values=values, negated=negated) if name == button.name:
                return ALWAYS if (button.values[0] in values) != negated else NEVER
            case Becomes(name=name) if name == button.name:
                return NEVER
            case InState(region=name) if name in part.region:
                return replace(condition, region=other(name))
            case Is(name=name) | Becomes(name=name) | Done(name=name) if name in part.output:
                return replace(condition, name=other(name))
            case Compare(name=name):
                return replace(condition, name=other(name))
            case _:
                return condition

    def alone(self, run: Run) -> Run:
        """Give a run of both as one of the prop as it is; times drawn for the other are kept."""
        return replace(run, stimuli=tuple(map(self._alone, run.stimuli)))

    def _alone(self, stimulus: Stimulus) -> Stimulus:
        drawn = dict(stimulus.draws)
        own = {(name, n): loops for (name, n), loops in drawn.items() if name in self.part.region}
        others = {
            (region, number): drawn[other(region), number]
            for region in self.part.region
            for name, number in drawn
            if name == other(region)
        }
        return replace(stimulus, draws=tuple(sorted({**others, **own}.items())))

    # --- The other one ---

    def _region(self, region: Region) -> Region:
        return replace(
            region,
            name=other(region.name),
            interlocks=tuple(map(self._way, region.interlocks)),
            states=tuple(map(self._state, region.states)),
        )

    def _state(self, state: State) -> State:
        return replace(
            state,
            sets=tuple(map(_set, state.sets)),
            leave=tuple(map(self._way, state.leave)),
            interlocks=tuple(map(self._way, state.interlocks)),
            cues=tuple(replace(cue, sets=tuple(map(_set, cue.sets))) for cue in state.cues),
            end=None if state.end is None else self._way(state.end),
        )

    def _way(self, way: Transition) -> Transition:
        when = None if way.when is None else self.unpressed(way.when)
        return replace(way, when=when, does=tuple(map(_does, way.does)))


def _set(setting: Setting) -> Setting:
    return replace(setting, output=other(setting.output))


def _does(action: Action) -> Action:
    return replace(action, counter=other(action.counter))


@dataclass(frozen=True, slots=True, eq=False)
class StartsAlone:
    """Breaks when a hazard starts with a button held since power-up, and rests beside that.

    It follows a prop no further than that, nor than to where the two have `PARTED`.
    """

    output: Output
    at: int
    unpressed: Output
    beside: int
    button: Input
    number: int
    parted: Condition

    def begin(self, number: int, moment: Moment) -> Iterator[Next]:
        yield from self.go_on(number, HELD, moment)

    def go_on(self, number: int, place: int, moment: Moment) -> Iterator[Next]:
        del number
        if place == HELD and is_active(self.button, look(moment, self.number).value):
            starts = leaves_rest(moment, self.at, self.output)
            if starts and not is_away(moment, self.beside, self.unpressed):
                yield Next(BREACH)
                return
            parted = moment.left.judge(self.parted)
            if parted:
                yield Next(PARTED)
            if parted != HOLDS:
                yield Next(HELD)

    def limits(self, place: int) -> Iterable[tuple[int, Limit]]:
        del place
        return ()
