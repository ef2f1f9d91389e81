"""How a region enters its states: timers start again, times are drawn, moves begin."""

from dataclasses import dataclass

from behaviour.model import Model, Region, State, Transition, Unknown
from behaviour.wording import full_name
from codegen import module as c
from codegen.conditions import Place, in_state, not_in_state
from codegen.spelling import Spelling
from codegen.vocabulary import RegionNames, Vocabulary


@dataclass(frozen=True, slots=True)
class Here:
    """The region that is lowered, with the names of all."""

    model: Model
    names: Vocabulary
    region: Region

    @property
    def words(self) -> RegionNames:
        return self.names.regions[self.region.name]

    @property
    def spelling(self) -> Spelling:
        return self.names.spelling

    @property
    def place(self) -> Place:
        return Place(self.region.name, None)


def target_of(way: Transition) -> int:
    """Give the state that a transition goes to; it has one."""
    if way.target is None or isinstance(way.target, Unknown):
        raise ValueError("a transition without a known target enters nothing")
    return way.target


def has_leaf_timer(region: Region) -> bool:
    """Tell whether anything waits for a time in a leaf."""
    return any(
        state.begins is None and (state.cues or any(way.after for way in state.leave))
        for state in region.states
    )


def has_outer_timer(state: State) -> bool:
    """Tell whether a state with states inside waits for a time of its own."""
    return state.begins is not None and any(way.after for way in state.leave)


def timer_of(here: Here, state: State) -> str:
    """Name the member that counts the loops in a state."""
    return here.words.timer if state.begins is None else here.words.states[state.number].timer


def enter_call(here: Here, target: int) -> str:
    """Give the statement that enters a state, down to a leaf."""
    words, leaf = here.words, here.region.leaf(target)
    if any(_entering(here, number) for number in here.region.path(leaf)):
        return here.spelling.enter(words.states[target].enter)
    return _enter_place(here, target)


def _enter_place(here: Here, target: int) -> str:
    region, words = here.region, here.words
    around = tuple(region.states[number] for number in region.path(target)[:-1])
    place = words.states[region.leaf(target)].phases[0]
    return here.spelling.enter_place(words.enter, place, around, region.states[target])


def entries(here: Here) -> tuple[c.Function, ...]:
    """Give a function for each target of a transition that does more than enter a plain leaf."""
    targets = {target_of(way) for way in here.region.transitions() if way.target is not None}
    return tuple(
        _entry(here, target)
        for target in sorted(targets)
        if enter_call(here, target) == here.spelling.enter(here.words.states[target].enter)
    )


def begin(here: Here) -> tuple[str, ...]:
    """Give what power-up draws and moves for the states that `begins` enters."""
    path = here.region.path(here.region.leaf(here.region.begins))
    return tuple(line for number in path for line in _draws(here, number))


def redraw(here: Here, interlocks: tuple[Transition, ...]) -> tuple[c.Branch, ...]:
    """Give the draws at power-up for states that both `begins` and an interlock's target are in.

    Entering the target leaves such a state alone, since it seems to be active already.
    """
    targets = {target_of(way) for way in interlocks}
    return tuple(
        c.Branch(in_state(here.names, here.place, here.region, number), (), _draws(here, number))
        for number in here.region.path(here.region.leaf(here.region.begins))
        if any(here.region.contains(number, target) and target != number for target in targets)
        and _draws(here, number)
    )


def _entry(here: Here, target: int) -> c.Function:
    region, words = here.region, here.words
    leaf = region.leaf(target)
    around = [number for number in region.path(target)[:-1] if _entering(here, number)]
    body: list[str | c.Branch] = []
    for number in around:
        outside = not_in_state(here.names, here.place, region, number)
        body.append(c.Branch(outside, (), _entering(here, number)))
    for number in region.path(leaf)[len(region.path(target)) - 1 : -1]:
        body += _entering(here, number)
    body.append(_enter_place(here, target))
    body += _draws(here, leaf)
    note = "; a state around it that is active already keeps its time" if around else ""
    return c.Function(
        words.states[target].enter, f"Enter {full_name(region, target)}{note}.", tuple(body)
    )


def _entering(here: Here, number: int) -> tuple[str, ...]:
    """Give what entering one state needs beyond starting the time in the leaf."""
    state = here.region.states[number]
    if not has_outer_timer(state):
        return _draws(here, number)
    restart = here.spelling.give(timer_of(here, state), here.spelling.number(0))
    return (restart, *_draws(here, number))


def _draws(here: Here, number: int) -> tuple[str, ...]:
    found, spelling = [], here.spelling
    for way in here.region.states[number].leave:
        if way.number in here.words.drawn:
            call = spelling.draw(here.names.prefix, *here.words.after[way.number])
            found.append(spelling.give(here.words.drawn[way.number], call))
    for setting in here.region.states[number].sets:
        move = here.names.outputs[setting.output].move
        if move is not None and setting.move is not None:
            found.append(spelling.give(move.done, spelling.truth(is_true=False)))
            found.append(spelling.give(move.steps, here.words.steps[setting.move.number]))
    return tuple(found)
