"""A told story played again by the definition: where the two differ, and whether it ends as told.

It searches nothing: what no single story can show it leaves to a check.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from behaviour.check.claims import ends_in
from behaviour.check.closing import last_words
from behaviour.findings import KIND, Finding, Label, Run
from behaviour.model import Model
from behaviour.rehearse.told import ToldStory, run_of
from behaviour.semantics import NotKnownError
from behaviour.source import NOWHERE
from behaviour.story import LoopView, replay, step_object
from behaviour.telling import clock

COMPARED = ("inputs", "counters", "regions", "outputs")

SHOWN_BY_CHECK = {
    "dead-end": "it leads there; that nothing leads out of it is what `check` shows",
    "no-way-back": "it leads there; that nothing leads back is what `check` shows",
    "rule-broken": "it leads there; that nothing leads back is what `check` shows",
}
"""What no single story can show, by the finding; a rule is among them only as a `way back`."""


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """A story that was played again.

    `differs` says where it is not as told, or that it does not end as it claims; empty if neither.
    `ends` says what it ends in.
    """

    run: Run
    differs: str
    ends: str = ""


def rehearse(model: Model, story: ToldStory) -> Rehearsed:
    """Play a story and compare every loop. Raises StoryFormError where it is of another prop."""
    run = run_of(model, story)
    try:
        views = replay(model, run)
    except ValueError as problem:
        return Rehearsed(run, f"it cannot be played: {problem}")
    differs = _difference(model, story, views) or _round_difference(model, run, views)
    return Rehearsed(run, differs) if differs else _ended(model, story, run)


def _ended(model: Model, story: ToldStory, run: Run) -> Rehearsed:
    """Say whether a story that goes as told ends in the breach that it claims."""
    if story.finding not in KIND:
        return Rehearsed(run, "", "it claims nothing")
    if story.rule is not None and story.rule not in {rule.name for rule in model.rules}:
        return Rehearsed(run, "this file has no such rule")
    try:
        ends = ends_in(model, story.finding, story.rule, run)
    except NotKnownError as open_value:
        return Rehearsed(run, f"whether it ends in a breach depends on `{open_value.what}`")
    if ends is None:
        said = "it leads there; what is wrong there is what `check` shows"
        return Rehearsed(run, "", SHOWN_BY_CHECK.get(story.finding, said))
    if not ends:
        return Rehearsed(run, "it does not end in the breach that it claims")
    claimed = Finding(
        kind=KIND[story.finding],
        severity=KIND[story.finding].severity,
        message="",
        at=Label(NOWHERE, ""),
        rule=story.rule,
        run=run,
    )
    words = "; ".join(last_words(model, claimed, replay(model, run)))
    return Rehearsed(run, "", words or "it ends in the breach that it claims")


def _difference(model: Model, story: ToldStory, views: Sequence[LoopView]) -> str:
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


def _round_difference(model: Model, run: Run, views: Sequence[LoopView]) -> str:
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
