"""What a run can meet, by name; it knows the model alone."""

from dataclasses import dataclass

from behaviour.model import Condition, Model, Region, Transition

Mark = tuple[str, str] | tuple[str, str, int] | tuple[str, str, int, int]
"""("state", region, state), ("cue", region, its place in `cues_of`), ("taken", region, transition),
("stands", mechanism, state), ("ended", mechanism, movement) or ("beyond", counter); others are
given by those who ask."""


@dataclass(frozen=True, slots=True, eq=False)
class Sought:
    """Something else that a loop may meet, and what to call it.

    That is a condition that holds as the loop finds things, its inputs apart; or, with `ways`, a
    transition of `region` that is taken while another one, which comes after it, is due as well.
    """

    mark: Mark
    region: str
    when: Condition | None
    ways: tuple[Transition, Transition] | None = None


def cues_of(region: Region) -> tuple[tuple[int, int], ...]:
    """List (state, cues fired) of every cue; one that is the moment of an end is a transition."""
    return tuple(
        (state.number, fired)
        for state in region.states
        for fired in range(1, len(state.cues) + (0 if state.end is not None else 1))
    )


def marks_of(model: Model) -> tuple[Mark, ...]:
    """List every mark that a run of the model could meet: of counters, those that are changed."""
    found: list[Mark] = []
    for region in model.regions:
        found += [("state", region.name, state.number) for state in region.states]
        found += [("cue", region.name, number) for number in range(len(cues_of(region)))]
        found += [("taken", region.name, way.number) for way in region.transitions()]
    for mechanism in model.mechanism:
        found += [("stands", mechanism.name, state.number) for state in mechanism.states]
        found += [("ended", mechanism.name, each.number) for each in mechanism.movements()]
    changed = {
        action.counter
        for region in model.regions
        for way in region.transitions()
        for action in way.does
    }
    found += [("beyond", each.name) for each in model.counters if each.name in changed]
    return tuple(found)
