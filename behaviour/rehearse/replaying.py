"""A told story played again by the definition, and where the two differ, if they do."""

from dataclasses import dataclass

from behaviour.findings import Run
from behaviour.model import Model
from behaviour.rehearse.told import ToldStory, run_of
from behaviour.story import LoopView, replay, step_object
from behaviour.telling import clock

COMPARED = ("inputs", "counters", "regions", "outputs")


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """A story that was played again. `differs` says where it is not as told; empty if nowhere."""

    run: Run
    differs: str


def rehearse(model: Model, story: ToldStory) -> Rehearsed:
    """Play a story and compare every loop. Raises StoryFormError where it is of another prop."""
    run = run_of(model, story)
    try:
        views = replay(model, run)
    except ValueError as problem:
        return Rehearsed(run, f"it cannot be played: {problem}")
    return Rehearsed(run, _difference(model, story, views) or _round_difference(model, run, views))


def _difference(model: Model, story: ToldStory, views: tuple[LoopView, ...]) -> str:
    """Find the first loop in which what is told is not what happens."""
    told = story.steps[0]
    for view in views:
        told = story.steps.get(view.loop, told)
        here = step_object(model, view, "")
        for key in COMPARED:
            if told.get(key) != here[key]:
                name, says, is_now = _first_difference(told.get(key), here[key])
                return (
                    f"at {clock(model, view.loop)} s the story says `{name}` {says}, and it is"
                    f" {is_now}"
                )
    return ""


def _first_difference(told: object, here: object) -> tuple[str, object, object]:
    words = told if isinstance(told, dict) else {}
    actual = here if isinstance(here, dict) else {}
    for name, value in actual.items():
        if words.get(name) != value:
            return name, words.get(name, "nothing"), value
    name = next(iter(set(words) - set(actual)))
    return name, words[name], "not there"


def _round_difference(model: Model, run: Run, views: tuple[LoopView, ...]) -> str:
    """Play the round of an endless story once more: it must come out the same."""
    if run.repeats_from is None:
        return ""
    again = run.stimuli[run.repeats_from :]
    longer = replay(model, Run(run.stimuli + again))
    for first, second in zip(views[run.repeats_from :], longer[len(run.stimuli) :], strict=True):
        one, other = (step_object(model, view, "") for view in (first, second))
        if any(one[key] != other[key] for key in COMPARED):
            return f"it does not go round: {clock(model, second.loop)} s is another moment"
    return ""
